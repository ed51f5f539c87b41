"""`wearlog due`: the due list, printed or to a file."""

import sys
from datetime import date
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING

import click

from wearlog.cli.program import Chosen
from wearlog.cli.shared import (
    ON,
    OUTPUT,
    days_of_span,
    format_of,
    is_terminal,
    stand_on,
    standard_output,
    without_screen,
    working,
    write_text,
)

if TYPE_CHECKING:
    from wearlog.workshop.bench import Bench
    from wearlog.workshop.due_snapshot import DueSnapshot

_DUE_FORMATS = ("table", "csv", "json", "xlsx", "pdf", "ics")
_BINARY = {"xlsx", "pdf"}


@click.command("due")
@click.option(
    "--within", metavar="SPAN", callback=days_of_span, help=_("Leave out what is due later, as in 60d or 8w.")
)
@click.option("--depot", default="", help=_("One depot only."))
@click.option("--format", "format_", type=click.Choice(_DUE_FORMATS), help=_("By default a table."))
@OUTPUT
@ON
@click.pass_obj
def list_due(
    chosen: Chosen, within: int | None, depot: str, format_: str | None, output: Path | None, on: date | None
) -> None:
    """Print what is due for service.

    With the reason and the dates; or write it to a file.
    """
    wanted = format_ or format_of(output, _DUE_FORMATS)
    if wanted in _BINARY and output is None and is_terminal(sys.stdout):
        raise click.UsageError(
            _("{format} is not text: say with --output where to write it.").format(format=wanted)
        )
    bench = chosen.bench()
    stand_on(bench, on)
    snapshot = due_list(chosen, bench, within, depot)
    if wanted == "table" and output is None:
        print_due(chosen, snapshot)
        return
    from wearlog.exchange.due_files import due_table_text, write_due  # noqa: PLC0415 - start quickly

    if wanted == "table":
        write_text(due_table_text(snapshot, chosen.program.preferences.units), output)
        return
    if wanted == "pdf":
        without_screen()
    write_due(snapshot, output or standard_output(), wanted, chosen.program.preferences.units)


def due_list(chosen: Chosen, bench: "Bench", within: int | None, depot: str) -> "DueSnapshot":
    """Return what is due within some days, None for everything, at one depot or at all."""
    from wearlog.exchange.due_files import of_depot  # noqa: PLC0415 - start quickly
    from wearlog.workshop.due import due_snapshot  # noqa: PLC0415

    with working(chosen) as progress:
        snapshot = due_snapshot(bench, within, progress)
    return of_depot(snapshot, depot) if depot else snapshot


def print_due(chosen: Chosen, snapshot: "DueSnapshot") -> None:
    """Print the due list as wide as the terminal."""
    from shutil import get_terminal_size  # noqa: PLC0415

    from wearlog.exchange.due_files import due_table_text  # noqa: PLC0415 - start quickly

    width = get_terminal_size((100, 24)).columns
    click.echo(due_table_text(snapshot, chosen.program.preferences.units, width), nl=False)
