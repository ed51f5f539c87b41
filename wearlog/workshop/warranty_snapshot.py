"""The full evidence on one part in one place, with the chain of the audit trail that guards it."""

from dataclasses import dataclass
from datetime import date

from wearlog.fleet.audit import AuditEntry
from wearlog.fleet.fitting import Installation
from wearlog.fleet.limit import Limit
from wearlog.fleet.parts import Part, PartType
from wearlog.fleet.reading import Instrument, Reading
from wearlog.fleet.service import Visit
from wearlog.fleet.torque import Fastener, TorqueRecord
from wearlog.workshop.history_snapshot import TrailNames


@dataclass(frozen=True, slots=True)
class WarrantyLimit:
    """The limit that holds for a measurand on the part, and why it governs."""

    limit: Limit
    why: str = ""


@dataclass(frozen=True, slots=True)
class ChainedEntry:
    """An entry of the trail, with the `chain` of the entry before it: what is needed to reckon its own."""

    entry: AuditEntry
    chain_before: str


@dataclass(frozen=True, slots=True)
class WarrantyRecord:
    """One installation's evidence.

    Attributes
    ----------
    use_on_part, use_at_fitting
        Use on the part now, or when it came off, and when it was fitted, km (h).
    earlier
        The places in which the part ran before.
    readings
        Of the part and of its stage while it was on, voided ones too, oldest first.
    visits, torques
        While it was on; `fasteners` names those of the torque records, by their numbers.
    meters
        What the meter showed at each total use that is told, by the use.
    instruments
        Those that readings and torques were taken with, by their numbers.
    trail
        The entries about all of these records, oldest first.
    trail_count, trail_head, broken_at
        How many entries the whole trail has, the chain of its last one, and the number of the first entry
        that does not fit; None if all fit.
    """

    vehicle_id: int
    tag: str
    vehicle_text: str
    model: str
    depot: str
    use_unit: str
    meter_unit: str
    today: date
    stage_name: str
    part_text: str
    part: Part
    part_type: PartType
    installation: Installation
    use_at_fitting: float
    use_on_part: float
    earlier: tuple[tuple[str, Installation], ...]
    limits: tuple[WarrantyLimit, ...]
    readings: tuple[Reading, ...]
    visits: tuple[Visit, ...]
    torques: tuple[TorqueRecord, ...]
    fasteners: dict[int, Fastener]
    instruments: dict[int, Instrument]
    meters: dict[float, float]
    trail: tuple[ChainedEntry, ...]
    names: TrailNames
    trail_count: int
    trail_head: str
    broken_at: int | None

    @property
    def is_whole(self) -> bool:
        """Whether every entry of the trail fits the one before."""
        return self.broken_at is None
