"""The command line: import, due list, forecast, chart; without a verb the window."""

import errno
import logging
import os
import re
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO, TextIO

import click

from wearlog import __version__
from wearlog.fleet.problem import Cancelled, ProblemKind, WearlogError
from wearlog.fleet.progress import Progress, Silent
from wearlog.preferences import Preferences

if TYPE_CHECKING:
    from wearlog.workshop.bench import Bench
    from wearlog.workshop.due_snapshot import DueSnapshot
    from wearlog.workshop.trend_snapshot import TrendSnapshot

OK, STOPPED, BUG = 0, 130, 70
#: Whose help is needed; usage errors end with 2.
EXIT_CODES = {
    ProblemKind.INPUT: 3,
    ProblemKind.NOT_FOUND: 4,
    ProblemKind.DATABASE: 5,
    ProblemKind.CONFLICT: 6,
    ProblemKind.FILE: 7,
}
#: The most pressing first, if several kinds come together.
_PRESSING = (
    ProblemKind.DATABASE,
    ProblemKind.CONFLICT,
    ProblemKind.FILE,
    ProblemKind.NOT_FOUND,
    ProblemKind.INPUT,
)
#: What is printed where no window can be opened.
WEEKS_SHOWN = 8
#: Progress that lasts shorter than this is not worth a line, [s].
_QUIET_S = 0.5


@dataclass(slots=True)
class Program:
    """What the command line is handed: how to open a database and the window.

    Attributes
    ----------
    preferences
        Of this seat.
    open_bench
        Opens a database by its address, empty for the default one; whose work it is, and progress.
    open_sample
        Opens a throw-away copy of the sample fleet.
    open_window
        Opens the window on a bench and returns the exit code.
    why_no_window
        Why no window can be opened here, or nothing.
    log_file
        Where faults are written to.
    """

    preferences: Preferences
    open_bench: Callable[[str, str, Progress], "Bench"]
    open_sample: Callable[[str, Progress], "Bench"]
    open_window: Callable[["Bench", Preferences, bool], int]
    why_no_window: Callable[[], str] = lambda: ""
    log_file: str = ""


@dataclass(slots=True)
class Chosen:
    """What was said before the verb."""

    program: Program
    database: str = ""
    is_sample: bool = False
    by: str = ""
    progress: Progress = field(default_factory=Silent)

    def bench(self) -> "Bench":
        """Open what was chosen."""
        if self.is_sample:
            return self.program.open_sample(self.by, self.progress)
        return self.program.open_bench(self.database, self.by, self.progress)


class Line:
    """Progress as one line on a terminal."""

    def __init__(self) -> None:
        self._since = time.monotonic()
        self._shown = 0.0
        self._width = 0

    def step(self, done: int, total: int, what: str) -> None:
        """Show how far the work is."""
        now = time.monotonic()
        if now - self._since < _QUIET_S or now - self._shown < 0.1:
            return
        self._shown = now
        share = min(done / total, 1.0) if total > 0 else 0.0
        filled = round(20 * share)
        text = f"{what} [{'#' * filled}{'.' * (20 - filled)}] {share:4.0%}"
        sys.stderr.write("\r" + text.ljust(self._width))
        sys.stderr.flush()
        self._width = len(text)

    def clear(self) -> None:
        """Leave no line behind."""
        if self._width:
            sys.stderr.write("\r" + " " * self._width + "\r")
            sys.stderr.flush()
            self._width = 0


