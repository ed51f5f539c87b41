"""Readings of an import: each one finds its part, its visit and its value."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from gettext import gettext as _

from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.parts import PartKind, PartType
from wearlog.fleet.problem import DoubtKind, WearlogError
from wearlog.fleet.reading import Instrument, Measurand, Method, Reading, Spot
from wearlog.fleet.vehicle import Stage
from wearlog.measuring.evaluate import evaluate
from wearlog.measuring.evaluated import Evaluated
from wearlog.measuring.history import history_doubts, instrument_doubts
from wearlog.workshop.bring_in_context import Import
from wearlog.workshop.fleet_state import ZERO_READING_WITHIN, free_span_mm
from wearlog.workshop.import_rows import GaugeSpot, ReadingRow

_STEP = 500
#: Readings of the stage rather than of one part.
_OF_STAGE = {Measurand.SLACK, Measurand.ADJUSTER_POSITION}
#: Where a reading belongs if the row does not say; sprockets have two places, so there it must.
_USUAL_POSITION = {
    Measurand.CHAIN_ELONGATION: Position.RUN,
    Measurand.BELT_TENSION: Position.RUN,
    Measurand.BELT_CONDITION: Position.RUN,
    Measurand.CHAIN_LIFT: Position.DRIVEN,
}
_PARTS_OF = {
    Measurand.CHAIN_ELONGATION: {PartKind.CHAIN},
    Measurand.CHAIN_LIFT: {PartKind.CHAIN, PartKind.SPROCKET},
    Measurand.SPROCKET_TOOTH_THICKNESS: {PartKind.SPROCKET},
    Measurand.SPROCKET_CONDITION: {PartKind.SPROCKET, PartKind.PULLEY},
    Measurand.BELT_TENSION: {PartKind.BELT},
    Measurand.BELT_CONDITION: {PartKind.BELT},
}


@dataclass(slots=True)
class _Earlier:
    """The readings so far of one part (or stage) and measurand: those of the new part, and the last one."""

    zero: list[Reading]
    last: Reading | None = None

    def all(self) -> list[Reading]:
        if self.last is None or self.last in self.zero:
            return self.zero
        return [*self.zero, self.last]


def bring_readings(work: Import, rows: Sequence[ReadingRow]) -> None:
    """Add the readings, each evaluated; what is odd about one is asked, what is impossible is a problem."""
    earlier: dict[tuple[int | None, int, Measurand], _Earlier] = defaultdict(lambda: _Earlier([]))
    wanted = {v.id for row in rows if (v := work.vehicles.get(row.vehicle))}
    kept = work.records.all(Reading, live=True, vehicle_id=list(wanted)) if wanted else ()
    for known in sorted(kept, key=lambda r: (r.on, r.total_use, r.id)):
        _note(earlier, known)
    order = sorted(rows, key=lambda row: (row.on, not row.is_zero_reading, row.where.row))
    types = {part_type.id: part_type for part_type in work.part_types.values()}
    new: list[Reading] = []
    for count, row in enumerate(order):
        if count % _STEP == 0:
            work.progress.step(count, len(order), _("Judging readings"))
        reading = _reading(work, row, types, earlier)
        if reading is not None:
            new.append(reading)
            if not reading.void_reason:
                _note(earlier, reading)
    work.add_all(new, _("Saving readings"))
    work.count("readings", added=len(new))


def _note(earlier: dict[tuple[int | None, int, Measurand], _Earlier], reading: Reading) -> None:
    known = earlier[reading.installation_id, reading.stage_id, reading.measurand]
    known.last = reading
    if reading.is_zero_reading:
        known.zero.append(reading)


def _reading(
    work: Import,
    row: ReadingRow,
    types: dict[int, PartType],
    earlier: dict[tuple[int | None, int, Measurand], _Earlier],
) -> Reading | None:
    vehicle = work.vehicle(row.vehicle, row.where)
    stage = work.stage(vehicle, row.stage, row.where) if vehicle else None
    instrument = work.instrument(row.instrument, row.where) if row.instrument else None
    meter = work.meters.get(vehicle.id) if vehicle else None
    if vehicle is None or stage is None or meter is None or (row.instrument and instrument is None):
        return None
    value = work.canonical(row.meter, vehicle, row.where, "meter")
    if value is None:
        return None
    total_use = meter.total_use(value, row.on)
    installation: Installation | None = None
    part_type: PartType | None = None
    if row.measurand not in _OF_STAGE:
        installation = _installation(work, row, stage)
        part = work.parts.get(installation.part_id) if installation else None
        part_type = types.get(part.part_type_id) if part else None
        if installation is None or not _is_measured_on(work, row, part_type):
            return None
    spots = _spots(work, row, instrument)
    if spots is None:
        return None
    known = earlier[installation.id if installation else None, stage.id, row.measurand]
    evaluated = _evaluated(work, row, spots, stage, part_type, instrument, known)
    if evaluated is None:
        return None
    definition = row.definition or (stage.slack_definition if row.measurand is Measurand.SLACK else "")
    if not row.void_reason:
        is_new = (
            installation is not None
            and total_use - installation.fitted_use <= ZERO_READING_WITHIN[vehicle.meter_unit.use_unit]
        )
        _ask(work, row, evaluated, known, instrument, definition, is_part_new=is_new)
    visit = work.visits.get((vehicle.id, row.on))
    return Reading(
        vehicle_id=vehicle.id,
        stage_id=stage.id,
        installation_id=installation.id if installation else None,
        visit_id=visit.id if visit else None,
        on=row.on,
        total_use=total_use,
        measurand=row.measurand,
        method=row.method,
        spots=spots,
        value=evaluated.value,
        low=evaluated.low,
        high=evaluated.high,
        u_value=evaluated.u_value,
        mean=evaluated.mean,
        spread=evaluated.spread,
        pitches=row.pitches,
        instrument_id=instrument.id if instrument else None,
        temperature_degc=row.temperature_degc,
        was_cleaned=row.was_cleaned,
        is_zero_reading=row.is_zero_reading,
        definition=definition,
        note=row.note,
        by=row.by,
        void_reason=row.void_reason,
    )


def _is_measured_on(work: Import, row: ReadingRow, part_type: PartType | None) -> bool:
    if part_type is None or part_type.kind in _PARTS_OF[row.measurand]:
        return True
    work.findings.add(
        _("{measurand} is not measured on a {kind}, which was fitted there.").format(
            measurand=row.measurand.value.capitalize(), kind=part_type.kind.value
        ),
        row.where.cell("measurand"),
        _("Check stage, position and date."),
    )
    return False


def _installation(work: Import, row: ReadingRow, stage: Stage) -> Installation | None:
    """Return what was fitted there on the day; on the day of a change a zero reading is the new part's."""
    position = row.position or _USUAL_POSITION.get(row.measurand)
    if position is None:
        work.findings.add(
            _("It is not said which one was measured."),
            row.where.cell("position"),
            _("Write driver or driven."),
        )
        return None
    here = [i for i in work.installations.get(stage.id, ()) if i.position is position]
    there = [i for i in here if i.fitted_on <= row.on and (i.removed_on is None or i.removed_on >= row.on)]
    if there:
        return there[-1] if row.is_zero_reading else there[0]
    first = min((i.fitted_on for i in here), default=None)
    if first is not None and row.on < first:
        what = _("Nothing was fitted there yet on {day}; the first part came on {first}.").format(
            day=row.on.isoformat(), first=first.isoformat()
        )
    else:
        what = _("No part sat there ({stage}, {position}) on {day}.").format(
            stage=stage.name, position=position.value, day=row.on.isoformat()
        )
    work.findings.add(
        what,
        row.where.cell("date"),
        _("Check date, stage and position, or add the fitting to installations.csv."),
    )
    return None


