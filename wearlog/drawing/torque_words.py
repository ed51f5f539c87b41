"""Words about torques, shared by screen and paper."""

from datetime import date
from gettext import gettext as _
from gettext import ngettext

from wearlog.drawing.number_words import use_text
from wearlog.drive.tightening import pass_torques
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.reading import Instrument
from wearlog.fleet.state import State
from wearlog.fleet.torque import Fastener, TorqueRecord, TorqueSheet, TorqueWork, Treatment
from wearlog.units import THIN_SPACE, show, show_parts
from wearlog.wording import day_text
from wearlog.workshop.torque_snapshot import FastenerLine, Recheck, Standing, TorqueSnapshot

#: Torques stand in N.m everywhere, in the seat's unit beside it.
_NM = ShownUnits()

#: The mark that goes with how a fastener stands; the words differ from those of wear.
STANDING_MARK = {
    Standing.NOT_RECORDED: State.NO_READING,
    Standing.SET: State.WITHIN_LIMIT,
    Standing.RECHECK_OPEN: State.PLAN,
    Standing.RECHECK_DUE: State.DUE,
    Standing.OUT_OF_RANGE: State.PAST_LIMIT,
}


def standing_text(standing: Standing) -> str:
    """Return how a fastener stands, in a word or two."""
    return {
        Standing.NOT_RECORDED: _("not recorded"),
        Standing.SET: _("set"),
        Standing.RECHECK_OPEN: _("re-check to come"),
        Standing.RECHECK_DUE: _("re-check due"),
        Standing.OUT_OF_RANGE: _("out of range"),
    }[standing]


def treatment_text(treatment: Treatment) -> str:
    """Return how the threads are prepared."""
    return {
        Treatment.DRY: _("dry"),
        Treatment.OILED: _("oiled"),
        Treatment.GREASED: _("greased"),
        Treatment.THREAD_LOCK: _("thread-lock"),
    }[treatment]


def work_text(work: TorqueWork) -> str:
    """Return what was done."""
    return {
        TorqueWork.TIGHTENED: _("tightened"),
        TorqueWork.RECHECKED: _("re-checked"),
        TorqueWork.MARKER_SEEN: _("marker line looked at"),
    }[work]


def _number(value: float, shown: ShownUnits) -> tuple[str, str]:
    """Return a torque without needless noughts, and its unit."""
    text, unit = show_parts(value, Quantity.TORQUE, shown)
    is_whole = len(text) > 2 and text[-1] == "0" and not text[-2].isdigit()
    return (text[:-2] if is_whole else text), unit


def torque_text(value_nm: float, shown: ShownUnits | None = None) -> str:
    r"""Return a torque.

    Parameters
    ----------
    value_nm : float
        Torque, [N.m].
    shown : ShownUnits or None
        The units of a seat; N.m if None.

    Examples
    --------
    >>> torque_text(12.0), torque_text(12.5)
    ('12\u2009N·m', '12.5\u2009N·m')
    """
    number, unit = _number(value_nm, shown or _NM)
    return f"{number}{THIN_SPACE}{unit}"


def range_text(fastener: Fastener, shown: ShownUnits | None = None) -> str:
    r"""Return the range of a fastener, with its unit.

    Examples
    --------
    >>> axle = Fastener(torque_sheet_id=1, order=1, name="rear axle", low_nm=50.0, high_nm=55.0)
    >>> range_text(axle), range_text(axle, ShownUnits(torque="lbf.ft"))
    ('50 to 55\u2009N·m', '36.9 to 40.6\u2009lbf·ft')
    """
    low, unit = _number(fastener.low_nm, shown or _NM)
    high, _unit = _number(fastener.high_nm, shown or _NM)
    text = low if fastener.low_nm == fastener.high_nm else _("{low} to {high}").format(low=low, high=high)
    return f"{text}{THIN_SPACE}{unit}"


def range_also_text(fastener: Fastener, shown: ShownUnits) -> str:
    """Return the range in the seat's unit if that is not N.m, else nothing."""
    return "" if shown.torque == "N.m" else range_text(fastener, shown)


def applied_text(record: TorqueRecord, shown: ShownUnits | None = None) -> str:
    r"""Return what was applied: one value, or from the least to the most of several bolts.

    Examples
    --------
    >>> done = TorqueRecord(vehicle_id=1, fastener_id=1, on=date(2026, 5, 3), total_use=0.0,
    ...                     applied_nm=(12.0, 12.5, 12.0))
    >>> applied_text(done)
    '12 to 12.5\u2009N·m'
    """
    if not record.applied_nm:
        return work_text(record.work)
    low, unit = _number(min(record.applied_nm), shown or _NM)
    high, _unit = _number(max(record.applied_nm), shown or _NM)
    text = low if low == high else _("{low} to {high}").format(low=low, high=high)
    return f"{text}{THIN_SPACE}{unit}"


def last_text(line: FastenerLine, shown: ShownUnits) -> str:
    """Return what was done last, with what, by whom and when; empty if nothing was."""
    record = line.last
    if record is None:
        return ""
    text = _("{day}: {applied}").format(day=day_text(record.on), applied=applied_text(record, shown))
    if record.work is TorqueWork.RECHECKED:
        text = _("{text}, re-checked").format(text=text)
    if line.last_wrench:
        text = _("{text}, with {wrench}").format(text=text, wrench=line.last_wrench)
    return _("{text}, by {by}").format(text=text, by=record.by) if record.by else text


