"""Every single fault of the content folder's keys, files and prose, with the whole of what is told of it."""

from pathlib import Path

import pytest

from read.faults import Fault, edit
from read.valid_series import (
    BATCH,
    BRACKET,
    FIRST_TEST,
    OTHER_TEST,
    PAGE,
    QUESTION,
    SERIES_YAML,
    STOCK,
    WEDGE,
    WEDGE_CALIBRATION,
    picture,
    read_with,
    told,
)

S = "series.yaml"
M = "stocks/marl-400/"
N = "stocks/tern-100/"
T1 = M + "2026-03-14/"
T2 = M + "2026-04-02/"
P = "pages/about.md"
W = N + "2026-03-14/wedge.csv"
FLOAT_TIFF = picture((20, 10), "TIFF", "F")
FINE = """# About

`{{ x }}` <b onclick="x">raw</b> <javascript:x> [a](mailto:a@b.org) [b](#c) [c](/method/)

    {% y %}

```
{{ z }}
```
<img src="https://example.org/x.png">
"""

FAULTS = [
    Fault(
        "no series.yaml",
        {S: None},
        ["series.yaml:1:1: problem: the file is missing | Write series.yaml, or restore it."],
    ),
    Fault(
        "unknown key",
        edit(T1 + "test.yaml", "emulsion", "emulsoin"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:1: problem: unknown key `emulsoin`; did you mean "
                "`emulsion`? | Write `emulsion`, or take the key out."
            )
        ],
    ),
    Fault(
        "unknown key, far",
        edit(T1 + "test.yaml", "emulsion", "zzz"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:1: problem: unknown key 'zzz' | Take it out; known "
                "here: corrections, current, departures, developed, development_of, emulsion, exposure, "
                "exposure_index, former_ids, print, reason, repeat, replaces, scans, under_way, video, withdrawn."
            )
        ],
    ),
    Fault(
        "unknown nested",
        edit(S, "lighting", "lihgting"),
        [
            (
                "series.yaml:10:3: problem: unknown key `lihgting`; did you mean `lighting`? | Write "
                "`lighting`, or take the key out."
            )
        ],
    ),
    Fault(
        "number in words",
        edit(T1 + "test.yaml", "8.5", "eight"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:3:13: problem: time_min: found 'eight', expected a number"
                " of minutes above 0 | Correct `time_min`."
            )
        ],
    ),
    Fault(
        "decimal comma yaml",
        edit(T1 + "test.yaml", "time_min: 8.5", 'time_min: "8,5"'),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:3:13: problem: time_min: found '8,5', expected a number "
                "of minutes above 0 | Write `time_min: 8.5`, with a decimal point."
            )
        ],
    ),
    Fault(
        "exponent",
        edit(T1 + "test.yaml", "exposure_index: 400", "exposure_index: 4e2"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:1:1: problem: exposure_index: found '4e2', expected a "
                "film speed above 0 | Correct `exposure_index`."
            )
        ],
    ),
    Fault(
        "underscore",
        edit(T1 + "test.yaml", "exposure_index: 400", "exposure_index: 4_00"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:1:1: problem: exposure_index: found '4_00', expected a "
                "film speed above 0 | Correct `exposure_index`."
            )
        ],
    ),
    Fault(
        "hex",
        edit(T1 + "test.yaml", "exposure_index: 400", "exposure_index: 0x190"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:1:1: problem: exposure_index: found '0x190', expected a "
                "film speed above 0 | Correct `exposure_index`."
            )
        ],
    ),
    Fault(
        "nan",
        edit(T1 + "test.yaml", "exposure_index: 400", "exposure_index: .nan"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:1:1: problem: exposure_index: found '.nan', expected a "
                "film speed above 0 | Correct `exposure_index`."
            )
        ],
    ),
    Fault(
        "zero fraction",
        edit(T1 + "test.yaml", "exposure_index: 400", "exposure_index: 1/0"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:1:1: problem: exposure_index: found '1/0', expected a "
                "film speed above 0 | Correct `exposure_index`."
            )
        ],
    ),
    Fault(
        "clock",
        edit(T1 + "test.yaml", "time_min: 8.5", "time_min: 8:30"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:3:13: problem: time_min: found '8:30', expected a number "
                "of minutes above 0 | Correct `time_min`."
            )
        ],
    ),
    Fault(
        "missing required",
        edit(T1 + "test.yaml", "exposure_index: 400\n", ""),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:1:1: problem: exposure_index is missing | Add a line such"
                " as `exposure_index: 400`."
            )
        ],
    ),
    Fault(
        "missing nested",
        edit(T1 + "test.yaml", "time_min: 8.5, ", ""),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:3:1: problem: time_min is missing | Add a line such as "
                "`time_min: 8.5`."
            )
        ],
    ),
    Fault(
        "null required",
        edit(T1 + "test.yaml", "exposure_index: 400", "exposure_index: null"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:1:1: problem: exposure_index is missing | Add a line such"
                " as `exposure_index: 400`."
            )
        ],
    ),
    Fault(
        "list for text",
        edit(S, "author: M. Osei", "author: [a, b]"),
        ["series.yaml:3:1: problem: author: found [a, b], expected a name | Correct `author`."],
    ),
    Fault(
        "text for list",
        edit(M + "stock.yaml", "formats: [135, 120]", "formats: 135"),
        [
            (
                "stocks/marl-400/stock.yaml:5:1: problem: formats: found '135', expected a list such as [a, b] "
                "| Correct `formats`."
            )
        ],
    ),
    Fault(
        "text for keys",
        edit(T1 + "test.yaml", "{time_min: 8.5, agitation: 5 s each 30 s, batch: 2026-03-14-tank-2}", "8.5"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:3:1: problem: developed: found '8.5', expected keys with "
                "values | Correct `developed`."
            )
        ],
    ),
    Fault(
        "bad item",
        edit(M + "stock.yaml", "formats: [135, 120]", "formats: [135, [120]]"),
        [
            (
                "stocks/marl-400/stock.yaml:5:16: problem: formats, item 2: found [120], expected a name | "
                "Correct `formats`."
            )
        ],
    ),
    Fault(
        "long name",
        edit(M + "stock.yaml", "Marl 400", "M" * 201),
        [
            (
                "stocks/marl-400/stock.yaml:1:1: problem: name: found "
                "'MMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMM...', expected a name of at most 200"
                " characters | Correct `name`."
            )
        ],
    ),
    Fault(
        "control in text",
        edit(M + "stock.yaml", "name: Marl 400", 'name: "Marl\\a"'),
        [
            (
                "stocks/marl-400/stock.yaml:1:1: problem: name: found 'Marl', expected a name without control "
                "characters | Correct `name`."
            )
        ],
    ),
    Fault(
        "slug",
        edit(S, "reference: marl-400", "reference: Marl 400"),
        [
            (
                "series.yaml:7:1: problem: reference: found 'Marl 400', expected a slug of a-z, 0-9 and hyphens"
                " | Correct `reference`."
            )
        ],
    ),
    Fault(
        "no reference stock",
        edit(S, "reference: marl-400", "reference: marl-40"),
        [
            (
                "stocks/marl-40:1:1: problem: the folder is missing; series.yaml:7 names it; did you mean "
                "`marl-400`? | Add the folder, or correct line 7 of series.yaml."
            )
        ],
    ),
    Fault(
        "address",
        edit(S, "https://trials.example.org/", "ftp://trials.example.org/"),
        [
            (
                "series.yaml:2:1: problem: address: found 'ftp://trials.example.org/', expected an http or "
                "https address without ? and # | Correct `address`."
            )
        ],
    ),
    Fault(
        "language",
        edit(S, "language: en", "language: English please"),
        [
            (
                "series.yaml:5:1: problem: language: found 'English please', expected a language tag such as en"
                " or pt-BR | Correct `language`."
            )
        ],
    ),
    Fault(
        "duplicate key",
        edit(S, "author: M. Osei", "author: M. Osei\nauthor: N"),
        ["series.yaml:4:1: problem: key `author` is there twice (first in line 3) | Keep one of the two."],
    ),
    Fault(
        "anchor",
        edit(S, "title: Lan", "title: &a Lan"),
        [
            (
                "series.yaml:1:8: problem: found the anchor `&a` | Write the value itself, in quotes if it "
                "begins with `&`, `*` or `!`."
            )
        ],
    ),
    Fault(
        "alias",
        edit(S, "author: M. Osei", "author: *a"),
        [
            (
                "series.yaml:3:9: problem: found the alias `*a` | Write the value itself, in quotes if it "
                "begins with `&`, `*` or `!`."
            )
        ],
    ),
    Fault(
        "tag",
        edit(S, "title: Lan", "title: !!str Lan"),
        [
            (
                "series.yaml:1:8: problem: found the tag `!!str` | Write the value itself, in quotes if it "
                "begins with `&`, `*` or `!`."
            )
        ],
    ),
    Fault(
        "second document",
        {S: SERIES_YAML + "---\na: 1\n"},
        ["series.yaml:26:1: problem: a second document begins here | Take the line `---` out."],
    ),
    Fault(
        "broken yaml",
        edit(S, "author: M. Osei", "author: [M. Osei"),
        [
            (
                "series.yaml:4:8: problem: is not YAML: expected ',' or ']', but got ':' | Put this line right:"
                " a key ends in a colon and a space, and text with signs in it stands in quotes."
            )
        ],
    ),
    Fault(
        "tab",
        edit(S, "  subject", "\tsubject"),
        [
            (
                "series.yaml:9:1: problem: is not YAML: found character '\\t' that cannot start any token | Put "
                "this line right: a key ends in a colon and a space, and text with signs in it stands in "
                "quotes."
            )
        ],
    ),
    Fault(
        "deep",
        edit(S, "author: M. Osei", "author: " + "[" * 25 + "]" * 25),
        ["series.yaml:3:28: problem: is nested more than 20 deep | Take the inner levels out."],
    ),
    Fault(
        "not a mapping",
        {T1 + "test.yaml": "- a\n"},
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:1:1: problem: found [a], expected keys with values | "
                "Write lines such as `key: value`."
            )
        ],
    ),
    Fault(
        "empty yaml",
        {T1 + "test.yaml": ""},
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:1:1: problem: found nothing, expected keys with values | "
                "Write lines such as `key: value`."
            )
        ],
    ),
    Fault(
        "not utf8",
        {T1 + "test.yaml": 'exposure_index: 400\nemulsion: "é"\n'.encode("latin-1")},
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:12: problem: found the byte 0xe9, expected UTF-8 text |"
                " Save the file as UTF-8."
            )
        ],
    ),
    Fault(
        "nul",
        {T1 + "test.yaml": "exposure_index: 400\nemulsion: a\0b\n"},
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:12: problem: found the character U+0000, which no page "
                "can show | Delete it."
            )
        ],
    ),
    Fault(
        "escape beyond",
        edit(T1 + "test.yaml", '"0417-2"', '"\\UFFFFFFFF"'),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:1:1: problem: is not YAML: an escape names no character |"
                " Type the character itself."
            )
        ],
    ),
    Fault(
        "key no word",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "[a]: b"),
        [("stocks/marl-400/2026-03-14/test.yaml:2:1: problem: a key is no plain word | Write the key as one word.")],
    ),
    Fault(
        "grey patch",
        edit(S, "grey_patch: grey", "grey_patch: gray"),
        [
            (
                "series.yaml:14:3: problem: grey_patch: no patch is named `gray`; did you mean `grey`? | Name a"
                " patch that is declared under `patches`."
            )
        ],
    ),
    Fault(
        "no bracket step",
        edit(S, "  bracket_step_stops: 1/3\n", ""),
        [
            (
                "series.yaml:8:1: problem: bracket_step_stops is missing, and there are bracketed frames | Add "
                "a line such as `bracket_step_stops: 1/3` to `protocol`."
            )
        ],
    ),
    Fault(
        "patch twice",
        edit(S, "id: dark", "id: grey"),
        ["series.yaml:20:6: problem: patches: `grey` is there twice | Give each an id of its own."],
    ),
    Fault(
        "patch base",
        edit(S, "id: dark, name: Dark skin, luminous_reflectance: 0.10}", "id: base, name: Base}\n  - {id: dark}"),
        [("series.yaml:20:6: problem: patches: `base` is another column of bracket.csv | Give the patch another id.")],
    ),
    Fault(
        "view twice",
        edit(S, "id: even", "id: whole"),
        ["series.yaml:23:6: problem: views: `whole` is there twice | Give each an id of its own."],
    ),
    Fault(
        "box outside",
        edit(S, "[0.62, 0.08, 0.10, 0.10]", "[0.95, 0.08, 0.10, 0.10]"),
        [
            (
                "series.yaml:23:47: problem: box: found [0.95, 0.08, 0.10, 0.10], expected a box inside the "
                "picture: x, y, width, height as fractions from 0 to 1 | Correct `box`."
            )
        ],
    ),
    Fault(
        "box three",
        edit(S, "[0.62, 0.08, 0.10, 0.10]", "[0.62, 0.08, 0.10]"),
        [
            (
                "series.yaml:23:47: problem: box: found [0.62, 0.08, 0.10], expected four fractions of the "
                "picture: x, y, width, height, as in [0.1, 0.1, 0.5, 0.5] | Correct `box`."
            )
        ],
    ),
    Fault(
        "box words",
        edit(S, "[0.62, 0.08, 0.10, 0.10]", "[0.62, 0.08, 0.10, wide]"),
        [
            (
                "series.yaml:23:47: problem: box: found [0.62, 0.08, 0.10, wide], expected four fractions of "
                "the picture: x, y, width, height, as in [0.1, 0.1, 0.5, 0.5] | Correct `box`."
            )
        ],
    ),
    Fault(
        "choice",
        edit(S, "of: negative", "of: slide"),
        ["series.yaml:23:33: problem: of: found 'slide', expected print or negative | Correct `of`."],
    ),
    Fault(
        "view id",
        edit(S, "id: even", 'id: "even/tone"'),
        [("series.yaml:23:6: problem: id: found 'even/tone', expected a short word of a-z and 0-9 | Correct `id`.")],
    ),
    Fault(
        "paper missing",
        edit(S, "paper: grade-2", "paper: grade-3"),
        [
            (
                "papers/grade-3.csv:1:1: problem: the file is missing; series.yaml:24 names it; did you mean "
                "`grade-2.csv`? | Add the file, or correct line 24 of series.yaml."
            )
        ],
    ),
    Fault(
        "wedge missing",
        edit(S, "wedge: contact-7", "wedge: contact-8"),
        [
            (
                "wedges/contact-8.csv:1:1: problem: the file is missing; series.yaml:16 names it; did you mean "
                "`contact-7.csv`? | Add the file, or correct line 16 of series.yaml."
            )
        ],
    ),
    Fault(
        "repeatability missing",
        edit(S, ", repeatability: 0.008", ""),
        [
            (
                "series.yaml:17:1: remark: the densitometer's repeatability is not stated; 0.01 is taken for it"
                " | Read one patch ten times, and state the standard deviation as `densitometer: "
                "{repeatability: ...}`."
            )
        ],
    ),
    Fault(
        "densitometer broken",
        edit(S, "repeatability: 0.008", "repeatability: 0"),
        [
            (
                "series.yaml:17:45: problem: repeatability: found '0', expected a standard deviation above 0 "
                "and at most 0.5 | Correct `repeatability`."
            )
        ],
    ),
    Fault(
        "no stock.yaml",
        {M + "stock.yaml": None},
        ["stocks/marl-400/stock.yaml:1:1: problem: the file is missing | Write stock.yaml, or restore it."],
    ),
    Fault(
        "stock folder name",
        {"stocks/Marl/stock.yaml": STOCK.replace("marl-iso-400", "x")},
        [
            (
                "stocks/Marl:1:1: problem: found the folder 'Marl', expected a slug of a-z, 0-9 and hyphens | "
                "Rename the folder."
            ),
            (
                "stocks/Marl/stock.yaml:1:1: remark: this stock has no test, and says neither `planned` nor "
                "`unobtainable` | Add a test folder such as 2026-03-14, with a test.yaml, or a line such as `planned: "
                "true`."
            ),
        ],
    ),
    Fault(
        "reserved slug",
        {
            "stocks/schema/stock.yaml": "name: A\nbox_speed: 1\n",
            "stocks/schema/2026-03-14/test.yaml": OTHER_TEST,
            "stocks/schema/2026-03-14/wedge.csv": WEDGE,
        },
        [
            (
                "stocks/schema:1:1: problem: found the folder 'schema', expected another slug, since the site "
                "needs this one | Rename the folder."
            )
        ],
    ),
    Fault(
        "test folder name",
        {M + "2026-3-14/test.yaml": FIRST_TEST},
        [
            (
                "stocks/marl-400/2026-3-14:1:1: problem: found the folder '2026-3-14', expected a test such as "
                "2026-03-14 or 2026-03-14-b | Name the folder by the day of the test."
            )
        ],
    ),
    Fault(
        "test suffix a",
        {M + "2026-03-14-a/test.yaml": FIRST_TEST},
        [
            (
                "stocks/marl-400/2026-03-14-a:1:1: problem: found the folder '2026-03-14-a', expected a test "
                "such as 2026-03-14 or 2026-03-14-b | Name the folder by the day of the test."
            )
        ],
    ),
    Fault(
        "test impossible date",
        {M + "2026-02-30/test.yaml": FIRST_TEST},
        [
            (
                "stocks/marl-400/2026-02-30:1:1: problem: found the folder '2026-02-30', expected a test such "
                "as 2026-03-14 or 2026-03-14-b | Name the folder by the day of the test."
            )
        ],
    ),
    Fault(
        "stock without tests",
        {"stocks/wren-50/stock.yaml": "name: W\nbox_speed: 50\n"},
        [
            (
                "stocks/wren-50/stock.yaml:1:1: remark: this stock has no test, and says neither `planned` nor "
                "`unobtainable` | Add a test folder such as 2026-03-14, with a test.yaml, or a line such as `planned: "
                "true`."
            )
        ],
    ),
    Fault(
        "former live",
        edit(M + "stock.yaml", "[marl-iso-400]", "[tern-100]"),
        [("stocks/marl-400/stock.yaml:6:16: problem: former_slugs: `tern-100` is the slug of a stock | Take it out.")],
    ),
    Fault(
        "former twice",
        {N + "stock.yaml": "name: Tern 100\nbox_speed: 100\nformer_slugs: [marl-iso-400]\n"},
        [
            (
                "stocks/tern-100/stock.yaml:3:16: problem: former_slugs: `marl-iso-400` is a former slug of "
                "marl-400 already | Keep one of the two."
            )
        ],
    ),
    Fault(
        "no test.yaml",
        {T1 + "test.yaml": None},
        [("stocks/marl-400/2026-03-14/test.yaml:1:1: problem: the file is missing | Write test.yaml, or restore it.")],
    ),
    Fault(
        "no readings",
        {N + "2026-03-14/wedge.csv": None},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:1: problem: the test has no readings: neither wedge.csv"
                " nor bracket.csv is there | Add the readings of the wedge, of the bracket, or both."
            )
        ],
    ),
    Fault(
        "batch missing",
        edit(T1 + "test.yaml", "tank-2", "tank-3"),
        [
            (
                "batches/2026-03-14-tank-3.yaml:1:1: problem: the file is missing; "
                "stocks/marl-400/2026-03-14/test.yaml:3 names it; did you mean `2026-03-14-tank-2.yaml`? | Add "
                "the file, or correct line 3 of stocks/marl-400/2026-03-14/test.yaml."
            )
        ],
    ),
    Fault(
        "replaces missing",
        edit(T2 + "test.yaml", "replaces: 2026-03-14", "replaces: 2026-03-13"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:3:1: problem: replaces: this stock has no test "
                "`2026-03-13` | Name an earlier test: 2026-03-14."
            )
        ],
    ),
    Fault(
        "replaces later",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "replaces: 2026-04-02\nreason: x"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:1: problem: replaces: found `2026-04-02`, expected a "
                "test before 2026-03-14 | Name an earlier test: there is none."
            )
        ],
    ),
    Fault(
        "replaces itself",
        edit(T2 + "test.yaml", "replaces: 2026-03-14", "replaces: 2026-04-02"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:3:1: problem: replaces: found `2026-04-02`, expected a "
                "test before 2026-04-02 | Name an earlier test: 2026-03-14."
            )
        ],
    ),
    Fault(
        "replaces bad id",
        edit(T2 + "test.yaml", "replaces: 2026-03-14", "replaces: first"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:3:1: problem: replaces: found 'first', expected the "
                "folder name of a test, such as 2026-03-14 or 2026-03-14-b | Correct `replaces`."
            )
        ],
    ),
    Fault(
        "two successors",
        {
            M + "2026-05-01/test.yaml": OTHER_TEST + "replaces: 2026-03-14\nreason: x\n",
            M + "2026-05-01/wedge.csv": WEDGE,
        },
        [
            (
                "stocks/marl-400/2026-05-01/test.yaml:3:1: problem: replaces: `2026-03-14` is replaced by "
                "2026-04-02 already | Let this test replace 2026-04-02, or take `replaces` out of one of them."
            )
        ],
    ),
    Fault(
        "two current",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "current: true")
        | edit(T2 + "test.yaml", "reason", "current: yes\nreason"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:4:1: problem: current: 2026-03-14 is marked current "
                "already | Mark one test of a stock only."
            )
        ],
    ),
    Fault(
        "current withdrawn",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "current: true\nwithdrawn: light leak"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:1: problem: current: a withdrawn test is never current "
                "| Take `current` or `withdrawn` out."
            )
        ],
    ),
    Fault(
        "current development",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "current: true\ndevelopment_of: 2026-04-02"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:1: problem: current: a test with `development_of` is "
                "never current | Take `current` or `development_of` out."
            )
        ],
    ),
    Fault(
        "current word",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "current: maybe"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:1: problem: current: found 'maybe', expected true or "
                "false | Correct `current`."
            )
        ],
    ),
    Fault(
        "development missing",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "development_of: 2026-04-03"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:1: problem: development_of: this stock has no test "
                "`2026-04-03` | Name another test: 2026-04-02."
            )
        ],
    ),
    Fault(
        "development self",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "development_of: 2026-03-14"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:1: problem: development_of: a test can't vary itself | "
                "Name the main test."
            )
        ],
    ),
    Fault(
        "development chain",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "development_of: 2026-04-02")
        | edit(T2 + "test.yaml", "reason", "development_of: 2026-03-14\nreason"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:1: problem: development_of: `2026-04-02` varies another"
                " test itself | Name the main test, such as 2026-03-14."
            ),
            (
                "stocks/marl-400/2026-04-02/test.yaml:4:1: problem: development_of: `2026-03-14` varies another"
                " test itself | Name the main test, such as 2026-04-02."
            ),
        ],
    ),
    Fault(
        "test wedge missing",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "exposure: {wedge: contact-9}"),
        [
            (
                "wedges/contact-9.csv:1:1: problem: the file is missing; stocks/marl-400/2026-03-14/test.yaml:2"
                " names it; did you mean `contact-7.csv`? | Add the file, or correct line 2 of "
                "stocks/marl-400/2026-03-14/test.yaml."
            )
        ],
    ),
    Fault(
        "video scheme",
        edit(T2 + "test.yaml", "https://video.example.org/123", "javascript:alert(1)"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:16:9: problem: address: found 'javascript:alert(1)', "
                "expected an http or https address | Correct `address`."
            )
        ],
    ),
    Fault(
        "chapter time",
        edit(T2 + "test.yaml", "3:40", "late"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:16:63: problem: at: found 'late', expected minutes and "
                "seconds such as 3:40 | Correct `at`."
            )
        ],
    ),
    Fault(
        "batch date",
        edit("batches/2026-03-14-tank-2.yaml", "2026-03-14", "14 March"),
        [
            (
                "batches/2026-03-14-tank-2.yaml:1:1: problem: date: found '14 March', expected a date such as "
                "2026-03-14 | Correct `date`."
            )
        ],
    ),
    Fault(
        "batch density",
        edit("batches/2026-03-14-tank-2.yaml", "1.61", "161"),
        [
            (
                "batches/2026-03-14-tank-2.yaml:4:51: problem: high: found '161', expected a density from 0 to "
                "6 | Correct `high`."
            )
        ],
    ),
    Fault(
        "batch swapped",
        edit("batches/2026-03-14-tank-2.yaml", "low: 0.42, mid: 0.98", "low: 0.98, mid: 0.42"),
        [
            (
                "batches/2026-03-14-tank-2.yaml:4:40: remark: mid: found 0.42, expected more than low's 0.98 | "
                "Compare both with the strip."
            )
        ],
    ),
    Fault(
        "batch name",
        {"batches/Tank 2.yaml": BATCH},
        [
            (
                "batches/Tank 2.yaml:1:1: problem: found the name 'Tank 2', expected a slug of a-z, 0-9 and "
                "hyphens | Rename the file."
            )
        ],
    ),
    Fault(
        "batch yml",
        {"batches/tank.yml": BATCH},
        [("batches/tank.yml:1:1: problem: found `tank.yml`; did you mean `tank.yaml`? | Rename it to `tank.yaml`.")],
    ),
    Fault(
        "scan missing",
        edit(T2 + "test.yaml", "scans/print.png", "scans/prnt.png"),
        [
            (
                "stocks/marl-400/2026-04-02/scans/prnt.png:1:1: problem: the file is missing; "
                "stocks/marl-400/2026-04-02/test.yaml:8 names it; did you mean `print.png`? | Add the file, or "
                "correct line 8 of stocks/marl-400/2026-04-02/test.yaml."
            )
        ],
    ),
    Fault(
        "scan leaves",
        edit(T2 + "test.yaml", "scans/print.png", "../../../../etc/passwd"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:8:5: problem: file: found '../../../../etc/passwd', "
                "expected a path inside the series | Write it from the test's folder, with `/` between folders."
            )
        ],
    ),
    Fault(
        "scan absolute",
        edit(T2 + "test.yaml", "scans/print.png", "/etc/passwd"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:8:5: problem: file: found '/etc/passwd', expected a path "
                "inside the series | Write it from the test's folder, with `/` between folders."
            )
        ],
    ),
    Fault(
        "scan twice",
        edit(T2 + "test.yaml", "scans/negative.png", "scans/print.png"),
        [
            (
                "stocks/marl-400/2026-04-02/scans/negative.png:1:1: remark: no scan in test.yaml names this "
                "file | List it under `scans`, or take it away."
            ),
            (
                "stocks/marl-400/2026-04-02/test.yaml:11:5: problem: file: `scans/print.png` is listed twice | "
                "Keep one of the two entries."
            ),
        ],
    ),
    Fault(
        "scan not listed",
        {T2 + "scans/extra.png": picture()},
        [
            (
                "stocks/marl-400/2026-04-02/scans/extra.png:1:1: remark: no scan in test.yaml names this file |"
                " List it under `scans`, or take it away."
            )
        ],
    ),
    Fault(
        "scan not picture",
        {T2 + "scans/print.png": b"hello"},
        [
            (
                "stocks/marl-400/2026-04-02/scans/print.png:1:1: problem: the scan is no TIFF, PNG, JPEG or "
                "WebP | Export it as one of these."
            )
        ],
    ),
    Fault(
        "scan suffix",
        edit(T2 + "test.yaml", "scans/print.png", "wedge.csv"),
        [
            (
                "stocks/marl-400/2026-04-02/scans/print.png:1:1: remark: no scan in test.yaml names this file |"
                " List it under `scans`, or take it away."
            ),
            (
                "stocks/marl-400/2026-04-02/test.yaml:8:5: problem: file: `wedge.csv` is no TIFF, PNG, JPEG or "
                "WebP by its name | Name the scan itself."
            ),
        ],
    ),
    Fault(
        "scan cmyk",
        edit(T2 + "test.yaml", "scans/print.png", "scans/print.jpg")
        | {T2 + "scans/print.png": None, T2 + "scans/print.jpg": picture(kind="JPEG", mode="CMYK")},
        [
            (
                "stocks/marl-400/2026-04-02/scans/print.jpg:1:1: problem: the scan is CMYK | Save it again as a"
                " single 8 or 16 bit picture, grey or RGB."
            )
        ],
    ),
    Fault(
        "scan cut",
        {T2 + "scans/print.png": picture((400, 300))[:-20]},
        [
            (
                "stocks/marl-400/2026-04-02/scans/print.png:1:1: problem: the scan is cut short: it ends before"
                " its picture does | Copy or export it again."
            )
        ],
    ),
    Fault(
        "scan 1 bit",
        {T2 + "scans/print.png": picture(mode="1")},
        [
            (
                "stocks/marl-400/2026-04-02/scans/print.png:1:1: problem: the scan has 1 bit a pixel | Save it "
                "again as a single 8 or 16 bit picture, grey or RGB."
            )
        ],
    ),
    Fault(
        "code turning",
        edit(T2 + "test.yaml", "[128, 1.09]", "[128, 2.5]"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:14:5: problem: code_density: the density turns back as "
                "the code rises | Correct the pairs: density falls all the way, or rises all the way."
            )
        ],
    ),
    Fault(
        "code one",
        edit(T2 + "test.yaml", "[[0, 2.12], [128, 1.09], [255, 0.06]]", "[[0, 2.12]]"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:14:5: problem: code_density: found fewer than two pairs |"
                " Give more pairs."
            )
        ],
    ),
    Fault(
        "code twice",
        edit(T2 + "test.yaml", "[128, 1.09]", "[0, 1.09]"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:14:5: problem: code_density: the code 0 is there twice | "
                "Keep one of the two."
            )
        ],
    ),
    Fault(
        "code density",
        edit(T2 + "test.yaml", "2.12", "212"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:14:5: problem: code_density: found the density 212, "
                "expected 0 to 6 | Correct the pair."
            )
        ],
    ),
    Fault(
        "code beyond bits",
        edit(T2 + "test.yaml", "[255,", "[4095,"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:14:5: problem: code_density: found the code 4095, "
                "expected 0 to 255 in a scan of 8 bits | Give the codes as the scan itself holds them."
            ),
            (
                "stocks/marl-400/2026-04-02/test.yaml:14:5: remark: code_density: 3 points that are not on a "
                "line; between them density is uncertain | Calibrate the scanner at 16 densities or more."
            ),
        ],
    ),
    Fault(
        "code bent",
        edit(T2 + "test.yaml", "[128, 1.09]", "[128, 0.74]"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:14:5: remark: code_density: 3 points that are not on a "
                "line; between them density is uncertain | Calibrate the scanner at 16 densities or more."
            )
        ],
    ),
    Fault(
        "code words",
        edit(T2 + "test.yaml", "[128, 1.09]", "[128]"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:14:5: problem: code_density: found a list, expected pairs"
                " of code value and density such as [[0, 2.12], [255, 0.06]], or a file name | Correct "
                "`code_density`."
            )
        ],
    ),
    Fault(
        "code file missing",
        edit(T2 + "test.yaml", "[[0, 2.12], [128, 1.09], [255, 0.06]]", "code.csv"),
        [
            (
                "stocks/marl-400/2026-04-02/code.csv:1:1: problem: the file is missing; "
                "stocks/marl-400/2026-04-02/test.yaml:14 names it; did you mean `wedge.csv`? | Add the file, or"
                " correct line 14 of stocks/marl-400/2026-04-02/test.yaml."
            )
        ],
    ),
    Fault(
        "code file bad",
        edit(T2 + "test.yaml", "[[0, 2.12], [128, 1.09], [255, 0.06]]", "code.csv")
        | {T2 + "code.csv": "code,density\n0,2.12\n255,0.O6\n"},
        [
            (
                "stocks/marl-400/2026-04-02/code.csv:3:5: problem: density: found '0.O6', expected a density "
                "from 0 to 6 | Correct the cell."
            )
        ],
    ),
    Fault(
        "code file no table",
        edit(T2 + "test.yaml", "[[0, 2.12], [128, 1.09], [255, 0.06]]", "notes.md"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:14:5: problem: code_density: `notes.md` is no table by "
                "its name | Name a table such as code.csv."
            )
        ],
    ),
    Fault(
        "scan view unknown",
        edit(T2 + "test.yaml", "views: {even:", "views: {eve:"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:15:13: problem: views: no view is named `eve`; did you "
                "mean `even`? | Name a view of series.yaml."
            )
        ],
    ),
    Fault(
        "scan view subject",
        edit(T2 + "test.yaml", "views: {even:", "views: {whole:"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:15:13: problem: views: `whole` is cut from a print, and "
                "this is a scan of a negative | Move the box to a scan of a print."
            )
        ],
    ),
    Fault(
        "scan view key",
        edit(T2 + "test.yaml", "views: {even:", 'views: {"e/n":'),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:15:13: problem: found the key 'e/n', expected a short "
                "word of a-z and 0-9 | Rename the key."
            )
        ],
    ),
    Fault(
        "unknown top",
        {"README.md": "hi"},
        ["README.md:1:1: remark: this file is not read | Take it away if it is not needed."],
    ),
    Fault(
        "unknown top folder",
        {"raw/a.txt": "hi"},
        ["raw:1:1: remark: this folder is not read | Take it away if it is not needed."],
    ),
    Fault(
        "near top folder",
        {"question/a.md": "hi"},
        ["question:1:1: problem: found `question`; did you mean `questions`? | Rename it to `questions`."],
    ),
    Fault(
        "series folder",
        {S: None, S + "/x": "a"},
        ["series.yaml:1:1: problem: found a folder, expected a file | Put the file in its place."],
    ),
    Fault(
        "table typo",
        {N + "2026-03-14/brcket.csv": BRACKET},
        [
            (
                "stocks/tern-100/2026-03-14/brcket.csv:1:1: problem: found `brcket.csv`; did you mean "
                "`bracket.csv`? | Rename it to `bracket.csv`."
            )
        ],
    ),
    Fault(
        "xls",
        {N + "2026-03-14/bracket.xls": BRACKET},
        [
            (
                "stocks/tern-100/2026-03-14/bracket.xls:1:1: problem: found `bracket.xls`, expected a table in "
                "one of .csv, .tsv, .xlsx, .ods, .cgats.txt | Save it as CSV, its name in small letters."
            )
        ],
    ),
    Fault(
        "two tables",
        {N + "2026-03-14/wedge.tsv": WEDGE.replace(",", "\t")},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.tsv:1:1: problem: wedge.csv holds the same table | Keep one "
                "of the two files."
            )
        ],
    ),
    Fault(
        "stray in test",
        {T1 + "tank.txt": "x"},
        [
            (
                "stocks/marl-400/2026-03-14/tank.txt:1:1: remark: this file is not read | Take it away if it is"
                " not needed."
            )
        ],
    ),
    Fault(
        "stray folder in test",
        {T1 + "scan/x.png": b"x"},
        [("stocks/marl-400/2026-03-14/scan:1:1: problem: found `scan`; did you mean `scans`? | Rename it to `scans`.")],
    ),
    Fault(
        "stray in stock",
        {M + "note.md": "x"},
        [
            (
                "stocks/marl-400/note.md:1:1: problem: found `note.md`; did you mean `notes.md`? | Rename it to"
                " `notes.md`."
            )
        ],
    ),
    Fault(
        "stray in stocks",
        {"stocks/list.txt": "x"},
        ["stocks/list.txt:1:1: remark: this file is not read | Take it away if it is not needed."],
    ),
    Fault(
        "stray in wedges",
        {"wedges/contact-7.pdf": "x"},
        ["wedges/contact-7.pdf:1:1: remark: this file is not read | Take it away if it is not needed."],
    ),
    Fault(
        "wedge name",
        {"wedges/Contact 7.csv": WEDGE_CALIBRATION},
        [
            (
                "wedges/Contact 7.csv:1:1: problem: found the name 'Contact 7', expected a slug of a-z, 0-9 and"
                " hyphens | Rename the file."
            )
        ],
    ),
    Fault("ignored", {".git/x": "a", "~$a.xlsx": "x", "Thumbs.db": "x", T1 + ".DS_Store": "x"}, []),
    Fault(
        "question name",
        {"questions/finer.md": QUESTION},
        [
            (
                "questions/finer.md:1:1: problem: found the name 'finer.md', expected a date and a slug such as"
                " 2026-03-14-finer-grain.md | Rename the file."
            )
        ],
    ),
    Fault(
        "question stray",
        {"questions/list.txt": "x"},
        ["questions/list.txt:1:1: remark: this file is not read | Take it away if it is not needed."],
    ),
    Fault(
        "question no front",
        {"questions/2026-03-22-finer.md": "Hello\n"},
        [
            (
                "questions/2026-03-22-finer.md:1:1: problem: the front matter is missing | Begin the file with "
                "`---`, lines such as `title: ...`, and `---` again."
            )
        ],
    ),
    Fault(
        "question unclosed",
        {"questions/2026-03-22-finer.md": "---\ntitle: a\n"},
        [
            (
                "questions/2026-03-22-finer.md:1:1: problem: the front matter is never closed | Begin the file "
                "with `---`, lines such as `title: ...`, and `---` again."
            )
        ],
    ),
    Fault(
        "question title",
        edit("questions/2026-03-22-finer.md", "title: Is Tern finer?\n", ""),
        [
            (
                "questions/2026-03-22-finer.md:2:1: problem: title is missing | Add a line such as `title: Is "
                "it finer grained?`."
            )
        ],
    ),
    Fault(
        "question dates",
        edit("questions/2026-03-22-finer.md", "answered: 2026-03-22", "answered: 2026-03-19"),
        [
            (
                "questions/2026-03-22-finer.md:4:1: problem: answered: found 2026-03-19, expected a date not "
                "before it was asked, 2026-03-20 | Correct one of the two dates."
            )
        ],
    ),
    Fault(
        "question stock",
        edit("questions/2026-03-22-finer.md", "[tern-100]", "[tern-10]"),
        [
            (
                "questions/2026-03-22-finer.md:5:10: problem: stocks: no stock is named `tern-10`; did you mean"
                " `tern-100`? | Name a stock by its folder."
            )
        ],
    ),
    Fault(
        "question slug twice",
        {"questions/2026-05-22-finer.md": QUESTION},
        [
            (
                "questions/2026-05-22-finer.md:1:1: problem: questions/2026-03-22-finer.md has the slug `finer`"
                " too | Rename one of the two: a question's address is its slug."
            )
        ],
    ),
    Fault(
        "question empty",
        {"questions/2026-03-22-finer.md": " \n"},
        [("questions/2026-03-22-finer.md:1:1: problem: the file is empty | Write the question and its answer.")],
    ),
    Fault(
        "page empty",
        {"pages/about.md": ""},
        ["pages/about.md:1:1: problem: the file is empty | Write a heading and the text."],
    ),
    Fault(
        "page no heading",
        {"pages/about.md": "Hello"},
        ["pages/about.md:1:1: problem: the page has no heading | Begin it with a line such as `# About`."],
    ),
    Fault(
        "page name",
        {"pages/About us.md": PAGE},
        [
            (
                "pages/About us.md:1:1: problem: found the name 'About us', expected a slug of a-z, 0-9 and "
                "hyphens | Rename the file."
            )
        ],
    ),
    Fault(
        "page stray",
        {"pages/about.txt": "x"},
        [("pages/about.txt:1:1: problem: found `about.txt`; did you mean `about.md`? | Rename it to `about.md`.")],
    ),
    Fault(
        "edition",
        {"editions/1.yaml": "number: 2\ndate: 2026-04-01\nnote: First.\ninputs: [{path: a, sha256: b}]\n"},
        [
            (
                "editions/1.yaml:1:1: problem: number: found 2, expected 1, as the file is named | Leave "
                "editions as `basefog edition` wrote them."
            ),
            "editions/1.yaml:4:20: problem: sha256: found 'b', expected a SHA-256 digest | Correct `sha256`.",
        ],
    ),
    Fault(
        "edition stray",
        {"editions/one.yaml": "x"},
        ["editions/one.yaml:1:1: remark: this file is not read | Take it away if it is not needed."],
    ),
    Fault(
        "name on two lines",
        edit(M + "stock.yaml", "name: Marl 400", 'name: "Marl\n  400\n\n  x"'),
        [
            (
                "stocks/marl-400/stock.yaml:1:1: problem: name: found 'Marl 400\nx', expected a name on one line"
                " | Correct `name`."
            )
        ],
    ),
    Fault(
        "keys for text",
        edit(S, "author: M. Osei", "author: {a: b}"),
        ["series.yaml:3:1: problem: author: found keys with values, expected a name | Correct `author`."],
    ),
    Fault(
        "nothing in a list",
        edit(M + "stock.yaml", "[135, 120]", "[135, ~]"),
        [
            (
                "stocks/marl-400/stock.yaml:5:16: problem: formats, item 2: found nothing, expected a name | "
                "Correct `formats`."
            )
        ],
    ),
    Fault(
        "address broken",
        edit(S, "https://trials.example.org/", '"http://[::1"'),
        [
            (
                "series.yaml:2:1: problem: address: found 'http://[::1', expected an http or https address "
                "without ? and # | Correct `address`."
            )
        ],
    ),
    Fault(
        "chapter minutes",
        edit(T2 + "test.yaml", "3:40", "1:75:00"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:16:63: problem: at: found '1:75:00', expected minutes and"
                " seconds such as 3:40 | Correct `at`."
            )
        ],
    ),
    Fault("chapter hours", edit(T2 + "test.yaml", "3:40", "1:05:00"), []),
    Fault(
        "very long number",
        edit(T1 + "test.yaml", "exposure_index: 400", "exposure_index: 4" + "0" * 60),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:1:1: problem: exposure_index: found "
                "'400000000000000000000000000000000000000000000000000000000...', expected a film speed above 0 "
                "| Correct `exposure_index`."
            )
        ],
    ),
    Fault(
        "code density nothing",
        edit(T2 + "test.yaml", "[[0, 2.12], [128, 1.09], [255, 0.06]]", "{a: b}"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:14:5: problem: code_density: found keys with values, "
                "expected pairs of code value and density such as [[0, 2.12], [255, 0.06]], or a file name | "
                "Correct `code_density`."
            )
        ],
    ),
    Fault(
        "code density rising and flat",
        edit(T2 + "test.yaml", "[[0, 2.12], [128, 1.09], [255, 0.06]]", "[[0, 1.2], [255, 1.2]]"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:14:5: problem: code_density: the density turns back as "
                "the code rises | Correct the pairs: density falls all the way, or rises all the way."
            )
        ],
    ),
    Fault(
        "float scan",
        edit(T2 + "test.yaml", "scans/print.png", "scans/print.tif")
        | {T2 + "scans/print.png": None, T2 + "scans/print.tif": FLOAT_TIFF},
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:8:5: problem: the scan is floating point and has no "
                "code_density | Give its code_density, or save it in 16 bits."
            )
        ],
    ),
    Fault(
        "float scan with code density",
        edit(T2 + "test.yaml", "scans/negative.png", "scans/negative.tif")
        | {T2 + "scans/negative.png": None, T2 + "scans/negative.tif": FLOAT_TIFF},
        [],
    ),
    Fault(
        "scan folder",
        edit(T2 + "test.yaml", "scans/print.png", "scans"),
        [
            (
                "stocks/marl-400/2026-04-02/scans:1:1: problem: found a folder, expected a file | Put the file "
                "in its place."
            )
        ],
    ),
    Fault(
        "scans below a file",
        edit(T2 + "test.yaml", "scans/print.png", "notes.md/print.png"),
        [
            (
                "stocks/marl-400/2026-04-02/notes.md/print.png:1:1: problem: the file is missing; "
                "stocks/marl-400/2026-04-02/test.yaml:8 names it | Add the file, or correct line 8 of "
                "stocks/marl-400/2026-04-02/test.yaml."
            )
        ],
    ),
    Fault(
        "pages is a file",
        {"pages/about.md": None, "pages": "x"},
        ["pages:1:1: problem: found a file, expected a folder | Make it a folder."],
    ),
    Fault(
        "test.yaml is a folder",
        {T1 + "test.yaml": None, T1 + "test.yaml/x": "x"},
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:1:1: problem: found a folder, expected a file | Put the "
                "file in its place."
            )
        ],
    ),
    Fault(
        "notes is a folder",
        {M + "notes.md": None, M + "notes.md/x": "x"},
        [
            (
                "stocks/marl-400/notes.md:1:1: problem: found the folder 'notes.md', expected a test such as "
                "2026-03-14 or 2026-03-14-b | Name the folder by the day of the test."
            )
        ],
    ),
    Fault(
        "views unread",
        edit(S, "box: [0, 0, 1, 1]", "box: all"),
        [
            (
                "series.yaml:22:36: problem: box: found 'all', expected four fractions of the picture: x, y, "
                "width, height, as in [0.1, 0.1, 0.5, 0.5] | Correct `box`."
            )
        ],
    ),
    Fault(
        "patches unread",
        edit(S, "luminous_reflectance: 0.18", "luminous_reflectance: 18"),
        [
            (
                "series.yaml:19:28: problem: luminous_reflectance: found '18', expected a reflectance above 0 "
                "and at most 1 | Correct `luminous_reflectance`."
            )
        ],
    ),
    Fault(
        "protocol unread",
        edit(S, "temperature_c: 20", "temperature_c: cold"),
        [
            (
                "series.yaml:12:3: problem: temperature_c: found 'cold', expected a temperature in degrees "
                "Celsius from 0 to 100 | Correct `temperature_c`."
            )
        ],
    ),
    Fault(
        "question broken front",
        edit("questions/2026-03-22-finer.md", "title: Is", "title: [Is"),
        [
            (
                "questions/2026-03-22-finer.md:2:22: problem: is not YAML: expected ',' or ']', but got '?' | "
                "Put this line right: a key ends in a colon and a space, and text with signs in it stands in "
                "quotes."
            )
        ],
    ),
    Fault(
        "question not utf8",
        {"questions/2026-03-22-finer.md": b"---\ntitle: \xff\n"},
        [
            (
                "questions/2026-03-22-finer.md:2:8: problem: found the byte 0xff, expected UTF-8 text | Save "
                "the file as UTF-8."
            )
        ],
    ),
    Fault(
        "page not utf8",
        {"pages/about.md": b"# \xff\n"},
        ["pages/about.md:1:3: problem: found the byte 0xff, expected UTF-8 text | Save the file as UTF-8."],
    ),
    Fault(
        "page nested",
        {"pages/about.md": "# About\n\n" + "[" * 101},
        [
            (
                "pages/about.md:1:1: problem: can't be read as Markdown: raw HTML in it is broken, or it is "
                "nested too deep | Simplify it."
            )
        ],
    ),
    Fault(
        "edition broken",
        {"editions/1.yaml": "number: ["},
        [
            (
                "editions/1.yaml:1:10: problem: is not YAML: expected the node content, but found '<stream "
                "end>' | Put this line right: a key ends in a colon and a space, and text with signs in it "
                "stands in quotes."
            )
        ],
    ),
    Fault(
        "wedge csv with capitals",
        {W: None, N + "2026-03-14/Wedge.CSV": WEDGE},
        [
            (
                "stocks/tern-100/2026-03-14/Wedge.CSV:1:1: problem: found `Wedge.CSV`, expected a table in one "
                "of .csv, .tsv, .xlsx, .ods, .cgats.txt | Save it as CSV, its name in small letters."
            )
        ],
    ),
    Fault(
        "unknown key in a list",
        edit(S, "name: Grey,", "nmae: Grey,"),
        [("series.yaml:19:16: problem: unknown key `nmae`; did you mean `name`? | Write `name`, or take the key out.")],
    ),
    Fault(
        "missing key in a list",
        edit(T2 + "test.yaml", "    of: print\n", ""),
        [("stocks/marl-400/2026-04-02/test.yaml:8:5: problem: of is missing | Add a line such as `of: print`.")],
    ),
    Fault(
        "unknown key in an optional part",
        edit(T2 + "test.yaml", "print: {exposure_s", "print: {exposure"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:6:9: problem: unknown key `exposure`; did you mean "
                "`exposure_s`? | Write `exposure_s`, or take the key out."
            )
        ],
    ),
    Fault(
        "prose call name",
        {P: '# About\n\nText {{ mean("marl-400", "gamma") }} and so on.\n'},
        [
            (
                'pages/about.md:3:6: problem: found \'{{ mean("marl-400", "gamma") }}\', expected one of value, '
                "difference, verdict, sentence, chart, view with quoted names | Write a call such as {{ "
                'value("marl-400", "average_gradient") }}, or put the text between backticks.'
            )
        ],
    ),
    Fault(
        "prose call expression",
        {P: "# About\n\nText {{ 1 + 1 }} and so on.\n"},
        [
            (
                "pages/about.md:3:6: problem: found '{{ 1 + 1 }}', expected one of value, difference, verdict, "
                'sentence, chart, view with quoted names | Write a call such as {{ value("marl-400", '
                '"average_gradient") }}, or put the text between backticks.'
            )
        ],
    ),
    Fault(
        "prose call variable",
        {P: '# About\n\nText {{ value(stock, "gamma") }} and so on.\n'},
        [
            (
                "pages/about.md:3:6: problem: found '{{ value(stock, \"gamma\") }}', expected one of value, "
                "difference, verdict, sentence, chart, view with quoted names | Write a call such as {{ "
                'value("marl-400", "average_gradient") }}, or put the text between backticks.'
            )
        ],
    ),
    Fault(
        "prose call one arg",
        {P: '# About\n\nText {{ value("marl-400") }} and so on.\n'},
        [
            (
                "pages/about.md:3:6: problem: value: expected two quoted names, found 1 | Write a call such as "
                '{{ value("marl-400", "average_gradient") }}, or put the text between backticks.'
            )
        ],
    ),
    Fault(
        "prose call stock",
        {P: '# About\n\nText {{ value("marl-4000", "gamma") }} and so on.\n'},
        [
            (
                "pages/about.md:3:6: problem: value: no stock is named `marl-4000`; did you mean `marl-400`? | "
                "Name a stock by its folder."
            )
        ],
    ),
    Fault(
        "prose call test",
        {P: '# About\n\nText {{ value("marl-400/2026-03-15", "gamma") }} and so on.\n'},
        [
            (
                "pages/about.md:3:6: problem: value: marl-400 has no test `2026-03-15` | Name one of its tests:"
                " 2026-03-14, 2026-04-02."
            )
        ],
    ),
    Fault(
        "prose call measure",
        {P: '# About\n\nText {{ value("marl-400", "gama") }} and so on.\n'},
        [
            (
                "pages/about.md:3:6: problem: value: no measure is named `gama`; did you mean `gamma`? | Name a"
                " measure: average_gradient, base_plus_fog, contrast_corrected_speed, contrast_index, gamma, "
                "grain_correlation, highlight_gradient, iso_speed, matching_time, maximum_density, "
                "middle_gradient, mtf50, print_exposure, print_graininess, print_highlight_contrast, "
                "print_middle_contrast, print_shadow_contrast, rms_granularity, shadow_gradient, shadow_match, "
                "speed_from_reference, speed_point, useful_range."
            )
        ],
    ),
    Fault(
        "prose call chart",
        {P: '# About\n\nText {{ chart("marl-400", "curves") }} and so on.\n'},
        [
            (
                "pages/about.md:3:6: problem: chart: no chart is named `curves`; did you mean `curve`? | Name a"
                " chart: contrast-time, control-strip, curve, edge-response, frames, patches, spectrum, "
                "tone-reproduction, tones."
            )
        ],
    ),
    Fault(
        "prose call view",
        {P: '# About\n\nText {{ view("marl-400", "evn") }} and so on.\n'},
        [
            (
                "pages/about.md:3:6: problem: view: no view is named `evn`; did you mean `even`? | Name a view:"
                " even, whole."
            )
        ],
    ),
    Fault(
        "prose call unclosed",
        {P: '# About\n\nText {{ value("marl-400", "gamma") and so on.\n'},
        ["pages/about.md:3:6: problem: '{{' is never closed | Close it with '}}' in the same paragraph."],
    ),
    Fault(
        "prose block",
        {P: '# About\n\nText {% include "x" %} and so on.\n'},
        [
            (
                "pages/about.md:3:6: problem: found '{% include \"x\" %}', expected no template commands | Take "
                "it out, or put it between backticks."
            )
        ],
    ),
    Fault(
        "prose block unclosed",
        {P: "# About\n\nText {% if and so on.\n"},
        ["pages/about.md:3:6: problem: '{%' is never closed | Close it with '%}' in the same paragraph."],
    ),
    Fault(
        "prose call in link",
        {P: '# About\n\nText [x]({{ value("marl-400", "gamma") }}) and so on.\n'},
        [
            (
                'pages/about.md:3:10: problem: found \'{{ value("marl-400", "gamma") }}\' inside a link, picture '
                "or tag | Move the call into the text."
            )
        ],
    ),
    Fault(
        "prose remote picture",
        {P: "# About\n\nText ![a](https://example.org/a.png) and so on.\n"},
        [
            (
                "pages/about.md:3:11: problem: found the picture 'https://example.org/a.png', expected a view "
                'of a scan | Show a view, such as {{ view("marl-400", "whole") }}, or link to the picture.'
            )
        ],
    ),
    Fault(
        "prose picture",
        {P: "# About\n\nText ![a](a.png) and so on.\n"},
        [
            (
                "pages/about.md:3:11: problem: found the picture 'a.png', expected a view of a scan | Show a "
                'view, such as {{ view("marl-400", "whole") }}, or link to the picture.'
            )
        ],
    ),
    Fault(
        "prose script link",
        {P: "# About\n\nText [a](javascript:alert) and so on.\n"},
        [
            (
                "pages/about.md:3:10: problem: found a link to 'javascript:alert', expected http, https, mailto"
                " or a link to a page of the series | Write the whole address with http or https, or take the "
                "link out."
            )
        ],
    ),
    Fault(
        "prose data link",
        {P: "# About\n\nText [a](data:text/html,x) and so on.\n"},
        [
            (
                "pages/about.md:3:10: problem: found a link to 'data:text/html,x', expected http, https, mailto"
                " or a link to a page of the series | Write the whole address with http or https, or take the "
                "link out."
            )
        ],
    ),
    Fault(
        "prose entity link",
        {P: "# About\n\nText [a](&#106;avascript:alert) and so on.\n"},
        [
            (
                "pages/about.md:3:1: problem: found a link to 'javascript:alert', expected http, https, mailto "
                "or a link to a page of the series | Write the whole address with http or https, or take the "
                "link out."
            )
        ],
    ),
    Fault(
        "prose spaced",
        {P: "# About\n\nText [a](<java\tscript:alert>) and so on.\n"},
        [
            (
                "pages/about.md:3:1: problem: found a link to 'java  script:alert', expected http, https, "
                "mailto or a link to a page of the series | Write the whole address with http or https, or take"
                " the link out."
            )
        ],
    ),
    Fault(
        "prose protocol relative",
        {P: "# About\n\nText [a](//example.org) and so on.\n"},
        [
            (
                "pages/about.md:3:10: problem: found a link to '//example.org', expected http, https, mailto or"
                " a link to a page of the series | Write the whole address with http or https, or take the link"
                " out."
            )
        ],
    ),
    Fault(
        "prose escaped link",
        {P: "# About\n\nText [a](javascript:al\\_ert) and so on.\n"},
        [
            (
                "pages/about.md:1:1: problem: found a link to 'javascript:al_ert', expected http, https, mailto"
                " or a link to a page of the series | Write the whole address with http or https, or take the "
                "link out."
            )
        ],
    ),
    Fault(
        "prose empty picture",
        {P: "# About\n\nText ![a]() and so on.\n"},
        [
            (
                "pages/about.md:1:1: problem: found the picture '', expected a view of a scan | Show a view, "
                'such as {{ view("marl-400", "whole") }}, or link to the picture.'
            )
        ],
    ),
    Fault(
        "prose ftp",
        {P: "# About\n\nText <ftp://example.org/> and so on.\n"},
        [
            (
                "pages/about.md:3:7: problem: found a link to 'ftp://example.org/', expected http, https, "
                "mailto or a link to a page of the series | Write the whole address with http or https, or take"
                " the link out."
            )
        ],
    ),
    Fault(
        "prose file ref link",
        {P: "# About\n\n[a][b]\n\n[b]: file:///etc/passwd\n"},
        [
            (
                "pages/about.md:5:6: problem: found a link to 'file:///etc/passwd', expected http, https, "
                "mailto or a link to a page of the series | Write the whole address with http or https, or take"
                " the link out."
            )
        ],
    ),
    Fault("prose fine", {P: FINE}, []),
    Fault(
        "prose not utf8",
        {P: b"# About\n\nab \xff\n"},
        ["pages/about.md:3:4: problem: found the byte 0xff, expected UTF-8 text | Save the file as UTF-8."],
    ),
    Fault(
        "prose control",
        {P: "# About\n\nab\x07\n"},
        ["pages/about.md:3:3: problem: found the character U+0007, which no page can show | Delete it."],
    ),
    Fault(
        "lamp without exposure",
        edit(S, "lux_s: 0.8", "u_lux_s: 0.05"),
        [
            (
                "series.yaml:16:30: problem: u_lux_s: there is no lux_s whose uncertainty it is | Write `lux_s` "
                "too, or take `u_lux_s` out."
            ),
        ],
    ),
    Fault(
        "lamp too uncertain",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "exposure: {wedge: contact-7, lux_s: 0.8, u_lux_s: 0.9}"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:42: problem: u_lux_s: found 0.9, expected less than "
                "lux_s, 0.8 | Correct `u_lux_s`: it is a standard uncertainty in lux seconds."
            ),
        ],
    ),
    Fault(
        "lamp word",
        edit(S, "lux_s: 0.8", "lux_s: 0.8, u_lux_s: little"),
        [
            (
                "series.yaml:16:42: problem: u_lux_s: found 'little', expected an exposure in lux seconds above "
                "0 | Correct `u_lux_s`."
            ),
        ],
    ),
    Fault(
        "names unknown",
        edit(S, "enlarging:", "names: {grade-3: Matt paper}\nenlarging:"),
        [
            (
                "series.yaml:24:9: problem: names: no wedge or paper is named `grade-3`; did you mean `grade-2`?"
                " | Name a file of `wedges` or `papers` without its ending."
            ),
        ],
    ),
    Fault(
        "names too long",
        edit(S, "enlarging:", f"names: {{grade-2: {'x' * 201}}}\nenlarging:"),
        [
            (
                "series.yaml:24:9: problem: grade-2: found "
                "'xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx...', expected a name of at most 200 "
                "characters | Correct `grade-2`."
            ),
        ],
    ),
    Fault(
        "optional page",
        edit(S, "enlarging:", "optional_pages: [coming, opened]\nenlarging:"),
        [
            (
                "series.yaml:24:26: problem: optional_pages, item 2: found 'opened', expected coming or open | "
                "Correct `optional_pages`."
            ),
        ],
    ),
    Fault(
        "series correction about nothing",
        edit(S, "enlarging:", "corrections: [{date: 2026-05-02, text: Typed wrongly.}]\nenlarging:"),
        [
            ("series.yaml:24:15: problem: about is missing | Add a line such as `about: wedges/contact-21.csv`."),
        ],
    ),
    Fault(
        "series correction of no file",
        edit(S, "enlarging:", "corrections: [{date: 2026-05-02, about: wedges/contact-8.csv, text: x}]\nenlarging:"),
        [
            (
                "series.yaml:24:34: problem: about: the series has no file `wedges/contact-8.csv`; did you mean "
                "`wedges/contact-7.csv`? | Name a file by its path in the series, such as "
                "`wedges/contact-21.csv`."
            ),
        ],
    ),
    Fault(
        "moved to itself",
        edit(S, "enlarging:", "moved: {pages/a/: pages/a/}\nenlarging:"),
        [
            ("series.yaml:24:9: problem: moved: `pages/a/` leads to itself | Write the address of today."),
        ],
    ),
    Fault(
        "moved on",
        edit(S, "enlarging:", "moved: {pages/a/: pages/b/, pages/b/: pages/about/}\nenlarging:"),
        [
            (
                "series.yaml:24:9: problem: moved: `pages/a/` leads to `pages/b/`, which leads elsewhere itself "
                "| Write the address of today."
            ),
        ],
    ),
    Fault(
        "moved elsewhere",
        edit(S, "enlarging:", "moved: {pages/a/: https://example.org/}\nenlarging:"),
        [
            (
                "series.yaml:24:9: problem: pages/a/: found 'https://example.org/', expected an address below "
                "the site's root such as pages/about/ | Correct `pages/a/`."
            ),
        ],
    ),
    Fault(
        "moved from above",
        edit(S, "enlarging:", "moved: {../a/: pages/about/}\nenlarging:"),
        [
            (
                "series.yaml:24:9: problem: found the key '../a/', expected an address below the site's root "
                "such as pages/about/ | Rename the key."
            ),
        ],
    ),
    Fault(
        "unobtainable without words",
        {"stocks/wren-50/stock.yaml": "name: W\nbox_speed: 50\nunobtainable: true\n"},
        [
            (
                "stocks/wren-50/stock.yaml:3:1: problem: unobtainable: found 'true', expected a reason in words "
                "| Write the reason after `unobtainable:`."
            ),
        ],
    ),
    Fault(
        "planned",
        {"stocks/wren-50/stock.yaml": "name: W\nbox_speed: 50\nplanned: true\n"},
        [],
    ),
    Fault(
        "not planned",
        {"stocks/wren-50/stock.yaml": "name: W\nbox_speed: 50\nplanned: no\n"},
        [
            (
                "stocks/wren-50/stock.yaml:1:1: remark: this stock has no test, and says neither `planned` nor "
                "`unobtainable` | Add a test folder such as 2026-03-14, with a test.yaml, or a line such as "
                "`planned: true`."
            ),
        ],
    ),
    Fault(
        "unobtainable",
        {"stocks/wren-50/stock.yaml": "name: W\nbox_speed: 50\nunobtainable: No shop had it.\n"},
        [],
    ),
    Fault(
        "withdrawn without words",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "withdrawn: true"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:1: problem: withdrawn: found 'true', expected a reason "
                "in words | Write the reason after `withdrawn:`."
            ),
        ],
    ),
    Fault(
        "withdrawn denied",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "withdrawn: false"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:1: problem: withdrawn: found 'false', expected a reason "
                "in words | Take `withdrawn` out."
            ),
        ],
    ),
    Fault(
        "correction without text",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "corrections: [{date: 2026-05-02}]"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:15: problem: text is missing | Add a line such as `text:"
                " Step 9 was typed 1.24 for 1.42.`."
            ),
        ],
    ),
    Fault(
        "correction undated",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "corrections: [{date: May, text: x}]"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:16: problem: date: found 'May', expected a date such as "
                "2026-03-14 | Correct `date`."
            ),
        ],
    ),
    Fault(
        "replaces without reason",
        edit(T2 + "test.yaml", "reason: The camera moved.\n", ""),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:3:1: problem: replaces: no reason is given why 2026-03-14 "
                "was made again | Add a line such as `reason: The camera moved.`"
            ),
        ],
    ),
    Fault(
        "reason alone",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "reason: The camera moved."),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:1: problem: reason: this test replaces none | Name the "
                "test that it replaces, as in `replaces: 2026-03-14`, or take `reason` out."
            ),
        ],
    ),
    Fault(
        "further test",
        edit(T2 + "test.yaml", "replaces: 2026-03-14\nreason: The camera moved.\n", ""),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:1:1: remark: this stock was tested before, on 2026-03-14, "
                "and this test does not say how it stands to that | Say `replaces` (with a `reason`), `repeat: "
                "true` or `development_of`."
            ),
        ],
    ),
    Fault(
        "former id live",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "former_ids: [2026-04-02]"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:14: problem: former_ids: `2026-04-02` is a test of this "
                "stock | Take it out."
            ),
        ],
    ),
    Fault(
        "former id twice",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "former_ids: [2026-03-13]")
        | edit(T2 + "test.yaml", "reason", "former_ids: [2026-03-13]\nreason"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:4:14: problem: former_ids: `2026-03-13` is a former id of "
                "2026-03-14 already | Keep one of the two."
            ),
        ],
    ),
    Fault(
        "former id word",
        edit(T1 + "test.yaml", 'emulsion: "0417-2"', "former_ids: [first]"),
        [
            (
                "stocks/marl-400/2026-03-14/test.yaml:2:14: problem: former_ids, item 1: found 'first', expected"
                " the folder name of a test, such as 2026-03-14 or 2026-03-14-b | Correct `former_ids`."
            ),
        ],
    ),
    Fault(
        "under way with readings",
        edit(T2 + "test.yaml", "reason", "under_way: true\nreason"),
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:4:1: remark: under_way: wedge.csv holds readings, and the "
                "test is not published | Take `under_way` out when the readings are in."
            ),
        ],
    ),
    Fault(
        "under way with a blank form",
        {
            M + "2026-05-01/test.yaml": OTHER_TEST + "repeat: true\nunder_way: true\n",
            M + "2026-05-01/wedge.csv": "step,first\n1,\n2,\nbase,\n",
        },
        [],
    ),
    Fault(
        "under way and current",
        {M + "2026-05-01/test.yaml": OTHER_TEST + "repeat: true\nunder_way: true\ncurrent: true\n"},
        [
            (
                "stocks/marl-400/2026-05-01/test.yaml:5:1: problem: current: a test under way is never current |"
                " Take `current` or `under_way` out."
            ),
        ],
    ),
    Fault(
        "under way and withdrawn",
        {M + "2026-05-01/test.yaml": OTHER_TEST + "repeat: true\nunder_way: true\nwithdrawn: Fogged.\n"},
        [
            (
                "stocks/marl-400/2026-05-01/test.yaml:5:1: problem: withdrawn: the test is under way, so that "
                "there is nothing to withdraw | Take `under_way` or `withdrawn` out."
            ),
        ],
    ),
    Fault(
        "replaces one under way",
        {
            M + "2026-03-20/test.yaml": OTHER_TEST + "repeat: true\nunder_way: true\n",
            **edit(T2 + "test.yaml", "replaces: 2026-03-14", "replaces: 2026-03-20"),
        },
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:3:1: problem: replaces: `2026-03-20` is under way, so that"
                " there is nothing to replace | Take `replaces` out, or `under_way` out of the other test if its"
                " readings are in."
            ),
        ],
    ),
    Fault(
        "varies one under way",
        {
            M + "2026-03-20/test.yaml": OTHER_TEST + "repeat: true\nunder_way: true\n",
            **edit(T2 + "test.yaml", "replaces: 2026-03-14\nreason: The camera moved.", "development_of: 2026-03-20"),
        },
        [
            (
                "stocks/marl-400/2026-04-02/test.yaml:3:1: problem: development_of: `2026-03-20` is under way, "
                "so that there is nothing to vary | Say `under_way: true` here too until the readings of both "
                "are in."
            ),
        ],
    ),
    Fault(
        "replaced twice, once under way",
        {M + "2026-05-01/test.yaml": OTHER_TEST + "replaces: 2026-03-14\nreason: x\nunder_way: true\n"},
        [
            (
                "stocks/marl-400/2026-05-01/test.yaml:3:1: problem: replaces: `2026-03-14` is replaced by "
                "2026-04-02 already | Let this test replace 2026-04-02, or take `replaces` out of one of them."
            ),
        ],
    ),
    Fault(
        "question slug former twice",
        {"questions/2026-04-01-grain.md": QUESTION.replace("stocks:", "former_slugs: [finer]\nstocks:")},
        [
            (
                "questions/2026-04-01-grain.md:5:16: problem: former_slugs: `finer` is the slug of a question | "
                "Take it out."
            ),
        ],
    ),
    Fault(
        "question former twice",
        edit("questions/2026-03-22-finer.md", "stocks:", "former_slugs: [fine, fine]\nstocks:"),
        [
            (
                "questions/2026-03-22-finer.md:5:22: problem: former_slugs: `fine` is a former slug of finer "
                "already | Keep one of the two."
            ),
        ],
    ),
    Fault(
        "question withdrawn without words",
        edit("questions/2026-03-22-finer.md", "stocks:", "withdrawn: yes\nstocks:"),
        [
            (
                "questions/2026-03-22-finer.md:5:1: problem: withdrawn: found 'yes', expected a reason in words "
                "| Write the reason after `withdrawn:`."
            ),
        ],
    ),
    Fault(
        "question correction",
        edit("questions/2026-03-22-finer.md", "stocks:", "corrections: [{text: x}]\nstocks:"),
        [
            ("questions/2026-03-22-finer.md:5:15: problem: date is missing | Add a line such as `date: 2026-05-02`."),
        ],
    ),
    Fault(
        "prose two stocks",
        {P: '# About\n\nText {{ sentence("tern-100", "marl-400/2026-03-14", "gamma") }} and so on.\n'},
        [],
    ),
    Fault(
        "prose second stock unknown",
        {P: '# About\n\nText {{ verdict("tern-100", "marl-40", "gamma") }} and so on.\n'},
        [
            (
                "pages/about.md:3:6: problem: verdict: no stock is named `marl-40`; did you mean `marl-400`? | "
                "Name a stock by its folder."
            ),
        ],
    ),
    Fault(
        "prose against itself",
        {P: '# About\n\nText {{ difference("tern-100", "tern-100", "gamma") }} and so on.\n'},
        [
            ("pages/about.md:3:6: problem: difference: `tern-100` is set against itself | Name two stocks or tests."),
        ],
    ),
    Fault(
        "prose second measure unknown",
        {P: '# About\n\nText {{ sentence("tern-100", "marl-400", "whiteness") }} and so on.\n'},
        [
            (
                "pages/about.md:3:6: problem: sentence: no measure is named `whiteness` | Name a measure: "
                "average_gradient, base_plus_fog, contrast_corrected_speed, contrast_index, gamma, "
                "grain_correlation, highlight_gradient, iso_speed, matching_time, maximum_density, "
                "middle_gradient, mtf50, print_exposure, print_graininess, print_highlight_contrast, "
                "print_middle_contrast, print_shadow_contrast, rms_granularity, shadow_gradient, shadow_match, "
                "speed_from_reference, speed_point, useful_range."
            ),
        ],
    ),
    Fault(
        "prose three names for a value",
        {P: '# About\n\nText {{ value("tern-100", "marl-400", "gamma") }} and so on.\n'},
        [
            (
                "pages/about.md:3:6: problem: value: expected two quoted names, found 3 | Write a call such as "
                '{{ value("marl-400", "average_gradient") }}, or put the text between backticks.'
            ),
        ],
    ),
    Fault(
        "prose one name to compare",
        {P: '# About\n\nText {{ sentence("tern-100") }} and so on.\n'},
        [
            (
                "pages/about.md:3:6: problem: sentence: expected two quoted names, or three, found 1 | Write a "
                'call such as {{ value("marl-400", "average_gradient") }}, or put the text between backticks.'
            ),
        ],
    ),
    Fault(
        "prose of a stock without a current test",
        edit(N + "2026-03-14/test.yaml", "developed", "withdrawn: Fogged.\ndeveloped"),
        [
            (
                "questions/2026-03-22-finer.md:7:7: remark: difference: tern-100 has no current test, so that "
                'the page says "not measured" | Name a test, such as `tern-100/2026-03-14`, or take it out.'
            ),
        ],
    ),
    Fault(
        "prose of a stock without tests",
        {
            "stocks/wren-50/stock.yaml": "name: W\nbox_speed: 50\nplanned: true\n",
            P: '# About\n\nText {{ sentence("wren-50", "tern-100", "gamma") }} and so on.\n',
        },
        [
            (
                'pages/about.md:3:6: remark: sentence: wren-50 has no current test, so that the page says "not '
                'measured" | Wait for its readings, or take it out.'
            ),
        ],
    ),
    Fault(
        "prose of a test under way",
        {
            M + "2026-05-01/test.yaml": OTHER_TEST + "repeat: true\nunder_way: true\n",
            P: '# About\n\nText {{ value("marl-400/2026-05-01", "gamma") }} and so on.\n',
        },
        [
            (
                'pages/about.md:3:6: remark: value: marl-400/2026-05-01 is under way, so that the page says "not'
                ' measured" | Wait for its readings, or take it out.'
            ),
        ],
    ),
]


@pytest.mark.parametrize("fault", FAULTS, ids=[fault.name for fault in FAULTS])
def test_fault(fault: Fault, tmp_path: Path) -> None:
    """One fault gives just these entries: place, level, message and mend."""
    reading = read_with(tmp_path, fault.changes)

    assert told(reading) == fault.told
    assert (reading.series is None) == any(": problem: " in entry for entry in fault.told)
