"""Benches for tests: a small fleet in memory, said in a few words; the sample fleet in a file."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from wearlog import resources
from wearlog.exchange.csv_folder import read_import
from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.limit import Limit
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.parts import DriveKind, Part, PartKind, PartType, WearClass
from wearlog.fleet.reading import Instrument, InstrumentKind, Measurand, Method, Reading, Spot
from wearlog.fleet.vehicle import Duty, MeterUnit, Stage, Vehicle, VehicleKind
from wearlog.store.database import Database
from wearlog.workshop.bench import Bench, FixedClock, set_up
from wearlog.workshop.bring_in import bring_in

#: The day on which the small fleets stand still.
TODAY = date(2026, 11, 23)
#: The day on which the sample fleet stands still; see sample_fleet/csv/scenario.toml.
SAMPLE_DAY = date(2026, 11, 23)
#: How far the vehicles of the small fleets go.
KM_A_DAY = 20.0
SEALED = WearClass.SEALED_MOTORCYCLE_CHAIN


def empty_bench(address: str | Path = ":memory:", today: date = TODAY) -> Bench:
    """Return a bench on a new database with the default limits and intervals."""
    database = Database.open(address, now=datetime(2026, 11, 23, 12, tzinfo=UTC))
    bench = Bench(database, "Tilda", FixedClock(today))
    set_up(bench)
    return bench


def sample_bench(file: Path) -> Bench:
    """Return a bench on the sample fleet, brought in through the public format."""
    bench = empty_bench(file, SAMPLE_DAY)
    bring_in(bench, read_import([resources.sample_fleet()]))
    return bench


def add_types(bench: Bench) -> dict[str, PartType]:
    """Add a sealed 428 chain and its sprockets."""
    wanted = {
        "chain": PartType(
            kind=PartKind.CHAIN,
            name="428 chain",
            designation="428",
            wear_class=SEALED,
            pitch_mm=12.7,
            roller_diameter_mm=8.51,
            links=116,
            lead_time_days=14,
        ),
        "driver": PartType(
            kind=PartKind.SPROCKET,
            name="428 sprocket 14",
            designation="428",
            wear_class=WearClass.SPROCKET,
            pitch_mm=12.7,
            roller_diameter_mm=8.51,
            teeth=14,
            chain="428",
        ),
        "driven": PartType(
            kind=PartKind.SPROCKET,
            name="428 sprocket 42",
            designation="428",
            wear_class=WearClass.SPROCKET,
            pitch_mm=12.7,
            roller_diameter_mm=8.51,
            teeth=42,
            chain="428",
        ),
    }
    with bench.database.writing(by="Tilda", at=bench.now(), what="types") as records:
        return {name: records.add(part_type) for name, part_type in wanted.items()}


def add_motorcycle(
    bench: Bench,
    tag: str = "LR-001",
    readings: Sequence[tuple[float, float]] = (),
    *,
    km_on_chain: float = 4000.0,
    u_elongation: float = 0.0005,
    duty: Duty = Duty.ROAD,
    types: dict[str, PartType] | None = None,
    limit: float | None = None,
) -> Installation:
    """Add a motorcycle with one chain stage and return the chain's installation.

    Parameters
    ----------
    readings
        Pairs of km on the chain and elongation (a fraction).
    km_on_chain
        What is on the chain at the last meter entry, today.
    """
    known = types or add_types(bench)
    fitted_on = TODAY - timedelta(days=round(km_on_chain / KM_A_DAY))
    with bench.database.writing(by="Tilda", at=bench.now(), what="vehicle") as records:
        vehicle = records.add(
            Vehicle(
                tag=tag,
                description="patrol motorcycle",
                kind=VehicleKind.ELECTRIC_MOTORCYCLE,
                depot="Upper Depot",
                meter_unit=MeterUnit.KM,
                duty=duty,
            )
        )
        stage = records.add(
            Stage(
                vehicle_id=vehicle.id,
                order=1,
                name="final drive",
                drive=DriveKind.CHAIN,
                centre_distance_mm=556.0,
                slack_definition="lower run, total, on the stand",
            )
        )
        installed = {}
        for position, name in (
            (Position.RUN, "chain"),
            (Position.DRIVER, "driver"),
            (Position.DRIVEN, "driven"),
        ):
            part = records.add(Part(part_type_id=known[name].id))
            installed[position] = records.add(
                Installation(
                    part_id=part.id,
                    vehicle_id=vehicle.id,
                    stage_id=stage.id,
                    position=position,
                    fitted_on=fitted_on,
                    fitted_use=1000.0,
                )
            )
        for day in range(0, (TODAY - fitted_on).days + 1, 20):
            on = fitted_on + timedelta(days=day)
            records.add(MeterEntry(vehicle_id=vehicle.id, on=on, value=1000.0 + KM_A_DAY * day))
        records.add(MeterEntry(vehicle_id=vehicle.id, on=TODAY, value=1000.0 + km_on_chain))
        if limit is not None:
            records.add(
                Limit(
                    measurand=Measurand.CHAIN_ELONGATION,
                    wear_class=SEALED,
                    service_limit=limit,
                    vehicle_id=vehicle.id,
                    source="vehicle maker's manual",
                )
            )
        chain = installed[Position.RUN]
        for km, elongation in readings:
            records.add(
                Reading(
                    vehicle_id=vehicle.id,
                    stage_id=stage.id,
                    installation_id=chain.id,
                    visit_id=None,
                    on=fitted_on + timedelta(days=round(km / KM_A_DAY)),
                    total_use=1000.0 + km,
                    measurand=Measurand.CHAIN_ELONGATION,
                    method=Method.OVER_ROLLERS,
                    spots=(Spot(typed=f"{254.0 * (1 + elongation):.2f} mm", value=254.0 * (1 + elongation)),),
                    value=elongation,
                    u_value=u_elongation,
                    mean=elongation,
                    spread=0.0,
                    pitches=20,
                )
            )
    return chain


def add_caliper(bench: Bench) -> Instrument:
    """Add a caliper that reads to 0.05 mm."""
    with bench.database.writing(by="Tilda", at=bench.now(), what="caliper") as records:
        return records.add(
            Instrument(name="caliper 300", kind=InstrumentKind.CALIPER, resolution=0.05, u_instrument=0.03)
        )
