"""`wearlog audit`: the trail of every change, printed or to a file."""

from gettext import gettext as _
from pathlib import Path

import click

from wearlog.cli.program import Chosen
from wearlog.cli.shared import OUTPUT, format_of, standard_output, vehicle_id_tagged, working, write_text

_FORMATS = ("table", "csv", "json")


@click.command("audit")
@click.argument("vehicle", default="")
@click.option("--format", "format_", type=click.Choice(_FORMATS), help=_("By default a table."))
@click.option("--last", type=click.IntRange(min=1), help=_("The latest entries only."))
@OUTPUT
@click.pass_obj
def list_trail(
    chosen: Chosen, vehicle: str, format_: str | None, last: int | None, output: Path | None
) -> None:
    """Print who changed what, when, from what to what.

    Of one VEHICLE by its tag, or of everything; the latest first. The files carry the chain by which
    tampering shows.
    """
    from wearlog.exchange.audit_files import trail_text, write_trail  # noqa: PLC0415 - start quickly
    from wearlog.workshop.history import trail_snapshot  # noqa: PLC0415 - as above

    wanted = format_ or format_of(output, _FORMATS)
    bench = chosen.bench()
    with working(chosen):
        trail = trail_snapshot(bench, vehicle_id_tagged(bench, vehicle) if vehicle else None, last)
    shown = chosen.program.preferences.units
    if wanted == "table":
        write_text(trail_text(trail, shown), output)
    else:
        write_trail(trail, output or standard_output(), wanted, shown)
