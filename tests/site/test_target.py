"""A publish replaces only what it made; the series can't be hurt, and what is not the publish's own is kept."""

from pathlib import Path

import pytest

from basefog.site.marker import MARKER_NAME, Marker, read_marker, render_marker
from basefog.site.stops import UnsafeTarget
from basefog.site.target import check_target, find_foreign, keep_foreign


@pytest.fixture
def series(tmp_path: Path) -> Path:
    folder = tmp_path / "work" / "content"
    folder.mkdir(parents=True)
    (folder / "series.yaml").write_text("title: x\n")
    return folder


def refusal(target: Path, series: Path) -> str:
    with pytest.raises(UnsafeTarget) as stop:
        check_target(target, series)

    assert len(stop.value.lines) == 1
    assert "\n" not in stop.value.lines[0]
    return stop.value.lines[0].removeprefix(f"{target}: ")


def test_a_new_an_empty_and_an_own_folder_may_be_replaced(tmp_path: Path, series: Path) -> None:
    """No folder, an empty one, and one with the marker."""
    own, empty = tmp_path / "own", tmp_path / "empty"
    for folder in (own, empty):
        folder.mkdir()
    (own / MARKER_NAME).write_bytes(render_marker(Marker(files={})))
    (own / "mine.txt").write_text("x")

    assert [check_target(target, series) for target in (tmp_path / "new", empty, own)] == [
        tmp_path / "new",
        empty,
        own,
    ]


@pytest.mark.parametrize("place", ["work/content", "work/content/site", "work/content/a/b", "work", "."])
def test_the_series_is_never_a_target(tmp_path: Path, series: Path, place: str) -> None:
    """Not itself, nor a folder inside it or around it, not even one with a marker."""
    target = tmp_path / place
    target.mkdir(parents=True, exist_ok=True)
    (target / MARKER_NAME).write_bytes(render_marker(Marker(files={})))

    assert refusal(target, series) == "is the series, inside it or around it; name another folder with --to"


def test_a_link_to_the_series_is_seen_through(tmp_path: Path, series: Path) -> None:
    """A symbolic link is followed on either side before folders are compared."""
    link = tmp_path / "link"
    link.symlink_to(series.parent)

    assert "is the series" in refusal(link, series)
    assert "is the series" in refusal(link / "content" / "site", series)
    assert "is the series" in refusal(series / "site", link / "content")


