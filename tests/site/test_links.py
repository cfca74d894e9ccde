"""Every link, anchor and file reference of a site is followed before it is published."""

from collections.abc import Mapping

import pytest

from basefog.site.links import NO_STATES, StateCheck, check_links
from basefog.site.page_facts import read_facts, split_srcset

SITE = "https://trials.example.org/films/"


def faults_of(
    files: Mapping[str, str | bytes], site_address: str | None = SITE, states: Mapping[str, StateCheck] = NO_STATES
) -> tuple[str, ...]:
    data = {name: text.encode() if isinstance(text, str) else text for name, text in files.items()}
    facts = {name: found for name, text in data.items() if (found := read_facts(name, text)) is not None}
    return check_links(facts, data, site_address, states)


def faults_of_page(body: str, site_address: str | None = SITE) -> tuple[str, ...]:
    """Return the faults of a page two folders down, in a site that has a page, an image and a style sheet."""
    site = {
        "index.html": '<h1 id=top>Home</h1><a name="old">x</a>',
        "method/index.html": "<h2 id=gamma>Gamma</h2><h2 id='caf\u00e9'>x</h2>",
        "stocks/tern/index.html": body,
        "stocks/tern/a-960.webp": "",
        "stocks/tern/a b.png": "",
        "assets/style.css": "",
    }
    return faults_of(site, site_address)


@pytest.mark.parametrize(
    "body",
    [
        '<a href="../../index.html">x</a>',
        '<a href="../../method/index.html#gamma">x</a>',
        '<a href="../../method/index.html#caf%C3%A9">x</a>',
        '<a href="../../index.html#old">x</a>',
        '<a href="../../index.html?order=gamma#sort=gamma">x</a>',
        '<p id=here><a href="#here">x</a>',
        '<a href="index.html">x</a>',
        '<img src="a-960.webp" srcset="a-960.webp 960w, a%20b.png 480w">',
        '<link rel="stylesheet" href="../../assets/style.css">',
        '<link rel="canonical" href="https://trials.example.org/films/stocks/tern/">',
        '<link rel="canonical" href="https://trials.example.org/films/">',
        '<meta property="og:image" content="https://trials.example.org/films/stocks/tern/a-960.webp">',
        '<meta http-equiv="refresh" content="0; url=../../method/index.html">',
        '<a href="https://elsewhere.example.org/x">x</a><a href="mailto:a@example.org">x</a>',
        '<img src="data:image/png;base64,AA==">',
        '<label for=q>x</label><input id=q aria-describedby="q r"><p id=r>',
        '<svg><defs><path id="p"/></defs><use href="#p"/><use xlink:href="#p"/><g fill="url(#p)"/></svg>',
        '<style>p{background:url("a-960.webp")} /* url(gone.png) */</style>',
        '<p style="background:url(a-960.webp)">',
        '<script>var x = "<a href=gone.html>";</script>',
        '<object data="a-960.webp"></object><p data="not-a-link">',
        '<script type="application/ld+json">{"url": "https://trials.example.org/films/", "@context": "x"}</script>',
        "<style></style><p>url(gone.png)",
        "<!-- <a href=gone.html> -->",
    ],
)
def test_links_that_lead_somewhere_pass(body: str) -> None:
    """What a page may hold."""
    assert faults_of_page(body) == ()


@pytest.mark.parametrize(
    ("body", "fault"),
    [
        ('<a href="gone.html">x</a>', "gone.html: there is no stocks/tern/gone.html in the site"),
        ('<a href="../../Index.html">x</a>', "../../Index.html: there is no Index.html in the site"),
        (
            '<a href="../../method/index.html#delta">x</a>',
            "../../method/index.html#delta: there is no anchor delta in method/index.html",
        ),
        ('<a href="#gone">x</a>', "#gone: there is no anchor gone in stocks/tern/index.html"),
        ('<a href="../../method/">x</a>', "../../method/: names a folder; name the file, so that it opens from disk"),
        ('<a href="../../../x.html">x</a>', "../../../x.html: leaves the site"),
        ('<a href="%2e%2e/%2e%2e/%2e%2e/x.html">x</a>', "%2e%2e/%2e%2e/%2e%2e/x.html: leaves the site"),
        (
            '<a href="/method/index.html">x</a>',
            "/method/index.html: begins at the host's root, so it fails below a sub-path or from disk",
        ),
        ('<a href="">x</a>', "a link is empty"),
        ('<a href="javascript:alert(1)">x</a>', "javascript:alert(1): a link may be http, https or mailto"),
        ('<a href="file:///etc/hosts">x</a>', "file:///etc/hosts: a link may be http, https or mailto"),
        ('<a href="data:text/html,x">x</a>', "data:text/html,x: a link may be http, https or mailto"),
        ('<a href="//elsewhere.example.org/">x</a>', "//elsewhere.example.org/: a link may be http, https or mailto"),
        ('<a href="https://[bad">x</a>', "https://[bad: is no address"),
        (
            '<a href="https://trials.example.org/films/gone/">x</a>',
            "https://trials.example.org/films/gone/: there is no gone/index.html in the site",
        ),
        ('<img src="gone.png">', "gone.png: there is no stocks/tern/gone.png in the site"),
        (
            '<img src="https://elsewhere.example.org/x.png">',
            "https://elsewhere.example.org/x.png: a page fetches nothing from elsewhere",
        ),
        (
            '<script src="https://elsewhere.example.org/x.js"></script>',
            "https://elsewhere.example.org/x.js: a page fetches nothing from elsewhere",
        ),
        (
            '<link rel="stylesheet" href="https://elsewhere.example.org/x.css">',
            "https://elsewhere.example.org/x.css: a page fetches nothing from elsewhere",
        ),
        (
            '<img src="a-960.webp" srcset="a-960.webp 1x, gone.webp 2x">',
            "gone.webp: there is no stocks/tern/gone.webp in the site",
        ),
        (
            '<meta http-equiv="Refresh" content="0;URL=\'gone.html\'">',
            "gone.html: there is no stocks/tern/gone.html in the site",
        ),
        ('<p style="background:url(gone.png)">', "gone.png: there is no stocks/tern/gone.png in the site"),
        ('<svg><g fill="url(#gone)"/></svg>', "#gone: there is no anchor gone in stocks/tern/index.html"),
        (
            '<script type="application/ld+json">[{"d": {"contentUrl": "https://trials.example.org/films/x.csv"}}]</script>',
            "https://trials.example.org/films/x.csv: there is no x.csv in the site",
        ),
        (
            '<script type="application/ld+json">{</script>',
            "the data for machines are no JSON",
        ),
        ("<p id=a><p id=a>", "id=a: stands on line 1 already"),
        ("<p id=''>", "id='': an id is a word without spaces"),
        ("<label for=gone>x</label>", "for=gone: there is no such id in the page"),
        ("<base href='x'>", "a base element would move every relative link"),
    ],
)
def test_links_that_lead_nowhere_are_told(body: str, fault: str) -> None:
    """One fault at a time, told with page and line."""
    assert faults_of_page(body)[0] == f"stocks/tern/index.html:1: {fault}"