def standing_detail_text(line: FastenerLine) -> str:
    r"""Return what goes with how a fastener stands, short enough for a column.

    Examples
    --------
    >>> from wearlog.drive.tightening import steps_by_place
    >>> axle = Fastener(torque_sheet_id=1, order=1, name="rear axle", low_nm=50.0, high_nm=55.0)
    >>> done = TorqueRecord(
    ...     vehicle_id=1, fastener_id=1, on=date(2026, 5, 3), total_use=0.0, applied_nm=(52.0,)
    ... )
    >>> standing_detail_text(FastenerLine(axle, steps_by_place(1), done, done))
    '52\u2009N·m, 3 May 2026'
    """
    if line.last is None:
        return ""
    recheck = line.recheck
    if line.standing is Standing.RECHECK_DUE and recheck is not None:
        return _("since {day}").format(day=day_text(recheck.due_on))
    if line.standing is Standing.RECHECK_OPEN and recheck is not None:
        return _("about {day}").format(day=day_text(recheck.due_on))
    record = line.tightened if line.standing is Standing.OUT_OF_RANGE and line.tightened else line.last
    return f"{applied_text(record)}, {day_text(record.on)}"


def passes_text(fastener: Fastener) -> str:
    r"""Return in which steps several bolts are tightened; empty for one.

    Examples
    --------
    >>> sprocket = Fastener(torque_sheet_id=1, order=1, name="", low_nm=12.0, high_nm=12.0, bolts=5)
    >>> passes_text(sprocket)
    'Snug all of them first, then round by round 4, 8 and 12\u2009N·m.'
    """
    if fastener.bolts == 1:
        return ""
    # To the nearest half N.m, finer than any wrench clicks.
    *steps, last = (round(2 * step) / 2 for step in pass_torques((fastener.low_nm + fastener.high_nm) / 2))
    names = ", ".join(_number(step, _NM)[0] for step in steps)
    end = range_text(fastener) if fastener.low_nm != fastener.high_nm else torque_text(last)
    return _("Snug all of them first, then round by round {steps} and {last}.").format(steps=names, last=end)


def recheck_text(recheck: Recheck, use_unit: str, shown: ShownUnits) -> str:
    """Return when the re-check is due."""
    at = use_text(recheck.due_use, use_unit, shown)
    if recheck.is_overdue:
        return _("Re-check was due at {use}, {day}.").format(use=at, day=day_text(recheck.due_on))
    if recheck.due_on is None:
        return _("Re-check at {use}.").format(use=at)
    return _("Re-check at {use}, about {day}.").format(use=at, day=day_text(recheck.due_on))


def recheck_rule_text(fastener: Fastener, use_unit: str, shown: ShownUnits) -> str:
    """Return after how much use a fastener is to be re-checked."""
    after = fastener.recheck_after(use_unit)
    if after is None:
        return _("no re-check asked for")
    return _("re-check after {use}").format(use=use_text(after, use_unit, shown))


def bolts_text(fastener: Fastener) -> str:
    """Return how many bolts it has and what they are, for example ``"5 bolts M6 x 16"``."""
    count = ngettext("{n} bolt", "{n} bolts", fastener.bolts).format(n=fastener.bolts)
    if fastener.bolts == 1:
        return fastener.size
    return f"{count} {fastener.size}".strip()


def wrench_text(wrench: Instrument, today: date) -> str:
    """Return a wrench with the state of its calibration."""
    due = wrench.calibration_due
    if due is None:
        return _("{name} (calibration not recorded)").format(name=wrench.name)
    if due < today:
        return _("{name} (calibration due {day})").format(name=wrench.name, day=day_text(due))
    return _("{name} (calibrated to {day})").format(name=wrench.name, day=day_text(due))


def sheet_text(sheet: TorqueSheet, snapshot: TorqueSnapshot) -> str:
    """Return whose sheet it is, where it comes from, and that the maker's manual comes first."""
    if sheet.vehicle_id is not None:
        whose = _("Torque sheet of {tag}").format(tag=snapshot.tag)
    else:
        whose = ngettext(
            "Torque sheet of model {model}, {n} vehicle",
            "Torque sheet of model {model}, {n} vehicles",
            snapshot.vehicles,
        ).format(model=sheet.model, n=snapshot.vehicles)
    source = _("{whose}: {source}.").format(whose=whose, source=sheet.source) if sheet.source else f"{whose}."
    return f"{source} {sheet.note}".strip()


def summary_text(snapshot: TorqueSnapshot) -> str:
    """Return how the whole sheet stands."""
    counts = dict.fromkeys(Standing, 0)
    for line in snapshot.lines:
        counts[line.standing] += 1
    told = [
        (Standing.RECHECK_DUE, _("{n} re-check due"), _("{n} re-checks due")),
        (Standing.OUT_OF_RANGE, _("{n} out of range"), _("{n} out of range")),
        (Standing.RECHECK_OPEN, _("{n} re-check to come"), _("{n} re-checks to come")),
        (Standing.SET, _("{n} set"), _("{n} set")),
        (Standing.NOT_RECORDED, _("{n} not recorded"), _("{n} not recorded")),
    ]
    pieces = [
        ngettext(one, many, counts[key]).format(n=counts[key]) for key, one, many in told if counts[key]
    ]
    return ", ".join(pieces)


def last_meter_text(snapshot: TorqueSnapshot) -> str:
    """Return what the meter showed last, in its own unit; it counts if nothing is typed."""
    if snapshot.last_meter is None:
        return ""
    shown = ShownUnits() if snapshot.use_unit == "h" else ShownUnits(distance=snapshot.meter_unit.value)
    return _("last {use}").format(use=use_text(snapshot.last_meter, snapshot.use_unit, shown))


def torque_in(value_nm: float, unit: str) -> str:
    """Return a torque in a unit of one's own choosing, as one would type it: number, space, unit."""
    return show(value_nm, Quantity.TORQUE, ShownUnits(torque=unit), unit=False) + f" {unit}"
