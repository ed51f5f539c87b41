"""At which wear chains are best replaced, at this fleet's rates and prices."""

import math
from collections import Counter
from collections.abc import Sequence
from statistics import median

import numpy as np

from wearlog.fleet.parts import PartKind
from wearlog.fleet.progress import Progress, Silent
from wearlog.fleet.reading import Measurand
from wearlog.forecast.crossing import crossing_quantiles
from wearlog.forecast.law import RatePrior
from wearlog.forecast.posterior import part_posterior
from wearlog.forecast.readings import one_part
from wearlog.planning.policy import ChainCosts, WearRates, chain_policy
from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.learn import Family, learned
from wearlog.workshop.plan_snapshot import PlanTerms
from wearlog.workshop.plan_terms import plan_terms
from wearlog.workshop.plan_times import REPLACE_MINUTES
from wearlog.workshop.policy_snapshot import PolicyOf, PolicySnapshot
from wearlog.workshop.wear_items import WearItem

#: Shares of the allowance that are looked at.
SHARES = tuple(float(share) for share in np.round(np.arange(0.40, 1.805, 0.025), 3))
#: Distance between two looks at a chain where no readings tell, [1000 km or 100 h]; assumption.
USUAL_CHECK = 1.0


def policy_snapshot(bench: Bench, progress: Progress | None = None) -> PolicySnapshot:
    """Return the long-run cost against the wear at replacement, for each class of chains that runs."""
    told = progress or Silent()
    state, terms = fleet_state(bench), plan_terms(bench)
    mark = (state.data_version, terms)
    known = bench.remembered.get("policy")
    if known is not None and known[0] == mark and isinstance(known[1], PolicySnapshot):
        return known[1]
    policies, unpriced = [], []
    families = learned(bench, told).families
    for n, ((measurand, wear_class), family) in enumerate(families.items()):
        told.step(n, len(families), "Weighing early against late")
        if measurand is not Measurand.CHAIN_ELONGATION:
            continue
        running = [
            item
            for item in family.items
            if item.is_current and state.vehicles[item.installation.vehicle_id].retired_on is None
        ]
        if not running:
            continue
        chain, sprockets = _prices(state, running)
        if chain is None:
            unpriced.append(wear_class)
            continue
        policies.append(_policy(family, running, chain, sprockets, terms))
    result = PolicySnapshot(tuple(policies), tuple(unpriced), state.data_version)
    bench.remembered["policy"] = (mark, result)
    return result


def _prices(state: FleetState, running: Sequence[WearItem]) -> tuple[float | None, float]:
    """Return the usual price of a chain, and of the sprockets it runs on, as far as prices are known."""
    chains = [state.part_type_of(item.installation).price for item in running]
    priced = [price for price in chains if price is not None]
    sprockets = [
        sum(
            part_type.price or 0.0
            for part_type in map(state.part_type_of, state.current_on(item.installation.stage_id))
            if part_type.kind is PartKind.SPROCKET
        )
        for item in running
    ]
    return (median(priced) if priced else None), median(sprockets)


def _policy(
    family: Family, running: Sequence[WearItem], chain: float, sprockets: float, terms: PlanTerms
) -> PolicyOf:
    labour = terms.labour_per_hour / 60.0
    fitting = REPLACE_MINUTES[PartKind.CHAIN] * labour
    costs = ChainCosts(
        chain=chain,
        fitting=fitting,
        sprockets=sprockets + REPLACE_MINUTES[PartKind.SPROCKET] * labour,
        failure=terms.failure_cost,
        failures_per_past=terms.failures_per_past,
    )
    check = _check_every(family)
    curve = chain_policy(SHARES, _rates(family, running), costs, check)
    split = [tuple(float(one) for one in column) for column in curve.parts.T]
    return PolicyOf(
        wear_class=family.key[1],
        use_unit=Counter(item.use_unit for item in running).most_common(1)[0][0],
        chains=len(running),
        read_parts=family.fit.n_read_parts,
        chain_price=chain,
        sprocket_price=sprockets,
        fitting_cost=fitting,
        check_every=check,
        shares=SHARES,
        cost=tuple(float(one) for one in curve.cost),
        low=tuple(float(one) for one in curve.low),
        high=tuple(float(one) for one in curve.high),
        chain_cost=split[0],
        labour_cost=split[1],
        sprocket_cost=split[2],
        failure_cost=split[3],
        life=tuple(float(one) for one in curve.life),
        past_chance=tuple(float(one) for one in curve.past_chance),
        best=curve.best_share,
        best_low=curve.best_low,
        best_high=curve.best_high,
    )


def _rates(family: Family, running: Sequence[WearItem]) -> WearRates:
    """Return how fast new chains wear where chains run now: cells weighed by the chains that run in them."""
    place = {item.installation.id: row for row, item in enumerate(family.items)}
    cells = Counter(int(family.data.cell[place[item.installation.id]]) for item in running)
    own = median(item.own_limit for item in running)
    spread2 = family.fit.tau**2 + family.fit.tau_vehicle**2
    means, unsure, weights = [], [], []
    for cell, count in cells.items():
        belief = family.fit.new_part_prior(cell)
        mean, sd = float(belief.mean[0]), float(belief.sd[0])
        # A chain of the typical rate: where its path, bent or straight, reaches the limit.
        typical = part_posterior(one_part([], 0.05, y=[]), RatePrior.of(mean, 1e-3), family.fit.law, own)
        means.append(-math.log(float(crossing_quantiles(typical, [0.5])[0, 0])))
        unsure.append(max(sd * sd - spread2, 0.0))
        weights.append(count)
    mean = float(np.average(means, weights=weights))
    between = float(np.average((np.array(means) - mean) ** 2, weights=weights))
    return WearRates(
        ln_rate=mean,
        spread=math.sqrt(spread2 + between),
        u_ln_rate=math.sqrt(float(np.average(unsure, weights=weights))),
    )


def _check_every(family: Family) -> float:
    """Return the usual distance between two readings of a chain, [1000 km or 100 h]."""
    gaps: list[float] = []
    readings = family.readings
    for row, count in enumerate(readings.count.tolist()):
        gaps += np.diff(readings.x[row, :count]).tolist()
    positive = [gap for gap in gaps if gap > 0.0]
    return median(positive) if positive else USUAL_CHECK