def _spots(work: Import, row: ReadingRow, instrument: Instrument | None) -> tuple[Spot, ...] | None:
    """Return the spots as they are kept; gauge stamps get the meaning that the instrument gives them."""
    if row.method is not Method.GAUGE:
        return row.spots
    if instrument is None:
        work.findings.add(
            _("What the stamps of the gauge mean is not known."),
            row.where.cell("instrument"),
            _("Name the gauge; its stamps stand in instruments.csv."),
        )
        return None
    meaning = {stamp.strip(): value for stamp, value in instrument.stamps}
    unknown = [
        stamp
        for spot in row.gauge_spots
        for stamp in (spot.goes_in, spot.stays_out)
        if stamp and stamp not in meaning
    ]
    if unknown:
        work.findings.add(
            _("{gauge} has no stamp {stamp}.").format(gauge=instrument.name, stamp=unknown[0]),
            row.where.cell("spots"),
            _("Its stamps are {stamps}.").format(stamps=", ".join(meaning) or "–"),
        )
        return None
    return tuple(stamp for spot in row.gauge_spots for stamp in _tried(spot, meaning))


def _tried(spot: GaugeSpot, meaning: dict[str, float]) -> Iterator[Spot]:
    """Yield one spot for each stamp: 1 behind one that went in, 0 behind one that stayed out."""
    if spot.goes_in:
        typed = f"{spot.goes_in} in" if spot.stays_out else spot.typed
        yield Spot(typed=typed, value=meaning[spot.goes_in], second=1.0)
    if spot.stays_out:
        typed = f"{spot.stays_out} out" if spot.goes_in else spot.typed
        yield Spot(typed=typed, value=meaning[spot.stays_out], second=0.0)


