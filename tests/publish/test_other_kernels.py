"""A process told to do without what its processor offers does so, and complains of nothing."""

import os
import platform
import subprocess
import sys

import pytest

from publish.other_kernels import list_settings

ON_X86 = pytest.mark.skipif(platform.machine() != "x86_64", reason="the names are those of another processor")
CORES = {"Haswell": {"Core: Haswell"}, "Prescott": {"Core: Prescott", "Core: Katmai"}}
"""What OpenBLAS says it uses; some of its builds name the kernels of Prescott by the oldest core that shares them."""

ASK = """
import numpy, cv2
numpy.linalg.solve(numpy.eye(3), numpy.ones(3))
print(*numpy.show_config(mode="dicts")["SIMD Extensions"].get("found", []))
print(cv2.getCPUFeaturesLine())
"""


def ask(**setting: str) -> tuple[list[str], list[str], str]:
    """Return the features that numpy and OpenCV use beyond their least in a fresh process, and what else it says."""
    run = subprocess.run(
        [sys.executable, "-W", "error", "-c", ASK],
        env=os.environ | {"OPENBLAS_VERBOSE": "2"} | setting,
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    numpy_has, opencv_has = run.stdout.splitlines()[-2:]
    return numpy_has.split(), [name for name in opencv_has.split() if name[0] == "*" and name[-1] != "?"], run.stderr


@ON_X86
@pytest.mark.parametrize("name", sorted(list_settings()))
def test_a_setting_takes_effect_without_a_warning(name: str) -> None:
    """Numpy and OpenCV do without what they are told to, and linear algebra uses the kernels named."""
    setting = list_settings()[name]
    numpy_before, opencv_before, _ = ask()
    numpy_has, opencv_has, told = ask(**setting)

    assert not set(numpy_has) & set(filter(None, setting["NPY_DISABLE_CPU_FEATURES"].split(",")))
    assert len(opencv_has) == len(opencv_before) - len([*filter(None, setting["OPENCV_CPU_DISABLE"].split(","))])
    assert set(numpy_has) <= set(numpy_before)
    assert told
    assert set(told.splitlines()) <= CORES[setting["OPENBLAS_CORETYPE"]]


@ON_X86
def test_a_processor_without_avx_can_be_any() -> None:
    """Of the settings of this kind of processor, one asks nothing of it."""
    assert list_settings()["a processor without AVX"]["OPENBLAS_CORETYPE"] == "Prescott"
