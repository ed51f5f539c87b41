"""Readings questioned, never refused: doubts about a reading by itself."""

from collections.abc import Sequence
from gettext import gettext as _

from wearlog.fleet.problem import Doubt, DoubtKind, Offer
from wearlog.fleet.quantity import Quantity
from wearlog.fleet.reading import Instrument, InstrumentKind, Measurand, Method
from wearlog.measuring.elongation import nominal_length, pins_text
from wearlog.measuring.gauge import has_known_bias

#: No healthy chain reads outside this, [-]; a pin too many or too few does: -4.8 % or +5.3 % at 20 pitches.
PLAUSIBLE_ELONGATION = (-0.005, 0.04)

#: Places of one chain differ by 0.07 to 0.21 % (robobiking.wordpress.com); beyond this, [-], joints are
#: tight or rings are missing. Assumption.
USUAL_SPREAD = 0.003

#: Slack varies over the turn; beyond this share of the least and this many mm it is questioned. Assumption.
USUAL_SLACK_RATIO, USUAL_SLACK_SPREAD_MM = 1.5, 10.0

#: Belt tension varies with the roundness of the pulleys; beyond this share it is questioned. Assumption.
USUAL_TENSION_SPREAD = 0.3

#: What units are mixed up with each other: factor, and the unit that was meant if the value is that many
#: times too small, and too large.
_MIXED: dict[Quantity, tuple[tuple[float, str, str], ...]] = {
    Quantity.LENGTH: ((25.4, "in", "mm"), (10.0, "cm", "mm")),
    Quantity.DISTANCE: ((1.609344, "mi", "km"),),
    Quantity.FORCE: ((4.4482216, "lbf", "N"), (9.80665, "kgf", "N")),
    Quantity.TORQUE: ((1.3558179, "lbf.ft", "N.m"),),
    Quantity.ELONGATION: ((100.0, "1", "%"),),
    Quantity.SHARE: ((100.0, "1", "%"),),
    Quantity.LINEAR_DENSITY: ((1000.0, "kg/m", "g/m"),),
}


def is_plausible_elongation(elongation: float) -> bool:
    """Return whether a healthy or a worn chain can read this.

    Parameters
    ----------
    elongation : float
        As measured, [-].
    """
    return PLAUSIBLE_ELONGATION[0] <= elongation <= PLAUSIBLE_ELONGATION[1]


def miscount_doubts(
    lengths_mm: Sequence[float], pitches: int, pitch_mm: float, added_mm: float = 0.0
) -> tuple[Doubt, ...]:
    r"""Return the question whether a pin was miscounted or another unit meant, if the length says so.

    Parameters
    ----------
    lengths_mm : sequence of float
        Length over the pitches at each spot, [mm].
    pitches : int
        Number of pitches as entered, [-].
    pitch_mm : float
        Nominal pitch, [mm].
    added_mm : float
        What was added to each typed length, such as a roller diameter, [mm].

    Examples
    --------
    >>> miscount_doubts([241.9], 20, 12.7)[0].offers[0].label
    'pin 1 to pin 20 = 19 pitches = 241.3\u2009mm new'
    """
    if not lengths_mm:
        return ()
    longest = max(lengths_mm)
    typed = longest - added_mm
    nominal_mm = nominal_length(pitches, pitch_mm)
    elongation = longest / nominal_mm - 1.0
    if is_plausible_elongation(elongation):
        return ()
    for size, small, _large in _MIXED[Quantity.LENGTH]:
        if is_plausible_elongation((typed * size + added_mm) / nominal_mm - 1.0):
            question = _(
                "{length:.1f} mm cannot be the length over {pitches} pitches ({new:.1f} mm new)."
                " Is it {length:g} {unit}?"
            )
            return (
                Doubt(
                    DoubtKind.OTHER_UNIT,
                    question.format(length=typed, pitches=pitches, new=nominal_mm, unit=small),
                    "",
                    (Offer(_("{length:g} {unit}").format(length=typed, unit=small), "use unit", small),),
                ),
            )
    others = [
        count
        for count in (pitches - 1, pitches + 1, pitches - 2, pitches + 2)
        if count > 0 and is_plausible_elongation(longest / (count * pitch_mm) - 1.0)
    ]
    if not others:
        question = _(
            "{length:.1f} mm over {pitches} pitches would be {percent:.1f} %. No chain reads that."
            " Measure again?"
        )
        text = question.format(length=longest, pitches=pitches, percent=100 * elongation)
        return (Doubt(DoubtKind.SUSPECT, text, "", (Offer(_("Measure again"), "measure again"),)),)
    meant = others[0]
    question = _(
        "{length:.1f} mm over {pitches} pitches would be {percent:.1f} %. Were {meant} pitches measured"
        " ({meant_new:.1f} mm new) instead of {pitches} ({new:.1f} mm new)?"
    )
    text = question.format(
        length=longest,
        pitches=pitches,
        percent=100 * elongation,
        meant=meant,
        meant_new=meant * pitch_mm,
        new=nominal_mm,
    )
    offers = tuple(Offer(pins_text(count, pitch_mm), "use pitches", count) for count in others)
    return (Doubt(DoubtKind.MISCOUNT, text, "", offers),)


