"""Where everything stands in the site: addresses never change once published."""

from posixpath import dirname, relpath
from typing import Final

from basefog.records.content import Test

ANY_TWO: Final = "compare/index.html"
"""The page that compares any two tests in the browser."""

OPEN: Final = "open/index.html"
"""The page of what is not settled yet, which a series may ask for."""

STUDY: Final = "method/study/index.html"
"""The page that tells how well the curve's measures hold in simulation."""


def address_of_stock(slug: str) -> str:
    """Return the page of a stock's current test."""
    return f"stocks/{slug}/index.html"


def address_of_test(test: Test) -> str:
    """Return the permanent page of one test."""
    return f"stocks/{test.stock}/{test.id}/index.html"


def address_of_history(slug: str) -> str:
    """Return the page that tells a stock's history."""
    return f"stocks/{slug}/history/index.html"


def address_of_comparison(slug: str) -> str:
    """Return the page that sets a stock against the reference."""
    return f"compare/{slug}/index.html"


def address_of_any_two(first: str, second: str) -> str:
    """Return the page that sets any two figures side by side, with the two named in its fragment.

    Arguments: each a stock's slug, for its figure over all its repeats, or `slug/test`, for one test's own. What
    follows the sign # is read by the page's own script and checked by `any_two.py`: both must exist.
    """
    return f"{ANY_TWO}#a={first}&b={second}"


def address_of_question(slug: str) -> str:
    """Return the page of one question."""
    return f"questions/{slug}/index.html"


def address_of_free_page(slug: str) -> str:
    """Return the address of a page of the tester's own."""
    return f"pages/{slug}/index.html"


def address_of_test_data(test: Test, name: str = "") -> str:
    """Return a test's JSON, or one of its tables (`curve.csv`, `readings.csv`)."""
    return f"data/{test.stock}/{test.id}/{name}" if name else f"data/{test.stock}/{test.id}.json"


def address_of_test_from_disk(test: Test) -> str:
    """Return the script that holds a test's data for the comparison page where it was opened from disk."""
    return f"compare/from-disk/{test.stock}/{test.id}.js"


def address_of_chart(test: Test, chart: str) -> str:
    """Return the file of one chart of a test."""
    return f"stocks/{test.stock}/{test.id}/{chart}.svg"


def address_of_view(test: Test, view: str, suffix: str) -> str:
    """Return the file of one view of a test; `suffix` is like `.png` or `-960.webp`."""
    return f"stocks/{test.stock}/{test.id}/views/{view}{suffix}"


def address_of_card(slug: str) -> str:
    """Return the sharing card of a stock: one picture for where its pages are linked."""
    return f"stocks/{slug}/card.jpg"


def relative_link(from_page: str, to: str) -> str:
    """Return the link from a page to another file, both below the site folder, so that plain file paths work.

    >>> relative_link("stocks/tern-100/index.html", "method/index.html")
    '../../method/index.html'
    >>> relative_link("index.html", "method/index.html#gamma")
    'method/index.html#gamma'
    """
    target, mark, anchor = to.partition("#")
    return relpath(target, dirname(from_page) or ".") + mark + anchor


def canonical_address(site: str, address: str) -> str:
    """Return the absolute address of a page, ending in `/` where the page is a folder's index.

    >>> canonical_address("https://trials.example.org/", "method/index.html")
    'https://trials.example.org/method/'
    """
    return site.rstrip("/") + "/" + address.removesuffix("index.html")
