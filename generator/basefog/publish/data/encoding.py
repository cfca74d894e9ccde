"""How data files are written: JSON and CSV, the same bytes for the same values."""

import json
import re
from collections.abc import Iterable, Sequence

_LINE_WIDTH = 110
_RUNS_AS_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
_PLAIN_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?(e[+-]?\d+)?", re.ASCII | re.IGNORECASE)

Cell = str | int | float | bool | None


def encode_json(value: object) -> bytes:
    """Return JSON in UTF-8 that a person can read and a version control can compare.

    Whatever fits on one line stands on one, and so does every list of numbers. NaN and infinity raise ValueError.
    """
    return (_layout(value, 0) + "\n").encode()


def _layout(value: object, depth: int) -> str:
    flat = json.dumps(value, ensure_ascii=False, allow_nan=False)
    if len(flat) + depth <= _LINE_WIDTH or not isinstance(value, dict | list | tuple):
        return flat
    if not isinstance(value, dict) and all(isinstance(item, int | float | None) for item in value):
        return flat
    pad = " " * (depth + 1)
    if isinstance(value, dict):
        parts = [f"{json.dumps(key, ensure_ascii=False)}: {_layout(item, depth + 1)}" for key, item in value.items()]
        opening, closing = "{}"
    else:
        parts = [_layout(item, depth + 1) for item in value]
        opening, closing = "[]"
    return opening + "\n" + ",\n".join(pad + part for part in parts) + "\n" + " " * depth + closing


def encode_csv(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    r"""Return a table in UTF-8 with commas, quotes where needed, and `\n` at the end of each row.

    Text that a spreadsheet would run as a formula is made harmless; None is an empty cell; numbers are written as
    Python writes them, shortest first.
    """
    table = [[neutralise(name) for name in header], *([_text(value) for value in row] for row in rows)]
    return "".join(",".join(map(_quote, row)) + "\n" for row in table).encode()


def neutralise(text: str) -> str:
    """Return text with a leading ' where a spreadsheet would take it for a formula; true numbers stay.

    >>> neutralise("=1+1"), neutralise("-0.35"), neutralise("+1/2"), neutralise("plain")
    ("'=1+1", '-0.35', "'+1/2", 'plain')
    """
    if text.startswith(_RUNS_AS_FORMULA) and not _PLAIN_NUMBER.fullmatch(text):
        return "'" + text
    return text


def _text(value: Cell) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return repr(float(value))  # plain, where it is one of numpy's
    return neutralise(value) if isinstance(value, str) else str(value)


def _quote(cell: str) -> str:
    """Return a cell as RFC 4180 writes it; Python's own writer leaves a lone return bare, which ends the row."""
    return '"' + cell.replace('"', '""') + '"' if any(mark in cell for mark in ',"\r\n') else cell
