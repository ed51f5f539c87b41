"""Stages for tests: figures without a database, and in one a vehicle with belt primary and chain final."""

from dataclasses import dataclass
from datetime import timedelta

from tests.makers.bench import KM_A_DAY, SEALED, TODAY
from wearlog.drive.describing import describe
from wearlog.drive.figures import SetupFigures
from wearlog.drive.setup import DriveSetup
from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.parts import DriveKind, Part, PartKind, PartType, WearClass
from wearlog.fleet.vehicle import Duty, MeterUnit, Stage, Vehicle, VehicleKind
from wearlog.workshop.bench import Bench

FRONT_MM, TRAVEL_MM = 241.5, 12.0


def belt_primary(**other: object) -> SetupFigures:
    """Return a belt primary, 28 to 72 teeth of 8 mm pitch."""
    wanted: dict[str, object] = {
        "drive": DriveKind.BELT,
        "pitch_mm": 8.0,
        "driver_teeth": 28,
        "driven_teeth": 72,
        "belt_teeth": 112,
        "centre_distance_mm": FRONT_MM,
        "adjuster_front_mm": FRONT_MM,
        "adjuster_rear_mm": FRONT_MM + TRAVEL_MM,
        "pitch_differential_mm": 0.686,
    }
    return describe(DriveSetup(**{**wanted, **other}))  # type: ignore[arg-type]


def chain_primary(**other: object) -> SetupFigures:
    """Return the chain that can take its place, 17 to 44 teeth of 12.7 mm pitch."""
    wanted: dict[str, object] = {
        "drive": DriveKind.CHAIN,
        "pitch_mm": 12.7,
        "roller_diameter_mm": 8.51,
        "driver_teeth": 17,
        "driven_teeth": 44,
        "links": 70,
        "centre_distance_mm": FRONT_MM,
        "adjuster_front_mm": FRONT_MM,
        "adjuster_rear_mm": FRONT_MM + TRAVEL_MM,
    }
    return describe(DriveSetup(**{**wanted, **other}))  # type: ignore[arg-type]


@dataclass(frozen=True)
class Converted:
    """The vehicle that is converted, and its stages."""

    vehicle: Vehicle
    primary: Stage
    final: Stage


def _types() -> dict[str, PartType]:
    sprocket = {
        "kind": PartKind.SPROCKET,
        "designation": "428",
        "wear_class": WearClass.SPROCKET,
        "pitch_mm": 12.7,
        "roller_diameter_mm": 8.51,
        "chain": "428",
    }
    pulley = {
        "kind": PartKind.PULLEY,
        "designation": "H8M",
        "wear_class": WearClass.PULLEY,
        "pitch_mm": 8.0,
        "chain": "H8M",
    }
    return {
        "belt": PartType(
            kind=PartKind.BELT,
            name="H8M belt 112",
            designation="H8M",
            wear_class=WearClass.TOOTHED_BELT,
            pitch_mm=8.0,
            teeth=112,
            width_mm=30.0,
            mass_kg_per_m=0.186,
        ),
        "pulley 28": PartType(name="H8M pulley 28", teeth=28, **pulley),
        "pulley 72": PartType(name="H8M pulley 72", teeth=72, **pulley),
        "chain": PartType(
            kind=PartKind.CHAIN,
            name="428 chain 118",
            designation="428",
            wear_class=SEALED,
            pitch_mm=12.7,
            roller_diameter_mm=8.51,
            links=118,
        ),
        "sprocket 14": PartType(name="428 sprocket 14", teeth=14, **sprocket),
        "sprocket 48": PartType(name="428 sprocket 48", teeth=48, **sprocket),
    }


def add_belt_motorcycle(bench: Bench, tag: str = "LR-031", km: float = 3000.0) -> Converted:
    """Add an electric motorcycle with a belt primary and a chain final, all of it known."""
    fitted_on = TODAY - timedelta(days=round(km / KM_A_DAY))
    with bench.database.writing(by="Tilda", at=bench.now(), what="vehicle") as records:
        types = {name: records.add(part_type) for name, part_type in _types().items()}
        vehicle = records.add(
            Vehicle(
                tag=tag,
                description="patrol motorcycle",
                kind=VehicleKind.ELECTRIC_MOTORCYCLE,
                depot="Upper Depot",
                meter_unit=MeterUnit.KM,
                duty=Duty.MIXED,
            )
        )
        primary = records.add(
            Stage(
                vehicle_id=vehicle.id,
                order=1,
                name="primary drive",
                drive=DriveKind.BELT,
                centre_distance_mm=FRONT_MM,
                adjuster_range_mm=TRAVEL_MM,
                span_mm=234.9,
                rated_input_rpm=4200.0,
                rated_power_kw=8.0,
            )
        )
        final = records.add(
            Stage(
                vehicle_id=vehicle.id,
                order=2,
                name="final drive",
                drive=DriveKind.CHAIN,
                centre_distance_mm=547.6,
                adjuster_range_mm=28.0,
                wheel_circumference_mm=1930.0,
                slack_definition="lower run, total, on the stand",
            )
        )
        for stage, names in (
            (primary, ("belt", "pulley 28", "pulley 72")),
            (final, ("chain", "sprocket 14", "sprocket 48")),
        ):
            for position, name in zip((Position.RUN, Position.DRIVER, Position.DRIVEN), names, strict=True):
                part = records.add(Part(part_type_id=types[name].id))
                records.add(
                    Installation(
                        part_id=part.id,
                        vehicle_id=vehicle.id,
                        stage_id=stage.id,
                        position=position,
                        fitted_on=fitted_on,
                        fitted_use=1000.0,
                    )
                )
        for day in range(0, (TODAY - fitted_on).days, 20):
            on = fitted_on + timedelta(days=day)
            records.add(MeterEntry(vehicle_id=vehicle.id, on=on, value=1000.0 + KM_A_DAY * day))
        records.add(MeterEntry(vehicle_id=vehicle.id, on=TODAY, value=1000.0 + km))
    return Converted(vehicle, primary, final)
