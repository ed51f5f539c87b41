"""A fitting put right afterwards: from when and from what meter value a part sat where it sat."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from gettext import gettext as _

from wearlog.fleet.fitting import Installation
from wearlog.fleet.meter import check_meter_value
from wearlog.fleet.problem import Offer, Problem, ProblemKind, WearlogError
from wearlog.fleet.reading import Reading
from wearlog.store.records import Records
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.fleet_state import FleetState, fleet_state

#: Total uses closer than this are those of one moment, [km or h].
SAME_USE = 0.5


@dataclass(frozen=True, slots=True)
class FittingLook:
    """What a corrected fitting would change before it is kept.

    `along` are the parts before and after in the same place whose removal or fitting moves along;
    `part_use` is the use on the part when it came off, or now.
    """

    along: tuple[Installation, ...]
    part_use: float


def use_on_day(state: FleetState, vehicle_id: int, on: date, meter_value: float | None, typed: str) -> float:
    """Return the total use of a vehicle on a day: from the meter if it was read, else between its entries.

    Parameters
    ----------
    state
        The fleet as it is kept.
    vehicle_id
        Which vehicle.
    on
        The day.
    meter_value
        What the meter showed, km (h on hour meters), or None.
    typed
        As it was typed, for the sentence.

    Raises
    ------
    WearlogError
        If the value does not fit the entries before and after, or nothing is known of that day.
    """
    vehicle, history = state.vehicles[vehicle_id], state.histories[vehicle_id]
    if meter_value is not None:
        check_meter_value(vehicle.tag, history, meter_value, on, vehicle.meter_unit.use_unit, typed)
        return history.total_for(meter_value, on)
    use = history.use_on(on)
    if use is None:
        first = history.points[0].on.isoformat() if history.points else "–"
        what = _("What the meter showed on {day} is not known; its entries begin on {first}.")
        raise WearlogError(
            Problem(
                what.format(day=on.isoformat(), first=first),
                vehicle.tag,
                _("Type what the meter showed that day."),
            )
        )
    return use


def look_at_fitting(bench: Bench, corrected: Installation) -> FittingLook:
    """Return what a corrected fitting would change. Nothing is saved.

    Raises
    ------
    WearlogError
        If the days can't be, a reading would lie outside, or another part sat there then.
    """
    state = fleet_state(bench)
    with bench.database.reading() as records:
        before = records.get(Installation, corrected.id)
        along = _checked(bench, state, records, before, corrected)
    last = state.histories[corrected.vehicle_id].last
    end = corrected.removed_use
    if end is None:
        end = last.total_use if last is not None else corrected.fitted_use
    gone = state.use_on_part(before, before.fitted_use)
    return FittingLook(along, gone + max(end - corrected.fitted_use, 0.0))


def correct_fitting(bench: Bench, corrected: Installation) -> Changes:
    """Put the days and meter values of a fitting right.

    What was taken off for it, or fitted after it, in the same moment moves along.

    Raises
    ------
    EditConflict
        If somebody else changed it meanwhile.
    WearlogError
        If the days can't be, a reading would lie outside, or another part sat there then.
    """
    state = fleet_state(bench)
    tag = state.vehicles[corrected.vehicle_id].tag
    what = _("Fitting on {tag} corrected").format(tag=tag)
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        before = records.get(Installation, corrected.id)
        if before == corrected:
            raise WearlogError(
                Problem(_("Nothing is different."), tag, _("Type the right day or meter value, or leave it."))
            )
        along = _checked(bench, state, records, before, corrected)
        for record in (corrected, *along):
            records.replace(record)
        change_id = records.change_id
    touched = frozenset({corrected.id, *(one.id for one in along)})
    return Changes(what, change_id, frozenset({corrected.vehicle_id}), touched)


def _checked(
    bench: Bench, state: FleetState, records: Records, before: Installation, after: Installation
) -> tuple[Installation, ...]:
    """Return the neighbours that move along, after all checks."""
    tag = state.vehicles[after.vehicle_id].tag
    refuse_impossible_days(bench, tag, after)
    for end in set(_ends(after)) - set(_ends(before)):
        _refuse_off_the_meter(state, after.vehicle_id, *end)
    refuse_readings_outside(records, tag, after)
    along = []
    for other in records.all(Installation, live=True, stage_id=after.stage_id, position=after.position):
        if other.id == after.id:
            continue
        moved = _moved_along(other, before, after)
        if moved != other:
            refuse_impossible_days(bench, tag, moved)
            refuse_readings_outside(records, tag, moved)
            along.append(moved)
        refuse_overlap(state, after, moved, is_same_part=False)
    for other in records.all(Installation, live=True, part_id=after.part_id):
        if other.id != after.id:
            refuse_overlap(state, after, other, is_same_part=True)
    return tuple(along)


def _ends(installation: Installation) -> list[tuple[date, float]]:
    ends = [(installation.fitted_on, installation.fitted_use)]
    if installation.removed_on is not None and installation.removed_use is not None:
        ends.append((installation.removed_on, installation.removed_use))
    return ends


def _refuse_off_the_meter(state: FleetState, vehicle_id: int, on: date, total_use: float) -> None:
    """Refuse what does not fit the meter entries before and after that day."""
    vehicle, history = state.vehicles[vehicle_id], state.histories[vehicle_id]
    shown = total_use - history.total_for(0.0, on)
    check_meter_value(vehicle.tag, history, shown, on, vehicle.meter_unit.use_unit)


def _moved_along(other: Installation, before: Installation, after: Installation) -> Installation:
    """Return what sat there before or after with its end or beginning at the corrected one."""
    if other.removed_on == before.fitted_on and _is_one_moment(other.removed_use, before.fitted_use):
        return replace(other, removed_on=after.fitted_on, removed_use=after.fitted_use)
    is_next = other.fitted_on == before.removed_on and _is_one_moment(before.removed_use, other.fitted_use)
    if is_next and after.removed_on is not None and after.removed_use is not None:
        return replace(other, fitted_on=after.removed_on, fitted_use=after.removed_use)
    return other


def _is_one_moment(one: float | None, other: float | None) -> bool:
    return one is not None and other is not None and abs(one - other) < SAME_USE


# --- what can't be ---------------------------------------------------------------------------------------


def refuse_impossible_days(bench: Bench, tag: str, installation: Installation) -> None:
    """Refuse a fitting that lies ahead or ends before it begins.

    Raises
    ------
    WearlogError
        If it does.
    """
    last = max(day for day in (installation.fitted_on, installation.removed_on) if day is not None)
    if last > bench.today():
        raise WearlogError(
            Problem(_("{day} lies ahead.").format(day=last.isoformat()), tag, _("Give the day it was done."))
        )
    removed_on, removed_use = installation.removed_on, installation.removed_use
    if removed_on is None:
        return
    if removed_on < installation.fitted_on or (
        removed_use is not None and removed_use < installation.fitted_use - SAME_USE
    ):
        what = _("The part would come off on {off} before it was fitted on {on}.").format(
            off=removed_on.isoformat(), on=installation.fitted_on.isoformat()
        )
        raise WearlogError(Problem(what, tag, _("Check both days and what the meter showed.")))


def refuse_readings_outside(records: Records, tag: str, installation: Installation) -> None:
    """Refuse a fitting that leaves readings of the part outside.

    Raises
    ------
    WearlogError
        With the offer to look at the reading.
    """
    for reading in records.all(Reading, live=True, installation_id=installation.id):
        is_before = reading.on < installation.fitted_on
        is_after = installation.removed_on is not None and reading.on > installation.removed_on
        if not (is_before or is_after):
            continue
        words = (
            _("The part was measured here on {day}, before that.")
            if is_before
            else _("The part was measured here on {day}, after that.")
        )
        label = _("Look at the reading of {day}").format(day=reading.on.isoformat())
        raise WearlogError(
            Problem(
                words.format(day=reading.on.isoformat()),
                tag,
                _("Choose another day, or void that reading first."),
                (Offer(label, "look at reading", reading.id),),
            )
        )


def refuse_overlap(state: FleetState, one: Installation, other: Installation, *, is_same_part: bool) -> None:
    """Refuse two fittings at once: of two parts in one place, or of one part in two places.

    Raises
    ------
    WearlogError
        If they overlap by more than the day of the change.
    """
    if not _overlap(one, other):
        return
    tag = state.vehicles[one.vehicle_id].tag
    words = {
        "part": state.part_text(other),
        "tag": state.vehicles[other.vehicle_id].tag,
        "on": other.fitted_on.isoformat(),
        "off": other.removed_on.isoformat() if other.removed_on is not None else _("now"),
    }
    if is_same_part:
        what = _("The part itself sat on {tag} from {on} to {off}.")
        todo = _("Choose another day, or correct that fitting first.")
    else:
        what = _("The {part} sat there from {on} to {off}.")
        todo = _("Choose another day, or correct its fitting first.")
    raise WearlogError(Problem(what.format(**words), tag, todo, kind=ProblemKind.INPUT))


def _overlap(one: Installation, other: Installation) -> bool:
    begins, ends = _span((one.fitted_on, one.removed_on)), _span((other.fitted_on, other.removed_on))
    if begins[0] == begins[1] or ends[0] == ends[1]:
        return False
    return begins[0] < ends[1] and ends[0] < begins[1]


def _span(days: Iterable[date | None]) -> tuple[date, date]:
    first, last = days
    return first or date.min, last or date.max
