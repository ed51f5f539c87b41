"""What a change touched, for pages to decide whether they are concerned, and for undo."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Changes:
    """What one transaction touched.

    `what` says it in words ("Service of LR-017 saved"); `change_id` names it in the audit trail and for undo.
    An empty `vehicle_ids` means that everything may have changed (an import, settings).
    `draft` is the sheet as it was typed, by its key, to be opened again if the change is taken back;
    `reopens` is the vehicle whose sheet that is, once it was, and `reopened_key` the key of the draft.
    """

    what: str
    change_id: str
    vehicle_ids: frozenset[int] = frozenset()
    installation_ids: frozenset[int] = frozenset()
    can_undo: bool = True
    draft: tuple[str, str] | None = None
    reopens: int | None = None
    reopened_key: str = ""

    def concern(self, vehicle_id: int) -> bool:
        """Whether a vehicle is concerned."""
        return not self.vehicle_ids or vehicle_id in self.vehicle_ids
