"""What one more reading would change, before it is saved."""

from dataclasses import dataclass
from datetime import date
from gettext import gettext as _

import numpy as np

from wearlog.fleet.problem import Doubt, DoubtKind, Offer
from wearlog.fleet.reading import Measurand
from wearlog.forecast.family import update_part
from wearlog.forecast.next_reading import fall_ratio, reading_tail
from wearlog.forecast.readings import ReadingTable
from wearlog.measuring.evaluated import Evaluated
from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_snapshot import WearRuleValue
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.learn import Family, learned
from wearlog.workshop.outlook import Outlook, family_outlooks, outlooks
from wearlog.workshop.usage import vehicle_uses
from wearlog.workshop.wear_items import WearItem
from wearlog.workshop.when import day_of

#: A reading less likely than this is unusual, or suspect, under the forecast.
UNUSUAL, SUSPECT = 0.01, 0.001
#: A fall by more than so many standard uncertainties is asked about.
FALL = 3.0


@dataclass(frozen=True, slots=True)
class Foreseen:
    """The outlook with one more reading."""

    rule: WearRuleValue
    replace_by: date | None
    replace_by_before: date | None
    doubts: tuple[Doubt, ...]


@dataclass(frozen=True, slots=True)
class _New:
    """The new reading on the forecast's scale; either y, or lo and hi."""

    x: float
    y: float
    lo: float
    hi: float
    r: float


def foresee(
    bench: Bench, installation_id: int, measurand: Measurand, total_use: float, on: date, result: Evaluated
) -> Foreseen | None:
    """Return what a reading would change; None if the part is not followed by its wear.

    Parameters
    ----------
    total_use
        Total use of the vehicle at the reading, km (h).
    on
        Day of the reading.
    result
        The evaluated reading.
    """
    before = outlooks(bench).get((installation_id, measurand))
    found = learned(bench).find(installation_id, measurand)
    if before is None or found is None:
        return None
    family, row = before.family, before.row
    item = family.items[row]
    new = _on_scale(item, total_use, result, family, row)
    if new is None:
        return None
    readings = _with(family, row, new)
    posterior = update_part(family.fit, readings, part=row, limit=item.own_limit)
    state = fleet_state(bench)
    after = family_outlooks(
        state, vehicle_uses(bench), family, [row], posterior, bench.today().toordinal(), caution=posterior
    )[0]
    return Foreseen(
        rule=after.rule,
        replace_by=day_of(after.due_day),
        replace_by_before=day_of(before.due_day),
        doubts=_doubts(before, family, row, item, new, on),
    )


def _on_scale(item: WearItem, total_use: float, result: Evaluated, family: Family, row: int) -> _New | None:
    x = max(item.x_at(total_use), float(family.readings.x_start[row]))
    r = max(abs(result.u_value / item.span), 0.005)
    if result.value is not None:
        return _New(x, (result.value - item.as_new) / item.span, np.nan, np.nan, r)
    ends = sorted(
        (end - item.as_new) / item.span
        for end in (
            -np.inf if result.low is None else result.low,
            np.inf if result.high is None else result.high,
        )
    )
    if not ends[0] < ends[1] or (np.isinf(ends[0]) and np.isinf(ends[1])):
        return None
    return _New(x, np.nan, ends[0], ends[1], r)


def _with(family: Family, row: int, new: _New) -> ReadingTable:
    table, count = family.readings, int(family.readings.count[row])
    columns = {
        name: np.append(getattr(table, name)[row, :count], value)
        for name, value in (("x", new.x), ("y", new.y), ("lo", new.lo), ("hi", new.hi), ("r", new.r))
    }
    return ReadingTable.from_columns(
        1,
        np.zeros(count + 1, dtype=np.int64),
        columns["x"],
        columns["r"],
        columns["y"],
        columns["lo"],
        columns["hi"],
        table.x_start[row : row + 1],
        table.has_unknown_history[row : row + 1],
    )


def _doubts(
    before: Outlook, family: Family, row: int, item: WearItem, new: _New, on: date
) -> tuple[Doubt, ...]:
    del on
    posterior = family.fit.posterior.take([row])
    x = max(new.x, float(posterior.x_last[0]))
    is_point = np.isfinite(new.y)
    tail = reading_tail(
        posterior,
        x,
        new.r,
        y=new.y if is_point else None,
        lo=None if is_point else new.lo,
        hi=None if is_point else new.hi,
    )
    found: list[Doubt] = []
    chance = float(np.asarray(tail).ravel()[0])
    if chance < UNUSUAL and (before.readings or before.similar_parts):
        is_suspect = chance < SUSPECT
        expected = before.allowance
        found.append(
            Doubt(
                DoubtKind.SUSPECT if is_suspect else DoubtKind.UNUSUAL,
                _(
                    "{chance} readings in 1000 would be this far off. Expected {low:.0%} to {high:.0%} used."
                ).format(
                    chance=max(round(chance * 1000), 1) if not is_suspect else _("Fewer than 1"),
                    low=float(expected[1]),
                    high=float(expected[5]),
                ),
                offers=(Offer(_("Measure again"), "measure again"), Offer(_("It is right"), "keep")),
            )
        )
    count = int(family.readings.count[row])
    if is_point and count and np.isfinite(family.readings.y[row, count - 1]):
        ratio = fall_ratio(
            family.readings.y[row, count - 1],
            family.readings.r[row, count - 1],
            new.y,
            new.r,
            family.fit.law.theta.error_factor,
        )
        if float(np.asarray(ratio).ravel()[0]) > FALL and item.measurand is not Measurand.BELT_TENSION:
            found.append(
                Doubt(
                    DoubtKind.FELL,
                    _("Less worn than last time. Was a new part fitted, or another vehicle measured?"),
                    offers=(
                        Offer(_("New part fitted"), "part replaced"),
                        Offer(_("Other vehicle"), "other vehicle"),
                        Offer(_("Measure again"), "measure again"),
                    ),
                )
            )
    return tuple(found)
