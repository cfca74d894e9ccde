"""The kinds of value that keys of the content may have: text is converted here, and nowhere guessed at.

Every kind says what it expects in the tester's words; `validate` adds the place and what was found.
"""

import re
import unicodedata
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Any, Final
from urllib.parse import urlsplit

from pydantic import BeforeValidator
from pydantic_core import PydanticCustomError

from basefog.read.text import is_usable

TEXT_LIMIT: Final = 200
"""Longest name, in characters (contract)."""

_DECIMAL = re.compile(r"[+-]?(?:[0-9]{1,15}(?:\.[0-9]{1,30})?|\.[0-9]{1,30})")
_FRACTION = re.compile(r"([+-]?)(?:([0-9]{1,6})[ \u00a0])?([0-9]{1,6})[/\u2044]([0-9]{1,6})")
_SLUG = re.compile(r"[a-z0-9][a-z0-9-]*")
_VIEW_ID = re.compile(r"[a-z0-9][a-z0-9_-]{0,39}")
_ID = re.compile(r"\w[\w.+-]{0,39}")
_TEST_ID = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})(-[b-z])?")
_ADDRESS_PART = re.compile(r"[A-Za-z0-9_-][A-Za-z0-9._-]*")
_CLOCK = re.compile(r"(?:([0-9]{1,2}):)?([0-9]{1,3}):([0-5][0-9])")
_DASHES = str.maketrans(dict.fromkeys("−–‐‑﹣－", "-"))


def parse_decimal(text: str) -> float | None:
    """Return a plain decimal number, or None: no exponent, underscore, NaN, hexadecimal or comma.

    >>> parse_decimal("-0.30"), parse_decimal(".5"), parse_decimal("1e3"), parse_decimal("1_05")
    (-0.3, 0.5, None, None)
    """
    return float(text) if _DECIMAL.fullmatch(text) else None


def parse_number(text: str) -> float | None:
    """Return a plain decimal or a fraction, its sign plain or typographic, or None.

    >>> parse_number("−1/3"), parse_number("+1 1/2"), parse_number("8.5"), parse_number("eight"), parse_number("½")
    (-0.3333333333333333, 1.5, 8.5, None, 0.5)
    """
    if len(text) > 50:
        return None
    # Spreadsheets and word processors turn 1/2 into one character as it is typed.
    text = re.sub(r"(?<=[0-9])(?=[¼-¾⅐-⅞])", " ", text)
    text = unicodedata.normalize("NFKC", text) if re.search("[¼-¾⅐-⅞]", text) else text
    text = text.strip().translate(_DASHES)
    if match := _FRACTION.fullmatch(text):
        sign, whole, above, below = match.groups()
        if int(below) == 0:
            return None
        value = int(whole or 0) + Fraction(int(above), int(below))
        return float(-value if sign == "-" else value)
    return parse_decimal(text)


def canonical_id(text: str) -> str:
    """Return an id as it is compared: lower case, composed, and numbers without needless zeros.

    >>> canonical_id("Dark"), canonical_id("07"), canonical_id("3.0"), canonical_id("12a")
    ('dark', '7', '3', '12a')
    """
    text = unicodedata.normalize("NFC", text.strip()).lower()
    if len(text) <= 40 and re.fullmatch(r"[0-9]+(\.[0-9]+)?", text):
        number = Decimal(text)
        text = f"{number.normalize():f}" if number else "0"
    return text


def is_id(text: str) -> bool:
    """Return whether text may name a step, frame or patch: a short word or a number."""
    return _ID.fullmatch(text) is not None


def is_slug(text: str) -> bool:
    """Return whether text is a slug: `a-z`, `0-9` and hyphens, at most 200 characters."""
    return len(text) <= TEXT_LIMIT and _SLUG.fullmatch(text) is not None


def parse_date(text: str) -> date | None:
    """Return an ISO 8601 calendar date, or None."""
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def parse_test_id(text: str) -> date | None:
    """Return the date of a test id such as `2026-03-14` or `2026-03-14-b`, or None.

    >>> parse_test_id("2026-03-14-b"), parse_test_id("2026-03-14-a")
    (datetime.date(2026, 3, 14), None)
    """
    match = _TEST_ID.fullmatch(text)
    return parse_date(match[1]) if match else None


def expected(what: str, mend: str = "") -> PydanticCustomError:
    """Return the fault of a field: what it expected, in the tester's words, and how to mend it if not in the plain way.

    `{name}` in a mend stands for the key.
    """
    return PydanticCustomError("expected", "{expected}", {"expected": what, "mend": mend})


def _text(value: Any, what: str) -> str:
    if not isinstance(value, str) or not value.strip():
        raise expected(what)
    if not is_usable(value):
        raise expected(f"{what} without control characters")
    return value.strip()


def _converter(what: str, convert: Callable[[str], Any]) -> BeforeValidator:
    def check(value: Any) -> Any:
        result = convert(_text(value, what))
        if result is None:
            raise expected(what)
        return result

    return BeforeValidator(check)


