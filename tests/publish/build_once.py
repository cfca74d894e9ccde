"""Publishes the invented series into a folder, as a process of its own; run as `build_once.py SERIES SITE`."""

import sys
from pathlib import Path

from publish.invented import make_findings, make_series, write_readings
from publish.site_jobs import plan_whole_site


def main(series_folder: Path, target: Path) -> None:
    """Write the reading files and publish."""
    series = make_series()
    write_readings(series, series_folder)
    planned = plan_whole_site(series, make_findings(series), series_folder, target.with_name("kept"))
    planned.publish(target, series_folder)


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
