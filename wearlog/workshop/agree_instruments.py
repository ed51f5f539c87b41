"""Instruments: added, changed, retired, and checked on a new chain."""

from dataclasses import replace
from datetime import date
from gettext import gettext as _

from wearlog.fleet.problem import Doubt, DoubtKind, Findings, Offer, Problem, WearlogError
from wearlog.fleet.reading import Instrument, InstrumentKind, Method, Reading
from wearlog.fleet.torque import TorqueRecord
from wearlog.measuring import defaults
from wearlog.measuring.elongation import nominal_length
from wearlog.measuring.plausibility import is_plausible_elongation
from wearlog.measuring.uncertainty import (
    combined,
    mean_of,
    pooled_deviation,
    u_of_half_width,
    u_of_resolution,
)
from wearlog.store.records import Records
from wearlog.workshop.agree_snapshot import GAUGES, FoundBias, InstrumentLine, NewChainCheck
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes

#: A new chain is taken as nominal; how far it may be off, [-]. ISO 606, length of the finished chain:
#: 0 to +0.15 % (from memory); cycle chains measured new: -0.10 to +0.15 % (fagan.co.za).
NEW_CHAIN_WITHIN = 0.0015
#: The unit of what an instrument reads; a gauge reads an elongation.
READS_IN = {
    InstrumentKind.CALIPER: "mm",
    InstrumentKind.RULE: "mm",
    InstrumentKind.TAPE: "mm",
    InstrumentKind.GAUGE_TWO_PRONG: "%",
    InstrumentKind.GAUGE_ONE_SIDE: "%",
    InstrumentKind.FREQUENCY_METER: "Hz",
    InstrumentKind.FORCE_GAUGE: "N",
    InstrumentKind.TORQUE_WRENCH: "N.m",
}
#: A bias is told from none beyond so many standard uncertainties; coverage about 95 % (JCGM 100:2008, G.6.6).
_TOLD_APART = 2.0


# --- the list ---------------------------------------------------------------------------------------------


def instruments_kept(bench: Bench) -> tuple[InstrumentLine, ...]:
    """Return all instruments, those in use first, by kind and name."""
    with bench.database.reading() as records:
        return instrument_lines(records, records.all(Instrument), bench.today())


def instrument_lines(
    records: Records, instruments: tuple[Instrument, ...], today: date
) -> tuple[InstrumentLine, ...]:
    """Return the line of every instrument, those in use first, by kind and name."""
    kinds = list(InstrumentKind)
    ordered = sorted(
        instruments, key=lambda one: (one.retired_on is not None, kinds.index(one.kind), one.name.casefold())
    )
    return tuple(
        InstrumentLine(
            one,
            readings=records.count(Reading, live=True, instrument_id=one.id)
            + records.count(TorqueRecord, live=True, instrument_id=one.id),
            is_overdue=one.retired_on is None
            and one.calibration_due is not None
            and one.calibration_due < today,
        )
        for one in ordered
    )


# --- changing ---------------------------------------------------------------------------------------------


def look_at_instrument(instrument: Instrument) -> None:
    """Refuse an instrument that can't be.

    Raises
    ------
    WearlogError
        All that is wrong with it.
    """
    findings = Findings()
    where = instrument.name.strip() or _("instrument")
    if not instrument.name.strip():
        findings.add(_("The instrument has no name."), where, _("Give it the name that stands on it."))
    if instrument.resolution < 0.0 or instrument.u_instrument < 0.0:
        findings.add(
            _("Resolution and standard uncertainty are never negative."),
            where,
            _("Give what lies between two marks, and the standard uncertainty from its certificate."),
        )
    if instrument.kind in GAUGES:
        if not instrument.stamps and not instrument.resolution:
            findings.add(
                _("A gauge without stamps and without a scale reads nothing."),
                where,
                _("Give the stamps on it, or the step of its scale as resolution."),
            )
        if abs(instrument.bias) >= 0.01:
            findings.add(
                _("A gauge that reads {bias:.2g} % on a new chain is no use.").format(
                    bias=100 * instrument.bias
                ),
                where,
                _("Check the digits and the unit."),
            )
    elif instrument.stamps:
        findings.add(_("Only a gauge has stamps."), where, _("Leave the stamps empty."))
    findings.raise_if_any()


