"""What the offers of a doubt or a problem ask the sheet to do."""

import re

from wearlog.fleet.problem import Doubt, Offer

#: The words that measuring and the meter use for what an offer does.
USE_PITCHES = "use pitches"
USE_UNIT = "use unit"
USE_TEXT = "use text"
MEASURE_AGAIN = "measure again"
OTHER_METHOD = "other method"
OTHER_INSTRUMENT = "other instrument"
DOUBLE_READING = "double reading"
ZERO_READING = "zero reading"
PART_REPLACED = "part replaced"
TYPING_SLIP = "typing slip"
METER_REPLACED = "meter replaced"
OTHER_VEHICLE = "other vehicle"


def text_offered(text: str, offer: Offer) -> str | None:
    """Return the text that an offer puts in place of what was typed, None if it is not about the text.

    Examples
    --------
    >>> text_offered("10.1 10.2", Offer("inches", USE_UNIT, "in"))
    '10.1 10.2 in'
    """
    if offer.action == USE_TEXT and isinstance(offer.value, str):
        return offer.value
    if offer.action == USE_UNIT and isinstance(offer.value, str):
        numbers = re.sub(r"[^0-9.,;/+ -]", "", text).strip()
        # A bare fraction has no sign to type; as a percentage it is the same number a hundred times.
        return _as_percent(numbers) if offer.value == "1" else f"{numbers} {offer.value}"
    return None


def _as_percent(numbers: str) -> str:
    parts = re.split(r"[\s;]+", numbers)
    return " ".join(f"{100 * float(part.replace(',', '.')):g}" for part in parts) + " %"


def note_of_answer(note: str, doubt: Doubt | None, offer: Offer) -> str:
    """Return the note of a reading with the question and its answer added, once."""
    said = f"{doubt.question} {offer.label}" if doubt is not None else offer.label
    return note if said in note else f"{note} {said}".strip()
