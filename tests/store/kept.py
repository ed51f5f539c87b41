"""Builders of records that say only what matters."""

import math
from dataclasses import dataclass
from datetime import UTC, date, datetime

from wearlog.fleet.fitting import Installation, Position, RemovalReason
from wearlog.fleet.limit import Limit
from wearlog.fleet.meter import MeterEntry, MeterEvent
from wearlog.fleet.parts import DriveKind, Part, PartKind, PartType, WearClass
from wearlog.fleet.planned import PlannedItem, PlannedState, PlannedVisit
from wearlog.fleet.reading import Instrument, InstrumentKind, Measurand, Method, Reading, Spot
from wearlog.fleet.service import IntervalRule, Task, TaskDone, Visit
from wearlog.fleet.spells import DutySpell, LayUp
from wearlog.fleet.stock import PartOrder, StockLine, StockMove, StockMoveKind
from wearlog.fleet.torque import Fastener, TorqueRecord, TorqueSheet, TorqueWork, Treatment
from wearlog.fleet.vehicle import Duty, MeterUnit, Stage, Vehicle, VehicleKind
from wearlog.store.records import Records

NOW = datetime(2026, 5, 3, 14, 10, 5, 250_000, tzinfo=UTC)
DAY = date(2026, 5, 3)


def vehicle(tag="LR-017", **more):
    said = {"description": "trail bike", "kind": VehicleKind.PETROL_MOTORCYCLE, "depot": "North"}
    return Vehicle(tag=tag, **(said | {"meter_unit": MeterUnit.KM} | more))


def part_type(name="428 sealed", **more):
    said = {"kind": PartKind.CHAIN, "designation": "428", "pitch_mm": 12.7}
    return PartType(name=name, **(said | {"wear_class": WearClass.SEALED_MOTORCYCLE_CHAIN} | more))


def chain_reading(fleet, total_use=1000.0, **more):
    said = {
        "vehicle_id": fleet.vehicle.id,
        "stage_id": fleet.stage.id,
        "installation_id": fleet.installation.id,
        "visit_id": None,
        "on": DAY,
        "total_use": total_use,
        "measurand": Measurand.CHAIN_ELONGATION,
        "method": Method.OVER_ROLLERS,
        "value": 0.004,
        "u_value": 0.0003,
    }
    return Reading(**(said | more))


@dataclass
class SmallFleet:
    """One vehicle with one chain on its only stage."""

    vehicle: Vehicle
    stage: Stage
    part_type: PartType
    part: Part
    installation: Installation


def keep_small_fleet(records: Records, tag="LR-017") -> SmallFleet:
    kept_vehicle = records.add(vehicle(tag))
    stage = records.add(Stage(vehicle_id=kept_vehicle.id, order=1, name="final", drive=DriveKind.CHAIN))
    kept_type = records.first(PartType, name="428 sealed") or records.add(part_type())
    part = records.add(Part(part_type_id=kept_type.id, label=f"{tag} chain"))
    installation = records.add(
        Installation(
            part_id=part.id,
            vehicle_id=kept_vehicle.id,
            stage_id=stage.id,
            position=Position.RUN,
            fitted_on=date(2026, 1, 1),
            fitted_use=900.0,
        )
    )
    return SmallFleet(kept_vehicle, stage, kept_type, part, installation)


