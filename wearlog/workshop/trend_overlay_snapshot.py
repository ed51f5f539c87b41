"""Other vehicles that can be laid over a wear trend, and their lines."""

from dataclasses import dataclass

from wearlog.fleet.reading import Measurand
from wearlog.fleet.state import State
from wearlog.workshop.fleet_snapshot import WearRuleValue
from wearlog.workshop.trend_snapshot import FloatArray

#: More lines than these could not be told apart.
MOST_LINES = 8


@dataclass(frozen=True, slots=True)
class OverlayChoice:
    """A part of another vehicle that can be laid over; `search_text` is in small letters."""

    vehicle_id: int
    installation_id: int
    measurand: Measurand
    tag: str
    depot: str
    part_text: str
    rule: WearRuleValue
    search_text: str

    @property
    def key(self) -> tuple[int, Measurand]:
        """What tells it from the others."""
        return self.installation_id, self.measurand


@dataclass(frozen=True, slots=True)
class OverlayLine:
    """The median of a part of another vehicle: use on the part and value, canonical.

    Up to `use_known` it goes through its readings; `meter_offset` leads to the total use of its vehicle.
    """

    vehicle_id: int
    installation_id: int
    tag: str
    state: State
    use_on_part: FloatArray
    value: FloatArray
    use_known: float
    meter_offset: float
    as_new: float
    service_limit: float
