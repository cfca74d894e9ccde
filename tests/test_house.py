"""The house has one way through it; these tests fail when someone builds a door the wrong way round."""

import ast
from pathlib import Path

import basefog

PACKAGE = Path(basefog.__file__).parent
TESTS = Path(__file__).parent
MAY_IMPORT = {
    "records": {"records"},
    "site": {"records", "site"},
    "measure": {"records", "measure"},
    "scanfiles": {"records", "scanfiles"},
    "read": {"records", "scanfiles", "read"},
    "judge": {"records", "measure", "judge"},
    "picture": {"records", "scanfiles", "measure", "picture"},
    "publish": {"records", "measure", "judge", "picture", "site", "publish"},
}
HEAVY = {"matplotlib", "scipy", "cv2", "tifffile", "imagecodecs", "PIL", "watchfiles", "python_calamine"}


def _imports(source: Path, *, top_level_only: bool = False) -> set[str]:
    tree = ast.parse(source.read_text(encoding="utf-8"))
    nodes = tree.body if top_level_only else ast.walk(tree)
    names: set[str] = set()
    for node in nodes:
        if isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module)
        elif isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
    return names


def test_imports_run_one_way() -> None:
    """A room imports only itself and the rooms before it."""
    wrong = [
        f"{source.relative_to(PACKAGE)} imports {name}"
        for room, allowed in MAY_IMPORT.items()
        for source in sorted((PACKAGE / room).rglob("*.py"))
        for name in sorted(_imports(source))
        if name.startswith("basefog.") and name.split(".")[1] not in allowed
    ]

    assert wrong == []


def test_measuring_and_judging_touch_no_disk() -> None:
    """The rooms that measure and judge import nothing that opens files, asks the time or draws."""
    forbidden = {"os", "io", "pathlib", "time", "datetime", "subprocess", "matplotlib", "PIL", "cv2"}
    wrong = [
        f"{source.name} imports {name}"
        for room in ("measure", "judge")
        for source in sorted((PACKAGE / room).rglob("*.py"))
        for name in sorted(_imports(source))
        if name.split(".")[0] in forbidden
    ]

    assert wrong == []


def test_only_the_command_line_prints() -> None:
    """Nothing below cli.py calls print."""
    wrong = [
        str(source.relative_to(PACKAGE))
        for source in sorted(PACKAGE.rglob("*.py"))
        if source.name != "cli.py"
        for node in ast.walk(ast.parse(source.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "print"
    ]

    assert wrong == []


def test_modules_stay_small() -> None:
    """No module of the program grows past 600 lines."""
    wrong = [
        f"{source.relative_to(PACKAGE)}: {len(source.read_text(encoding='utf-8').splitlines())} lines"
        for source in sorted(PACKAGE.rglob("*.py"))
        if len(source.read_text(encoding="utf-8").splitlines()) > 600
    ]

    assert wrong == []


def test_no_test_waits_for_a_time() -> None:
    """Nothing below tests sleeps: what waits for a time fails on a slower machine."""
    assert _calls_in_tests({"sleep", "wait_for_timeout"}) == []


def test_windows_are_opened_with_motion_at_rest() -> None:
    """Only `chromium.new_context` asks the browser itself for a window, so that none can forget its settings."""
    assert _calls_in_tests({"browser.new_context", "browser.new_page"}) == ["chromium.py calls browser.new_context"]


def _calls_in_tests(names: set[str]) -> list[str]:
    """Return who calls a method of one of these names below tests, or one of this object: `name` or `object.name`."""
    return [
        f"{source.relative_to(TESTS)} calls {ast.unparse(node.func)}"
        for source in sorted(TESTS.rglob("*.py"))
        for node in ast.walk(ast.parse(source.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
        if node.func.attr in names or ast.unparse(node.func) in names
    ]
