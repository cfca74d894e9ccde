"""Jobs make exactly what they said they would, at addresses that every system can hold."""

from collections.abc import Mapping

import pytest

from basefog.site.job import Job
from basefog.site.run import check_address, check_addresses, run_jobs
from basefog.site.steps import open_steps
from basefog.site.stops import FaultySite
from small_sites import make_all


def make_files(*, files: Mapping[str, bytes]) -> Mapping[str, bytes]:
    return files


def job_of(outputs: tuple[str, ...], files: Mapping[str, bytes] | None = None) -> Job:
    return Job(outputs=outputs, make=make_files, inputs={"files": files or dict.fromkeys(outputs, b"")})


@pytest.mark.parametrize("address", ["index.html", "stocks/tern-100/2026-03-14-b/views/even-960.webp", "data/é/x.json"])
def test_usual_addresses_pass(address: str) -> None:
    """Addresses of the contract's shape."""
    assert check_address(address) is None


@pytest.mark.parametrize(
    ("address", "fault"),
    [
        ("../x.html", "the address leaves the site"),
        ("a/../../x.html", "the address leaves the site"),
        ("/etc/x", "the address leaves the site"),
        ("a//b", "the address has an empty part"),
        ("", "the address has an empty part"),
        ("a/./b", "the address has an empty part"),
        ("a\\b", "the address has a character that file systems refuse"),
        ("c:/x", "the address has a character that file systems refuse"),
        ("a\0b", "the address has a character that file systems refuse"),
        ("a\u202eb", "the address has a character that file systems refuse"),
        ("a /b", "a part of the address begins or ends with a space, or ends with a full stop"),
        ("a./b", "a part of the address begins or ends with a space, or ends with a full stop"),
        ("a" * 201, "a part of the address is longer than 200 bytes"),
        (".basefog-site.json", "the address is the marker's own"),
    ],
)
def test_unsafe_addresses_are_refused(address: str, fault: str) -> None:
    """One fault at a time."""
    assert check_address(address) == fault


@pytest.mark.parametrize(
    ("outputs", "faults"),
    [
        (("a.html", "a.html"), ("a.html: is to be made twice",)),
        (("A.html", "a.html"), ("a.html: is the same file as A.html",)),
        (("e\u0301.html", "\u00e9.html"), ("\u00e9.html: is the same file as e\u0301.html",)),
        (("a", "a/b.html"), ("a/b.html: a is a file, it can't be a folder too",)),
        (("x/y", "../x", "x/Y"), ("../x: the address leaves the site", "x/y: is the same file as x/Y")),
    ],
)
def test_addresses_of_all_jobs_are_checked_together(outputs: tuple[str, ...], faults: tuple[str, ...]) -> None:
    """Two addresses that any file system takes for one are a fault, and so is a file that is a folder too."""
    assert check_addresses(outputs) == faults


@pytest.mark.parametrize(
    ("made", "lines"),
    [
        ({"a": b""}, ("b: was to be made and was not",)),
        ({"a": b"", "b": b"", "c": b""}, ("c: was made and not declared",)),
        ({"a": b"", "b": "text"}, ("b: is not bytes",)),
    ],
)
def test_a_job_makes_what_it_declared(made: Mapping[str, bytes], lines: tuple[str, ...]) -> None:
    """A file too few, too many, or of the wrong kind stops the publish."""
    with pytest.raises(FaultySite) as stop:
        make_all([job_of(("a", "b"), made)])

    assert stop.value.lines == lines


def test_progress_tells_jobs_done_of_all() -> None:
    """It is told after each job, once its files are taken."""
    told: list[tuple[int, int]] = []

    jobs = [job_of(("b", "a")), job_of(("c",))]
    with open_steps(None, processes=1) as steps:
        made = list(run_jobs(jobs, steps, progress=lambda done, total: told.append((done, total))))

    assert [list(one.digests) for one in made] == [["a", "b"], ["c"]]
    assert told == [(1, 2), (2, 2)]
