"""The tester's Markdown: cleaned, its numbers drawn by name, its headings and links made to fit the page."""

import html5lib
import pytest
from hypothesis import given
from hypothesis import strategies as st
from markupsafe import Markup

from basefog.publish.pages.prose import _TAGS, Answer, plain_prose, render_prose, slug_of
from basefog.records.content import Prose
from basefog.records.problem import Place
from basefog.records.prose_calls import ProseCall

PAGE = "questions/why/index.html"


def answer(call: ProseCall) -> Answer:
    """Answer a call by its own words."""
    words = f"{call.name} of {call.args[0]}"
    block = (lambda: Markup("<figure>{}</figure>").format(words)) if call.name == "chart" else None
    return Answer(inline=Markup('<a class="figure" href="x.html">{}</a>').format(words), plain=words, block=block)


def html_of(text: str, **options: object) -> str:
    prose = Prose(text=text, place=Place(path="questions/2026-01-01-why.md"))
    return str(render_prose(prose, answer, page=PAGE, home=PAGE, **options))  # type: ignore[arg-type]


VALUE = '{{ value("tern-100", "gamma") }}'
CHART = '{{ chart("tern-100", "curve") }}'


def test_a_call_becomes_a_number_that_links() -> None:
    """A call in a line is replaced by its answer."""
    assert html_of(f"Gamma is {VALUE}.") == '<p>Gamma is <a class="figure" href="x.html">value of tern-100</a>.</p>'


def test_a_chart_alone_in_its_paragraph_becomes_a_figure() -> None:
    """A figure stands on its own, never inside a paragraph."""
    assert html_of(f"Look:\n\n{CHART}\n\nSo.") == "<p>Look:</p>\n<figure>chart of tern-100</figure>\n<p>So.</p>"


def test_a_chart_within_a_line_becomes_a_link() -> None:
    """Within a sentence there is no room for a figure."""
    assert "<figure>" not in html_of(f"Look at {CHART} again.")


def test_a_call_within_a_link_is_plain_text() -> None:
    """No link stands within a link."""
    html = html_of(f"[so {VALUE}](https://example.org/)")

    assert html == '<p><a href="https://example.org/">so value of tern-100</a></p>'


@pytest.mark.parametrize("code", [f"`{VALUE}`", f"```\n{VALUE}\n```", f"    {VALUE}"])
def test_code_is_shown_as_typed(code: str) -> None:
    """A call inside code is text."""
    html = html_of(code)

    assert "value of" not in html
    assert "{{ value(" in html


@pytest.mark.parametrize(
    "evil",
    [
        "<script>alert(1)</script>",
        '<img src="x" onerror="alert(1)">',
        '<a href="javascript:alert(1)">x</a>',
        "[x](javascript:alert(1))",
        '<p style="position:fixed">x</p>',
        '<svg onload="alert(1)"></svg>',
        '<iframe src="https://example.org/"></iframe>',
        '<form action="https://example.org/"><input></form>',
        '<style>p{background:url("https://example.org/")}</style>',
        '<p class="skip" id="content">x</p>',
        "<base href='https://example.org/'>",
        "<math><mtext><script>alert(1)</script></mtext></math>",
    ],
)
def test_raw_html_is_cleaned(evil: str) -> None:
    """Nothing that acts, looks or names itself otherwise than a text should is left."""
    html = html_of(f"before\n\n{evil}\n\nafter").lower()

    acting = (
        "<script",
        "onerror",
        "onload",
        "javascript:",
        "<iframe",
        "<form",
        "<input",
        "<base",
        "<svg",
        "<img",
        "<math",
    )
    for trace in (*acting, "<math", "style=", "<style", 'id="content"', 'class="skip"'):
        assert trace not in html
    assert "before" in html
    assert "after" in html


@given(st.text(alphabet=st.sampled_from("<>&\"'/ab=`{}()zqcall0x1#*[]\n :"), max_size=120))
def test_no_text_breaks_out(text: str) -> None:
    """Whatever is typed, no element stands in the page that is not on the list of a text."""
    allowed = {*_TAGS} - {"h1"}
    fragment = html5lib.parseFragment(html_of(text), namespaceHTMLElements=False)
    names = {element.tag for element in fragment.iter() if isinstance(element.tag, str)}

    assert names - {"DOCUMENT_FRAGMENT"} <= allowed


def test_headings_are_moved_below_the_pages_own() -> None:
    """The highest heading gets the wanted level, the others keep their distance, ids are unique and prefixed."""
    html = html_of("# Why\n\n### How\n\n# Why", top_level=3, prefix="notes-")

    assert '<h3 id="notes-why">Why</h3>' in html
    assert '<h5 id="notes-how">How</h5>' in html
    assert '<h3 id="notes-why-2">Why</h3>' in html


