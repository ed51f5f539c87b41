"""Explains a predicted date: what it rests on, and where its width comes from."""

from collections.abc import Sequence
from datetime import date
from gettext import gettext as _
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from wearlog.fleet.meter import UsePoint
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.progress import Progress
from wearlog.fleet.reading import Measurand, Reading
from wearlog.forecast.mixture import mixture_quantiles
from wearlog.forecast.usage import NEW_SHOP_HOURS, NEW_SHOP_KM
from wearlog.workshop.bench import Bench
from wearlog.workshop.explain_snapshot import (
    Aside,
    Contribution,
    DateWidth,
    ExplainedReading,
    Explanation,
    LimitEvidence,
    RateEvidence,
    UsageEvidence,
)
from wearlog.workshop.explain_width import CAUSES, WidthShares, days_per_tenth, width_shares
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.learn import CAUTION_FROM
from wearlog.workshop.outlook import Outlook, outlooks
from wearlog.workshop.trend_snapshot import MEDIAN
from wearlog.workshop.usage import EARLY_LIKELY_LATE
from wearlog.workshop.when import day_of

#: A spell between entries this long in which a vehicle went less than this share of its average is told.
STILL_DAYS, STILL_SHARE = 28, 0.1
#: Readings that bring less than the rest of this to the rate say nothing about it by themselves.
MOST_FLEET_SHARE = 0.9
#: Normal deviates of the early, likely and late value.
_Z = ndtri(np.array(EARLY_LIKELY_LATE))


def explanation(
    bench: Bench, installation_id: int, measurand: Measurand, progress: Progress | None = None
) -> Explanation:
    """Return what the predicted date of a running part rests on; any page may unfold it.

    Raises
    ------
    WearlogError
        If the part does not run, or its wear is not followed.
    """
    outlook = outlooks(bench, progress).get((installation_id, measurand))
    if outlook is None:
        raise WearlogError(
            Problem(
                _("The wear of this part is not followed."),
                "",
                _("Choose a chain, sprocket or belt that has a service limit and still runs."),
                kind=ProblemKind.NOT_FOUND,
            )
        )
    return explanations(bench, [outlook])[0]


def explanations(bench: Bench, chosen: Sequence[Outlook]) -> tuple[Explanation, ...]:
    """Return what the predicted dates of some parts rest on, in their order."""
    state = fleet_state(bench)
    kept: dict[tuple[int, Measurand], list[Reading]] = {}
    with bench.database.reading() as records:
        ids = sorted({number for outlook in chosen for number in outlook.item.offsets})
        for reading in records.all(Reading, installation_id=ids):
            kept.setdefault((reading.installation_id or 0, reading.measurand), []).append(reading)
    widths: dict[int, tuple[WidthShares, int]] = {}
    tenths = np.full(len(chosen), np.nan)
    for family in {id(outlook.family): outlook.family for outlook in chosen}.values():
        places = [n for n, outlook in enumerate(chosen) if outlook.family is family]
        posterior = family.fit.posterior.take([chosen[n].row for n in places])
        items, used = [chosen[n].item for n in places], [chosen[n].use for n in places]
        shares = width_shares(posterior, items, used)
        widths.update({n: (shares, row) for row, n in enumerate(places)})
        tenths[places] = days_per_tenth(posterior, items, used)
    return tuple(
        _explanation(state, outlook, kept, float(tenths[n]), *widths[n]) for n, outlook in enumerate(chosen)
    )


def _explanation(
    state: FleetState,
    outlook: Outlook,
    kept: dict[tuple[int, Measurand], list[Reading]],
    tenth: float,
    shares: WidthShares,
    row: int,
) -> Explanation:
    item = outlook.item
    installation = item.installation
    limit = item.limit
    return Explanation(
        installation_id=installation.id,
        measurand=item.measurand,
        use_unit=item.use_unit,
        readings=_readings(outlook, kept),
        rate=rate_evidence(outlook),
        limit=LimitEvidence(
            limit.service_limit,
            limit.as_new,
            limit.source,
            item.limit_why,
            tenth if np.isfinite(tenth) else None,
        ),
        usage=_usage(state, outlook),
        duty=state.vehicles[installation.vehicle_id].duty,
        stage_name=state.stages[installation.stage_id].name,
        exposure=item.exposed.now,
        width=_width(outlook, shares, row),
    )


def _readings(
    outlook: Outlook, kept: dict[tuple[int, Measurand], list[Reading]]
) -> tuple[ExplainedReading, ...]:
    item, family = outlook.item, outlook.family
    numbers = [number for number, _day in family.read.of(outlook.row)]
    chances = dict(zip(numbers, family.suspect[outlook.row].tolist(), strict=False))
    bedding = family.fit.law.bedding_distance
    found = []
    for installation_id, offset in item.offsets.items():
        for reading in kept.get((installation_id, item.measurand), ()):
            if not item.has_at(np.array([reading.total_use]))[0]:
                continue
            use = reading.total_use + offset
            chance = float(chances.get(reading.id, 0.0))
            aside = None
            if reading.void_reason:
                aside = Aside.VOIDED
            elif chance > CAUTION_FROM:
                aside = Aside.QUESTIONED
            elif reading.is_zero_reading or float(item.x_of(use)) < bedding:
                aside = Aside.BEDDING_IN
            found.append(
                ExplainedReading(
                    reading_id=reading.id,
                    on=reading.on,
                    use_on_part=use,
                    value=reading.value,
                    low=reading.low,
                    high=reading.high,
                    u_value=reading.u_value,
                    weight=0.0 if reading.void_reason or reading.id not in chances else 1.0 - chance,
                    aside=aside,
                    reason=reading.void_reason,
                )
            )
    return tuple(sorted(found, key=lambda one: (one.use_on_part, one.on, one.reading_id)))


