"""The built wheel stands alone: themes and demo travel in it."""

import os
import subprocess
import sys
import sysconfig
import venv
from pathlib import Path

REPO = Path(__file__).parents[1]


def test_demo_from_an_installed_wheel(tmp_path: Path) -> None:
    """`basefog demo` in an empty folder works from a wheel installed in a new environment.

    The libraries are lent by the environment that runs the tests (a path file), so that nothing is downloaded; that
    they are declared is shown by README's first command, which installs from the declaration alone.
    """
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(tmp_path), str(REPO)],
        check=True,
        capture_output=True,
    )
    (wheel,) = tmp_path.glob("basefog-*.whl")
    environment = tmp_path / "environment"
    venv.create(environment, with_pip=False, symlinks=True)
    site_packages = next(environment.glob("lib/python*/site-packages"))
    subprocess.run(
        [sys.executable, "-m", "pip", "install", "-q", "--no-deps", "--target", str(site_packages), str(wheel)],
        check=True,
        capture_output=True,
    )
    (site_packages / "zz_lent.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    folder = tmp_path / "empty"
    folder.mkdir()

    ran = subprocess.run(
        [str(environment / "bin" / "python"), "-c", _RUN],
        cwd=folder,
        # The tester has no path to the sources; neither may this run.
        env={name: value for name, value in os.environ.items() if name != "PYTHONPATH"},
        check=False,
        capture_output=True,
        text=True,
    )

    assert ran.returncode == 0, ran.stderr
    assert str(environment) in ran.stdout
    assert (folder / "site" / "index.html").is_file()
    assert (folder / "site" / "data" / "series.zip").is_file()


_RUN = "import basefog; print(basefog.__file__); from basefog.cli import main; raise SystemExit(main(['demo']))"
