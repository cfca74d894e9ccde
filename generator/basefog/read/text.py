"""Bytes to text: UTF-8 for YAML and Markdown, and the characters that no page or feed could carry."""

import re

from basefog.read.problem_list import ProblemList
from basefog.records.problem import Place

# What XML 1.0 (W3C, section 2.2, "Char") leaves out or discourages: feeds, charts and pages can't hold these.
_UNUSABLE = re.compile(r"[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def decode_utf8(data: bytes, path: str, problems: ProblemList) -> str | None:
    """Return the text of a UTF-8 file without its byte order mark; a problem and None where it is not UTF-8."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        before = data[: fault.start]
        line = before.count(b"\n") + 1
        start_of_line = before.rfind(b"\n") + 1
        column = len(before[start_of_line:].decode("utf-8", "replace")) + 1
        problems.problem(
            Place(path=path, line=line, column=column),
            f"found the byte 0x{data[fault.start]:02x}, expected UTF-8 text",
            "Save the file as UTF-8.",
        )
        return None


def check_characters(text: str, start: Place, problems: ProblemList) -> bool:
    """Return whether text holds only usable characters; a problem at the first one that is not."""
    found = _UNUSABLE.search(text)
    if found is None:
        return True
    line = text.count("\n", 0, found.start())
    column = found.start() - text.rfind("\n", 0, found.start())
    problems.problem(
        Place(path=start.path, line=start.line + line, column=column),
        f"found the character U+{ord(found[0]):04X}, which no page can show",
        "Delete it.",
    )
    return False


def is_usable(text: str) -> bool:
    """Return whether text holds only characters that pages and feeds can carry."""
    return _UNUSABLE.search(text) is None
