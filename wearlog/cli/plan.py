"""`wearlog plan`: which vehicle comes when, printed or to a file."""

from datetime import date
from gettext import gettext as _
from pathlib import Path

import click

from wearlog.cli.program import Chosen
from wearlog.cli.shared import ON, OUTPUT, format_of, stand_on, standard_output, working, write_text

_PLAN_FORMATS = ("table", "csv", "json", "ics")
#: The words on the command line, and the policies they name; `compare` prints all three side by side.
_POLICIES = {
    "as-listed": "as the list says",
    "fewest-visits": "fewest visits",
    "least-cost": "least cost",
}
_COMPARE = "compare"


@click.command("plan")
@click.option(
    "--weeks", type=click.IntRange(1, 26), default=8, show_default=True, help=_("Weeks looked ahead.")
)
@click.option(
    "--policy",
    type=click.Choice((*_POLICIES, _COMPARE)),
    default="least-cost",
    show_default=True,
    help=_("How work is put into visits; compare prints the costs of all three."),
)
@click.option("--depot", default="", help=_("One depot only."))
@click.option(
    "--seconds",
    type=click.FloatRange(0.1, 600.0),
    default=10.0,
    show_default=True,
    help=_("Time to look for the best plan of each depot."),
)
@click.option("--format", "format_", type=click.Choice(_PLAN_FORMATS), help=_("By default a table."))
@OUTPUT
@ON
@click.pass_obj
def plan_visits(
    chosen: Chosen,
    weeks: int,
    policy: str,
    depot: str,
    seconds: float,
    format_: str | None,
    output: Path | None,
    on: date | None,
) -> None:
    """Print which vehicle comes in when.

    What is due is put into visits under the bay time and opening days agreed on; or write it to a file.
    """
    wanted = format_ or format_of(output, _PLAN_FORMATS)
    if policy == _COMPARE and (wanted != "table" or depot):
        raise click.UsageError(
            _("A comparison is a table of the whole fleet: leave out the format and depot.")
        )
    bench = chosen.bench()
    stand_on(bench, on)
    from wearlog.exchange import plan_files  # noqa: PLC0415 - start quickly
    from wearlog.planning.scheduling import VisitPolicy  # noqa: PLC0415
    from wearlog.workshop import plan_visits as planning  # noqa: PLC0415

    shown = chosen.program.preferences.units
    if policy == _COMPARE:
        with working(chosen) as progress:
            plans = planning.compare_plans(bench, weeks, progress, seconds=seconds)
        write_text(plan_files.comparison_text(plans), output)
        return
    with working(chosen) as progress:
        plan = planning.plan_visits(bench, weeks, VisitPolicy(_POLICIES[policy]), progress, seconds=seconds)
    if depot:
        plan = plan_files.of_depot(plan, depot)
    if wanted == "table":
        write_text(plan_files.plan_table_text(plan, shown), output)
        return
    plan_files.write_plan(plan, output or standard_output(), wanted, shown)
