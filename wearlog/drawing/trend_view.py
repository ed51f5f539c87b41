"""What the axes of a wear trend count: value or allowance used, use on the part or of the vehicle."""

from dataclasses import dataclass
from enum import StrEnum


class ValueScale(StrEnum):
    """What the left axis counts."""

    VALUE = "value"
    ALLOWANCE = "allowance"


class UseScale(StrEnum):
    """What the lower axis counts."""

    PART = "part"
    VEHICLE = "vehicle"


@dataclass(frozen=True, slots=True)
class TrendView:
    """What both axes count."""

    value: ValueScale = ValueScale.VALUE
    use: UseScale = UseScale.PART

    @property
    def is_allowance(self) -> bool:
        """Whether the left axis counts the allowance used."""
        return self.value is ValueScale.ALLOWANCE

    @property
    def is_vehicle(self) -> bool:
        """Whether the lower axis counts the use of the vehicle."""
        return self.use is UseScale.VEHICLE


#: Value measured against use on the part.
PLAIN_VIEW = TrendView()
