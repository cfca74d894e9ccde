"""A whole site hangs together: pages, pictures, data, feed and sitemap name each other by addresses that are there."""

import hashlib
import io
import json
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from lxml import etree
from PIL import Image

from basefog.publish import check_scans, make_pictures, plan_site
from basefog.publish.pictures import UnreadableScan
from basefog.records.content import Box, Scan, Series, View
from basefog.records.problem import Place
from basefog.site import publish_site
from basefog.site.page_facts import read_facts
from basefog.site.run import check_addresses
from basefog.site.stops import ContentChanged, KeptLost, NoRoom
from publish.invented import make_findings, make_series, write_readings
from publish.site_jobs import THEME, plan_whole_site, steps_in
from small_sites import read_tree

SITE = "https://trials.example.org/"
SCAN = "stocks/tern-100/2026-04-01-b/scans/negative.png"


def draw_scan() -> bytes:
    """Return a small grey picture."""
    out = io.BytesIO()
    picture = Image.new("L", (64, 48))
    picture.putdata([(x * 7 + y * 3) % 256 for y in range(48) for x in range(64)])
    picture.save(out, "PNG")
    return out.getvalue()


def with_scan(series: Series, sha256: str | None = None) -> Series:
    """Give the series two views of a negative, and one stock a scan of it."""
    scan = Scan(
        path=SCAN,
        of="negative",
        width_px=64,
        height_px=48,
        bits=8,
        pixels_per_mm=100.0,
        code_density=None,
        boxes={},
        sha256=sha256 or hashlib.sha256(draw_scan()).hexdigest(),
        place=Place(path="stocks/tern-100/2026-04-01-b/test.yaml"),
    )
    views = (
        View(id="even", name="Even tone", box=Box(x=0.25, y=0.25, w=0.5, h=0.5), of="negative", shows="grain"),
        View(id="whole", name="Whole", box=Box(x=0, y=0, w=1, h=1), of="negative", shows="tone"),
    )
    tern = series.stock("tern-100")
    tern = replace(tern, tests=tuple(replace(test, scans=(scan,)) for test in tern.tests))
    return replace(series, views=views, stocks=tuple(tern if s.slug == tern.slug else s for s in series.stocks))


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, bytes]:
    folder = tmp_path_factory.mktemp("whole")
    series = with_scan(make_series(SITE))
    write_readings(series, folder / "content")
    (folder / "content" / SCAN).parent.mkdir(parents=True)
    (folder / "content" / SCAN).write_bytes(draw_scan())
    planned = plan_whole_site(series, make_findings(series), folder / "content", folder / "kept")
    planned.publish(folder / "site", folder / "content")
    return read_tree(folder / "site")


def test_every_kind_of_file_is_there(site: Mapping[str, bytes]) -> None:
    """The addresses of the contract."""
    expected = {"index.html", "404.html", "feed.xml", "sitemap.xml", "method/index.html", "data/index.html"}
    expected |= {"method/study/index.html"}
    expected |= {"stocks/marl-400/index.html", "stocks/marl-400/2026-03-14/index.html"}
    expected |= {"stocks/marl-400/history/index.html", "questions/grain/index.html", "data/series.zip"}

    assert expected - set(site) == set()


def test_each_measure_is_defined_where_the_data_say(site: Mapping[str, bytes]) -> None:
    """The address in measures.json leads to an anchor of the method page."""
    measures = json.loads(site["data/measures.json"])["measures"]
    facts = read_facts("method/index.html", site["method/index.html"])

    assert facts is not None
    assert {measure["address"].partition("#")[0] for measure in measures} == {"method/index.html"}
    assert {measure["address"].partition("#")[2] for measure in measures} <= facts.anchors


def test_every_address_in_the_data_is_there(site: Mapping[str, bytes]) -> None:
    """Pages and files named by series.json and summary.json."""
    series, summary = json.loads(site["data/series.json"]), json.loads(site["data/summary.json"])
    tests = [test for stock in series["stocks"] for test in stock["tests"]]
    named = {test[kind] for test in tests for kind in ("page", "data", "curve", "readings")}
    named |= {stock[kind] for stock in summary["stocks"] for kind in ("page", "data") if kind in stock}
    named |= {stock["page"] for stock in series["stocks"] if "page" in stock}

    assert named - set(site) == set()
    assert len(named) > 15


def test_feed_and_sitemap_lead_to_pages(site: Mapping[str, bytes]) -> None:
    """Every address in them, below the series' own, is a page of the site."""
    feed, sitemap = etree.fromstring(site["feed.xml"]), etree.fromstring(site["sitemap.xml"])
    named = [element.get("href") for element in feed.iter("{http://www.w3.org/2005/Atom}link")]
    named += [element.text for element in sitemap.iter("{http://www.sitemaps.org/schemas/sitemap/0.9}loc")]
    paths = [address.removeprefix(SITE) for address in named]

    assert all(address.startswith(SITE) for address in named)
    assert [
        path for path in paths if (path + "index.html" if path.endswith("/") or not path else path) not in site
    ] == []
    assert len(paths) > 15
    assert "method/study/" in paths
    assert not any("marl-iso-400" in path for path in paths)


