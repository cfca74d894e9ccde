"""A publish with nothing to do does nothing; anything else is never taken for that."""

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from basefog.site import unchanged as unchanged_module
from basefog.site.file_index import FileIndex
from basefog.site.marker import MARKER_NAME
from basefog.site.publish import PublishReport, find_standing_site, publish_site, room_of
from basefog.site.unchanged import compute_origin
from small_sites import plan, small_site

ORIGIN = "0" * 64
TOLD = ("stocks/a/stock.yaml:1:1: remark: it is a remark",)


@pytest.fixture
def series(tmp_path: Path) -> Path:
    (tmp_path / "content").mkdir()
    return tmp_path / "content"


@pytest.fixture
def site(tmp_path: Path, series: Path) -> Path:
    target = tmp_path / "site"
    publish_site(plan(small_site("one")), target, series_folder=series, origin=lambda: ORIGIN, told=TOLD)
    return target


def find(site: Path, series: Path, origin: str = ORIGIN) -> PublishReport | None:
    """Return what is known of a site, nothing being known of its files from before."""
    return find_standing_site(site, series_folder=series, origin=origin, index=FileIndex.load(site.with_name("none")))


def test_a_site_that_stands_as_it_was_made_is_known(site: Path, series: Path) -> None:
    """The report counts its files, names what others put there, and repeats what was told."""
    (site / "own.txt").write_text("kept", encoding="utf-8")

    report = find(site, series)

    assert report is not None
    assert (report.files, report.kept) == (len(small_site("")), ("own.txt",))
    assert report.told == TOLD
    assert (report.added, report.changed, report.removed) == ((), (), ())


def damage_page(site: Path) -> None:
    (site / "index.html").write_text("damaged", encoding="utf-8")


def remove_page(site: Path) -> None:
    (site / "index.html").unlink()


def damage_marker(site: Path) -> None:
    marker = site / MARKER_NAME
    marker.write_bytes(marker.read_bytes() + b"\n")


def damage_note(site: Path) -> None:
    room_of(site).note.write_text("[]", encoding="utf-8")


def damage_what_was_told(site: Path) -> None:
    note = room_of(site).note
    note.write_text(note.read_text(encoding="utf-8").replace('["', '[1, "'), encoding="utf-8")


def cut_note(site: Path) -> None:
    room_of(site).note.write_bytes(room_of(site).note.read_bytes()[:20])


def remove_note(site: Path) -> None:
    room_of(site).note.unlink()


def leave_half_a_publish(site: Path) -> None:
    room_of(site).staged.mkdir()


def publish_without_origin(site: Path) -> None:
    publish_site(plan(small_site("two")), site, series_folder=site.parent / "content")


@pytest.mark.parametrize(
    "act",
    [
        damage_page,
        remove_page,
        damage_marker,
        damage_note,
        damage_what_was_told,
        cut_note,
        remove_note,
        leave_half_a_publish,
        publish_without_origin,
    ],
)
def test_whatever_happened_to_the_site_is_seen(act: Callable[[Path], None], site: Path, series: Path) -> None:
    """A file that is not as it was made, a note that can't be believed, a run that was cut off: all is made again."""
    act(site)

    assert find(site, series) is None


def test_another_origin_is_another_site(site: Path, series: Path) -> None:
    """The note is of one origin alone."""
    assert find(site, series, "1" * 64) is None


def test_the_origin_follows_content_theme_program_and_libraries(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whichever of them changes, by a byte or a name, the origin does; and it is the same when asked again."""
    content, theme, package, libraries = folders = [tmp_path / name for name in ("content", "theme", "package", "libs")]
    for folder in folders:
        folder.mkdir()
    (theme / "page.css").write_text("a", encoding="utf-8")
    (package / "job.py").write_text("a", encoding="utf-8")
    (libraries / "numpy-1.0.dist-info").mkdir()
    monkeypatch.setattr(unchanged_module, "_PACKAGE", package)
    monkeypatch.setattr(sys, "path", [str(libraries), str(tmp_path / "nowhere")])
    index = FileIndex.load(tmp_path / "files.json")
    seen = [compute_origin((content, theme), index)]

    def act(_: object) -> None:
        seen.append(compute_origin((content, theme), index))

    act((content / "series.yaml").write_text("a", encoding="utf-8"))
    act((content / "stocks" / "tern").mkdir(parents=True))  # type: ignore[func-returns-value] # what it does counts
    act((theme / "page.css").write_text("b", encoding="utf-8"))
    act((theme / "page.css").rename(theme / "other.css"))
    act((theme / "other.css").rename(content / "other.css"))
    act((package / "job.py").write_text("b", encoding="utf-8"))
    act((libraries / "numpy-1.0.dist-info").rename(libraries / "numpy-1.1.dist-info"))

    assert None not in seen
    assert len(set(seen)) == len(seen)
    assert compute_origin((content, theme), index) == seen[-1]


def test_what_reading_leaves_out_is_not_in_the_origin(tmp_path: Path) -> None:
    """A file that begins with a dot changes nothing."""
    index = FileIndex.load(tmp_path / "files.json")
    content = tmp_path / "content"
    content.mkdir()
    before = compute_origin((content,), index)

    (content / ".series.yaml.swp").write_text("x", encoding="utf-8")

    assert compute_origin((content,), index) == before


def test_a_link_leaves_no_origin(tmp_path: Path) -> None:
    """What it leads to may change without a trace: all is made again each time."""
    content = tmp_path / "content"
    content.mkdir()
    (content / "notes.md").symlink_to(tmp_path / "elsewhere.md")

    assert compute_origin((content,), FileIndex.load(tmp_path / "files.json")) is None
