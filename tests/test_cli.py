"""The commands: what they say, where they say it, and how they end."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from basefog.cli import main
from basefog.telling import escape_controls, format_count
from small_series import write_small_series


def test_a_good_series_is_published(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Publish writes the site, says what to open, and ends with 0."""
    series = write_small_series(tmp_path / "series")

    status = main(["publish", str(series), "--to", str(tmp_path / "site")])

    assert status == 0
    assert (tmp_path / "site" / "stocks" / "wold-400" / "index.html").is_file()
    assert "index.html in a browser" in capsys.readouterr().out


def test_a_publish_with_nothing_to_do_is_light(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """It says so, tells every remark again, and pays for no drawing, fitting or registering; any change is work."""
    series, site = write_small_series(tmp_path / "series"), tmp_path / "site"
    publish = ["publish", str(series), "--to", str(site)]
    assert main(publish) == 0
    first = capsys.readouterr()
    program = (
        f"import sys; from basefog.cli import main; status = main({publish!r});"
        "sys.exit(status or any(name in sys.modules for name in ('scipy', 'matplotlib', 'cv2', 'PIL')))"
    )

    again = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)

    remarks = [line for line in first.err.splitlines() if ": remark: " in line]
    assert again.returncode == 0, again.stdout + again.stderr
    assert again.stdout == f"nothing has changed: {first.out}"
    assert [line for line in again.stderr.splitlines() if ": remark: " in line] == remarks

    (series / "stocks" / "wold-400" / "notes.md").write_text("Another word.\n", encoding="utf-8")
    assert main(publish) == 0
    assert "nothing has changed" not in capsys.readouterr().out


def test_a_link_to_two_that_are_not_there_stops_a_publish(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What a link says after its sign # to the page of any two is checked as well; exit 1 and nothing written."""
    series = write_small_series(tmp_path / "series")
    notes = series / "stocks" / "wold-400" / "notes.md"
    notes.write_text("[Beside](../../compare/index.html#a=wold-400&b=gone-25) it.\n", encoding="utf-8")

    status = main(["publish", str(series), "--to", str(tmp_path / "site")])

    assert status == 1
    assert "there is no stock or test gone-25 in the site" in capsys.readouterr().err
    assert not (tmp_path / "site").exists()


def test_a_problem_stops_a_publish(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A misspelt key is told with its place and mend on standard error; exit 1 and nothing written."""
    series = write_small_series(tmp_path / "series")
    test = series / "stocks" / "wold-400" / "2026-02-03" / "test.yaml"
    test.write_text(test.read_text(encoding="utf-8") + "emulsoin: 12\n", encoding="utf-8")

    status = main(["publish", str(series), "--to", str(tmp_path / "site")])

    told = capsys.readouterr()
    assert status == 1
    assert told.err.startswith(
        "stocks/wold-400/2026-02-03/test.yaml:3:1: problem: unknown key `emulsoin`; did you mean `emulsion`?\n"
    )
    assert not (tmp_path / "site").exists()


def test_a_missing_series_is_wrong_usage(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A series folder that is not there ends with 2 and one line on what to name."""
    status = main(["verify", str(tmp_path / "nowhere")])

    assert status == 2
    assert "there is no series folder" in capsys.readouterr().err


def test_an_empty_series_is_a_problem(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A folder without series.yaml is a problem at 1:1 of the file that should be."""
    status = main(["verify", str(tmp_path)])

    assert status == 1
    assert capsys.readouterr().err.startswith("series.yaml:1:1: problem: ")


def test_a_foreign_folder_is_not_replaced(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A target that holds somebody's files ends with 2 and leaves them alone."""
    series = write_small_series(tmp_path / "series")
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "holiday.txt").write_text("mine", encoding="utf-8")

    status = main(["publish", str(series), "--to", str(tmp_path / "site")])

    assert status == 2
    assert capsys.readouterr().err.count("\n") <= 6
    assert (tmp_path / "site" / "holiday.txt").read_text(encoding="utf-8") == "mine"


def test_the_series_is_no_target(tmp_path: Path) -> None:
    """The site may not be written into the series or around it."""
    series = write_small_series(tmp_path / "series")

    assert main(["publish", str(series), "--to", str(series / "site")]) == 2
    assert main(["publish", str(series), "--to", str(tmp_path)]) == 2


def test_verify_tells_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`verify --json` puts the entries alone on standard output."""
    series = write_small_series(tmp_path / "series")
    (series / "stocks" / "wold-400" / "stock.yaml").write_text("name: Wold 400\n", encoding="utf-8")

    status = main(["verify", str(series), "--json"])

    entries = json.loads(capsys.readouterr().out)
    assert status == 1
    assert [set(entry) for entry in entries] == [{"level", "path", "line", "column", "message", "mend"}] * len(entries)
    assert "problem" in {entry["level"] for entry in entries}


def test_wrong_words_end_with_2() -> None:
    """An unknown command or option is wrong usage."""
    assert main(["develop"]) == 2
    assert main(["publish", "--into", "x"]) == 2


def test_help_is_light() -> None:
    """Asking for help loads none of the heavy libraries."""
    script = (
        "import sys; from basefog.cli import main; main(['--help']); "
        "print(sorted({'numpy', 'matplotlib', 'scipy', 'cv2', 'PIL', 'pydantic', 'rich', 'jinja2'} & set(sys.modules)))"
    )

    ran = subprocess.run([sys.executable, "-c", script], check=True, capture_output=True, text=True)

    assert ran.stdout.rstrip().endswith("[]")


@pytest.mark.parametrize("command", ["demo", "verify", "publish", "preview"])
def test_help_shows_an_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Each command's help shows how it is called."""
    main([command, "--help"])

    assert f"Example: basefog {command}" in capsys.readouterr().out


def test_controls_are_escaped() -> None:
    """Content can't move the cursor, nor turn a line's direction."""
    assert escape_controls("a\x1b[31m\u202e\nb") == "a\\x1b[31m\\u202e\\nb"
    assert escape_controls("Grün − ½") == "Grün − ½"


def test_counts_read_well() -> None:
    """Nothing found is said in words."""
    assert format_count(()) == "no problems, no remarks"
