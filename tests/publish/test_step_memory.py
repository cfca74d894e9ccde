"""What a scan's step is expected to need, for the pool, against what it needs."""

import subprocess
import sys
from pathlib import Path

import pytest

from picture.bench_memory import write_series

MEASURED = """
import sys
from pathlib import Path
import cv2, imagecodecs, scipy.fft, scipy.optimize, scipy.signal, tifffile
from basefog.picture.scan_uses import list_used_scans
from basefog.publish.pictures import estimate_peak_bytes, make_pictures
from basefog.read import read_series
from basefog.site.steps import open_steps
def told_kb(what):
    status = open("/proc/self/status", encoding="utf-8").read()
    return int(status.split(what + ":")[1].split()[0])
folder = Path(sys.argv[1])
series = read_series(folder).series
before = told_kb("VmRSS")
with open_steps(None, processes=1) as steps:
    make_pictures(series, folder, steps)
needed = 1024 * (told_kb("VmHWM") - before)
print(needed, max(map(estimate_peak_bytes, list_used_scans(series))))
"""


@pytest.mark.parametrize("kind", ["TIFF, deflated strips", "JPEG, colour"])
def test_a_step_needs_about_what_it_is_expected_to(tmp_path: Path, kind: str) -> None:
    """Two scans of 6 megapixels, one laid on the other and both measured, differ by at most a tenth upwards."""
    series = write_series(tmp_path, kind, (3000, 2000))

    ran = subprocess.run(
        [sys.executable, "-c", MEASURED, str(series)],
        capture_output=True,
        text=True,
        check=True,
        env={"PYTHONPATH": ":".join(sys.path)},
    )

    needed, expected = map(int, ran.stdout.split())
    assert 0.6 * expected < needed < 1.1 * expected