def rate_evidence(outlook: Outlook) -> RateEvidence:
    """Return where the estimate of the rate of a part comes from."""
    family, row, item = outlook.family, outlook.row, outlook.item
    fit = family.fit
    posterior, prior = fit.posterior.take([row]), fit.rate_prior([row])
    before = float(prior.mean[0]), float(prior.sd[0])
    after = float(posterior.log_rate_mean[0]), float(posterior.log_rate_sd[0])
    fleet_share = min((after[1] / before[1]) ** 2, 1.0) if outlook.readings else 1.0
    own = None
    odds = 0.0
    if fleet_share < 1.0:
        precision = 1.0 / after[1] ** 2 - 1.0 / before[1] ** 2
        middle = (after[0] / after[1] ** 2 - before[0] / before[1] ** 2) / precision
        own = middle, precision**-0.5
        odds = (middle - before[0]) / float(np.hypot(before[1], own[1]))
    # On another set-up the same chain wears faster per kilometre; a falling quantity has a negative rate.
    size = item.span * item.exposed.now
    cell = int(family.data.cell[row])
    own_part = 1 if fit.messages.is_informative[row] else 0
    return RateEvidence(
        fleet_share=fleet_share,
        fleet=_rates(before, size),
        own=None if own is None or fleet_share > MOST_FLEET_SHARE else _rates(own, size),
        together=_together(posterior.weight[0], posterior.rate[0], size),
        is_straight=fit.law.shape.power == 1.0 and fit.law.shape.acceleration == 0.0,
        similar_parts=outlook.similar_parts,
        cell_parts=fit.similar_parts(cell) - own_part,
        odds=odds,
    )


def _rates(log_rate: tuple[float, float], size: float) -> tuple[float, float, float]:
    low, middle, high = (size * np.exp(log_rate[0] + _Z * log_rate[1])).tolist()
    return low, middle, high


def _together(
    weight: NDArray[np.float64], rate: NDArray[np.float64], size: float
) -> tuple[float, float, float]:
    log_rate = np.log(rate)
    # Each node stands for the rates around it: half a step to either side.
    step = np.full(log_rate.size, (log_rate[-1] - log_rate[0]) / (log_rate.size - 1) / 2.0)
    found = mixture_quantiles(np.array(EARLY_LIKELY_LATE), log_rate, step, weight)
    low, middle, high = (size * np.exp(found)).tolist()
    return low, middle, high


def _usage(state: FleetState, outlook: Outlook) -> UsageEvidence:
    use, vehicle_id = outlook.use, outlook.item.installation.vehicle_id
    points = state.histories[vehicle_id].points
    likely = float(outlook.limit_day[MEDIAN])
    ahead = min(likely - use.last_day, 730.0) if np.isfinite(likely) else 365.0
    ahead = max(ahead, 7.0)
    gone = use.usage.rate * float(use.clock.ahead(use.last_day, np.array([ahead]))[0])
    new_shop = NEW_SHOP_KM if outlook.item.use_unit == "km" else NEW_SHOP_HOURS
    return UsageEvidence(
        per_week=7.0 * use.usage.rate,
        per_week_ahead=7.0 * gone / ahead,
        entries=len(points),
        first_on=points[0].on if points else None,
        last_on=points[-1].on if points else None,
        half_life_days=new_shop.half_life,
        season=use.clock.factors,
        lay_ups=tuple((date.fromordinal(off), date.fromordinal(back)) for off, back in use.clock.lay_ups),
        still=_still(points, use.usage.rate),
    )


def _still(points: Sequence[UsePoint], rate: float) -> tuple[tuple[date, date], ...]:
    spells: list[tuple[date, date]] = []
    for before, after in pairwise(points):
        days = (after.on - before.on).days
        is_known = not after.is_after_gap and days >= STILL_DAYS
        if is_known and after.total_use - before.total_use < STILL_SHARE * rate * days:
            if spells and spells[-1][1] == before.on:
                spells[-1] = (spells[-1][0], after.on)
            else:
                spells.append((before.on, after.on))
    return tuple(spells)


def _width(outlook: Outlook, shares: WidthShares, row: int) -> DateWidth | None:
    if not np.isfinite(shares.width[row]):
        return None
    last_day = outlook.use.last_day
    early, likely, late = (day_of(last_day + float(days)) for days in shares.days[row])
    contributions = [
        Contribution(
            cause,
            float(shares.alone[row, n]),
            float(shares.without[row, n]),
            float(shares.share[row, n]),
        )
        for n, cause in enumerate(CAUSES)
    ]
    return DateWidth(
        early_on=early,
        likely_on=likely,
        late_on=late,
        days=float(shares.width[row]),
        is_early_half=bool(shares.is_early_half[row]),
        contributions=tuple(sorted(contributions, key=lambda one: -one.share)),
    )
