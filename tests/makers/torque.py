"""Torque sheets for tests: a motorcycle with a sheet, its wrenches, and snapshots without a database."""

from dataclasses import replace
from datetime import date, timedelta

from tests.makers.bench import TODAY, add_motorcycle
from wearlog.drive.tightening import steps_by_place
from wearlog.fleet.fitting import Installation
from wearlog.fleet.reading import Instrument, InstrumentKind
from wearlog.fleet.torque import Fastener, TorqueRecord, TorqueSheet, TorqueWork, Treatment
from wearlog.fleet.vehicle import MeterUnit
from wearlog.workshop.bench import Bench
from wearlog.workshop.torque import save_torques, start_sheet, torque_snapshot
from wearlog.workshop.torque_snapshot import (
    FastenerLine,
    Recheck,
    TorqueDraft,
    TorqueEntry,
    TorqueSnapshot,
)

STARTING = "light_electric_motorcycle"


def add_wrench(bench: Bench, name: str = "wrench 20 to 100", due: date | None = None) -> Instrument:
    """Add a torque wrench whose calibration is due on a day."""
    with bench.database.writing(by="Tilda", at=bench.now(), what="wrench") as records:
        return records.add(Instrument(name=name, kind=InstrumentKind.TORQUE_WRENCH, calibration_due=due))


def motorcycle_with_sheet(bench: Bench, km_on_chain: float = 4000.0, **more: object) -> Installation:
    """Add a motorcycle and start its torque sheet."""
    chain = add_motorcycle(bench, km_on_chain=km_on_chain, **more)
    start_sheet(bench, chain.vehicle_id, STARTING)
    return chain


def fastener_named(bench: Bench, vehicle_id: int, name: str) -> Fastener:
    """Return a fastener of a vehicle's sheet."""
    return line_named(bench, vehicle_id, name).fastener


def line_named(bench: Bench, vehicle_id: int, name: str) -> FastenerLine:
    """Return what is known of a fastener."""
    lines = torque_snapshot(bench, vehicle_id).lines
    return next(line for line in lines if line.fastener.name == name)


def tighten(
    bench: Bench,
    vehicle_id: int,
    *,
    days_ago: int = 0,
    work: TorqueWork = TorqueWork.TIGHTENED,
    instrument_id: int | None = None,
    **values_nm: float | tuple[float, ...],
):
    """Save torques of fasteners, spaces in their names written as underscores."""
    entries = {}
    for name, value in values_nm.items():
        values = value if isinstance(value, tuple) else (value,)
        number = fastener_named(bench, vehicle_id, name.replace("_", " ")).id
        entries[number] = TorqueEntry(" ".join(f"{one:g}" for one in values), values, "N.m", work)
    on = TODAY - timedelta(days=days_ago)
    return save_torques(
        bench, TorqueDraft(vehicle_id, on, by="Tilda", instrument_id=instrument_id, entries=entries)
    )


# --- without a database ----------------------------------------------------------------------------------

_ROWS = (
    ("sprocket to intermediate shaft", "final drive", 5, True, 12.0, 12.0, Treatment.THREAD_LOCK, 75.0),
    ("rear axle", "final drive", 1, False, 50.0, 55.0, Treatment.GREASED, 75.0),
    ("linkage", "", 2, False, 20.0, 25.0, Treatment.GREASED, None),
)
AXLE = 2


def torque_of(
    *done: tuple[int, int, float], wrenches: tuple[Instrument, ...] | None = None
) -> TorqueSnapshot:
    """Return a torque sheet of three fasteners; each `done` is fastener, days ago, N.m."""
    lines = []
    for number, (name, stage, bolts, opposing, low, high, treatment, recheck) in enumerate(_ROWS, 1):
        fastener = Fastener(
            torque_sheet_id=1,
            order=number,
            name=name,
            stage_name=stage,
            low_nm=low,
            high_nm=high,
            treatment=treatment,
            bolts=bolts,
            is_opposing=opposing,
            recheck_km=recheck,
            source="common practice, no source",
            id=number,
            version=1,
        )
        line = FastenerLine(fastener, steps_by_place(bolts))
        for wanted, days_ago, value in done:
            if wanted == number:
                line = _done(line, days_ago, value)
        lines.append(line)
    if wrenches is None:
        wrenches = (
            Instrument(
                name="wrench A", kind=InstrumentKind.TORQUE_WRENCH, calibration_due=date(2027, 3, 1), id=1
            ),
            Instrument(
                name="wrench B", kind=InstrumentKind.TORQUE_WRENCH, calibration_due=date(2026, 2, 1), id=2
            ),
        )
    return TorqueSnapshot(
        vehicle_id=7,
        tag="LR-007",
        vehicle_text="patrol motorcycle",
        depot="Upper Depot",
        model="EM-C",
        meter_unit=MeterUnit.KM,
        today=TODAY,
        use_now=5000.0,
        last_meter=5000.0,
        last_meter_on=TODAY - timedelta(days=3),
        sheet=TorqueSheet(
            name="Light electric motorcycle",
            model="EM-C",
            note="Starting values. Defer to the vehicle maker's manual.",
            source="common practice, no source",
            id=1,
        ),
        lines=tuple(lines),
        wrenches=wrenches,
        people=("Ines Falk", "Tilda"),
        stages=("primary drive", "final drive"),
        vehicles=4,
    )


def _done(line: FastenerLine, days_ago: int, value: float) -> FastenerLine:
    on = TODAY - timedelta(days=days_ago)
    record = TorqueRecord(
        vehicle_id=7,
        fastener_id=line.fastener.id,
        on=on,
        total_use=5000.0 - 20.0 * days_ago,
        applied_nm=(value,),
        typed=f"{value:g}",
        by="Tilda",
    )
    recheck = None
    if line.fastener.recheck_km is not None:
        due_on = on + timedelta(days=4)
        recheck = Recheck(
            line.fastener.recheck_km, on, record.total_use + 75.0, due_on, due_on, due_on, due_on <= TODAY
        )
    return replace(line, last=record, tightened=record, last_wrench="wrench A", recheck=recheck)
