"""How long measuring takes: `PYTHONPATH=tests python -m bench_measure`. Reports, asserts nothing."""

import subprocess
import sys
import time
from dataclasses import replace

from basefog.judge import find_findings
from measure.bench_content import make_stock
from measure.wedge_films import steps_of, toe, wedge_series, wedge_test

TESTS, ROUNDS = 20, 3


def measure_cpu_ms() -> float:
    """Return the processor time of measuring one test of a series, with all its intervals and its verdicts."""
    stocks = [
        make_stock(
            f"stock-{number:02}",
            [wedge_test(f"stock-{number:02}/2026-03-14", steps=steps_of(toe(), replicates=2, error=0.01, seed=number))],
        )
        for number in range(TESTS)
    ]
    series = replace(wedge_series(*stocks), reference="stock-00")
    find_findings(series, {})
    begin = time.process_time()
    for _ in range(ROUNDS):
        find_findings(series, {})
    return 1000 * (time.process_time() - begin) / (ROUNDS * TESTS)


def import_cpu_ms() -> float:
    """Return the processor time that importing the measuring room adds to that of numpy, in a process of its own."""
    code = "import numpy, time; begin = time.process_time(); import basefog.measure; print(time.process_time() - begin)"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    return 1000 * float(told)


if __name__ == "__main__":
    sys.stdout.write(f"one test: {measure_cpu_ms():.0f} ms of processor time (50 is the aim)\n")
    sys.stdout.write(f"import basefog.measure: {import_cpu_ms():.0f} ms beyond numpy\n")
