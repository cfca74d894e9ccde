"""A test's tables: its curve, and its readings as understood."""

from basefog.publish.data.encoding import encode_csv
from basefog.publish.data.values import array_json
from basefog.records.content import Test
from basefog.records.findings import TestFindings

CURVE_COLUMNS = ("log_exposure", "density", "low", "high", "gradient")
READING_COLUMNS = ("table", "row", "column", "density", "file", "line")


def render_curve_csv(found: TestFindings) -> bytes:
    """Return the curve, its 95 % band and its gradient; the header alone where there is no curve."""
    curve = found.curve
    if curve is None:
        return encode_csv(CURVE_COLUMNS, ())
    arrays = (curve.log_exposure, curve.density, curve.low, curve.high, curve.gradient)
    return encode_csv(CURVE_COLUMNS, zip(*(array_json(array) for array in arrays), strict=True))


def render_readings_csv(test: Test) -> bytes:
    """Return every reading as it was understood, unrounded, with the file and line it stands on."""
    rows = [
        (reading.table, reading.row, reading.column, reading.density, reading.place.path, reading.place.line)
        for reading in test.readings
    ]
    return encode_csv(READING_COLUMNS, rows)
