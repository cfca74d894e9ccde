"""Plans a whole site: every job of every kind, from the series and its findings alone."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from basefog.picture import ViewPlan, cut_scan, plan_views
from basefog.publish.addresses import address_of_view
from basefog.publish.data import plan_data
from basefog.publish.feed import plan_feed
from basefog.publish.job import InputPath, Job
from basefog.publish.pages import plan_pages
from basefog.publish.sitemap import plan_sitemap
from basefog.publish.theme import load_theme
from basefog.records.content import Series, Test
from basefog.records.findings import Findings


def plan_site(series: Series, findings: Findings, *, series_folder: Path, theme_folder: Path) -> tuple[Job, ...]:
    """Return every job of a site. Reads the theme; scans and reading files are named and read by the jobs."""
    views = plan_all_views(series)
    jobs = [
        *plan_pages(series, findings, theme=load_theme(theme_folder)),
        *plan_pictures(series, views, series_folder),
        *plan_data(series, findings, series_folder=series_folder, views=views),
        *plan_feed(series, findings),
    ]
    jobs += plan_sitemap(series, (address for job in jobs for address in job.outputs))
    return tuple(jobs)


def plan_all_views(series: Series) -> dict[str, tuple[ViewPlan, ...]]:
    """Return the views of every test by `stock/test`, each against the reference's current test."""
    reference = series.reference_stock.current_test
    return {test.key: plan_views(test, reference, series.views) for stock in series.stocks for test in stock.tests}


def plan_pictures(series: Series, views: Mapping[str, Sequence[ViewPlan]], series_folder: Path) -> tuple[Job, ...]:
    """Return one job a scan, so that each is decoded once, for the views that are cut from it."""
    jobs = []
    for test in (test for stock in series.stocks for test in stock.tests):
        planned = views[test.key]
        for scan in test.scans:
            cuts = tuple(plan for plan in planned if plan.scan.path == scan.path)
            if cuts:
                file = InputPath(path=str(series_folder / scan.path), sha256=scan.sha256)
                jobs.append(_plan_scan(test, file, cuts))
    return tuple(jobs)


def _plan_scan(test: Test, scan: InputPath, cuts: tuple[ViewPlan, ...]) -> Job:
    addresses = {
        plan.view.id + file.suffix: address_of_view(test, plan.view.id, file.suffix)
        for plan in cuts
        for file in plan.files
    }
    inputs = {"scan": scan, "cuts": cuts, "addresses": addresses}
    return Job(outputs=tuple(sorted(addresses.values())), make=make_pictures, inputs=inputs)


def make_pictures(*, scan: InputPath, cuts: Sequence[ViewPlan], addresses: Mapping[str, str]) -> dict[str, bytes]:
    """Return the pictures of one scan by their addresses."""
    return {addresses[name]: data for name, data in cut_scan(scan, cuts).items()}
