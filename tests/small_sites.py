"""Tiny sites to publish: a few files, linked soundly or not."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from basefog.site.job import Job
from basefog.site.marker import MARKER_NAME
from basefog.site.run import run_jobs
from basefog.site.steps import open_steps


def make_files(*, files: Mapping[str, bytes]) -> Mapping[str, bytes]:
    return files


def plan(files: Mapping[str, str]) -> tuple[Job, ...]:
    """Return a job a file."""
    return tuple(
        Job(outputs=(name,), make=make_files, inputs={"files": {name: text.encode()}}) for name, text in files.items()
    )


def make_all(jobs: Sequence[Job]) -> dict[str, bytes]:
    """Return every file that jobs make, by address."""
    made: dict[str, bytes] = {}
    with open_steps(None, processes=1) as steps:
        for files in run_jobs(jobs, steps):
            for address, sha256 in files.digests.items():
                data = steps.store.get_file(sha256)
                assert data is not None
                made[address] = data
    return made


def small_site(words: str) -> dict[str, str]:
    """Return a sound site of a few files that says these words on each page."""
    return {
        "index.html": f'<a href="stocks/tern/index.html#x">{words}</a><img src="stocks/a.png">',
        "stocks/tern/index.html": f'<p id=x><a href="../../index.html">{words}</a>',
        "stocks/a.png": words,
    }


def read_tree(folder: Path) -> dict[str, bytes]:
    """Return every file below a folder by its path, the marker left out; empty if there is no folder."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in _files(folder) if path.name != MARKER_NAME
    }


def _files(folder: Path) -> Iterator[Path]:
    return (path for path in sorted(folder.rglob("*")) if path.is_file())
