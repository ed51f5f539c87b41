"""Words of the fleet record: kinds of parts, levels, and what the figures mean."""

import math
from gettext import gettext as _
from gettext import ngettext

from wearlog.drawing.number_words import (
    place_text,
    rough_use_text,
    share_text,
    use_interval_text,
    use_quantity,
    use_text,
    use_unit_text,
)
from wearlog.fleet.fitting import Position
from wearlog.fleet.parts import WearClass
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.units import THIN_SPACE, factor, show
from wearlog.workshop.record_snapshot import Factor, KindRecord, Rate, Survival


def kind_text(kind: KindRecord) -> str:
    """Return what parts a record is about, in the plural."""
    words = wear_class_text(kind.wear_class)
    return _("{parts}, hour meters").format(parts=words) if kind.use_unit == "h" else words


def wear_class_text(wear_class: WearClass) -> str:
    """Return a wear class in the plural.

    Examples
    --------
    >>> wear_class_text(WearClass.SEALED_MOTORCYCLE_CHAIN)
    'sealed motorcycle chains'
    """
    return {
        WearClass.SEALED_MOTORCYCLE_CHAIN: _("sealed motorcycle chains"),
        WearClass.OPEN_MOTORCYCLE_CHAIN: _("open motorcycle chains"),
        WearClass.PRIMARY_ROLLER_CHAIN: _("primary roller chains"),
        WearClass.DERAILLEUR_CYCLE_CHAIN: _("derailleur cycle chains"),
        WearClass.HUB_GEAR_CYCLE_CHAIN: _("hub-gear cycle chains"),
        WearClass.SPROCKET: _("sprockets"),
        WearClass.TOOTHED_BELT: _("toothed belts"),
        WearClass.PULLEY: _("pulleys"),
        WearClass.UNKNOWN: _("parts of unknown kind"),
    }[wear_class]


def factor_text(by: Factor) -> str:
    """Return what parts are compared by.

    Examples
    --------
    >>> factor_text(Factor.CARE)
    'lubricant'
    """
    return {
        Factor.STAGE: _("stage"),
        Factor.DUTY: _("duty"),
        Factor.PART_TYPE: _("part type"),
        Factor.LOT: _("lot"),
        Factor.CARE: _("lubricant"),
        Factor.CARE_INTERVAL: _("how often lubricated"),
    }[by]


def level_text(by: Factor, level: str, use_unit: str, shown: ShownUnits) -> str:
    """Return what some parts have in common.

    Parameters
    ----------
    by : Factor
        What parts are compared by.
    level : str
        As the snapshot names it.
    use_unit : str
        ``"km"`` or ``"h"``.
    shown : ShownUnits
        The units of this seat.

    Examples
    --------
    >>> level_text(Factor.STAGE, "final drive|driver", "km", ShownUnits())
    'final drive, driver'
    """
    if by is Factor.STAGE:
        stage, _bar, position = level.rpartition("|")
        return place_text(stage, Position(position) if position else None)
    if by is Factor.DUTY:
        return {
            "road": _("road"),
            "mixed": _("mixed"),
            "off-road": _("off-road"),
            "unknown": _("duty not noted"),
        }.get(level, level)
    if by is Factor.CARE_INTERVAL:
        use = use_text(float(level[1:]), use_unit, shown)
        often, seldom = _("every {use} or more often"), _("less often than every {use}")
        return (often if level.startswith("<") else seldom).format(use=use)
    if by is Factor.LOT:
        return _("lot {lot}").format(lot=level)
    return level


def per_use_text(use_unit: str, shown: ShownUnits) -> str:
    """Return what rates are counted by, for example ``"per 1000 km"``."""
    every = "100" if use_unit == "h" else "1000"
    return _("per {every}{space}{unit}").format(
        every=every, space=THIN_SPACE, unit=use_unit_text(use_unit, shown)
    )


def shown_rate(rate: float, use_unit: str, shown: ShownUnits) -> float:
    """Return a rate per 1000 km (100 h) in the seat's unit of use, a share of the allowance."""
    return rate * factor(shown.unit_of(use_quantity(use_unit)), use_quantity(use_unit))


def allowance_rate_text(
    rate: float, width: float, use_unit: str, shown: ShownUnits, *, unit: bool = True
) -> str:
    r"""Return a rate of wear in % of the allowance, with no more digits than its interval supports.

    Parameters
    ----------
    rate : float
        Allowances per 1000 km or 100 h.
    width : float
        Width of its interval in the same unit.
    use_unit : str
        ``"km"`` or ``"h"``.
    shown : ShownUnits
        The units of this seat.
    unit : bool
        Whether the sign of per cent is written.

    Examples
    --------
    >>> allowance_rate_text(0.0693, 0.014, "km", ShownUnits())
    '6.9\u2009%'
    """
    decimals = 0 if shown_rate(width, use_unit, shown) >= 0.1 else 1
    number = shown_rate(rate, use_unit, shown)
    return show(number, Quantity.SHARE, ShownUnits(), unit=unit, decimals=decimals)


def rate_interval_text(rate: Rate, use_unit: str, shown: ShownUnits) -> str:
    """Return a rate and its interval, for example ``"6.9 % (6.3 to 7.7 %)"``."""
    width = rate.high - rate.low
    return _("{rate} ({low} to {high})").format(
        rate=allowance_rate_text(rate.rate, width, use_unit, shown),
        low=allowance_rate_text(rate.low, width, use_unit, shown, unit=False),
        high=allowance_rate_text(rate.high, width, use_unit, shown),
    )


def half_life_text(curve: Survival, use_unit: str, shown: ShownUnits) -> str:
    """Return the use that half of the parts reach, with its interval; says so where it is out of sight."""
    if not math.isfinite(curve.median):
        return _("more than half outlast what was followed, {use}").format(
            use=use_text(curve.use_last, use_unit, shown)
        )
    width = curve.median_high - curve.median_low
    width = max(width if math.isfinite(width) else curve.median, 0.05 * curve.median)
    middle = rough_use_text(curve.median, width, use_unit, shown)
    if math.isfinite(curve.median_high) and curve.median_high <= curve.median_low:
        return middle
    span = use_interval_text(curve.median_low, curve.median_high, use_unit, shown)
    return _("{middle} ({span})").format(middle=middle, span=span)


def counted(n: int) -> str:
    """Return a count with its thousands set apart."""
    return show(float(n), Quantity.COUNT, ShownUnits(), unit=False, decimals=0)


def parts_text(n: int) -> str:
    """Return a number of parts."""
    return ngettext("{n} part", "{n} parts", n).format(n=counted(n))


def checks_text(n: int) -> str:
    """Return a number of forecasts that were checked."""
    return ngettext("{n} forecast", "{n} forecasts", n).format(n=counted(n))


def share_span_text(low: float, high: float) -> str:
    r"""Return an interval of a share.

    Examples
    --------
    >>> share_span_text(0.83, 0.87)
    '83 to 87\u2009%'
    """
    return _("{low} to {high}").format(
        low=share_text(low).removesuffix(f"{THIN_SPACE}%"), high=share_text(high)
    )
