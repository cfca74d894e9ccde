"""Where everything stands in the site: addresses never change once published."""

from posixpath import dirname, relpath

from basefog.records.content import Test


def stock_address(slug: str) -> str:
    """Return the page of a stock's current test."""
    return f"stocks/{slug}/index.html"


def test_address(test: Test) -> str:
    """Return the permanent page of one test."""
    return f"stocks/{test.stock}/{test.id}/index.html"


def history_address(slug: str) -> str:
    """Return the page that tells a stock's history."""
    return f"stocks/{slug}/history/index.html"


def comparison_address(slug: str) -> str:
    """Return the page that sets a stock against the reference."""
    return f"compare/{slug}/index.html"


def question_address(slug: str) -> str:
    """Return the page of one question."""
    return f"questions/{slug}/index.html"


def free_page_address(slug: str) -> str:
    """Return the address of a page of the tester's own."""
    return f"pages/{slug}/index.html"


def test_data_address(test: Test, name: str = "") -> str:
    """Return a test's JSON, or one of its tables (`curve.csv`, `readings.csv`)."""
    return f"data/{test.stock}/{test.id}/{name}" if name else f"data/{test.stock}/{test.id}.json"


def chart_address(test: Test, chart: str) -> str:
    """Return the file of one chart of a test."""
    return f"stocks/{test.stock}/{test.id}/{chart}.svg"


def view_address(test: Test, view: str, suffix: str) -> str:
    """Return the file of one view of a test; `suffix` is like `.png` or `-960.webp`."""
    return f"stocks/{test.stock}/{test.id}/views/{view}{suffix}"


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
