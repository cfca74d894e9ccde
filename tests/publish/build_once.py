"""Publishes the invented series into a folder, as a process of its own; run as `build_once.py SERIES SITE`."""

import sys
from pathlib import Path

from basefog.publish import plan_site, publish_site
from publish.invented import make_findings, make_series, write_readings

THEME = Path(__file__).parents[2] / "themes" / "neutral"


def main(series_folder: Path, target: Path) -> None:
    """Write the reading files and publish."""
    series = make_series()
    write_readings(series, series_folder)
    jobs = plan_site(series, make_findings(series), series_folder=series_folder, theme_folder=THEME)
    publish_site(jobs, target, series_folder=series_folder, address=series.address)


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
