"""Both possibilities of a part whose readings and whose fleet do not agree."""

import numpy as np

from wearlog.forecast.law import RatePrior
from wearlog.forecast.posterior import Posterior, part_posterior
from wearlog.forecast.readings import ReadingTable
from wearlog.workshop.bench import Bench
from wearlog.workshop.explain import rate_evidence
from wearlog.workshop.explain_snapshot import RateEvidence
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.learn import CAUTION_FROM
from wearlog.workshop.outlook import HIGH, LOW, Outlook, family_outlooks
from wearlog.workshop.trend_snapshot import MEDIAN, InDoubt, Possibility, TwoWays
from wearlog.workshop.usage import vehicle_uses
from wearlog.workshop.when import day_of

#: Readings and fleet that lie so many standard deviations apart do not agree.
LEAST_ODDS = 2.0
#: Stands for knowing nothing of the rate but its order of magnitude, sd of ln rate.
OPEN_SD = 1.5


def two_ways(bench: Bench, outlook: Outlook) -> TwoWays | None:
    """Return both possibilities of a part, or None where readings and fleet agree."""
    rate = rate_evidence(outlook)
    family, row, own_limit = outlook.family, outlook.row, outlook.item.own_limit
    readings, law = family.readings.take([row]), family.fit.law
    prior = family.fit.rate_prior([row])
    suspect = family.suspect[[row], : readings.x.shape[1]]
    doubted = (suspect > CAUTION_FROM) & readings.is_reading
    if doubted.any():
        share = np.where(doubted, 0.0, law.gross.share)
        own = part_posterior(readings, prior, law, own_limit, share=share)
        fleet = part_posterior(readings, prior, law, own_limit, share=np.where(doubted, 1.0, share))
        chance = float(suspect[doubted].max())
        return TwoWays(
            InDoubt.READING,
            _possibility(bench, outlook, own),
            _possibility(bench, outlook, fleet),
            1.0 - chance,
            _times(rate),
        )
    if outlook.readings == 0 or abs(rate.odds) < LEAST_ODDS:
        return None
    own = part_posterior(readings, RatePrior.of(prior.mean, OPEN_SD), law, own_limit)
    fleet = part_posterior(_unread(readings), prior, law, own_limit)
    return TwoWays(
        InDoubt.PART,
        _possibility(bench, outlook, own),
        _possibility(bench, outlook, fleet),
        rate.own_share,
        _times(rate),
    )


def _times(rate: RateEvidence) -> float | None:
    return None if rate.own is None else rate.own[1] / rate.fleet[1]


def _unread(readings: ReadingTable) -> ReadingTable:
    """Return the same part as if nobody had ever measured it."""
    none = np.zeros(0)
    return ReadingTable.from_columns(
        1,
        none.astype(np.int64),
        none,
        none,
        x_start=readings.x_start,
        has_unknown_history=readings.has_unknown_history,
    )


def _possibility(bench: Bench, outlook: Outlook, posterior: Posterior) -> Possibility:
    state, today = fleet_state(bench), bench.today()
    (seen,) = family_outlooks(
        state,
        vehicle_uses(bench),
        outlook.family,
        [outlook.row],
        posterior,
        today.toordinal(),
        caution=posterior,
    )
    due = day_of(seen.due_day)
    return Possibility(
        (float(seen.allowance[LOW]), float(seen.allowance[MEDIAN]), float(seen.allowance[HIGH])),
        None if due is None else max(due, today),
        day_of(float(seen.limit_day[MEDIAN])),
    )
