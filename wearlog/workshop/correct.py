"""Records put right afterwards: voided with a reason, counted again, a reading corrected as typed."""

from dataclasses import dataclass, replace
from gettext import gettext as _

from wearlog.fleet.fitting import Installation
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.problem import Doubt, DoubtKind, Problem, ProblemKind, WearlogError
from wearlog.fleet.reading import Instrument, Measurand, Method, Reading, Spot
from wearlog.fleet.service import Visit
from wearlog.fleet.torque import TorqueRecord
from wearlog.measuring.evaluate import evaluate
from wearlog.measuring.evaluated import Evaluated
from wearlog.measuring.history import history_doubts, instrument_doubts
from wearlog.store.records import Records
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.correct_meter import restore_meter, void_meter
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.history_snapshot import ReadingLook, Voidable


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingCorrection:
    """A reading put right: what it was when it was opened, and what it should have been.

    `text` is what was typed, `spots` are empty where that can't be understood.
    """

    reading: Reading
    text: str
    spots: tuple[Spot, ...]
    method: Method
    instrument_id: int | None = None
    pitches: int | None = None
    was_cleaned: bool | None = None
    deflection_mm: float | None = None
    note: str = ""


# --- voiding ---------------------------------------------------------------------------------------------


def void_record(bench: Bench, record: Voidable, reason: str) -> Changes:
    """Let a record no longer count; it stays, with the reason.

    Parameters
    ----------
    bench
        The open store.
    record
        As it was read; a visit takes its tasks along, its readings stay.
    reason
        Why it should no longer count.

    Raises
    ------
    EditConflict
        If somebody else changed it meanwhile.
    WearlogError
        If no reason is given, or it is voided already.
    """
    if record.void_reason:
        raise WearlogError(
            Problem(
                _("It is voided already."),
                todo=_("The reason was: {reason}").format(reason=record.void_reason),
            )
        )
    if isinstance(record, MeterEntry):
        return void_meter(bench, record, reason)
    what = _void_words(record).format(tag=_tag(bench, record.vehicle_id))
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        records.void(record, reason)
        change_id = records.change_id
    return Changes(what, change_id, frozenset({record.vehicle_id}), _installations(record))


def restore_record(bench: Bench, record: Voidable) -> Changes:
    """Let a voided record count again.

    Raises
    ------
    EditConflict
        If somebody else changed it meanwhile.
    WearlogError
        If it counts already, or a meter entry no longer fits in.
    """
    if not record.void_reason:
        raise WearlogError(Problem(_("It counts already."), todo=_("Nothing is to be done.")))
    if isinstance(record, MeterEntry):
        return restore_meter(bench, record)
    what = _restore_words(record).format(tag=_tag(bench, record.vehicle_id))
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        records.replace(replace(record, void_reason=""))
        change_id = records.change_id
    return Changes(what, change_id, frozenset({record.vehicle_id}), _installations(record))


def _void_words(record: Visit | Reading | TorqueRecord) -> str:
    if isinstance(record, Reading):
        return _("Reading of {tag} voided")
    return _("Torque of {tag} voided") if isinstance(record, TorqueRecord) else _("Visit of {tag} voided")


def _restore_words(record: Visit | Reading | TorqueRecord) -> str:
    if isinstance(record, Reading):
        return _("Reading of {tag} counts again")
    if isinstance(record, TorqueRecord):
        return _("Torque of {tag} counts again")
    return _("Visit of {tag} counts again")


def _tag(bench: Bench, vehicle_id: int) -> str:
    vehicle = fleet_state(bench).vehicles.get(vehicle_id)
    return vehicle.tag if vehicle is not None else ""


def _installations(record: Visit | Reading | TorqueRecord) -> frozenset[int]:
    number = record.installation_id if isinstance(record, Reading) else None
    return frozenset() if number is None else frozenset({number})


# --- correcting a reading --------------------------------------------------------------------------------


def look_at_reading(bench: Bench, correction: ReadingCorrection) -> tuple[ReadingLook, tuple[Doubt, ...]]:
    """Return what a corrected reading comes to and what is odd about it. Nothing is saved.

    Raises
    ------
    WearlogError
        If it can't be understood or can't be.
    """
    state = fleet_state(bench)
    reading = correction.reading
    with bench.database.reading() as records:
        same = tuple(
            other
            for other in records.all(
                Reading, live=True, vehicle_id=reading.vehicle_id, measurand=reading.measurand
            )
            if other.id != reading.id
            and other.stage_id == reading.stage_id
            and other.installation_id == reading.installation_id
        )
        installation = _installation(records, reading)
    instrument = _instrument(state, correction)
    result = _evaluated(state, correction, installation, instrument, same)
    corrected = _corrected(correction, result)
    before = [other for other in same if _place(other) < _place(reading)]
    after = sorted((other for other in same if _place(other) > _place(reading)), key=_place)
    doubts = [
        *result.doubts,
        *instrument_doubts(instrument, reading.on),
        *history_doubts(
            reading.measurand,
            correction.method,
            result,
            before,
            instrument=instrument,
            is_zero_reading=reading.is_zero_reading,
        ),
        *_doubts_of_next(corrected, after),
    ]
    seen: dict[DoubtKind, Doubt] = {}
    for doubt in doubts:
        seen.setdefault(doubt.kind, doubt)
    return ReadingLook(corrected, result), tuple(seen.values())


