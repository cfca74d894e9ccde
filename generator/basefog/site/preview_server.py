"""Serves a preview on this machine alone: the pages as published, with a script added that follows changes.

It listens on the loopback address and answers only requests that name it by a loopback name, so that no page from
elsewhere can read the preview by pointing a name of its own at this machine.
"""

import html
import json
import sys
import threading
from dataclasses import dataclass
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path, PurePosixPath
from typing import Final
from urllib.parse import SplitResult, parse_qs, unquote, urlsplit

LOOPBACK: Final = "127.0.0.1"
OWN_FOLDER: Final = "-"
"""First part of the preview's own addresses; no page of a site has it."""

POLL_S: Final = 20.0
_LONGEST_VERSION: Final = 12
_HOSTS: Final = (LOOPBACK, "localhost")
_MEDIA_TYPES: Final = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".json": "application/json",
    ".csv": "text/csv; charset=utf-8",
    ".xml": "application/xml",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".jpg": "image/jpeg",
    ".webp": "image/webp",
    ".zip": "application/zip",
    ".txt": "text/plain; charset=utf-8",
}
_FOLLOW_SCRIPT: Final = b"""\
(function () {
  var seen = document.currentScript.dataset.version;
  function ask() {
    fetch("/-/changes?since=" + seen)
      .then(function (answer) { return answer.json(); })
      .then(function (now) { if (String(now.version) === seen) { ask(); } else { location.reload(); } })
      .catch(function () { setTimeout(ask, 1000); });
  }
  ask();
})();
"""


@dataclass(frozen=True, kw_only=True, slots=True)
class Answer:
    """What is sent back: status, body, media type, and where to go instead."""

    status: HTTPStatus = HTTPStatus.OK
    body: bytes = b""
    media_type: str = "text/html; charset=utf-8"
    location: str | None = None


class PreviewState:
    """What the preview shows now: the site folder, what is wrong if anything, and a number that each change raises."""

    def __init__(self, site: Path) -> None:
        self.site = site
        self.fault: str | None = "The first build is under way."
        self.version = 0
        self._changed = threading.Condition()
        self._closed = False

    def show(self, fault: str | None) -> None:
        """Take the outcome of a build and wake every page that waits for one."""
        with self._changed:
            self.fault = fault
            self.version += 1
            self._changed.notify_all()

    def close(self) -> None:
        """Let every waiting page go."""
        with self._changed:
            self._closed = True
            self._changed.notify_all()

    def wait_for_change(self, since: int, timeout_s: float) -> int:
        """Return the version now, as soon as it is not `since`, or after the time."""
        with self._changed:
            self._changed.wait_for(lambda: self._closed or self.version != since, timeout_s)
            return self.version


