"""What the vehicle page shows: a vehicle as it is kept, and what can be chosen for it."""

from dataclasses import dataclass
from datetime import date

from wearlog.fleet.parts import DriveKind, PartKind
from wearlog.fleet.vehicle import Vehicle
from wearlog.workshop.compare_snapshot import RunChoice
from wearlog.workshop.vehicles_draft import VehicleDraft
from wearlog.workshop.vehicles_templates import Template


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleSnapshot:
    """One vehicle, or a new one, before anything is changed.

    Attributes
    ----------
    draft
        As it is kept.
    choices
        Chains and belts: the workshop's own, then those of the standards.
    templates
        The workshop's own, then wearlog's.
    depots, models, people
        Those of the fleet so far, the most common first.
    last_meter, last_meter_on
        What the meter showed at the last entry, km (h on hour meters); None without any.
    gone_stages
        Names of stages that went off service.
    """

    draft: VehicleDraft
    choices: tuple[RunChoice, ...]
    templates: tuple[Template, ...]
    depots: tuple[str, ...]
    models: tuple[str, ...]
    people: tuple[str, ...]
    today: date
    last_meter: float | None = None
    last_meter_on: date | None = None
    gone_stages: tuple[str, ...] = ()

    @property
    def vehicle(self) -> Vehicle | None:
        """The vehicle; None for a new one."""
        return self.draft.vehicle

    @property
    def vehicle_id(self) -> int:
        """Its number; 0 for a new one."""
        return self.draft.vehicle.id if self.draft.vehicle is not None else 0

    def choices_for(self, drive: DriveKind) -> tuple[RunChoice, ...]:
        """Return the chains, or the belts."""
        kind = PartKind.CHAIN if drive is DriveKind.CHAIN else PartKind.BELT
        return tuple(choice for choice in self.choices if choice.part_type.kind is kind)
