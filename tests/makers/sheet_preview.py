"""What the workshop would answer to a half-filled sheet: believable figures, without a database."""

from datetime import date

from tests.makers.sheet import rule_at
from wearlog.fleet.problem import Doubt, DoubtKind, Offer, Problem
from wearlog.fleet.reading import Measurand, Method
from wearlog.fleet.state import State
from wearlog.workshop.sheet import (
    AskedReading,
    EntryDraft,
    EntryPreview,
    SheetDraft,
    SheetPreview,
    SheetSnapshot,
)


def elongation_of(entry: EntryDraft, pitch_mm: float) -> float:
    """(length - nominal) / nominal of the longest spot, as drive handbooks define it."""
    nominal_mm = (entry.pitches or 20) * pitch_mm
    return max(spot.value for spot in entry.spots) / nominal_mm - 1


def preview_of(snapshot: SheetSnapshot, draft: SheetDraft) -> SheetPreview:
    """A preview with believable figures: elongation from the spots, everything else as read."""
    asked_by_key = {reading.key: reading for block in snapshot.blocks for reading in block.readings}
    entries = tuple(
        entry_preview(asked_by_key[key], entry) for key, entry in draft.entries.items() if entry.spots
    )
    problems: tuple[Problem, ...] = ()
    if draft.meter_value is not None and draft.meter_value < (snapshot.last_meter or 0.0):
        problems = () if draft.meter_was_replaced else (meter_problem(snapshot, draft.meter_value),)
    return SheetPreview(entries, problems, (), draft.meter_value, bool(entries) and not problems)


def entry_preview(question: AskedReading, entry: EntryDraft) -> EntryPreview:
    spots = [spot.value for spot in entry.spots]
    limit = question.limit
    if entry.method is Method.GAUGE:
        low = max((spot.value for spot in entry.spots if spot.second), default=None)
        high = min((spot.value for spot in entry.spots if not spot.second), default=None)
        allowance = None if limit is None or low is None else limit.allowance_used(low)
        return EntryPreview(
            question.key, None, low, high, 0.0003, allowance=allowance, rule=rule_at(0.62, half_width=0.13)
        )
    value, u_value = max(spots), 0.4
    spread = max(spots) - min(spots)
    pitches_text = ""
    if question.measurand is Measurand.CHAIN_ELONGATION and entry.method is not Method.ELONGATION_READ:
        value, u_value = elongation_of(entry, question.pitch_mm or 12.7), 0.0005
        nominal_mm = (entry.pitches or 20) * (question.pitch_mm or 12.7)
        spread /= nominal_mm
        n = entry.pitches or 20
        pitches_text = f"pin 1 to pin {n + 1} = {n} pitches = {nominal_mm:.1f} mm new"
    elif question.measurand is Measurand.BELT_TENSION and entry.method is Method.SPAN_FREQUENCY:
        # T = 4 m L^2 f^2, the vibrating string.
        value = 4 * (question.mass_kg_per_m or 0.0) * ((question.span_mm or 0.0) / 1000 * spots[0]) ** 2
        u_value = value * 0.06
    elif entry.method is Method.GRADE:
        u_value = 0.0
    doubts: tuple[Doubt, ...] = ()
    if question.measurand is Measurand.CHAIN_ELONGATION and not -0.005 <= value <= 0.04:
        doubts = (miscount(),)
    allowance = None if limit is None else limit.allowance_used(value)
    change = None if question.previous is None else value - (question.previous.value or 0.0)
    is_elongation = question.measurand is Measurand.CHAIN_ELONGATION
    rule = None
    if allowance is not None and entry.method is not Method.GRADE:
        state = State.PLAN if allowance > 0.75 else State.WITHIN_LIMIT
        rule = rule_at(min(max(allowance, 0.0), 1.2), state if allowance < 1 else State.PAST_LIMIT)
    return EntryPreview(
        question.key,
        value,
        u_value=u_value,
        mean=sum(spots) / len(spots),
        spread=spread,
        allowance=allowance,
        change=change,
        rule=rule,
        doubts=doubts,
        replace_by=date(2026, 12, 26) if is_elongation else None,
        replace_by_before=date(2027, 1, 9) if is_elongation else None,
        pitches_text=pitches_text,
    )


def miscount() -> Doubt:
    """The question after a miscounted chain."""
    return Doubt(
        DoubtKind.MISCOUNT,
        "No healthy chain reads this. Was one pin too many or too few counted?",
        "final drive, chain",
        (Offer("21 pitches", "use pitches", 21), Offer("19 pitches", "use pitches", 19)),
    )


def meter_problem(snapshot: SheetSnapshot, value: float) -> Problem:
    return Problem(
        f"{value:.0f} km is below the last entry ({snapshot.last_meter:.0f} km on 2026-10-02).",
        snapshot.tag,
        "Was the meter replaced, is it a typing slip, or is it another vehicle?",
        (
            Offer("Meter replaced", "meter replaced", value),
            Offer("Typing slip", "typing slip"),
            Offer("Other vehicle", "other vehicle"),
        ),
    )
