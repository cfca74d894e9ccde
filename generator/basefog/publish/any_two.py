"""The state in the address of the page that compares any two: what its script reads there must be in the site."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final
from urllib.parse import parse_qsl

from basefog.publish.addresses import ANY_TWO, address_of_stock
from basefog.site import StateCheck


def check_any_two(fragment: str, addresses: frozenset[str], anchors: frozenset[str]) -> str | None:
    """Return what is wrong with a fragment of the page, or None.

    `addresses` are all of the site's, `anchors` the page's own.
    """
    named = dict(parse_qsl(fragment, keep_blank_values=True))
    for side in ("a", "b"):
        name = named.get(side)
        if name is None:
            continue
        # A stock's slug alone stands for its figure, over all its repeats.
        if (f"data/{name}.json" if "/" in name else address_of_stock(name)) not in addresses:
            return f"there is no stock or test {name or 'without a name'} in the site"
    if "a" not in named and "b" not in named:
        return "names no test; write #a=stock&b=stock, or #a=stock/test&b=stock/test"
    row = named.get("at")
    if row is not None and f"at-{row}" not in anchors:
        return f"there is no row {row or 'without a name'} in {ANY_TWO}"
    return None


STATES: Final[Mapping[str, StateCheck]] = MappingProxyType({ANY_TWO: check_any_two})
"""The checks of states by page, as `publish_site` asks for them."""
