"""Runs the jobs of a publish: the one door through which every file of the site comes."""

import unicodedata
from collections.abc import Callable, Iterator, Sequence

from basefog.site.job import Job
from basefog.site.marker import MARKER_NAME
from basefog.site.stops import FaultySite

Progress = Callable[[int, int], None]
"""Told how many jobs are done, of how many."""

_FORBIDDEN = frozenset('\\:*?"<>|')
_LONGEST_NAME_BYTES = 200


def check_address(address: str) -> str | None:
    """Return what is wrong with an address below the site folder, or None.

    An address is a POSIX path that every usual file system and web host can hold.

    >>> check_address("method/index.html")
    >>> check_address("../method.html")
    'the address leaves the site'
    """
    parts = address.split("/")
    if ".." in parts or address.startswith("/"):
        return "the address leaves the site"
    if any(mark in _FORBIDDEN or unicodedata.category(mark).startswith("C") for mark in address):
        return "the address has a character that file systems refuse"
    return next(filter(None, map(_check_part, parts)), None)


def _check_part(part: str) -> str | None:
    if part in {"", "."}:
        return "the address has an empty part"
    if part != part.strip() or part.endswith("."):
        return "a part of the address begins or ends with a space, or ends with a full stop"
    if len(part.encode()) > _LONGEST_NAME_BYTES:
        return f"a part of the address is longer than {_LONGEST_NAME_BYTES} bytes"
    return "the address is the marker's own" if part == MARKER_NAME else None


def check_jobs(jobs: Sequence[Job]) -> tuple[str, ...]:
    """Return what is wrong with the addresses of all jobs together, sorted.

    Two addresses that differ only in case, or in how an accent is written, are one file on some systems; an address
    that is also a folder of another can't be written at all.
    """
    faults: list[str] = []
    addresses = [address for job in jobs for address in job.outputs]
    seen: dict[str, str] = {}
    for address in sorted(addresses):
        wrong = check_address(address)
        if wrong:
            faults.append(f"{address}: {wrong}")
        folded = _folded(address)
        if folded in seen:
            other = seen[folded]
            faults.append(
                f"{address}: two jobs make this file" if other == address else f"{address}: is the same file as {other}"
            )
        seen.setdefault(folded, address)
    for folded, address in seen.items():
        parts = folded.split("/")
        above = ("/".join(parts[:length]) for length in range(1, len(parts)))
        faults += [f"{address}: {seen[path]} is a file, it can't be a folder too" for path in above if path in seen]
    return tuple(sorted(faults))


def run_jobs(jobs: Sequence[Job], progress: Progress | None = None) -> Iterator[tuple[str, bytes]]:
    """Run every job and yield each file it makes: its address and its bytes.

    Files come job by job, so that a site of many pictures is never held in memory whole. Raises FaultySite where a
    job does not make exactly the files it declared.
    """
    for done, job in enumerate(jobs, 1):
        yield from sorted(_made_by(job).items())
        if progress is not None:
            progress(done, len(jobs))


def _made_by(job: Job) -> dict[str, bytes]:
    files = dict(job.make(**job.inputs))
    faults = [f"{address}: was to be made and was not" for address in sorted(set(job.outputs) - set(files))]
    faults += [f"{address}: was made and not declared" for address in sorted(set(files) - set(job.outputs))]
    faults += [f"{address}: is not bytes" for address, data in sorted(files.items()) if not isinstance(data, bytes)]
    if faults:
        raise FaultySite(faults)
    return files


def _folded(address: str) -> str:
    return unicodedata.normalize("NFC", address).casefold()
