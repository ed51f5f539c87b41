"""`wearlog report`: what the owner of a vehicle is told, as a PDF."""

from datetime import date
from gettext import gettext as _
from pathlib import Path

import click

from wearlog.cli.program import Chosen
from wearlog.cli.shared import ON, OUTPUT, PAPER, stand_on, vehicle_id_tagged, without_screen, working


@click.command("report")
@click.argument("vehicle")
@OUTPUT
@PAPER
@ON
@click.pass_obj
def write_report(chosen: Chosen, vehicle: str, output: Path | None, paper: str, on: date | None) -> None:
    """Write the owner's report on a vehicle as a PDF.

    Chart, what was measured and done, what is advised and why, in plain words, with the limits and their
    sources.
    """
    if output is None:
        raise click.UsageError(_("Say with --output where to write the report."))
    bench = chosen.bench()
    stand_on(bench, on)
    from wearlog.workshop.owner_report import owner_report  # noqa: PLC0415 - start quickly

    with working(chosen) as progress:
        report = owner_report(bench, vehicle_id_tagged(bench, vehicle), progress)
    without_screen()
    from wearlog.exchange.owner_report import write_owner_report  # noqa: PLC0415 - loads Qt
    from wearlog.exchange.pdf import PaperSize  # noqa: PLC0415

    write_owner_report(report, output, chosen.program.preferences.units, PaperSize(paper))
