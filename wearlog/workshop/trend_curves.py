"""The curves of a wear trend: wear behind and ahead, what the fleet expects, and dates along the use."""

from gettext import gettext as _

import numpy as np

from wearlog.forecast.posterior import FARTHEST_WEAR, part_posterior, wear_quantiles
from wearlog.forecast.readings import ReadingTable
from wearlog.forecast.smoothing import smoothed_band
from wearlog.workshop.fleet_state import FleetState
from wearlog.workshop.outlook import HIGH, Outlook
from wearlog.workshop.trend_snapshot import LEVELS, MEDIAN, FloatArray

#: Points of a curve; enough for a smooth line at any size on screen.
CURVE_POINTS = 121
FLEET_LEVELS = (0.1, 0.5, 0.9)


def wear_curve(outlook: Outlook) -> tuple[FloatArray, FloatArray]:
    """Return distances and quantiles of the value: through the readings, then ahead."""
    item, family, row = outlook.item, outlook.family, outlook.row
    posterior, readings = family.fit.posterior.take([row]), family.readings.take([row])
    start, last = float(readings.x_start[0]), float(readings.x_last[0])
    end = max(_farthest(outlook), last + 0.05 * max(last - start, 1.0))
    if outlook.item.is_current:
        end = max(end, item.x_at(outlook.use.use_at(outlook.use.last_day)) * 1.05)
    read = np.unique(readings.x[0, : readings.count[0]])
    behind = np.unique(np.concatenate([np.linspace(start, last, CURVE_POINTS // 2), read]))
    ahead = np.linspace(last, end, CURVE_POINTS // 2 + 1)
    wear_ahead = wear_quantiles(posterior, ahead, LEVELS)[0]
    if readings.count[0] and last > start:
        wear_behind = smoothed_band(posterior, readings, behind, LEVELS)[0]
        x = np.concatenate([behind, ahead[1:]])
        wear = np.concatenate([wear_behind, wear_ahead[1:]])
    else:
        x, wear = ahead, wear_ahead
    # Beyond 1.2 of the allowance nothing was ever seen, so nothing is drawn.
    is_shown = wear[:, MEDIAN] <= FARTHEST_WEAR * item.own_limit
    is_shown |= x <= last
    return x[is_shown], np.asarray(item.as_new + wear[is_shown] * item.span)


def _farthest(outlook: Outlook) -> float:
    """Return the distance to draw to: where the limit is probably passed, as far as that is in sight."""
    item = outlook.item
    x_now = max(item.x_at(outlook.use.last_use), float(outlook.family.readings.x_last[outlook.row]))
    late, median = float(outlook.limit_x[HIGH]), float(outlook.limit_x[MEDIAN])
    return min(max(late * 1.05, x_now * 1.1), max(median, x_now) * 1.8)


def fleet_band(outlook: Outlook, x: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return what the fleet would expect of this part without its own readings."""
    item, family, row = outlook.item, outlook.family, outlook.row
    start = family.readings.x_start[row]
    none = np.zeros(0)
    empty = ReadingTable.from_columns(
        1,
        none.astype(np.int64),
        none,
        none,
        x_start=[start],
        has_unknown_history=[bool(family.readings.has_unknown_history[row])],
    )
    prior = family.fit.rate_prior([row])
    expected = part_posterior(empty, prior, family.fit.law, item.own_limit)
    far = np.linspace(float(start), float(x[-1]), 41)
    return far, np.asarray(item.as_new + wear_quantiles(expected, far, FLEET_LEVELS)[0] * item.span)


def date_axis(state: FleetState, outlook: Outlook, x_end: float) -> tuple[FloatArray, FloatArray]:
    """Return pairs of use on the part and ordinal day: past by the meter, future by the expected use."""
    item = outlook.item
    pairs: list[tuple[float, float]] = []
    for installation_id, offset in item.offsets.items():
        installation = state.installations[installation_id]
        end = np.inf if installation.removed_use is None else installation.removed_use
        start = installation.fitted_use if item.since_use is None else item.since_use
        pairs.append((start + offset, float(installation.fitted_on.toordinal())))
        if item.since_use is not None:
            pairs.pop()
        pairs += [
            (point.total_use + offset, float(point.on.toordinal()))
            for point in state.histories[installation.vehicle_id].points
            if start <= point.total_use <= end
        ]
    if item.is_current:
        rate = outlook.use.usage.rate
        ahead = max(float(item.ahead_of(outlook.use.last_use, x_end)), 0.0)
        most = min(ahead / max(rate, 1e-6), 6000.0)
        for ahead_days in np.linspace(0.0, most, 25)[1:]:
            later = outlook.use.last_day + round(float(ahead_days))
            pairs.append((outlook.use.use_at(later) + item.offset, float(later)))
    axis: list[tuple[float, float]] = []
    for use, day in sorted(pairs):
        if not axis or (use > axis[-1][0] and day >= axis[-1][1]):
            axis.append((use, day))
    return np.array([use for use, _day in axis]), np.array([day for _use, day in axis])


def shape_text(outlook: Outlook) -> str:
    """Return what path the wear of such parts takes."""
    shape = outlook.family.fit.law.shape
    if shape.acceleration > 0.0:
        return _("Wear of such parts quickens with use in this fleet; the path allows for it.")
    if shape.power != 1.0:
        return _("Wear of such parts slows down with use in this fleet; the path allows for it.")
    return _("Assumes steady wear.")
