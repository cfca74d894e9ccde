"""Publishes a site: made beside the target, checked, then put in its place whole or not at all."""

import shutil
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from types import MappingProxyType
from typing import Final

from basefog.site.file_index import FileIndex
from basefog.site.job import Job
from basefog.site.links import NO_STATES, StateCheck, check_links
from basefog.site.lock import hold_lock
from basefog.site.marker import MARKER_NAME, Marker, read_marker, render_marker
from basefog.site.page_facts import PageFacts
from basefog.site.run import Progress, check_addresses, run_jobs
from basefog.site.steps import Steps, open_steps
from basefog.site.stops import FaultySite, KeptLost, PublishError
from basefog.site.swap import repair_swap, swap_folders
from basefog.site.target import check_target, find_foreign, keep_foreign
from basefog.site.unchanged import find_unchanged, write_origin

DEFAULT_WAIT_S = 30.0
NO_FILES: Final[Mapping[str, str]] = MappingProxyType({})

_LinkCheck = Callable[[Mapping[str, PageFacts], Iterable[str]], Sequence[str]]


@dataclass(frozen=True, kw_only=True, slots=True)
class PublishReport:
    """What a publish did: addresses added, changed and removed, and what it found and kept.

    `told` are the lines that the tester was told of the site when it was made, where it was made before.
    """

    target: Path
    files: int
    added: tuple[str, ...]
    changed: tuple[str, ...]
    removed: tuple[str, ...]
    kept: tuple[str, ...]
    repaired: bool
    told: tuple[str, ...] = ()


def publish_site(
    jobs: Sequence[Job],
    target: Path,
    *,
    series_folder: Path,
    steps: Steps | None = None,
    code: str = "",
    files: Mapping[str, str] = NO_FILES,
    index: FileIndex | None = None,
    address: str | None = None,
    states: Mapping[str, StateCheck] = NO_STATES,
    origin: Callable[[], str | None] = lambda: None,
    told: Sequence[str] = (),
    wait_s: float = DEFAULT_WAIT_S,
    progress: Progress | None = None,
) -> PublishReport:
    """Make the site of all jobs and put it in the place of `target`.

    `steps` run the jobs and keep what they make, by `code`, the digest of the code that makes it; `files` are those
    that are kept there already, their sha256 by address. What stands in the target as it should be is not written
    again; `index` knows how it stands. `address` is the series' canonical address, `states` the checks of states by
    the page that reads them.

    `origin` is asked at the end for the digest of all that the site was made from, None where that has changed
    meanwhile: by it the next publish sees that it has nothing to do, and tells again the lines that were `told` of
    this one. Another publish to the same folder is waited for up to `wait_s`.

    Raises UnsafeTarget, TargetBusy, FaultySite, ContentChanged or KeptLost, with whatever stood in `target` as it was.
    """
    folder = check_target(target, series_folder)
    faults = check_addresses([*files, *(output for job in jobs for output in job.outputs)])
    if faults:
        raise FaultySite(faults)
    room = room_of(folder)
    check = partial(check_links, site_address=address, states=states)
    busy = f"{target}: another publish is writing it; try again later"
    try:
        with hold_lock(room.lock, wait_s=wait_s, busy=busy), _steps_or_own(steps) as ready:
            repaired = repair_swap(folder, old=room.old, staged=room.staged)
            # Another publish, or a hand, may have been here since the first look.
            check_target(target, series_folder)
            try:
                before = read_marker(room.target)
                room.staged.mkdir()
                site = _Site(room=room, before=before, index=index or FileIndex.load(room.index), steps=ready)
                site.make(jobs, files, code=code, check=check, progress=progress)
                report = _replace(site, repaired=repaired)
                made_from = origin()
                if made_from is not None:
                    write_origin(room.note, folder, made_from, told)
                return report
            finally:
                # Whichever way it went, what is left beside the target is waste now; a target that is missing is not.
                repair_swap(folder, old=room.old, staged=room.staged)
    except OSError as error:
        raise PublishError(_tell(error, target)) from error


