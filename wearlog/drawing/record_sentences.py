"""What the fleet record means, in sentences with numbers; honest about small counts."""

import math
from gettext import gettext as _
from gettext import ngettext

from wearlog.drawing.number_words import share_text
from wearlog.drawing.record_words import (
    checks_text,
    counted,
    factor_text,
    half_life_text,
    kind_text,
    level_text,
    parts_text,
    per_use_text,
    rate_interval_text,
    share_span_text,
)
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.forecast.checks import Coverage
from wearlog.units import show
from wearlog.workshop.record_snapshot import (
    TELLING_CHECKS,
    TELLING_PARTS,
    Comparison,
    Factor,
    KindRecord,
    RecordSnapshot,
    Reliability,
    Verdict,
)

#: Levels whose lives are told in a sentence; the rest is in the files.
LIVES_TOLD = 4


def hindsight_text(snapshot: RecordSnapshot) -> str:
    """Return what each forecast was allowed to know."""
    if snapshot.is_honest:
        return _("Each forecast knows only what was known in its day.")
    return _(
        "Quick look: each part’s own later readings are left out, but the rest of the fleet is known to "
        "this day."
    )


def reliability_sentences(readings: Reliability, distances: Reliability) -> list[str]:
    """Return what forecasts were worth.

    Parameters
    ----------
    readings : Reliability
        Of next readings.
    distances : Reliability
        Of distances at the limit.
    """
    if not readings.n_checks:
        return [
            _("Nothing was predicted yet: the first reading of a part that can be checked makes a start.")
        ]
    said = [_judged(readings), _reading_errors(readings)]
    if distances.n_checks:
        said.append(_distances(distances))
    else:
        said.append(
            _("No part was read on both sides of its limit yet, so no distance at the limit can be checked.")
        )
    return [sentence for sentence in said if sentence]


def _judged(readings: Reliability) -> str:
    eighty = readings.held(0.80)
    made = _("Of {checks} of a next reading for {parts}, the 80\u00a0% interval held {share}").format(
        checks=checks_text(readings.n_checks),
        parts=parts_text(readings.n_parts),
        share=share_text(eighty.share),
    )
    span = share_span_text(eighty.low, eighty.high)
    if not readings.is_telling:
        return _("{made}; {n} checks are too few to judge by, anything from {span} is possible.").format(
            made=made, n=readings.n_checks, span=span
        )
    return _("{made} ({span}). {judged}").format(made=made, span=span, judged=_promise(readings))


def _promise(readings: Reliability) -> str:
    """Return whether intervals hold what they promise."""
    narrow = [one for one in readings.told if one.high < one.width]
    wide = [one for one in readings.told if one.low > one.width]
    if not narrow and not wide:
        return _("The intervals hold what they promise.")
    if narrow and wide:
        return _("The {wide} are wider than need be, the {narrow} too narrow.").format(
            wide=_widths(wide), narrow=_widths(narrow)
        )
    if narrow:
        return _("The {narrow} are too narrow: expect surprises more often than they say.").format(
            narrow=_widths(narrow)
        )
    return _("The {wide} are wider than need be: forecasts are better than they say.").format(
        wide=_widths(wide)
    )


def _widths(ones: list[Coverage]) -> str:
    shares = [f"{round(100 * one.width)}" for one in ones]
    last = shares.pop()
    named = _("{some} and {last}").format(some=", ".join(shares), last=last) if shares else last
    return _("{widths}\u00a0% intervals").format(widths=named)


def _reading_errors(readings: Reliability) -> str:
    if math.isnan(readings.median_error) or not readings.is_telling:
        return ""
    own, line = readings.median_error, readings.line_error
    return _(
        "Half of the forecasts missed by less than {own} of the allowance; a straight line through the "
        "part’s own readings by {line}. {better}"
    ).format(own=error_text(own), line=error_text(line), better=_better(own, line))


def _distances(distances: Reliability) -> str:
    eighty = distances.held(0.80)
    told = _("The distance at the limit was foretold {times} for {parts} that reached it").format(
        times=ngettext("{n} time", "{n} times", distances.n_checks).format(n=counted(distances.n_checks)),
        parts=parts_text(distances.n_parts),
    )
    span = share_span_text(eighty.low, eighty.high)
    if distances.n_parts < TELLING_CHECKS:
        return _(
            "{told}; the 80\u00a0% interval held {share}, but so few parts leave anything from "
            "{span} possible."
        ).format(told=told, share=share_text(eighty.share), span=span)
    own, line = distances.median_error, distances.line_error
    judged = _(
        "{told}; the 80\u00a0% interval held {share} ({span}), half of the forecasts were off by less than "
        "{own}, a straight line by {line}."
    ).format(told=told, share=share_text(eighty.share), span=span, own=error_text(own), line=error_text(line))
    if eighty.share >= eighty.width:
        return judged
    return _(
        "{judged} A first reading past the limit is more often too high than too low, so these intervals "
        "hold a little less than they promise."
    ).format(judged=judged)


def error_text(error: float) -> str:
    r"""Return how far off forecasts were.

    Examples
    --------
    >>> error_text(0.0665), error_text(0.146)
    ('6.7\u2009%', '15\u2009%')
    """
    if math.isinf(error):
        return _("more than all of it")
    return show(error, Quantity.SHARE, ShownUnits(), decimals=1 if error < 0.0995 else 0)


