"""What stands in the way of saving a sheet, as far as the sheet itself can tell."""

from collections.abc import Iterator
from dataclasses import replace
from gettext import gettext as _

from wearlog.fleet.problem import Problem
from wearlog.window.service_sheet.model import SheetModel
from wearlog.window.service_sheet.words import entry_title


def hindrances(model: SheetModel) -> tuple[Problem, ...]:
    """Return what has to be mended before the sheet can be saved; empty if nothing."""
    return tuple(_hindrances(model))


def _hindrances(model: SheetModel) -> Iterator[Problem]:
    if model.draft is None or model.snapshot is None:
        return
    if not model.draft.meter_text.strip():
        yield Problem(_("The meter is missing."), model.snapshot.tag, _("Type what the meter shows."))
    elif model.meter_problem is not None:
        yield replace(model.meter_problem, where=model.snapshot.tag)
    for asked in model.readings():
        problem = model.problem(asked.key)
        if problem is not None:
            yield replace(problem, where=entry_title(asked))
    for task in model.tasks():
        for problem in model.task_problems(task.key):
            yield replace(problem, where=task.text)
