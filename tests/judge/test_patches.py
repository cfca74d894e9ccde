"""How light the film renders a patch against how light the eye sees it."""

import math
from dataclasses import replace

import pytest

from basefog.judge.compare import Rule
from basefog.judge.patches import GREY_IS_ZERO, compare_with_eye
from basefog.records.content import Patch
from judge.figures import figure

RULE = Rule(measure="dark", student=1.96, firm=None, source="repeats")
GREY = Patch(id="grey", name="Grey", luminous_reflectance=0.18)
DARK = Patch(id="dark", name="Dark skin", luminous_reflectance=0.09)


def test_the_eye_sees_the_ratio_of_luminous_reflectances() -> None:
    """A patch of half the grey's reflectance that the film puts 0.9 stops below it is 0.1 stops lighter than seen."""
    found = compare_with_eye(RULE, figure(-0.9, reading=0.02), DARK, GREY)

    assert found.difference == pytest.approx(0.1)
    assert found.could_see == pytest.approx(1.96 * 0.02)
    assert found.verdict == "higher"


def test_only_the_films_scatter_counts() -> None:
    """What the eye sees is exact: s^2 / n once, of the film's own tests."""
    scattered = figure(-0.9, reading=0.02, scatter=0.06, tests=3)

    found = compare_with_eye(RULE, scattered, DARK, GREY)

    assert found.could_see == pytest.approx(1.96 * math.sqrt(0.02**2 + 0.06**2 / 3))
    assert found.counts == ("reading", "repeats")


def test_it_takes_both_reflectances() -> None:
    """Without that of the patch or of the grey one it is not measured, and says so."""
    blind, no_grey = replace(DARK, luminous_reflectance=None), replace(GREY, luminous_reflectance=None)

    assert compare_with_eye(RULE, figure(-0.9), blind, GREY).why == (
        "the series gives no luminous_reflectance for this patch"
    )
    assert compare_with_eye(RULE, figure(-0.9), DARK, no_grey).why == (
        "the series gives no luminous_reflectance for the grey patch"
    )


def test_the_grey_patch_is_not_judged() -> None:
    """The others are counted from it."""
    assert compare_with_eye(RULE, figure(0.0), GREY, GREY).why == GREY_IS_ZERO
