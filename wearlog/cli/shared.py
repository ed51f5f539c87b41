"""What verbs share: options, where output goes, how a vehicle or a day is named."""

import os
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, TextIO

import click

from wearlog.cli.program import Chosen, Line
from wearlog.fleet.progress import Progress

if TYPE_CHECKING:
    from wearlog.workshop.bench import Bench


@contextmanager
def working(chosen: Chosen) -> Iterator[Progress]:
    """Give progress for one long piece of work, and leave no line behind."""
    try:
        yield chosen.progress
    finally:
        if isinstance(chosen.progress, Line):
            chosen.progress.clear()


def days_of_span(_ctx: click.Context, _param: click.Parameter, value: str | None) -> int | None:
    """Return the days of a horizon: 60, 60d or 8w."""
    if value is None:
        return None
    match = re.fullmatch(r"\s*(\d{1,5})\s*([dw]?)\s*", value, re.IGNORECASE)
    if match is None:
        raise click.BadParameter(_("{value} is not a span of time: write 60d or 8w.").format(value=value))
    return int(match[1]) * (7 if match[2].lower() == "w" else 1)


def iso_day(_ctx: click.Context, _param: click.Parameter, value: str | None) -> date | None:
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


OUTPUT = click.option("--output", "-o", type=click.Path(path_type=Path), help=_("Write to a file."))
PAPER = click.option(
    "--paper",
    type=click.Choice(("a4", "letter")),
    default="a4",
    show_default=True,
    help=_("Size of the sheets."),
)
ON = click.option(
    "--on", metavar="DATE", callback=iso_day, help=_("As seen on this day (year-month-day) instead of today.")
)


def vehicle_id_tagged(bench: "Bench", tag: str) -> int:
    """Return the vehicle of a tag, whatever its case."""
    from wearlog.workshop.fleet_state import fleet_state  # noqa: PLC0415 - start quickly

    return fleet_state(bench).vehicle_tagged(tag).id


def stand_on(bench: "Bench", on: date | None) -> None:
    """Let the bench stand on another day."""
    if on is not None:
        from wearlog.workshop.bench import FixedClock  # noqa: PLC0415 - start quickly

        bench.clock = FixedClock(on)


def format_of(output: Path | None, known: tuple[str, ...]) -> str:
    """Return the format that a file name tells; a table otherwise."""
    ending = output.suffix.lower().lstrip(".") if output else ""
    return ending if ending in known else "table"


def is_terminal(stream: TextIO) -> bool:
    """Return whether somebody reads along."""
    return stream.isatty()


def standard_output() -> BinaryIO:
    """Return where files go that were given no name."""
    return sys.stdout.buffer


def write_text(text: str, output: Path | None) -> None:
    """Write a text to a file, print it without one."""
    if output is None:
        click.echo(text, nl=False)
        return
    from wearlog.exchange.files import write_text  # noqa: PLC0415 - start quickly

    write_text(text, output)


def without_screen() -> None:
    """Let Qt draw without a screen: no window is wanted."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
