"""Plans a whole site: every job of every kind, from the series and its findings alone."""

from pathlib import Path

from basefog.picture import register_series
from basefog.publish.cards import plan_cards
from basefog.publish.data import plan_data
from basefog.publish.feed import plan_feed
from basefog.publish.job import Job
from basefog.publish.pages import plan_pages
from basefog.publish.pictures import plan_all_views, plan_pictures
from basefog.publish.sitemap import plan_sitemap
from basefog.publish.theme import load_theme
from basefog.records.content import Series
from basefog.records.findings import Findings


def plan_site(series: Series, findings: Findings, *, series_folder: Path, theme_folder: Path) -> tuple[Job, ...]:
    """Return every job of a site.

    Reads the theme, and the scans that still have to be registered: which views there are hangs on it. Whatever is
    made of scans and reading files is made by the jobs, which read them then.
    """
    series = register_series(series, series_folder)
    views = plan_all_views(series)
    jobs = [
        *plan_pages(series, findings, theme=load_theme(theme_folder)),
        *plan_pictures(series, views, series_folder, plan_cards(series, findings, views)),
        *plan_data(series, findings, series_folder=series_folder, views=views),
        *plan_feed(series, findings),
    ]
    jobs += plan_sitemap(series, (address for job in jobs for address in job.outputs))
    return tuple(jobs)
