"""A fleet of any size in a database, all invented: `python -m tests.makers.big_fleet FILE [VEHICLES]`.

A thousand vehicles have about 3100 installations, 26,000 readings, 7800 visits and 9700 meter entries. Wear
follows a power of the distance with a log-normal rate; what counts here is how much there is to be read.
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from tests.makers.bench import SAMPLE_DAY, empty_bench
from wearlog.fleet.fitting import Installation, Position, RemovalReason
from wearlog.fleet.limit import Limit
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.parts import DriveKind, Part, PartKind, PartType, WearClass
from wearlog.fleet.reading import Measurand, Method, Reading, Spot
from wearlog.fleet.service import Task, TaskDone, Visit
from wearlog.fleet.vehicle import Duty, MeterUnit, Stage, Vehicle, VehicleKind
from wearlog.workshop.bench import Bench

PEOPLE = ("Tilda", "Corbin", "Wenna", "Ansel")
DEPOTS = ("Upper Depot", "Harbour Depot", "Moor Depot", "Ferry Depot", "Quarry Depot")
DUTIES = (Duty.ROAD, Duty.ROAD, Duty.MIXED, Duty.OFF_ROAD)
#: Visits of an ordinary vehicle over its years with the service.
MOST_VISITS = 9
#: From one of them to the next, [days].
VISIT_EVERY_DAYS = 170


@dataclass(frozen=True, slots=True)
class _Sort:
    """A sort of vehicle: what is on its final drive, and how fast it wears, share of the limit in 1000 km."""

    prefix: str
    description: str
    kind: VehicleKind
    model: str
    chain: str
    wear_class: WearClass
    pitch_mm: float
    roller_mm: float
    links: int
    driver: tuple[int, ...]
    driven: tuple[int, ...]
    limit: float
    rate: float
    km_a_day: float
    has_belt: bool = False


_PATROL = _Sort(
    "LR",
    "Patrol motorcycle, electric, chain drive",
    VehicleKind.ELECTRIC_MOTORCYCLE,
    "PM-C",
    "428",
    WearClass.SEALED_MOTORCYCLE_CHAIN,
    12.7,
    8.51,
    118,
    (14, 15),
    (42, 45, 48),
    0.010,
    0.055,
    26.0,
)
SORTS = (
    (_PATROL, 0.40),
    (
        replace(
            _PATROL, description="Patrol motorcycle, electric, belt primary", model="PM-B", has_belt=True
        ),
        0.15,
    ),
    (
        _Sort(
            "LT",
            "Trail motorcycle, petrol, 520 chain",
            VehicleKind.PETROL_MOTORCYCLE,
            "TM-5",
            "520",
            WearClass.OPEN_MOTORCYCLE_CHAIN,
            15.875,
            10.16,
            112,
            (13, 14),
            (44, 50),
            0.017,
            0.11,
            13.0,
        ),
        0.20,
    ),
    (
        _Sort(
            "LC",
            "Cargo e-bike, mid drive, derailleur",
            VehicleKind.CARGO_EBIKE,
            "CB-D",
            "1/2 x 3/32",
            WearClass.DERAILLEUR_CYCLE_CHAIN,
            12.7,
            7.75,
            122,
            (),
            (),
            0.0075,
            0.20,
            15.0,
        ),
        0.25,
    ),
)


def big_fleet(
    bench: Bench,
    vehicles: int = 10_000,
    seed: int = 1,
    *,
    visit_every_days: int = VISIT_EVERY_DAYS,
    most_visits: int = MOST_VISITS,
) -> None:
    """Add so many vehicles with their drives and their past to a bench's database, in one transaction."""
    chance = np.random.default_rng(seed)
    maker = _Maker(bench, chance, visit_every_days, most_visits)
    maker.make(vehicles)


def big_bench(
    file: Path | str,
    vehicles: int = 10_000,
    seed: int = 1,
    *,
    visit_every_days: int = VISIT_EVERY_DAYS,
    most_visits: int = MOST_VISITS,
) -> Bench:
    """Return a bench on a new database with a fleet of so many vehicles."""
    bench = empty_bench(file, SAMPLE_DAY)
    big_fleet(bench, vehicles, seed, visit_every_days=visit_every_days, most_visits=most_visits)
    return bench


@dataclass(slots=True)
class _Fitted:
    """An installation on its way into the database, and how the part wears."""

    installation: Installation
    measurand: Measurand
    as_new: float
    span: float
    rate: float