class PreviewServer(ThreadingHTTPServer):
    """The preview's server; raises OSError where the port is taken."""

    daemon_threads = True
    # Lets a stopped preview start again at once; on Windows it would let two previews share a port.
    allow_reuse_address = sys.platform != "win32"

    def __init__(self, state: PreviewState, port: int, *, poll_s: float = POLL_S) -> None:
        self.state = state
        self.poll_s = poll_s
        super().__init__((LOOPBACK, port), _Handler)

    @property
    def address(self) -> str:
        """Where the preview is seen in a browser."""
        return f"http://{LOOPBACK}:{self.server_address[1]}/"

    def handle_error(self, request: object, client_address: object) -> None:
        """Say nothing of a browser that went away; tell any other error as the library does."""
        if not isinstance(sys.exception(), ConnectionError | TimeoutError):
            super().handle_error(request, client_address)  # type: ignore[arg-type]

    def is_addressed_by(self, host: str | None) -> bool:
        """Return whether a request's Host names this server."""
        return host in {f"{name}:{self.server_address[1]}" for name in _HOSTS}

    def answer(self, target: str) -> Answer:
        """Return the answer to a GET of a path with its query."""
        try:
            parts = urlsplit(target)
        except ValueError:
            return Answer(status=HTTPStatus.BAD_REQUEST, body=b"This is no address.")
        path = unquote(parts.path).lstrip("/")
        first, _, rest = path.partition("/")
        if first == OWN_FOLDER:
            return self._answer_own(rest, parts)
        if self.state.fault is not None and _is_page(path):
            return Answer(status=HTTPStatus.SERVICE_UNAVAILABLE, body=self._fault_page(self.state.fault))
        return self._answer_file(path, parts.path)

    def _answer_own(self, path: str, asked: SplitResult) -> Answer:
        if path == "follow.js":
            return Answer(body=_FOLLOW_SCRIPT, media_type=_MEDIA_TYPES[".js"])
        if path == "changes":
            since = parse_qs(asked.query).get("since", [""])[0]
            known = int(since) if since.isdecimal() and len(since) < _LONGEST_VERSION else -1
            version = self.state.wait_for_change(known, self.poll_s)
            return Answer(body=json.dumps({"version": version}).encode(), media_type=_MEDIA_TYPES[".json"])
        if path == "good" or path.startswith("good/"):
            return self._answer_file(path.removeprefix("good").lstrip("/"), asked.path)
        return Answer(status=HTTPStatus.NOT_FOUND, body=b"There is nothing here.")

    def _answer_file(self, path: str, asked: str) -> Answer:
        version = self.state.version
        file = self._find(path)
        if file is not None and file.is_dir():
            if not asked.endswith("/"):
                # The last part alone, relative: a path from the request must never become an address elsewhere.
                return Answer(status=HTTPStatus.FOUND, location=f"./{PurePosixPath(asked).name}/")
            file = self._find(f"{path}/index.html".lstrip("/"))
        status = HTTPStatus.OK
        if file is None or not file.is_file():
            status, file = HTTPStatus.NOT_FOUND, self._find("404.html")
        try:
            data = file.read_bytes() if file is not None else b"There is no such page."
        except OSError:
            status, data = HTTPStatus.NOT_FOUND, b"There is no such page."
        kind = file.suffix if file is not None else ".html"
        if kind == ".html":
            data = _with_script(data, version)
        return Answer(status=status, body=data, media_type=_MEDIA_TYPES.get(kind, "application/octet-stream"))

    def _find(self, path: str) -> Path | None:
        """Return a file or folder of the site, None where it is missing or would lie outside."""
        try:
            site = self.state.site.resolve()
            found = (site / path).resolve()
        except (OSError, ValueError):
            return None
        return found if found.is_relative_to(site) and found.exists() else None

    def _fault_page(self, fault: str) -> bytes:
        page = (
            "<!doctype html>\n<html lang=en><meta charset=utf-8><title>Problems</title>\n"
            '<meta name=viewport content="width=device-width">\n'
            "<body><h1>This can’t be published yet</h1>\n"
            f"<pre style='white-space:pre-wrap'>{html.escape(fault)}</pre>\n"
            "<p>The page renews itself when the content changes."
        )
        if self._find("index.html") is not None:
            page += f' <a href="/{OWN_FOLDER}/good/">The last good site</a> is still there.'
        return _with_script(page.encode(), self.state.version)


class _Handler(BaseHTTPRequestHandler):
    """Answers one request."""

    server: PreviewServer

    def do_GET(self) -> None:
        """Send the answer."""
        self._send(with_body=True)

    def do_HEAD(self) -> None:
        """Send the answer without its body."""
        self._send(with_body=False)

    def log_message(self, *_: object) -> None:
        """Say nothing: the terminal is for problems."""

    def version_string(self) -> str:
        """Name the program alone."""
        return "basefog preview"

    def _send(self, *, with_body: bool) -> None:
        if self.server.is_addressed_by(self.headers.get("Host")):
            answer = self.server.answer(self.path)
        else:
            answer = Answer(
                status=HTTPStatus.MISDIRECTED_REQUEST, body=b"This preview answers to 127.0.0.1 and localhost alone."
            )
        try:
            self.send_response(answer.status)
            self.send_header("Content-Type", answer.media_type)
            self.send_header("Content-Length", str(len(answer.body)))
            self.send_header("Cache-Control", "no-store")
            self.send_header("X-Content-Type-Options", "nosniff")
            self.send_header("Cross-Origin-Resource-Policy", "same-origin")
            if answer.location is not None:
                self.send_header("Location", answer.location)
            self.end_headers()
            if with_body:
                self.wfile.write(answer.body)
        except (BrokenPipeError, ConnectionError):
            # The browser went elsewhere.
            self.close_connection = True


def _is_page(path: str) -> bool:
    return path.endswith((".html", "/")) or "." not in path.rpartition("/")[2]


def _with_script(page: bytes, version: int) -> bytes:
    """Return a page with the following script at the end of its body."""
    script = f'<script src="/{OWN_FOLDER}/follow.js" data-version="{version}"></script>'.encode()
    before, end, after = page.rpartition(b"</body>")
    return before + script + end + after if end else page + script
