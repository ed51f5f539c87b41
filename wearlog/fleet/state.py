"""The states a part can be in, in plain words."""

from enum import StrEnum


class State(StrEnum):
    """How a part stands against its limit; always shown as word, shape and colour."""

    WITHIN_LIMIT = "within limit"
    PLAN = "plan"
    DUE = "due"
    PAST_LIMIT = "past limit"
    NO_READING = "no reading"


#: From the least to the most urgent.
URGENCY: tuple[State, ...] = (
    State.WITHIN_LIMIT,
    State.NO_READING,
    State.PLAN,
    State.DUE,
    State.PAST_LIMIT,
)


def worst(states: list[State]) -> State:
    """Return the most urgent of some states; no reading if there are none."""
    return max(states, key=URGENCY.index, default=State.NO_READING)
