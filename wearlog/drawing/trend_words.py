"""What a wear trend means, in sentences."""

import math
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from gettext import gettext as _
from gettext import ngettext

from wearlog.drawing.cautions import maker_caution
from wearlog.drawing.number_words import (
    basis_text,
    chance_text,
    daily_use_text,
    day_at,
    interval_text,
    measurand_text,
    part_noun,
    rough_use_text,
    unit_text,
    use_text,
    use_unit_text,
    value_text,
)
from wearlog.drawing.trend_doubt_words import two_ways_lines
from wearlog.fleet.quantity import ShownUnits
from wearlog.wording import day_text
from wearlog.workshop.trend_snapshot import MEDIAN, Basis, ReadingMark, TrendReading, TrendSnapshot

_LOW, _HIGH = 1, 5


class SentenceKind(StrEnum):
    """What a sentence is about."""

    FORECAST = "forecast"
    CHANCE = "chance"
    QUESTIONED = "questioned"
    BASIS = "basis"
    LIMIT = "limit"
    ASSUMES = "assumes"
    CAUTION = "caution"


@dataclass(frozen=True, slots=True)
class Sentence:
    """One full sentence about a trend."""

    kind: SentenceKind
    text: str


def is_past(snapshot: TrendSnapshot) -> bool:
    """Whether the part is past its limit more likely than not."""
    return snapshot.past_probability >= 0.5


def good_readings(snapshot: TrendSnapshot) -> int:
    """Return how many readings the estimate uses, [-]."""
    return sum(1 for reading in snapshot.readings if reading.mark is not ReadingMark.VOIDED)


def replace_text(day: date | None, today: date) -> str:
    """Return a date to act by; what lies behind is now."""
    if day is None:
        return _("not in sight")
    return _("now") if day <= today else day_text(day)


def _forecast_sentence(snapshot: TrendSnapshot, shown: ShownUnits) -> str:
    unit = snapshot.use_unit
    low, middle, high = (float(snapshot.limit_use[n]) for n in (_LOW, MEDIAN, _HIGH))
    noun = part_noun(snapshot.measurand)
    if is_past(snapshot):
        return _("This {noun} is past its service limit, most likely since {use} on it.").format(
            noun=noun,
            use=use_text(
                snapshot.past_since_use if snapshot.past_since_use is not None else middle, unit, shown
            ),
        )
    if not math.isfinite(middle):
        if math.isfinite(low):
            return _("This {noun} reaches its limit not before {use} on it (9 in 10).").format(
                noun=noun, use=rough_use_text(low, low, unit, shown)
            )
        return _("The limit of this {noun} lies beyond what can be forecast.").format(noun=noun)
    width = high - low if math.isfinite(high) else middle
    has_end = math.isfinite(high)
    if has_end:
        words = _(
            "This {noun} reaches its limit between {low} and {high} on it (8 in 10), most likely at {middle}"
        )
    else:
        words = _("This {noun} reaches its limit not before {low} on it (9 in 10), most likely at {middle}")
    sentence = words.format(
        noun=noun,
        low=rough_use_text(low, width, unit, shown, unit=not has_end),
        high=rough_use_text(high, width, unit, shown) if has_end else "",
        middle=rough_use_text(middle, width, unit, shown),
    )
    early, likely, late = (day_at(float(snapshot.limit_days[n])) for n in (_LOW, MEDIAN, _HIGH))
    if early and likely:
        if late is None:
            return _("{sentence}; that is not before {early}, most likely about {likely}.").format(
                sentence=sentence, early=day_text(early), likely=day_text(likely)
            )
        return _("{sentence}; that is between {early} and {late}, most likely about {likely}.").format(
            sentence=sentence, early=day_text(early), late=day_text(late), likely=day_text(likely)
        )
    return f"{sentence}."


def _chance_sentence(snapshot: TrendSnapshot) -> str:
    return _("The chance that it is past its limit already is {chance}.").format(
        chance=chance_text(snapshot.past_probability)
    )


