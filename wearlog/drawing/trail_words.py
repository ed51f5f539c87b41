"""The words of the trail: what a record is called, which of its values changed, from what to what."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from gettext import gettext as _
from typing import Any

from wearlog import units
from wearlog.drawing.number_words import measurand_text, method_text, task_text, use_quantity
from wearlog.fleet.audit import PERSONAL_MARK, AuditEntry
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.reading import Measurand, Method
from wearlog.fleet.service import Task
from wearlog.wording import day_text
from wearlog.workshop.history_snapshot import TrailNames

#: What stands for no value.
NOTHING = "–"


@dataclass(frozen=True, slots=True)
class FieldChange:
    """One value that changed, in words; `before` is empty where the record was added."""

    name: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class _About:
    """What a value is read with: its record, and the names and units."""

    entry: AuditEntry
    values: dict[str, Any]
    names: TrailNames
    shown: ShownUnits

    @property
    def measurand(self) -> Measurand | None:
        told = self.values.get("measurand")
        return Measurand(told) if told else self.names.measurands.get(self.entry.record_id)

    @property
    def use_unit(self) -> str:
        return self.names.use_units.get(self.entry.vehicle_id or 0, "km")


_Words = Callable[[Any, _About], str]


def record_text(record: str) -> str:
    """Return what a kind of record is called.

    Examples
    --------
    >>> record_text("MeterEntry")
    'meter entry'
    """
    return {
        "Vehicle": _("vehicle"),
        "Stage": _("drive stage"),
        "PartType": _("part type"),
        "Part": _("part"),
        "Installation": _("fitting"),
        "Visit": _("visit"),
        "MeterEntry": _("meter entry"),
        "Instrument": _("instrument"),
        "Reading": _("reading"),
        "IntervalRule": _("interval rule"),
        "Limit": _("service limit"),
        "TorqueSheet": _("torque sheet"),
        "Fastener": _("fastener"),
        "TorqueRecord": _("torque"),
        "Setting": _("setting"),
    }.get(record, record)


def entry_title(entry: AuditEntry, names: TrailNames) -> str:
    """Return what happened to which record, for example ``"reading changed"``."""
    record = record_text(entry.record)
    changes = _told(entry.after)
    if entry.record == "Reading":
        measurand = changes.get("measurand") or names.measurands.get(entry.record_id)
        if measurand:
            record = _("reading of {measurand}").format(measurand=measurand_text(Measurand(measurand)))
    if not entry.before:
        return _("{record} added").format(record=record)
    if changes.get("void_reason"):
        return _("{record} voided").format(record=record)
    if "void_reason" in changes:
        return _("{record} counts again").format(record=record)
    return _("{record} changed").format(record=record)


def moment_text(entry: AuditEntry) -> str:
    """Return when, to the minute, where the workshop is."""
    at = entry.at.astimezone()
    return f"{day_text(at.date())} {at:%H:%M}"


def moment_iso(entry: AuditEntry) -> str:
    """Return when, ISO 8601 in UTC, for files."""
    return entry.at.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")


def person_text(by: str) -> str:
    """Return who, or that nobody said."""
    return by or _("not said")


def field_changes(entry: AuditEntry, names: TrailNames, shown: ShownUnits) -> tuple[FieldChange, ...]:
    """Return what changed, value by value, with its units.

    Parameters
    ----------
    entry : AuditEntry
        One entry of the trail.
    names : TrailNames
        What the numbers in it stand for.
    shown : ShownUnits
        The units of this seat.

    Examples
    --------
    >>> entry = AuditEntry(at=datetime(2026, 11, 5, tzinfo=UTC), by="Tilda", what="Slip", record="MeterEntry",
    ...     record_id=1, vehicle_id=1, before='{"value":12345.0}', after='{"value":12354.0}')
    >>> [change] = field_changes(entry, TrailNames(use_units={1: "km"}), ShownUnits())
    >>> change.name, change.before.replace(units.NARROW_NO_BREAK_SPACE, " ").replace(units.THIN_SPACE, " ")
    ('value', '12 345 km')
    """
    before, after = _told(entry.before), _told(entry.after)
    about = _About(entry, {**before, **after}, names, shown)
    found = []
    for name in dict.fromkeys((*before, *after)):
        if name in _LEFT_OUT:
            continue
        told_before = _value(name, before[name], about) if name in before else ""
        told_after = _value(name, after[name], about) if name in after else NOTHING
        found.append(FieldChange(_field_text(name, entry.record), told_before, told_after))
    return tuple(found)


def before_text(entry: AuditEntry, names: TrailNames, shown: ShownUnits) -> str:
    """Return all that was before, in one line; empty where the record was added."""
    changes = field_changes(entry, names, shown)
    return "; ".join(f"{change.name}: {change.before}" for change in changes if change.before)


def after_text(entry: AuditEntry, names: TrailNames, shown: ShownUnits) -> str:
    """Return all that is after, in one line."""
    changes = field_changes(entry, names, shown)
    return "; ".join(f"{change.name}: {change.after}" for change in changes)


def field_text(name: str, record: str = "") -> str:
    """Return what a field of a record is called.

    Examples
    --------
    >>> field_text("fitted_on"), field_text("centre_distance_mm")
    ('fitted on', 'centre distance')
    """
    return _field_text(name, record)


def kept_text(record: str, name: str, value: Any, use_unit: str, shown: ShownUnits) -> str:
    """Return the value of a field of a kept record, with its unit.

    Parameters
    ----------
    record : str
        The kind of record, for example ``"MeterEntry"``.
    name : str
        The field.
    value : Any
        As it is kept.
    use_unit : str
        ``"km"`` or ``"h"``.
    shown : ShownUnits
        The units of this seat.
    """
    nobody = AuditEntry(
        at=datetime.min.replace(tzinfo=UTC), by="", what="", record=record, record_id=0, vehicle_id=None
    )
    return _value(name, value, _About(nobody, {}, TrailNames(use_units={0: use_unit}), shown))


def _told(text: str) -> dict[str, Any]:
    return dict(json.loads(text)) if text else {}


def _value(name: str, value: Any, about: _About) -> str:
    if value is None or value in ("", []):
        return NOTHING
    if isinstance(value, str) and value.startswith(PERSONAL_MARK):
        return _("kept apart, personal")
    words = _WORDS.get(name)
    if words is None:
        words = _enum if isinstance(value, str) else _plain
    return words(value, about)


# --- one value -------------------------------------------------------------------------------------------

#: What a reader of the trail has no use for: it stands beside, or says how a number came about.
_LEFT_OUT = {"vehicle_id", "mean", "spread"}


def _plain(value: Any, _about: _About) -> str:
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, list):
        return ", ".join(map(str, value))
    return str(value)


def _enum(value: Any, _about: _About) -> str:
    text = str(value)
    return _(text) if text else NOTHING


def _day(value: Any, _about: _About) -> str:
    return day_text(date.fromisoformat(str(value)))


def _use(value: Any, about: _About) -> str:
    return units.show(float(value), use_quantity(about.use_unit), about.shown, decimals=0)


def _of(quantity: Quantity) -> _Words:
    def words(value: Any, about: _About) -> str:
        if isinstance(value, list):
            return ", ".join(words(one, about) for one in value)
        return units.show(float(value), quantity, about.shown)

    return words


def _measured(value: Any, about: _About) -> str:
    """Return the value of a reading, of a meter, or of something else that is called value."""
    if about.entry.record == "MeterEntry":
        return _use(value, about)
    if about.entry.record == "Reading" and about.measurand is not None:
        if not abs(float(value)) < float("inf"):
            return _("open")
        return units.show(float(value), about.measurand.quantity, about.shown)
    return _plain(value, about)


def _uncertainty(value: Any, about: _About) -> str:
    if about.measurand is None:
        return _plain(value, about)
    return units.show(float(value), about.measurand.quantity, about.shown, u=float(value), with_u=False)


def _limit(value: Any, about: _About) -> str:
    return _plain(value, about) if about.measurand is None else _measured_limit(value, about)


def _measured_limit(value: Any, about: _About) -> str:
    measurand = about.measurand
    return "" if measurand is None else units.show(float(value), measurand.quantity, about.shown)


def _typed_spots(value: Any, _about: _About) -> str:
    return "  ".join(str(spot["typed"]) for spot in value)


def _tasks(value: Any, _about: _About) -> str:
    return ", ".join(task_text(Task(done["task"])) for done in value)


def _named(which: Callable[[TrailNames], dict[int, str]]) -> _Words:
    def words(value: Any, about: _About) -> str:
        return which(about.names).get(int(value), _("number {n}").format(n=value))

    return words


_WORDS: dict[str, _Words] = {
    "on": _day,
    "fitted_on": _day,
    "removed_on": _day,
    "retired_on": _day,
    "in_service_since": _day,
    "calibration_due": _day,
    "total_use": _use,
    "fitted_use": _use,
    "removed_use": _use,
    "use_before": _use,
    "old_value": _use,
    "value": _measured,
    "low": _measured,
    "high": _measured,
    "u_value": _uncertainty,
    "service_limit": _limit,
    "stop_use_limit": _limit,
    "as_new": _limit,
    "spots": _typed_spots,
    "tasks": _tasks,
    "method": lambda value, _about: method_text(Method(value)),
    "measurand": lambda value, _about: measurand_text(Measurand(value)),
    "applied_nm": _of(Quantity.TORQUE),
    "low_nm": _of(Quantity.TORQUE),
    "high_nm": _of(Quantity.TORQUE),
    "centre_distance_mm": _of(Quantity.LENGTH),
    "adjuster_range_mm": _of(Quantity.LENGTH),
    "span_mm": _of(Quantity.LENGTH),
    "pitch_mm": _of(Quantity.LENGTH),
    "roller_diameter_mm": _of(Quantity.LENGTH),
    "inner_width_mm": _of(Quantity.LENGTH),
    "width_mm": _of(Quantity.LENGTH),
    "wheel_circumference_mm": _of(Quantity.LENGTH),
    "temperature_degc": _of(Quantity.TEMPERATURE),
    "load_n": _of(Quantity.FORCE),
    "rated_power_kw": _of(Quantity.POWER),
    "rated_input_rpm": _of(Quantity.ROTATIONAL_SPEED),
    "mass_kg_per_m": _of(Quantity.LINEAR_DENSITY),
    "every_km": _of(Quantity.DISTANCE),
    "first_km": _of(Quantity.DISTANCE),
    "recheck_km": _of(Quantity.DISTANCE),
    "every_h": _of(Quantity.RUNNING_TIME),
    "first_h": _of(Quantity.RUNNING_TIME),
    "recheck_h": _of(Quantity.RUNNING_TIME),
    "stage_id": _named(lambda names: names.stages),
    "part_id": _named(lambda names: names.parts),
    "part_type_id": _named(lambda names: names.part_types),
    "instrument_id": _named(lambda names: names.instruments),
    "fastener_id": _named(lambda names: names.fasteners),
    **{
        name: lambda value, _about: str(value)
        for name in ("by", "tag", "typed", "note", "notes", "name", "label", "void_reason", "source")
    },
}


def _field_text(name: str, record: str) -> str:
    """Return what a value is called; the unit of its field's name is said by the value."""
    if record == "Setting":
        return _(name)
    said = {
        "on": _("day"),
        "typed": _("as typed"),
        "spots": _("as typed"),
        "u_value": _("standard uncertainty"),
        "total_use": _("total use"),
        "fitted_on": _("fitted on"),
        "fitted_use": _("fitted at"),
        "removed_on": _("came off on"),
        "removed_use": _("came off at"),
        "removal_reason": _("why it came off"),
        "old_value": _("last value of the old meter"),
        "void_reason": _("voided because"),
        "stage_id": _("drive stage"),
        "part_id": _("part"),
        "part_type_id": _("part type"),
        "instrument_id": _("instrument"),
        "fastener_id": _("fastener"),
        "installation_id": _("fitting number"),
        "visit_id": _("visit number"),
        "applied_nm": _("torque"),
        "is_late_entry": _("entered later"),
        "is_zero_reading": _("reading of the new part"),
        "was_cleaned": _("cleaned before"),
        "use_before": _("use before it came here"),
        "is_history_known": _("history known"),
        "by": _("who"),
    }
    if name in said:
        return said[name]
    for ending in ("_mm", "_nm", "_km", "_h", "_n", "_degc", "_kw", "_rpm", "_kg_per_m", "_id"):
        name = name.removesuffix(ending)
    return _(name.replace("_", " "))
