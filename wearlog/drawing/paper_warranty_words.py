"""Words of the warranty record."""

from collections.abc import Iterator
from gettext import gettext as _
from gettext import ngettext

from wearlog.drawing.number_words import use_text
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Instrument, InstrumentKind, Method, Reading
from wearlog.units import THIN_SPACE
from wearlog.wording import day_text
from wearlog.workshop.warranty_snapshot import WarrantyRecord

#: In which unit an instrument's figures are; gauges read a fraction, shown in per cent.
_UNITS = {
    InstrumentKind.FREQUENCY_METER: "Hz",
    InstrumentKind.FORCE_GAUGE: "N",
    InstrumentKind.TORQUE_WRENCH: "N·m",
    InstrumentKind.GAUGE_TWO_PRONG: "%",
    InstrumentKind.GAUGE_ONE_SIDE: "%",
}


def part_facts(record: WarrantyRecord) -> Iterator[tuple[str, str]]:
    """Yield what the part is, a name and its words each."""
    part, part_type = record.part, record.part_type
    yield _("type"), part_type.name
    for name, text in (
        (_("label"), part.label),
        (_("lot"), part.lot),
        (_("joining link"), part_type.joining_link),
    ):
        if text:
            yield name, text
    if not part.is_history_known:
        yield _("history"), _("used before, distance not known")
    if record.model:
        yield _("model of the vehicle"), record.model
    if part.notes:
        yield _("notes"), part.notes


def fitted_text(record: WarrantyRecord, shown: ShownUnits) -> str:
    """Return when and at which use the part was fitted, and with how much on it."""
    one = record.installation
    meter = record.meters.get(one.fitted_use, one.fitted_use)
    text = _("{day} at {meter} on the meter").format(
        day=day_text(one.fitted_on), meter=_on_meter(record, meter)
    )
    if record.use_at_fitting > 0.0:
        used = use_text(record.use_at_fitting, record.use_unit, shown)
        text = _("{text}, with {use} on it").format(text=text, use=used)
    return text


def removed_text(record: WarrantyRecord, shown: ShownUnits) -> str:
    """Return when and why the part came off, or that it is still on."""
    del shown
    one = record.installation
    if one.removed_on is None:
        return _("still fitted on {day}").format(day=day_text(record.today))
    meter = record.meters.get(one.removed_use or 0.0)
    at = "" if meter is None else _(" at {meter} on the meter").format(meter=_on_meter(record, meter))
    why = "" if one.removal_reason is None else f": {_(one.removal_reason.value)}"
    return f"{day_text(one.removed_on)}{at}{why}"


def _on_meter(record: WarrantyRecord, value: float) -> str:
    shown = ShownUnits() if record.use_unit == "h" else ShownUnits(distance=record.meter_unit)
    return use_text(value, record.use_unit, shown)


def spots_text(reading: Reading) -> str:
    """Return a reading letter by letter as it was typed, with the pitches that were spanned."""
    typed = [
        _gauge_text(spot.typed, spot.second) if reading.method is Method.GAUGE else spot.typed
        for spot in reading.spots
    ]
    text = "; ".join(part for part in typed if part) or "–"
    if reading.pitches:
        over = ngettext("over {n} pitch", "over {n} pitches", reading.pitches).format(n=reading.pitches)
        text = f"{text} {over}"
    return text


def _gauge_text(typed: str, went_in: float | None) -> str:
    if went_in is None:
        return typed
    return _("{mark} goes in").format(mark=typed) if went_in else _("{mark} stays out").format(mark=typed)


def voided_text(reason: str) -> str:
    """Return that something no longer counts, and why."""
    return _("voided: {reason}").format(reason=reason)


def calibration_text(instrument: Instrument) -> str:
    """Return an instrument's uncertainty, its bias and when its calibration is due."""
    unit = _UNITS.get(instrument.kind, "mm")
    size = 100.0 if unit == "%" else 1.0
    pieces = []
    if instrument.u_instrument:
        pieces.append(
            _("standard uncertainty {u:g}{space}{unit}").format(
                u=size * instrument.u_instrument, space=THIN_SPACE, unit=unit
            )
        )
    if instrument.bias:
        pieces.append(
            _("reads {bias:+g}{space}{unit} on a new part").format(
                bias=size * instrument.bias, space=THIN_SPACE, unit=unit
            )
        )
    pieces.append(
        _("calibration not recorded")
        if instrument.calibration_due is None
        else _("calibration due {day}").format(day=day_text(instrument.calibration_due))
    )
    return ", ".join(pieces)


def digest_text(digest: str) -> str:
    """Return a digest in groups that an eye can compare.

    Examples
    --------
    >>> digest_text("641463fcb7176572f691df61")
    '641463fc b7176572 f691df61'
    """
    return " ".join(digest[n : n + 8] for n in range(0, len(digest), 8))


def trail_text(record: WarrantyRecord) -> str:
    """Return whether the trail is whole, and what that means."""
    if record.is_whole:
        return _(
            "Each entry bears a digest (SHA-256) of itself and, through the entry before, of all earlier "
            "ones. All {n} entries of this database were reckoned anew for this record and fit. The last "
            "one bears {head}."
        ).format(n=record.trail_count, head=digest_text(record.trail_head))
    return _(
        "Entry {number} of this database does not fit the one before: the trail was altered there or after. "
        "What stands here can't be relied on from that entry on."
    ).format(number=record.broken_at)
