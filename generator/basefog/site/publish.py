"""Publishes a site: made beside the target, checked, then put in its place whole or not at all."""

import hashlib
import shutil
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from basefog.site.job import Job
from basefog.site.links import NO_STATES, StateCheck, check_links
from basefog.site.lock import hold_lock
from basefog.site.marker import MARKER_NAME, Marker, read_marker, render_marker
from basefog.site.page_facts import PageFacts, read_facts
from basefog.site.run import Progress, check_jobs, run_jobs
from basefog.site.stops import FaultySite, PublishError
from basefog.site.swap import repair_swap, swap_folders
from basefog.site.target import check_target, find_foreign, keep_foreign
from basefog.site.unchanged import find_unchanged, write_origin

DEFAULT_WAIT_S = 30.0

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
    address: str | None = None,
    states: Mapping[str, StateCheck] = NO_STATES,
    origin: str | None = None,
    told: Sequence[str] = (),
    wait_s: float = DEFAULT_WAIT_S,
    progress: Progress | None = None,
) -> PublishReport:
    """Make the site of all jobs and put it in the place of `target`.

    `address` is the series' canonical address, `states` the checks of states by the page that reads them. `origin` is
    the digest of all that the site is made from: with it the next publish can see that it has nothing to do, and tell
    again the lines that were `told` of this one. Another publish to the same folder is waited for up to `wait_s`.
    Raises UnsafeTarget, TargetBusy, FaultySite or ContentChanged, with whatever stood in `target` as it was.
    """
    folder = check_target(target, series_folder)
    faults = check_jobs(jobs)
    if faults:
        raise FaultySite(faults)
    room = room_of(folder)
    check = partial(check_links, site_address=address, states=states)
    try:
        with hold_lock(room.lock, wait_s=wait_s, busy=f"{target}: another publish is writing it; try again later"):
            repaired = repair_swap(folder, old=room.old, staged=room.staged)
            # Another publish, or a hand, may have been here since the first look.
            check_target(target, series_folder)
            try:
                report = _replace(jobs, room, check, repaired=repaired, progress=progress)
                if origin is not None:
                    write_origin(room.note, folder, origin, told)
                return report
            finally:
                # Whichever way it went, what is left beside the target is waste now; a target that is missing is not.
                repair_swap(folder, old=room.old, staged=room.staged)
    except OSError as error:
        raise PublishError(_tell(error, target)) from error


def find_standing_site(target: Path, *, series_folder: Path, origin: str) -> PublishReport | None:
    """Return what a publish to `target` would report if it had nothing to do; None where it has.

    It has nothing to do where the site was made from `origin`, stands as it was made, and no run was cut off since.
    Raises UnsafeTarget.
    """
    folder = check_target(target, series_folder)
    room = room_of(folder)
    if room.staged.exists() or room.old.exists():
        return None
    standing = find_unchanged(room.note, folder, origin)
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

    The note says what the site was made from; it may be removed, and the next publish then makes all again.
    """

    target: Path
    lock: Path
    note: Path
    staged: Path
    old: Path


def room_of(target: Path) -> Room:
    """Return where a publish to that folder works."""
    folder = target.with_name(f".{target.name}.basefog")
    return Room(
        target=target, lock=folder / "lock", note=folder / "made-from.json", staged=folder / "new", old=folder / "old"
    )


def _replace(
    jobs: Sequence[Job], room: Room, check: _LinkCheck, *, repaired: bool, progress: Progress | None
) -> PublishReport:
    before = read_marker(room.target)
    room.staged.mkdir()
    marker = _write_checked(jobs, room.staged, check, progress)
    kept = find_foreign(room.target, before)
    keep_foreign(room.target, room.staged, kept)
    if room.target.exists():
        shutil.copymode(room.target, room.staged)
    swap_folders(room.staged, room.target, room.old)
    old = before.files if before else {}
    return PublishReport(
        target=room.target,
        files=len(marker.files),
        added=tuple(sorted(marker.files.keys() - old.keys())),
        changed=tuple(sorted(path for path, digest in marker.files.items() if old.get(path, digest) != digest)),
        removed=tuple(sorted(old.keys() - marker.files.keys())),
        kept=kept,
        repaired=repaired,
    )


def _write_checked(jobs: Sequence[Job], staged: Path, check: _LinkCheck, progress: Progress | None) -> Marker:
    """Write every file and the marker; raises FaultySite where a link leads nowhere."""
    digests: dict[str, str] = {}
    facts: dict[str, PageFacts] = {}
    for place, data in run_jobs(jobs, progress):
        path = staged / place
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
        digests[place] = hashlib.sha256(data).hexdigest()
        found = read_facts(place, data)
        if found is not None:
            facts[place] = found
    faults = check(facts, digests)
    if faults:
        raise FaultySite(faults)
    marker = Marker(files=digests)
    (staged / MARKER_NAME).write_bytes(render_marker(marker))
    return marker


def _tell(error: OSError, target: Path) -> str:
    return f"{error.filename or target}: {error.strerror or error}; nothing was published"
