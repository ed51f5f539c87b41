"""Instruments in words: their row in the list, what stands under it, and what a check has shown."""

from datetime import date
from gettext import gettext as _
from gettext import ngettext

from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.reading import Instrument
from wearlog.units import show
from wearlog.window.settings.model import LedgerRow
from wearlog.window.settings.value_words import NONE, exact_text, instrument_kind_text, read_quantity
from wearlog.wording import day_text
from wearlog.workshop.agree_snapshot import GAUGES, FoundBias, InstrumentLine, NewChainCheck

HEADS = (
    _("Name"),
    _("Kind"),
    _("Resolution"),
    _("Std. uncertainty"),
    _("Bias"),
    _("Stamps"),
    _("Calibration due"),
    _("Used"),
    _("Notes"),
)
NUMBERS = frozenset({2, 3, 4, 7})
WIDTHS = (0, 128, 84, 116, 64, 108, 160, 56, 240)
NEEDED = {8: 1200, 5: 800, 2: 660, 1: 560, 3: 500}


def instrument_row(line: InstrumentLine, shown: ShownUnits) -> LedgerRow:
    """Return the row of an instrument."""
    one = line.instrument
    quantity = read_quantity(one.kind)
    return LedgerRow(
        key=one.id,
        cells=(
            one.name,
            instrument_kind_text(one.kind),
            exact_text(one.resolution or None, quantity, shown, digits=3),
            exact_text(one.u_instrument or None, quantity, shown, digits=3),
            exact_text(one.bias or None, quantity, shown, digits=3),
            " ".join(stamp for stamp, _value in one.stamps) or NONE,
            due_text(line),
            str(line.readings),
            one.notes or NONE,
        ),
        is_problem=line.is_overdue,
        is_quiet=one.retired_on is not None,
    )


def due_text(line: InstrumentLine) -> str:
    """Return when an instrument is to be calibrated, or that it is not in use."""
    one = line.instrument
    if one.retired_on is not None:
        return _("retired {day}").format(day=day_text(one.retired_on))
    if line.is_overdue:
        return _("overdue, {day}").format(day=day_text(one.calibration_due))
    return day_text(one.calibration_due)


def stamps_text(instrument: Instrument) -> str:
    """Return the stamps of a gauge and what each means."""
    plain = ShownUnits()
    return "; ".join(
        _("{stamp} means {value}").format(stamp=stamp, value=exact_text(value, Quantity.ELONGATION, plain))
        for stamp, value in instrument.stamps
    )


def stamps_entry(instrument: Instrument) -> str:
    """Return the stamps as they are typed."""
    return "; ".join(f"{stamp} = {100 * value:.6g} %" for stamp, value in instrument.stamps)


def instrument_sentences(line: InstrumentLine, shown: ShownUnits, today: date) -> tuple[str, ...]:
    """Return what is to be known of an instrument, sentence by sentence."""
    one = line.instrument
    quantity = read_quantity(one.kind)
    used = ngettext("Used for {n} reading.", "Used for {n} readings.", line.readings).format(n=line.readings)
    words = [f"{used} {_bias_text(one, quantity, shown)}".strip()]
    if line.is_overdue and one.calibration_due is not None:
        words.append(
            _(
                "Its calibration was due {n} days ago; readings with it are questioned until it is done."
            ).format(n=(today - one.calibration_due).days)
        )
    if one.stamps:
        words.append(_("Stamps: {stamps}.").format(stamps=stamps_text(one)))
    if one.notes:
        words.append(_("Notes: {notes}").format(notes=one.notes))
    return tuple(words)


def _bias_text(one: Instrument, quantity: Quantity, shown: ShownUnits) -> str:
    if one.bias:
        template = _("It reads {bias} too much; that is taken off every later reading.")
        if one.bias < 0.0:
            template = _("It reads {bias} too little; that is added to every later reading.")
        return template.format(bias=exact_text(abs(one.bias), quantity, shown))
    if one.kind in GAUGES:
        return _("Nobody has tried it on a new chain, so its intervals are wide.")
    return ""


def found_text(check: NewChainCheck, found: FoundBias, shown: ShownUnits) -> str:
    """Return what a check on a new chain has shown."""
    quantity = read_quantity(check.instrument.kind)
    if found.bias is None or found.u_bias is None:
        return _(
            "No stamp goes in: the gauge reads less than {value} on a new chain. Bias unchanged."
        ).format(value=exact_text(found.reads_under, quantity, shown))
    text = show(found.bias, quantity, shown, u=found.u_bias)
    return _("Reads {bias} too much on a new chain.").format(bias=text)


def note_text(check: NewChainCheck, found: FoundBias, shown: ShownUnits) -> str:
    """Return what is kept in the notes."""
    text = found_text(check, found, shown).rstrip(".")
    text = text[:1].lower() + text[1:]
    if check.lengths_mm:
        pitch = exact_text(check.pitch_mm, Quantity.LENGTH, shown)
        text += _(" ({n} pitches of {pitch}").format(n=check.pitches, pitch=pitch)
        if check.compared_mm is not None:
            length = exact_text(check.compared_mm, Quantity.LENGTH, shown)
            text += _(", trusted length {length}").format(length=length)
        text += ")"
    return text
