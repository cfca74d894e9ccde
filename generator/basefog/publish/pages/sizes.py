"""How large a difference is, in words that say no more than its figures: counts, stops, times, paper grades."""

from typing import Final

from basefog.records.numbers import fixed, settle, to_whole
from basefog.records.vocabulary import LOG10_2

_PARTS: Final = (
    (0.1, "a tenth of a stop"),
    (0.2, "a fifth of a stop"),
    (0.25, "a quarter of a stop"),
    (1 / 3, "a third of a stop"),
    (0.5, "half a stop"),
    (2 / 3, "two thirds of a stop"),
    (0.75, "three quarters of a stop"),
    (1.0, "one stop"),
)
"""Parts of a stop that have words; the nearest is said, if it is near."""

_NEAR_STOPS: Final = 0.05
"""Stops by which a size may differ from the part that it is called; else it is told in tenths (project)."""

_COUNTS: Final = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_QUARTERS: Final = ("", " and a quarter", " and a half", " and three quarters")

_TIMES: Final = (
    (1 / 4, 0.03, "about a quarter of"),
    (1 / 3, 0.04, "about a third of"),
    (1 / 2, 0.06, "about half"),
    (2 / 3, 0.06, "about two thirds of"),
    (3 / 2, 0.12, "about one and a half times"),
    (2.0, 0.25, "about twice"),
    (3.0, 0.35, "about three times"),
    (4.0, 0.45, "about four times"),
)
"""Ratios that have words, and how far off one may be that is called so (project)."""

PAPER_GRADE_LOG: Final = 0.175
"""Log exposure range from one paper grade to the next: grade 2 is 0.95 to 1.15, grade 3 is 0.80 to 0.95 (bands of ANSI
PH2.2-1966, seen in a secondary source)."""

SUBJECT_LOG: Final = 1.30
"""Log luminance range over which a gradient is asked what paper it needs: that of the contrast condition of ISO 6."""


def say_stops(stops: float) -> str:
    """Return a number of stops in words: by the nearest part that has a word, else in tenths.

    >>> say_stops(0.04), say_stops(0.2), say_stops(0.24), say_stops(0.42)
    ('less than a tenth of a stop', 'about a fifth of a stop', 'about a quarter of a stop', 'about 0.4 stop')
    >>> say_stops(1.3), say_stops(1.6), say_stops(2.49), say_stops(12.2)
    ('about one and a quarter stops', 'about 1.6 stops', 'about two and a half stops', 'about 12.2 stops')
    """
    size = settle(abs(stops), 3)
    if size < 0.075:
        return "less than a tenth of a stop"
    if size <= 1.0 + _NEAR_STOPS + 1e-9:
        away, words = min((abs(size - part), words) for part, words in _PARTS)
        return f"about {words}" if away <= _NEAR_STOPS + 1e-9 else f"about {fixed(size, 1)} stop"
    whole, quarters = divmod(to_whole(4 * size), 4)
    if abs(size - (whole + quarters / 4)) > _NEAR_STOPS + 1e-9 or whole >= len(_COUNTS):
        return f"about {fixed(size, 1)} stops"
    return f"about {_COUNTS[whole]}{_QUARTERS[quarters]} stops"


def say_count(number: int) -> str:
    """Return how many there are, in words up to ten.

    >>> say_count(3), say_count(11)
    ('three', '11')
    """
    return _COUNTS[number] if number < len(_COUNTS) else str(number)


def say_times(ratio: float) -> str:
    """Return a ratio in words, empty where none is near or it is near one.

    >>> say_times(2.1), say_times(0.48), say_times(1.2)
    ('about twice', 'about half', '')
    """
    away, words = min((abs(ratio - named) / near, words) for named, near, words in _TIMES)
    return words if away <= 1 else ""


def say_paper_grades(gradient: float) -> str:
    """Return what a difference of gradient is in paper grades, in words.

    A subject of log luminance range 1.30 asks for 1.30 x gradient of the paper's log exposure range, and from grade to
    grade that changes by about 0.175.

    >>> say_paper_grades(0.03), say_paper_grades(0.08), say_paper_grades(0.3)
    ('about a fifth of a paper grade', 'about 0.6 of a paper grade', 'about 2.2 paper grades')
    """
    grades = abs(gradient) * SUBJECT_LOG / PAPER_GRADE_LOG
    if grades >= 1.05:
        return f"about {fixed(grades, 1)} paper grades"
    words = say_stops(grades).replace("a stop", "a paper grade").replace("one stop", "one paper grade")
    return words.replace(" stop", " of a paper grade")


def say_printing_stops(density: float) -> str:
    """Return what a difference of base plus fog is in printing exposure, in words: a neutral filter of 0.30 is a stop.

    >>> say_printing_stops(0.06)
    'about a fifth of a stop'
    """
    return say_stops(density / LOG10_2)


def say_log_stops(log_exposure: float) -> str:
    """Return a difference of log exposure in stops, in words.

    >>> say_log_stops(0.1)
    'about a third of a stop'
    """
    return say_stops(log_exposure / LOG10_2)
