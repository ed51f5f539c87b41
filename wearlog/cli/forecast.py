"""`wearlog forecast`: when each part reaches its limit."""

from datetime import date
from gettext import gettext as _
from pathlib import Path

import click

from wearlog.cli.program import Chosen
from wearlog.cli.shared import (
    ON,
    OUTPUT,
    format_of,
    stand_on,
    standard_output,
    vehicle_id_tagged,
    working,
    write_text,
)


@click.command("forecast")
@click.argument("vehicle", required=False)
@click.option("--format", "format_", type=click.Choice(("table", "json")), help=_("By default a table."))
@OUTPUT
@ON
@click.pass_obj
def list_forecasts(
    chosen: Chosen, vehicle: str | None, format_: str | None, output: Path | None, on: date | None
) -> None:
    """Print when each part reaches its limit.

    The service limit, with the uncertainty of distance and date.
    """
    from wearlog.exchange.forecast_files import forecast_table_text, write_forecast  # noqa: PLC0415
    from wearlog.workshop.predict import forecasts  # noqa: PLC0415 - start quickly

    wanted = format_ or format_of(output, ("table", "json"))
    bench = chosen.bench()
    stand_on(bench, on)
    vehicle_id = None if vehicle is None else vehicle_id_tagged(bench, vehicle)
    with working(chosen) as progress:
        found = forecasts(bench, vehicle_id, progress)
    if wanted == "json":
        write_forecast(found, output or standard_output(), bench.today())
    else:
        write_text(forecast_table_text(found, chosen.program.preferences.units), output)
