"""What can stop a publish, each told to the tester in plain lines."""

from collections.abc import Sequence


class PublishError(Exception):
    """The publish ended and the old site stands as it was; `lines` say why."""

    def __init__(self, *lines: str) -> None:
        super().__init__("\n".join(lines))
        self.lines: tuple[str, ...] = lines

    def __reduce__(self) -> tuple[object, ...]:
        """Carry the lines to another process, whatever a class is made from."""
        return (_restore, (type(self), self.lines))


def _restore(kind: type[PublishError], lines: tuple[str, ...]) -> PublishError:
    stop = kind.__new__(kind)
    PublishError.__init__(stop, *lines)
    return stop


class WrongUsage(PublishError):  # noqa: N818 - named for what happened, as all here
    """What was asked for can't be done as asked; one line says so."""


class UnsafeTarget(WrongUsage):
    """The folder asked for may not be replaced."""


class TargetBusy(WrongUsage):
    """The folder may not be replaced just now: another publish is writing it."""


class PortTaken(WrongUsage):
    """The preview can't listen where it was asked to."""


class ContentChanged(PublishError):  # noqa: N818
    """A file of the series is no longer what was read at the start."""


class KeptLost(PublishError):  # noqa: N818
    """A file that had been kept was damaged or removed while it was needed; the same publish makes it again."""


class NoRoom(PublishError):  # noqa: N818
    """The system's temporary folder is full, or can't be written."""


class FaultySite(PublishError):  # noqa: N818
    """What would be published is not sound: a link leads nowhere, an id stands twice, two jobs make one file."""

    def __init__(self, faults: Sequence[str]) -> None:
        super().__init__(*faults)
