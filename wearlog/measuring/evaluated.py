"""What a reading comes to."""

from dataclasses import dataclass

from wearlog.fleet.problem import Doubt


@dataclass(frozen=True, slots=True, kw_only=True)
class Evaluated:
    """The result of a reading, canonical units of its measurand throughout.

    Attributes
    ----------
    value
        The value that counts; None if the reading is an interval.
    low, high
        Ends of an interval reading, either may be infinite; None for a value.
    u_value
        Standard uncertainty of the value, or of the ends of the interval.
    mean
        Mean over the spots; None for an interval.
    spread
        Greatest less least spot; None for an interval.
    values
        The value of each spot, in the order typed; for a gauge the corrected meaning of each stamp.
    governing_spot
        Index of the spot that decided.
    doubts
        What is odd about it.
    """

    value: float | None = None
    low: float | None = None
    high: float | None = None
    u_value: float = 0.0
    mean: float | None = None
    spread: float | None = None
    values: tuple[float, ...] = ()
    governing_spot: int = 0
    doubts: tuple[Doubt, ...] = ()

    @property
    def is_interval(self) -> bool:
        """Whether it is an interval rather than a value."""
        return self.value is None
