"""What the steps of an import share: the records, what is kept, and what was found so far."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from difflib import get_close_matches
from gettext import gettext as _
from typing import TypeVar

from wearlog.fleet.fitting import Installation
from wearlog.fleet.meter import MOST_KM_A_DAY, MeterEntry, MeterEvent, UseHistory
from wearlog.fleet.parts import Part, PartType
from wearlog.fleet.problem import Doubt, DoubtKind, Findings
from wearlog.fleet.progress import Progress
from wearlog.fleet.reading import Instrument, Reading
from wearlog.fleet.service import Visit
from wearlog.fleet.vehicle import MeterUnit, Stage, Vehicle
from wearlog.store.records import Records
from wearlog.workshop.import_rows import Amount, Where

R = TypeVar("R", bound=Installation | MeterEntry | Part | Reading | Visit)

#: Records kept between two looks at whether the person wants to stop.
_PORTION = 2000
#: International mile, yard of exactly 0.9144 m (agreement of 1959).
KM_PER_MILE = 1.609344


@dataclass(slots=True)
class MeterState:
    """A vehicle's meter entries, kept and new, and the total use that follows."""

    entries: list[MeterEntry] = field(default_factory=list)
    history: UseHistory = field(default_factory=lambda: UseHistory(()))

    def total_use(self, value: float, on: date) -> float:
        """Return the total use for what the meter showed on a day, km (h).

        On the day of a replacement the new meter counts, unless the value can only be the old one's.
        """
        for entry in self.entries:
            if entry.on == on and entry.event is not MeterEvent.READ and is_of_old_meter(entry, value):
                reached = self.history.total_for(entry.value, on)
                return reached - (entry.old_value or 0.0) + value
        return self.history.total_for(value, on)


def is_of_old_meter(replacement: MeterEntry, value: float) -> bool:
    """Whether a value read on the day of a replacement can only be of the old meter."""
    old = replacement.old_value
    return old is not None and value <= old + 1e-6 and value > replacement.value + MOST_KM_A_DAY


@dataclass(slots=True)
class Import:
    """One import under way."""

    records: Records
    today: date
    progress: Progress
    findings: Findings = field(default_factory=Findings)
    doubts: list[Doubt] = field(default_factory=list)
    added: Counter[str] = field(default_factory=Counter)
    already: Counter[str] = field(default_factory=Counter)
    vehicles: dict[str, Vehicle] = field(default_factory=dict)
    stages: dict[tuple[int, str], Stage] = field(default_factory=dict)
    part_types: dict[str, PartType] = field(default_factory=dict)
    instruments: dict[str, Instrument] = field(default_factory=dict)
    parts: dict[int, Part] = field(default_factory=dict)
    installations: dict[int, list[Installation]] = field(default_factory=dict)
    meters: dict[int, MeterState] = field(default_factory=dict)
    visits: dict[tuple[int, date], Visit] = field(default_factory=dict)

    def count(self, what: str, *, added: int = 0, already: int = 0) -> None:
        """Count what was added and what was there."""
        self.added[what] += added
        self.already[what] += already

    def add_all(self, records: Sequence[R], what: str) -> list[R]:
        """Keep new records, portion by portion, so that the person can stop meanwhile."""
        kept: list[R] = []
        for start in range(0, len(records), _PORTION):
            self.progress.step(start, len(records), what)
            kept += self.records.add_all(records[start : start + _PORTION])
        return kept

    def doubt(self, question: str, where: str, kind: DoubtKind = DoubtKind.OTHER) -> None:
        """Keep a question."""
        self.doubts.append(Doubt(kind, question, where))

    def take_over(self, doubts: tuple[Doubt, ...], where: Where) -> None:
        """Keep the questions that a measurement raised, with the row they belong to."""
        self.doubts.extend(Doubt(doubt.kind, doubt.question, str(where)) for doubt in doubts)

    def vehicle(self, tag: str, where: Where) -> Vehicle | None:
        """Return a vehicle; None, with the problem said, if there is none."""
        found = self.vehicles.get(tag)
        if found is None:
            self._unknown(
                _("There is no vehicle {name}.").format(name=tag), tag, self.vehicles, where, "vehicle"
            )
        return found

    def stage(self, vehicle: Vehicle, name: str, where: Where, column: str = "stage") -> Stage | None:
        """Return a stage of a vehicle; None, with the problem said, if there is none."""
        found = self.stages.get((vehicle.id, name))
        if found is None:
            known = {stage: 0 for vehicle_id, stage in self.stages if vehicle_id == vehicle.id}
            what = _("{vehicle} has no stage {name}.").format(vehicle=vehicle.tag, name=name)
            self._unknown(what, name, known, where, column)
        return found

    def part_type(self, name: str, where: Where) -> PartType | None:
        """Return a part type; None, with the problem said, if there is none."""
        found = self.part_types.get(name)
        if found is None:
            what = _("There is no part type {name}.").format(name=name)
            self._unknown(what, name, self.part_types, where, "part type")
        return found

    def instrument(self, name: str, where: Where) -> Instrument | None:
        """Return an instrument; None, with the problem said, if there is none."""
        found = self.instruments.get(name)
        if found is None:
            what = _("There is no instrument {name}.").format(name=name)
            self._unknown(what, name, self.instruments, where, "instrument")
        return found

    def _unknown(self, what: str, name: str, known: Mapping[str, object], where: Where, column: str) -> None:
        near = get_close_matches(name, known, n=1)
        if near:
            todo = _("Did you mean {near}?").format(near=near[0])
        else:
            todo = _("Check the spelling, or bring it in first.")
        self.findings.add(what, where.cell(column), todo)

    def canonical(self, amount: Amount, vehicle: Vehicle, where: Where, column: str) -> float | None:
        """Return what the vehicle's meter showed, km (h); None, with the problem said, in a wrong unit."""
        if not amount.unit:
            return amount.value * KM_PER_MILE if vehicle.meter_unit is MeterUnit.MILES else amount.value
        if amount.unit != vehicle.meter_unit.use_unit:
            self.findings.add(
                _("{value} does not fit the meter of {vehicle}, which counts {unit}.").format(
                    value=amount.typed, vehicle=vehicle.tag, unit=vehicle.meter_unit.value
                ),
                where.cell(column),
                _("Give the value in {unit}.").format(unit=vehicle.meter_unit.value),
            )
            return None
        return amount.value

    def is_past(self, day: date, where: Where, column: str) -> bool:
        """Whether a day has come; says the problem if not."""
        if day > self.today:
            self.findings.add(
                _("{day} lies in the future.").format(day=day.isoformat()),
                where.cell(column),
                _("Check the date."),
            )
            return False
        return True
