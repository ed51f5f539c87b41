"""What a vehicle of the invented fleet is, and what can happen to it."""

from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from sample_fleet.catalogue import SetUp

TITLE = "Larkfell Ranger Service"
DESCRIPTION = "An invented patrol fleet: two depots, 41 light two-wheelers, three years of records."
UPPER = "Upper Depot"
HARBOUR = "Harbour Depot"
MECHANICS = {UPPER: ("Tilda", "Osric"), HARBOUR: ("Wenna", "Corbin")}

Happening = Literal[
    "convert",  # a belt primary becomes a chain primary
    "fit used",  # a used chain goes on; `value` its elongation, `distance` what is known to be on it
    "fit",  # the chain is renewed on this very day; `value` is 1 if the new one is measured
    "take off",  # the chain is kept under a label and a new one goes on
    "put on",  # the chain of that label goes on
    "rogue",  # the next chain fitted wears `value` times as fast
    "meter replaced",  # `value` is 1 if the old value was noted
    "stands",  # no use until `until`
    "retire",
    "wait",  # no part is renewed from here on: it is on order
    "damage",  # a belt is damaged by a stone; it goes to the given share
    "voided misread",  # a pitch too many counted, found and voided
    "digit slip",  # two digits change places
    "uncleaned",  # a dirty chain reads low
    "wrong vehicle",  # the reading belongs to another chain
    "miles",  # the meter of a visit is written in miles
    "shorten",  # two links out of a chain that came too long
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """Something that happens on a day."""

    on: date
    what: Happening
    stage: str = "final drive"
    label: str = ""
    until: date | None = None
    value: float = 0.0
    distance: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class VehiclePlan:
    """A vehicle as it is and will be used. `start_km` is on it when its road begins, if it is not new."""

    tag: str
    description: str
    kind: str
    depot: str
    model: str
    set_ups: tuple[SetUp, ...]
    duty: str = "mixed"
    stated_duty: str | None = None
    meter_unit: str = "km"
    km_per_day: float = 25.0
    summer: float = 0.15
    visit_km: float = 1400.0
    visit_days: int = 84
    start_km: float = 0.0
    since: date = date(2023, 1, 2)
    km_per_hour: float = 24.0
    vehicle_factor: float | None = None
    owner_contact: str = ""
    notes: str = ""
    stories: tuple[Story, ...] = field(default=())
