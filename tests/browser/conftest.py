"""What the tests in a browser share: a site of the richer series on disk and on a host, and what the browser says."""

import functools
import http.server
import io
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Request, Response

from basefog.publish.data import plan_data
from basefog.publish.feed import plan_feed
from basefog.publish.pictures import plan_all_views
from basefog.publish.theme import load_theme
from chromium import Listen, new_context
from publish.invented import make_findings, write_readings
from publish.page_series import THEME_FOLDER, draw_pictures, make_pages, richer_series
from small_sites import make_all


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of a whole site, below a folder with a space; its pictures of grain are striped."""
    host, content = tmp_path_factory.mktemp("host"), tmp_path_factory.mktemp("content")
    series = richer_series()
    findings = make_findings(series)
    write_readings(series, content)
    jobs = (
        *plan_data(series, findings, series_folder=content, views=plan_all_views(series)),
        *plan_feed(series, findings),
    )
    files = make_pages(series, load_theme(THEME_FOLDER)) | make_all(jobs)
    pictures = draw_pictures(series)
    files |= {name: striped(data) if name.endswith("/even.png") else data for name, data in pictures.items()}
    folder = host / "below" / "a path"
    for address, data in files.items():
        path = folder / address
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return folder


def striped(data: bytes) -> bytes:
    """Return the same file with stripes of one pixel, so that a blurred pixel would be neither black nor white."""
    out = io.BytesIO()
    with Image.open(io.BytesIO(data)) as picture:
        stripes = Image.new("L", picture.size)
        for x in range(0, picture.width, 2):
            stripes.paste(255, (x, 0, x + 1, picture.height))
        stripes.save(out, "PNG")
    return out.getvalue()


class _Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture(scope="session")
def host(site: Path) -> Iterator[str]:
    """Serve the site below a sub-path with a space, and return its address."""
    handler = functools.partial(_Quiet, directory=str(site.parents[1]))
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/below/a%20path/"
    server.shutdown()
    server.server_close()


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    """Give a fresh desktop window, with nothing kept from other tests."""
    with new_context(browser, viewport={"width": 1280, "height": 900}) as context:
        yield context


@pytest.fixture(scope="session")
def listen() -> Listen:
    """Return what starts to listen to a page: console messages, errors of scripts, failed and refused requests."""

    def listen(page: Page) -> list[str]:
        complaints: list[str] = []

        def told(message: ConsoleMessage) -> None:
            complaints.append(f"{message.type}: {message.text}")

        def failed(request: Request) -> None:
            # Leaving a page ends what it still asks for; that is no complaint.
            if "ERR_ABORTED" not in (request.failure or ""):
                complaints.append(f"failed: {request.url} {request.failure}")

        def answered(response: Response) -> None:
            if response.status >= 400:
                complaints.append(f"{response.status}: {response.url}")

        page.on("console", told)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("requestfailed", failed)
        page.on("response", answered)
        return complaints

    return listen