def add_instrument(bench: Bench, instrument: Instrument) -> Changes:
    """Keep one more instrument; once kept it stays, it can be retired.

    Raises
    ------
    WearlogError
        All that can't be; or its name is taken.
    """
    look_at_instrument(instrument)
    what = _("{name} added").format(name=instrument.name)
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        records.add(replace(instrument, id=0, version=0))
        change_id = records.change_id
    return Changes(what, change_id, can_undo=False)


def change_instrument(bench: Bench, instrument: Instrument) -> Changes:
    """Put a changed instrument in the place of the one with its number; readings so far stay as they are.

    Raises
    ------
    EditConflict
        If somebody else changed it since it was read.
    WearlogError
        All that can't be; or its name is taken.
    """
    look_at_instrument(instrument)
    return _replaced(bench, instrument, _("{name} changed").format(name=instrument.name))


def retire_instrument(bench: Bench, instrument: Instrument, on: date | None) -> Changes:
    """Take an instrument out of use from a day on, or back into use with None.

    Raises
    ------
    EditConflict
        If somebody else changed it since it was read.
    """
    template = _("{name} back in use") if on is None else _("{name} retired")
    return _replaced(bench, replace(instrument, retired_on=on), template.format(name=instrument.name))


def _replaced(bench: Bench, instrument: Instrument, what: str) -> Changes:
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        records.replace(instrument)
        change_id = records.change_id
    return Changes(what, change_id)


# --- the check on a new chain -----------------------------------------------------------------------------


def bias_on_new_chain(check: NewChainCheck) -> FoundBias:
    """Return what an instrument reads too much, from what it read on a new chain.

    Parameters
    ----------
    check
        Lengths over pitches for caliper, rule and tape; elongations or stamps for gauges.

    Raises
    ------
    WearlogError
        If nothing was read, or every stamp went in, so that the gauge can't be used.

    Notes
    -----
    bias = mean of the readings - length of the new chain. The chain is nominal within `NEW_CHAIN_WITHIN`
    unless the same stretch was measured with an instrument that is trusted; that uncertainty, the scatter of
    the readings and their resolution combine.

    References
    ----------
    JCGM 100:2008, 3.2.3 and 3.2.4 (correction of a known effect and its uncertainty), 4.3.7, 5.1.2.
    """
    if check.instrument.kind in GAUGES and check.stamps:
        return _bias_of_stamps(check)
    if check.instrument.kind in GAUGES:
        return _bias_of_scale(check)
    return _bias_of_lengths(check)


def _bias_of_lengths(check: NewChainCheck) -> FoundBias:
    if not check.lengths_mm:
        raise WearlogError(
            Problem(
                _("Nothing was read on the new chain."),
                check.instrument.name,
                _("Type the length at one place at least, better at three."),
            )
        )
    nominal = nominal_length(check.pitches, check.pitch_mm)
    for length in check.lengths_mm:
        if not is_plausible_elongation((length - nominal) / nominal):
            raise WearlogError(
                Problem(
                    _(
                        "{length:.5g} mm can’t be {pitches} pitches of {pitch:.4g} mm;"
                        " new they are {nominal:.5g} mm."
                    ).format(length=length, pitches=check.pitches, pitch=check.pitch_mm, nominal=nominal),
                    check.instrument.name,
                    _("Count the pitches again: pin 1 to pin 21 are 20."),
                )
            )
    true_mm = nominal if check.compared_mm is None else check.compared_mm
    usual = defaults.U_SETTING_MM[Method.INSIDE_AND_OUTSIDE]
    if check.instrument.kind is not InstrumentKind.CALIPER:
        usual = defaults.U_SETTING_MM[Method.PIN_TO_PIN]
    u_chain = (
        u_of_half_width(NEW_CHAIN_WITHIN * nominal)
        if check.compared_mm is None
        else defaults.U_SETTING_MM[Method.INSIDE_AND_OUTSIDE]
    )
    return _found(check, check.lengths_mm, true_mm, usual, u_chain)


