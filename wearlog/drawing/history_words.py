"""The words of the history: what happened, where, what it came to, and what more is known of it."""

from gettext import gettext as _
from gettext import ngettext

from wearlog.drawing.number_words import (
    interval_text,
    measurand_text,
    method_text,
    place_text,
    task_text,
    use_text,
    value_text,
)
from wearlog.drawing.torque_words import applied_text, work_text
from wearlog.drawing.trail_words import entry_title, field_changes
from wearlog.fleet.audit import AuditEntry
from wearlog.fleet.fitting import Installation, RemovalReason
from wearlog.fleet.meter import MeterEntry, MeterEvent
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Reading
from wearlog.fleet.service import Visit
from wearlog.fleet.torque import TorqueRecord
from wearlog.wording import day_text
from wearlog.workshop.history_snapshot import HistoryKind, HistoryLine, HistorySnapshot


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def kind_text(kind: HistoryKind) -> str:
    """Return what a kind of line is called, for filters."""
    return {
        HistoryKind.VISIT: _("visits"),
        HistoryKind.READING: _("readings"),
        HistoryKind.METER: _("meter"),
        HistoryKind.FITTED: _("parts fitted"),
        HistoryKind.REMOVED: _("parts removed"),
        HistoryKind.TORQUE: _("torques"),
        HistoryKind.SETUP: _("set-up"),
    }[kind]


def what_text(line: HistoryLine, snapshot: HistorySnapshot) -> str:
    """Return what happened, a word or two."""
    record = line.record
    if isinstance(record, Reading):
        return _capital(measurand_text(record.measurand))
    if isinstance(record, MeterEntry):
        return {
            MeterEvent.READ: _("Meter read"),
            MeterEvent.REPLACED: _("Meter replaced"),
            MeterEvent.ROLLED_OVER: _("Meter rolled over"),
        }[record.event]
    if isinstance(record, Installation):
        return _("Part fitted") if line.kind is HistoryKind.FITTED else _("Part removed")
    if isinstance(record, TorqueRecord):
        return _capital(work_text(record.work))
    if isinstance(record, AuditEntry):
        return _capital(entry_title(record, snapshot.trail.names))
    return _("Visit")


def where_text(line: HistoryLine) -> str:
    """Return which stage and part, or which fastener."""
    if line.fastener is not None:
        return line.fastener.name
    stage = line.stage_name if line.part_text else place_text(line.stage_name, line.position)
    return ", ".join(part for part in (stage, line.part_text) if part)


def value_of(line: HistoryLine, snapshot: HistorySnapshot, shown: ShownUnits) -> str:
    """Return what it came to."""
    record, unit = line.record, snapshot.use_unit
    text = ""
    if isinstance(record, Reading):
        text = reading_text(record, shown)
    elif isinstance(record, MeterEntry):
        text = _meter_text(record, unit, shown)
    elif isinstance(record, Installation):
        text = _fitting_text(line, record, unit, shown)
    elif isinstance(record, TorqueRecord):
        text = applied_text(record, shown) if record.applied_nm else ""
    elif isinstance(record, AuditEntry):
        text = _setup_text(record, snapshot, shown)
    else:
        text = ", ".join(dict.fromkeys(task_text(done.task) for done in record.tasks)) or record.notes
    return text


def _meter_text(record: MeterEntry, unit: str, shown: ShownUnits) -> str:
    if record.event is MeterEvent.READ:
        return use_text(record.value, unit, shown)
    old = _("not known") if record.old_value is None else use_text(record.old_value, unit, shown)
    return _("old {old}, new {new}").format(old=old, new=use_text(record.value, unit, shown))


def reading_text(reading: Reading, shown: ShownUnits) -> str:
    """Return the value of a reading with its uncertainty, or its interval."""
    if reading.value is None:
        return interval_text(reading.measurand, reading.low, reading.high, shown)
    return value_text(reading.measurand, reading.value, reading.u_value or None, shown)


def _fitting_text(line: HistoryLine, record: Installation, unit: str, shown: ShownUnits) -> str:
    use = "" if line.part_use is None else use_text(line.part_use, unit, shown)
    if line.kind is HistoryKind.FITTED:
        return _("new") if not line.part_use else _("with {use} on it").format(use=use)
    reason = "" if record.removal_reason is None else removal_text(record.removal_reason)
    after = _("after {use}").format(use=use) if use else ""
    return ", ".join(part for part in (reason, after) if part)