def _questioned_sentences(snapshot: TrendSnapshot) -> list[str]:
    sentences = [
        _("The reading of {day} is questioned; the chance that it is wrong is {chance}.").format(
            day=day_text(reading.on), chance=chance_text(reading.suspect_probability)
        )
        for reading in snapshot.readings
        if reading.mark in {ReadingMark.DOUBTFUL, ReadingMark.SUSPECT}
    ]
    if snapshot.two_ways is not None:
        sentences += two_ways_lines(snapshot)
    elif snapshot.questioned is not None:
        right, leaning = snapshot.questioned.replace_by_if_right, snapshot.questioned.replace_by_as_leaning
        if right != leaning:
            sentences.append(
                _(
                    "Replace by, if it is right: {right}; if it is wrong: {leaning}. The earlier date counts."
                ).format(
                    right=replace_text(right, snapshot.today), leaning=replace_text(leaning, snapshot.today)
                )
            )
    return sentences


def snapshot_basis_text(snapshot: TrendSnapshot) -> str:
    """Return what the estimate of a trend rests on."""
    if snapshot.basis is Basis.ENGINEERING and not good_readings(snapshot):
        return basis_text(0, 0, snapshot.measurand)
    return basis_text(good_readings(snapshot), snapshot.similar_parts, snapshot.measurand)


def basis_share_text(snapshot: TrendSnapshot) -> str:
    """Return the same in the fewest words, for beside the "Why?"."""
    readings = good_readings(snapshot)
    own = (
        ngettext("{n} reading", "{n} readings", readings).format(n=readings) if readings else _("no reading")
    )
    if not snapshot.similar_parts:
        return own
    return _("{own}, {n} {nouns} alike").format(
        own=own, n=snapshot.similar_parts, nouns=part_noun(snapshot.measurand, snapshot.similar_parts)
    )


def limit_text(snapshot: TrendSnapshot, shown: ShownUnits) -> str:
    """Return the service limit with its unit."""
    return value_text(snapshot.measurand, snapshot.limit.service_limit, None, shown)


def assumes_text(snapshot: TrendSnapshot, shown: ShownUnits) -> str:
    """Return what a forecast takes for granted."""
    shape = (snapshot.shape_text or _("Assumes steady wear")).rstrip(".")
    granted = _("Taken for granted: this limit, the duty so far, and the vehicle's own use of {use}.").format(
        use=daily_use_text(snapshot.use_per_day, snapshot.use_unit, shown)
    )
    return f"{shape[0].upper()}{shape[1:]}. {granted}"


def trend_sentences(snapshot: TrendSnapshot, shown: ShownUnits) -> list[Sentence]:
    """Return what a trend means: forecast, chance, questioned readings, basis, limit, assumptions.

    Parameters
    ----------
    snapshot : TrendSnapshot
        The trend of one part.
    shown : ShownUnits
        The units of this seat.
    """
    basis = snapshot_basis_text(snapshot)
    limit = _("Service limit {limit}: {source}.").format(
        limit=limit_text(snapshot, shown), source=(snapshot.limit_why or snapshot.limit.source).rstrip(".")
    )
    return [
        Sentence(SentenceKind.FORECAST, _forecast_sentence(snapshot, shown)),
        Sentence(SentenceKind.CHANCE, _chance_sentence(snapshot)),
        *(Sentence(SentenceKind.QUESTIONED, text) for text in _questioned_sentences(snapshot)),
        Sentence(SentenceKind.BASIS, f"{basis[0].upper()}{basis[1:]}."),
        Sentence(SentenceKind.LIMIT, limit),
        Sentence(SentenceKind.ASSUMES, assumes_text(snapshot, shown)),
        Sentence(SentenceKind.CAUTION, maker_caution()),
    ]