def other_unit_doubts(
    value: float, expected: float, quantity: Quantity, nearness: float = 0.12
) -> tuple[Doubt, ...]:
    """Return the question whether another unit was meant, if the value is that factor off.

    Parameters
    ----------
    value : float
        As understood, [canonical unit of `quantity`].
    expected : float
        What was to be expected, [canonical unit of `quantity`].
    quantity : Quantity
        What kind of quantity it is.
    nearness : float
        How near the ratio must come to the factor, [-].

    Notes
    -----
    Nothing is converted silently: the other unit is offered.

    Examples
    --------
    >>> print(other_unit_doubts(1.2, 30.0, Quantity.LENGTH)[0].question)
    1.2 mm is about 25.4 times less than expected. Is the unit in?
    """
    if not (value > 0 and expected > 0):
        return ()
    canonical = {Quantity.LENGTH: "mm", Quantity.DISTANCE: "km", Quantity.FORCE: "N", Quantity.TORQUE: "N.m"}
    unit = canonical.get(quantity, "")
    for size, smaller, larger in _MIXED.get(quantity, ()):
        for ratio, meant, times in (
            (value * size / expected, smaller, _("less")),
            (value / (size * expected), larger, _("more")),
        ):
            if abs(ratio - 1.0) <= min(nearness, 0.35 * (size - 1.0)):
                question = _("{value} is about {size:.4g} times {times} than expected. Is the unit {meant}?")
                text = question.format(value=f"{value:g} {unit}".strip(), size=size, times=times, meant=meant)
                return (Doubt(DoubtKind.OTHER_UNIT, text, "", (Offer(meant, "use unit", meant),)),)
    return ()


def spread_doubts(measurand: Measurand, values: Sequence[float]) -> tuple[Doubt, ...]:
    """Return the question what makes the spots differ, if they differ more than places usually do.

    Parameters
    ----------
    measurand : Measurand
        What was measured.
    values : sequence of float
        At each spot, [canonical unit of `measurand`].
    """
    if len(values) < 2:
        return ()
    least, greatest = min(values), max(values)
    spread = greatest - least
    text = ""
    if measurand is Measurand.CHAIN_ELONGATION and spread > USUAL_SPREAD:
        text = _(
            "The places differ by {spread:.2f} %. Tight joints or missing rings? Such a chain may be due"
            " although its elongation is within the limit."
        ).format(spread=100 * spread)
    elif (
        measurand is Measurand.SLACK
        and spread > USUAL_SLACK_SPREAD_MM
        and greatest > USUAL_SLACK_RATIO * least
    ):
        text = _(
            "Slack changes from {least:.0f} to {greatest:.0f} mm over the turn. Stiff or worn joints?"
            " Clean the chain and measure again."
        ).format(least=least, greatest=greatest)
    elif measurand is Measurand.BELT_TENSION and spread > USUAL_TENSION_SPREAD * greatest:
        text = _(
            "Belt tension changes from {least:.0f} to {greatest:.0f} N over the turn. Measure again?"
        ).format(least=least, greatest=greatest)
    offers = (Offer(_("Measure again"), "measure again"),)
    return (Doubt(DoubtKind.SPREAD, text, "", offers),) if text else ()


