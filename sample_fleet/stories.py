"""What happens to single vehicles on single days."""

from datetime import date, timedelta

from sample_fleet.books import Row
from sample_fleet.catalogue import BY_NAME, CONVERTED_PRIMARY
from sample_fleet.fitted import Fitted, new_part
from sample_fleet.laws import BeltWear, ChainWear
from sample_fleet.scenario import Story
from sample_fleet.vehicle import VehicleState, mess
from sample_fleet.visit import Visit

MISREADS = ("voided misread", "digit slip", "uncleaned", "wrong vehicle")


def happen(vehicle: VehicleState, story: Story, day: date) -> Visit | None:
    """Let a story happen; return the visit at which it did, if the workshop saw the vehicle for it."""
    tag, books = vehicle.plan.tag, vehicle.books
    if story.what in MISREADS:
        vehicle.misread = story.what
        return None
    detail = story.note
    visit: Visit | None = None
    if story.what == "rogue":
        vehicle.rogue = story.value
        detail = f"the next chain fitted wears {story.value:g} times as fast"
    elif story.what == "wait":
        vehicle.waits_for_parts = True
        detail = f"nothing is renewed from here on: {story.note}"
    elif story.what == "stands":
        vehicle.standing_until = story.until
        detail = f"until {story.until}: {story.note}"
    elif story.what == "meter replaced":
        vehicle.replace_meter(day, story)
        detail = "old value noted" if story.value else f"old value lost, {vehicle.lost_km:.0f} km not counted"
    elif story.what == "retire":
        vehicle.retired_on = day
    elif story.what == "damage":
        belt = vehicle.stage(story.stage).belt
        if isinstance(belt, BeltWear):
            belt.crossing.note(belt.damage, story.value, belt.km, belt.km)
            belt.damage = story.value
        visit = Visit(vehicle, day)
        visit.notes.append(story.note)
        visit.serve()
    elif story.what == "convert":
        visit = _convert(vehicle, story, day)
        detail = "primary drive from belt to chain, re-checks after it"
    else:
        visit, detail = _at_a_visit(vehicle, story, day)
    books.know("mess", mess(story.what, tag, day, detail))
    return visit


def _at_a_visit(vehicle: VehicleState, story: Story, day: date) -> tuple[Visit, str]:
    stage = vehicle.stage(story.stage)
    vehicle.meter_in_miles = story.what == "miles"
    visit = Visit(vehicle, day, wants_zero=False)
    detail = story.note
    if story.what != "take off":
        waits, vehicle.waits_for_parts = vehicle.waits_for_parts, True
        visit.serve()
        vehicle.waits_for_parts = waits
    visit.notes.append(story.note)
    if story.what == "fit":
        visit.wants_zero = bool(story.value)
        wear = stage.parts["run"].wear
        visit.renew_chain(stage, "worn" if wear.share > 0.93 else "replaced early")
        if story.label:
            stage.parts["run"].row["part"] = story.label
        detail = f"new chain fitted {'and measured' if story.value else 'and not measured'}"
    elif story.what == "fit used":
        part = _used(vehicle, story, day)
        visit.fit_from_shelf(stage, part)
    elif story.what == "take off":
        part = vehicle.take_off(stage, "run", day, "moved")
        part.row["part"] = story.label
        # The row of the old place is closed; the part takes a copy along to its next one.
        part.row = {key: part.row[key] for key in ("part type", "part", "lot", "links")}
        vehicle.shelf[story.label] = part
        detail = f"chain kept as '{story.label}'"
    elif story.what == "put on":
        visit.fit_from_shelf(stage, vehicle.shelf.pop(story.label))
        detail = f"chain '{story.label}' fitted here"
    elif story.what == "shorten":
        visit.tasks.append(f"remove links: {story.stage}")
    vehicle.meter_in_miles = False
    return visit, detail


def _used(vehicle: VehicleState, story: Story, day: date) -> Fitted:
    part_type = BY_NAME[vehicle.stage(story.stage).set_up.run]
    row: Row = {"part type": part_type.name, "part": story.label, "notes": story.note}
    part = new_part(vehicle.rng, vehicle.seed, part_type, "run", day, row, vehicle.factor)
    row["lot"] = ""
    row["history known"] = "yes" if story.distance is not None else "no"
    if story.distance is not None:
        row["use before"] = f"{story.distance:.0f}"
    wear = part.wear
    if isinstance(wear, ChainWear):
        wear.km = story.distance or 6200.0
        wear.worn = max(story.value - wear.elongation, 0.0)
    return part


def _convert(vehicle: VehicleState, story: Story, day: date) -> Visit:
    visit = Visit(vehicle, day)
    visit.serve()
    stage = vehicle.stage(story.stage)
    for position in ("driver", "run", "driven"):
        vehicle.take_off(stage, position, day, "conversion")
    stage.set_up = CONVERTED_PRIMARY
    vehicle.fit_stage(stage, day)
    visit.notes.append("primary drive converted from belt to chain")
    visit.renewed = True
    visit.cost += sum(part.part_type.price for part in stage.parts.values())
    visit.tasks.append(f"check torque: {story.stage}")
    visit.measure_chain(stage, stage.parts["run"], is_zero=True)
    vehicle.rechecks_km = [vehicle.total_km + km for km in (60.0, 180.0, 550.0)]
    return visit


def recheck(vehicle: VehicleState, day: date) -> Visit:
    """Check a converted drive again: torque, slack, a measurement when there is time."""
    vehicle.rechecks_km.pop(0)
    visit = Visit(vehicle, day)
    visit.notes.append("re-check after conversion")
    visit.tasks.append("check torque: primary drive")
    visit.serve()
    return visit


def is_working_day(day: date) -> bool:
    """Whether the workshop is open: Monday to Friday, closed from 24 December to 2 January."""
    return day.weekday() < 5 and (day.month, day.day) not in _CLOSED


_CLOSED = {(d.month, d.day) for d in (date(2023, 12, 24) + timedelta(days=n) for n in range(10))}
