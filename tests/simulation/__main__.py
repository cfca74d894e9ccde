"""Write the demo's tables and scans again: `python -m simulation content [--tables] [--cache FOLDER]`."""

import argparse
import sys
import tempfile
from pathlib import Path

from simulation.content_tables import render_tables
from simulation.scans import render_scans
from simulation.subject import load_subject


def main(arguments: list[str]) -> int:
    """Write what was asked for and say how much it was."""
    parser = argparse.ArgumentParser(prog="python -m simulation", description=__doc__)
    parser.add_argument("content", type=Path, help="the content folder to write into")
    parser.add_argument("--tables", action="store_true", help="write the tables only, leave the scans")
    kept = Path(tempfile.gettempdir()) / "basefog-demo-cache"
    parser.add_argument("--cache", type=Path, default=kept, help="where the drawn still life is kept")
    options = parser.parse_args(arguments)
    count = total = 0
    for path, data in render_tables().items():
        count, total = count + 1, total + _write(options.content / path, data)
    if not options.tables:
        subject = load_subject(options.cache, tell=_tell)
        for path, data in render_scans(subject, tell=_tell):
            count, total = count + 1, total + _write(options.content / path, data)
    _tell(f"{count} files, {total} bytes")
    return 0


def _write(target: Path, data: bytes) -> int:
    target.parent.mkdir(parents=True, exist_ok=True)
    return target.write_bytes(data)


def _tell(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
