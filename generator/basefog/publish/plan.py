"""Plans a whole site: every job of every kind, from the series and its findings alone."""

from collections.abc import Mapping
from pathlib import Path

from basefog.publish.cards import plan_cards
from basefog.publish.data import plan_data
from basefog.publish.feed import plan_feed
from basefog.publish.pages import plan_pages
from basefog.publish.pictures import plan_all_views
from basefog.publish.sitemap import plan_sitemap
from basefog.publish.theme import load_theme
from basefog.records.content import Series
from basefog.records.findings import Findings
from basefog.site import InputPath, Job


def plan_site(
    series: Series,
    findings: Findings,
    *,
    pictures: Mapping[str, InputPath],
    series_folder: Path,
    theme_folder: Path,
) -> tuple[Job, ...]:
    """Return every job of a site, but for the views' pictures, which are made.

    Args:
        series: its scans registered (`make_pictures`): which views there are hangs on it.
        findings: what was measured from readings and scans.
        pictures: the views' pictures by address, where they are kept.
        series_folder: where reading files are, which jobs read.
        theme_folder: the theme, which is read now.
    """
    views = plan_all_views(series)
    jobs = [
        *plan_pages(series, findings, theme=load_theme(theme_folder)),
        *plan_cards(series, findings, views, pictures),
        *plan_data(series, findings, series_folder=series_folder, views=views),
        *plan_feed(series, findings),
    ]
    addresses = (address for job in jobs for address in job.outputs)
    jobs += plan_sitemap(series, (*pictures, *addresses))
    return tuple(jobs)
