"""What the service sheet asks of the workshop; called off the window's thread."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from wearlog.fleet.problem import WearlogError
from wearlog.workshop.changes import Changes
from wearlog.workshop.sheet import SheetDraft, SheetPreview, SheetSnapshot

if TYPE_CHECKING:
    from wearlog.workshop.bench import Bench


@dataclass(frozen=True, slots=True)
class Opened:
    """The sheet of a vehicle, and what was kept of it."""

    snapshot: SheetSnapshot
    kept: SheetDraft | None


class Desk(Protocol):
    """Where sheets come from and go to."""

    def tags(self) -> tuple[tuple[str, int], ...]:
        """Return the tags there are, with their vehicles."""

    def vehicle_tagged(self, tag: str) -> int:
        """Return the vehicle of a tag; WearlogError if there is none."""

    def open(self, vehicle_id: int, planned_number: str = "") -> Opened:
        """Return the sheet of a vehicle, asking for what a job card asks for if its number is given."""

    def open_named(self, name: str) -> Opened:
        """Return the sheet of the vehicle with a tag, or of a job card's number; WearlogError if neither."""

    def keep(self, draft: SheetDraft) -> None:
        """Keep a half-filled sheet; an empty one is dropped."""

    def drop(self, vehicle_id: int) -> None:
        """Keep nothing of a vehicle's sheet."""

    def preview(self, draft: SheetDraft) -> SheetPreview:
        """Return what a sheet would mean."""

    def save(self, draft: SheetDraft) -> Changes:
        """Save a sheet in one transaction; WearlogError names all that hinders it."""


class BenchDesk:
    """The desk at a bench: an open store, a person, a clock."""

    def __init__(self, bench: "Bench") -> None:
        self._bench = bench

    def tags(self) -> tuple[tuple[str, int], ...]:
        """Return the tags of vehicles in use."""
        from wearlog.workshop.fleet_state import fleet_state  # noqa: PLC0415 - the store is loaded when needed

        vehicles = fleet_state(self._bench).vehicles.values()
        return tuple((vehicle.tag, vehicle.id) for vehicle in vehicles if vehicle.retired_on is None)

    def vehicle_tagged(self, tag: str) -> int:
        """Return the vehicle of a tag, whatever its capitals."""
        from wearlog.workshop.fleet_state import fleet_state  # noqa: PLC0415 - as above

        return fleet_state(self._bench).vehicle_tagged(tag).id

    def open(self, vehicle_id: int, planned_number: str = "") -> Opened:
        """Return the sheet of a vehicle, and what was kept of it."""
        from wearlog.workshop.job_card_filling import card_on_sheet  # noqa: PLC0415 - as above
        from wearlog.workshop.measure import kept_draft, open_sheet  # noqa: PLC0415 - as above

        kept = kept_draft(self._bench, vehicle_id)
        number = planned_number or (kept.planned_number if kept is not None else "")
        return Opened(card_on_sheet(self._bench, open_sheet(self._bench, vehicle_id), number), kept)

    def open_named(self, name: str) -> Opened:
        """Return the sheet of the vehicle with a tag, or of a job card's number."""
        from wearlog.workshop.job_card_filling import open_card, planned_visit  # noqa: PLC0415 - as above
        from wearlog.workshop.measure import kept_draft  # noqa: PLC0415 - as above

        try:
            return self.open(self.vehicle_tagged(name))
        except WearlogError:
            if planned_visit(self._bench, name) is None:
                raise
        sheet = open_card(self._bench, name)
        return Opened(sheet, kept_draft(self._bench, sheet.vehicle_id))

    def keep(self, draft: SheetDraft) -> None:
        """Keep a half-filled sheet; an empty one is dropped."""
        from wearlog.workshop.measure import drop_draft, keep_draft  # noqa: PLC0415 - as above

        if draft.is_empty:
            drop_draft(self._bench, draft.vehicle_id)
        else:
            keep_draft(self._bench, draft)

    def drop(self, vehicle_id: int) -> None:
        """Keep nothing of a vehicle's sheet."""
        from wearlog.workshop.measure import drop_draft  # noqa: PLC0415 - as above

        drop_draft(self._bench, vehicle_id)

    def preview(self, draft: SheetDraft) -> SheetPreview:
        """Return what a sheet would mean."""
        from wearlog.workshop.measure import preview  # noqa: PLC0415 - as above

        return preview(self._bench, draft)

    def save(self, draft: SheetDraft) -> Changes:
        """Save a sheet in one transaction."""
        from wearlog.workshop.measure import save  # noqa: PLC0415 - as above

        return save(self._bench, draft)
