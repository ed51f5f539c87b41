"""What is odd about torques that were typed: questions, never refusals."""

from dataclasses import replace
from datetime import date
from gettext import gettext as _

from wearlog.fleet.problem import Doubt, DoubtKind, Offer
from wearlog.fleet.reading import Instrument
from wearlog.fleet.torque import Fastener, TorqueWork, Treatment
from wearlog.measuring.history import instrument_doubts
from wearlog.workshop.torque_snapshot import TorqueEntry

#: How many N.m one of each unit is: 4.4482216 N x 0.3048 m, 9.80665 N x 1 m, 4.4482216 N x 0.0254 m.
UNIT_NM = {"N.m": 1.0, "lbf.ft": 1.3558179, "kgf.m": 9.80665, "lbf.in": 0.1129848}
_UNIT_TEXT = {"N.m": "N·m", "lbf.ft": "lbf·ft", "kgf.m": "kgf·m", "lbf.in": "lbf·in"}

#: What the offers of a doubt do.
USE_UNIT, MARKER_LINE, KEEP = "use unit", "marker line", "keep"


def check_torques(
    fastener: Fastener, entry: TorqueEntry, wrench: Instrument | None, on: date
) -> tuple[Doubt, ...]:
    """Return what is odd about the values typed for one fastener; all of them may be true.

    Parameters
    ----------
    fastener
        Its range and its number of bolts.
    entry
        What was typed.
    wrench
        What it was tightened with, if that is known.
    on
        The day.

    Examples
    --------
    >>> axle = Fastener(torque_sheet_id=1, order=1, name="rear axle", low_nm=50.0, high_nm=55.0)
    >>> typed = TorqueEntry(text="40", values_nm=(40.0,))
    >>> check_torques(axle, typed, None, date(2026, 5, 3))[0].question
    '40 N·m is below 50 to 55 N·m. 40 lbf·ft would be 54.2 N·m.'
    """
    if entry.is_empty:
        return ()
    doubts: list[Doubt] = []
    if not all(fastener.is_in_range(value) for value in entry.values_nm):
        doubts.append(_out_of_range(fastener, entry))
    if len(entry.values_nm) > 1 and len(entry.values_nm) != fastener.bolts:
        question = _("{bolts} bolts, but {n} values. Was one left out or typed twice?").format(
            bolts=fastener.bolts, n=len(entry.values_nm)
        )
        if fastener.bolts == 1:
            question = _("One bolt, but {n} values. Are they several goes?").format(n=len(entry.values_nm))
        doubts.append(Doubt(DoubtKind.MISCOUNT, question))
    if entry.work is TorqueWork.RECHECKED and entry.values_nm and fastener.treatment is Treatment.THREAD_LOCK:
        doubts.append(
            Doubt(
                DoubtKind.OTHER,
                _("Turning a joint whose thread-locker has cured breaks its bond. Was it turned?"),
                offers=(Offer(_("Marker line only"), MARKER_LINE), Offer(_("It was turned"), KEEP)),
            )
        )
    if entry.values_nm:
        doubts += instrument_doubts(wrench, on)
    return tuple(replace(doubt, where=fastener.name) for doubt in doubts)


def range_text_nm(fastener: Fastener) -> str:
    """Return a range in N.m, for sentences."""
    if fastener.low_nm == fastener.high_nm:
        return f"{_plain(fastener.low_nm)} N·m"
    return _("{low} to {high} N·m").format(low=_plain(fastener.low_nm), high=_plain(fastener.high_nm))


def _plain(value: float) -> str:
    return f"{round(value, 1):g}"


def _out_of_range(fastener: Fastener, entry: TorqueEntry) -> Doubt:
    """Return the question about values out of range, with the unit in which they would be right."""
    wrong = [value for value in entry.values_nm if not fastener.is_in_range(value)]
    value = max(wrong, key=lambda one: max(fastener.low_nm - one, one - fastener.high_nm))
    side = _("below") if value < fastener.low_nm else _("above")
    what = _("{value} N·m is {side} {range}.").format(
        value=_plain(value), side=side, range=range_text_nm(fastener)
    )
    typed = [one / UNIT_NM[entry.unit] for one in entry.values_nm]
    for unit, size in UNIT_NM.items():
        if unit == entry.unit or not all(fastener.is_in_range(one * size) for one in typed):
            continue
        number = value / UNIT_NM[entry.unit]
        meant = f"{_plain(number)} {_UNIT_TEXT[unit]}"
        question = what
        if unit != "N.m":
            question = _("{what} {meant} would be {value} N·m.").format(
                what=what, meant=meant, value=_plain(number * size)
            )
        offer = Offer(_("It was {meant}").format(meant=meant), USE_UNIT, unit)
        return Doubt(DoubtKind.OTHER_UNIT, question, offers=(offer,))
    question = _("{what} Is the value right?").format(what=what)
    return Doubt(DoubtKind.UNUSUAL, question)
