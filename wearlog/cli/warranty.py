"""`wearlog warranty`: the full evidence on one part, as a PDF or as data."""

from datetime import date
from gettext import gettext as _
from pathlib import Path

import click

from wearlog.cli.program import Chosen
from wearlog.cli.shared import ON, OUTPUT, PAPER, stand_on, vehicle_id_tagged, without_screen, working


@click.command("warranty")
@click.argument("vehicle")
@click.option(
    "--part", required=True, metavar="WORD", help=_("Which part, by a word of its stage, name, label or lot.")
)
@OUTPUT
@PAPER
@ON
@click.pass_obj
def write_warranty(
    chosen: Chosen, vehicle: str, part: str, output: Path | None, paper: str, on: date | None
) -> None:
    """Write the full evidence on one part.

    Readings as typed, instruments with their calibration, visits, torques, and the audit trail with its chain
    of digests; to a file that ends in .pdf or .json.
    """
    if output is None or output.suffix.lower() not in {".pdf", ".json"}:
        raise click.UsageError(
            _("Say with --output where to write the record: a name that ends in .pdf or .json.")
        )
    bench = chosen.bench()
    stand_on(bench, on)
    from wearlog.workshop.warranty import installation_named, warranty_record  # noqa: PLC0415 - start quickly

    with working(chosen):
        vehicle_id = vehicle_id_tagged(bench, vehicle)
        record = warranty_record(bench, installation_named(bench, vehicle_id, part))
    without_screen()
    from wearlog.exchange.pdf import PaperSize  # noqa: PLC0415 - loads Qt
    from wearlog.exchange.warranty_record import write_warranty_record  # noqa: PLC0415

    write_warranty_record(record, output, chosen.program.preferences.units, PaperSize(paper))
