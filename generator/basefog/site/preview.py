"""Shows a series in the browser while it is being written: builds, serves, watches, builds again."""

import tempfile
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from basefog.site.preview_server import LOOPBACK, PreviewServer, PreviewState
from basefog.site.stops import PortTaken, PublishError

_LOOK_MS = 250
_SETTLE_MS = 400

Rebuild = Callable[[Path], str | None]
"""Publishes into a folder; returns what is wrong with the content, None when all is well."""


def preview_site(
    rebuild: Rebuild,
    *,
    watch: Sequence[Path],
    port: int = 0,
    tell: Callable[[str], None],
    stop: threading.Event | None = None,
) -> None:
    """Build into a folder of the preview's own and serve it until interrupted, or until `stop` is set.

    `watch` are the folders whose changes start a new build; `port` 0 takes a free one; `tell` is given lines for the
    terminal. While the content has problems the browser shows them, and the last good site stays. Raises PortTaken.
    """
    stop = stop or threading.Event()
    with tempfile.TemporaryDirectory(prefix="basefog-preview-", ignore_cleanup_errors=True) as own:
        state = PreviewState(Path(own) / "site")
        with _serve(state, port) as server:
            tell(f"preview at {server.address} (stop with Ctrl-C)")
            try:
                for _ in _each_change(watch, stop):
                    _build(rebuild, state, tell)
            except KeyboardInterrupt:
                tell("preview stopped")


def _build(rebuild: Rebuild, state: PreviewState, tell: Callable[[str], None]) -> None:
    try:
        fault = rebuild(state.site)
    except PublishError as error:
        fault = str(error)
        for line in error.lines:
            tell(line)
    except OSError as error:
        # An editor may be replacing a file at this very moment; its next act builds again.
        fault = f"{error.filename}: {error.strerror}; save it again"
        tell(fault)
    state.show(fault)
    tell("the preview is up to date" if fault is None else "the preview keeps the last good site")


def _each_change(folders: Sequence[Path], stop: threading.Event) -> Iterator[None]:
    """Yield once at the start, then after each change that has settled, until `stop` is set.

    The watch stands before the first yield, so that a change during the first build is not missed.
    """
    from watchfiles import watch

    begun = False
    changes = watch(
        *(folder.resolve() for folder in folders),
        watch_filter=lambda _, path: any(is_watched(path, folder) for folder in folders),
        debounce=_SETTLE_MS,
        rust_timeout=_LOOK_MS,
        yield_on_timeout=True,
        stop_event=stop,
        raise_interrupt=True,
    )
    for found in changes:
        if found or not begun:
            begun = True
            yield


def is_watched(path: str, folder: Path) -> bool:
    """Return whether a change of this file below the folder may change the site; what the reader ignores may not.

    >>> content = Path("/x/content")
    >>> is_watched("/x/content/series.yaml", content), is_watched("/x/content/.git/index.lock", content)
    (True, False)
    """
    try:
        parts = Path(path).relative_to(folder.resolve()).parts
    except ValueError:
        return False
    return not any(part.startswith((".", "~$")) or part.endswith("~") or part == "Thumbs.db" for part in parts)


@contextmanager
def _serve(state: PreviewState, port: int) -> Iterator[PreviewServer]:
    try:
        server = PreviewServer(state, port)
    except OSError as error:
        raise PortTaken(f"can't listen on {LOOPBACK}:{port} ({error.strerror}); choose another with --port") from None
    thread = threading.Thread(target=server.serve_forever, name="preview", daemon=True)
    thread.start()
    try:
        yield server
    finally:
        state.close()
        server.shutdown()
        server.server_close()
        thread.join()
