"""`wearlog chart`: the wear trend of a part as a picture or as data."""

from datetime import date
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING

import click

from wearlog.cli.program import Chosen
from wearlog.cli.shared import ON, OUTPUT, stand_on, vehicle_id_tagged, without_screen, working
from wearlog.fleet.progress import Progress

if TYPE_CHECKING:
    from wearlog.workshop.bench import Bench
    from wearlog.workshop.trend_snapshot import TrendSnapshot

_CHART_FORMATS = ("png", "svg", "pdf", "csv")


@click.command("chart")
@click.argument("vehicle")
@OUTPUT
@click.option("--part", default="", help=_("Which part, by a word of its stage, name or measurand."))
@ON
@click.pass_obj
def draw_chart(chosen: Chosen, vehicle: str, output: Path | None, part: str, on: date | None) -> None:
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
    stand_on(bench, on)
    with working(chosen) as progress:
        snapshot = _trend(bench, vehicle, part, progress)
    without_screen()
    from wearlog.exchange.pictures import write_trend  # noqa: PLC0415 - loads Qt

    write_trend(output, snapshot, chosen.program.preferences.units)


def _trend(bench: "Bench", vehicle: str, part: str, progress: Progress) -> "TrendSnapshot":
    from wearlog.exchange.trend_choice import choice_named  # noqa: PLC0415 - start quickly
    from wearlog.workshop.predict import trend_snapshot  # noqa: PLC0415

    vehicle_id = vehicle_id_tagged(bench, vehicle)
    snapshot = trend_snapshot(bench, vehicle_id, progress=progress)
    if not part:
        return snapshot
    choice = choice_named(snapshot, part)
    return trend_snapshot(bench, vehicle_id, choice.installation_id, choice.measurand, progress)
