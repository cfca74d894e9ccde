"""Runs the jobs of a publish: the one door through which every file of the site comes."""

import hashlib
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

from basefog.site.job import InputPath, Job
from basefog.site.marker import MARKER_NAME
from basefog.site.page_facts import PageFacts, read_facts
from basefog.site.steps import Step, Steps, WithFiles
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


def check_addresses(addresses: Iterable[str]) -> tuple[str, ...]:
    """Return what is wrong with the addresses of a whole site together, sorted.

    Two addresses that differ only in case, or in how an accent is written, are one file on some systems; an address
    that is also a folder of another can't be written at all.
    """
    faults: list[str] = []
    seen: dict[str, str] = {}
    for address in sorted(addresses):
        wrong = check_address(address)
        if wrong:
            faults.append(f"{address}: {wrong}")
        folded = _folded(address)
        if folded in seen:
            other = seen[folded]
            faults.append(
                f"{address}: is to be made twice" if other == address else f"{address}: is the same file as {other}"
            )
        seen.setdefault(folded, address)
    for folded, address in seen.items():
        parts = folded.split("/")
        above = ("/".join(parts[:length]) for length in range(1, len(parts)))
        faults += [f"{address}: {seen[path]} is a file, it can't be a folder too" for path in above if path in seen]
    return tuple(sorted(faults))


@dataclass(frozen=True, kw_only=True, slots=True)
class MadeFiles:
    """What a job made: the sha256 of every file by its address, and what the link check must know of it."""

    digests: Mapping[str, str]
    facts: Mapping[str, PageFacts]


def run_jobs(
    jobs: Sequence[Job], steps: Steps, *, code: str = "", progress: Progress | None = None
) -> Iterator[MadeFiles]:
    """Run every job and yield what each made; the files themselves are then in the store of `steps`.

    Jobs that read what others make come after them; what those make can't be read by others. `code` is the digest of
    the code that makes the files. Raises FaultySite where a job does not make exactly the files it declared, and
    whatever a job raises.
    """
    made_by_others: dict[str, InputPath] = {}
    asked_for = {address for job in jobs for address in job.after}
    first = (_step_of(job, job.inputs, code) for job in jobs if not job.after)
    then = (
        _step_of(job, {**job.inputs, "made": {address: made_by_others[address] for address in job.after}}, code)
        for job in jobs
        if job.after
    )
    all_made = chain(steps.run(first, files_of=_files_of), steps.run(then, files_of=_files_of))
    for done, made in enumerate(all_made, 1):
        for address in asked_for & made.digests.keys():
            sha256 = made.digests[address]
            made_by_others[address] = InputPath(path=str(steps.store.path_of_file(sha256)), sha256=sha256)
        yield made
        if progress is not None:
            progress(done, len(jobs))


def _step_of(job: Job, inputs: Mapping[str, object], code: str) -> Step[MadeFiles]:
    inputs = {"make": job.make, "outputs": job.outputs, **inputs}
    name = next(iter(job.outputs), job.make.__name__)
    return Step(name=name, call=make_files, inputs=inputs, result=MadeFiles, code=code)


def _files_of(made: MadeFiles) -> Iterable[str]:
    return made.digests.values()


def make_files(
    *, make: Callable[..., Mapping[str, bytes]], outputs: tuple[str, ...], **inputs: object
) -> WithFiles[MadeFiles]:
    """Make the files of one job and look at each. Raises FaultySite where they are not those it declared."""
    files = dict(sorted(make(**inputs).items()))
    faults = [f"{address}: was to be made and was not" for address in sorted(set(outputs) - set(files))]
    faults += [f"{address}: was made and not declared" for address in sorted(set(files) - set(outputs))]
    faults += [f"{address}: is not bytes" for address, data in files.items() if not isinstance(data, bytes)]
    if faults:
        raise FaultySite(faults)
    facts = {address: found for address, data in files.items() if (found := read_facts(address, data)) is not None}
    digests = {address: hashlib.sha256(data).hexdigest() for address, data in files.items()}
    return WithFiles(result=MadeFiles(digests=digests, facts=facts), files=tuple(files.values()))


def _folded(address: str) -> str:
    return unicodedata.normalize("NFC", address).casefold()