class _Sorted(click.Group):
    """A group whose errors end in sentences and exit codes."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the verb; sort what goes wrong."""
        try:
            return super().invoke(ctx)
        except WearlogError as error:
            _clear(ctx)
            for problem in error.problems:
                click.echo(" ".join(str(problem).split()), err=True)
            kinds = {problem.kind for problem in error.problems}
            ctx.exit(EXIT_CODES[next((kind for kind in _PRESSING if kind in kinds), ProblemKind.INPUT)])
        except (Cancelled, KeyboardInterrupt):
            _clear(ctx)
            click.echo(_("Stopped; nothing was changed."), err=True)
            ctx.exit(STOPPED)
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            _clear(ctx)
            raise
        except Exception as error:
            _clear(ctx)
            if isinstance(error, OSError) and error.errno == errno.EPIPE:
                raise  # the reader of our output has gone; click ends quietly
            logging.getLogger("wearlog").exception("A command ended unexpectedly")
            click.echo(
                _("This is a fault of wearlog, not yours: {kind}: {reason} (details in {file})").format(
                    kind=type(error).__name__, reason=" ".join(str(error).split()), file=_log_file(ctx)
                ),
                err=True,
            )
            ctx.exit(BUG)


def _log_file(ctx: click.Context) -> str:
    program = ctx.find_object(Chosen)
    return "" if program is None else program.program.log_file


def _clear(ctx: click.Context) -> None:
    chosen = ctx.obj
    if isinstance(chosen, Chosen) and isinstance(chosen.progress, Line):
        chosen.progress.clear()


@contextmanager
def _working(chosen: Chosen) -> Iterator[Progress]:
    """Give progress for one long piece of work, and leave no line behind."""
    try:
        yield chosen.progress
    finally:
        if isinstance(chosen.progress, Line):
            chosen.progress.clear()


def _days(_ctx: click.Context, _param: click.Parameter, value: str | None) -> int | None:
    """Return the days of a horizon: 60, 60d or 8w."""
    if value is None:
        return None
    match = re.fullmatch(r"\s*(\d{1,5})\s*([dw]?)\s*", value, re.IGNORECASE)
    if match is None:
        raise click.BadParameter(_("{value} is not a span of time: write 60d or 8w.").format(value=value))
    return int(match[1]) * (7 if match[2].lower() == "w" else 1)


def _day(_ctx: click.Context, _param: click.Parameter, value: str | None) -> date | None:
    """Return a date, ISO 8601."""
    if value is None:
        return None
    todo = _("{value} is not a date: write year-month-day, as in 2026-03-14.").format(value=value)
    if not re.fullmatch(r"\d{4}-\d\d-\d\d", value.strip()):
        raise click.BadParameter(todo)
    try:
        return date.fromisoformat(value.strip())
    except ValueError:
        raise click.BadParameter(todo) from None


_OUTPUT = click.option("--output", "-o", type=click.Path(path_type=Path), help=_("Write to a file."))
_ON = click.option(
    "--on", metavar="DATE", callback=_day, help=_("As seen on this day (year-month-day) instead of today.")
)


@click.group(
    cls=_Sorted,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.option(
    "--database",
    metavar="PATH-OR-URL",
    default="",
    help=_("A SQLite file or postgresql+psycopg://...; without it the file in your data folder."),
)
@click.option("--sample", is_flag=True, help=_("Work on a throw-away copy of the sample fleet."))
@click.option("--by", metavar="NAME", default="", help=_("Who works here; stands in the audit trail."))
@click.version_option(__version__, prog_name="wearlog")
@click.pass_context
def wearlog(ctx: click.Context, database: str, sample: bool, by: str) -> None:
    """Keep track of drive-line wear and service intervals for a fleet of light two-wheelers.

    Without a verb the window opens.
    """
    program = ctx.find_object(Program)
    if program is None:
        message = "the command line is started by wearlog.app"
        raise RuntimeError(message)
    if database and sample:
        raise click.UsageError(_("Give --database or --sample, not both."))
    chosen = Chosen(program, database, sample, by, Line() if _is_terminal(sys.stderr) else Silent())
    ctx.obj = chosen
    if ctx.invoked_subcommand is None:
        ctx.exit(_window(chosen))


def _window(chosen: Chosen) -> int:
    """Open the window; where there is no screen say so and print the due list."""
    why = chosen.program.why_no_window()
    with _working(chosen):
        bench = chosen.bench()
    if not why:
        return chosen.program.open_window(bench, chosen.program.preferences, chosen.is_sample)
    click.echo(why, err=True)
    _print_due(chosen, _due(chosen, bench, WEEKS_SHOWN * 7, ""))
    return OK


# --- import ----------------------------------------------------------------------------------------------


@wearlog.command("import")
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="PATH...")
@click.option("--questions", is_flag=True, help=_("List every odd value that was brought in all the same."))
@click.pass_obj
def import_(chosen: Chosen, paths: tuple[Path, ...], questions: bool) -> None:
    """Bring in CSV files.

    Single files or folders: all or nothing, and the same rows only once.
    """
    from wearlog.exchange.brought_text import (  # noqa: PLC0415 - start quickly
        brought_text,
        question_counts_text,
        questions_text,
    )
    from wearlog.exchange.csv_folder import read_import  # noqa: PLC0415
    from wearlog.workshop.bring_in import bring_in  # noqa: PLC0415

    with _working(chosen) as progress:
        rows = read_import(paths, progress)
        brought = bring_in(chosen.bench(), rows, progress)
    click.echo(brought_text(brought))
    asked = questions_text(brought) if questions else question_counts_text(brought)
    if asked:
        click.echo(asked, err=True)


