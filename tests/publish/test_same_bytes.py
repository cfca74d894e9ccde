"""The same content gives the same bytes, in any process, folder, time zone and locale."""

import os
import subprocess
import sys
from pathlib import Path

from basefog.publish.marker import MARKER_NAME
from publish.small_sites import read_tree

HERE = Path(__file__).parent


def build(folder: Path, **environment: str) -> dict[str, bytes]:
    """Publish the invented series in a fresh process; return every file, the marker too."""
    folder.mkdir(parents=True)
    places = os.pathsep.join([str(HERE.parent), os.environ.get("PYTHONPATH", "")])
    run = subprocess.run(
        [sys.executable, str(HERE / "build_once.py"), str(folder / "content"), str(folder / "site")],
        env=os.environ | {"PYTHONPATH": places} | environment,
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )

    assert run.returncode == 0, run.stderr
    return read_tree(folder / "site") | {MARKER_NAME: (folder / "site" / MARKER_NAME).read_bytes()}


def test_a_whole_site_is_the_same_from_any_process(tmp_path: Path) -> None:
    """Two fresh processes with other hash seeds, time zones, locales and folders."""
    one = build(tmp_path / "a", PYTHONHASHSEED="1", TZ="Pacific/Kiritimati", LC_ALL="C.UTF-8")
    other = build(tmp_path / "much" / "deeper" / "b", PYTHONHASHSEED="2", TZ="America/Adak", LC_ALL="C")

    assert len(one) > 40
    assert [name for name in sorted(one.keys() | other.keys()) if one.get(name) != other.get(name)] == []
