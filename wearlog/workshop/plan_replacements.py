"""What each replacement on the due list costs on each day: life given away, sprockets and failures risked."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from wearlog.fleet.parts import PartKind, PartType
from wearlog.planning.plan_costs import EarlyOrLate, early_or_late, sprockets_worn_late
from wearlog.workshop.bench import Bench
from wearlog.workshop.due_snapshot import Action, DueLine
from wearlog.workshop.fleet_state import FleetState
from wearlog.workshop.outlook import Outlook, outlooks
from wearlog.workshop.parts_ahead import dates_by_family
from wearlog.workshop.plan_snapshot import PlanTerms

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Replacement:
    """One replacement, day by day.

    Attributes
    ----------
    risk
        Use and share given away, use and chance past the limit, each of shape (n_days,).
    unused_cost, sprocket_cost, failure_cost
        The same in money, shape (n_days,).
    """

    risk: EarlyOrLate
    unused_cost: Floats
    sprocket_cost: Floats
    failure_cost: Floats

    @property
    def cost(self) -> Floats:
        """All of it by day, [money]."""
        return np.asarray(self.unused_cost + self.sprocket_cost + self.failure_cost, dtype=np.float64)


def replacements(
    bench: Bench, state: FleetState, terms: PlanTerms, lines: Sequence[DueLine], days: Sequence[date]
) -> dict[str, Replacement]:
    """Return the cost of every replacement whose wear is followed, by the key of its line.

    Parameters
    ----------
    days
        Days looked at, from today on.
    """
    found = outlooks(bench)
    chosen: dict[tuple[int, object], str] = {}
    wanted: list[Outlook] = []
    for line in lines:
        if line.action is not Action.REPLACE or line.installation_id is None or line.measurand is None:
            continue
        outlook = found.get((line.installation_id, line.measurand))
        if outlook is not None:
            chosen[line.installation_id, line.measurand] = line.key
            wanted.append(outlook)
    ordinal = np.array([day.toordinal() for day in days])
    result: dict[str, Replacement] = {}
    for group, dates, ahead in dates_by_family(wanted):
        last = np.array([one.use.last_day for one in group])
        past = np.clip(dates.cdf((ordinal[None, :] - last[:, None]).astype(np.float64)), 0.0, 1.0)
        there = np.array([[one.use.use_at(int(day)) - one.use.last_use for day in ordinal] for one in group])
        gone = np.array([one.use.last_use + one.item.offset for one in group])
        risks = early_or_late(ahead, gone, there, past)
        for n, one in enumerate(group):
            risk = EarlyOrLate(
                risks.unused_km[n], risks.unused_share[n], risks.past_km[n], risks.past_chance[n]
            )
            life = float(gone[n] + np.maximum(ahead[n], 0.0).mean())
            key = chosen[one.item.installation.id, one.item.measurand]
            result[key] = _replacement(state, terms, one, risk, life)
    return result


def _replacement(
    state: FleetState, terms: PlanTerms, outlook: Outlook, risk: EarlyOrLate, life: float
) -> Replacement:
    part_type = state.part_type_of(outlook.item.installation)
    sprockets = np.zeros_like(risk.past_km)
    failures = np.zeros_like(risk.past_km)
    if part_type.kind is PartKind.CHAIN:
        sprockets = _sprocket_price(state, outlook) * sprockets_worn_late(risk.past_km, life)
        failures = terms.failure_cost * terms.failures_per_past * risk.past_km / max(life, 1e-9)
    return Replacement(risk, (part_type.price or 0.0) * risk.unused_share, sprockets, failures)


def _sprocket_price(state: FleetState, outlook: Outlook) -> float:
    """Return what the sprockets of a chain cost, as far as prices are known."""
    parts: list[PartType] = [
        state.part_type_of(one) for one in state.current_on(outlook.item.installation.stage_id)
    ]
    return sum(one.price or 0.0 for one in parts if one.kind is PartKind.SPROCKET)
