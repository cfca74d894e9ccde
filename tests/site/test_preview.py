"""The preview shows the last good site and what is wrong now, on this machine alone."""

import http.client
import json
import socket
import struct
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Self

import pytest
from playwright.sync_api import Browser, expect

from basefog.site.preview import preview_site
from basefog.site.preview_server import PreviewServer, PreviewState
from basefog.site.publish import publish_site
from basefog.site.stops import FaultySite, PortTaken
from chromium import NEEDS_CHROMIUM, new_context
from small_sites import plan, small_site

BASE = Path(__file__).parents[2] / "themes" / "neutral" / "templates" / "base.html"
LONG_S = 30.0
"""Longest that a test waits for what must come; none waits for what must not."""


@dataclass(frozen=True, kw_only=True)
class Page:
    """What came back."""

    status: int
    text: str
    headers: dict[str, str]


def ask(server: PreviewServer, path: str, *, host: str | None = None, method: str = "GET") -> Page:
    port = server.server_address[1]
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=LONG_S)
    try:
        connection.putrequest(method, path, skip_host=True)
        connection.putheader("Host", host if host is not None else f"127.0.0.1:{port}")
        connection.endheaders()
        answer = connection.getresponse()
        return Page(status=answer.status, text=answer.read().decode(), headers=dict(answer.getheaders()))
    finally:
        connection.close()


@contextmanager
def serving(site: Path, *, poll_s: float = LONG_S) -> Iterator[PreviewServer]:
    state = PreviewState(site)
    server = PreviewServer(state, 0, poll_s=poll_s)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05})
    thread.start()
    try:
        yield server
    finally:
        state.close()
        server.shutdown()
        server.server_close()
        thread.join()


@pytest.fixture
def site(tmp_path: Path) -> Path:
    (tmp_path / "content").mkdir()
    files = small_site("hello") | {"404.html": "<body>not here</body>", "stocks/style.css": "p{}"}
    publish_site(plan(files), tmp_path / "site", series_folder=tmp_path / "content")
    return tmp_path / "site"


@pytest.fixture
def server(site: Path) -> Iterator[PreviewServer]:
    with serving(site) as server:
        server.state.show(None)
        yield server


def test_pages_are_served_with_a_script_that_files_lack(server: PreviewServer, site: Path) -> None:
    """The script is added to what is sent; the published file has none, other kinds are sent as they are."""
    page = ask(server, "/stocks/tern/index.html")

    script = '<script src="/-/follow.js" data-version="1"></script>'
    assert page.status == 200
    assert page.text == (site / "stocks/tern/index.html").read_text() + script
    assert page.headers["Content-Type"] == "text/html; charset=utf-8"
    assert page.headers["Cache-Control"] == "no-store"
    assert b"follow.js" not in b"".join(path.read_bytes() for path in site.rglob("*") if path.is_file())
    assert ask(server, "/stocks/style.css").text == "p{}"
    assert ask(server, "/stocks/style.css").headers["Content-Type"] == "text/css; charset=utf-8"
    assert "/-/changes?since=" in ask(server, "/-/follow.js").text


def test_folders_lead_to_their_index(server: PreviewServer) -> None:
    """A folder without its slash is sent on, one with it shows its page."""
    assert ask(server, "/").text.startswith("<a href=")
    assert ask(server, "/stocks/tern/").status == 200
    sent_on = ask(server, "/stocks/tern")
    assert (sent_on.status, sent_on.headers["Location"]) == (302, "./tern/")


def test_a_missing_page_shows_the_404_page(server: PreviewServer) -> None:
    """Status 404, the site's own page, the script at the end of its body."""
    page = ask(server, "/gone/index.html")

    assert (page.status, page.text.startswith("<body>not here<script")) == (404, True)
    assert page.text.endswith("</script></body>")


@pytest.mark.parametrize(
    "path",
    [
        "/../content/secret.txt",
        "/%2e%2e/content/secret.txt",
        "/stocks/../../content/secret.txt",
        "/-/good/../secret.txt",
        "//127.0.0.1/x",
        "/%00",
        "/link/secret.txt",
        "/..%5ccontent%5csecret.txt",
    ],
)
def test_nothing_outside_the_site_is_served(server: PreviewServer, site: Path, path: str) -> None:
    """Not by dots, in any spelling, nor through a link."""
    (site.parent / "content" / "secret.txt").write_text("secret")
    (site / "link").symlink_to(site.parent / "content")

    page = ask(server, path)

    assert page.status == 404
    assert "secret" not in page.text


