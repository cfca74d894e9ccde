"""Every single fault of a table, with the whole of what is told of it."""

from pathlib import Path

import pytest

from read.faults import Fault, edit
from read.valid_series import WEDGE, WEDGE_CALIBRATION, read_with, told

S = "series.yaml"
T1 = "stocks/marl-400/2026-03-14/"
T2 = "stocks/marl-400/2026-04-02/"
W = "stocks/tern-100/2026-03-14/wedge.csv"
B = T1 + "bracket.csv"
K = "wedges/contact-7.csv"
P = "papers/grade-2.csv"
CG_PATH = "stocks/tern-100/2026-03-14/wedge.cgats.txt"
CG = """CGATS.17
ORIGINATOR "bench densitometer"
NUMBER_OF_FIELDS 3
BEGIN_DATA_FORMAT
SAMPLE_ID SAMPLE_NAME D_VIS
END_DATA_FORMAT
NUMBER_OF_SETS 3
BEGIN_DATA
1 "step 1" 1.42
2 "step 2" 1.24
base "film base" 0.24
END_DATA
"""
TURNED = "step,D\n7,1.42\n6,1.24\n5,1.06\n4,0.87\n3,0.66\n2,0.44\n1,0.30\n"
PERCENT = "step,D\n1,3.8\n2,5.8\n3,8.7\n4,13.5\n5,21.9\n6,36.3\n7,50.1\n"
HUNDREDFOLD = "step,D\n1,142\n2,124\n3,106\n4,87\n5,66\n6,44\n7,30\n"
HUNDREDFOLD_WEDGE = "step,density\n1,5\n2,35\n3,65\n4,95\n5,125\n6,155\n7,185\n"
PERCENT_BRACKET = "frame,stops,grey,dark\n6,-1/3,19.5,30.2\n7,0,16.6,25.7\n8,1/3,14.1,21.9\n"
MEANS = """\
step,first,second,third
1,1.423,1.431,1.427
2,1.241,1.252,1.246
3,1.063,1.070,1.067
4,0.874,0.869,0.872
5,0.660,0.651,0.655
6,0.442,0.452,0.447
7,0.301,0.309,0.305
base,0.241,0.248,0.244
"""
OWN = "step,log_exposure,D\n1,-0.15,1.42\n"

