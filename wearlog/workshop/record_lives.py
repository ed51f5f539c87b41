"""How long parts lasted: to their limit or until they came off worn; early removals counted fairly."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from wearlog.fleet.fitting import Installation, RemovalReason
from wearlog.forecast.backtest import bracketed_crossing
from wearlog.forecast.survival import kaplan_meier
from wearlog.workshop.fleet_state import FleetState
from wearlog.workshop.learn import Family
from wearlog.workshop.record_levels import end_of_use
from wearlog.workshop.record_snapshot import Factor, Floats, Survival
from wearlog.workshop.wear_readings import came_off_with_its_chain

#: A reading more suspect than this does not end a life.
MISREAD_FROM = 0.5
#: Curves of levels with fewer parts than this are left out.
LEAST_PARTS = 3


@dataclass(frozen=True, slots=True)
class Life:
    """One part, from when it was first followed.

    Attributes
    ----------
    installation
        Where it is, or was last.
    use, use_entry
        Use on the part at its end and when it was first followed, km (h).
    is_worn, is_running
        Whether it reached its limit or came off worn; whether it still runs, not worn.
    is_known
        Whether somebody knows what was on it; else its life can't be told.
    """

    installation: Installation
    use: float
    use_entry: float
    is_worn: bool
    is_running: bool
    is_known: bool


def lives(state: FleetState, family: Family, today: date) -> dict[int, Life]:
    """Return the life of each part of a family, by the number of the part."""
    reached = _limit_reached(family)
    found: dict[int, Life] = {}
    for item in family.items:
        part_id = item.installation.part_id
        if part_id not in found:
            life = _life(state, state.installations_of_part[part_id], reached.get(part_id), today)
            if life is not None:
                found[part_id] = life
    return found


def survival(
    found: Sequence[Life], levels: Sequence[Mapping[Factor, str]]
) -> tuple[Survival | None, dict[Factor, tuple[Survival, ...]]]:
    """Return the survival curve of some parts, and those by each factor with two levels or more."""
    by: dict[Factor, tuple[Survival, ...]] = {}
    for factor in Factor:
        names = dict.fromkeys(level[factor] for level in levels if factor in level)
        curves = [
            _survival([one for one, own in zip(found, levels, strict=True) if own.get(factor) == name], name)
            for name in names
        ]
        kept = [one for one in curves if one is not None and one.n_parts >= LEAST_PARTS]
        if len(kept) >= 2:
            by[factor] = tuple(sorted(kept, key=lambda one: (-one.median, one.level)))
    return _survival(found, ""), by


def _survival(found: Sequence[Life], level: str) -> Survival | None:
    known = [life for life in found if life.is_known]
    if not known:
        return None
    use, entry = _column(known, "use"), _column(known, "use_entry")
    is_worn = np.array([life.is_worn for life in known])
    curve = kaplan_meier(use, is_worn, entry)
    low, high = curve.interval()
    median_low, median_high = curve.quantile_interval(0.5)
    return Survival(
        level=level,
        use=curve.x,
        share=curve.survival,
        low=low,
        high=high,
        at_risk=curve.at_risk,
        ended_early=np.sort(use[~is_worn]),
        median=curve.quantile(0.5),
        median_low=median_low,
        median_high=median_high,
        n_parts=curve.n_parts,
        n_worn=curve.n_failed,
        n_running=sum(life.is_running for life in known),
        n_unknown=len(found) - len(known),
        use_last=curve.x_last,
    )


def _column(found: Sequence[Life], name: str) -> Floats:
    return np.array([getattr(life, name) for life in found], dtype=np.float64)


def _limit_reached(family: Family) -> dict[int, float]:
    """Return the use at which readings show that a part reached its limit, by part; belts have no such use.

    A belt's tension can be set anew; it ends when it is taken off.
    """
    limit = family.data.limits()
    y = np.where(family.suspect > MISREAD_FROM, np.nan, family.readings.y)
    is_past = y >= limit[:, None]
    x, _second = bracketed_crossing(replace(family.readings, y=y), limit)
    first = family.readings.x[np.arange(len(limit)), np.argmax(is_past, axis=1)]
    x = np.where(np.isnan(x), first, x)
    return {
        family.items[row].installation.part_id: float(family.items[row].use_of(x[row]))
        for row in np.flatnonzero(is_past.any(axis=1)).tolist()
        if family.items[row].since_use is None
    }


def _life(
    state: FleetState, installations: tuple[Installation, ...], reached: float | None, today: date
) -> Life | None:
    begun = [installation for installation in installations if installation.fitted_on <= today]
    if not begun:
        return None
    first, last = begun[0], begun[-1]
    is_off = last.removed_on is not None and last.removed_on <= today
    end = end_of_use(state, last)
    if not is_off:
        known = state.histories[last.vehicle_id].use_on(today)
        end = last.fitted_use if known is None else min(max(known, last.fitted_use), end)
    use = state.use_on_part(last, end)
    is_worn = is_off and last.removal_reason is RemovalReason.WORN
    # A sprocket that went with its worn chain might have lasted longer.
    is_worn = is_worn and not came_off_with_its_chain(state, last)
    if reached is not None and reached <= use:
        use, is_worn = reached, True
    points = state.histories[first.vehicle_id].points
    # Parts that were on before the records begin are only known because they had lasted until then.
    followed = max(points[0].total_use, first.fitted_use) if points else first.fitted_use
    entry = state.use_on_part(first, followed)
    if use < entry:
        return None
    is_known = state.parts[last.part_id].is_history_known
    return Life(last, use, entry, is_worn, not is_off and not is_worn, is_known)