def removal_text(reason: RemovalReason) -> str:
    """Return why a part came off."""
    return {
        RemovalReason.WORN: _("worn"),
        RemovalReason.EARLY: _("replaced early"),
        RemovalReason.DAMAGED: _("damaged"),
        RemovalReason.MOVED: _("moved"),
        RemovalReason.CONVERSION: _("conversion"),
        RemovalReason.OTHER: _("other reason"),
    }[reason]


def _setup_text(entry: AuditEntry, snapshot: HistorySnapshot, shown: ShownUnits) -> str:
    if not entry.before:
        return ""
    changes = field_changes(entry, snapshot.trail.names, shown)
    return "; ".join(
        _("{name} {before} → {after}").format(name=one.name, before=one.before, after=one.after)
        for one in changes
    )


def detail_sentences(line: HistoryLine, snapshot: HistorySnapshot, shown: ShownUnits) -> tuple[str, ...]:
    """Return all that is known of a line, sentence by sentence."""
    record = line.record
    said: list[str] = []
    if line.void_reason:
        said.append(_("Voided: {reason}.").format(reason=line.void_reason.rstrip(".")))
    if isinstance(record, Reading):
        said += _reading_sentences(line, record)
    elif isinstance(record, TorqueRecord) and line.instrument is not None:
        said.append(_("With {wrench}.").format(wrench=line.instrument.name))
    elif isinstance(record, MeterEntry) and record.typed:
        said.append(_("Typed: {text}.").format(text=record.typed))
    elif isinstance(record, Installation):
        said.append(_span_text(record))
    elif isinstance(record, Visit):
        said += [f"{_capital(task_text(done.task))}: {done.note}." for done in record.tasks if done.note]
    note = getattr(record, "note", "") or getattr(record, "notes", "")
    if note:
        said.append(_("Note: {note}").format(note=note))
    if line.by:
        said.append(_("By {person}.").format(person=line.by))
    total, meter = line.total_use, line.meter_value
    if total is not None and meter is not None and abs(total - meter) > 0.5:
        use = use_text(total, snapshot.use_unit, shown)
        said.append(_("Total use of the vehicle: {use}.").format(use=use))
    return tuple(said)


def _span_text(record: Installation) -> str:
    if record.removed_on is None:
        return _("Fitted {on}, still there.").format(on=day_text(record.fitted_on))
    return _("Fitted {on}, came off {off}.").format(
        on=day_text(record.fitted_on), off=day_text(record.removed_on)
    )


def _reading_sentences(line: HistoryLine, reading: Reading) -> list[str]:
    typed = "  ".join(spot.typed for spot in reading.spots)
    way = method_text(reading.method)
    if reading.pitches:
        way = _("{way} over {n} pitches").format(way=way, n=reading.pitches)
    if line.instrument is not None:
        way = f"{way}, {line.instrument.name}"
    said = [_("Typed: {text} ({way}).").format(text=typed, way=way) if typed else f"{_capital(way)}."]
    if reading.was_cleaned is not None:
        said.append(_("Cleaned before.") if reading.was_cleaned else _("Not cleaned before."))
    if reading.is_zero_reading:
        said.append(_("Reading of the new part."))
    if reading.definition:
        said.append(_("Measured: {how}.").format(how=reading.definition))
    if reading.is_late_entry:
        said.append(_("Entered later."))
    return said


def summary_text(snapshot: HistorySnapshot) -> str:
    """Return in a line how much is known and since when."""
    if not snapshot.lines:
        return _("Nothing has happened yet.")
    readings = sum(1 for line in snapshot.lines if line.kind is HistoryKind.READING and not line.void_reason)
    voided = sum(1 for line in snapshot.lines if line.void_reason)
    since = day_text(snapshot.lines[-1].on)
    text = ngettext("{n} reading since {day}", "{n} readings since {day}", readings)
    text = text.format(n=readings, day=since)
    if not voided:
        return text
    beside = ngettext("{n} record voided", "{n} records voided", voided).format(n=voided)
    return f"{text}, {beside}"