def find_standing_site(target: Path, *, series_folder: Path, origin: str, index: FileIndex) -> PublishReport | None:
    """Return what a publish to `target` would report if it had nothing to do; None where it has.

    It has nothing to do where the site was made from `origin`, stands as it was made, and no run was cut off since.
    Raises UnsafeTarget.
    """
    folder = check_target(target, series_folder)
    room = room_of(folder)
    if room.staged.exists() or room.old.exists():
        return None
    standing = find_unchanged(room.note, folder, origin, index)
    if standing is None:
        return None
    return PublishReport(
        target=folder,
        files=len(standing.marker.files),
        added=(),
        changed=(),
        removed=(),
        kept=find_foreign(folder, standing.marker),
        repaired=False,
        told=standing.told,
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Room:
    """Where a publish works: a folder beside the target with one name, so that the next run finds what is left.

    The note says what the site was made from, the index how files looked when they were read, and what was made is
    kept in a folder of its own: all three may be removed, and the next publish then makes all again.
    """

    target: Path
    lock: Path
    note: Path
    index: Path
    kept: Path
    staged: Path
    old: Path


def room_of(target: Path) -> Room:
    """Return where a publish to that folder works."""
    folder = target.with_name(f".{target.name}.basefog")
    return Room(
        target=target,
        lock=folder / "lock",
        note=folder / "made-from.json",
        index=folder / "files.json",
        kept=folder / "kept",
        staged=folder / "new",
        old=folder / "old",
    )


@contextmanager
def _steps_or_own(steps: Steps | None) -> Iterator[Steps]:
    if steps is not None:
        yield steps
        return
    with open_steps(None, processes=1) as own:
        yield own


@dataclass(kw_only=True, slots=True)
class _Site:
    """A site on its way: the marker of the one that stood there `before`, the sha256 of what is written by address."""

    room: Room
    before: Marker | None
    index: FileIndex
    steps: Steps
    digests: dict[str, str] = field(default_factory=dict)

    def make(
        self, jobs: Sequence[Job], files: Mapping[str, str], *, code: str, check: _LinkCheck, progress: Progress | None
    ) -> None:
        """Write every file and the marker; raises FaultySite where a link leads nowhere, KeptLost."""
        for address, sha256 in files.items():
            self._write(address, sha256)
        facts: dict[str, PageFacts] = {}
        for made in run_jobs(jobs, self.steps, code=code, progress=progress):
            facts.update(made.facts)
            for address, sha256 in made.digests.items():
                self._write(address, sha256)
        faults = check(facts, self.digests)
        if faults:
            raise FaultySite(faults)
        (self.room.staged / MARKER_NAME).write_bytes(render_marker(Marker(files=self.digests)))

    def _write(self, address: str, sha256: str) -> None:
        self.digests[address] = sha256
        place = self.room.staged / address
        place.parent.mkdir(parents=True, exist_ok=True)
        if self._stands(address, sha256):
            with suppress(OSError):
                place.hardlink_to(self.room.target / address)
                return
        data = self.steps.store.get_file(sha256)
        if data is None:
            raise KeptLost(f"{address}: what was kept of it was lost meanwhile; publish again")
        place.write_bytes(data)

    def _stands(self, address: str, sha256: str) -> bool:
        """Return whether the old site has a file as it shall be, so that it need only be given another name."""
        if self.before is None or self.before.files.get(address) != sha256:
            return False
        old = self.room.target / address
        try:
            return not old.is_symlink() and self.index.digest(old) == sha256
        except OSError:
            return False


def _replace(site: _Site, *, repaired: bool) -> PublishReport:
    room, new, old = site.room, site.digests, site.before.files if site.before else {}
    kept = find_foreign(room.target, site.before)
    keep_foreign(room.target, room.staged, kept)
    if room.target.exists():
        shutil.copymode(room.target, room.staged)
    swap_folders(room.staged, room.target, room.old)
    return PublishReport(
        target=room.target,
        files=len(new),
        added=tuple(sorted(new.keys() - old.keys())),
        changed=tuple(sorted(path for path, digest in new.items() if old.get(path, digest) != digest)),
        removed=tuple(sorted(old.keys() - new.keys())),
        kept=kept,
        repaired=repaired,
    )


def _tell(error: OSError, target: Path) -> str:
    return f"{error.filename or target}: {error.strerror or error}; nothing was published"
