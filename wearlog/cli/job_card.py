"""`wearlog job-card`: the job card of a visit as a PDF of one page."""

from datetime import date
from gettext import gettext as _
from pathlib import Path

import click

from wearlog.cli.program import Chosen
from wearlog.cli.shared import ON, OUTPUT, PAPER, stand_on, without_screen, working


@click.command("job-card")
@click.argument("visit")
@OUTPUT
@PAPER
@ON
@click.pass_obj
def write_card(chosen: Chosen, visit: str, output: Path | None, paper: str, on: date | None) -> None:
    """Write the job card of a visit as a PDF of one page.

    VISIT is the number of a planned visit, such as V-0042, or the tag of a vehicle that comes unplanned: its
    card asks for what is due within a month.
    """
    if output is None:
        raise click.UsageError(_("Say with --output where to write the job card."))
    bench = chosen.bench()
    stand_on(bench, on)
    from wearlog.workshop.job_card import job_card  # noqa: PLC0415 - start quickly

    with working(chosen):
        card = job_card(bench, visit)
    without_screen()
    from wearlog.exchange.job_card import write_job_card  # noqa: PLC0415 - loads Qt
    from wearlog.exchange.pdf import PaperSize  # noqa: PLC0415

    write_job_card(card, output, chosen.program.preferences.units, PaperSize(paper))