def _better(own: float, line: float) -> str:
    if own < 0.9 * line:
        return _("Learning from the fleet pays.")
    if own > 1.1 * line:
        return _("Here the plain line was nearer.")
    return _("There is little between them.")


# --- rates ----------------------------------------------------------------------------------------------


def rate_sentences(kind: KindRecord, by: Factor | None, shown: ShownUnits) -> list[str]:
    """Return how fast parts of a kind wear, and what the data tell of the differences.

    Parameters
    ----------
    kind : KindRecord
        A kind of part.
    by : Factor or None
        What they are compared by.
    shown : ShownUnits
        The units of this seat.
    """
    if kind.rate is None:
        return [_("No reading says yet how fast {parts} wear here.").format(parts=kind_text(kind))]
    said = [
        _("A usual part uses up {rate} of its wear allowance {per_use}, from {read} with readings.").format(
            rate=rate_interval_text(kind.rate, kind.use_unit, shown),
            per_use=per_use_text(kind.use_unit, shown),
            read=parts_text(kind.rate.n_read),
        )
    ]
    if not kind.is_straight:
        said.append(_("Wear here does not run straight; rates are on the scale that straightens it."))
    comparison = kind.comparisons.get(by) if by is not None else None
    if by is not None and comparison is None:
        said.append(
            _("There is nothing to compare by {factor}: it is the same for all, or not noted.").format(
                factor=factor_text(by)
            )
        )
    elif comparison is not None:
        said += comparison_sentences(comparison, kind.use_unit, shown)
    return said


def comparison_sentences(comparison: Comparison, use_unit: str, shown: ShownUnits) -> list[str]:
    """Return what the data tell of a difference, and how far the comparison carries."""
    by, verdict = comparison.factor, comparison.verdict
    if verdict is None:
        return [
            _(
                "By {factor} the data do not tell: {n} read parts of each are the least to conclude from."
            ).format(factor=factor_text(by), n=TELLING_PARTS)
        ]
    faster = level_text(by, verdict.faster, use_unit, shown)
    slower = level_text(by, verdict.slower, use_unit, shown)
    if verdict.is_told:
        said = [
            _(
                "The data tell them apart: “{faster}” wears {ratio} times as fast as “{slower}” "
                "({low} to {high})."
            ).format(
                faster=faster,
                slower=slower,
                ratio=_ratio(verdict.ratio),
                low=_ratio(verdict.low),
                high=_ratio(verdict.high),
            )
        ]
    else:
        said = [
            _("By {factor} the data do not tell. {possible}").format(
                factor=factor_text(by), possible=_possible(verdict, faster, slower)
            )
        ]
    if by in {Factor.CARE, Factor.CARE_INTERVAL}:
        said.append(
            _("This was seen, not tried out: parts that wear fast may also be cared for in another way.")
        )
    return said


def _possible(verdict: Verdict, faster: str, slower: str) -> str:
    less, more = max(1.0 - verdict.low, 0.0), verdict.high - 1.0
    if verdict.low >= 1.0:
        return _("“{faster}” may wear up to {more} faster than “{slower}”, or as fast.").format(
            faster=faster, slower=slower, more=share_text(more)
        )
    return _("“{faster}” may wear anything from {less} slower to {more} faster than “{slower}”.").format(
        faster=faster, slower=slower, less=share_text(less), more=share_text(more)
    )


def _ratio(ratio: float) -> str:
    return show(ratio, Quantity.COUNT, ShownUnits(), unit=False, decimals=1 if ratio < 10.0 else 0)


# --- lives ----------------------------------------------------------------------------------------------


def life_sentences(kind: KindRecord, by: Factor | None, shown: ShownUnits) -> list[str]:
    """Return how long parts of a kind last.

    Parameters
    ----------
    kind : KindRecord
        A kind of part.
    by : Factor or None
        What they are compared by.
    shown : ShownUnits
        The units of this seat.
    """
    curve = kind.survival
    if curve is None:
        return [
            _("No part was followed long enough to tell how long {parts} last.").format(parts=kind_text(kind))
        ]
    if not curve.n_worn:
        return [
            _("None of {n} has reached its limit or come off worn yet.").format(n=parts_text(curve.n_parts))
        ]
    half = half_life_text(curve, kind.use_unit, shown)
    said = [
        _("Half of them last {half}.").format(half=half)
        if math.isfinite(curve.median)
        else _("Half of them last longer than can be told: {half}.").format(half=half)
    ]
    others = curve.n_parts - curve.n_worn - curve.n_running
    said.append(
        _(
            "Of {parts}, {worn} reached their limit or came off worn, {early} came off before that and "
            "{running} still run; these count as far as they got."
        ).format(parts=parts_text(curve.n_parts), worn=curve.n_worn, early=others, running=curve.n_running)
    )
    if curve.n_worn < TELLING_CHECKS // 2:
        said.append(_("With so few worn parts the curve is a rough one."))
    if curve.n_unknown:
        said.append(
            ngettext(
                "{n} part is left out because nobody knows what was on it.",
                "{n} parts are left out because nobody knows what was on them.",
                curve.n_unknown,
            ).format(n=curve.n_unknown)
        )
    if by is not None and by in kind.survival_by:
        told = "; ".join(
            _("{level}: {half}").format(
                level=level_text(by, one.level, kind.use_unit, shown),
                half=half_life_text(one, kind.use_unit, shown),
            )
            for one in kind.survival_by[by][:LIVES_TOLD]
        )
        said.append(_("By {factor}, half last: {told}.").format(factor=factor_text(by), told=told))
    return said
