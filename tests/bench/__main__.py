"""Time publishes of a large series: `python -m bench [stocks] [--without-scans] [--keep FOLDER]`.

Told are, each as the time of a whole process and its peak of memory over all its processes: a publish from nothing,
with nothing changed, after a note, after a reading of a stock, and after a reading of the reference; and against them
the floor (see `floor`), in the same run on the same machine.
"""

import argparse
import re
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from pathlib import Path

from bench.content import write_series
from bench.floor import time_floor

_LOOK_S = 0.1


def main() -> None:
    """Make the series, time every case, say what was seen."""
    parser = argparse.ArgumentParser()
    parser.add_argument("stocks", type=int, nargs="?", default=49)
    parser.add_argument("--without-scans", action="store_true")
    parser.add_argument("--keep", type=Path)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folder = given.keep or Path(scratch)
        content, site = folder / "content", folder / "site"
        if not content.exists():
            write_series(content, given.stocks, scans=not given.without_scans)
        cold = _publish("from nothing", content, site)
        _publish("nothing changed", content, site)
        _publish("nothing changed again", content, site)
        _edit(content / "stocks" / "stock-1" / "2026-09-09" / "notes.md", "\nAnother word.\n")
        _publish("one note", content, site)
        _move_reading(content / "stocks" / "stock-1" / "2026-09-09" / "wedge.csv")
        _publish("one reading of a stock", content, site)
        _move_reading(content / "stocks" / "corvane-200" / "2026-09-09" / "wedge.csv")
        _publish("one reading of the reference", content, site)
        pictures, charts = time_floor(content, site)
        _say(f"floor: {pictures + charts:.1f} s ({pictures:.1f} pictures, {charts:.1f} charts)")
        _say(f"from nothing / floor: {cold / (pictures + charts):.2f}")


def _publish(name: str, content: Path, site: Path) -> float:
    command = [sys.executable, "-c", "import sys; from basefog.cli import main; sys.exit(main())"]
    begun = time.perf_counter()
    process = subprocess.Popen([*command, "publish", str(content), "--to", str(site), "--quiet"])
    peak = 0
    while process.returncode is None:
        peak = max(peak, sum(_own_bytes(number) for number in _with_children(process.pid)))
        with suppress(subprocess.TimeoutExpired):
            process.wait(_LOOK_S)
    spent = time.perf_counter() - begun
    if process.returncode:
        raise SystemExit(f"{name}: the publish ended with {process.returncode}")
    _say(f"{name}: {spent:.2f} s, peak {peak / 1e6:.0f} MB")
    return spent


def _with_children(number: int) -> list[int]:
    try:
        children = Path(f"/proc/{number}/task/{number}/children").read_text(encoding="ascii").split()
    except OSError:
        return [number]
    return [number, *(found for child in children for found in _with_children(int(child)))]


def _own_bytes(number: int) -> int:
    """Return the memory of a process, pages that several share divided among them."""
    try:
        told = Path(f"/proc/{number}/smaps_rollup").read_text(encoding="ascii")
    except OSError:
        return 0
    found = re.search(r"^Pss: +(\d+) kB$", told, re.MULTILINE)
    return 1024 * int(found[1]) if found else 0


def _edit(path: Path, more: str) -> None:
    path.write_text(path.read_text(encoding="utf-8") + more, encoding="utf-8")


def _move_reading(path: Path) -> None:
    head, first, *rows = path.read_text(encoding="utf-8").splitlines()
    cells = first.split(",")
    cells[1] = f"{float(cells[1]) + 0.004:.3f}"
    path.write_text("\n".join([head, ",".join(cells), *rows]) + "\n", encoding="utf-8")


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