def test_the_title_of_a_free_page_is_not_said_twice() -> None:
    """The first heading is the page's title and leaves the text."""
    assert html_of("# About\n\nWho we are.", without_title=True).strip() == "<p>Who we are.</p>"


@pytest.mark.parametrize(
    ("typed", "made"),
    [
        ("../other/", "../other/index.html"),
        ("../../method/#gamma", "../../method/index.html#gamma"),
        ("../../method/index.html#gamma", "../../method/index.html#gamma"),
        ("/stocks/tern-100/", "../../stocks/tern-100/index.html"),
        ("https://example.org/a?b=1&c=2", "https://example.org/a?b=1&amp;c=2"),
        ("mailto:wenna@example.org", "mailto:wenna@example.org"),
        ("#here", "#here"),
    ],
)
def test_links_name_the_file_so_that_they_work_from_disk(typed: str, made: str) -> None:
    """Relative links lead to the page's file; others stay as they are."""
    assert f'href="{made}"' in html_of(f"[x]({typed})")


@pytest.mark.parametrize(
    "typed",
    ["../../method/#gamma", "../method/#gamma", "method/index.html#gamma", "/method/#gamma", "method#gamma"],
)
def test_a_page_is_found_from_wherever_the_tester_starts(typed: str) -> None:
    """From the page, from the file the text is in, or from the top of the series: where there is such a page."""
    known = frozenset({"method/index.html"})

    assert 'href="../../method/index.html#gamma"' in html_of(f"[x]({typed})", known=known)


@pytest.mark.parametrize(
    ("typed", "made"),
    [
        ("2026-04-10-grain.md", "../grain/index.html"),
        ("../pages/about.md", "../../pages/about/index.html"),
        ("../stocks/tern-100/2026-04-01/notes.md", "../../stocks/tern-100/2026-04-01/index.html"),
    ],
)
def test_a_link_to_a_content_file_leads_to_its_page(typed: str, made: str) -> None:
    """Who links files in the folder gets the pages made from them."""
    known = frozenset({"questions/grain/index.html", "pages/about/index.html", "stocks/tern-100/2026-04-01/index.html"})

    assert f'href="{made}"' in html_of(f"[x]({typed})", known=known)


def test_links_follow_the_text_to_another_page() -> None:
    """A text that stands on two pages links to the same place from both."""
    prose = Prose(text="[m](../../../method/)", place=Place(path="stocks/tern-100/2026-01-01/notes.md"))
    home = "stocks/tern-100/2026-01-01/index.html"

    assert 'href="../../../method/index.html"' in render_prose(prose, answer, page=home, home=home)
    assert 'href="../../method/index.html"' in render_prose(prose, answer, page="stocks/tern-100/index.html", home=home)


def test_footnotes_of_two_texts_do_not_meet() -> None:
    """Footnote anchors carry the text's prefix."""
    html = html_of("Yes.[^1]\n\n[^1]: Because.", prefix="notes-")

    assert 'href="#notes-fn:1"' in html
    assert 'id="notes-fn:1"' in html


def test_columns_keep_their_side_without_inline_style() -> None:
    """A table's alignment is told by a class, since the page allows no inline style."""
    html = html_of("| a | b |\n|---|--:|\n| 1 | 2 |")

    assert '<td class="right">2</td>' in html
    assert "style" not in html


def test_the_first_paragraph_is_the_description() -> None:
    """A description is plain text with its numbers in."""
    prose = Prose(text=f"# T\n\nGamma & all: *{VALUE}*.\n\nMore.", place=Place(path="pages/t.md"))

    assert plain_prose(prose, answer) == "Gamma & all: value of tern-100."


def test_ids_are_made_of_any_script() -> None:
    """Headings in any script get an id."""
    assert slug_of("Größe & Ähnliches") == "größe-ähnliches"


def test_apostrophes_are_printed_as_the_pages_own() -> None:
    """The tester types what the keyboard has; between letters it becomes what the site's own sentences print.

    Code and addresses stay as they were typed, and so do marks at a word's end, which may close a quotation.
    """
    html = html_of(f"The film's {VALUE}'s, not 'its makers' `a'b`: [Tern's](https://example.org/o'neil). It's 6' high.")

    assert html == (
        '<p>The film’s <a class="figure" href="x.html">value of tern-100</a>’s, not \'its makers\' '
        "<code>a'b</code>: "
        "<a href=\"https://example.org/o'neil\">Tern’s</a>. It’s 6' high.</p>"
    )
    assert html_of("```\nthe film's\n```") == "<pre><code>the film's\n</code></pre>"
    prose = Prose(text="The film's own.", place=Place(path="pages/t.md"))
    assert plain_prose(prose, answer) == "The film’s own."
