"""The way between the drive set-up page and the workshop; all of it off the window's thread."""

from collections.abc import Callable
from datetime import date
from gettext import gettext as _
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from wearlog.fleet.parts import PartType
from wearlog.fleet.progress import Progress
from wearlog.window.background import Background
from wearlog.workshop.changes import Changes
from wearlog.workshop.compare_snapshot import ComparisonSnapshot, SetupDraft, SetupSnapshot

if TYPE_CHECKING:
    from wearlog.workshop.bench import Bench
    from wearlog.workshop.fit_setup import Fitting


class SetupTraffic(QObject):
    """Asks the workshop and brings its answers.

    Signals
    -------
    opened(SetupSnapshot)
        The drive of a vehicle that was asked for.
    estimated(ComparisonSnapshot)
        A plan with the life at this fleet's rates.
    changed(Changes)
        A plan was fitted, or a part type was added.
    refused(WearlogError)
        Why something was not done.
    """

    opened = Signal(object)
    estimated = Signal(object)
    changed = Signal(object)
    refused = Signal(object)

    def __init__(self, bench: "Bench", background: Background, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._background = background

    def open(self, vehicle_id: int) -> None:
        """Ask for the drive of a vehicle."""
        bench = self._bench

        def read(_progress: Progress) -> SetupSnapshot:
            from wearlog.workshop.compare_setups import setup_snapshot  # noqa: PLC0415 - loaded late

            return setup_snapshot(bench, vehicle_id)

        self._background.run(
            read,
            key="setup open",
            done=self.opened.emit,
            failed=self.refused.emit,
            what=_("Opening the drive set-up"),
            owner=self,
            is_urgent=True,
        )

    def estimate(self, draft: SetupDraft) -> None:
        """Ask how long new parts last on a plan."""
        bench = self._bench

        def work(progress: Progress) -> ComparisonSnapshot:
            from wearlog.workshop.compare_setups import compare  # noqa: PLC0415 - scipy loads off this thread

            return compare(bench, draft, progress)

        self._background.run(
            work,
            key="setup estimate",
            done=self.estimated.emit,
            failed=self.refused.emit,
            what=_("Estimating the life of new parts"),
            owner=self,
        )

    def fit(
        self, draft: SetupDraft, on: date, meter_value: float | None, by: str, fitting: "Fitting"
    ) -> None:
        """Fit a plan."""
        bench = self._bench

        def work(_progress: Progress) -> Changes:
            from wearlog.workshop.fit_setup import fit_setup  # noqa: PLC0415 - as above

            return fit_setup(bench, draft, on, meter_value, by, fitting)

        self._run_change(work, _("Saving the set-up"))

    def add_part_type(self, part_type: PartType) -> None:
        """Add a part type of the workshop's own."""
        bench = self._bench

        def work(_progress: Progress) -> Changes:
            from wearlog.workshop.compare_part_types import add_part_type  # noqa: PLC0415 - as above

            return add_part_type(bench, part_type)

        self._run_change(work, _("Adding the part type"))

    def _run_change(self, work: Callable[[Progress], Changes], what: str) -> None:
        self._background.run(
            work,
            key="setup change",
            done=self.changed.emit,
            failed=self.refused.emit,
            what=what,
            is_urgent=True,
        )