def _evaluated(
    work: Import,
    row: ReadingRow,
    spots: tuple[Spot, ...],
    stage: Stage,
    part_type: PartType | None,
    instrument: Instrument | None,
    known: _Earlier,
) -> Evaluated | None:
    deflections = {spot.second for spot in spots} if row.method is Method.DEFLECTION_FORCE else {None}
    if len(deflections) > 1:
        work.findings.add(
            _("The forces belong to different deflections."),
            row.where.cell("spots"),
            _("Press to one deflection at every place, or give each its own row."),
        )
        return None
    span = _span(work, stage, row.on) if row.measurand is Measurand.BELT_TENSION else stage.span_mm
    try:
        return evaluate(
            row.measurand,
            row.method,
            spots,
            pitches=row.pitches,
            pitch_mm=part_type.pitch_mm if part_type else None,
            roller_diameter_mm=part_type.roller_diameter_mm if part_type else None,
            instrument=instrument,
            was_cleaned=row.was_cleaned,
            span_mm=span,
            mass_kg_per_m=part_type.mass_kg_per_m if part_type else None,
            deflection_mm=next(iter(deflections)),
            temperature_degc=row.temperature_degc,
            definition=None,
            has_zero_reading=any(zero.method is row.method for zero in known.zero),
        )
    except WearlogError as error:
        for problem in error.problems:
            work.findings.add(problem.what, row.where.cell("spots"), problem.todo)
        return None


def _span(work: Import, stage: Stage, on: date) -> float | None:
    """Return the free span of a stage as it was on a day."""
    types = {part_type.id: part_type for part_type in work.part_types.values()}
    fitted = {
        i.position: types[work.parts[i.part_id].part_type_id]
        for i in work.installations.get(stage.id, ())
        if i.fitted_on <= on and (i.removed_on is None or i.removed_on >= on) and i.part_id in work.parts
    }
    return free_span_mm(stage, fitted.get(Position.DRIVER), fitted.get(Position.DRIVEN))


def _ask(
    work: Import,
    row: ReadingRow,
    evaluated: Evaluated,
    known: _Earlier,
    instrument: Instrument | None,
    definition: str,
    *,
    is_part_new: bool,
) -> None:
    where = row.where
    work.take_over(evaluated.doubts, where)
    work.take_over(instrument_doubts(instrument, row.on), where)
    work.take_over(
        history_doubts(
            row.measurand,
            row.method,
            evaluated,
            known.all(),
            instrument=instrument,
            is_zero_reading=row.is_zero_reading,
            is_part_new=is_part_new,
        ),
        where,
    )
    if row.measurand is Measurand.SLACK and not definition and known.last is None:
        work.doubt(
            _("How slack is measured on this stage is not said. Which run, which place, total or one way?"),
            str(where),
            DoubtKind.OTHER,
        )