def _name(value: Any) -> str:
    text = _text(value, "a name")
    if len(text) > TEXT_LIMIT:
        raise expected(f"a name of at most {TEXT_LIMIT} characters")
    if "\n" in text or "\r" in text:
        raise expected("a name on one line")
    return text


def number(what: str, low: float, high: float, *, above: bool = False) -> BeforeValidator:
    """Return a converter to a number from `low` (or above it) to `high`; `what` names it with its bounds."""

    def convert(text: str) -> float | None:
        value = parse_number(text)
        if value is None or not low <= value <= high or (above and value == low):
            return None
        return value

    return _converter(what, convert)


def _web_address(text: str) -> str | None:
    try:
        parts = urlsplit(text)
        host, _ = parts.hostname, parts.port
    except ValueError:
        return None
    clean = parts.scheme in {"http", "https"} and host and not re.search(r"\s", text) and len(text) <= 2000
    return text if clean else None


def _site_address(text: str) -> str | None:
    return text if _web_address(text) and "?" not in text and "#" not in text else None


def _seconds(text: str) -> int | None:
    match = _CLOCK.fullmatch(text)
    if match is None:
        return None
    hours, minutes, seconds = (int(part or 0) for part in match.groups())
    if match[1] and minutes > 59:
        return None
    return hours * 3600 + minutes * 60 + seconds


def _flag(text: str) -> bool | None:
    return {"true": True, "yes": True, "false": False, "no": False}.get(text.lower())


def _reason(value: Any) -> str:
    text = _text(value, "a reason in words")
    if _flag(text) is not None:
        mend = "Write the reason after `{name}:`." if _flag(text) else "Take `{name}` out."
        raise expected("a reason in words", mend)
    return text


def _flag_or_sentence(value: Any) -> bool | str:
    text = _text(value, "true or a sentence")
    flag = _flag(text)
    return text if flag is None else flag


def _page_address(text: str) -> str | None:
    """Return an address below the site's root: a folder that ends in a slash, or a file; None where it is none."""
    parts = text.removesuffix("/").split("/")
    is_plain = len(text) <= TEXT_LIMIT and all(_ADDRESS_PART.fullmatch(part) for part in parts)
    return text if is_plain and (text.endswith("/") or "." in parts[-1]) else None


def _box_side(value: Any) -> float | None:
    return parse_number(value) if isinstance(value, str) else None


def _box(value: Any) -> tuple[float, ...]:
    what = "four fractions of the picture: x, y, width, height, as in [0.1, 0.1, 0.5, 0.5]"
    if not isinstance(value, list) or len(value) != 4:
        raise expected(what)
    sides = [_box_side(side) for side in value]
    x, y, w, h = sides
    if x is None or y is None or w is None or h is None:
        raise expected(what)
    # A hair's breadth is allowed for boxes such as [0.7, 0, 0.3, 1], whose sums are not exact in binary.
    if min(x, y) < 0 or min(w, h) <= 0 or x + w > 1 + 1e-9 or y + h > 1 + 1e-9:
        raise expected("a box inside the picture: x, y, width, height as fractions from 0 to 1")
    return (x, y, w, h)


def choice(*words: str) -> BeforeValidator:
    """Return a converter to one of these words."""
    what = ", ".join(words[:-1]) + " or " + words[-1]
    return _converter(what, lambda text: text if text in words else None)


Text = Annotated[str, _converter("text", lambda text: text)]
Name = Annotated[str, BeforeValidator(_name)]
Slug = Annotated[str, _converter("a slug of a-z, 0-9 and hyphens", lambda text: text if is_slug(text) else None)]
Id = Annotated[str, _converter("a short word or a number", lambda text: canonical_id(text) if is_id(text) else None)]
ViewId = Annotated[
    str,
    _converter("a short word of a-z and 0-9", lambda text: text.lower() if _VIEW_ID.fullmatch(text.lower()) else None),
]
TestId = Annotated[
    str,
    _converter(
        "the folder name of a test, such as 2026-03-14 or 2026-03-14-b",
        lambda text: text if parse_test_id(text) else None,
    ),
]
IsoDate = Annotated[date, _converter("a date such as 2026-03-14", parse_date)]
Reason = Annotated[str, BeforeValidator(_reason)]
FlagOrSentence = Annotated[bool | str, BeforeValidator(_flag_or_sentence)]
PageAddress = Annotated[str, _converter("an address below the site's root such as pages/about/", _page_address)]
Flag = Annotated[bool, _converter("true or false", _flag)]
WebAddress = Annotated[str, _converter("an http or https address", _web_address)]
SiteAddress = Annotated[str, _converter("an http or https address without ? and #", _site_address)]
Digest = Annotated[
    str,
    _converter("a SHA-256 digest", lambda text: text if re.fullmatch("[0-9a-f]{64}", text) else None),
]
ClockTime = Annotated[int, _converter("minutes and seconds such as 3:40", _seconds)]
Language = Annotated[
    str,
    _converter(
        "a language tag such as en or pt-BR",
        lambda text: text if re.fullmatch(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{1,8}){0,3}", text) else None,
    ),
]
BoxSides = Annotated[tuple[float, float, float, float], BeforeValidator(_box)]
Density = Annotated[float, number("a density from 0 to 6", 0, 6)]