class _Maker:
    def __init__(
        self, bench: Bench, chance: np.random.Generator, visit_every_days: int, most_visits: int
    ) -> None:
        self.bench = bench
        self.chance = chance
        self.visit_every_days = visit_every_days
        self.most_visits = most_visits
        self.visits: list[Visit] = []
        self.entries: list[MeterEntry] = []
        self.readings: list[Reading] = []

    def make(self, count: int) -> None:
        shares = np.array([share for _sort, share in SORTS])
        picked = self.chance.choice(len(SORTS), count, p=shares / shares.sum())
        sorts = [SORTS[n][0] for n in picked]
        with self.bench.database.writing(by="Tilda", at=self.bench.now(), what="Big fleet") as records:
            types = records.add_all(list(_part_types()))
            self.types = {part_type.name: part_type for part_type in types}
            records.add_all(list(_limits()))
            vehicles = records.add_all([self._vehicle(n, sort) for n, sort in enumerate(sorts)])
            stages = records.add_all(
                [s for v, sort in zip(vehicles, sorts, strict=True) for s in _stages(v, sort)]
            )
            of_vehicle: dict[int, list[Stage]] = {}
            for stage in stages:
                of_vehicle.setdefault(stage.vehicle_id, []).append(stage)
            parts: list[Part] = []
            fitted: list[_Fitted] = []
            spans = []
            for vehicle, sort in zip(vehicles, sorts, strict=True):
                begin = len(fitted)
                self._fit(vehicle, sort, of_vehicle[vehicle.id], parts, fitted)
                spans.append((begin, len(fitted)))
            kept_parts = records.add_all(parts)
            kept = records.add_all(
                [
                    replace(one.installation, part_id=part.id)
                    for one, part in zip(fitted, kept_parts, strict=True)
                ]
            )
            for one, installation in zip(fitted, kept, strict=True):
                one.installation = installation
            for vehicle, sort, (begin, end) in zip(vehicles, sorts, spans, strict=True):
                self._serve(vehicle, sort, of_vehicle[vehicle.id], fitted[begin:end])
            kept_visits = records.add_all(self.visits)
            records.add_all(
                [
                    e if e.visit_id is None else replace(e, visit_id=kept_visits[e.visit_id].id)
                    for e in self.entries
                ]
            )
            records.add_all([replace(r, visit_id=kept_visits[r.visit_id or 0].id) for r in self.readings])

    def _vehicle(self, number: int, sort: _Sort) -> Vehicle:
        years = float(self.chance.uniform(0.4, 5.5))
        is_retired = self.chance.random() < 0.02
        return Vehicle(
            tag=f"{sort.prefix}-{number + 1:05d}",
            description=sort.description,
            kind=sort.kind,
            depot=DEPOTS[number % len(DEPOTS)],
            meter_unit=MeterUnit.HOURS
            if sort.prefix == "LT" and self.chance.random() < 0.1
            else MeterUnit.KM,
            duty=DUTIES[int(self.chance.integers(len(DUTIES)))],
            model=sort.model,
            in_service_since=SAMPLE_DAY - timedelta(days=round(365 * years)),
            retired_on=SAMPLE_DAY - timedelta(days=30) if is_retired else None,
        )

    def _rate_a_day(self, vehicle: Vehicle, sort: _Sort) -> float:
        scale = 0.03 if vehicle.meter_unit is MeterUnit.HOURS else 1.0
        return sort.km_a_day * scale * (0.6 + 0.8 * _share_of(vehicle.id))

    def _fit(
        self, vehicle: Vehicle, sort: _Sort, stages: list[Stage], parts: list[Part], fitted: list[_Fitted]
    ) -> None:
        since = vehicle.in_service_since or SAMPLE_DAY
        a_day = self._rate_a_day(vehicle, sort)
        days = (SAMPLE_DAY - since).days
        scale = 0.03 if vehicle.meter_unit is MeterUnit.HOURS else 1.0
        of_vehicle = float(np.exp(0.2 * self.chance.standard_normal()))

        def place(
            stage: Stage, position: Position, name: str, begin: int, end: int | None, rate: float
        ) -> None:
            part_type = self.types[name]
            worn = None if end is None else since + timedelta(days=end)
            parts.append(
                Part(part_type_id=part_type.id, lot=f"L{1 + len(parts) % 40:02d}", cost=part_type.price)
            )
            measurand, as_new, span = _scale(part_type, sort)
            fitted.append(
                _Fitted(
                    Installation(
                        part_id=0,
                        vehicle_id=vehicle.id,
                        stage_id=stage.id,
                        position=position,
                        fitted_on=since + timedelta(days=begin),
                        fitted_use=round(a_day * begin, 1),
                        removed_on=worn,
                        removed_use=None if end is None else round(a_day * end, 1),
                        removal_reason=None if end is None else RemovalReason.WORN,
                    ),
                    measurand,
                    as_new,
                    span,
                    rate * of_vehicle / scale * float(np.exp(0.3 * self.chance.standard_normal())),
                )
            )

        for stage in stages:
            if stage.drive is DriveKind.BELT:
                place(stage, Position.RUN, "Belt H8M 62 t 20 mm", 0, None, 0.02)
                continue
            chain = f"Chain {sort.chain} {sort.links} links"
            # The first chain lasts about as long as its rate says; what runs now was fitted after it.
            life = round(1000.0 * scale / sort.rate / a_day * float(self.chance.uniform(0.8, 1.2)))
            first = life if sort.driver and life < days else None
            is_cycle = not sort.driver
            begin = 0
            for _n in range(1 if not is_cycle else 2):
                end = (life if is_cycle else first) if begin + life < days else None
                end = None if end is None else begin + end
                if self.chance.random() < 0.15 or is_cycle:
                    place(stage, Position.RUN, chain, begin, end, sort.rate)
                    begin = begin if end is None else end
                if end is None and fitted and fitted[-1].installation.is_current:
                    break
            if (
                not fitted
                or not fitted[-1].installation.is_current
                or fitted[-1].installation.stage_id != stage.id
            ):
                place(stage, Position.RUN, chain, begin, None, sort.rate)
            for position, teeth in ((Position.DRIVER, sort.driver), (Position.DRIVEN, sort.driven)):
                if teeth:
                    name = f"Sprocket {sort.chain} {teeth[int(self.chance.integers(len(teeth)))]} t"
                    place(stage, position, name, 0, None, 0.3 * sort.rate)

    def _serve(self, vehicle: Vehicle, sort: _Sort, stages: list[Stage], fitted: list[_Fitted]) -> None:
        since = vehicle.in_service_since or SAMPLE_DAY
        a_day = self._rate_a_day(vehicle, sort)
        days = (SAMPLE_DAY - since).days
        count = int(np.clip(round(days / self.visit_every_days + 3), 3, self.most_visits))
        by = PEOPLE[vehicle.id % len(PEOPLE)]
        offsets = np.sort(self.chance.choice(np.arange(5, max(days, count + 6)), count, replace=False))
        offsets = offsets[offsets <= days]
        self.entries.append(MeterEntry(vehicle_id=vehicle.id, on=since, value=0.0, by=by))
        for offset in offsets.tolist():
            on, use = since + timedelta(days=offset), round(a_day * offset, 1)
            number = len(self.visits)
            tasks = [TaskDone(task=Task.CLEANED), TaskDone(task=Task.MEASURED)]
            for stage in stages:
                if stage.drive is DriveKind.CHAIN:
                    tasks.append(TaskDone(task=Task.LUBRICATED, stage_id=stage.id))
                if stage.centre_distance_mm is not None and self.chance.random() < 0.3:
                    done = TaskDone(
                        task=Task.TENSION_SET, stage_id=stage.id, before=38.0, after=26.0, quantity_unit="mm"
                    )
                    tasks.append(done if stage.drive is DriveKind.CHAIN else replace(done, quantity_unit=""))
            self.visits.append(Visit(vehicle_id=vehicle.id, on=on, total_use=use, by=by, tasks=tuple(tasks)))
            self.entries.append(
                MeterEntry(vehicle_id=vehicle.id, on=on, value=use, visit_id=number, by=by, typed=f"{use:g}")
            )
            self._measure(vehicle, stages, fitted, on, use, number, by)
        last = days - int(self.chance.integers(0, 20))
        if len(offsets) and last > offsets[-1]:
            self.entries.append(
                MeterEntry(
                    vehicle_id=vehicle.id,
                    on=since + timedelta(days=last),
                    value=round(a_day * last, 1),
                    by=by,
                )
            )

    def _measure(
        self,
        vehicle: Vehicle,
        stages: list[Stage],
        fitted: list[_Fitted],
        on: date,
        use: float,
        visit: int,
        by: str,
    ) -> None:
        for one in fitted:
            installation = one.installation
            end = installation.removed_use
            if use <= installation.fitted_use or (end is not None and use >= end):
                continue
            worn = one.rate * ((use - installation.fitted_use) / 1000.0) ** 1.1
            u_share = 0.03
            noise = u_share * self.chance.standard_normal()
            value = one.as_new + one.span * float(max(worn + noise, -0.05))
            typed, spot, method, pitches = _typed(one.measurand, value)
            self.readings.append(
                Reading(
                    vehicle_id=vehicle.id,
                    stage_id=installation.stage_id,
                    installation_id=installation.id,
                    visit_id=visit,
                    on=on,
                    total_use=use,
                    measurand=one.measurand,
                    method=method,
                    spots=(Spot(typed=typed, value=spot, resolution=0.05),) * 2,
                    value=value,
                    u_value=abs(one.span) * u_share,
                    mean=value,
                    spread=0.0,
                    pitches=pitches,
                    by=by,
                )
            )
        for stage in stages:
            if stage.centre_distance_mm is not None and stage.drive is DriveKind.CHAIN:
                slack = max(float(30.0 + 8.0 * self.chance.standard_normal()), 5.0)
                self.readings.append(
                    Reading(
                        vehicle_id=vehicle.id,
                        stage_id=stage.id,
                        installation_id=None,
                        visit_id=visit,
                        on=on,
                        total_use=use,
                        measurand=Measurand.SLACK,
                        method=Method.DIRECT,
                        spots=(Spot(typed=f"{slack:.0f} mm", value=slack, resolution=1.0),),
                        value=slack,
                        u_value=1.5,
                        definition=stage.slack_definition,
                        by=by,
                    )
                )


