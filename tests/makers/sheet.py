"""Service sheets as a mechanic meets them, without a database: Larkfell Ranger Service, all invented."""

from dataclasses import replace
from datetime import date

from wearlog.fleet.fitting import Position
from wearlog.fleet.limit import Limit
from wearlog.fleet.parts import WearClass
from wearlog.fleet.reading import Instrument, InstrumentKind, Measurand, Method, Reading, Spot
from wearlog.fleet.service import Task
from wearlog.fleet.state import State
from wearlog.workshop.fleet_snapshot import WearRuleValue
from wearlog.workshop.sheet import (
    AskedReading,
    AskedTask,
    SheetBlock,
    SheetDraft,
    SheetSnapshot,
)

TODAY = date(2026, 11, 25)

CALIPER = Instrument(
    id=1, name="caliper 200", kind=InstrumentKind.CALIPER, resolution=0.01, u_instrument=0.02
)
RULE = Instrument(id=2, name="steel rule 500", kind=InstrumentKind.RULE, resolution=0.5, u_instrument=0.1)
GAUGE = Instrument(
    id=3,
    name="prong gauge A",
    kind=InstrumentKind.GAUGE_TWO_PRONG,
    stamps=(("0.5", 0.005), ("0.75", 0.0075), ("1.0", 0.01)),
)
FREQUENCY_METER = Instrument(
    id=4, name="belt meter", kind=InstrumentKind.FREQUENCY_METER, resolution=0.1, u_instrument=0.5
)
FORCE_GAUGE = Instrument(id=5, name="spring gauge", kind=InstrumentKind.FORCE_GAUGE, resolution=1.0)

CAUTIONS = (
    "Battery isolated or key out before hands go near the drive.",
    "Turn the drive by hand only; fingers out of the run-on points.",
    "Support the vehicle; put the guards back on.",
    "Eye protection when a chain is driven apart.",
    "A failed chain can lock the wheel: past the stop-use limit do not ride.",
    "These values never override the vehicle maker's manual or local rules.",
)


def rule_at(median: float, state: State = State.WITHIN_LIMIT, *, half_width: float = 0.06) -> WearRuleValue:
    """A wear rule at a share of the allowance."""
    return WearRuleValue(median, median - half_width, median + half_width, 0.75, state)


def elongation_limit(limit: float = 0.017, wear_class: WearClass = WearClass.OPEN_MOTORCYCLE_CHAIN) -> Limit:
    return Limit(
        measurand=Measurand.CHAIN_ELONGATION, wear_class=wear_class, service_limit=limit, source="workshop"
    )


def reading_before(
    measurand: Measurand, value: float, *, stage_id: int, on: date = date(2026, 10, 2)
) -> Reading:
    """What was read at the visit before."""
    return Reading(
        vehicle_id=17,
        stage_id=stage_id,
        installation_id=stage_id * 10,
        visit_id=1,
        on=on,
        total_use=11_312.0,
        measurand=measurand,
        method=Method.PIN_TO_PIN,
        value=value,
        u_value=abs(value) * 0.04,
    )


def asked(key: str, measurand: Measurand, **says: object) -> AskedReading:
    """One quantity that the sheet asks for; only what matters needs saying."""
    plain: dict[str, object] = {
        "key": key,
        "stage_id": 2,
        "installation_id": 20,
        "position": Position.RUN,
        "measurand": measurand,
        "part_text": "chain 420, 118 links",
        "method": Method.DIRECT,
        "methods": (Method.DIRECT,),
        "instrument_id": None,
        "instruments": (),
        "pitches": None,
        "pitch_mm": None,
        "roller_diameter_mm": None,
        "span_mm": None,
        "mass_kg_per_m": None,
        "definition": "",
        "previous": None,
        "limit": None,
        "rule": None,
        "is_due": True,
    }
    return AskedReading(**{**plain, **says})  # type: ignore[arg-type]


def elongation_asked(key: str = "final elongation", **says: object) -> AskedReading:
    """The elongation of a 12.7 mm chain over 20 pitches, steel rule."""
    plain: dict[str, object] = {
        "method": Method.PIN_TO_PIN,
        "methods": (
            Method.PIN_TO_PIN,
            Method.INSIDE_AND_OUTSIDE,
            Method.BETWEEN_ROLLERS,
            Method.GAUGE,
            Method.ELONGATION_READ,
        ),
        "instrument_id": RULE.id,
        "instruments": (CALIPER, RULE, GAUGE),
        "pitches": 20,
        "pitch_mm": 12.7,
        "roller_diameter_mm": 7.77,
        "previous": reading_before(Measurand.CHAIN_ELONGATION, 0.0110, stage_id=2),
        "limit": elongation_limit(),
        "rule": rule_at(0.7),
        "why_due": "reading helps most here",
    }
    return asked(key, Measurand.CHAIN_ELONGATION, **{**plain, **says})