def harmonic_doubts(frequencies_hz: Sequence[float]) -> tuple[Doubt, ...]:
    """Return the question whether an overtone or another span was heard.

    Parameters
    ----------
    frequencies_hz : sequence of float
        At each pluck, [Hz].

    References
    ----------
    Common practice, no source.
    """
    if len(frequencies_hz) < 2 or min(frequencies_hz) <= 0:
        return ()
    ratio = max(frequencies_hz) / min(frequencies_hz)
    if abs(ratio - round(ratio)) > 0.1 * round(ratio) or round(ratio) < 2:
        return ()
    text = _(
        "{high:.1f} Hz is about {times} times {low:.1f} Hz: was an overtone or the other span heard?"
    ).format(high=max(frequencies_hz), times=round(ratio), low=min(frequencies_hz))
    return (Doubt(DoubtKind.SUSPECT, text, "", (Offer(_("Pluck again"), "measure again"),)),)


def care_doubts(
    measurand: Measurand,
    method: Method,
    *,
    pitches: int | None = None,
    was_cleaned: bool | None = None,
    instrument: Instrument | None = None,
    has_zero_reading: bool = False,
    temperature_degc: float | None = None,
) -> tuple[Doubt, ...]:
    """Return what the way of measuring leaves open.

    Parameters
    ----------
    measurand : Measurand
        What was measured.
    method : Method
        How.
    pitches : int or None
        Number of pitches spanned, [-].
    was_cleaned : bool or None
        Whether the stretch was cleaned; None if nobody said.
    instrument : Instrument or None
        What it was measured with.
    has_zero_reading : bool
        Whether the part was measured new the same way.
    temperature_degc : float or None
        Temperature of the drive, [degC].
    """
    doubts: list[Doubt] = []
    is_chain = measurand is Measurand.CHAIN_ELONGATION
    if is_chain and was_cleaned is False:
        doubts.append(
            Doubt(
                DoubtKind.NOT_CLEANED,
                _("The chain was not cleaned: dirt holds the joints and it reads too low, by up to 0.4 %."),
                "",
                (Offer(_("Clean it and measure again"), "measure again"),),
            )
        )
    if is_chain and method is Method.GAUGE and not has_known_bias(instrument):
        is_one_side = instrument is not None and instrument.kind is InstrumentKind.GAUGE_ONE_SIDE
        if not is_one_side:
            doubts.append(
                Doubt(
                    DoubtKind.OTHER,
                    _(
                        "This gauge was never tried on a new chain. Gauges that push two rollers apart"
                        " read high, often by 0.1 to 0.3 %."
                    ),
                    "",
                    (Offer(_("Try it on a new chain and enter its bias"), "enter bias"),),
                )
            )
    if is_chain and method is Method.BETWEEN_ROLLERS and not has_zero_reading:
        text = _("Between rollers the play of the rollers counts as wear: up to 0.3 % on a new chain.")
        doubts.append(
            Doubt(DoubtKind.OTHER, text, "", (Offer(_("Measure inside and outside"), "other method"),))
        )
    if is_chain and pitches is not None and pitches % 2 and method is not Method.WHOLE_CHAIN:
        text = _(
            "{pitches} pitches is an odd number: inner and outer links wear unlike, so the reading may be"
            " off by 1/{pitches} of the wear."
        ).format(pitches=pitches)
        offer = Offer(
            _("Measure over {pitches} pitches").format(pitches=pitches + 1), "use pitches", pitches + 1
        )
        doubts.append(Doubt(DoubtKind.OTHER, text, "", (offer,)))
    if (
        measurand is Measurand.BELT_TENSION
        and temperature_degc is not None
        and not 10 <= temperature_degc <= 30
    ):
        text = _("At {temperature:.0f} degC belt tension is not what it is at room temperature.").format(
            temperature=temperature_degc
        )
        doubts.append(Doubt(DoubtKind.UNUSUAL, text, "", (Offer(_("Measure again later"), "measure again"),)))
    return tuple(doubts)


def impossible_doubts(elongation: float) -> tuple[Doubt, ...]:
    """Return the question whether an elongation that no chain shows was read right.

    Parameters
    ----------
    elongation : float
        As read, [-].
    """
    text = _("{percent:.1f} % elongation: no chain reads that. Measure again?").format(
        percent=100 * elongation
    )
    return (Doubt(DoubtKind.SUSPECT, text, "", (Offer(_("Measure again"), "measure again"),)),)