def _place(reading: Reading) -> tuple[int, float, int]:
    return (reading.on.toordinal(), reading.total_use, reading.id)


def _doubts_of_next(corrected: Reading, after: list[Reading]) -> list[Doubt]:
    """Return the question that the next reading raises if it would then have gone back."""
    if not after:
        return []
    following = after[0]
    shown = Evaluated(
        value=following.value, low=following.low, high=following.high, u_value=following.u_value
    )
    falls = {DoubtKind.FELL, DoubtKind.PART_REPLACED}
    odd = history_doubts(following.measurand, following.method, shown, [corrected], is_zero_reading=True)
    if not any(doubt.kind in falls for doubt in odd):
        return []
    text = _("The next reading, of {day}, would then be less worn, and wear does not go back. Is it right?")
    return [Doubt(DoubtKind.SUSPECT, text.format(day=following.on.isoformat()))]


def _installation(records: Records, reading: Reading) -> Installation | None:
    return None if reading.installation_id is None else records.get(Installation, reading.installation_id)


def _instrument(state: FleetState, correction: ReadingCorrection) -> Instrument | None:
    number = correction.instrument_id
    return None if number is None else state.instruments.get(number)


def _evaluated(
    state: FleetState,
    correction: ReadingCorrection,
    installation: Installation | None,
    instrument: Instrument | None,
    same: tuple[Reading, ...],
) -> Evaluated:
    reading = correction.reading
    stage = state.stages[reading.stage_id]
    where = f"{stage.name}, {_(reading.measurand.value)}"
    if not correction.spots:
        what = _("“{text}” can’t be understood.").format(text=correction.text)
        raise WearlogError(Problem(what, where, _("Type a number, with its unit if it is another one.")))
    part_type = None if installation is None else state.part_type_of(installation)
    return evaluate(
        reading.measurand,
        correction.method,
        correction.spots,
        pitches=correction.pitches,
        pitch_mm=part_type.pitch_mm if part_type else None,
        roller_diameter_mm=part_type.roller_diameter_mm if part_type else None,
        instrument=instrument,
        was_cleaned=correction.was_cleaned,
        span_mm=state.span_mm(stage),
        mass_kg_per_m=part_type.mass_kg_per_m if part_type else None,
        deflection_mm=correction.deflection_mm,
        temperature_degc=reading.temperature_degc,
        # How slack was measured then is kept with the reading; old ones may not say.
        definition=reading.definition or None,
        has_zero_reading=any(other.is_zero_reading and other.method is correction.method for other in same),
    )


def _corrected(correction: ReadingCorrection, result: Evaluated) -> Reading:
    has_pitches = correction.reading.measurand is Measurand.CHAIN_ELONGATION
    return replace(
        correction.reading,
        method=correction.method,
        spots=correction.spots,
        value=result.value,
        low=result.low,
        high=result.high,
        u_value=result.u_value,
        mean=result.mean,
        spread=result.spread,
        pitches=correction.pitches if has_pitches else None,
        instrument_id=correction.instrument_id,
        was_cleaned=correction.was_cleaned,
        note=correction.note,
    )


def correct_reading(bench: Bench, correction: ReadingCorrection) -> Changes:
    """Put a reading right; what it was before stays in the trail.

    Raises
    ------
    EditConflict
        If somebody else changed it meanwhile; both versions are told.
    WearlogError
        If it can't be understood, is voided, or nothing is different.
    """
    reading = correction.reading
    if reading.void_reason:
        raise WearlogError(
            Problem(
                _("A voided reading is not corrected."),
                _tag(bench, reading.vehicle_id),
                _("Let it count again first."),
                kind=ProblemKind.INPUT,
            )
        )
    look, _doubts = look_at_reading(bench, correction)
    corrected = look.reading
    if corrected is None or corrected == reading:
        raise WearlogError(
            Problem(_("Nothing is different."), todo=_("Type what was really read, or leave it as it is."))
        )
    what = _("Reading of {tag} corrected").format(tag=_tag(bench, reading.vehicle_id))
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        records.replace(corrected)
        change_id = records.change_id
    return Changes(what, change_id, frozenset({reading.vehicle_id}), _installations(reading))
