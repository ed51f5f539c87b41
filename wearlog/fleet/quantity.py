"""The quantities of the trade, the one canonical unit of each, and a seat's choice for reading."""

from dataclasses import dataclass
from enum import StrEnum


class Quantity(StrEnum):
    """A kind of quantity; every number inside the program is in its canonical unit."""

    LENGTH = "length"
    DISTANCE = "distance"
    RUNNING_TIME = "running time"
    ELONGATION = "elongation"
    SHARE = "share"
    FREQUENCY = "frequency"
    FORCE = "force"
    LINEAR_DENSITY = "mass per length"
    TORQUE = "torque"
    TEMPERATURE = "temperature"
    SPEED = "speed"
    ROTATIONAL_SPEED = "rotational speed"
    POWER = "power"
    COUNT = "count"
    GRADE = "grade"


#: Canonical unit of each quantity. Elongation and shares are fractions: 0.0075 is 0.75 %.
CANONICAL_UNIT: dict[Quantity, str] = {
    Quantity.LENGTH: "mm",
    Quantity.DISTANCE: "km",
    Quantity.RUNNING_TIME: "h",
    Quantity.ELONGATION: "1",
    Quantity.SHARE: "1",
    Quantity.FREQUENCY: "Hz",
    Quantity.FORCE: "N",
    Quantity.LINEAR_DENSITY: "kg/m",
    Quantity.TORQUE: "N.m",
    Quantity.TEMPERATURE: "degC",
    Quantity.SPEED: "km/h",
    Quantity.ROTATIONAL_SPEED: "1/min",
    Quantity.POWER: "kW",
    Quantity.COUNT: "1",
    Quantity.GRADE: "1",
}


@dataclass(frozen=True, slots=True)
class Typed:
    """A value as a person or a file gave it.

    Attributes
    ----------
    value
        In the canonical unit of `quantity`.
    quantity
        What kind of quantity it is.
    text
        What was typed, letter by letter.
    unit
        The unit that was typed, or the one that stood for it.
    resolution
        Half a step of the last digit typed would be `resolution / 2`; canonical unit. 0 if unknown.
    """

    value: float
    quantity: Quantity
    text: str
    unit: str
    resolution: float = 0.0


@dataclass(frozen=True, slots=True)
class ShownUnits:
    """The units that one seat reads in."""

    length: str = "mm"
    distance: str = "km"
    elongation: str = "%"
    force: str = "N"
    torque: str = "N.m"
    speed: str = "km/h"
    temperature: str = "degC"

    def unit_of(self, quantity: Quantity) -> str:
        """Return the unit in which `quantity` is shown at this seat."""
        chosen = {
            Quantity.LENGTH: self.length,
            Quantity.DISTANCE: self.distance,
            Quantity.ELONGATION: self.elongation,
            Quantity.SHARE: "%",
            Quantity.FORCE: self.force,
            Quantity.TORQUE: self.torque,
            Quantity.SPEED: self.speed,
            Quantity.TEMPERATURE: self.temperature,
        }
        return chosen.get(quantity, CANONICAL_UNIT[quantity])
