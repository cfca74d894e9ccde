"""The commands, thin: read the arguments, call the rooms in their order, tell what came of it."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from basefog import __version__
from basefog.bundled import bundled_folder
from basefog.telling import escape_controls, format_count, format_json, format_problem

if TYPE_CHECKING:
    from collections.abc import Iterable

    from basefog.build import How
    from basefog.records.problem import Problem
    from basefog.site import Progress

FINE, PROBLEMS, WRONG_USAGE = 0, 1, 2

_SERIES = click.argument("series", type=click.Path(path_type=Path), default=Path("content"))
_TO = click.option(
    "--to",
    "site",
    type=click.Path(path_type=Path),
    default=Path("site"),
    show_default=True,
    help="Where the site goes.",
)
_AFRESH = click.option("--afresh", is_flag=True, help="Read every file, whatever is known of it from before.")
_QUIET = click.option("--quiet", is_flag=True, help="Say nothing but problems.")


class ContentError(Exception):
    """The content has problems; they have been told."""


def main(arguments: list[str] | None = None) -> int:
    """Run one command and return its exit status: 0 fine, 1 problems in the content, 2 wrong usage."""
    try:
        commands.main(args=arguments, prog_name="basefog", standalone_mode=False)
    except click.exceptions.Exit as leaving:
        return int(leaving.exit_code)
    except click.Abort:
        click.echo("interrupted; the site is as it was", err=True)
        return PROBLEMS
    except click.ClickException as wrong:
        wrong.show()
        return WRONG_USAGE
    except ContentError:
        return PROBLEMS
    return FINE


def run() -> None:
    """Leave Python with the exit status of `main`."""
    sys.exit(main())


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, message="basefog %(version)s")
def commands() -> None:
    """Publish film tests: readings, scans and notes become a site that shows its working."""


@commands.command()
@_TO
@_QUIET
def demo(site: Path, *, quiet: bool) -> None:
    r"""Publish the demo series, whose data are invented.

    \b
    Example: basefog demo --to trial-site
    """
    _publish(bundled_folder("content"), site, quiet=quiet)


@commands.command()
@_SERIES
@click.option("--json", "as_json", is_flag=True, help="Tell the entries as JSON on standard output.")
@_QUIET
def verify(series: Path, *, as_json: bool, quiet: bool) -> None:
    r"""Check a series: every problem and remark, with file, line and how to mend it.

    \b
    Example: basefog verify content
    """
    from basefog.build import check

    _require_folder(series)
    with _told_stops():
        problems, repeats = check(series, _how(quiet=quiet or as_json))
    if as_json:
        click.echo(format_json(problems))
    else:
        _tell(problems, quiet=quiet)
        if not quiet:
            click.echo(format_count(problems), err=True)
            for line in repeats:
                click.echo(escape_controls(line))
    if any(problem.level == "problem" for problem in problems):
        raise ContentError


@commands.command()
@_SERIES
@_TO
@_AFRESH
@_QUIET
def publish(series: Path, site: Path, *, afresh: bool, quiet: bool) -> None:
    r"""Check a series, compute it, and replace the site whole, or not at all.

    \b
    Example: basefog publish content --to site
    """
    _publish(series, site, quiet=quiet, afresh=afresh)


@commands.command()
@_SERIES
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Port on this machine; 0 takes a free one.")
def preview(series: Path, port: int) -> None:
    r"""Show the series in a browser on this machine and follow every change.

    \b
    Example: basefog preview content
    """
    from basefog.build import build
    from basefog.site import room_of
    from basefog.site.preview import preview_site

    _require_folder(series)
    how = _how(quiet=False)
    # What the last publish has made need not be made again to be looked at.
    usual = room_of(Path("site").resolve()).kept.parent
    if how.cache is None and usual.is_dir():
        how = replace(how, cache=usual)

    def rebuild(target: Path) -> str | None:
        """Publish into a folder of the preview's own; return what is wrong, None when all is well."""
        told: list[Problem] = []
        built = build(series, target, _and_note(how, told))
        if built.report is None:
            return "\n".join(format_problem(problem) for problem in told if problem.level == "problem")
        return None

    with _told_stops():
        preview_site(
            rebuild,
            watch=(series, bundled_folder("themes")),
            port=port,
            tell=lambda line: click.echo(escape_controls(line)),
        )


def _publish(series: Path, site: Path, *, quiet: bool, afresh: bool = False) -> None:
    from basefog.build import build

    _require_folder(series)
    told: list[Problem] = []
    with _told_stops():
        built = build(series, site, _and_note(replace(_how(quiet=quiet), afresh=afresh), told))
    report = built.report
    if report is None:
        click.echo(f"nothing was published: {format_count(told)}", err=True)
        raise ContentError
    if quiet:
        return
    if built.stands:
        for line in report.told:
            click.echo(line, err=True)
    for name in report.kept:
        click.echo(f"kept {escape_controls(name)}, which basefog did not write", err=True)
    page = site.resolve() / "index.html"
    click.echo(
        f"{'nothing has changed: ' if built.stands else ''}{report.files} files in {escape_controls(str(site))}. "
        f"Open {escape_controls(str(page))} in a browser."
    )


def _how(*, quiet: bool) -> "How":
    from basefog.build import How, cache_of_environment

    return How(
        cache=cache_of_environment(),
        tell=partial(_tell, quiet=quiet),
        warn=partial(_warn, quiet=quiet),
        progress=partial(_progress, quiet=quiet),
    )


def _require_folder(folder: Path) -> None:
    if not folder.is_dir():
        raise click.UsageError(
            f"there is no series folder {escape_controls(str(folder))}; name the folder that holds series.yaml"
        )


def _and_note(how: "How", told: "list[Problem]") -> "How":
    """Return the same way to build, which notes what it tells too."""

    def tell(problems: "Iterable[Problem]") -> None:
        problems = tuple(problems)
        told.extend(problems)
        how.tell(problems)

    return replace(how, tell=tell)


def _warn(line: str, *, quiet: bool) -> None:
    if not quiet:
        click.echo(escape_controls(line), err=True)


def _tell(problems: "Iterable[Problem]", *, quiet: bool) -> None:
    for problem in problems:
        if problem.level == "problem" or not quiet:
            click.echo(format_problem(problem), err=True)


@contextmanager
def _told_stops() -> Iterator[None]:
    """Tell why a publish stopped: exit status 2 where it may not be done as asked, 1 where it could not be done."""
    from basefog.site import PublishError, WrongUsage

    try:
        yield
    except WrongUsage as refusal:
        raise click.UsageError(escape_controls(str(refusal))) from refusal
    except PublishError as stop:
        for line in stop.lines:
            click.echo(escape_controls(line), err=True)
        raise ContentError from stop


@contextmanager
def _progress(work: str, *, quiet: bool) -> "Iterator[Progress | None]":
    """Give a function to be told (done, total): a bar on a terminal, plain lines elsewhere, None when quiet."""
    if quiet:
        yield None
    elif sys.stderr.isatty():
        from rich.console import Console
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

        columns = (TextColumn(work), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
        with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
            task = bar.add_task(work, total=None)
            yield lambda done, total: bar.update(task, completed=done, total=total)
    else:
        yield partial(_tell_quarters, work)


def _tell_quarters(work: str, done: int, total: int) -> None:
    """Say a plain line at each quarter of the way, so that a log shows that work goes on."""
    if total and done and (4 * done) // total != (4 * (done - 1)) // total:
        click.echo(f"{work}: {done} of {total}", err=True)