def test_the_series_is_known_by_identity(tmp_path: Path, series: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """On a system that is blind to case another spelling is the same folder; here such a system is feigned."""
    (tmp_path / "WORK" / "CONTENT").mkdir(parents=True)
    monkeypatch.setattr(Path, "samefile", lambda one, other: str(one).casefold() == str(other).casefold())

    for spelling in ("WORK", "WORK/CONTENT", "WORK/CONTENT/site"):
        assert "is the series" in refusal(tmp_path / spelling, series)


def test_a_name_that_only_begins_alike_is_another_folder(series: Path) -> None:
    """`content-site` is not inside `content`."""
    target = series.with_name("content-site")

    assert check_target(target, series) == target


def test_a_link_to_an_own_folder_publishes_to_where_it_leads(tmp_path: Path, series: Path) -> None:
    """The link stays a link: what it leads to is replaced."""
    real = tmp_path / "real"
    real.mkdir()
    (tmp_path / "site").symlink_to(real)

    assert check_target(tmp_path / "site", series) == real


def test_a_foreign_folder_is_refused(tmp_path: Path, series: Path) -> None:
    """A folder with files and no marker, or a marker that Basefog did not write, is not touched."""
    target = tmp_path / "home"
    target.mkdir()
    (target / "letter.txt").write_text("dear")
    foreign = f"holds files and was not made by basefog (no {MARKER_NAME}); name an empty or a new folder"

    assert refusal(target, series) == foreign
    for text in ("", "{}", "[]", '{"made_by": "basefog", "marker": 1, "files": []}', '{"made_by": "x", "files": {}}'):
        (target / MARKER_NAME).write_text(text)
        assert refusal(target, series) == foreign
    assert refusal(target / "letter.txt", series) == "is a file; name a folder with --to"


def test_a_loop_of_links_is_refused(tmp_path: Path, series: Path) -> None:
    """A target that can't be resolved is told in a line."""
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")

    assert refusal(tmp_path / "a", series).startswith("can't be reached")


def test_the_root_of_the_disk_is_refused(series: Path) -> None:
    """It holds the series, and is refused for that."""
    assert "around it" in refusal(Path(series.anchor), series)


def test_a_marker_reads_back(tmp_path: Path) -> None:
    """What was written is read, sorted; the same files give the same bytes in whatever order they come."""
    marker = Marker(files={"b": "2", "a": "1"})
    (tmp_path / MARKER_NAME).write_bytes(render_marker(marker))

    assert read_marker(tmp_path) == marker
    assert render_marker(marker) == render_marker(Marker(files={"a": "1", "b": "2"}))


def test_a_marker_that_is_a_link_does_not_count(tmp_path: Path) -> None:
    """A link to another site's marker would make a foreign folder look like an own one."""
    other, folder = tmp_path / "other", tmp_path / "folder"
    other.mkdir()
    folder.mkdir()
    (other / MARKER_NAME).write_bytes(render_marker(Marker(files={})))
    (folder / MARKER_NAME).symlink_to(other / MARKER_NAME)

    assert read_marker(folder) is None


def lay_out(target: Path) -> Marker:
    """Make a published folder in which someone has put things of their own."""
    for name in ("index.html", "stocks/a.html", "stocks/notes/mine.txt", "own/deep/x.txt", "own/y.txt", "mine.txt"):
        (target / name).parent.mkdir(parents=True, exist_ok=True)
        (target / name).write_text(name)
    (target / "empty").mkdir()
    (target / "link").symlink_to("mine.txt")
    return Marker(files={"index.html": "", "stocks/a.html": "", "gone.html": ""})


def test_what_the_publish_did_not_write_is_found(tmp_path: Path) -> None:
    """Files one by one, whole folders as one, empty folders and links too."""
    marker = lay_out(tmp_path)

    assert find_foreign(tmp_path, marker) == ("empty/", "link", "mine.txt", "own/", "stocks/notes/")


def test_what_is_found_is_kept_whole(tmp_path: Path) -> None:
    """Kept things stand in the new folder as they did, and the old folder is as it was."""
    target, staged = tmp_path / "site", tmp_path / "new"
    marker = lay_out(target)
    staged.mkdir()
    (target / "own").chmod(0o555)
    before = sorted(str(path.relative_to(target)) for path in target.rglob("*"))
    expected = "empty link mine.txt own own/deep own/deep/x.txt own/y.txt stocks stocks/notes stocks/notes/mine.txt"

    keep_foreign(target, staged, find_foreign(target, marker))

    kept = sorted(str(path.relative_to(staged)) for path in staged.rglob("*"))
    assert kept == expected.split()
    assert (staged / "link").readlink() == Path("mine.txt")
    assert (staged / "own").stat().st_mode & 0o777 == 0o555
    assert (staged / "own/deep/x.txt").read_text() == "own/deep/x.txt"
    assert sorted(str(path.relative_to(target)) for path in target.rglob("*")) == before


@pytest.mark.parametrize(
    ("new", "kept"), [("mine.txt", "mine.txt"), ("own/y.txt", "own/y.txt"), ("own", "own"), ("link", "link")]
)
def test_a_kept_file_never_hides_a_page(tmp_path: Path, new: str, kept: str) -> None:
    """Where the site has a file at a kept one's address, nothing is published until it is moved away."""
    target, staged = tmp_path / "site", tmp_path / "new"
    marker = lay_out(target)
    (staged / new).parent.mkdir(parents=True)
    (staged / new).write_text("the site's own")

    with pytest.raises(UnsafeTarget) as stop:
        keep_foreign(target, staged, find_foreign(target, marker))

    assert stop.value.lines == (
        f"{target / kept}: was not written by basefog and stands where the site has a file; move it away",
    )
    assert (staged / new).read_text() == "the site's own"


def test_a_kept_folder_and_a_folder_of_the_site_become_one(tmp_path: Path) -> None:
    """A folder of one's own may get pages beside what is in it."""
    target, staged = tmp_path / "site", tmp_path / "new"
    marker = lay_out(target)
    (staged / "own").mkdir(parents=True)
    (staged / "own/index.html").write_text("page")

    keep_foreign(target, staged, find_foreign(target, marker))

    assert sorted(path.name for path in (staged / "own").iterdir()) == ["deep", "index.html", "y.txt"]
