"""Calls in Markdown: found outside code as Markdown itself sees code, parsed, never evaluated."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from basefog.read.prose import read_tree
from basefog.records.prose_calls import find_calls, render_markdown

CALL = '{{ value("marl-400", "gamma") }}'


@pytest.mark.parametrize(
    "text",
    [
        f"`{CALL}`",
        f"``a ` {CALL}``",
        f"    {CALL}\n",
        f"```\n{CALL}\n{{% if %}}\n```\n",
        f"~~~ text\n{CALL}\n~~~\n",
        f"* a\n\n        {CALL}\n",
        f"> ```\n> {CALL}\n> ```\n\n> `{CALL}`",
        f"<pre>{CALL}</pre>",
        f"a <code>{CALL}</code>",
        "`{{` opens a call and `}}` closes it",
        "{ { and } }, {a} and }}",
    ],
)
def test_nothing_is_called_in_code(text: str) -> None:
    """Calls in spans, indented and fenced blocks, in lists and quotes, and in raw code, are text."""
    assert find_calls(text) == ()


@pytest.mark.parametrize(
    "text",
    [
        CALL,
        f"# {CALL}",
        f"**{CALL}** and `code`",
        f"[see {CALL}](https://example.org)",
        f"* a\n\n    {CALL}\n",
        f"|a|\n|-|\n|{CALL}|\n",
        f"a[^1]\n\n[^1]: {CALL}\n",
        f"~~~ {CALL}",
        f"zqmark0x {CALL}",
        "{{value('marl-400','gamma')}}",
        '{{ value( "marl-400" ,\n  "gamma" ) }}',
    ],
)
def test_calls_are_found_wherever_text_stands(text: str) -> None:
    """Headings, emphasis, link texts, lists, tables and footnotes hold calls."""
    calls = find_calls(text)

    assert [(call.name, call.args, call.error) for call in calls] == [("value", ("marl-400", "gamma"), None)]
    assert text[calls[0].start : calls[0].end].startswith("{{")
    assert text[calls[0].start : calls[0].end].endswith("}}")


@pytest.mark.parametrize(
    ("text", "error"),
    [
        ("{{ }}", "found '{{ }}', expected one of value, difference, verdict, sentence, chart, view with quoted names"),
        (
            '{{ value("a", "b").x }}',
            (
                'found \'{{ value("a", "b").x }}\', expected one of value, difference, verdict, sentence, chart, view'
                " with quoted names"
            ),
        ),
        (
            "{{ value(“a”, “b”) }}",
            (
                "found '{{ value(“a”, “b”) }}', expected one of value, difference, verdict, sentence, chart, view with"
                " quoted names"
            ),
        ),
        ("{{ value() }}", "value: expected two quoted names, found 0"),
        ('{{ value("a", "b", "c") }}', "value: expected two quoted names, found 3"),
        ('{{ chart("a", "b", "c") }}', "chart: expected two quoted names, found 3"),
        ('{{ sentence("a") }}', "sentence: expected two quoted names, or three, found 1"),
        ('{{ verdict("a", "b", "c", "d") }}', "verdict: expected two quoted names, or three, found 4"),
        ("a {{ value(", "'{{' is never closed"),
        ('{{ value("a",\n\n"b") }}', "'{{' is never closed"),
        ("{% raw %}", "found '{% raw %}', expected no template commands"),
        ("{%", "'{%' is never closed"),
        (f"[a](b '{CALL}')", f"found '{CALL}' inside a link, picture or tag"),
        (f"![{CALL}](b)", f"found '{CALL}' inside a link, picture or tag"),
        (
            "{{ " + "x" * 100 + " }}",
            "found '{{ " + "x" * 74 + "...', expected one of value, difference, verdict, sentence,"
            " chart, view with quoted names",
        ),
    ],
)
def test_what_is_no_call(text: str, error: str) -> None:
    """Expressions, attributes, typographic quotes, other counts, commands and unclosed calls are faults."""
    call = find_calls(text)[0]

    assert call.error == error
    assert call.mend


@pytest.mark.parametrize("name", ["difference", "verdict", "sentence"])
@pytest.mark.parametrize("named", [("tern-100",), ("tern-100", "marl-400/2026-03-14")])
def test_a_comparison_names_one_or_two(name: str, named: tuple[str, ...]) -> None:
    """What compares takes one stock or test, or two where the first is set against the second, then the measure."""
    quoted = ", ".join(f'"{argument}"' for argument in (*named, "gamma"))

    (call,) = find_calls(f"{{{{ {name}({quoted}) }}}}")

    assert (call.name, call.named, call.what, call.error) == (name, named, "gamma", None)


def test_places_count_from_one() -> None:
    """Line and column are those of the opening braces."""
    calls = find_calls(f"a\n\n  b {CALL} {CALL}\n\n{CALL}\n")

    assert [(call.line, call.column) for call in calls] == [(3, 5), (3, 38), (5, 1)]


def test_braces_within_a_name_belong_to_it() -> None:
    """Braces inside quotes neither open nor close a call."""
    text = '{{ value("}}{{", "b") }} c'

    assert [(call.args, text[call.end :]) for call in find_calls(text)] == [(("}}{{", "b"), " c")]


PIECES = st.sampled_from(
    [
        *"`~*_[]()<>!#|\\\"'{}% \n\t-:&;",
        "{{",
        "}}",
        "{%",
        "    ",
        "```\n",
        "\n\n",
        "<code>",
        "</code>",
        "<![",
        "<!--",
        CALL,
    ]
)


@settings(max_examples=80, deadline=None)
@given(st.lists(PIECES | st.text(max_size=4), max_size=40).map("".join))
def test_any_markdown_is_read(text: str) -> None:
    """Whatever is typed gives calls or faults inside the text, in order and apart from each other."""
    calls = find_calls(text)
    read_tree(text)

    ends = [0]
    for call in calls:
        assert ends[-1] <= call.start < call.end <= len(text)
        assert (call.error is None) == bool(call.name)
        ends.append(call.end)


@pytest.mark.parametrize("text", ["1. " * 2000, "[" * 101, "[a](" * 101])
def test_nesting_without_end_is_refused(text: str) -> None:
    """Lists and brackets nested beyond what the library can follow in time are told; calls are found all the same."""
    with pytest.raises(ValueError, match="nested too deep"):
        render_markdown(text)

    assert read_tree(text) is None
    assert [call.error for call in find_calls(text + "\n\n" + CALL)] == [None]


def test_brackets_side_by_side_are_fine() -> None:
    """Thousands of links, none inside another, are read."""
    tree = read_tree("[a](b) " * 2000)

    assert tree is not None
    assert len(tree.links) == 2000