@pytest.mark.parametrize(
    "host", ["evil.example.org", "evil.example.org:{port}", "127.0.0.1", "127.0.0.1:1", "", "localhost"]
)
def test_a_request_by_another_name_is_refused(server: PreviewServer, host: str) -> None:
    """A page from elsewhere that points its own name at this machine gets nothing (DNS rebinding)."""
    page = ask(server, "/", host=host.format(port=server.server_address[1]))

    assert page.status == 421
    assert "hello" not in page.text
    assert ask(server, "/", host=f"localhost:{server.server_address[1]}").status == 200


def test_it_listens_on_the_loopback_address_alone(server: PreviewServer) -> None:
    """No other address of the machine is bound."""
    assert server.server_address[0] == "127.0.0.1"


def test_it_only_gives(server: PreviewServer) -> None:
    """HEAD has no body; nothing can be sent to it."""
    assert ask(server, "/", method="HEAD").text == ""
    assert ask(server, "/", method="POST").status == 501


def test_a_waiting_page_hears_of_a_change(server: PreviewServer) -> None:
    """A poll is answered when a build ends, at once if one has ended since, and at last in any case."""
    answers: list[Page] = []
    waiting = threading.Thread(target=lambda: answers.append(ask(server, "/-/changes?since=1")))
    waiting.start()
    server.state.show(None)
    waiting.join(LONG_S)

    assert json.loads(answers[0].text) == {"version": 2}
    assert json.loads(ask(server, "/-/changes?since=1").text) == {"version": 2}
    assert json.loads(ask(server, "/-/changes?since=x").text) == {"version": 2}
    assert json.loads(ask(server, f"/-/changes?since={'9' * 5000}").text) == {"version": 2}
    server.poll_s = 0.01
    assert json.loads(ask(server, "/-/changes?since=2").text) == {"version": 2}


def test_problems_are_shown_while_the_last_good_site_stays(server: PreviewServer) -> None:
    """Pages show what is wrong, as text; the good site is under an address of its own, with its links at work."""
    server.state.show("test.yaml:3:1: problem: found <b>'eight'</b>")

    page = ask(server, "/stocks/tern/")
    good = ask(server, "/-/good/stocks/tern/")

    assert page.status == 503
    assert "found &lt;b&gt;&#x27;eight&#x27;&lt;/b&gt;" in page.text
    assert '<a href="/-/good/">' in page.text
    assert (good.status, "hello" in good.text) == (200, True)
    assert ask(server, "/-/good").headers["Location"] == "./good/"
    assert ask(server, "/stocks/style.css").status == 200

    server.state.show(None)
    assert ask(server, "/stocks/tern/").status == 200


def test_a_browser_that_goes_away_is_no_news(server: PreviewServer, capfd: pytest.CaptureFixture[str]) -> None:
    """A connection that is reset before its request is whole leaves the terminal silent and the server at work."""
    with socket.create_connection(("127.0.0.1", server.server_address[1])) as connection:
        connection.sendall(b"GET /")
        # Sent away with a reset: what is unread is thrown away.
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))

    assert ask(server, "/").status == 200
    assert capfd.readouterr().err == ""


def test_before_the_first_build_there_is_a_page_that_waits(tmp_path: Path) -> None:
    """It says so and has no link to a good site, for there is none."""
    with serving(tmp_path / "none") as server:
        page = ask(server, "/")

    assert page.status == 503
    assert "under way" in page.text
    assert "/-/good/" not in page.text


class Run:
    """A preview at work in a thread, with what it told."""

    def __init__(self, content: Path, rebuild: Callable[[Path], str | None], port: int = 0) -> None:
        self.told: list[str] = []
        self.news = threading.Condition()
        self.stop = threading.Event()
        self.thread = threading.Thread(
            target=preview_site,
            args=(rebuild,),
            kwargs={"watch": [content], "port": port, "tell": self.tell, "stop": self.stop},
        )

    def tell(self, line: str) -> None:
        """Take a line as the terminal would."""
        with self.news:
            self.told.append(line)
            self.news.notify_all()

    def wait_for(self, line: str, times: int = 1) -> None:
        """Wait until a line has been told so many times."""
        with self.news:
            told = self.news.wait_for(lambda: sum(line in told for told in self.told) >= times, LONG_S)
        assert told, f"never told {line!r}: {self.told}"

    def __enter__(self) -> Self:
        self.thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.stop.set()
        self.thread.join(LONG_S)
        assert not self.thread.is_alive()