def test_views_are_cut_and_told_in_the_data(site: Mapping[str, bytes]) -> None:
    """The files that a test's JSON names, relative to itself, are pictures of the size it says."""
    test = json.loads(site["data/tern-100/2026-04-01-b.json"])
    schema = json.loads(site["data/schema/test.json"])
    even = test["views"]["even"]

    assert list(Draft202012Validator(schema).iter_errors(test)) == []
    assert (even["lossless"], even["box_px"], even["scan"]) == (True, [16, 12, 32, 24], SCAN)
    assert even["pixels_per_mm"] == 100.0
    for view in test["views"].values():
        for file in view["files"]:
            assert file["path"].startswith("../../stocks/")
            with Image.open(io.BytesIO(site[file["path"].removeprefix("../../")])) as picture:
                assert picture.size == (file["width_px"], file["height_px"])
                assert Image.MIME[picture.format or ""] == file["media_type"]


@pytest.mark.parametrize(
    ("spoil", "lines"),
    [
        (lambda data: data + b"x", (f"{SCAN}: was changed while it was being published; publish again",)),
        (lambda _: None, (f"{SCAN}: can't be read any more (No such file or directory); publish again",)),
    ],
)
def test_a_scan_that_changed_meanwhile_stops_the_publish(
    tmp_path: Path, spoil: Callable[[bytes], bytes | None], lines: tuple[str, ...]
) -> None:
    """No picture is cut from a scan that the pages were not planned with."""
    series = with_scan(make_series(SITE))
    spoilt = spoil(draw_scan())
    if spoilt is not None:
        (tmp_path / SCAN).parent.mkdir(parents=True)
        (tmp_path / SCAN).write_bytes(spoilt)

    with pytest.raises(ContentChanged) as stop:
        make_pictures(series, tmp_path, steps_in(tmp_path / "kept"))

    assert stop.value.lines == lines


def test_a_kept_picture_that_was_damaged_is_made_again(tmp_path: Path) -> None:
    """It never gets into the site: that publish stops, and the next one cuts the scan again."""
    series = with_scan(make_series(SITE))
    (tmp_path / "content" / SCAN).parent.mkdir(parents=True)
    (tmp_path / "content" / SCAN).write_bytes(draw_scan())
    write_readings(series, tmp_path / "content")
    planned = plan_whole_site(series, make_findings(series), tmp_path / "content", tmp_path / "kept")
    sha256 = planned.pictures["stocks/tern-100/2026-04-01-b/views/even.png"]
    planned.steps.store.path_of_file(sha256).write_bytes(b"another")

    with pytest.raises(KeptLost, match=r"views/even.png: what was kept of it was lost"):
        planned.publish(tmp_path / "site", tmp_path / "content")
    again = plan_whole_site(series, make_findings(series), tmp_path / "content", tmp_path / "kept")
    again.publish(tmp_path / "site", tmp_path / "content")

    page = tmp_path / "site" / "stocks/tern-100/2026-04-01-b/views/even.png"
    assert hashlib.sha256(page.read_bytes()).hexdigest() == sha256


def test_pictures_that_find_no_room_stop_the_publish(tmp_path: Path) -> None:
    """A folder that can't be written is told by its name."""
    series = with_scan(make_series(SITE))
    (tmp_path / SCAN).parent.mkdir(parents=True)
    (tmp_path / SCAN).write_bytes(draw_scan())
    (tmp_path / "kept").write_bytes(b"no folder")

    with pytest.raises(NoRoom, match=r"the cache .*kept can't be written; set BASEFOG_CACHE to a folder"):
        make_pictures(series, tmp_path, steps_in(tmp_path / "kept"))


def test_a_damaged_scan_is_told_with_its_file_and_the_mend(tmp_path: Path) -> None:
    """A picture with a sound header and half its pixels stops the publish in the words of a problem."""
    half = draw_scan()[:-400]
    series = with_scan(make_series(SITE), hashlib.sha256(half).hexdigest())
    (tmp_path / SCAN).parent.mkdir(parents=True)
    (tmp_path / SCAN).write_bytes(half)

    with pytest.raises(UnreadableScan) as stop:
        make_pictures(series, tmp_path, steps_in(tmp_path / "kept"))

    problem, mend = stop.value.lines
    assert problem.startswith(f"{SCAN}:1:1: problem: scan is ")
    assert mend == "    Save the scan again as TIFF or PNG, or scan it anew."
    [told] = check_scans(series, tmp_path, steps_in(tmp_path / "kept")).problems
    assert (told.level, told.path, told.mend) == ("problem", SCAN, mend.strip())


def test_old_addresses_lead_on(site: Mapping[str, bytes]) -> None:
    """A stock's former slug has a page that the checker followed; it is not in the sitemap."""
    page = site["stocks/marl-iso-400/index.html"].decode()

    assert "../marl-400/index.html" in page


def test_a_series_of_nothing_is_a_sound_site(tmp_path: Path) -> None:
    """One stock without a test: every page, link and file is still in order, with an address and without."""
    for address in (SITE, None):
        series = make_series(address)
        bare = tuple(replace(stock, tests=(), current=None, former_slugs=()) for stock in series.stocks)
        series = replace(series, stocks=bare, questions=(), remarks=())
        findings = replace(make_findings(series), reference=None)
        jobs = plan_site(series, findings, pictures={}, series_folder=tmp_path / "content", theme_folder=THEME)

        report = publish_site(jobs, tmp_path / "site", series_folder=tmp_path / "content", address=address)

        assert check_addresses(output for job in jobs for output in job.outputs) == ()
        assert report.files > 10