def slack_asked(key: str = "final slack", **says: object) -> AskedReading:
    plain: dict[str, object] = {
        "installation_id": None,
        "position": None,
        "part_text": "",
        "instrument_id": RULE.id,
        "instruments": (RULE,),
        "definition": "lower run, mid-way, total movement, side stand, tightest spot",
        "previous": reading_before(Measurand.SLACK, 38.0, stage_id=2),
        "limit": Limit(
            measurand=Measurand.SLACK,
            wear_class=WearClass.OPEN_MOTORCYCLE_CHAIN,
            service_limit=50.0,
            as_new=30.0,
            source="workshop",
        ),
    }
    return asked(key, Measurand.SLACK, **{**plain, **says})


def grade_asked(key: str, position: Position, part_text: str, **says: object) -> AskedReading:
    plain: dict[str, object] = {
        "position": position,
        "part_text": part_text,
        "method": Method.GRADE,
        "methods": (Method.GRADE,),
        "limit": Limit(
            measurand=Measurand.SPROCKET_CONDITION,
            wear_class=WearClass.SPROCKET,
            service_limit=3.0,
            source="common practice, no source",
        ),
    }
    return asked(key, Measurand.SPROCKET_CONDITION, **{**plain, **says})


def adjuster_asked(key: str = "final adjuster", **says: object) -> AskedReading:
    plain: dict[str, object] = {
        "installation_id": None,
        "position": None,
        "part_text": "",
        "instrument_id": RULE.id,
        "instruments": (RULE, CALIPER),
        "previous": reading_before(Measurand.ADJUSTER_POSITION, 14.0, stage_id=2),
        "limit": Limit(
            measurand=Measurand.ADJUSTER_POSITION,
            wear_class=WearClass.UNKNOWN,
            service_limit=35.0,
            source="adjuster range",
        ),
    }
    return asked(key, Measurand.ADJUSTER_POSITION, **{**plain, **says})


def tension_asked(key: str = "primary tension", **says: object) -> AskedReading:
    plain: dict[str, object] = {
        "stage_id": 1,
        "installation_id": 10,
        "part_text": "belt H8M, 880-8M-30",
        "method": Method.SPAN_FREQUENCY,
        "methods": (Method.SPAN_FREQUENCY, Method.DEFLECTION_FORCE),
        "instrument_id": FREQUENCY_METER.id,
        "instruments": (FREQUENCY_METER, FORCE_GAUGE),
        "span_mm": 262.0,
        "mass_kg_per_m": 0.186,
        "previous": reading_before(Measurand.BELT_TENSION, 402.0, stage_id=1),
        "limit": Limit(
            measurand=Measurand.BELT_TENSION,
            wear_class=WearClass.TOOTHED_BELT,
            service_limit=280.0,
            as_new=420.0,
            source="workshop",
        ),
    }
    return asked(key, Measurand.BELT_TENSION, **{**plain, **says})


def belt_grade_asked(key: str = "primary belt grade", **says: object) -> AskedReading:
    plain: dict[str, object] = {
        "stage_id": 1,
        "installation_id": 10,
        "part_text": "belt H8M, 880-8M-30",
        "method": Method.GRADE,
        "methods": (Method.GRADE,),
        "previous": reading_before(Measurand.BELT_CONDITION, 1.0, stage_id=1),
        "limit": Limit(
            measurand=Measurand.BELT_CONDITION,
            wear_class=WearClass.TOOTHED_BELT,
            service_limit=3.0,
            source="common practice, no source",
        ),
    }
    return asked(key, Measurand.BELT_CONDITION, **{**plain, **says})


def task_asked(
    key: str, task: Task, text: str, *, stage_id: int, is_due: bool = True, unit: str = ""
) -> AskedTask:
    return AskedTask(key, stage_id, task, text, is_due, bool(unit), unit, date(2026, 10, 2), 11_312.0)


def final_block(**says: object) -> SheetBlock:
    """A chain final drive with everything due."""
    driver, driven = "sprocket 13 teeth, 420", "sprocket 48 teeth, 420"
    plain: dict[str, object] = {
        "stage_id": 2,
        "stage_name": "final drive",
        "drive_text": "chain 420, 13/48 teeth, 118 links",
        "readings": (
            elongation_asked(),
            slack_asked(),
            adjuster_asked(),
            grade_asked("final driver", Position.DRIVER, driver, installation_id=21),
            grade_asked("final driven", Position.DRIVEN, driven, installation_id=22),
            asked(
                "final lift", Measurand.CHAIN_LIFT, position=Position.DRIVEN, part_text=driven, is_due=False
            ),
        ),
        "tasks": (
            task_asked("final clean", Task.CLEANED, "clean", stage_id=2),
            task_asked("final lubricate", Task.LUBRICATED, "lubricate", stage_id=2),
            task_asked("final tension", Task.TENSION_SET, "set slack", stage_id=2, unit="mm"),
            task_asked("final torque", Task.TORQUE_CHECKED, "check torque", stage_id=2, is_due=False),
        ),
    }
    return SheetBlock(**{**plain, **says})  # type: ignore[arg-type]


