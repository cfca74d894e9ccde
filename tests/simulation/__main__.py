"""Write the demo's tables and scans again: `python -m simulation content [--tables] [--cache FOLDER]`."""

import argparse
import sys
from pathlib import Path

from simulation.content_tables import render_tables


def main(arguments: list[str]) -> int:
    """Write what was asked for and say how much it was."""
    parser = argparse.ArgumentParser(prog="python -m simulation", description=__doc__)
    parser.add_argument("content", type=Path, help="the content folder to write into")
    parser.add_argument("--tables", action="store_true", help="write the tables only, leave the scans")
    options = parser.parse_args(arguments)
    written = dict(render_tables())
    for path, data in sorted(written.items()):
        target = options.content / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    sys.stdout.write(f"{len(written)} files, {sum(map(len, written.values()))} bytes\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
