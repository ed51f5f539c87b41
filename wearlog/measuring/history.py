"""Readings questioned against what is on record: zero reading, instrument, calibration, a fall."""

import math
from collections.abc import Sequence
from datetime import date
from gettext import gettext as _

from wearlog.fleet.problem import Doubt, DoubtKind, Offer
from wearlog.fleet.reading import Instrument, Measurand, Method, Reading
from wearlog.measuring.evaluated import Evaluated
from wearlog.measuring.plausibility import other_unit_doubts

#: A change is beyond doubt from this many combined standard uncertainties on.
FALL_FACTOR = 3.0

#: Below this elongation, [-], a chain reads like a new one: makers' own range for new chains ends at 0.22 %.
LIKE_NEW = 0.0025

#: Wear that has a zero of its own, to be read on the new part.
_HAS_ZERO = {Measurand.CHAIN_ELONGATION, Measurand.SPROCKET_TOOTH_THICKNESS}


def instrument_doubts(instrument: Instrument | None, on: date) -> tuple[Doubt, ...]:
    """Return what is to be said of an instrument on a day.

    Parameters
    ----------
    instrument : Instrument or None
        What was measured with.
    on : date
        The day of the reading.
    """
    if instrument is None:
        return ()
    if instrument.retired_on is not None and on >= instrument.retired_on:
        text = _("{name} was retired on {day}. Was another instrument used?").format(
            name=instrument.name, day=instrument.retired_on.isoformat()
        )
        offers = (Offer(_("Choose another instrument"), "other instrument"),)
        return (Doubt(DoubtKind.CALIBRATION_DUE, text, "", offers),)
    if instrument.calibration_due is not None and on > instrument.calibration_due:
        text = _("The check of {name} was due on {day}.").format(
            name=instrument.name, day=instrument.calibration_due.isoformat()
        )
        offers = (Offer(_("Choose another instrument"), "other instrument"),)
        return (Doubt(DoubtKind.CALIBRATION_DUE, text, "", offers),)
    return ()


def history_doubts(
    measurand: Measurand,
    method: Method,
    evaluated: Evaluated,
    earlier: Sequence[Reading],
    *,
    instrument: Instrument | None = None,
    is_zero_reading: bool = False,
    is_part_new: bool = False,
) -> tuple[Doubt, ...]:
    """Return what is odd about a reading beside the earlier ones of the same part (or stage).

    Parameters
    ----------
    measurand : Measurand
        What was measured.
    method : Method
        How.
    evaluated : Evaluated
        What the reading comes to, in the canonical unit of `measurand`.
    earlier : sequence of Reading
        Earlier readings of the same installation, or of the stage for slack and adjuster, in any order.
    instrument : Instrument or None
        What it was measured with.
    is_zero_reading : bool
        Whether it is the reading of the new part.
    is_part_new : bool
        Whether the part has hardly run, so that a zero reading can still be had.
    """
    same = sorted(
        (r for r in earlier if r.measurand is measurand and not r.void_reason),
        key=lambda r: (r.on, r.total_use, r.id),
    )
    doubts: list[Doubt] = []
    if measurand in _HAS_ZERO and not is_zero_reading and not any(r.is_zero_reading for r in same):
        doubts += _zero_doubts(is_part_new, is_first=not same)
    if not same:
        return tuple(doubts)
    last = same[-1]
    doubts += _change_doubts(method, last, instrument)
    doubts += _fall_doubts(measurand, evaluated, last)
    if measurand not in _HAS_ZERO and evaluated.value is not None and last.value is not None:
        doubts += other_unit_doubts(evaluated.value, last.value, measurand.quantity)
    return tuple(doubts)


def _zero_doubts(is_part_new: bool, is_first: bool) -> list[Doubt]:
    if is_part_new:
        offers = (Offer(_("This is the reading of the new part"), "zero reading"),)
        text = _("No reading of this part as new is on record. Is this the one?")
        return [Doubt(DoubtKind.NO_ZERO_READING, text, "", offers)]
    if is_first:
        text = _(
            "This part was never measured new, so where its wear began is not known: the estimate stays wide."
        )
        return [Doubt(DoubtKind.NO_ZERO_READING, text)]
    return []


def _change_doubts(method: Method, last: Reading, instrument: Instrument | None) -> list[Doubt]:
    offers = (Offer(_("Measure once more with the earlier one"), "double reading"),)
    if method is not last.method:
        text = _(
            "The last reading was taken another way ({method}). Take one reading both ways to compare."
        ).format(method=_(last.method.value))
        return [Doubt(DoubtKind.INSTRUMENT_CHANGED, text, "", offers)]
    instrument_id = instrument.id if instrument else None
    if instrument_id is not None and last.instrument_id is not None and instrument_id != last.instrument_id:
        text = _("The last reading was taken with another instrument. Take one reading with both to compare.")
        return [Doubt(DoubtKind.INSTRUMENT_CHANGED, text, "", offers)]
    return []


def _fall_doubts(measurand: Measurand, evaluated: Evaluated, last: Reading) -> list[Doubt]:
    if measurand not in _HAS_ZERO:
        return []
    falling = measurand is Measurand.SPROCKET_TOOTH_THICKNESS
    # Wear cannot go back: the most the new reading allows against the least the last one allowed.
    now = evaluated.value if evaluated.value is not None else evaluated.low if falling else evaluated.high
    then = last.value if last.value is not None else last.high if falling else last.low
    if now is None or then is None or not (math.isfinite(now) and math.isfinite(then)):
        return []
    back = now - then if falling else then - now
    if back <= FALL_FACTOR * math.hypot(evaluated.u_value, last.u_value):
        return []
    if not falling and now < LIKE_NEW <= then:
        text = _(
            "{now:.2f} % is what a new chain reads; the last reading was {then:.2f} %. Was a chain fitted?"
        ).format(now=100 * now, then=100 * then)
        offers = (
            Offer(_("A new chain was fitted"), "part replaced"),
            Offer(_("Other vehicle"), "other vehicle"),
            Offer(_("Measure again"), "measure again"),
        )
        return [Doubt(DoubtKind.PART_REPLACED, text, "", offers)]
    if falling:
        text = _("The tooth was {then:.2f} mm thick and is {now:.2f} mm now. Other sprocket, other vehicle?")
        text = text.format(now=now, then=then)
    else:
        text = _(
            "{now:.2f} % is less than the last {then:.2f} %, and wear does not go back."
            " Other part, other vehicle?"
        )
        text = text.format(now=100 * now, then=100 * then)
    offers = (
        Offer(_("Part was replaced"), "part replaced"),
        Offer(_("Other vehicle"), "other vehicle"),
        Offer(_("Measure again"), "measure again"),
    )
    return [Doubt(DoubtKind.FELL, text, "", offers)]