# --- due -------------------------------------------------------------------------------------------------

_DUE_FORMATS = ("table", "csv", "json", "xlsx", "pdf", "ics")
_BINARY = {"xlsx", "pdf"}


@wearlog.command()
@click.option(
    "--within", metavar="SPAN", callback=_days, help=_("Leave out what is due later, as in 60d or 8w.")
)
@click.option("--depot", default="", help=_("One depot only."))
@click.option("--format", "format_", type=click.Choice(_DUE_FORMATS), help=_("By default a table."))
@_OUTPUT
@_ON
@click.pass_obj
def due(
    chosen: Chosen, within: int | None, depot: str, format_: str | None, output: Path | None, on: date | None
) -> None:
    """Print what is due for service.

    With the reason and the dates; or write it to a file.
    """
    wanted = format_ or _format_of(output, _DUE_FORMATS)
    if wanted in _BINARY and output is None and _is_terminal(sys.stdout):
        raise click.UsageError(
            _("{format} is not text: say with --output where to write it.").format(format=wanted)
        )
    bench = chosen.bench()
    _stand_on(bench, on)
    snapshot = _due(chosen, bench, within, depot)
    if wanted == "table" and output is None:
        _print_due(chosen, snapshot)
        return
    from wearlog.exchange.due_files import due_table_text, write_due  # noqa: PLC0415 - start quickly

    if wanted == "table":
        _write_text(due_table_text(snapshot, chosen.program.preferences.units), output)
        return
    if wanted == "pdf":
        _without_screen()
    write_due(snapshot, output or _standard_output(), wanted, chosen.program.preferences.units)


def _due(chosen: Chosen, bench: "Bench", within: int | None, depot: str) -> "DueSnapshot":
    from wearlog.exchange.due_files import of_depot  # noqa: PLC0415 - start quickly
    from wearlog.workshop.due import due_snapshot  # noqa: PLC0415

    with _working(chosen) as progress:
        snapshot = due_snapshot(bench, within, progress)
    return of_depot(snapshot, depot) if depot else snapshot


def _print_due(chosen: Chosen, snapshot: "DueSnapshot") -> None:
    from shutil import get_terminal_size  # noqa: PLC0415

    from wearlog.exchange.due_files import due_table_text  # noqa: PLC0415 - start quickly

    width = get_terminal_size((100, 24)).columns
    click.echo(due_table_text(snapshot, chosen.program.preferences.units, width), nl=False)


# --- forecast --------------------------------------------------------------------------------------------


