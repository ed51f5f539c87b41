"""The command line: one file per verb; without a verb the window."""

import sys
from gettext import gettext as _

import click

from wearlog import __version__
from wearlog.cli.audit import list_trail
from wearlog.cli.backtest import judge_forecasts
from wearlog.cli.backup import back_up
from wearlog.cli.chart import draw_chart
from wearlog.cli.copy_to import copy_to
from wearlog.cli.due import due_list, list_due, print_due
from wearlog.cli.exit_codes import OK, SortedGroup
from wearlog.cli.forecast import list_forecasts
from wearlog.cli.import_files import import_files
from wearlog.cli.job_card import write_card
from wearlog.cli.parts import list_parts
from wearlog.cli.plan import plan_visits
from wearlog.cli.program import Chosen, Line, Program
from wearlog.cli.report import write_report
from wearlog.cli.restore import restore
from wearlog.cli.shared import is_terminal, working
from wearlog.cli.verify import verify
from wearlog.cli.warranty import write_warranty
from wearlog.fleet.progress import Silent

__all__ = ["Program", "wearlog"]

#: What is printed where no window can be opened.
WEEKS_SHOWN = 8


@click.group(
    cls=SortedGroup,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.option(
    "--database",
    metavar="PATH-OR-URL",
    default="",
    help=_("A SQLite file or postgresql+psycopg://...; without it the file in your data folder."),
)
@click.option("--sample", is_flag=True, help=_("Work on a throw-away copy of the sample fleet."))
@click.option("--by", metavar="NAME", default="", help=_("Who works here; stands in the audit trail."))
@click.version_option(__version__, prog_name="wearlog")
@click.pass_context
def wearlog(ctx: click.Context, database: str, sample: bool, by: str) -> None:
    """Keep track of drive-line wear and service intervals for a fleet of light two-wheelers.

    Without a verb the window opens.
    """
    program = ctx.find_object(Program)
    if program is None:
        message = "the command line is started by wearlog.app"
        raise RuntimeError(message)
    if database and sample:
        raise click.UsageError(_("Give --database or --sample, not both."))
    chosen = Chosen(program, database, sample, by, Line() if is_terminal(sys.stderr) else Silent())
    ctx.obj = chosen
    if ctx.invoked_subcommand is None:
        ctx.exit(_window(chosen))


def _window(chosen: Chosen) -> int:
    """Open the window; where there is no screen say so and print the due list."""
    why = chosen.program.why_no_window()
    with working(chosen):
        bench = chosen.bench()
    if not why:
        return chosen.program.open_window(bench, chosen.program.preferences, chosen.is_sample)
    click.echo(why, err=True)
    print_due(chosen, due_list(chosen, bench, WEEKS_SHOWN * 7, ""))
    return OK


for _verb in (
    import_files,
    list_due,
    list_forecasts,
    draw_chart,
    list_parts,
    write_card,
    write_report,
    write_warranty,
    plan_visits,
    judge_forecasts,
    list_trail,
    back_up,
    copy_to,
    restore,
    verify,
):
    wearlog.add_command(_verb)
