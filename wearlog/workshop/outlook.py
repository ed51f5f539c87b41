"""The outlook of every part that runs: wear today, distance and date at the limit."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from wearlog.fleet.progress import Progress, Silent
from wearlog.fleet.reading import Measurand
from wearlog.fleet.state import State
from wearlog.forecast.crossing import crossing_quantiles, equally_likely_crossings
from wearlog.forecast.date_table import DateDistributions, date_distributions
from wearlog.forecast.posterior import FARTHEST_WEAR, Posterior, wear_mean_sd, wear_quantiles
from wearlog.planning.states import state_of
from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_snapshot import WearRuleValue
from wearlog.workshop.fleet_state import WEAR_MEASURAND, FleetState, fleet_state
from wearlog.workshop.learn import Family, Home, Learned, learned
from wearlog.workshop.trend_snapshot import LEVELS, MEDIAN, Basis
from wearlog.workshop.usage import VehicleUse, vehicle_uses
from wearlog.workshop.wear_items import FamilyKey, WearItem

#: Installation and what is measured on it.
OutlookKey = tuple[int, Measurand]

#: Wear far beyond the limit was never seen: it is shown as this share of the allowance.
MOST_SHOWN = 2.0
#: Parts looked at together, so that the arrays between stay small.
BLOCK_PARTS = 1000
#: Places of the 80 % interval in `LEVELS`.
LOW, HIGH = 1, 5
#: Use after a reading before another one is worth the trouble; assumption.
REST_AFTER_READING = {"km": 600.0, "h": 30.0}


@dataclass(frozen=True, slots=True)
class Outlook:
    """What is to be expected of one running part.

    Attributes
    ----------
    item, home, row
        The part, and where it stands in its family.
    use
        The vehicle's use.
    allowance
        Share of the part's own wear allowance used today, quantiles at `LEVELS`, shape (7,).
    allowance_mean, allowance_sd
        Its mean and standard deviation.
    past_probability
        Chance that the limit is passed today, [-].
    limit_x, limit_day
        Distance on the part (forecast's unit) and ordinal day at the limit at `LEVELS`, shape (7,).
    due_day
        Ordinal day at which the chance of being past the limit reaches the caution level; inf beyond reach.
    due_day_leaning
        The same as the forecast leans, without taking questioned readings as right.
    plan_x
        Distance at which one in ten such parts has used the plan share.
    readings, similar_parts, basis
        What the estimate rests on.
    state
        In words.
    can_be_measured
        Whether a reading now would tell more than is known: the last one is not fresh, and none is
        questioned. A belt's tension is measured as it is set, so that there is nothing to decide.
    """

    item: WearItem
    home: Home
    row: int
    use: VehicleUse
    allowance: NDArray[np.float64]
    allowance_mean: float
    allowance_sd: float
    past_probability: float
    limit_x: NDArray[np.float64]
    limit_day: NDArray[np.float64]
    due_day: float
    due_day_leaning: float
    plan_x: float
    readings: int
    similar_parts: int
    basis: Basis
    state: State
    can_be_measured: bool = False

    @property
    def family(self) -> Family:
        """The family of the part, as it is now."""
        if self.home.family is None:
            raise ValueError("the family was never learnt")
        return self.home.family

    @property
    def rule(self) -> WearRuleValue:
        """What the wear rule shows."""
        return WearRuleValue(
            median=float(self.allowance[MEDIAN]),
            low=float(self.allowance[LOW]),
            high=float(self.allowance[HIGH]),
            plan_share=self.item.limit.plan_share,
            state=self.state,
            has_reading=self.readings > 0,
        )

    @property
    def is_questioned(self) -> bool:
        """Whether a reading is questioned."""
        return bool(self.family.is_questioned[self.row])


@dataclass(frozen=True, slots=True)
class _Looked:
    """Outlooks, what they were made from, and the keys of those of each vehicle."""

    data_version: int
    today: date
    found: dict[OutlookKey, Outlook]
    uses: Mapping[int, VehicleUse]
    homes: frozenset[int]
    keys: dict[int, list[OutlookKey]]


def outlooks(bench: Bench, progress: Progress | None = None) -> dict[OutlookKey, Outlook]:
    """Return the outlook of all running parts, by installation and measurand."""
    told = progress or Silent()
    state = fleet_state(bench)
    today = bench.today()
    before = _looked(bench)
    if before is not None and (before.data_version, before.today) == (state.data_version, today):
        return before.found
    lessons = learned(bench, told)
    uses = vehicle_uses(bench)
    homes = frozenset(id(family.home) for family in lessons.families.values())
    found, keys, wanted = _kept(before, state, today, lessons, uses, homes)
    for n, (key, family) in enumerate(lessons.families.items()):
        told.step(n, len(lessons.families), "Looking ahead")
        rows = [
            row
            for row in wanted.get(key, ())
            if state.vehicles[family.items[row].installation.vehicle_id].retired_on is None
        ]
        for begin in range(0, len(rows), BLOCK_PARTS):
            some = rows[begin : begin + BLOCK_PARTS]
            posterior = family.fit.posterior.take(some)
            for one in family_outlooks(state, uses, family, some, posterior, today.toordinal()):
                place = one.item.installation.id, one.item.measurand
                found[place] = one
                keys.setdefault(one.item.installation.vehicle_id, []).append(place)
    looked = _Looked(state.data_version, today, found, uses, homes, keys)
    bench.remembered["outlooks"] = (state.data_version, looked)
    return found


def _looked(bench: Bench) -> _Looked | None:
    known = bench.remembered.get("outlooks")
    return known[1] if known is not None and isinstance(known[1], _Looked) else None


def _kept(
    before: _Looked | None,
    state: FleetState,
    today: date,
    lessons: Learned,
    uses: Mapping[int, VehicleUse],
    homes: frozenset[int],
) -> tuple[dict[OutlookKey, Outlook], dict[int, list[OutlookKey]], dict[FamilyKey, list[int]]]:
    """Return the outlooks that stay, their keys by vehicle, and the rows to look at anew by family."""
    # A family that was fitted anew has another home.
    is_alike = before is not None and before.today == today and before.homes == homes
    changed = state.changed_since(before.data_version) if before is not None and is_alike else None
    if before is None or changed is None:
        running = {
            key: [row for row, item in enumerate(family.items) if item.is_current]
            for key, family in lessons.families.items()
        }
        return {}, {}, running
    others = changed | {number for number, use in uses.items() if before.uses.get(number) is not use}
    found, keys = dict(before.found), dict(before.keys)
    for number in others:
        for key in keys.pop(number, ()):
            del found[key]
    return found, keys, _rows_of(state, lessons, others)


def _rows_of(state: FleetState, lessons: Learned, vehicles: Iterable[int]) -> dict[FamilyKey, list[int]]:
    """Return the rows of the running parts of some vehicles, by family."""
    rows: dict[FamilyKey, list[int]] = {}
    for vehicle_id in vehicles:
        for stage in state.stages_of.get(vehicle_id, ()):
            for one in state.current_on(stage.id):
                for measurand in WEAR_MEASURAND.values():
                    place = lessons.where.get((one.id, measurand))
                    if place is not None:
                        rows.setdefault(place[0], []).append(place[1])
    return rows


def vehicles_with_another(
    before: Mapping[tuple[int, Measurand], Outlook], now: Mapping[tuple[int, Measurand], Outlook]
) -> set[int]:
    """Return the vehicles with a part whose outlook is another one than before, or is new, or is gone."""
    if before is now:
        return set()
    others = [one for one, known in zip(now.values(), map(before.get, now), strict=True) if one is not known]
    others += [before[key] for key in before.keys() - now.keys()]
    return {one.item.installation.vehicle_id for one in others}


def family_outlooks(
    state: FleetState,
    uses: Mapping[int, VehicleUse],
    family: Family,
    rows: Sequence[int],
    posterior: Posterior,
    today: int,
    caution: Posterior | None = None,
) -> list[Outlook]:
    """Return the outlook of some parts of a family from their posterior.

    Parameters
    ----------
    rows
        Which parts of the family, n of them.
    posterior
        Of these n parts.
    caution
        Of these n parts, with questioned readings taken as right; the family's own if None.
    """
    items = [family.items[row] for row in rows]
    own = np.array([item.own_limit for item in items])
    used = [uses[item.installation.vehicle_id] for item in items]
    x_today = np.array([item.x_at(use.use_at(today)) for item, use in zip(items, used, strict=True)])
    similar_parts = family.similar(rows)
    x_today = np.maximum(x_today, posterior.x_last)[:, None]
    allowance = wear_quantiles(posterior, x_today, LEVELS)[:, 0, :] / own[:, None]
    mean, sd = (moment[:, 0] / own for moment in wear_mean_sd(posterior, x_today))
    limit_x = crossing_quantiles(posterior, LEVELS)
    even = equally_likely_crossings(posterior)
    plan_x = _plan_x(posterior, items)
    level = state.policy.caution_level
    last_day = np.array([use.last_day for use in used])
    dates = _dates(items, used, even)
    limit_day = last_day[:, None] + dates.days_at(LEVELS)
    leaning = last_day + dates.days_at([level])[:, 0]
    past = dates.cdf(np.maximum(today - last_day, 0).astype(np.float64))
    due = leaning.copy()
    questioned = np.flatnonzero(family.is_questioned[list(rows)])
    if questioned.size:
        careful = family.caution(np.array(rows)[questioned]) if caution is None else caution.take(questioned)
        cautious = equally_likely_crossings(careful)
        if_right = _dates([items[n] for n in questioned], [used[n] for n in questioned], cautious)
        due[questioned] = np.minimum(due[questioned], last_day[questioned] + if_right.days_at([level])[:, 0])
    result = []
    for n, (row, item, use) in enumerate(zip(rows, items, used, strict=True)):
        readings = int(posterior.count[n])
        similar = int(similar_parts[n])
        rested_at = item.total_use_at(float(posterior.x_last[n])) + REST_AFTER_READING[item.use_unit]
        can_be_measured = (
            readings > 0
            and rested_at <= use.last_use
            and not family.is_questioned[row]
            and item.measurand is not Measurand.BELT_TENSION
        )
        result.append(
            Outlook(
                item=item,
                home=family.home,
                row=row,
                use=use,
                allowance=np.minimum(allowance[n], MOST_SHOWN),
                allowance_mean=min(float(mean[n]), MOST_SHOWN),
                allowance_sd=float(sd[n]),
                past_probability=float(past[n]),
                limit_x=limit_x[n],
                limit_day=limit_day[n],
                due_day=float(due[n]),
                due_day_leaning=float(leaning[n]),
                plan_x=float(plan_x[n]),
                readings=readings,
                similar_parts=similar,
                basis=_basis(readings, similar),
                state=state_of(
                    float(past[n]),
                    float(allowance[n, MEDIAN]),
                    item.limit.plan_share,
                    float(due[n]) - today,
                    state.part_type_of(item.installation).lead_time_days,
                    readings > 0,
                    state.policy,
                    can_be_measured,
                ),
                can_be_measured=can_be_measured,
            )
        )
    return result


def _dates(
    items: list[WearItem], used: list[VehicleUse], crossings: NDArray[np.float64]
) -> DateDistributions:
    """Return by which day each part reaches its limit, from equally likely crossings, shape (n, n_q)."""
    ahead = [
        item.ahead_of(use.last_use, crossing)
        for item, use, crossing in zip(items, used, crossings, strict=True)
    ]
    return date_distributions(
        np.array(ahead),
        [use.usage for use in used],
        [use.clock for use in used],
        [use.last_day for use in used],
    )


def _plan_x(posterior: Posterior, items: list[WearItem]) -> NDArray[np.float64]:
    """Return the distance at which one in ten such parts has used the plan share."""
    shares = np.array([item.limit.plan_share for item in items])
    return crossing_quantiles(replace(posterior, limit=posterior.limit * shares), [0.1])[:, 0]


def _basis(readings: int, similar: int) -> Basis:
    if readings:
        return Basis.OWN_READINGS
    return Basis.FLEET if similar else Basis.ENGINEERING


def farthest_x(outlook: Outlook) -> float:
    """Return the distance up to which a trend is drawn: where the median passes 1.2 of the allowance.

    Wear beyond that was never seen; nothing is forecast there.
    """
    ahead = float(outlook.limit_x[MEDIAN]) * (FARTHEST_WEAR + 0.05)
    return ahead if math.isfinite(ahead) else 1.0
