"""What each entry of a service sheet comes to."""

from dataclasses import dataclass
from gettext import gettext as _

from wearlog.fleet.problem import Problem, WearlogError
from wearlog.fleet.reading import Instrument
from wearlog.measuring.evaluate import evaluate
from wearlog.measuring.evaluated import Evaluated
from wearlog.workshop.fleet_state import FleetState
from wearlog.workshop.sheet import AskedReading, EntryDraft, SheetDraft, SheetSnapshot


@dataclass(frozen=True, slots=True)
class JudgedEntry:
    """One entry, evaluated."""

    asked: AskedReading
    entry: EntryDraft
    result: Evaluated | None
    problems: tuple[Problem, ...] = ()


def judge_entries(sheet: SheetSnapshot, state: FleetState, draft: SheetDraft) -> list[JudgedEntry]:
    """Return what each typed entry of a sheet comes to, with its problems."""
    judged = []
    for block in sheet.blocks:
        for asked in block.readings:
            entry = draft.entries.get(asked.key)
            if entry is None:
                continue
            where = f"{block.stage_name}, {asked.measurand.value}"
            if entry.not_measured or not entry.text:
                judged.append(JudgedEntry(asked, entry, None))
            elif not entry.spots:
                what = _("“{text}” can’t be understood.").format(text=entry.text)
                problem = Problem(what, where, _("Type a number, with its unit if it is another one."))
                judged.append(JudgedEntry(asked, entry, None, (problem,)))
            else:
                judged.append(_evaluated(asked, entry, state, where))
    return judged


def _evaluated(asked: AskedReading, entry: EntryDraft, state: FleetState, where: str) -> JudgedEntry:
    try:
        result = evaluate(
            asked.measurand,
            entry.method or asked.method,
            entry.spots,
            pitches=entry.pitches or asked.pitches,
            pitch_mm=asked.pitch_mm,
            roller_diameter_mm=asked.roller_diameter_mm,
            instrument=instrument_of(JudgedEntry(asked, entry, None), state),
            was_cleaned=entry.was_cleaned,
            span_mm=asked.span_mm,
            mass_kg_per_m=asked.mass_kg_per_m,
            deflection_mm=entry.deflection_mm,
            definition=entry.definition or asked.definition,
            has_zero_reading=asked.has_zero_reading,
        )
    except WearlogError as error:
        problems = tuple(Problem(p.what, p.where or where, p.todo, p.offers, p.kind) for p in error.problems)
        return JudgedEntry(asked, entry, None, problems)
    return JudgedEntry(asked, entry, result)


def instrument_of(judged: JudgedEntry, state: FleetState) -> Instrument | None:
    """Return what an entry was measured with: what was chosen, else the usual one for its method."""
    number = judged.entry.instrument_id
    if number is None and (judged.entry.method or judged.asked.method) is judged.asked.method:
        number = judged.asked.instrument_id
    return None if number is None else state.instruments.get(number)