def test_a_state_is_judged_by_the_check_of_its_page() -> None:
    """It is given the fragment, all addresses and the page's anchors; states of other pages are their scripts' own."""
    given: list[tuple[str, frozenset[str], frozenset[str]]] = []

    def refuse(fragment: str, addresses: frozenset[str], anchors: frozenset[str]) -> str | None:
        given.append((fragment, addresses, anchors))
        return "is refused" if fragment == "order=gone" else None

    page = "<p id=top><a href='#order=x'>x</a><a href='#order=gone'>x</a><a href='b.html#order=gone'>x</a>"
    site = {"a.html": page, "b.html": ""}

    assert faults_of(site, states={"a.html": refuse}) == ("a.html:1: #order=gone: is refused",)
    assert given == [(f"order={name}", frozenset(site), frozenset({"top"})) for name in ("x", "gone")]


def test_faults_are_told_in_the_order_of_the_pages() -> None:
    """By file, then line; all of them at once."""
    site = {
        "b.html": "\n\n<a href=gone.html>\n<img src=gone.png>",
        "a.html": "<p id=x>\n<p id=x>",
        "style.css": "\n/* url(old.png)\n */ @import 'gone.css';",
    }

    assert faults_of(site) == (
        "a.html:2: id=x: stands on line 1 already",
        "b.html:3: gone.html: there is no gone.html in the site",
        "b.html:4: gone.png: there is no gone.png in the site",
        "style.css:3: gone.css: there is no gone.css in the site",
    )


def test_the_404_page_links_absolutely() -> None:
    """It is shown at any address: relative links in it are read from the site's root, root links are allowed."""
    page = '<a href="https://trials.example.org/films/method/">x</a><a href="/method/">y</a><img src="a.png">'
    site = {"404.html": page, "method/index.html": "", "a.png": ""}

    assert faults_of(site) == ()
    assert faults_of({"404.html": page, "a.png": ""}) == (
        "404.html:1: /method/: there is no method/index.html in the site",
        "404.html:1: https://trials.example.org/films/method/: there is no method/index.html in the site",
    )


def test_a_neighbour_of_the_address_is_elsewhere() -> None:
    """An address that merely begins like the site's is not checked as the site's own."""
    assert faults_of_page('<a href="https://trials.example.org/films-old/gone/">x</a>') == ()
    assert faults_of_page('<a href="https://trials.example.org/films/gone/">x</a>', None) == ()


def test_the_feed_is_checked_like_a_page() -> None:
    """An entry that leads to a page that is not there is told, whether it names it in full or from the root."""
    feed = f'<?xml version="1.0"?>\n<feed><link href="{SITE}gone/" /><link rel="self" href="feed.xml" /></feed>'

    assert faults_of({"feed.xml": feed}) == (f"feed.xml:2: {SITE}gone/: there is no gone/index.html in the site",)


def test_drawings_are_checked_like_pages() -> None:
    """An SVG file that points at an id it lacks is told."""
    site = {"a.svg": '<svg xmlns="http://www.w3.org/2000/svg"><use href="#gone"/></svg>'}

    assert faults_of(site) == ("a.svg:1: #gone: there is no anchor gone in a.svg",)


def test_a_page_that_is_not_utf8_is_told() -> None:
    """The bytes are never guessed at."""
    assert faults_of({"a.html": b"<p>\xff"}) == ("a.html: is not UTF-8 at byte 3",)


def test_a_srcset_may_hold_commas_in_addresses() -> None:
    """Only a comma followed by a space, or at the end, parts two candidates."""
    assert split_srcset("a,b.png 1x, c.png 2x,") == ("a,b.png", "c.png")
