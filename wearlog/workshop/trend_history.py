"""What happened so far to one part: its readings, what was done to it, and the parts before it."""

from datetime import date
from functools import cache
from gettext import gettext as _

import numpy as np

from wearlog.fleet.reading import Reading
from wearlog.fleet.service import Task
from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_state import FleetState
from wearlog.workshop.learn import CAUTION_FROM
from wearlog.workshop.outlook import Outlook
from wearlog.workshop.trend_snapshot import EarlierPart, ReadingMark, TrendEvent, TrendReading
from wearlog.workshop.wear_items import WearItem

#: A reading more likely wrong than right is suspect, one above the caution level doubtful.
SUSPECT_FROM = 0.5
#: So many earlier parts in the same place are shown for comparison.
EARLIER_PARTS = 3


def trend_readings(bench: Bench, state: FleetState, outlook: Outlook) -> tuple[TrendReading, ...]:
    """Return the readings of a part, oldest first, voided ones too."""
    item, family, row = outlook.item, outlook.family, outlook.row
    numbers = [number for number, _day in family.read.of(row)]
    chances = dict(zip(numbers, family.suspect[row], strict=False))
    with bench.database.reading() as records:
        found = records.all(Reading, installation_id=list(item.offsets), measurand=item.measurand)
    result: list[TrendReading] = []
    previous: TrendReading | None = None
    for reading in sorted(
        found, key=lambda r: (r.total_use + item.offsets[r.installation_id or 0], r.on, r.id)
    ):
        if not item.has_at(np.array([reading.total_use]))[0]:
            continue
        chance = float(chances.get(reading.id, 0.0))
        mark = (
            ReadingMark.VOIDED
            if reading.void_reason
            else ReadingMark.SUSPECT
            if chance > SUSPECT_FROM
            else ReadingMark.DOUBTFUL
            if chance > CAUTION_FROM
            else ReadingMark.GOOD
        )
        use_on_part = reading.total_use + item.offsets[reading.installation_id or 0]
        instrument = state.instruments.get(reading.instrument_id or 0)
        one = TrendReading(
            reading_id=reading.id,
            on=reading.on,
            total_use=reading.total_use,
            use_on_part=use_on_part,
            value=reading.value,
            low=reading.low,
            high=reading.high,
            u_value=reading.u_value,
            method=reading.method,
            spots=reading.spots,
            pitches=reading.pitches,
            spread=reading.spread,
            mark=mark,
            suspect_probability=chance,
            rate=_rate(item, previous, reading.value, use_on_part) if mark is ReadingMark.GOOD else None,
            void_reason=reading.void_reason,
            was_cleaned=reading.was_cleaned,
            is_zero_reading=reading.is_zero_reading,
            instrument=instrument.name if instrument else "",
            by=reading.by,
            note=reading.note,
        )
        result.append(one)
        if mark is ReadingMark.GOOD and reading.value is not None:
            previous = one
    return tuple(result)


def _rate(item: WearItem, previous: TrendReading | None, value: float | None, use: float) -> float | None:
    """Return the wear since the reading before, canonical unit per 1000 km (100 h)."""
    if previous is None or previous.value is None or value is None or use <= previous.use_on_part:
        return None
    return (value - previous.value) / ((use - previous.use_on_part) / item.scale)


def trend_events(state: FleetState, outlook: Outlook) -> tuple[TrendEvent, ...]:
    """Return what was done to the stage while the part was on it, oldest first."""
    item = outlook.item
    events: list[TrendEvent] = []
    for installation_id, offset in item.offsets.items():
        installation = state.installations[installation_id]
        start = installation.fitted_use if item.since_use is None else item.since_use
        end = np.inf if installation.removed_use is None else installation.removed_use
        for visit in state.visits_of.get(installation.vehicle_id, ()):
            if not start <= visit.total_use <= end:
                continue
            done = dict.fromkeys(t.task for t in visit.tasks if t.stage_id in {None, installation.stage_id})
            text = ", ".join(_event_words()[task] for task in done if task in _event_words())
            if text:
                events.append(TrendEvent(visit.on, visit.total_use + offset, text))
        if installation_id != item.installation.id and installation.removed_on is not None:
            tag = state.vehicles[installation.vehicle_id].tag
            text = _("moved from {tag}").format(tag=tag)
            events.append(
                TrendEvent(installation.removed_on, (installation.removed_use or 0.0) + offset, text)
            )
    return tuple(sorted(events, key=lambda event: (event.use_on_part, event.on)))


@cache
def _event_words() -> dict[Task, str]:
    """Return the word of each task that is marked in the trend; looked up once, not for every visit."""
    return {
        Task.CLEANED: _("cleaned"),
        Task.LUBRICATED: _("lubricated"),
        Task.TENSION_SET: _("tension set"),
        Task.LINKS_REMOVED: _("links removed"),
        Task.PART_FITTED: _("part fitted"),
        Task.PART_REMOVED: _("part removed"),
        Task.TORQUE_CHECKED: _("torque checked"),
    }


def earlier_parts(bench: Bench, state: FleetState, outlook: Outlook) -> tuple[EarlierPart, ...]:
    """Return the readings of the parts that were in the same place before, latest part first."""
    item = outlook.item
    here = item.installation
    before = [
        i
        for i in state.installed_on.get(here.stage_id, ())
        if i.position is here.position
        and i.id not in item.offsets
        and (i.fitted_on, i.id) < (here.fitted_on, here.id)
        and state.part_type_of(i).kind is state.part_type_of(here).kind
    ]
    latest = sorted(before, key=lambda i: (i.fitted_on, i.id), reverse=True)[:EARLIER_PARTS]
    if not latest:
        return ()
    with bench.database.reading() as records:
        found = records.all(
            Reading, live=True, installation_id=[i.id for i in latest], measurand=item.measurand
        )
    parts = []
    for installation in latest:
        points = sorted(
            (state.use_on_part(installation, r.total_use), r.value)
            for r in found
            if r.installation_id == installation.id and r.value is not None
        )
        if len(points) >= 2:
            parts.append(
                EarlierPart(
                    _earlier_text(installation.fitted_on, installation.removed_on),
                    np.array([use for use, _value in points]),
                    np.array([value for _use, value in points]),
                    installation.fitted_use - state.use_on_part(installation, installation.fitted_use),
                )
            )
    return tuple(parts)


def _earlier_text(fitted_on: date, removed_on: date | None) -> str:
    end = "" if removed_on is None else f"{removed_on:%m/%Y}"
    return _("before: {start} to {end}").format(start=f"{fitted_on:%m/%Y}", end=end)