def _share_of(number: int) -> float:
    """Return a share that is always the same for a vehicle."""
    return (number * 7919 % 1000) / 1000.0


def _stages(vehicle: Vehicle, sort: _Sort) -> Iterator[Stage]:
    if sort.has_belt:
        yield Stage(vehicle_id=vehicle.id, order=1, name="primary drive", drive=DriveKind.BELT, span_mm=152.0)
    yield Stage(
        vehicle_id=vehicle.id,
        order=2 if sort.has_belt else 1,
        name="final drive",
        drive=DriveKind.CHAIN,
        centre_distance_mm=556.0 if sort.driver else None,
        adjuster_range_mm=25.0 if sort.driver else None,
        slack_definition="lower run, total, on the stand" if sort.driver else "",
    )


def _part_types() -> Iterator[PartType]:
    yield PartType(
        kind=PartKind.BELT,
        name="Belt H8M 62 t 20 mm",
        designation="H8M",
        wear_class=WearClass.TOOTHED_BELT,
        pitch_mm=8.0,
        teeth=62,
        width_mm=20.0,
        mass_kg_per_m=0.117,
        lead_time_days=14,
        price=58.0,
    )
    known: set[str] = set()
    for sort, _share in SORTS:
        if sort.chain in known:
            continue
        known.add(sort.chain)
        yield PartType(
            kind=PartKind.CHAIN,
            name=f"Chain {sort.chain} {sort.links} links",
            designation=sort.chain,
            wear_class=sort.wear_class,
            pitch_mm=sort.pitch_mm,
            roller_diameter_mm=sort.roller_mm,
            links=sort.links,
            lead_time_days=10,
            price=74.0,
        )
        for teeth in sorted({*sort.driver, *sort.driven}):
            yield PartType(
                kind=PartKind.SPROCKET,
                name=f"Sprocket {sort.chain} {teeth} t",
                designation=sort.chain,
                wear_class=WearClass.SPROCKET,
                pitch_mm=sort.pitch_mm,
                roller_diameter_mm=sort.roller_mm,
                teeth=teeth,
                chain=sort.chain,
                lead_time_days=10,
                price=32.0,
            )


