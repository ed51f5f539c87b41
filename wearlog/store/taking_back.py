"""Takes back one change: what it added is voided, what it replaced is put back, nothing is deleted."""

import json
from dataclasses import replace
from gettext import gettext as _
from typing import Any

from sqlalchemy import select

from wearlog.fleet.audit import AuditEntry
from wearlog.fleet.problem import EditConflict, Problem, ProblemKind, Versions, WearlogError
from wearlog.fleet.stock import StockLine
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.store import drafts, personal
from wearlog.store.audit import SETTING, entries
from wearlog.store.records import Records
from wearlog.store.rows import TABLES, shape_of
from wearlog.store.tables import AuditRow

_KINDS: dict[str, type[Any]] = {kind.__name__: kind for kind in TABLES}
#: Added ones stay: a part or its type lies on the shelf again, an instrument in its drawer.
_HARMLESS = {"Part", "PartType", "Instrument"}


def take_back(records: Records, change_id: str, reason: str) -> None:
    """Take back all that one transaction changed, the last first.

    Parameters
    ----------
    records
        Of the transaction that takes back.
    change_id
        Of the transaction that is taken back.
    reason
        Stands with what is voided.

    Raises
    ------
    EditConflict
        If somebody changed one of the records since.
    WearlogError
        If the change is not known, or it added what cannot be voided (a setting), or a vehicle or stage
        that is in use since.
    """
    trail = entries(records.connection, vehicle_id=None, change_id=change_id, limit=None)
    if not trail:
        what = _("There is no change of this number to take back.")
        raise WearlogError(Problem(what, todo=_("Read the list again."), kind=ProblemKind.NOT_FOUND))
    for entry in trail:
        if entry.record == SETTING:
            _put_setting_back(records, entry)
        elif entry.before:
            _put_back(records, entry)
        elif entry.record == "StockLine":
            _empty_shelf(records, entry)
        elif entry.record not in _HARMLESS:
            _void(records, entry, reason)
    drafts.forget_row_keys(records.connection, change_id)


def _put_setting_back(records: Records, entry: AuditEntry) -> None:
    before, after = _told(entry.before), _told(entry.after)
    for name, value in after.items():
        if name not in before:
            raise WearlogError(_stays(_("A setting made for the first time stays."), name))
        if records.setting(name) != value:
            raise WearlogError(_stays(_("Somebody changed the setting since."), name))
        records.set_setting(name, before[name])


def _put_back(records: Records, entry: AuditEntry) -> None:
    shape = shape_of(_KINDS[entry.record])
    now = records.get(shape.kind, entry.record_id)
    values = shape.fields_of(now)
    was, became = (
        shape.values_from_json(personal.revealed(records.connection, entry.record, told))
        for told in (entry.before, entry.after)
    )
    before = shape.changed(now, **was)
    if any(values[name] != value for name, value in became.items()):
        raise _changed_since(records.place_of(now), before, now)
    records.replace(before)


def _empty_shelf(records: Records, entry: AuditEntry) -> None:
    """Let a shelf that was set up stay, without the pieces it was set up with."""
    line = records.get(StockLine, entry.record_id)
    if line.version > 1:
        raise _changed_since(line.depot, replace(line, on_hand=0), line)
    records.replace(replace(line, on_hand=0, spare_links=0, joining_links=0))


def _void(records: Records, entry: AuditEntry, reason: str) -> None:
    shape = shape_of(_KINDS[entry.record])
    if not shape.has("void_reason"):
        raise WearlogError(_stays(_("What was made for the first time stays."), ""))
    now = records.get(shape.kind, entry.record_id)
    if now.void_reason:
        return
    if isinstance(now, (Vehicle, Stage)):
        _refuse_if_in_use(records, now)
    since = (
        select(AuditRow.id)
        .where(
            AuditRow.record == entry.record,
            AuditRow.record_id == entry.record_id,
            AuditRow.change_id.not_in([entry.change_id, records.change_id]),
        )
        .limit(1)
    )
    if records.connection.execute(since).first() is not None:
        raise _changed_since(records.place_of(now), shape.changed(now, void_reason=reason), now)
    if isinstance(now, Vehicle):
        # Its tag is free again for the vehicle that it should have been.
        now = replace(now, tag=f"{now.tag} ({now.id})")
    records.void(now, reason)


def _refuse_if_in_use(records: Records, made: Vehicle | Stage) -> None:
    """Refuse to void what something that counts belongs to; its own change is taken back before it is."""
    name = "vehicle_id" if isinstance(made, Vehicle) else "stage_id"
    for kind in TABLES:
        shape = shape_of(kind)
        if shape.has(name) and shape.has("void_reason") and records.count(kind, live=True, **{name: made.id}):
            what = _("Something was entered for it since.")
            raise WearlogError(_stays(what, records.place_of(made)))


def _told(text: str) -> dict[str, str]:
    return dict(json.loads(text)) if text else {}


def _stays(what: str, where: str) -> Problem:
    return Problem(what, where, _("Nothing was taken back. Change it by hand."), kind=ProblemKind.CONFLICT)


def _changed_since(where: str, mine: object, theirs: object) -> EditConflict:
    what = _("Somebody changed it since.")
    todo = _("Nothing was taken back. Look at what it is now, then change it by hand.")
    return EditConflict(Problem(what, where, todo, kind=ProblemKind.CONFLICT), Versions(mine, theirs))