def one_of_each(records: Records) -> list[object]:
    """Keep a record of every kind with a value in every field; return them as they were kept."""
    bike = records.add(
        vehicle(
            "LR-001",
            duty=Duty.OFF_ROAD,
            model="Marten 250",
            owner_contact="yard office",
            in_service_since=date(2023, 4, 1),
            notes='ä "quoted" – ½\nsecond line',
            retired_on=date(2026, 4, 30),
        )
    )
    stage = records.add(
        Stage(
            vehicle_id=bike.id,
            order=2,
            name="final",
            drive=DriveKind.CHAIN,
            centre_distance_mm=612.5,
            adjuster_range_mm=30.0,
            span_mm=600.25,
            rated_input_rpm=3000.0,
            rated_power_kw=7.5,
            wheel_circumference_mm=1985.0,
            slack_definition="lower run, middle, total, on the side stand",
        )
    )
    kind = records.add(
        part_type(
            "428 sealed 126",
            roller_diameter_mm=8.51,
            inner_width_mm=7.75,
            links=126,
            joining_link="rivet",
            teeth=15,
            chain="428",
            width_mm=17.3,
            mass_kg_per_m=0.78,
            lead_time_days=5,
            price=61.9,
            source="ISO 606",
        )
    )
    part = records.add(
        Part(
            part_type_id=kind.id,
            label="C-118",
            lot="2025-11",
            use_before=1200.0,
            is_history_known=False,
            cost=58.0,
            notes="used",
        )
    )
    installation = records.add(
        Installation(
            part_id=part.id,
            vehicle_id=bike.id,
            stage_id=stage.id,
            position=Position.RUN,
            fitted_on=date(2025, 1, 2),
            fitted_use=100.5,
            removed_on=date(2026, 1, 2),
            removed_use=9100.5,
            removal_reason=RemovalReason.EARLY,
            links=124,
            thread_lock=True,
            cost=12.5,
            notes="two links out",
        )
    )
    visit = records.add(
        Visit(
            vehicle_id=bike.id,
            on=DAY,
            total_use=9000.0,
            by="Robin",
            tasks=(
                TaskDone(
                    task=Task.TENSION_SET, stage_id=stage.id, before=41.0, after=30.0, quantity_unit="mm"
                ),
                TaskDone(task=Task.CLEANED, note="", care="citrus cleaner"),
            ),
            notes="wet",
            cost=20.0,
            planned_number="V-0041",
        )
    )
    meter = records.add(
        MeterEntry(
            vehicle_id=bike.id,
            on=DAY,
            value=3.0,
            typed="3 km",
            event=MeterEvent.REPLACED,
            old_value=8999.0,
            visit_id=visit.id,
            by="Robin",
            note="face cracked",
        )
    )
    gauge = records.add(
        Instrument(
            name="gauge 2",
            kind=InstrumentKind.GAUGE_TWO_PRONG,
            resolution=0.0025,
            u_instrument=0.0005,
            bias=0.001,
            stamps=(("0.5", 0.005), ("0.75", 0.0075)),
            calibration_due=date(2027, 1, 1),
            notes="blue",
            retired_on=date(2028, 1, 1),
        )
    )
    reading = records.add(
        Reading(
            vehicle_id=bike.id,
            stage_id=stage.id,
            installation_id=installation.id,
            visit_id=visit.id,
            on=DAY,
            total_use=9000.0,
            measurand=Measurand.CHAIN_ELONGATION,
            method=Method.GAUGE,
            spots=(
                Spot(typed="0.75 in", value=0.0075, second=0.01, resolution=0.0025),
                Spot(typed="", value=math.inf),
            ),
            value=None,
            low=0.0075,
            high=math.inf,
            u_value=0.0005,
            mean=0.006,
            spread=0.001,
            pitches=12,
            instrument_id=gauge.id,
            temperature_degc=18.5,
            load_n=125.0,
            was_cleaned=False,
            is_zero_reading=True,
            definition="two prongs",
            note="third link tight",
            by="Robin",
            is_late_entry=True,
        )
    )
    rule = records.add(
        IntervalRule(
            task=Task.LUBRICATED,
            every_km=500.0,
            every_h=25.0,
            every_days=30,
            first_km=100.0,
            first_h=5.0,
            first_days=7,
            is_after_fitting=True,
            vehicle_kind=VehicleKind.MOPED,
            vehicle_id=bike.id,
            stage_name="final",
            drive=DriveKind.CHAIN,
            note="after rain at once",
            source="common practice",
        )
    )
    limit = records.add(
        Limit(
            measurand=Measurand.CHAIN_ELONGATION,
            wear_class=WearClass.SEALED_MOTORCYCLE_CHAIN,
            service_limit=0.02,
            as_new=-0.001,
            plan_share=0.7,
            stop_use_limit=0.03,
            designation="428",
            model="Marten 250",
            stage_name="final",
            vehicle_id=bike.id,
            source="workshop",
            note="stricter off road",
        )
    )
    sheet = records.add(
        TorqueSheet(
            name="Marten, torque",
            model="Marten 250",
            vehicle_id=bike.id,
            note="defer to the maker's manual",
            source="common practice, no source",
        )
    )
    fastener = records.add(
        Fastener(
            torque_sheet_id=sheet.id,
            order=3,
            name="rear sprocket",
            low_nm=28.0,
            high_nm=32.5,
            stage_name="final",
            size="M8 x 25",
            treatment=Treatment.THREAD_LOCK,
            bolts=6,
            is_opposing=True,
            recheck_km=75.0,
            recheck_h=2.0,
            source="workshop",
            note="marker line",
        )
    )
    applied = records.add(
        TorqueRecord(
            vehicle_id=bike.id,
            fastener_id=fastener.id,
            on=DAY,
            total_use=9000.0,
            work=TorqueWork.RECHECKED,
            applied_nm=(30.0, 30.5, 30.0, 29.5, 30.0, 31.0),
            typed="30 30.5 30 29.5 30 31",
            visit_id=visit.id,
            instrument_id=gauge.id,
            by="Robin",
            note="no bolt moved",
        )
    )
    return [
        *(bike, stage, kind, part, installation, visit, meter, gauge, reading, rule, limit),
        *(sheet, fastener, applied),
        *_plans_of(records, bike, stage, installation, visit),
    ]


