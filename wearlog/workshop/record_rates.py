"""Wear rates by stage, duty, part type, lot and care, with what the data tell of the differences."""

from collections.abc import Mapping, Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from wearlog.workshop.learn import Family
from wearlog.workshop.record_comparing import Compared, Spreads, compare_groups
from wearlog.workshop.record_snapshot import Comparison, Factor, Rate, Verdict

#: Equal rates less likely than this are called different.
TOLD_BELOW = 0.05

#: What parts must have in common with one another to be compared by a factor.
ALIKE_IN: Mapping[Factor, tuple[Factor, ...]] = {
    Factor.STAGE: (Factor.DUTY,),
    Factor.DUTY: (Factor.STAGE,),
    Factor.PART_TYPE: (Factor.STAGE, Factor.DUTY),
    Factor.LOT: (Factor.STAGE, Factor.DUTY, Factor.PART_TYPE),
    Factor.CARE: (Factor.STAGE, Factor.DUTY, Factor.PART_TYPE),
    Factor.CARE_INTERVAL: (Factor.STAGE, Factor.DUTY, Factor.PART_TYPE),
}


def kind_rate(family: Family, rows: NDArray[np.int64]) -> Rate | None:
    """Return the rate of all parts of a kind in their own mix of stages and duties; None without readings."""
    read = _read_rows(family, rows)
    if not read.size:
        return None
    places = [family.cells[cell] for cell in family.data.cell[read]]
    compared = _compared(family, read, np.zeros(read.size, dtype=np.int64), _numbered(places)[0])
    rate, low, high = compared.rates()[0].tolist()
    return Rate("", int(rows.size), int(read.size), rate, low, high)


def comparisons(
    family: Family,
    rows: NDArray[np.int64],
    levels: Sequence[Mapping[Factor, str]],
    designations: Sequence[str],
) -> dict[Factor, Comparison]:
    """Return the rates by each factor that has two levels or more.

    Parameters
    ----------
    family
        A fitted family.
    rows
        Its parts that are compared: those with one unit of use.
    levels
        Of each of these parts.
    designations
        Of each of these parts: a sprocket of a cycle chain is not compared with one of a motorcycle chain.
    """
    found = {}
    for factor in Factor:
        known = [n for n, level in enumerate(levels) if factor in level]
        names = [levels[n][factor] for n in known]
        if len(set(names)) >= 2:
            alike = [_circumstances(factor, levels[n], designations[n]) for n in known]
            found[factor] = _comparison(family, rows[known], factor, names, alike)
    return {factor: one for factor, one in found.items() if len(one.rates) >= 2}


def _circumstances(factor: Factor, level: Mapping[Factor, str], designation: str) -> str:
    """Return all that may not differ between parts whose rates are compared."""
    own = [level.get(one, "") for one in ALIKE_IN[factor]]
    return "|".join(own if factor is Factor.PART_TYPE else [*own, designation])


def _comparison(
    family: Family, rows: NDArray[np.int64], factor: Factor, names: list[str], alike: list[str]
) -> Comparison:
    is_read = family.fit.messages.is_informative[rows]
    read = rows[is_read]
    kept = np.flatnonzero(is_read)
    if not read.size:
        return Comparison(factor, (), None)
    group, order = _numbered([names[n] for n in kept])
    circumstance, _names = _numbered([alike[n] for n in kept])
    compared = _compared(family, read, group, circumstance)
    counts = {name: names.count(name) for name in order}
    n_read = np.bincount(group, minlength=len(order))
    rates = [
        Rate(name, counts[name], int(n), *values)
        for name, n, values in zip(order, n_read, compared.rates().tolist(), strict=True)
    ]
    verdict = _verdict(compared, rates)
    return Comparison(factor, tuple(sorted(rates, key=lambda rate: -rate.rate)), verdict)


def _verdict(compared: Compared, rates: list[Rate]) -> Verdict | None:
    telling = np.array([n for n, rate in enumerate(rates) if rate.is_telling], dtype=np.int64)
    if telling.size < 2:
        return None
    is_told = compared.equal_chance(telling) < TOLD_BELOW
    if is_told:
        pairs = list(combinations(telling.tolist(), 2))
        sureness = [abs(way) / max(sd, 1e-12) for way, sd in (compared.difference(*pair) for pair in pairs)]
        first, second = pairs[int(np.argmax(sureness))]
    else:
        most = sorted(telling.tolist(), key=lambda n: -rates[n].n_read)
        first, second = most[0], most[1]
    if compared.effect[first] < compared.effect[second]:
        first, second = second, first
    ratio, low, high = compared.ratio(first, second)
    return Verdict(is_told, rates[first].level, rates[second].level, ratio, low, high)


def _compared(
    family: Family, rows: NDArray[np.int64], group: NDArray[np.int64], circumstance: NDArray[np.int64]
) -> Compared:
    fit, prior = family.fit, family.fit.prior
    return compare_groups(
        fit.messages.value[rows],
        fit.messages.variance[rows],
        group,
        circumstance,
        np.array([family.items[row].installation.vehicle_id for row in rows.tolist()], dtype=np.int64),
        prior.log_rate,
        Spreads(fit.tau, fit.tau_vehicle, prior.cell_sd, prior.family_sd),
    )


def _read_rows(family: Family, rows: NDArray[np.int64]) -> NDArray[np.int64]:
    return rows[family.fit.messages.is_informative[rows]]


def _numbered(names: Sequence[str]) -> tuple[NDArray[np.int64], list[str]]:
    """Return the number of each name, and the names in the order of their numbers."""
    order = list(dict.fromkeys(names))
    place = {name: n for n, name in enumerate(order)}
    return np.array([place[name] for name in names], dtype=np.int64), order
