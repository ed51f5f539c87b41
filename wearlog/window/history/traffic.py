"""The way between the history page and the workshop; all of it off the window's thread."""

from collections.abc import Callable
from dataclasses import dataclass
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from wearlog.fleet.fitting import Installation
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.problem import Doubt, WearlogError
from wearlog.fleet.progress import Progress
from wearlog.fleet.quantity import ShownUnits
from wearlog.window.background import Background
from wearlog.window.history.model import RecordRow, history_rows, trail_rows
from wearlog.workshop.changes import Changes
from wearlog.workshop.correct import ReadingCorrection
from wearlog.workshop.correct_fitting import FittingLook
from wearlog.workshop.correct_meter import MeterLook
from wearlog.workshop.history_snapshot import (
    HistorySnapshot,
    Place,
    ReadingLook,
    TrailSnapshot,
    Voidable,
)
from wearlog.workshop.move_part import MoveLook, PartMove

if TYPE_CHECKING:
    from wearlog.workshop.bench import Bench


@dataclass(frozen=True, slots=True)
class Voiding:
    """A record that should no longer count, and why."""

    record: Voidable
    reason: str


#: What a form asks for.
Order = ReadingCorrection | MeterEntry | Installation | PartMove | Voiding
#: What it would come to.
Look = ReadingLook | MeterLook | FittingLook | MoveLook | None


@dataclass(frozen=True, slots=True)
class Looked:
    """What an order would come to, and what is odd about it; nothing is saved."""

    order: Order
    look: Look
    doubts: tuple[Doubt, ...] = ()


@dataclass(frozen=True, slots=True)
class OpenedHistory:
    """The history of a vehicle, and the rows of both lists."""

    snapshot: HistorySnapshot
    rows: tuple[RecordRow, ...]
    trail: tuple[RecordRow, ...]


class HistoryTraffic(QObject):
    """Asks the workshop and brings its answers.

    Signals
    -------
    opened(OpenedHistory)
        The history of a vehicle that was asked for.
    exported(Path)
        The trail was written.
    refused(WearlogError)
        Why something was not done.
    """

    opened = Signal(object)
    exported = Signal(object)
    refused = Signal(object)

    def __init__(self, bench: "Bench", background: Background, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._background = background

    def open(self, vehicle_id: int, shown: ShownUnits) -> None:
        """Ask for the history of a vehicle, in words and in the units of this seat."""
        bench = self._bench

        def read(_progress: Progress) -> OpenedHistory:
            from wearlog.workshop.history import history_snapshot  # noqa: PLC0415 - loaded late

            snapshot = history_snapshot(bench, vehicle_id)
            rows = history_rows(snapshot, shown, _("voided"))
            return OpenedHistory(snapshot, rows, trail_rows(snapshot, shown))

        self._background.run(
            read,
            key="history open",
            done=self.opened.emit,
            failed=self.refused.emit,
            what=_("Reading the history"),
            owner=self,
            is_urgent=True,
        )

    def look(
        self, order: Order, done: Callable[[Looked], None], refused: Callable[[WearlogError], None]
    ) -> None:
        """Ask what an order would come to; a newer one takes its place."""
        bench = self._bench
        self._background.run(
            lambda _progress: look_at(bench, order),
            key="history look",
            done=done,
            failed=refused,
            owner=self,
            is_urgent=True,
        )

    def keep(
        self, order: Order, done: Callable[[Changes], None], refused: Callable[[WearlogError], None]
    ) -> None:
        """Carry an order out."""
        self._run(lambda: carry_out(self._bench, order), _("Saving the correction"), done, refused)

    def restore(
        self, record: Voidable, done: Callable[[Changes], None], refused: Callable[[WearlogError], None]
    ) -> None:
        """Let a voided record count again."""

        def restore() -> Changes:
            from wearlog.workshop.correct import restore_record  # noqa: PLC0415 - as above

            return restore_record(self._bench, record)

        self._run(restore, _("Letting it count again"), done, refused)

    def _run(
        self,
        work: Callable[[], Changes],
        what: str,
        done: Callable[[Changes], None],
        refused: Callable[[WearlogError], None],
    ) -> None:
        self._background.run(
            lambda _progress: work(), key="history keep", done=done, failed=refused, what=what, is_urgent=True
        )

    def places(self, installation: Installation, done: Callable[[tuple[Place, ...]], None]) -> None:
        """Ask where a part may go."""
        bench = self._bench

        def read(_progress: Progress) -> tuple[Place, ...]:
            from wearlog.workshop.move_part import places_for  # noqa: PLC0415 - as above

            return places_for(bench, installation)

        self._background.run(
            read, key="history places", done=done, failed=self.refused.emit, owner=self, is_urgent=True
        )

    def export(self, trail: TrailSnapshot, file: Path, ending: str, shown: ShownUnits) -> None:
        """Write the trail to a file."""

        def write(_progress: Progress) -> Path:
            from wearlog.exchange.audit_files import write_trail  # noqa: PLC0415 - as above

            write_trail(trail, file, ending, shown)
            return file

        self._background.run(
            write,
            key="history export",
            done=self.exported.emit,
            failed=self.refused.emit,
            what=_("Writing the trail"),
            owner=self,
        )


def look_at(bench: "Bench", order: Order) -> Looked:
    """Return what an order would come to. Nothing is saved.

    Raises
    ------
    WearlogError
        If it can't be.
    """
    from wearlog.workshop import correct, correct_fitting, correct_meter, move_part  # noqa: PLC0415 - as above

    if isinstance(order, ReadingCorrection):
        reading, doubts = correct.look_at_reading(bench, order)
        return Looked(order, reading, doubts)
    if isinstance(order, MeterEntry):
        return Looked(order, correct_meter.look_at_meter(bench, order))
    if isinstance(order, Installation):
        return Looked(order, correct_fitting.look_at_fitting(bench, order))
    if isinstance(order, PartMove):
        move = move_part.look_at_move(bench, order)
        return Looked(order, move, move.doubts)
    return Looked(order, None)


def carry_out(bench: "Bench", order: Order) -> Changes:
    """Carry an order out, in one transaction.

    Raises
    ------
    WearlogError
        If it can't be.
    """
    from wearlog.workshop import correct, correct_fitting, correct_meter, move_part  # noqa: PLC0415 - as above

    if isinstance(order, ReadingCorrection):
        return correct.correct_reading(bench, order)
    if isinstance(order, MeterEntry):
        return correct_meter.keep_meter(bench, order)
    if isinstance(order, Installation):
        return correct_fitting.correct_fitting(bench, order)
    if isinstance(order, PartMove):
        return move_part.move_part(bench, order)
    return correct.void_record(bench, order.record, order.reason)
