"""What the method page says of each measure: where it comes from, what it is good for, what it does not tell."""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, kw_only=True, slots=True)
class Definition:
    """The words of one measure beside its formula."""

    source: str
    good_for: str
    does_not_tell: str


_PROJECT = "This project’s own definition."
_OF_THE_CURVE = (
    "Its interval also holds an error of the curve itself, 0.0025 in density at either end, however well steps were "
    "read: between two steps no smooth line tells how a film bends (this project’s own, from its simulation study)."
)
_JONES = (
    "This project’s own figure, read off tone reproduction in the manner of L. A. Jones’s quadrants, its sign taken "
    "positive. Film at base plus fog prints to nine tenths of the paper’s maximum density as read; the tone ranges are "
    "this project’s own, and the paper’s curve counts without an error of its own."
)

DEFINITIONS: Final[dict[str, Definition]] = {
    "base_plus_fog": Definition(
        source="Common practice, no single source. Where no base row was read, the lowest step stands for it, if the "
        "curve’s slope there is below 0.02.",
        good_for="Seeing age, storage or a developer’s fog, and setting the enlarger: it is a neutral filter over all "
        "of the negative.",
        does_not_tell="How much of it is the base and how much is fog: only a strip fixed undeveloped shows that.",
    ),
    "maximum_density": Definition(
        source="The curve at its last reading. Where the curve still rises there by more than its error, it is a lower "
        "bound and says so.",
        good_for="Knowing how far the readings went, and whether bright lamps would still print apart.",
        does_not_tell="The emulsion’s own limit, unless the curve is level at its end.",
    ),
    "speed_point": Definition(
        source="ISO 6:1993, point m.",
        good_for="Everything else starts here: the least exposure that a printer can tell from clear film.",
        does_not_tell="How shadows separate above it; two films with one speed point can differ widely there.",
    ),
    "iso_speed": Definition(
        source="ISO 6:1993, with its contrast condition and its standard scale, as seen in secondary places: the scale "
        "from 10 up. Below 10 it goes on by the same third-stop steps; that these are called 3 and 6 there, and not "
        "3.2 and 6.4, is from memory. "
        "The value is the nearest step of the scale, in logarithm; its interval is that of 0.80/H itself, unrounded.",
        good_for="Comparing with what a box says, where exposure was known in lux seconds and development hit the "
        "standard contrast.",
        does_not_tell="The speed in your own developer or at another contrast. A home test is no certified speed: "
        "the light source and the shutter are yours.",
    ),
    "contrast_corrected_speed": Definition(
        source="C. N. Nelson and J. L. Simonds, Journal of the Optical Society of America 46, May 1956; its numbers "
        "were seen in secondary places. ΔD is the rise of density over the 1.30 of log exposure "
        "above the speed point, and has to lie in 0.50 to 1.20.",
        good_for="A speed where only the contrast condition failed. It is never called an ISO speed.",
        does_not_tell="More than the fit behind it: it is empirical, and true toes scatter about it by a third of a "
        "stop or so.",
    ),
    "speed_from_reference": Definition(
        source=f"{_PROJECT} Both speed points are from ISO 6 geometry; a stop is 0.3010 in log exposure.",
        good_for="How much more or less light a stock needs than the reference: no absolute calibration is needed "
        "where both were exposed through one wedge.",
        does_not_tell="Anything of contrast. Developed longer, the same film moves a little.",
    ),
    "average_gradient": Definition(
        source="The geometry of ISO 6:1993: point n is 1.30 in log exposure to the right of the speed point. "
        f"{_OF_THE_CURVE}",
        good_for="The contrast that the range of an ordinary subject gets.",
        does_not_tell="Where in the range it lies: a long toe and a steep shoulder can have the same average.",
    ),
    "contrast_index": Definition(
        source="C. J. Niederpruem, C. N. Nelson and J. A. C. Yule, Photographic Science and Engineering 10 (1966); the "
        "construction was seen in secondary places.",
        good_for="Comparing with older published figures, and films whose toes differ.",
        does_not_tell="More than an average; and it needs a curve long enough for its outer point.",
    ),
    "gamma": Definition(
        source="After F. Hurter and V. C. Driffield, Journal of the Society of Chemical Industry 9 (1890) 455; how "
        "the straight line is chosen is this project’s own. The windows are chosen on a calmer curve; one counts from "
        "0.9 of the steepest on, after that is lessened by half its own error, because the steepest of many that err "
        "is most often one that errs upwards. The interval also holds what a curve three times as calm, or a third, "
        "would have chosen.",
        good_for="How far development was carried, on films that have a straight line.",
        does_not_tell="What toe and shoulder do. On a film that has no straight line it is only its steepest part.",
    ),
    "shadow_gradient": Definition(
        source=f"{_PROJECT} An 18 % grey metered at box speed falls about 1.0 to 1.1 above the speed point, so that "
        f"this is the range from about one and a third to three and a half stops below it. {_OF_THE_CURVE}",
        good_for="How well the shadows are told apart before paper and flare have their say.",
        does_not_tell="What your lens does: flare lifts shadows and takes separation away.",
    ),
    "middle_gradient": Definition(
        source=f"{_PROJECT} {_OF_THE_CURVE}",
        good_for="Skin, walls, the sky near the horizon: what most of a picture is made of.",
        does_not_tell="How the paper bends it, which the print’s own contrast does.",
    ),
    "highlight_gradient": Definition(
        source=f"{_PROJECT} {_OF_THE_CURVE}",
        good_for="Whether bright tones stay apart or close up.",
        does_not_tell="What happens past the last reading.",
    ),
    "useful_range": Definition(
        source="The fractional gradient criterion of L. A. Jones (Journal of the Franklin Institute, 1939), which the "
        "American Standard Z38.2.1-1947 and ISO/R 6:1954 took up; its three tenths were seen in a secondary place. "
        "Here it is applied at both ends over windows of 0.30; the window is this project’s own. So that reading "
        "errors in a long shoulder do not pass for its end, a limit is where the curve gains most over a line of that "
        "slope; the interval also holds what that slope, off by 0.75 of the error of a gradient over 0.60 (the curve’s "
        "own 0.0025 in density among it), would have given.",
        good_for="How much a subject may span, or how far an exposure may be off.",
        does_not_tell="How good the ends look. Where the readings end first, or may, it is a lower bound and says so.",
    ),
    "shadow_match": Definition(
        source=f"{_PROJECT} All frames of both brackets count: each reading is turned back to exposure through its "
        "own curve, so that one wrong exposure weighs little. Stops count from each stock’s own metered frame.",
        good_for="Speed under the series’ own light, on the subject itself, lens and shutter included.",
        does_not_tell="A constant error of the meter, or of all shutter speeds alike: it is not seen by this.",
    ),
    "print_exposure": Definition(
        source="Common practice, no single source: base and fog are a neutral filter, and 0.30 of density is one stop. "
        "The time of the reference is the one its test was printed with, else the series'. Magnification changes "
        "exposure by (m + 1)².",
        good_for="A first strip that is already close, when you change films under the enlarger.",
        does_not_tell="The exposure under a condenser: it sees more density than a diffuse densitometer reads. "
        "Nor which paper grade suits the film.",
    ),
    "rms_granularity": Definition(
        source="In the manner of ISO 10505:2009, its scope seen, its aperture of 48 µm seen in secondary places, but "
        "read from a calibrated scan and not with a microdensitometer. Densities become "
        "transmittances, slow shading is divided out, transmittance is averaged over each aperture and turned back to "
        "density. It is read at the even tone nearest net density 1.0 and brought there by a power of net density, "
        "p = 0.77 ± 0.12 (this project’s own; opaque discs dropped at random have 0.83 below 1.0 and 0.93 above), "
        "together with the slope through the test’s own even tones from 0.5 to 1.5 where there are two or more; what "
        "is not known of p counts in the interval. Stated only for a net density from 0.8 to 1.2, an aperture of five "
        "pixels or more, and room for 200 independent apertures.",
        good_for="How coarse an even tone looks, at one density, in figures that compare within this series.",
        does_not_tell="How large clumps are, or how grain looks beside detail. The scanner’s blur and noise are in it.",
    ),
    "grain_correlation": Definition(
        source=f"{_PROJECT} The autocorrelation is a standard tool of signal analysis. It is that of film and scanner "
        "together.",
        good_for="Whether grain is fine or clumped where its strength is alike, among scans of one set-up.",
        does_not_tell="The film alone: the pixel and the scanner’s own blur are in it. Nor anything below the "
        "scanner’s resolution.",
    ),
    "print_graininess": Definition(
        source=f"{_PROJECT} ISO 10505 excludes paper, so that this is never set beside the film’s granularity. It is "
        "brought to net density 1.0 likewise, with p = 0 ± 0.4: a denser part of a print shows a thinner part of the "
        "negative, so that grain may grow or fall with the print’s density.",
        good_for="What grain comes to in the print that people look at.",
        does_not_tell="Anything of the film alone: paper, enlarger and focus are in it.",
    ),
    "mtf50": Definition(
        source="After the slanted-edge method of ISO 12233, in transmittance, with the responses of the derivative and "
        "of the bins divided out, and slow shading too: a plane fitted to both sides of the edge. The edge may differ "
        "by 0.4 in density at most.",
        good_for="Comparing stocks scanned under one set-up.",
        does_not_tell="The film alone: taking lens, focus and scanner are all in it.",
    ),
    "print_shadow_contrast": Definition(
        source=_JONES,
        good_for="Shadow separation as paper shows it.",
        does_not_tell="What dodging or another grade would do.",
    ),
    "print_middle_contrast": Definition(
        source=_JONES,
        good_for="The contrast of middle tones as paper shows it.",
        does_not_tell="What dodging or another grade would do.",
    ),
    "print_highlight_contrast": Definition(
        source=_JONES,
        good_for="Whether paper white still tells bright tones apart.",
        does_not_tell="What burning in or another grade would do.",
    ),
    "matching_time": Definition(
        source=f"{_PROJECT} It interpolates the stock’s contrast-time curve, average gradient against the logarithm of "
        "time, never falling and never beyond the times tested.",
        good_for="Developing a stock to the reference’s contrast, so that both print on one grade.",
        does_not_tell="Whether the speed stays: it moves with development.",
    ),
}
"""Words for every measure of the vocabulary."""
