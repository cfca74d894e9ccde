"""Kills a publish before each act that it does on the disk, and tells what is left each time; run as a program.

Every act that Python announces to its audit hooks counts: opening, making, renaming, linking, removing. A forked
child does the publish and is killed by SIGKILL before act n; then the site is looked at, another publish is run in a
second child, and the site is looked at again. The outcomes are printed as JSON, one for each n.
"""

import json
import os
import shutil
import signal
import sys
from collections.abc import Callable
from pathlib import Path

from basefog.site import swap
from basefog.site.publish import publish_site
from small_sites import plan, read_tree, small_site

ACTS = {"open", "os.mkdir", "os.rename", "os.link", "os.chmod", "os.scandir", "os.listdir"}
REMOVALS = {"os.remove", "os.rmdir"}


def in_child(work: Callable[[], None]) -> int:
    """Run work in a forked child; return its wait status."""
    child = os.fork()
    if child == 0:
        try:
            work()
        except BaseException as error:  # noqa: BLE001 - whatever it is, the child must end here
            os.write(2, f"{error!r}\n".encode())
            os._exit(1)
        os._exit(0)
    return os.waitpid(child, 0)[1]


def kill_before(act: int, series: str) -> None:
    """Let this process die before its act of that number below the series' parent."""
    seen = 0
    below = str(Path(series).parent)

    def count(event: str, arguments: tuple[object, ...]) -> None:
        nonlocal seen
        # A tree is removed by names within open folders, so that those acts name no path.
        named = any(isinstance(item, str) and item.startswith(below) for item in map(_text, arguments))
        if event in REMOVALS or (event in ACTS and named):
            seen += 1
            if seen == act:
                os.kill(os.getpid(), signal.SIGKILL)

    sys.addaudithook(count)


def _text(item: object) -> object:
    return os.fsdecode(item) if isinstance(item, bytes | os.PathLike) else item


def publish(words: str, target: Path, series: Path) -> None:
    """Publish a small site."""
    publish_site(plan(small_site(words)), target, series_folder=series)


def try_once(base: Path, act: int) -> dict[str, object]:
    """Cut off a publish before one act, look, publish again, and look again."""
    series, target = base / "content", base / "site"
    series.mkdir(parents=True)
    publish("old", target, series)
    (target / "mine").mkdir()
    (target / "mine" / "own.txt").write_text("own")

    def cut_off() -> None:
        kill_before(act, str(series))
        publish("new", target, series)

    killed = os.WIFSIGNALED(in_child(cut_off))
    seen = {"killed": killed, "site": name_of(target), "left": names_in(base)}
    again = in_child(lambda: publish("next", target, series))
    return seen | {"again": again, "site_again": name_of(target), "left_again": names_in(base)}


def main(folder: Path, way: str) -> None:
    """Cut off a publish at every act, in the given way of swapping."""
    if way == "renames":
        swap.exchange_folders = lambda *_: False
    outcomes: list[dict[str, object]] = []
    while len(outcomes) < 400 and (not outcomes or outcomes[-1]["killed"]):
        base = folder / str(len(outcomes) + 1)
        outcomes.append(try_once(base, len(outcomes) + 1))
        shutil.rmtree(base)
    print(json.dumps(outcomes))  # noqa: T201 - a program of its own


def names_in(folder: Path) -> list[str]:
    """Return what stands in a folder."""
    return sorted(path.name for path in folder.iterdir())


def name_of(target: Path) -> str:
    """Return which site it is: old, new or next, whole and with the file of one's own; none; or what is there."""
    if not target.exists():
        return "none"
    site = read_tree(target)
    for words in ("old", "new", "next"):
        if site == {name: text.encode() for name, text in small_site(words).items()} | {"mine/own.txt": b"own"}:
            return words
    return f"broken: {sorted(site)}"


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2])
