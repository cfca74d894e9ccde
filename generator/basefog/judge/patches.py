"""How light the film renders a patch against how light the eye sees it."""

import math

from basefog.judge.compare import Rule, compare, not_measured
from basefog.records.content import Patch
from basefog.records.findings import Comparison, ErrorParts, Quantity

GREY_IS_ZERO = "this is the grey patch, from which the others are counted"


def compare_with_eye(rule: Rule, quantity: Quantity, patch: Patch, grey: Patch) -> Comparison:
    """Return the difference to log2(Y_patch / Y_grey): positive, the film renders it lighter than the eye sees it."""
    if patch.id == grey.id:
        return not_measured(GREY_IS_ZERO, "stops")
    if patch.luminous_reflectance is None:
        return not_measured("the series gives no luminous_reflectance for this patch", "stops")
    if grey.luminous_reflectance is None:
        return not_measured("the series gives no luminous_reflectance for the grey patch", "stops")
    eye = math.log2(patch.luminous_reflectance / grey.luminous_reflectance)
    seen = Quantity(value=eye, low=eye, high=eye, unit="stops", parts=ErrorParts(unshared=0.0))
    return compare(rule, quantity, seen)