@wearlog.command()
@click.argument("vehicle", required=False)
@click.option("--format", "format_", type=click.Choice(("table", "json")), help=_("By default a table."))
@_OUTPUT
@_ON
@click.pass_obj
def forecast(
    chosen: Chosen, vehicle: str | None, format_: str | None, output: Path | None, on: date | None
) -> None:
    """Print when each part reaches its limit.

    The service limit, with the uncertainty of distance and date.
    """
    from wearlog.exchange.forecast_files import forecast_table_text, write_forecast  # noqa: PLC0415
    from wearlog.workshop.predict import forecasts  # noqa: PLC0415 - start quickly

    wanted = format_ or _format_of(output, ("table", "json"))
    bench = chosen.bench()
    _stand_on(bench, on)
    vehicle_id = None if vehicle is None else _vehicle_id(bench, vehicle)
    with _working(chosen) as progress:
        found = forecasts(bench, vehicle_id, progress)
    if wanted == "json":
        write_forecast(found, output or _standard_output(), bench.today())
    else:
        _write_text(forecast_table_text(found, chosen.program.preferences.units), output)


# --- chart -----------------------------------------------------------------------------------------------

_CHART_FORMATS = ("png", "svg", "pdf", "csv")


@wearlog.command()
@click.argument("vehicle")
@_OUTPUT
@click.option("--part", default="", help=_("Which part, by a word of its stage, name or measurand."))
@_ON
@click.pass_obj
def chart(chosen: Chosen, vehicle: str, output: Path | None, part: str, on: date | None) -> None:
    """Draw the wear trend of a part.

    To a file that ends in .png, .svg or .pdf, or in .csv for its data.
    """
    if output is None:
        raise click.UsageError(_("Say with --output where to write the chart."))
    wanted = output.suffix.lower().lstrip(".")
    if wanted not in _CHART_FORMATS:
        raise click.UsageError(
            _("A chart ends in one of {formats}.").format(formats=", ".join(f".{f}" for f in _CHART_FORMATS))
        )
    bench = chosen.bench()
    _stand_on(bench, on)
    with _working(chosen) as progress:
        snapshot = _trend(bench, vehicle, part, progress)
    _without_screen()
    from wearlog.exchange.pictures import write_trend  # noqa: PLC0415 - loads Qt

    write_trend(output, snapshot, chosen.program.preferences.units)


def _trend(bench: "Bench", vehicle: str, part: str, progress: Progress) -> "TrendSnapshot":
    from wearlog.exchange.trend_choice import choice_named  # noqa: PLC0415 - start quickly
    from wearlog.workshop.predict import trend_snapshot  # noqa: PLC0415

    vehicle_id = _vehicle_id(bench, vehicle)
    snapshot = trend_snapshot(bench, vehicle_id, progress=progress)
    if not part:
        return snapshot
    choice = choice_named(snapshot, part)
    return trend_snapshot(bench, vehicle_id, choice.installation_id, choice.measurand, progress)


# --- what verbs share ------------------------------------------------------------------------------------


def _vehicle_id(bench: "Bench", tag: str) -> int:
    from wearlog.workshop.fleet_state import fleet_state  # noqa: PLC0415 - start quickly

    return fleet_state(bench).vehicle_tagged(tag).id


def _stand_on(bench: "Bench", on: date | None) -> None:
    """Let the bench stand on another day."""
    if on is not None:
        from wearlog.workshop.bench import FixedClock  # noqa: PLC0415 - start quickly

        bench.clock = FixedClock(on)


def _format_of(output: Path | None, known: tuple[str, ...]) -> str:
    """Return the format that a file name tells; a table otherwise."""
    ending = output.suffix.lower().lstrip(".") if output else ""
    return ending if ending in known else "table"


def _is_terminal(stream: TextIO) -> bool:
    return stream.isatty()


def _standard_output() -> BinaryIO:
    return sys.stdout.buffer


def _write_text(text: str, output: Path | None) -> None:
    if output is None:
        click.echo(text, nl=False)
        return
    from wearlog.exchange.files import write_text  # noqa: PLC0415 - start quickly

    write_text(text, output)


def _without_screen() -> None:
    """Let Qt draw without a screen: no window is wanted."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
