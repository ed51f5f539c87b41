"""Words for vehicles and what belongs to them, the same on every page."""

from collections.abc import Callable, Mapping
from datetime import date
from gettext import gettext as _
from typing import Any

from wearlog.drawing.setup_words import drive_text, removal_text
from wearlog.fleet.fitting import Position, RemovalReason
from wearlog.fleet.parts import DriveKind
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.vehicle import Duty, MeterUnit, VehicleKind
from wearlog.units import show
from wearlog.wording import day_text

NONE = "–"


def kind_text(kind: VehicleKind) -> str:
    """Return what sort of vehicle it is."""
    return {
        VehicleKind.ELECTRIC_MOTORCYCLE: _("electric motorcycle"),
        VehicleKind.PETROL_MOTORCYCLE: _("petrol motorcycle"),
        VehicleKind.MOPED: _("moped"),
        VehicleKind.CARGO_EBIKE: _("cargo e-bike"),
        VehicleKind.EBIKE: _("e-bike"),
        VehicleKind.BICYCLE: _("bicycle"),
    }[kind]


def meter_unit_text(unit: MeterUnit) -> str:
    """Return what a meter counts."""
    return {MeterUnit.KM: _("km"), MeterUnit.MILES: _("miles"), MeterUnit.HOURS: _("hours")}[unit]


def duty_text(duty: Duty) -> str:
    """Return how a vehicle is used."""
    return {
        Duty.UNKNOWN: _("not known"),
        Duty.ROAD: _("road"),
        Duty.MIXED: _("road and tracks"),
        Duty.OFF_ROAD: _("off-road"),
    }[duty]


def position_text(position: Position, drive: DriveKind) -> str:
    """Return what sits at a position of a stage."""
    is_chain = drive is DriveKind.CHAIN
    return {
        Position.RUN: _("Chain") if is_chain else _("Belt"),
        Position.DRIVER: _("Driver sprocket") if is_chain else _("Driver pulley"),
        Position.DRIVEN: _("Driven sprocket") if is_chain else _("Driven pulley"),
    }[position]


def count_text(position: Position, drive: DriveKind) -> str:
    """Return what is counted on a part."""
    return _("links") if position is Position.RUN and drive is DriveKind.CHAIN else _("teeth")


def meter_text(value: float | None, on: date | None, unit: MeterUnit) -> str:
    r"""Return what a meter showed last, as its face does.

    Examples
    --------
    >>> meter_text(1609.344, date(2026, 11, 5), MeterUnit.MILES)
    '1000\u2009mi on 5 Nov 2026'
    """
    if value is None or on is None:
        return NONE
    is_hours = unit is MeterUnit.HOURS
    quantity = Quantity.RUNNING_TIME if is_hours else Quantity.DISTANCE
    shown = ShownUnits(distance=unit.value) if not is_hours else ShownUnits()
    return _("{value} on {day}").format(
        value=show(value, quantity, shown, decimals=1 if is_hours else 0), day=day_text(on)
    )


#: Quantity of each field of a stage that is one.
STAGE_QUANTITIES: Mapping[str, Quantity] = {
    "centre_distance_mm": Quantity.LENGTH,
    "adjuster_range_mm": Quantity.LENGTH,
    "span_mm": Quantity.LENGTH,
    "rated_input_rpm": Quantity.ROTATIONAL_SPEED,
    "rated_power_kw": Quantity.POWER,
    "wheel_circumference_mm": Quantity.LENGTH,
}


def stage_field_text(name: str) -> str:
    """Return what a figure of a stage is."""
    return {
        "centre_distance_mm": _("Centre distance"),
        "adjuster_range_mm": _("Adjuster travel"),
        "span_mm": _("Free belt span"),
        "rated_input_rpm": _("Rated input speed"),
        "rated_power_kw": _("Rated power"),
        "wheel_circumference_mm": _("Wheel circumference"),
        "slack_definition": _("How slack is measured"),
    }[name]


def field_text(name: str) -> str:
    """Return what a field of a record of a vehicle is called where two versions stand side by side."""
    words = {
        "tag": _("Tag"),
        "description": _("Description"),
        "kind": _("Kind"),
        "depot": _("Depot"),
        "model": _("Model"),
        "meter_unit": _("Meter counts"),
        "duty": _("Use on duty"),
        "owner_contact": _("Owner’s contact"),
        "in_service_since": _("In service since"),
        "notes": _("Notes"),
        "retired_on": _("Out of service since"),
        "retired_reason": _("Why it was retired"),
        "name": _("Name"),
        "order": _("Place in the line"),
        "drive": _("Chain or belt"),
        "part_type_id": _("Part type"),
        "label": _("Label"),
        "lot": _("Lot or serial"),
        "use_before": _("On it before"),
        "is_history_known": _("Distance known"),
        "fitted_on": _("Fitted on"),
        "fitted_use": _("Meter when fitted"),
        "removed_on": _("Came off on"),
        "removed_use": _("Meter when it came off"),
        "removal_reason": _("Why it came off"),
        "links": _("Links"),
        "cost": _("Cost"),
        "from_on": _("From"),
        "until_on": _("Used again on"),
        "reason": _("Reason"),
        "void_reason": _("Taken back"),
    }
    if name in words:
        return words[name]
    if name in STAGE_QUANTITIES or name == "slack_definition":
        return stage_field_text(name)
    return name.replace("_", " ").capitalize()


def field_value_text(name: str, value: Any, shown: ShownUnits) -> str:
    """Return a value of such a field."""
    if value is None or value == "":
        return _("nothing")
    if name in STAGE_QUANTITIES:
        return show(value, STAGE_QUANTITIES[name], shown, decimals=1)
    words = _WORDS.get(type(value))
    return str(value) if words is None else words(value)


def _yes_or_no(value: bool) -> str:
    return _("yes") if value else _("no")


#: What writes the values of a kind.
_WORDS: Mapping[type, Callable[[Any], str]] = {
    bool: _yes_or_no,
    date: day_text,
    float: "{:g}".format,
    VehicleKind: kind_text,
    Duty: duty_text,
    MeterUnit: meter_unit_text,
    DriveKind: drive_text,
    RemovalReason: removal_text,
}