FAULTS = [
    Fault(
        "empty file",
        {W: ""},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:1: problem: the table is empty | Give it a header that "
                "begins with `step`."
            )
        ],
    ),
    Fault(
        "blank file",
        {W: "\n\n,,\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:1: problem: the table is empty | Give it a header that "
                "begins with `step`."
            )
        ],
    ),
    Fault(
        "header only",
        {W: "step,D\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:1: problem: the table holds no readings | Type the "
                "readings, or take the file away."
            )
        ],
    ),
    Fault(
        "no step column",
        {W: WEDGE.replace("step", "stpe")},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:1: problem: the column `step` is missing; is `stpe` "
                "meant for it? | Head a column `step`."
            )
        ],
    ),
    Fault(
        "no reading column",
        {W: "step\n1\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:1: problem: no column holds readings | Head a column "
                "for the readings, beside `step`."
            )
        ],
    ),
    Fault(
        "bad density",
        edit(W, "1.24,1.25", "1.24,1.2S"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:8: problem: second: found '1.2S', expected a density "
                "from 0 to 6 | Correct the cell."
            )
        ],
    ),
    Fault(
        "negative",
        edit(W, "1.24,1.25", "1.24,-1.25"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:8: problem: second: found '-1.25', expected a density "
                "from 0 to 6 | Correct the cell."
            )
        ],
    ),
    Fault(
        "nan",
        edit(W, "1.24,1.25", "1.24,nan"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:8: problem: second: found 'nan', expected a density "
                "from 0 to 6 | Correct the cell."
            )
        ],
    ),
    Fault(
        "underscore",
        edit(W, "1.24,1.25", "1.24,1_25"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:8: problem: second: found '1_25', expected a density "
                "from 0 to 6 | Correct the cell."
            )
        ],
    ),
    Fault(
        "exp",
        edit(W, "1.24,1.25", "1.24,1e0"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:8: problem: second: found '1e0', expected a density "
                "from 0 to 6 | Correct the cell."
            )
        ],
    ),
    Fault(
        "hex",
        edit(W, "1.24,1.25", "1.24,0x1"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:8: problem: second: found '0x1', expected a density "
                "from 0 to 6 | Correct the cell."
            )
        ],
    ),
    Fault(
        "seven",
        edit(W, "1.24,1.25", "1.24,7.25"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:8: problem: second: found '7.25', expected a density "
                "from 0 to 6 | Correct the cell; look for a lost decimal sign."
            )
        ],
    ),
    Fault(
        "lost point",
        edit(W, "1.24,1.25", "1.24,125"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:8: problem: second: found '125', expected a density "
                "from 0 to 6 | Correct the cell; look for a lost decimal sign."
            )
        ],
    ),
    Fault(
        "undeclared step",
        edit(W, "\n7,", "\n8,"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:8:1: problem: the wedge contact-7 has no step `8` | "
                "Correct the step, or add it to the wedge's file."
            )
        ],
    ),
    Fault(
        "no step at all",
        {W: "step,D\n21,1.2\n22,1.1\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:1: problem: none of the steps is declared in the wedge "
                "contact-7 | Name the wedge that was used under `exposure`, or correct the steps."
            )
        ],
    ),
    Fault(
        "step word",
        edit(W, "\n7,", "\nbsae,"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:8:1: problem: the wedge contact-7 has no step `bsae`; did"
                " you mean `base`? | Correct the step, or add it to the wedge's file."
            )
        ],
    ),
    Fault(
        "step twice",
        edit(W, "\n7,", "\n6,"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:8:1: problem: step `6` is there twice | Put replicates "
                "into columns beside each other."
            )
        ],
    ),
    Fault(
        "row without step",
        edit(W, "\n7,", "\n,"),
        [("stocks/tern-100/2026-03-14/wedge.csv:8:1: problem: a row without a step | Name its step, or empty it.")],
    ),
    Fault(
        "base twice",
        {W: WEDGE + "base,0.24,0.24,0.24\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:10:1: problem: step `base` is there twice | Put "
                "replicates into columns beside each other."
            )
        ],
    ),
    Fault(
        "more cells",
        edit(W, "0.30,0.30,0.31", "0.30,0.30,0.31,0.3"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:8:18: problem: the row has more cells than the header | "
                "Head the column, or empty the cells; decimal commas need semicolons or tabs between the "
                "columns."
            )
        ],
    ),
    Fault(
        "decimal commas unquoted",
        {W: WEDGE.replace(".", ",")},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:2:10: problem: the row has more cells than the header, "
                "and so have 7 more rows | Head the column, or empty the cells; decimal commas need semicolons "
                "or tabs between the columns."
            )
        ],
    ),
    Fault(
        "both signs",
        {W: WEDGE.replace(",", ";").replace("1.24", "1,24", 1)},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:3: problem: found '1,24' in a file whose decimal sign "
                "is the point | Use one decimal sign in the whole file."
            )
        ],
    ),
    Fault(
        "both signs 2",
        {W: WEDGE.replace(",", ";").replace(".", ",").replace("1,24", "1.24", 1)},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:3: problem: found '1.24' in a file whose decimal sign "
                "is the comma | Use one decimal sign in the whole file."
            )
        ],
    ),
    Fault(
        "half comma",
        {W: "step,D,E\n1,1,42\n2,1,24\n3,1,06\n4,0,87\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:2:5: problem: found 3 of 7 values above 6, which look "
                "like the halves of decimal commas, expected densities | Put semicolons or tabs between the "
                "columns."
            ),
            (
                "stocks/tern-100/2026-03-14/wedge.csv:4:5: problem: E: found '06', expected a density from 0 to"
                " 6 | Correct the cell; where decimal commas are meant, put semicolons between the columns."
            ),
        ],
    ),
    Fault(
        "remarks column",
        {W: WEDGE.replace("third", "third,notes").replace("1.42\n", "1.42,bright\n")},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:25: problem: the column `notes` holds no densities | "
                "Correct it, or take the column out; remarks belong into notes.md."
            )
        ],
    ),
    Fault(
        "two delims",
        {W: "step,a;step\n1,2\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:1: problem: the header can be parted at comma and "
                "semicolon | Use one of them between the columns."
            )
        ],
    ),
    Fault(
        "quote open",
        edit(W, "1.24,1.25", '"1.24,1.25'),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:1: problem: a quotation mark is out of place or never "
                "closed | Put the quotation marks right, or take them out."
            )
        ],
    ),
    Fault(
        "quote stray",
        edit(W, "1.24,1.25", '"1.24"x,1.25'),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:1: problem: a quotation mark is out of place or never "
                "closed | Put the quotation marks right, or take them out."
            )
        ],
    ),
    Fault(
        "nul",
        {W: WEDGE.replace("1.24", "1.2\0")},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:1: problem: found a NUL character, expected a text "
                "table | Save it as CSV in UTF-8."
            )
        ],
    ),
    Fault(
        "undefined byte",
        {W: WEDGE.encode().replace(b"first", b"fir\x81st")},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:1: problem: found the byte 0x81, expected UTF-8, UTF-16"
                " or Windows-1252 text | Save it as CSV in UTF-8."
            )
        ],
    ),
    Fault(
        "utf16 cut",
        {W: WEDGE.encode("utf-16") + b"a"},
        [("stocks/tern-100/2026-03-14/wedge.csv:1:1: problem: is no whole UTF-16 text | Save it as CSV in UTF-8.")],
    ),
    Fault(
        "dip remark",
        edit(W, "0.66,0.66,0.65", "0.91,0.91,0.91"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:5:3: remark: step 4 got more light than step 5, but its "
                "density 0.873 is lower than 0.910 by 4.8 standard errors | Compare both with the strip and "
                "correct the wrong one, or read them again."
            )
        ],
    ),
    Fault(
        "dip",
        edit(W, "0.66,0.66,0.65", "0.96,0.96,0.95"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:5:3: problem: step 4 got more light than step 5, but its "
                "density 0.873 is lower than 0.957 by 10.8 standard errors | Compare both with the strip and "
                "correct the wrong one, or read them again."
            )
        ],
    ),
    Fault(
        "all falling",
        {W: TURNED},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:3: problem: density falls with exposure over most of "
                "the steps | Check which end of the steps got the most light, and that the values are "
                "densities."
            )
        ],
    ),
    Fault(
        "replicate",
        edit(W, "1.24,1.25,1.24", "1.24,1.52,1.24"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:8: problem: step 2: the reading 1.52 lies 35 "
                "repeatabilities from the median 1.24 (readings 1.24, 1.24, 1.52) | Compare it with the strip "
                "and correct it, or read it again."
            )
        ],
    ),
    Fault(
        "replicate remark",
        edit(W, "1.24,1.25,1.24", "1.24,1.29,1.24"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:8: remark: step 2: the reading 1.29 lies 6 "
                "repeatabilities from the median 1.24 (readings 1.24, 1.24, 1.29) | Compare it with the strip "
                "and correct it, or read it again."
            )
        ],
    ),
    Fault(
        "two replicates",
        {W: "step,a,b\n1,1.42,1.24\n2,1.2,1.2\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:2:3: problem: step 1: the reading 1.42 lies 11 "
                "repeatabilities from the median 1.33 (readings 1.24, 1.42) | Compare it with the strip and "
                "correct it, or read it again."
            )
        ],
    ),
    Fault(
        "base high",
        edit(W, "base,0.24,0.24,0.25", "base,0.42,0.42,0.43"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:9:6: problem: base: density 0.423 lies above that of step"
                " 7, 0.303, by 15.6 standard errors | Read the base on unexposed, processed film, away from the"
                " edge."
            )
        ],
    ),
    Fault(
        "base high remark",
        edit(W, "base,0.24,0.24,0.25", "base,0.34,0.33,0.34"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:9:6: remark: base: density 0.337 lies above that of step "
                "7, 0.303, by 4.3 standard errors | Read the base on unexposed, processed film, away from the "
                "edge."
            )
        ],
    ),
    Fault(
        "percent",
        {W: PERCENT},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:4:3: problem: found 5 of 7 values above 6, which look "
                "like percent transmission, expected densities | Turn percent transmission into density: 2 - "
                "log10(percent)."
            )
        ],
    ),
    Fault(
        "hundredfold",
        {W: HUNDREDFOLD},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:2:3: problem: found 7 of 7 values above 6, which look "
                "like hundredfold densities, expected densities | Divide the values by 100."
            )
        ],
    ),
    Fault("own log", {W: "step,log_exposure,D\n1,-0.15,1.42\n2,-0.45,1.24\nbase,-,0.24\n"}, []),
    Fault(
        "own log missing",
        {W: "step,log_exposure,D\n1,-0.15,1.42\n2,,1.24\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:1: problem: step `2` has no log_exposure | Write it, or"
                " take the row out."
            )
        ],
    ),
    Fault(
        "own log twice",
        {W: "step,log_exposure,D\n1,-0.15,1.42\n2,-0.15,1.24\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:3:3: problem: step `2` has the log_exposure of step `1` |"
                " Correct one of them; put replicates into columns beside each other."
            )
        ],
    ),
    Fault(
        "own log base",
        {W: "step,log_exposure,D\n1,-0.15,1.42\nbase,0,.24\n"},
        ["stocks/tern-100/2026-03-14/wedge.csv:3:6: problem: the base got no exposure | Empty the cell."],
    ),
    Fault(
        "own log word",
        {W: "step,log_exposure,D\n1,bright,1.42\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:2:3: problem: log_exposure: found 'bright', expected a "
                "log exposure from -10 to 10 | Correct the cell."
            )
        ],
    ),
    Fault(
        "no wedge named",
        edit(S, "wedge: contact-7, ", ""),
        [
            (
                "series.yaml:16:1: problem: exposure: no wedge is named, and there are readings of one without "
                "a column `log_exposure` | Name the wedge, as in `exposure: {wedge: contact-21}`."
            )
        ],
    ),
    Fault(
        "exposure broken",
        edit(S, "wedge: contact-7", "wegde: contact-7"),
        [
            (
                "series.yaml:16:12: problem: unknown key `wegde`; did you mean `wedge`? | Write `wedge`, or "
                "take the key out."
            )
        ],
    ),
    Fault("same headings", {W: "step,D,D\n1,1.42,1.42\nbase,0.24,0.24\n"}, []),
    Fault(
        "long heading",
        {W: "step," + "D" * 300 + "\n1,1.42\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:6: problem: found "
                "'DDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDDD...', expected one line of at most "
                "200 characters | Write a short heading."
            )
        ],
    ),
    Fault(
        "frame two exposures",
        edit(B, "8,+1/3,-", "8,+2/3,-"),
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:5:1: problem: frame `8` has two exposures, 0.333333 and"
                " 0.666667 stops | Correct the frame or its stops."
            )
        ],
    ),
    Fault(
        "patch undeclared",
        edit(B, "grey", "gray"),
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:1:18: problem: no patch is named `gray`; did you mean "
                "`grey`? | Correct the heading, or declare the patch in series.yaml."
            )
        ],
    ),
    Fault(
        "patch twice",
        edit(B, "base,grey", "grey,grey"),
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:1:18: problem: two columns are headed `grey` | Give "
                "each column a heading of its own."
            )
        ],
    ),
    Fault(
        "patch odd",
        edit(B, "grey", "the grey"),
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:1:18: problem: found the column `the grey`, expected "
                "the id of a patch | Head it with the id of a patch, or take the column out."
            )
        ],
    ),
    Fault(
        "stops missing",
        edit(B, "\n7,0,", "\n7,,"),
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:3:1: problem: frame `7` has no stops | Write its "
                "exposure against the metered frame, such as +1/3."
            )
        ],
    ),
    Fault(
        "stops word",
        edit(B, "\n7,0,", "\n7,metered,"),
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:3:3: problem: stops: found 'metered', expected stops "
                "from -20 to 20, such as +1/3 | Correct the cell."
            )
        ],
    ),
    Fault(
        "stops zero den",
        edit(B, "-1/3", "-1/0"),
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:2:3: problem: stops: found '-1/0', expected stops from "
                "-20 to 20, such as +1/3 | Correct the cell."
            )
        ],
    ),
    Fault(
        "no stops",
        edit(B, "stops", "stop"),
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:1:1: problem: the column `stops` is missing; is `stop` "
                "meant for it? | Head a column `stops`."
            )
        ],
    ),
    Fault(
        "no frame",
        edit(B, "frame", "fram"),
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:1:1: problem: the column `frame` is missing; is `fram` "
                "meant for it? | Head a column `frame`."
            )
        ],
    ),
    Fault("typographic", edit(B, "-1/3", "−1/3"), []),
    Fault(
        "frame falls",
        edit(B, "0.78", "1.17"),
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:4:13: problem: frame 8, grey got more light than frame "
                "7, grey, but its density 0.850 is lower than 1.170 by 10.1 standard errors | Compare both with"
                " the strip and correct the wrong one, or read them again."
            )
        ],
    ),
    Fault(
        "frame base",
        edit(B, "\n7,0,0.24", "\n7,0,0.84"),
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:3:5: problem: frame 7, base: density 0.840 lies above "
                "that of frame 7, dark, 0.590, by 20.8 standard errors | Read the base on unexposed, processed "
                "film, away from the edge."
            )
        ],
    ),
    Fault(
        "frame replicate",
        edit(B, "8,+1/3,-,0.85,", "8,+1/3,-,0.58,"),
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:4:13: problem: frame 8, grey: the reading 0.85 lies 17 "
                "repeatabilities from the median 0.715 (readings 0.58, 0.85) | Compare it with the strip and "
                "correct it, or read it again."
            )
        ],
    ),
    Fault(
        "bracket percent",
        {B: PERCENT_BRACKET},
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:2:8: problem: found 6 of 6 values above 6, which look "
                "like percent transmission, expected densities | Turn percent transmission into density: 2 - "
                "log10(percent)."
            )
        ],
    ),
    Fault(
        "bracket header only",
        {B: "frame,stops,grey\n"},
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:1:1: problem: the table holds no readings | Type the "
                "readings, or take the file away."
            )
        ],
    ),
    Fault(
        "wedge turning",
        edit(K, "3,0.65", "3,0.25"),
        [
            (
                "wedges/contact-7.csv:4:3: problem: step `3`: found density 0.25, expected one above 0.35, that"
                " of step `2` | Correct this density or the one before it: a wedge runs from thin to dense "
                "without turning back."
            )
        ],
    ),
    Fault(
        "wedge equal",
        edit(K, "3,0.65", "3,0.35"),
        [
            (
                "wedges/contact-7.csv:4:3: problem: step `3`: found density 0.35, expected one above 0.35, that"
                " of step `2` | Correct this density or the one before it: a wedge runs from thin to dense "
                "without turning back."
            )
        ],
    ),
    Fault(
        "wedge no density",
        edit(K, "density,u", "densty,u"),
        [
            (
                "wedges/contact-7.csv:1:1: problem: the column `density` is missing; is `densty` meant for it? "
                "| Head a column `density`."
            )
        ],
    ),
    Fault(
        "wedge column",
        edit(K, "u_density", "error"),
        [
            (
                "wedges/contact-7.csv:1:14: problem: found the column `error`, expected density, step, "
                "u_density | Correct the heading, or take the column out."
            )
        ],
    ),
    Fault(
        "wedge step twice",
        edit(K, "\n3,", "\n2,"),
        ["wedges/contact-7.csv:4:1: problem: step `2` is there twice | Keep one of the two rows."],
    ),
    Fault(
        "wedge base",
        edit(K, "\n7,", "\nbase,"),
        ["wedges/contact-7.csv:8:1: problem: a wedge has no step `base` | Take the row out."],
    ),
    Fault(
        "wedge hole",
        edit(K, "3,0.65", "3,"),
        [("wedges/contact-7.csv:4:1: problem: step `3` has no density | Write its density, or take the row out.")],
    ),
    Fault(
        "wedge u hole",
        edit(K, "0.65,0.003", "0.65,"),
        [
            (
                "wedges/contact-7.csv:4:1: problem: step `3` has no u_density, though others have | Give it for"
                " every step, or for none."
            )
        ],
    ),
    Fault(
        "wedge u bad",
        edit(K, "0.65,0.003", "0.65,3"),
        [
            (
                "wedges/contact-7.csv:4:8: problem: u_density: found '3', expected a standard uncertainty from "
                "0 to 1 | Correct the cell."
            )
        ],
    ),
    Fault(
        "wedge density",
        edit(K, "0.65", "0.6.5"),
        [
            (
                "wedges/contact-7.csv:4:3: problem: density: found '0.6.5', expected a density from 0 to 6 | "
                "Correct the cell."
            )
        ],
    ),
    Fault(
        "wedge one",
        {K: "step,density\n1,0.05\n"},
        [("wedges/contact-7.csv:1:1: problem: a wedge needs two steps or more | List the steps with their densities.")],
    ),
    Fault(
        "wedge hundredfold",
        {K: HUNDREDFOLD_WEDGE},
        [
            (
                "wedges/contact-7.csv:3:3: problem: found 6 of 7 values above 6, which look like percent "
                "transmission or hundredfold densities, expected densities | Turn percent transmission into "
                "density: 2 - log10(percent). Divide the values by 100."
            )
        ],
    ),
    Fault(
        "paper falls",
        edit(P, "1.40", "0.40"),
        [
            (
                "papers/grade-2.csv:5:5: problem: log_exposure 0.9 got more light than log_exposure 0.6, but "
                "its density 0.400 is lower than 0.550 by 12.5 standard errors | Compare both with the strip "
                "and correct the wrong one, or read them again."
            )
        ],
    ),
    Fault(
        "paper few",
        {P: "log_exposure,density\n0,0.1\n1,2\n"},
        [("papers/grade-2.csv:1:1: problem: found 2 points, expected four or more | Read more steps of the paper.")],
    ),
    Fault(
        "paper twice",
        edit(P, "0.3,", "0,"),
        ["papers/grade-2.csv:3:1: problem: log_exposure 0 is there twice | Keep one of the two rows."],
    ),
    Fault(
        "paper hole",
        edit(P, "0.3,0.10", "0.3,"),
        ["papers/grade-2.csv:3:1: problem: the row is not complete | Fill both cells, or empty the row."],
    ),
    Fault(
        "paper column",
        edit(P, "log_exposure", "logE"),
        [("papers/grade-2.csv:1:1: problem: the column `log_exposure` is missing | Head a column `log_exposure`.")],
    ),
    Fault("cgats fine", {W: None, CG_PATH: CG}, []),
    Fault(
        "cgats count",
        {W: None, CG_PATH: CG.replace("SETS 3", "SETS 4")},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.cgats.txt:7:1: problem: NUMBER_OF_SETS is 4, but there are 3 "
                "rows | Export the table again, or mend the count."
            )
        ],
    ),
    Fault(
        "cgats fields",
        {W: None, CG_PATH: CG.replace("FIELDS 3", "FIELDS 4")},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.cgats.txt:3:1: problem: NUMBER_OF_FIELDS is 4, but there are "
                "3 fields | Export the table again, or mend the count."
            )
        ],
    ),
    Fault(
        "cgats row",
        {W: None, CG_PATH: CG.replace('2 "step 2" 1.24', "2 step 2 1.24")},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.cgats.txt:10:1: problem: found 4 values, expected 3, one for "
                "each field | Put the row right, with strings that hold blanks in quotes."
            )
        ],
    ),
    Fault(
        "cgats no end",
        {W: None, CG_PATH: CG.replace("END_DATA\n", "")},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.cgats.txt:8:1: problem: END_DATA is missing | Close the block"
                " with END_DATA."
            )
        ],
    ),
    Fault(
        "cgats no format end",
        {W: None, CG_PATH: CG.replace("END_DATA_FORMAT\n", "")},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.cgats.txt:4:1: problem: END_DATA_FORMAT is missing | Close "
                "the block with END_DATA_FORMAT."
            )
        ],
    ),
    Fault(
        "cgats no format",
        {W: None, CG_PATH: CG[CG.index("NUMBER_OF_SETS") :]},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.cgats.txt:1:1: problem: BEGIN_DATA_FORMAT is missing | Export"
                " the table as CGATS text with its data format."
            )
        ],
    ),
    Fault(
        "cgats no data",
        {W: None, CG_PATH: CG[: CG.index("NUMBER_OF_SETS")]},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.cgats.txt:1:1: problem: BEGIN_DATA is missing | Export the "
                "table as CGATS text with its data."
            )
        ],
    ),
    Fault(
        "cgats quote",
        {W: None, CG_PATH: CG.replace('"step 2"', '"step 2')},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.cgats.txt:10:1: problem: a quotation mark is never closed | "
                "Close it in the same line."
            )
        ],
    ),
    Fault(
        "cgats second",
        {W: None, CG_PATH: CG + "BEGIN_DATA\n1 a 2\nEND_DATA\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.cgats.txt:13:1: problem: a second table begins here | Keep "
                "one table in a file."
            )
        ],
    ),
    Fault(
        "cgats include",
        {W: None, CG_PATH: CG.replace('ORIGINATOR "bench densitometer"', '.INCLUDE "x"')},
        [("stocks/tern-100/2026-03-14/wedge.cgats.txt:2:1: problem: found an include | Put the data into this file.")],
    ),
    Fault(
        "cgats bad count",
        {W: None, CG_PATH: CG.replace("SETS 3", "SETS three")},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.cgats.txt:7:1: problem: NUMBER_OF_SETS: found 'three', "
                "expected a count | Write the count."
            )
        ],
    ),
    Fault(
        "cgats no id",
        {W: None, CG_PATH: CG.replace("SAMPLE_ID", "LAB_L")},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.cgats.txt:5:1: problem: the column `step` is missing | Head a"
                " column `step`."
            )
        ],
    ),
    Fault("frames without any reading", edit(B, "0.24,0.78,0.59", "-,-,-"), []),
    Fault(
        "frame named by a sign",
        edit(B, "\n7,", "\n/,"),
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:3:1: problem: frame: found '/', expected a short word "
                "or a number | Correct the cell."
            )
        ],
    ),
    Fault(
        "frame without name",
        edit(B, "\n7,", "\n,"),
        [("stocks/marl-400/2026-03-14/bracket.csv:3:1: problem: a row without a frame | Name its frame, or empty it.")],
    ),
    Fault("row of dashes", edit(B, "\n7,0,0.24,0.78,0.59", "\n-,-,-,-,-"), []),
    Fault(
        "bracket all unread",
        {B: "frame,stops,grey\n6,0,x\n"},
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:2:5: problem: grey: found 'x', expected a density from "
                "0 to 6 | Correct the cell."
            )
        ],
    ),
    Fault(
        "wedge all unread",
        {W: "step,D\n1,x\n2,0.3.4\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:6: problem: the column `D` holds no densities | Correct"
                " it, or take the column out; remarks belong into notes.md."
            )
        ],
    ),
    Fault(
        "wedge row without step",
        edit(K, "\n3,", "\n,"),
        ["wedges/contact-7.csv:4:1: problem: a row without a step | Name its step, or empty it."],
    ),
    Fault(
        "paper word",
        edit(P, "0.3,", "dim,"),
        [
            (
                "papers/grade-2.csv:3:1: problem: log_exposure: found 'dim', expected a log exposure from -10 "
                "to 10 | Correct the cell."
            )
        ],
    ),
    Fault(
        "paper hundredfold",
        {P: "log_exposure,density\n0,6\n0.3,10\n0.6,55\n0.9,140\n1.2,195\n"},
        [
            (
                "papers/grade-2.csv:3:5: problem: found 4 of 5 values above 6, which look like hundredfold "
                "densities, expected densities | Divide the values by 100."
            )
        ],
    ),
    Fault(
        "header quote",
        edit(W, "step,first", 'step,"first'),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:1: problem: a quotation mark is out of place or never "
                "closed | Put the quotation marks right, or take them out."
            )
        ],
    ),
    Fault(
        "stops too many",
        edit(B, "+1/3,0.25", "+100/3,0.25"),
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:4:3: problem: stops: found '+100/3', expected stops "
                "from -20 to 20, such as +1/3 | Correct the cell."
            )
        ],
    ),
    Fault("base on every frame, only base read", {B: "frame,stops,base\n6,0,0.24\n7,1,0.25\n"}, []),
    Fault("sep line", {W: "sep=;\n" + WEDGE.replace(",", ";")}, []),
    Fault(
        "no data at all",
        {W: "sep=;\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:1: problem: the table is empty | Give it a header that "
                "begins with `step`."
            )
        ],
    ),
    Fault(
        "step with comma",
        {
            "wedges/contact-7.csv": WEDGE_CALIBRATION.replace("\n7,", "\n7.5,"),
            W: WEDGE.replace(",", ";").replace(".", ",").replace("\n7;", "\n7,5;"),
            **dict.fromkeys((T1 + "wedge.csv", T2 + "wedge.csv"), OWN + "base,,0.24\n"),
        },
        [],
    ),
    Fault(
        "paper without density",
        edit(P, "density", "dens"),
        [
            (
                "papers/grade-2.csv:1:1: problem: the column `density` is missing; is `dens` meant for it? | "
                "Head a column `density`."
            )
        ],
    ),
    Fault("paper with blank row", edit(P, "0.3,0.10", "-,-"), []),
    Fault(
        "header too long for any cell",
        {W: "s" * 140000 + ",step\n1,1\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:1: problem: a cell is too long | Put the quotation "
                "marks right, or take them out."
            )
        ],
    ),
    Fault(
        "frame falls within the error of the shutter",
        edit(B, "0.78", "0.97"),
        [],
    ),
    Fault(
        "frame falls remark",
        edit(B, "0.78", "1.00"),
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:4:13: remark: frame 8, grey got more light than frame 7,"
                " grey, but its density 0.850 is lower than 1.000 by 4.8 standard errors | Compare both with the"
                " strip and correct the wrong one, or read them again."
            ),
        ],
    ),
    Fault(
        "values of half the bound",
        {W: "step,D\n1,1.5\n2,1.9\n3,2.8\n4,3.4\n5,3.9\n6,4.4\n7,4.9\nbase,5.8\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:5:3: remark: found 5 of 8 values above 3, more than films "
                "have; they may be percent transmission, or have lost a decimal sign | Look at the "
                "densitometer's scale: densities are decimal, such as 0.42."
            ),
            (
                "stocks/tern-100/2026-03-14/wedge.csv:7:3: problem: density falls with exposure over most of the"
                " steps | Check which end of the steps got the most light, and that the values are densities."
            ),
            (
                "stocks/tern-100/2026-03-14/wedge.csv:9:6: problem: base: density 5.800 lies above that of step "
                "7, 4.900, by 21.2 standard errors | Read the base on unexposed, processed film, away from the "
                "edge."
            ),
        ],
    ),
    Fault(
        "densities of half the bound",
        {W: "step,D\n1,5.6\n2,5.2\n3,4.6\n4,4\n5,2.5\n6,1.5\n7,1.1\nbase,0.9\n"},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:2:3: remark: found 4 of 8 values above 3, more than films "
                "have; they may be percent transmission, or have lost a decimal sign | Look at the "
                "densitometer's scale: densities are decimal, such as 0.42."
            ),
        ],
    ),
    Fault(
        "bracket of half the bound",
        {B: "frame,stops,grey,dark\n6,-1/3,3.5,3.2\n7,0,4.1,3.6\n8,1/3,4.6,3.9\n"},
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:2:8: remark: found 6 of 6 values above 3, more than "
                "films have; they may be percent transmission, or have lost a decimal sign | Look at the "
                "densitometer's scale: densities are decimal, such as 0.42."
            ),
        ],
    ),
    Fault(
        "no base",
        edit(W, "base,0.24,0.24,0.25\n", ""),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:1: remark: the base was not read; where the lowest steps"
                " are not level, nothing but maximum density and gamma can be had | Read unexposed, processed "
                "film into a row `base`."
            ),
        ],
    ),
    Fault(
        "base not read",
        edit(W, "base,0.24,0.24,0.25", "base,-,-,-"),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:1: remark: the base was not read; where the lowest steps"
                " are not level, nothing but maximum density and gamma can be had | Read unexposed, processed "
                "film into a row `base`."
            ),
        ],
    ),
    Fault(
        "base far below",
        {
            W: WEDGE.replace("7,0.30,0.30,0.31", "7,0.42,0.42,0.43").replace(
                "base,0.24,0.24,0.25", "base,0.04,0.04,0.05"
            )
        },
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:9:6: remark: base: density 0.043 lies 0.380 below that of "
                "step 7, 0.423, which is more than the next two stops add (0.233); either it is wrong, or no "
                "step reaches the toe | Read the base again on unexposed, processed film."
            ),
        ],
    ),
    Fault(
        "step missing",
        edit(W, "4,0.87,0.88,0.87\n", ""),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:1: remark: step 4 of the wedge contact-7 is missing "
                "between steps that were read | Read it, or type `-` as the reading."
            ),
        ],
    ),
    Fault(
        "steps missing",
        edit(W, "4,0.87,0.88,0.87\n5,0.66,0.66,0.65\n", ""),
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:1: remark: steps 4, 5 of the wedge contact-7 are missing"
                " between steps that were read | Read them, or type `-` as the reading."
            ),
        ],
    ),
    Fault(
        "step not read",
        edit(W, "4,0.87,0.88,0.87", "4,-,-,-"),
        [],
    ),
    Fault(
        "last step left out",
        edit(W, "1,1.42,1.43,1.42\n", ""),
        [],
    ),
    Fault(
        "column of means",
        {W: MEANS},
        [
            (
                "stocks/tern-100/2026-03-14/wedge.csv:1:19: remark: the column `third` is the mean of the other "
                "readings in every row, and counts as readings that were never made | Take the column out."
            ),
        ],
    ),
    Fault(
        "frame off the step",
        edit(B, "6,-1/3", "6,-1/2"),
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:2:3: remark: frame `6`: found -0.5 stops, expected a "
                "multiple of the bracket's step, 0.333 | Correct the stops, or `bracket_step_stops` in "
                "series.yaml."
            ),
        ],
    ),
    Fault(
        "frames off the step",
        {B: "frame,stops,grey,dark\n5,-1/2,0.64,0.45\n6,0,0.78,0.59\n7,1/2,0.88,0.69\n8,3/2,1.10,0.91\n"},
        [
            (
                "stocks/marl-400/2026-03-14/bracket.csv:2:3: remark: 3 of 4 frames lie off the bracket's step of"
                " 0.333 stop | Correct the stops, or `bracket_step_stops` in series.yaml."
            ),
        ],
    ),
    Fault(
        "frames typed short",
        {B: "frame,stops,grey,dark\n6,-0.7,0.64,0.45\n7,-0.3,0.71,0.52\n8,1.67,1.15,0.96\n"},
        [],
    ),
    Fault(
        "wedge taken as exact",
        {K: "step,density\n1,0.05\n2,0.35\n3,0.65\n4,0.95\n5,1.25\n6,1.55\n7,1.85\n"},
        [
            (
                "wedges/contact-7.csv:1:1: remark: the wedge has no u_density and counts as exact; in simulation"
                " intervals that should hold 95 % held 70 to 90 % when a wedge of 0.010 was taken as exact | Add"
                " a column `u_density`, the standard uncertainty of each step's density."
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
