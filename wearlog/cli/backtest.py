"""`wearlog backtest`: what forecasts were worth, how fast parts wear, how long they last."""

from datetime import date
from gettext import gettext as _
from pathlib import Path

import click

from wearlog.cli.program import Chosen
from wearlog.cli.shared import ON, OUTPUT, stand_on, standard_output, without_screen, working, write_text

_FORMATS = ("text", "json", "csv")
_PICTURES = (".png", ".svg")


@click.command("backtest")
@click.option("--format", "format_", type=click.Choice(_FORMATS), help=_("By default text."))
@click.option("--quick", is_flag=True, help=_("Let forecasts know what the rest of the fleet taught later."))
@OUTPUT
@ON
@click.pass_obj
def judge_forecasts(
    chosen: Chosen, format_: str | None, quick: bool, output: Path | None, on: date | None
) -> None:
    """Hold past forecasts against what came.

    Every reading of every part is predicted again with what was known in its day; then wear rates and lives.
    A file that ends in .png or .svg gets the charts.
    """
    from wearlog.workshop.record import record_snapshot  # noqa: PLC0415 - start quickly

    ending = output.suffix.lower() if output else ""
    is_picture = format_ is None and ending in _PICTURES
    named = ending.removeprefix(".")
    wanted = format_ or (named if named in _FORMATS else "text")
    bench = chosen.bench()
    stand_on(bench, on)
    with working(chosen) as progress:
        snapshot = record_snapshot(bench, is_honest=not quick, progress=progress)
    without_screen()
    from wearlog.exchange import record_files  # noqa: PLC0415 - loads Qt

    shown = chosen.program.preferences.units
    if is_picture and output is not None:
        record_files.write_record(snapshot, output, shown)
    elif wanted == "text":
        write_text(record_files.record_text(snapshot, shown), output)
    else:
        record_files.write_record_figures(snapshot, output or standard_output(), wanted)
