"""The way between the vehicle page and the workshop; all of it off the window's thread."""

from collections.abc import Callable
from datetime import date
from gettext import gettext as _
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from wearlog.fleet.progress import Progress
from wearlog.fleet.vehicle import Vehicle
from wearlog.window.background import Background
from wearlog.workshop.changes import Changes
from wearlog.workshop.vehicles_draft import VehicleDraft
from wearlog.workshop.vehicles_snapshot import VehicleSnapshot

if TYPE_CHECKING:
    from wearlog.workshop.bench import Bench


class VehicleTraffic(QObject):
    """Asks the workshop and brings its answers.

    Signals
    -------
    opened(VehicleSnapshot)
        A vehicle, or a new one.
    saved(Changes)
        What was entered is kept.
    changed(Changes)
        Retired, brought back, contact erased, template kept.
    refused(WearlogError)
        Why not.
    """

    opened = Signal(object)
    saved = Signal(object)
    changed = Signal(object)
    refused = Signal(object)

    def __init__(self, bench: "Bench", background: Background, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._background = background

    def open(self, vehicle_id: int | None) -> None:
        """Ask for a vehicle; None stands for a new one."""
        bench = self._bench

        def read(_progress: Progress) -> VehicleSnapshot:
            from wearlog.workshop.vehicles import vehicle_snapshot  # noqa: PLC0415 - loaded off this thread

            return vehicle_snapshot(bench, vehicle_id)

        self._background.run(
            read,
            key="vehicle open",
            done=self.opened.emit,
            failed=self.refused.emit,
            what=_("Opening the vehicle"),
            owner=self,
            is_urgent=True,
        )

    def save(self, draft: VehicleDraft) -> None:
        """Keep what was entered."""
        bench = self._bench

        def work(_progress: Progress) -> Changes:
            from wearlog.workshop.vehicles import save_vehicle  # noqa: PLC0415 - as above

            return save_vehicle(bench, draft)

        self._run(work, _("Saving the vehicle"), self.saved.emit)

    def retire(self, vehicle: Vehicle, on: date, reason: str) -> None:
        """Take a vehicle out of service."""
        bench = self._bench

        def work(_progress: Progress) -> Changes:
            from wearlog.workshop.vehicles import retire_vehicle  # noqa: PLC0415 - as above

            return retire_vehicle(bench, vehicle, on, reason)

        self._run(work, _("Retiring the vehicle"), self.changed.emit)

    def bring_back(self, vehicle: Vehicle) -> None:
        """Take a retired vehicle into service again."""
        bench = self._bench

        def work(_progress: Progress) -> Changes:
            from wearlog.workshop.vehicles import bring_back  # noqa: PLC0415 - as above

            return bring_back(bench, vehicle)

        self._run(work, _("Bringing the vehicle back"), self.changed.emit)

    def erase_contact(self, vehicle: Vehicle) -> None:
        """Erase the owner's contact, in the trail too."""
        bench = self._bench

        def work(_progress: Progress) -> Changes:
            from wearlog.workshop.vehicles import erase_contact  # noqa: PLC0415 - as above

            return erase_contact(bench, vehicle)

        self._run(work, _("Erasing the contact"), self.changed.emit)

    def keep_template(self, draft: VehicleDraft, name: str) -> None:
        """Keep a vehicle as a template."""
        bench = self._bench

        def work(_progress: Progress) -> Changes:
            from wearlog.workshop.vehicles_templates import keep_template  # noqa: PLC0415 - as above

            return keep_template(bench, draft, name)

        self._run(work, _("Keeping the template"), self.changed.emit)

    def _run(self, work: Callable[[Progress], Changes], what: str, done: Callable[[Changes], None]) -> None:
        self._background.run(
            work, key="vehicle change", done=done, failed=self.refused.emit, what=what, is_urgent=True
        )
