"""Part types and single parts: chains, sprockets, belts, pulleys."""

from dataclasses import dataclass
from enum import StrEnum


class DriveKind(StrEnum):
    """What carries the power of a stage."""

    CHAIN = "chain"
    BELT = "belt"


class PartKind(StrEnum):
    """What a part is."""

    CHAIN = "chain"
    SPROCKET = "sprocket"
    BELT = "belt"
    PULLEY = "pulley"


class WearClass(StrEnum):
    """Parts that wear alike before anything is known of them; each has an engineering range of wear rates."""

    SEALED_MOTORCYCLE_CHAIN = "sealed motorcycle chain"
    OPEN_MOTORCYCLE_CHAIN = "open motorcycle chain"
    PRIMARY_ROLLER_CHAIN = "primary roller chain"
    DERAILLEUR_CYCLE_CHAIN = "derailleur cycle chain"
    HUB_GEAR_CYCLE_CHAIN = "hub-gear cycle chain"
    SPROCKET = "sprocket"
    TOOTHED_BELT = "toothed belt"
    PULLEY = "pulley"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartType:
    """A chain, sprocket, belt or pulley as it is ordered.

    Lengths in mm, mass per length in kg/m, lead time in days; `links` counts pitches.
    `designation` is the standard's or maker's number, for example ``"428"`` or ``"H8M"``.
    `chain` names the chain a sprocket belongs to (its pitch and roller), or the belt profile of a pulley.
    """

    kind: PartKind
    name: str
    designation: str
    wear_class: WearClass
    pitch_mm: float
    roller_diameter_mm: float | None = None
    inner_width_mm: float | None = None
    links: int | None = None
    joining_link: str = ""
    teeth: int | None = None
    chain: str = ""
    width_mm: float | None = None
    mass_kg_per_m: float | None = None
    lead_time_days: int = 0
    price: float | None = None
    source: str = ""
    id: int = 0
    version: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One physical part, wherever it is fitted.

    `label` is the workshop's own word for it, unique where not empty. `use_before` is what was on it when
    it first came to this fleet, in km (h on hour meters); `is_history_known` is False for a used part whose
    distance nobody knows.
    """

    part_type_id: int
    label: str = ""
    lot: str = ""
    use_before: float = 0.0
    is_history_known: bool = True
    cost: float | None = None
    notes: str = ""
    id: int = 0
    version: int = 0