def belt_block() -> SheetBlock:
    """A belt primary with everything due."""
    return SheetBlock(
        stage_id=1,
        stage_name="primary drive",
        drive_text="belt H8M, 28/56 teeth",
        readings=(tension_asked(), belt_grade_asked()),
        tasks=(
            task_asked("primary inspect", Task.INSPECTED, "inspect", stage_id=1),
            task_asked("primary tension set", Task.TENSION_SET, "set tension", stage_id=1, unit="N"),
        ),
    )


def chain_primary_block() -> SheetBlock:
    """A chain primary with everything due: the fullest a primary stage gets."""
    return SheetBlock(
        stage_id=1,
        stage_name="primary drive",
        drive_text="chain 219, 15/32 teeth, 86 links",
        readings=(
            elongation_asked(
                "primary elongation",
                stage_id=1,
                installation_id=10,
                part_text="chain 219, 86 links",
                pitch_mm=7.774,
                roller_diameter_mm=4.59,
                limit=elongation_limit(0.015, WearClass.PRIMARY_ROLLER_CHAIN),
                previous=None,
                wants_zero=True,
            ),
            slack_asked("primary slack", stage_id=1, definition="upper run, mid-way, one way"),
            grade_asked("primary driver", Position.DRIVER, "sprocket 15 teeth, 219", stage_id=1),
            grade_asked("primary driven", Position.DRIVEN, "sprocket 32 teeth, 219", stage_id=1),
        ),
        tasks=(
            task_asked("primary clean", Task.CLEANED, "clean", stage_id=1),
            task_asked("primary lubricate", Task.LUBRICATED, "lubricate", stage_id=1),
            task_asked("primary tension set", Task.TENSION_SET, "set slack", stage_id=1, unit="mm"),
        ),
    )


def motorcycle_sheet(**says: object) -> SheetSnapshot:
    """LR-017: electric patrol motorcycle, belt primary, chain final, everything due."""
    plain: dict[str, object] = {
        "vehicle_id": 17,
        "tag": "LR-017",
        "vehicle_text": "electric patrol motorcycle, belt primary",
        "depot": "Upper Depot",
        "meter_unit": "km",
        "use_unit": "km",
        "today": TODAY,
        "last_meter": 11_312.0,
        "last_meter_on": date(2026, 10, 2),
        "use_per_day": 24.0,
        "blocks": (belt_block(), final_block()),
        "people": ("M. Fell", "R. Garth"),
        "cautions": CAUTIONS,
    }
    return SheetSnapshot(**{**plain, **says})  # type: ignore[arg-type]


def two_chain_sheet() -> SheetSnapshot:
    """LR-018: the same with a chain primary: the fullest sheet there is."""
    return motorcycle_sheet(
        vehicle_id=18,
        tag="LR-018",
        vehicle_text="electric patrol motorcycle, chain primary",
        blocks=(chain_primary_block(), final_block()),
    )


def bicycle_sheet() -> SheetSnapshot:
    """LC-02: a cargo e-bike with one stage, its meter in miles; only the elongation is due."""
    chain = elongation_asked(
        "drive elongation",
        stage_id=3,
        part_text="chain 1/2 x 1/8, 110 links",
        method=Method.GAUGE,
        instrument_id=GAUGE.id,
        limit=elongation_limit(0.01, WearClass.HUB_GEAR_CYCLE_CHAIN),
        previous=reading_before(Measurand.CHAIN_ELONGATION, 0.0045, stage_id=3),
        rule=rule_at(0.45),
    )
    block = SheetBlock(
        stage_id=3,
        stage_name="final drive",
        drive_text="chain 1/2 x 1/8, 38/20 teeth",
        readings=(
            chain,
            grade_asked("drive driven", Position.DRIVEN, "sprocket 20 teeth", stage_id=3, is_due=False),
        ),
        tasks=(task_asked("drive lubricate", Task.LUBRICATED, "lubricate", stage_id=3),),
    )
    return motorcycle_sheet(
        vehicle_id=42,
        tag="LC-02",
        vehicle_text="cargo e-bike, hub gear",
        depot="Harbour Depot",
        meter_unit="mi",
        last_meter=3_862.4,
        blocks=(block,),
    )


def draft_for(snapshot: SheetSnapshot, **says: object) -> SheetDraft:
    """An empty sheet of a vehicle."""
    return replace(SheetDraft(snapshot.vehicle_id, snapshot.today), **says)  # type: ignore[arg-type]


def spot(value: float, typed: str = "") -> Spot:
    return Spot(typed=typed or f"{value:g}", value=value)