def _bias_of_scale(check: NewChainCheck) -> FoundBias:
    if not check.elongations:
        raise WearlogError(
            Problem(
                _("Nobody said what the gauge showed on the new chain."),
                check.instrument.name,
                _("Say of each stamp whether it goes in, or type what the scale shows."),
            )
        )
    return _found(check, check.elongations, 0.0, defaults.U_GAUGE, u_of_half_width(NEW_CHAIN_WITHIN))


def _found(
    check: NewChainCheck, readings: tuple[float, ...], true: float, usual: float, u_chain: float
) -> FoundBias:
    bias = mean_of(readings) - true
    scatter = pooled_deviation(readings, usual) / len(readings) ** 0.5
    step = u_of_resolution(max(check.resolution, check.instrument.resolution))
    u_bias = combined(scatter, step, u_chain)
    doubts = []
    if abs(bias) <= _TOLD_APART * u_bias:
        text = _("This can’t be told from no bias at all.")
        if check.lengths_mm and check.compared_mm is None:
            text += " " + _("A trusted length of the same stretch would tell more.")
        doubts.append(_doubt(check, text))
    if len(readings) == 1:
        doubts.append(_doubt(check, _("One place says little; three show the scatter.")))
    return FoundBias(bias, u_bias, tuple(doubts))


def _bias_of_stamps(check: NewChainCheck) -> FoundBias:
    goes_in = [value for value, is_in in check.stamps if is_in]
    stays_out = [value for value, is_in in check.stamps if not is_in]
    if goes_in and not stays_out:
        raise WearlogError(
            Problem(
                _("Every stamp goes into a new chain: this gauge calls every chain worn."),
                check.instrument.name,
                _("Check the chain with a caliper; if it is new, retire the gauge."),
            )
        )
    if goes_in and max(goes_in) > min(stays_out):
        raise WearlogError(
            Problem(
                _("A greater stamp goes in where a smaller one stays out."),
                check.instrument.name,
                _("Try both again, or check what the stamps mean."),
            )
        )
    if not goes_in:
        return FoundBias(None, None, reads_under=min(stays_out))
    low, high = max(goes_in), min(stays_out)
    u_bias = combined(u_of_half_width((high - low) / 2.0), u_of_half_width(NEW_CHAIN_WITHIN))
    question = _("Stamps give the bias only roughly; a gauge with a scale or a length tells more.")
    return FoundBias((low + high) / 2.0, u_bias, (_doubt(check, question),))


def _doubt(check: NewChainCheck, question: str) -> Doubt:
    return Doubt(
        DoubtKind.OTHER, question, check.instrument.name, (Offer(_("Keep it all the same"), "keep"),)
    )


def keep_check(bench: Bench, check: NewChainCheck, note: str, *, takes_u: bool = False) -> Changes:
    """Keep what a check on a new chain has shown: the bias, and the note with its day.

    Parameters
    ----------
    bench
        The bench.
    check
        What was read.
    note
        What stands in the notes of the instrument, in the units of the seat; the day is put before it.
    takes_u
        Whether the standard uncertainty of the bias becomes that of the instrument.

    Raises
    ------
    EditConflict
        If somebody else changed the instrument since it was read.
    WearlogError
        As `bias_on_new_chain`.
    """
    found = bias_on_new_chain(check)
    kept = check.instrument
    notes = "; ".join(filter(None, (kept.notes, f"{check.on.isoformat()}: {note}")))
    changed = replace(kept, notes=notes)
    if found.bias is not None and found.u_bias is not None:
        changed = replace(
            changed,
            bias=round(found.bias, 9),
            u_instrument=round(found.u_bias, 9) if takes_u else kept.u_instrument,
        )
    look_at_instrument(changed)
    return _replaced(bench, changed, _("{name} checked on a new chain").format(name=kept.name))
