"""What a scan's step hangs on: its inputs, its code, its libraries."""

import ast
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import pytest

import basefog
from basefog.build import LIBRARIES
from basefog.picture.scan_uses import list_used_scans
from basefog.publish import scan_steps
from basefog.publish.pictures import step_of_scan
from basefog.read import read_series
from basefog.records.content import Box, Scan, Series, Test, View
from basefog.site import InputPath
from basefog.site.steps import open_steps
from publish.test_pictures import write_scanned_series

PACKAGE = Path(basefog.__file__).parent
FELL, WOLD, LATER = "fell-100/2026-02-01", "wold-400/2026-02-03", "wold-400/2026-04-05"
PRINTS = {"fell.jpg", "wold.jpg", "later.png"}
NEGATIVES = {"fell.tif", "wold.tif", "later.tif"}
DISTRIBUTIONS = {"cv2": "opencv-python-headless", "PIL": "pillow"}


@cache
def whole() -> Path:
    return write_scanned_series(Path(mkdtemp()) / "series")


@cache
def plain() -> Series:
    return read(whole())


def read(folder: Path) -> Series:
    series = read_series(folder).series
    assert series is not None
    return series


def keys_of(series: Series, folder: Path = Path("nowhere")) -> dict[str, str]:
    """Return what each scan's result is kept under, where a reference's kept file holds just that scan."""
    files = {used.path: InputPath(path="", sha256=used.sha256) for used in list_used_scans(series)}
    with open_steps(None, processes=1) as steps:
        return {
            Path(used.path).name: steps.key_of(
                step_of_scan(used, folder, {of: files[path] for of, path in used.firsts.items()}, encode=True)
            )
            for used in list_used_scans(series)
        }


def changed(series: Series) -> set[str]:
    """Return the scans whose results would be made again."""
    before, after = keys_of(plain()), keys_of(series)
    assert set(after) <= set(before) == PRINTS | NEGATIVES
    return {name for name in after if after[name] != before[name]}


def with_test(key: str, change: Callable[[Test], Test]) -> Series:
    series = plain()
    stocks = (
        replace(stock, tests=tuple(change(test) if test.key == key else test for test in stock.tests))
        for stock in series.stocks
    )
    return replace(series, stocks=tuple(stocks))


def with_scan(key: str, of: str, **changes: Any) -> Series:
    def change(scan: Scan) -> Scan:
        return replace(scan, **changes) if scan.of == of else scan

    return with_test(key, lambda test: replace(test, scans=tuple(map(change, test.scans))))


def with_view(view_id: str, **changes: Any) -> Series:
    def change(view: View) -> View:
        return replace(view, **changes) if view.id == view_id else view

    return replace(plain(), views=tuple(map(change, plain().views)))


@pytest.mark.parametrize(
    ("name", "change"),
    [
        ("stocks/wold-400/notes.md", lambda text: text + "Another word.\n"),
        ("stocks/wold-400/2026-02-03/test.yaml", lambda text: "\n\n" + text),
        ("stocks/fell-100/2026-02-01/wedge.csv", lambda text: text.replace("1.17,1.17", "1.18,1.17")),
        ("series.yaml", lambda text: text.replace("Even tone", "Grey card").replace("title: ", "title: New ")),
    ],
)
def test_notes_readings_names_and_places_change_no_step(
    tmp_path: Path, name: str, change: Callable[[str], str]
) -> None:
    """What a tester writes most often makes no scan be looked at again, nor does a copy of the whole folder."""
    folder = write_scanned_series(tmp_path / "series")
    path = folder / name
    before = path.read_text(encoding="utf-8") if path.exists() else ""
    path.write_text(change(before), encoding="utf-8")

    series = read(folder)

    assert path.read_text(encoding="utf-8") != before
    assert keys_of(series, folder) == keys_of(plain(), whole())


def test_another_test_changes_no_step() -> None:
    """One more or one fewer, or one withdrawn, leaves the scans of all others as they are."""
    gone = with_test(LATER, lambda test: replace(test, scans=()))
    withdrawn = with_test(LATER, lambda test: replace(test, withdrawn="The film was fogged."))

    assert set(keys_of(gone)) == {"fell.jpg", "fell.tif", "wold.jpg", "wold.tif"}
    assert (changed(gone), changed(withdrawn)) == (set(), set())


BOX = Box(x=0.1, y=0.1, w=0.4, h=0.4)