def _limits() -> Iterator[Limit]:
    yield Limit(
        measurand=Measurand.BELT_TENSION,
        wear_class=WearClass.TOOTHED_BELT,
        service_limit=200.0,
        as_new=330.0,
        model="PM-B",
        stage_name="primary drive",
        source="workshop rule",
    )
    for sort, _share in SORTS[::2]:
        yield Limit(
            measurand=Measurand.SLACK,
            wear_class=sort.wear_class,
            service_limit=60.0 if sort.chain == "520" else 50.0,
            as_new=25.0,
            designation=sort.chain,
            source="workshop rule",
        )


def _scale(part_type: PartType, sort: _Sort) -> tuple[Measurand, float, float]:
    if part_type.kind is PartKind.BELT:
        return Measurand.BELT_TENSION, 330.0, -130.0
    if part_type.kind is PartKind.CHAIN:
        return Measurand.CHAIN_ELONGATION, 0.0, sort.limit
    as_new = part_type.pitch_mm - (part_type.roller_diameter_mm or 0.0)
    return Measurand.SPROCKET_TOOTH_THICKNESS, as_new, -0.35 * as_new


def _typed(measurand: Measurand, value: float) -> tuple[str, float, Method, int | None]:
    if measurand is Measurand.CHAIN_ELONGATION:
        length = 254.0 * (1.0 + value)
        return f"{length:.2f} mm", length, Method.OVER_ROLLERS, 20
    if measurand is Measurand.BELT_TENSION:
        return f"{value:.0f} N", value, Method.DIRECT, None
    return f"{value:.2f} mm", value, Method.DIRECT, None


def main() -> None:
    """Make a database of a big fleet."""
    file = Path(sys.argv[1])
    vehicles = int(sys.argv[2]) if len(sys.argv) > 2 else 10_000
    big_bench(file, vehicles).database.close()


if __name__ == "__main__":
    main()
