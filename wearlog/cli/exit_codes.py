"""The exit codes: what went wrong ends in a sentence and a number that scripts can tell apart."""

import errno
import logging
from gettext import gettext as _
from typing import Any

import click

from wearlog.cli.program import Chosen, Line
from wearlog.fleet.problem import Cancelled, ProblemKind, WearlogError

OK, STOPPED, BUG = 0, 130, 70
#: Whose help is needed; usage errors end with 2.
EXIT_CODES = {
    ProblemKind.INPUT: 3,
    ProblemKind.NOT_FOUND: 4,
    ProblemKind.DATABASE: 5,
    ProblemKind.CONFLICT: 6,
    ProblemKind.FILE: 7,
}
#: The most pressing first, if several kinds come together.
_PRESSING = (
    ProblemKind.DATABASE,
    ProblemKind.CONFLICT,
    ProblemKind.FILE,
    ProblemKind.NOT_FOUND,
    ProblemKind.INPUT,
)


class SortedGroup(click.Group):
    """A group whose errors end in sentences and exit codes."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the verb; sort what goes wrong."""
        try:
            return super().invoke(ctx)
        except WearlogError as error:
            _clear(ctx)
            for problem in error.problems:
                click.echo(" ".join(str(problem).split()), err=True)
            kinds = {problem.kind for problem in error.problems}
            ctx.exit(EXIT_CODES[next((kind for kind in _PRESSING if kind in kinds), ProblemKind.INPUT)])
        except (Cancelled, KeyboardInterrupt):
            _clear(ctx)
            click.echo(_("Stopped; nothing was changed."), err=True)
            ctx.exit(STOPPED)
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            _clear(ctx)
            raise
        except Exception as error:
            _clear(ctx)
            if isinstance(error, OSError) and error.errno == errno.EPIPE:
                raise  # the reader of our output has gone; click ends quietly
            logging.getLogger("wearlog").exception("A command ended unexpectedly")
            click.echo(
                _("This is a fault of wearlog, not yours: {kind}: {reason} (details in {file})").format(
                    kind=type(error).__name__, reason=" ".join(str(error).split()), file=_log_file(ctx)
                ),
                err=True,
            )
            ctx.exit(BUG)


def _log_file(ctx: click.Context) -> str:
    program = ctx.find_object(Chosen)
    return "" if program is None else program.program.log_file


def _clear(ctx: click.Context) -> None:
    chosen = ctx.obj
    if isinstance(chosen, Chosen) and isinstance(chosen.progress, Line):
        chosen.progress.clear()
