"""What the comparison page reads of each test where it was opened from disk: there a browser fetches no JSON.

One script a test, which hands the members of the test's JSON that the page uses to the page's own script. Over a host
nothing asks for these files.
"""

import json
from collections.abc import Mapping
from typing import Final

from basefog.publish.data.values import Json

USED: Final = (
    "stock",
    "test",
    "measures",
    "pooled",
    "against_reference",
    "curve",
    "patches",
    "views",
    "missing_views",
)
"""Members of a test's JSON that the page uses; `_UNUSED` lists what is left out within them."""

_UNUSED: Final[Mapping[str, frozenset[str]]] = {
    "curve": frozenset({"gradient"}),
    "patches": frozenset({"against_eye"}),
    "views": frozenset({"scan", "box_px", "alignment"}),
}


def render_from_disk(test: Json) -> bytes:
    """Return a script that calls `takeTest` with what the page uses of a test's JSON."""
    used = {name: _used(name, test[name]) for name in USED if name in test}
    data = json.dumps(used, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    # Two line ends that JSON may hold and scripts of old could not.
    return f"takeTest({data.replace(chr(0x2028), ' ').replace(chr(0x2029), ' ')});\n".encode()


def _used(name: str, member: object) -> object:
    unused = _UNUSED.get(name)
    if unused is None or not isinstance(member, dict):
        return member
    if name == "curve":
        return {key: value for key, value in member.items() if key not in unused}
    return {key: {inner: value for inner, value in part.items() if inner not in unused} for key, part in member.items()}
