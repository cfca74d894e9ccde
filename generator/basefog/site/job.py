"""One unit of work of a publish: a pure function of named inputs that makes one or more files of the site."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, kw_only=True, slots=True)
class Job:
    """A planned piece of the site.

    `outputs` are the addresses it makes, POSIX paths below the site folder. `make` is a module-level function called
    as `make(**inputs)`; it reads no clock, environment or global state and returns the bytes of each output by
    address. `inputs` are picklable values, so that a job can be kept by the digest of what went in and run in another
    process; a file is named by `InputPath`, whose digest stands for what it holds.

    `after` are addresses that other jobs make, which are made first; `make` is given them too, as `made`: an
    `InputPath` each by address.
    """

    outputs: tuple[str, ...]
    make: Callable[..., Mapping[str, bytes]]
    inputs: Mapping[str, object]
    after: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class InputPath:
    """A file that a job reads: where it is now, and the digest that stands for its content.

    Where it is does not count: two of one content are one input.
    """

    path: str = field(compare=False)
    sha256: str
