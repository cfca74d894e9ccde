"""The sitemap: every page's canonical address. Sitemaps hold full addresses, so a series without one has none."""

from collections.abc import Iterable
from xml.etree import ElementTree as ET

from basefog.publish.addresses import canonical_address
from basefog.publish.pages.redirects import addresses_of_redirects
from basefog.records.content import Series
from basefog.site import NOT_FOUND_PAGE, Job

SITEMAP_ADDRESS = "sitemap.xml"
_XML = b'<?xml version="1.0" encoding="utf-8"?>\n'
_NAMESPACE = "http://www.sitemaps.org/schemas/sitemap/0.9"


def plan_sitemap(series: Series, addresses: Iterable[str]) -> tuple[Job, ...]:
    """Return the job that makes the sitemap of a site with these files; none where the series has no address.

    Pages that stand for others are left out: the 404 page, and those that only lead on.
    """
    if series.address is None:
        return ()
    unlisted = {NOT_FOUND_PAGE, *addresses_of_redirects(series)}
    pages = sorted(address for address in addresses if address.endswith(".html") and address not in unlisted)
    return (Job(outputs=(SITEMAP_ADDRESS,), make=make_sitemap, inputs={"site": series.address, "pages": tuple(pages)}),)


def make_sitemap(*, site: str, pages: tuple[str, ...]) -> dict[str, bytes]:
    """Return the sitemap by its address."""
    root = ET.Element("urlset", {"xmlns": _NAMESPACE})
    for page in pages:
        ET.SubElement(ET.SubElement(root, "url"), "loc").text = canonical_address(site, page)
    ET.indent(root, " ")
    return {SITEMAP_ADDRESS: _XML + ET.tostring(root, encoding="unicode").encode() + b"\n"}
