"""A save that is tried again after a lost connection: done once, whatever was heard of the first try.

The seat names the save by a key that stays the same at every try. The transaction keeps the key and what the
sheet said, so that a second try finds out whether the first was committed, and whether it was this sheet.
"""

import json
from dataclasses import replace
from gettext import gettext as _
from hashlib import sha256

from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.vehicle import Vehicle
from wearlog.store.records import Records
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.sheet import SheetDraft


def keep_what_is_saved(records: Records, draft: SheetDraft) -> None:
    """Keep, in the transaction of a save, which sheet it is that is saved."""
    if draft.save_key:
        records.keep_saved_key(_key_of_content(draft))


def saved_before(bench: Bench, draft: SheetDraft, draft_key: str) -> Changes | None:
    """Return what an earlier try of this save has done, or None if it did nothing.

    Raises
    ------
    WearlogError
        If it was done, but the sheet was changed since.
    """
    if not draft.save_key:
        return None
    with bench.database.reading() as records:
        change_id = records.saved_by(draft.save_key)
        if change_id is None:
            return None
        is_same = records.saved_by(_key_of_content(draft)) == change_id
        entries = records.audit(change_id=change_id)
        tag = records.get(Vehicle, draft.vehicle_id).tag
    if not is_same:
        what = _("This sheet was saved before the connection was lost. What was changed since is not in it.")
        todo = _("Correct the saved service in the history of the vehicle, then begin the sheet afresh.")
        raise WearlogError(Problem(what, tag, todo, kind=ProblemKind.CONFLICT))
    with bench.database.writing(by=bench.by, at=bench.now(), what="Draft") as records:
        records.drop_draft(draft_key)
    fitted = {entry.record_id for entry in entries if entry.record == "Installation"}
    measured = {
        json.loads(entry.after).get("installation_id") for entry in entries if entry.record == "Reading"
    }
    return Changes(
        entries[0].what if entries else "",
        change_id,
        frozenset({draft.vehicle_id}),
        frozenset({*fitted, *measured} - {None}),
        draft=(draft_key, text_to_reopen(draft)),
    )


def text_to_reopen(draft: SheetDraft) -> str:
    """Return a saved sheet as it is opened again once its save was taken back: its next save is another."""
    return replace(draft, save_key="").to_text()


def _key_of_content(draft: SheetDraft) -> str:
    return f"{draft.save_key} {sha256(draft.to_text().encode()).hexdigest()}"