def reading_value_text(
    reading: TrendReading, snapshot: TrendSnapshot, shown: ShownUnits, *, unit: bool = True
) -> str:
    """Return the value of one reading, or its interval."""
    if reading.value is None:
        return interval_text(snapshot.measurand, reading.low, reading.high, shown, unit=unit)
    return value_text(snapshot.measurand, reading.value, reading.u_value, shown, unit=unit)


def remarks_text(reading: TrendReading, snapshot: TrendSnapshot, shown: ShownUnits) -> str:
    """Return what is odd about one reading, or what was noted with it."""
    remarks: list[str] = []
    if reading.mark is ReadingMark.VOIDED:
        remarks.append(_("voided: {reason}").format(reason=reading.void_reason or _("no reason given")))
    elif reading.mark in {ReadingMark.SUSPECT, ReadingMark.DOUBTFUL}:
        remarks.append(questioned_text(reading, snapshot, shown))
    if reading.is_zero_reading:
        remarks.append(_("when new"))
    if reading.spread is not None and len(reading.spots) > 1 and reading.spread > 0:
        remarks.append(
            _("spots differ by {spread}").format(
                spread=value_text(snapshot.measurand, reading.spread, None, shown)
            )
        )
    if reading.note:
        remarks.append(reading.note)
    return "; ".join(remarks)


def questioned_text(reading: TrendReading, snapshot: TrendSnapshot, shown: ShownUnits) -> str:
    """Return why a reading is questioned, short enough for the chart."""
    if reading.was_cleaned is False:
        return _("questioned: not cleaned?")
    off = _off_by(reading, snapshot)
    if off is None:
        return _("questioned")
    amount = value_text(snapshot.measurand, abs(off), None, shown)
    return (
        _("questioned: {amount} above the trend").format(amount=amount)
        if off > 0
        else _("questioned: {amount} below the trend").format(amount=amount)
    )


def _off_by(reading: TrendReading, snapshot: TrendSnapshot) -> float | None:
    """Return how far a reading lies from the median, in the canonical unit."""
    if reading.value is None or len(snapshot.curve_use) < 2:
        return None
    uses, middle = snapshot.curve_use, snapshot.curve_value[:, MEDIAN]
    at = min(max(int(uses.searchsorted(reading.use_on_part)), 1), len(uses) - 1)
    step = float(uses[at] - uses[at - 1])
    share = (reading.use_on_part - float(uses[at - 1])) / step if step > 0 else 0.0
    share = min(max(share, 0.0), 1.0)
    return reading.value - float(middle[at - 1] + share * (middle[at] - middle[at - 1]))


def axis_text(snapshot: TrendSnapshot, shown: ShownUnits) -> str:
    """Return what the value axis counts, for example ``"elongation, %"``."""
    unit = unit_text(snapshot.measurand, shown)
    what = measurand_text(snapshot.measurand)
    return f"{what}, {unit}" if unit else what


def allowance_title() -> str:
    """Return what the axis of the allowance used counts."""
    return _("allowance used, %")


def use_axis_text(snapshot: TrendSnapshot, shown: ShownUnits, *, is_vehicle: bool = False) -> str:
    """Return what the use axis counts, for example ``"distance on the chain, km"``."""
    unit, is_hours = use_unit_text(snapshot.use_unit, shown), snapshot.use_unit == "h"
    if is_vehicle:
        template = _("running time of {tag}, {unit}") if is_hours else _("distance of {tag}, {unit}")
        return template.format(tag=snapshot.tag, unit=unit)
    template = _("running time of the {noun}, {unit}") if is_hours else _("distance on the {noun}, {unit}")
    return template.format(noun=part_noun(snapshot.measurand), unit=unit)


def heading_text(snapshot: TrendSnapshot, shown: ShownUnits) -> str:
    """Return which part this is and since when it has been there, on one line."""
    return _("{tag}  ·  {stage}: {part}, fitted {day} at {use}").format(
        tag=snapshot.tag,
        stage=snapshot.stage_name,
        part=snapshot.part_text,
        day=day_text(snapshot.fitted_on),
        use=use_text(snapshot.fitted_use, snapshot.use_unit, shown),
    )
