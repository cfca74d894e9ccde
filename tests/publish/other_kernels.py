"""Publishes the demo as other processors would; run as `python -m publish.other_kernels SITE`.

Linear algebra, arrays, pictures and the C library each choose their code by what the processor offers. Told to do
without it, they choose as on an older one; the demo must come out as SITE has it. Status 1 where it does not.
"""

import os
import platform
import re
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path

from publish.compare_sites import compare_sites

Setting = Mapping[str, str]
"""Environment variables."""


def list_settings() -> dict[str, Setting]:
    """Return the settings that this machine can be put into, by name: only what it has is switched off."""
    numpy_has, opencv_has = _numpy_features(), _opencv_features()
    plain = {
        "NPY_DISABLE_CPU_FEATURES": ",".join(numpy_has),
        "OPENCV_CPU_DISABLE": ",".join(opencv_has),
        "GLIBC_TUNABLES": "glibc.cpu.hwcaps=-AVX2,-FMA,-FMA4,-AVX512F",
    }
    if platform.machine() != "x86_64":
        return {"plain": plain}
    settings: dict[str, Setting] = {"a processor without AVX": plain | {"OPENBLAS_CORETYPE": "Prescott"}}
    if "X86_V3" in numpy_has:
        settings["a processor without AVX-512"] = {
            "OPENBLAS_CORETYPE": "Haswell",
            "NPY_DISABLE_CPU_FEATURES": ",".join(name for name in numpy_has if name != "X86_V3"),
            "OPENCV_CPU_DISABLE": ",".join(name for name in opencv_has if name.startswith("AVX512")),
        }
    return settings


def _numpy_features() -> list[str]:
    """Return what numpy has code for beyond its least, and this processor offers."""
    import numpy as np

    told: object = np.show_config(mode="dicts")
    assert isinstance(told, dict)
    return list(told["SIMD Extensions"].get("found", []))


def _opencv_features() -> list[str]:
    """Return the same of OpenCV, which marks what it can do without by a star, and what is not there by a mark."""
    import cv2

    return re.findall(r"\*([^\s?]+)(?:\s|$)", cv2.getCPUFeaturesLine())


def main(site: Path) -> int:
    """Publish under every setting and print what differs; return 1 where anything does."""
    failed = 0
    for name, setting in list_settings().items():
        # A fresh folder each time: a site that stands is not made again.
        with tempfile.TemporaryDirectory() as scratch:
            made = Path(scratch) / "site"
            basefog = Path(sys.executable).with_name("basefog")
            subprocess.run([basefog, "demo", "--to", made, "--quiet"], env=os.environ | setting, check=True)
            faults = compare_sites(site, made)
        told = [f"as on {name}: {'not ' if faults else ''}the same", *faults]
        sys.stdout.writelines(f"{line}\n" for line in told)
        failed |= bool(faults)
    return int(failed)


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
