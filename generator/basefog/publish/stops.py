"""What can stop a publish, each told to the tester in plain lines."""

from collections.abc import Sequence


class PublishError(Exception):
    """The publish ended and the old site stands as it was; `lines` say why."""

    def __init__(self, *lines: str) -> None:
        super().__init__("\n".join(lines))
        self.lines: tuple[str, ...] = lines


class UnsafeTarget(PublishError):  # noqa: N818 - named for what happened
    """The folder asked for may not be replaced: a matter of usage."""


class TargetBusy(PublishError):  # noqa: N818 - named for what happened
    """Another publish holds the folder."""


class ContentChanged(PublishError):  # noqa: N818 - named for what happened
    """A file of the series is no longer what was read at the start."""


class FaultySite(PublishError):  # noqa: N818 - named for what happened
    """What would be published is not sound: a link leads nowhere, an id stands twice, two jobs make one file."""

    def __init__(self, faults: Sequence[str]) -> None:
        super().__init__(*faults)
