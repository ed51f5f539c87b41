"""Taking back one change: what it added no longer counts, what it replaced is put back."""

from dataclasses import replace
from gettext import gettext as _

from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.store.taking_back import take_back
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes


def undo(bench: Bench, changes: Changes) -> Changes:
    """Take back a change, in one transaction; both it and this stay in the audit trail.

    Raises
    ------
    WearlogError
        If it can't be taken back, or something changed since.
    """
    if not changes.can_undo:
        raise WearlogError(
            Problem(
                _("This can’t be undone."), todo=_("Correct it by a new entry."), kind=ProblemKind.CONFLICT
            )
        )
    what = _("Undone: {what}").format(what=changes.what)
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        take_back(records, changes.change_id, _("undone"))
        if changes.draft is not None:
            records.keep_draft(*changes.draft)
        change_id = records.change_id
    reopens = min(changes.vehicle_ids, default=None) if changes.draft is not None else None
    return replace(
        changes,
        what=what,
        change_id=change_id,
        can_undo=False,
        draft=None,
        reopens=reopens,
        reopened_key=changes.draft[0] if changes.draft is not None else "",
    )
