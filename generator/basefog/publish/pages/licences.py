"""Licences of a series: where their text is, and in one sentence what they allow."""

import re
from typing import Final

_CREATIVE_COMMONS: Final = re.compile(r"CC-(BY(?:-(?:SA|NC|ND|NC-SA|NC-ND))?)-(\d\.\d)", re.IGNORECASE)


def address_of_licence(licence: str) -> str:
    """Return where the text of a licence is, empty where it is none of the well-known open ones.

    >>> address_of_licence("CC-BY-4.0")
    'https://creativecommons.org/licenses/by/4.0/'
    >>> address_of_licence("all rights reserved")
    ''
    """
    if known := _CREATIVE_COMMONS.fullmatch(licence.strip()):
        kind, version = known[1].lower(), known[2]
        return f"https://creativecommons.org/licenses/{kind}/{version}/"
    if licence.strip().upper() == "CC0-1.0":
        return "https://creativecommons.org/publicdomain/zero/1.0/"
    return ""


def say_licence(licence: str | None) -> str:
    """Return what a licence means for whoever wants to use text or data again.

    >>> say_licence("CC-BY-SA-4.0")
    'You may pass them on and publish what you make of them, if you name the author, link the licence, say what you \
changed and put yours under the same licence. The licence’s own text decides.'
    >>> say_licence("all rights reserved")
    'Ask the author what it allows before you publish anything made from them.'
    """
    if not licence:
        return "No licence is stated, so ask the author before you publish anything made from them."
    if licence.strip().upper() == "CC0-1.0":
        return "You may use them for anything, without asking and without naming anyone."
    known = _CREATIVE_COMMONS.fullmatch(licence.strip())
    if known is None:
        return "Ask the author what it allows before you publish anything made from them."
    parts = known[1].upper().split("-")
    may = "pass them on unchanged" if "ND" in parts else "pass them on and publish what you make of them"
    if "NC" in parts:
        may += ", not for money"
    duties = ["name the author", "link the licence"]
    if "ND" not in parts:
        duties.append("say what you changed")
    if "SA" in parts:
        duties.append("put yours under the same licence")
    return f"You may {may}, if you {', '.join(duties[:-1])} and {duties[-1]}. The licence’s own text decides."
