"""Write the records of the invented fleet and the truth behind them.

Run ``python -m sample_fleet.generate [--output DIR] [--seed N]``.
"""

import argparse
import sys
from collections.abc import Sequence
from dataclasses import asdict
from datetime import date, timedelta
from pathlib import Path

from sample_fleet import laws
from sample_fleet.books import Books, shown
from sample_fleet.catalogue import INSTRUMENTS, PART_TYPES, Instrument
from sample_fleet.fitted import Fitted
from sample_fleet.roads import AS_OF, RECORDS_FROM, RECORDS_UNTIL, ROADS_FROM, days, weather
from sample_fleet.roster import ROSTER
from sample_fleet.rules import INTERVAL_RULES, LIMITS
from sample_fleet.scenario import DESCRIPTION, TITLE, VehiclePlan
from sample_fleet.shelves import SHELVES
from sample_fleet.stories import happen, is_working_day, recheck
from sample_fleet.vehicle import VehicleState
from sample_fleet.visit import Visit

#: Chosen among a hundred because on the day of looking the fleet then shows something of every state.
SEED = 20261151


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="python -m sample_fleet.generate", description=DESCRIPTION)
    parser.add_argument(
        "--output", type=Path, default=Path(__file__).resolve().parent, help="folder to write to"
    )
    parser.add_argument("--seed", type=int, default=SEED, help="another fleet for another seed")
    chosen = parser.parse_args(arguments)
    write(chosen.output, chosen.seed)
    return 0


def write(folder: Path, seed: int = SEED) -> Books:
    """Write ``csv/`` and ``truth/`` below a folder and return the books."""
    books = live(seed)
    books.write(folder)
    (folder / "csv" / "scenario.toml").write_bytes(_scenario().encode("utf-8"))
    (folder / "truth" / "laws.toml").write_bytes(_laws(seed).encode("utf-8"))
    return books


def live(seed: int = SEED) -> Books:
    """Live through the three years of every vehicle and return the books."""
    return lived(seed)[0]


def lived(seed: int = SEED, plans: Sequence[VehiclePlan] = ROSTER) -> tuple[Books, tuple[VehicleState, ...]]:
    """Live through the three years of some vehicles; return the books, and the vehicles as they are then."""
    books = Books()
    _catalogue(books)
    wet = weather(seed)
    shelf: dict[str, Fitted] = {}
    vehicles = tuple(_live_one(plan, seed, books, shelf, wet) for plan in plans)
    for table in ("vehicles", "stages", "meter", "installations", "visits", "readings"):
        books.records[table].sort(key=_order)
    for table in books.truth:
        books.truth[table].sort(key=_order)
    return books, vehicles


def _live_one(
    plan: VehiclePlan, seed: int, books: Books, shelf: dict[str, Fitted], wet: dict[date, float]
) -> VehicleState:
    vehicle = VehicleState.at_start(plan, seed, books, shelf)
    stories = sorted(plan.stories, key=lambda story: story.on)
    for day in days(max(plan.since, ROADS_FROM), RECORDS_UNTIL):
        if vehicle.retired_on is not None:
            break
        vehicle.ride(day, wet[day])
        if plan.kind == "moped" and vehicle.total_km - vehicle.meter_zero_km >= 100_000:
            vehicle.roll_over(day)
            continue
        today = [story for story in stories if story.on == day]
        visits = [visit for visit in (happen(vehicle, story, day) for story in today) if visit is not None]
        if not today and is_working_day(day):
            visits = _planned(vehicle, day)
        for visit in visits:
            visit.end()
        if not visits and not today and _is_entry_day(vehicle, day):
            vehicle.next_entry_on = day + timedelta(days=int(vehicle.rng.integers(32, 60)))
            if day >= RECORDS_FROM:
                vehicle.note_meter(day)
    vehicle.finish()
    return vehicle


def _planned(vehicle: VehicleState, day: date) -> list[Visit]:
    if vehicle.standing_until is not None and day < vehicle.standing_until:
        return []
    if vehicle.rechecks_km and vehicle.total_km >= vehicle.rechecks_km[0]:
        return [recheck(vehicle, day)]
    if vehicle.total_km >= vehicle.next_visit_km or day >= vehicle.next_visit_on:
        visit = Visit(vehicle, day)
        visit.serve()
        return [visit]
    return []


def _is_entry_day(vehicle: VehicleState, day: date) -> bool:
    last = RECORDS_UNTIL - timedelta(days=sum(vehicle.plan.tag.encode()) % 5)
    return day == last or day >= vehicle.next_entry_on


