"""`wearlog parts`: what to order by when, printed or to a file."""

import sys
from datetime import date
from gettext import gettext as _
from pathlib import Path

import click

from wearlog.cli.program import Chosen
from wearlog.cli.shared import (
    ON,
    OUTPUT,
    format_of,
    is_terminal,
    stand_on,
    standard_output,
    without_screen,
    working,
    write_text,
)

_PARTS_FORMATS = ("table", "csv", "json", "xlsx", "pdf")
_BINARY = {"xlsx", "pdf"}


@click.command("parts")
@click.option(
    "--weeks", type=click.IntRange(1, 52), default=8, show_default=True, help=_("Weeks looked ahead.")
)
@click.option(
    "--level",
    type=click.FloatRange(50.0, 99.9),
    default=95.0,
    show_default=True,
    metavar="PERCENT",
    help=_("Chance of having enough: 80, 90, 95 or 99 per cent, for example."),
)
@click.option("--depot", default="", help=_("One depot only."))
@click.option("--format", "format_", type=click.Choice(_PARTS_FORMATS), help=_("By default a table."))
@OUTPUT
@ON
@click.pass_obj
def list_parts(
    chosen: Chosen,
    weeks: int,
    level: float,
    depot: str,
    format_: str | None,
    output: Path | None,
    on: date | None,
) -> None:
    """Print what parts will be wanted and what to order by when.

    With stock, demand ahead, sets, chains to cut and joining links; or write it to a file.
    """
    wanted = format_ or format_of(output, _PARTS_FORMATS)
    if wanted in _BINARY and output is None and is_terminal(sys.stdout):
        raise click.UsageError(
            _("{format} is not text: say with --output where to write it.").format(format=wanted)
        )
    bench = chosen.bench()
    stand_on(bench, on)
    from wearlog.exchange.parts_files import parts_table_text, write_parts  # noqa: PLC0415 - start quickly
    from wearlog.workshop.parts import parts_snapshot  # noqa: PLC0415

    with working(chosen) as progress:
        snapshot = parts_snapshot(bench, weeks, level / 100.0, depot, progress)
    if wanted == "table":
        write_text(parts_table_text(snapshot), output)
        return
    if wanted == "pdf":
        without_screen()
    write_parts(snapshot, output or standard_output(), wanted)