def _plans_of(records: Records, bike, stage, installation, visit) -> list[object]:
    """Keep a spell, a lay-up, what lies on the shelf and what is planned."""
    chains = records.all(PartType)[-1]
    order = PartOrder(
        part_type_id=chains.id,
        depot="North",
        ordered_on=date(2026, 4, 1),
        count=4,
        expected_on=date(2026, 4, 9),
        received_count=3,
        closed_on=date(2026, 4, 20),
        price=61.9,
        note="one came late",
    )
    spell = DutySpell(vehicle_id=bike.id, from_on=date(2026, 3, 1), duty=Duty.OFF_ROAD, note="wood rounds")
    lay_up = LayUp(vehicle_id=bike.id, from_on=date(2025, 11, 20), until_on=date(2026, 2, 1), reason="snow")
    line = StockLine(
        part_type_id=chains.id,
        depot="North",
        on_hand=3,
        lead_days=8,
        price=59.5,
        least=1,
        spare_links=40,
        joining_links=6,
        note="top shelf",
    )
    kept = [records.add(one) for one in (spell, lay_up, line, order)]
    move = StockMove(
        part_type_id=chains.id,
        depot="North",
        on=DAY,
        count=-1,
        kind=StockMoveKind.USED,
        visit_id=visit.id,
        installation_id=installation.id,
        order_id=kept[-1].id,
        by="Robin",
        note="at the visit",
    )
    planned = PlannedVisit(
        number="V-0041",
        vehicle_id=bike.id,
        depot="North",
        on=DAY,
        state=PlannedState.DONE,
        items=(
            PlannedItem(
                work="replace",
                stage_id=stage.id,
                installation_id=installation.id,
                part_type_id=chains.id,
                why="at the limit in May",
                due_on=DAY,
                is_with=True,
            ),
            PlannedItem(work="clean"),
        ),
        visit_id=visit.id,
        bay_minutes=45,
        note="bring the spare key",
    )
    return [*kept, records.add(move), records.add(planned)]
