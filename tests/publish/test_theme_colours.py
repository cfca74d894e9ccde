"""The theme's colours in light and dark: contrast enough to read, and no hue but the one accent."""

import re

import pytest

from basefog.picture import CHART_STYLE
from publish.page_series import THEME_FOLDER


def colours(scheme: str) -> dict[str, str]:
    """Return the theme's custom properties that are colours, those of dark mode over those of light."""
    text = (THEME_FOLDER / "assets" / "page.css").read_text(encoding="utf-8")
    blocks = re.findall(r":root \{(.*?)\}", text, re.DOTALL)[:2]
    light, dark = (dict(re.findall(r"(--[a-z-]+): (#[0-9a-f]{6});", block)) for block in blocks)
    return light if scheme == "light" else light | dark


def luminance(colour: str) -> float:
    """Return relative luminance. Source: WCAG 2.2, definition of relative luminance."""
    channels = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio. Source: WCAG 2.2, definition of contrast ratio."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_computed_as_the_guidelines_say() -> None:
    """Black on white is 21 to 1, and #777 on white falls just short of 4.5. Source: WCAG 2.2, understanding 1.4.3."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("ground", ["--paper", "--tint"])
@pytest.mark.parametrize("text", ["--ink", "--muted", "--accent"])
def test_text_can_be_read(scheme: str, ground: str, text: str) -> None:
    """All text reaches 4.5 to 1 on both grounds. Source: WCAG 2.2, success criterion 1.4.3."""
    known = colours(scheme)

    assert contrast(known[text], known[ground]) >= 4.5


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_on_the_surround_can_be_read(scheme: str) -> None:
    """Names and scale bars stand on the mid grey of pictures."""
    known = colours(scheme)

    assert contrast(known["--on-surround"], known["--surround"]) >= 4.5


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_pages_are_achromatic_with_one_accent(scheme: str) -> None:
    """Every colour but the accent is a grey, and the surround of pictures is the same in both schemes."""
    known = colours(scheme)
    hued = {name for name, colour in known.items() if len({colour[1:3], colour[3:5], colour[5:7]}) > 1}

    assert hued == {"--accent"}
    assert known["--surround"] == colours("light")["--surround"]


def test_charts_have_every_colour_they_ask_for() -> None:
    """The theme defines all custom properties that charts are painted with, in light and dark."""
    for scheme in ("light", "dark"):
        assert set(CHART_STYLE) <= set(colours(scheme))
