"""Building: whatever was built before, the site is the one that would be made from nothing."""

import os
import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from random import Random
from typing import NoReturn

import pytest

from basefog.build import CACHE, How, build, cache_of_environment, check
from basefog.cli import main
from basefog.site import compute_origin, file_index, steps
from basefog.site.file_index import FileIndex
from basefog.site.publish import room_of
from small_series import write_small_series
from small_sites import read_tree

HERE = How(processes=1)


@pytest.fixture
def series(tmp_path: Path) -> Path:
    return write_small_series(tmp_path / "series")


def fail(**_: object) -> NoReturn:
    raise AssertionError("nothing is to be done")


def from_nothing(series: Path, folder: Path) -> Mapping[str, bytes]:
    """Return every file of the site that a first build makes."""
    shutil.rmtree(folder, ignore_errors=True)
    build(series, folder / "site", HERE)
    return read_tree(folder / "site")


def test_where_nothing_changed_nothing_is_read(series: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second build is known to stand by its files alone, and tells what was told at the first."""
    first = build(series, tmp_path / "site", HERE)
    monkeypatch.setattr("basefog.read.read_series", fail)

    second = build(series, tmp_path / "site", HERE)

    assert (first.stands, second.stands) == (False, True)
    assert first.report is not None
    assert second.report is not None
    assert second.report.files == first.report.files


def write_note(series: Path) -> None:
    (series / "stocks" / "wold-400" / "notes.md").write_text("Another word.\n", encoding="utf-8")


def name_a_figure(series: Path) -> None:
    text = 'Gamma is {{ value("wold-400", "gamma") }}.\n'
    (series / "stocks" / "fell-100" / "notes.md").write_text(text, encoding="utf-8")


def move_reading(of: str) -> Callable[[Path], None]:
    def act(series: Path) -> None:
        [table] = (series / "stocks" / of).glob("*/wedge.csv")
        lines = table.read_text(encoding="utf-8").splitlines()
        step, first, second = lines[4].split(",")
        lines[4] = f"{step},{float(first) + 0.01:.2f},{second}"
        table.write_text("\n".join(lines) + "\n", encoding="utf-8")

    return act


def rename_stock(series: Path) -> None:
    (series / "stocks" / "wold-400" / "stock.yaml").write_text("name: Wold Four\nbox_speed: 400\n", encoding="utf-8")


def add_stock(series: Path) -> None:
    shutil.copytree(series / "stocks" / "wold-400", series / "stocks" / "tarn-200")
    (series / "stocks" / "tarn-200" / "stock.yaml").write_text("name: Tarn 200\nbox_speed: 200\n", encoding="utf-8")


def remove_stock(series: Path) -> None:
    shutil.rmtree(series / "stocks" / "wold-400")
    (series / "stocks" / "fell-100" / "notes.md").unlink(missing_ok=True)


def ask_question(series: Path) -> None:
    (series / "questions").mkdir(exist_ok=True)
    text = "---\ntitle: Which is faster?\nstocks: [wold-400]\n---\n{{ value('wold-400', 'gamma') }}\n"
    (series / "questions" / "2026-03-01-faster.md").write_text(text, encoding="utf-8")


def change_title(series: Path) -> None:
    path = series / "series.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("Invented fells", "Invented hills"), encoding="utf-8")


def move_wedge(series: Path) -> None:
    path = series / "wedges" / "contact-11.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("0.05", "0.06"), encoding="utf-8")


EDITS = (
    write_note,
    name_a_figure,
    move_reading("wold-400"),
    ask_question,
    move_reading("fell-100"),
    rename_stock,
    add_stock,
    change_title,
    move_wedge,
)


def test_after_every_edit_the_site_is_the_one_made_from_nothing(series: Path, tmp_path: Path) -> None:
    """Notes, readings of a stock and of the reference, names, new stocks, questions, the wedge: file by file alike."""
    build(series, tmp_path / "site", HERE)

    for edit in EDITS:
        edit(series)
        built = build(series, tmp_path / "site", HERE)

        assert built.report is not None, edit
        assert read_tree(tmp_path / "site") == from_nothing(series, tmp_path / "other"), edit


def test_what_went_is_gone(series: Path, tmp_path: Path) -> None:
    """A stock that was taken out leaves no page, and the rest is as made from nothing."""
    build(series, tmp_path / "site", HERE)
    remove_stock(series)

    build(series, tmp_path / "site", HERE)

    assert not (tmp_path / "site" / "stocks" / "wold-400").exists()
    assert read_tree(tmp_path / "site") == from_nothing(series, tmp_path / "other")


def test_a_note_changes_the_pages_of_its_stock_alone(series: Path, tmp_path: Path) -> None:
    """Of the others not one is even written again."""
    build(series, tmp_path / "site", HERE)
    write_note(series)

    built = build(series, tmp_path / "site", HERE)

    assert built.report is not None
    assert built.report.changed
    assert all("wold-400" in address for address in built.report.changed), built.report.changed


def test_any_number_of_processes_makes_the_same_site(series: Path, tmp_path: Path) -> None:
    """Byte by byte."""
    build(series, tmp_path / "site", How(processes=2))

    assert read_tree(tmp_path / "site") == from_nothing(series, tmp_path / "other")


def damage_cache(site: Path, random: Random) -> None:
    for path in sorted(room_of(site).kept.rglob("*.*")):
        if random.random() < 0.5:
            data = bytearray(path.read_bytes())
            data[random.randrange(len(data))] ^= 0xFF
            path.write_bytes(data)


def cut_cache(site: Path, random: Random) -> None:
    for path in sorted(room_of(site).kept.rglob("*.*")):
        if random.random() < 0.5:
            path.write_bytes(path.read_bytes()[: random.randrange(10)])


def thin_cache(site: Path, random: Random) -> None:
    for path in sorted(room_of(site).kept.rglob("*.*")):
        if random.random() < 0.5:
            path.unlink()


def damage_site(site: Path, random: Random) -> None:
    for path in sorted(site.rglob("*.html")):
        if random.random() < 0.5:
            path.write_bytes(path.read_bytes()[:-3] + b"xxx")


def remove_cache(site: Path, _: Random) -> None:
    shutil.rmtree(room_of(site).kept)


def damage_index(site: Path, _: Random) -> None:
    room_of(site).index.write_bytes(b"{")


@pytest.mark.parametrize("act", [damage_cache, cut_cache, thin_cache, damage_site, remove_cache, damage_index])
def test_whatever_happened_to_what_was_kept_the_site_is_right(
    act: Callable[[Path, Random], None], series: Path, tmp_path: Path
) -> None:
    """Damaged, cut, thinned, gone: what is not sound is made again, in one go."""
    site = tmp_path / "site"
    expected = dict(from_nothing(series, tmp_path / "other"))
    build(series, site, HERE)
    act(site, Random(7))  # noqa: S311 - which files is of no matter
    (site / "index.html").unlink()

    built = build(series, site, HERE)

    assert built.report is not None
    assert read_tree(site) == expected


def test_a_cache_that_is_named_serves_more_than_one_site(
    series: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was made for one is not made again for another; beside the sites nothing is kept."""
    how = How(processes=1, cache=tmp_path / "cache")
    build(series, tmp_path / "one", how)
    monkeypatch.setattr(steps, "_do_step", fail)

    build(series, tmp_path / "two", how)

    assert read_tree(tmp_path / "one") == read_tree(tmp_path / "two")
    assert not room_of(tmp_path / "two").kept.exists()


def test_the_environment_names_the_cache() -> None:
    """By BASEFOG_CACHE; an empty one names none."""
    assert cache_of_environment({CACHE: "/x/y"}) == Path("/x/y")
    assert cache_of_environment({CACHE: ""}) is None
    assert cache_of_environment({}) is None


def test_afresh_believes_nothing_of_the_index(series: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A change that size, times and number hide is found by reading every file."""
    arguments = ["publish", str(series), "--to", str(tmp_path / "site"), "--quiet"]
    note = series / "stocks" / "wold-400" / "notes.md"
    note.write_text("One word.\n", encoding="utf-8")
    looks = file_index._look(str(note))
    assert main(arguments) == 0
    monkeypatch.setattr(file_index, "_TOO_NEAR_NS", -(10**15))
    index = FileIndex.load(room_of(tmp_path / "site").index)
    index.digest(note)
    index.save()
    note.write_text("Two words\n", encoding="utf-8")
    real = file_index._look
    monkeypatch.setattr(file_index, "_look", lambda path: looks if path == str(note) else real(path))

    def shown() -> bool:
        return "Two words" in (tmp_path / "site" / "stocks" / "wold-400" / "index.html").read_text(encoding="utf-8")

    assert main(arguments) == 0
    believed = shown()
    assert main([*arguments, "--afresh"]) == 0

    assert (believed, shown()) == (False, True)


def test_content_that_changes_meanwhile_is_not_taken_for_what_was_built(
    series: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The next build looks again, also where all is as it was before the first."""
    note = series / "stocks" / "wold-400" / "notes.md"
    real = compute_origin
    asked: list[int] = []

    def compute(folders: object, index: object) -> str | None:
        asked.append(1)
        if len(asked) == 2:
            note.write_text("Written while the site was made.\n", encoding="utf-8")
        return real(folders, index)  # type: ignore[arg-type]

    monkeypatch.setattr("basefog.build.compute_origin", compute)
    build(series, tmp_path / "site", HERE)
    monkeypatch.undo()
    os.unlink(note)  # noqa: PTH108 - the plain act of another program

    assert not build(series, tmp_path / "site", HERE).stands
    assert build(series, tmp_path / "site", HERE).stands


def test_problems_leave_the_site_as_it_was(series: Path, tmp_path: Path) -> None:
    """Nothing is made, and what is wrong was told."""
    build(series, tmp_path / "site", HERE)
    before = read_tree(tmp_path / "site")
    (series / "stocks" / "wold-400" / "stock.yaml").write_text("name: Wold\n", encoding="utf-8")
    told: list[str] = []

    built = build(
        series, tmp_path / "site", How(processes=1, tell=lambda more: told.extend(one.message for one in more))
    )

    assert built.report is None
    assert any("box_speed" in message for message in told)
    assert read_tree(tmp_path / "site") == before


def test_a_check_leaves_nothing_behind(series: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All it does is done before what it kept meanwhile goes: no folder stays, and no measuring is thrown away."""
    (tmp_path / "temporary").mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "temporary"))

    problems, _ = check(series, HERE)

    assert [problem.level for problem in problems if problem.level == "problem"] == []
    assert list((tmp_path / "temporary").iterdir()) == []
