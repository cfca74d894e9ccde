"""What one test has of a scan file: all that hangs on the test in what is made of the file.

It holds nothing else, so that a note, a reading or another test does not change it.
"""

from dataclasses import dataclass

from basefog.picture.views import needs_registration
from basefog.records.content import Scan, View


@dataclass(frozen=True, kw_only=True, slots=True)
class ScanUse:
    """What one test has of a scan file.

    `scan` and `first`, the reference's first scan of its kind, have neither path nor place, and boxes of these views
    alone; `first` is None where there is none. `views` are cut from the scan, and have no names. `edge` is the id of
    the one whose sharpness is measured, None where there is none; `seed` is then the test's key, else empty.
    `magnification` is that of a print. `lossy` says that the file's kind may lose detail.
    """

    scan: Scan
    first: Scan | None
    views: tuple[View, ...]
    edge: str | None
    seed: str
    magnification: float | None
    lossy: bool

    @property
    def is_to_lay(self) -> bool:
        """Whether the scan still has to be laid on the reference's first."""
        unlaid = self.scan.registration is None
        return unlaid and any(needs_registration(view, self.scan, self.first) for view in self.views)
