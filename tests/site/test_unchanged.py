"""A publish with nothing to do does nothing; anything else is never taken for that."""

from collections.abc import Callable
from pathlib import Path

import pytest

from basefog.site import unchanged as unchanged_module
from basefog.site.marker import MARKER_NAME
from basefog.site.publish import find_standing_site, publish_site, room_of
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
    publish_site(plan(small_site("one")), target, series_folder=series, origin=ORIGIN, told=TOLD)
    return target


def test_a_site_that_stands_as_it_was_made_is_known(site: Path, series: Path) -> None:
    """The report counts its files, names what others put there, and repeats what was told."""
    (site / "own.txt").write_text("kept", encoding="utf-8")

    report = find_standing_site(site, series_folder=series, origin=ORIGIN)

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

    assert find_standing_site(site, series_folder=series, origin=ORIGIN) is None


def test_another_origin_is_another_site(site: Path, series: Path) -> None:
    """The note is of one origin alone."""
    assert find_standing_site(site, series_folder=series, origin="1" * 64) is None


def test_the_origin_follows_content_theme_program_and_libraries(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whichever of them changes, by a byte or a name, the origin does; and it is the same when asked again."""
    theme, package = tmp_path / "theme", tmp_path / "package"
    for folder in (theme, package):
        folder.mkdir()
    (theme / "page.css").write_text("a", encoding="utf-8")
    (package / "job.py").write_text("a", encoding="utf-8")
    monkeypatch.setattr(unchanged_module, "_PACKAGE", package)
    seen = [compute_origin("content", theme), compute_origin("other content", theme)]

    (theme / "page.css").write_text("b", encoding="utf-8")
    seen.append(compute_origin("content", theme))
    (theme / "page.css").rename(theme / "other.css")
    seen.append(compute_origin("content", theme))
    (package / "job.py").write_text("b", encoding="utf-8")
    seen.append(compute_origin("content", theme))
    libraries = unchanged_module._list_libraries()
    monkeypatch.setattr(unchanged_module, "_list_libraries", lambda: [f"{line}.1" for line in libraries])
    seen.append(compute_origin("content", theme))

    assert any(line.startswith("numpy ") for line in libraries)
    assert len(set(seen)) == len(seen)
    assert compute_origin("content", theme) == seen[-1]