@pytest.mark.parametrize(
    ("series", "names"),
    [
        (lambda: with_view("part", box=BOX), PRINTS),
        (lambda: with_view("even", box=BOX), NEGATIVES),
        (lambda: with_view("edge", shows="tone"), NEGATIVES),
        (lambda: with_view("even", id="grey"), NEGATIVES),
        (lambda: replace(plain(), views=plain().views[1:]), PRINTS),
        (lambda: replace(plain(), enlarging=replace(plain().enlarging, magnification=11.0)), PRINTS),
        (lambda: with_scan(WOLD, "negative", code_density=((0.0, 2.9), (65535.0, 0.0))), {"wold.tif"}),
        (lambda: with_scan(WOLD, "negative", pixels_per_mm=120.0), {"wold.tif"}),
        (lambda: with_scan(WOLD, "negative", boxes={"even": BOX}), {"wold.tif"}),
        (lambda: with_scan(WOLD, "negative", boxes={"part": BOX}), set()),
        (lambda: with_scan(WOLD, "negative", sha256="0" * 64), {"wold.tif"}),
        (lambda: with_scan(FELL, "negative", code_density=((0.0, 2.9), (65535.0, 0.0))), {"fell.tif"}),
        (lambda: with_scan(FELL, "negative", pixels_per_mm=120.0), NEGATIVES),
        (lambda: with_scan(FELL, "print", boxes={"part": BOX}), PRINTS),
        (lambda: with_scan(FELL, "print", sha256="0" * 64), PRINTS),
        # The draws of the edge's interval begin with the test's name.
        (lambda: with_test(WOLD, lambda test: replace(test, id="2026-02-04")), {"wold.tif"}),
    ],
)
def test_what_a_scan_shows_changes_with_its_inputs(series: Callable[[], Series], names: set[str]) -> None:
    """Views, calibrations, boxes by hand, and of the reference's scan what places views: those scans and no others."""
    assert changed(series()) == names


def test_a_renamed_scan_is_the_same() -> None:
    """What it holds counts, and what its kind of file may have lost, but not its name."""
    other, lossy = (keys_of(with_scan(WOLD, "negative", path=name))[name] for name in ("w.TIFF", "w.webp"))

    assert other == keys_of(plain())["wold.tif"]
    assert lossy != other


def test_the_rooms_hold_all_code_that_a_step_runs() -> None:
    """Every module that is imported from the step's own on, at whatever place, and each room that is one is needed.

    Left out are `site`, whose formats know their own versions, and the packages' own lists of names.
    """
    found = {module for module in modules_from(PACKAGE / "publish/scan_steps.py") if not module.startswith("site/")}

    rooms = scan_steps.ROOMS
    assert {module for module in found if not any(f"{module}/".startswith(f"{room}/") for room in rooms)} == set()
    assert [room for room in rooms if not any(f"{module}/".startswith(f"{room}/") for module in found)] == []
    assert {"scanfiles/tiff.py", "picture/texture/edge_fit.py", "measure/resampling.py"} <= found


def test_all_libraries_that_a_step_uses_are_named() -> None:
    """Every library that the same modules import counts as an input by its version."""
    modules = [module for module in modules_from(PACKAGE / "publish/scan_steps.py") if not module.startswith("site/")]
    names = {name.partition(".")[0] for module in modules for name, _ in imports_of(PACKAGE / module)}

    used = {DISTRIBUTIONS.get(name, name) for name in names - set(sys.stdlib_module_names) - {"basefog"}}
    assert used == set(scan_steps.LIBRARIES)


def test_all_libraries_that_the_files_of_a_site_hang_on_are_named() -> None:
    """Every library that planning and its jobs import counts by its version, but for what reads a theme's settings."""
    modules = [module for module in modules_from(PACKAGE / "publish/plan.py") if not module.startswith("site/")]
    names = {name.partition(".")[0] for module in modules for name, _ in imports_of(PACKAGE / module)}

    used = {DISTRIBUTIONS.get(name, name) for name in names - set(sys.stdlib_module_names) - {"basefog", "yaml"}}
    assert used - {"tifffile"} == set(LIBRARIES)


def modules_from(source: Path) -> set[str]:
    """Return all modules of the program that a module imports, and those import in turn, by their path in it."""
    found: set[str] = set()
    waiting = [source]
    while waiting:
        module = waiting.pop()
        name = module.relative_to(PACKAGE).as_posix()
        if name not in found:
            found.add(name)
            waiting += [home for imported, what in imports_of(module) for home in homes_of(imported, what)]
    return found


def imports_of(source: Path) -> Iterator[tuple[str, str | None]]:
    """Yield every import of a module, within functions too: the module named, and the name taken from it."""
    for node in ast.walk(ast.parse(source.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            assert node.module is not None
            yield from ((node.module, alias.name) for alias in node.names)
        elif isinstance(node, ast.Import):
            yield from ((alias.name, None) for alias in node.names)


def homes_of(module: str, name: str | None) -> Iterator[Path]:
    """Yield where a name of this program is defined, whatever package hands it on."""
    if module.partition(".")[0] != "basefog":
        return
    place = PACKAGE.joinpath(*module.split(".")[1:])
    if not place.is_dir():
        yield place.with_suffix(".py")
    elif name is not None and (place / f"{name}.py").is_file():
        yield place / f"{name}.py"
    elif name is not None and (place / name).is_dir():
        yield place / name / "__init__.py"
    else:
        handed_on = [found for found in imports_of(place / "__init__.py") if found[1] == name]
        assert handed_on, (module, name)
        yield from homes_of(*handed_on[0])