def save(source: Path, words: str) -> None:
    """Write a file as an editor does, at one stroke: the preview may look between emptying a file and filling it."""
    new = source.with_name(f".{source.name}.new")
    new.write_text(words)
    new.replace(source)


def test_a_change_builds_again(tmp_path: Path) -> None:
    """Good, then faulty, then good content: the pages follow, and the preview's own folder is gone at the end."""
    content = tmp_path / "content"
    content.mkdir()
    source = content / "words.txt"
    source.write_text("one")
    targets: list[Path] = []

    def rebuild(target: Path) -> str | None:
        targets.append(target)
        words = source.read_text()
        if words == "wrong":
            return "words.txt:1:1: problem: found 'wrong'"
        if words == "faulty":
            raise FaultySite(["index.html:1: gone.html: there is no gone.html in the site"])
        publish_site(plan(small_site(words)), target, series_folder=content)
        return None

    with Run(content, rebuild) as run:
        run.wait_for("the preview is up to date")
        address = run.told[0].split()[2]
        assert page_at(address).text.startswith('<a href="stocks/tern/index.html#x">one')

        for words, line in (("wrong", "found &#x27;wrong&#x27;"), ("faulty", "there is no gone.html in the site")):
            save(source, words)
            run.wait_for("keeps the last good site", 1 if words == "wrong" else 2)
            assert line in page_at(address).text
            assert ">one<" in page_at(address, "-/good/").text

        (content / ".words.txt.swp").write_text("ignored")
        save(source, "two")
        run.wait_for("the preview is up to date", 2)
        assert page_at(address).text.startswith('<a href="stocks/tern/index.html#x">two')

    assert "index.html:1: gone.html: there is no gone.html in the site" in run.told
    assert not any(target.exists() for target in targets)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["content"]


def page_at(address: str, path: str = "") -> Page:
    port = address.rstrip("/").rpartition(":")[2]
    connection = http.client.HTTPConnection("127.0.0.1", int(port), timeout=LONG_S)
    try:
        connection.request("GET", f"/{path}")
        answer = connection.getresponse()
        return Page(status=answer.status, text=answer.read().decode(), headers={})
    finally:
        connection.close()


@pytest.mark.browser
@NEEDS_CHROMIUM
def test_an_open_page_follows_the_content(tmp_path: Path, browser: Browser) -> None:
    """Good, faulty and good content again: an open page shows each in turn, under the theme's own content policy."""
    content = tmp_path / "content"
    content.mkdir()
    source = content / "words.txt"
    source.write_text("first words")
    policy = next(line for line in BASE.read_text().splitlines() if "Content-Security-Policy" in line)

    def rebuild(target: Path) -> str | None:
        words = source.read_text()
        if words == "wrong":
            return "words.txt:1:1: problem: found 'wrong'"
        publish_site(plan({"index.html": f"{policy}<body>{words}</body>"}), target, series_folder=content)
        return None

    with Run(content, rebuild) as run, new_context(browser) as context:
        run.wait_for("the preview is up to date")
        page = context.new_page()
        page.goto(run.told[0].split()[2])
        for words, shown in (
            ("second words", "second words"),
            ("wrong", "found 'wrong'"),
            ("last words", "last words"),
        ):
            save(source, words)
            expect(page.locator("body")).to_contain_text(shown)


def test_a_taken_port_is_told_in_a_line(tmp_path: Path) -> None:
    """The line names the port and what to do."""
    with serving(tmp_path) as other:
        port = other.server_address[1]
        with pytest.raises(PortTaken) as stop:
            preview_site(lambda _: None, watch=[tmp_path], port=port, tell=lambda _: None)

    assert len(stop.value.lines) == 1
    assert stop.value.lines[0].startswith(f"can't listen on 127.0.0.1:{port} (")
    assert stop.value.lines[0].endswith("choose another with --port")