def _order(row: dict[str, str]) -> tuple[str, ...]:
    return (
        row.get("vehicle", row.get("tag", "")),
        row.get("date", row.get("fitted on", row.get("order", ""))),
        row.get("stage", ""),
        row.get("position", ""),
    )


def _catalogue(books: Books) -> None:
    for part in PART_TYPES:
        pitch = "1/2 in" if part.designation.startswith("1/2") else shown(part.pitch_mm)
        books.keep(
            "part_types",
            {
                "name": part.name,
                "kind": part.kind,
                "designation": part.designation,
                "wear class": part.wear_class,
                "pitch [mm]": pitch,
                "roller diameter [mm]": shown(part.roller_mm),
                "inner width [mm]": shown(part.inner_mm),
                "links": shown(part.links),
                "joining link": part.joining,
                "teeth": shown(part.teeth),
                "chain": part.chain,
                "width [mm]": shown(part.width_mm),
                "mass per length [kg/m]": shown(part.mass_kg_per_m),
                "lead time [d]": str(part.lead_days),
                "price": f"{part.price:.2f}",
                "source": part.source,
            },
        )
    for tool in INSTRUMENTS.values():
        books.keep(
            "instruments",
            {
                "name": tool.name,
                "kind": tool.kind,
                "resolution": _amount(tool, tool.resolution),
                "standard uncertainty": _amount(tool, tool.u),
                "bias": _amount(tool, tool.noted_bias),
                "stamps": "; ".join(f"{stamp} = {shown(meaning * 100)} %" for stamp, meaning in tool.stamps),
                "calibration due": tool.calibration_due,
                "notes": tool.notes,
            },
        )
        if tool.true_bias:
            note = "noted" if tool.noted_bias else "not noted"
            detail = f"{tool.name}: {_amount(tool, tool.true_bias)}, {note}"
            books.know("mess", {"what": "instrument with bias", "detail": detail})
    for row in INTERVAL_RULES:
        books.keep("interval_rules", dict(row))
    for row in LIMITS:
        books.keep("limits", dict(row))
    for shelf in SHELVES:
        books.keep(
            "stock",
            {
                "part type": shelf.part,
                "depot": shelf.depot,
                "on hand": str(shelf.on_hand),
                "least": shown(shelf.least),
                "lead time [d]": shown(shelf.lead_days),
                "price": "" if shelf.price is None else f"{shelf.price:.2f}",
                "joining links": shown(shelf.joining_links or None),
                "note": shelf.note,
            },
        )


def _amount(tool: Instrument, value: float) -> str:
    if not value:
        return ""
    if tool.name == "Harbour inch rule" and value == tool.resolution:
        return "1/32 in"
    return f"{shown(value * 100)} %" if tool.unit == "%" else f"{shown(value)} {tool.unit}"


def _scenario() -> str:
    return (
        f'title = "{TITLE}"\n'
        f'description = "{DESCRIPTION}"\n'
        f"as_of = {AS_OF.isoformat()}\n"
        f"records_from = {RECORDS_FROM.isoformat()}\n"
        f"records_until = {RECORDS_UNTIL.isoformat()}\n"
    )


def _laws(seed: int) -> str:
    lines = [f"seed = {seed}", ""]
    for wear_class, law in laws.CHAIN_LAWS.items():
        lines.append(f'[chain."{wear_class}"]')
        lines += [f"{name} = {value}" for name, value in asdict(law).items()]
        lines.append("")
    lines.append("[duty_factor]")
    lines += [f"{name} = {value}" for name, value in laws.DUTY_FACTOR.items()]
    lines += ["", "[sprocket_share_per_chain_life]"]
    lines += [f"{name} = {value}" for name, value in laws.SPROCKET_PER_CHAIN.items()]
    lines += [
        "",
        "[sprocket]",
        f"worn_chain_factor = {laws.WORN_CHAIN_ON_SPROCKET}",
        "",
        "[sprocket.tooth_left_at_limit_mm]",
        *(f'"{designation}" = {left}' for designation, left in laws.TOOTH_LEFT_MM.items()),
        "",
        "[belt]",
        f"life_km = {laws.BELT_LIFE_KM}",
        f"bedding_loss = {laws.BELT_BEDDING_LOSS}",
        f"bedding_km = {laws.BELT_BEDDING_KM}",
        f"loss_per_1000_km = {laws.BELT_LOSS_PER_1000_KM}",
        "",
        "# What a chain that was always lubricated with it wears, beside the mean of both.",
        "[care_factor]",
        *(f'"{name}" = {factor}' for name, factor in laws.CARE_FACTOR.items()),
        "",
        "[lots]",
        '"Chain 428 sealed 118 links, 25-A" = 1.45',
        "",
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
