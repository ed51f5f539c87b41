"""What the due page asks of the workshop, off the window's thread."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from gettext import gettext as _

from PySide6.QtCore import QObject, Signal

from wearlog.fleet.planned import PlannedVisit
from wearlog.fleet.progress import Progress
from wearlog.window.due.model import Keyed, arranged
from wearlog.window.session import Session
from wearlog.workshop.changes import Changes
from wearlog.workshop.due_snapshot import DueLine, DueSnapshot


@dataclass(frozen=True, slots=True)
class ReadList:
    """The due list arranged, and the visit of each line that is planned or booked, by its key."""

    snapshot: DueSnapshot
    lines: list[Keyed]
    visits: dict[str, PlannedVisit]


class DueTraffic(QObject):
    """Asks, and tells what came of it.

    Signals
    -------
    read(ReadList)
        The due list.
    explained(str, tuple of str)
        What the date of a line rests on, by the key of the line.
    refused(WearlogError)
        Something did not work.
    """

    read = Signal(object)
    explained = Signal(str, object)
    refused = Signal(object)

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session

    def load(self) -> None:
        """Read the due list."""
        bench = self._session.bench

        def read(progress: Progress) -> ReadList:
            from wearlog.workshop.booking import open_visits, visits_by_line  # noqa: PLC0415 - loads meanwhile
            from wearlog.workshop.due import due_snapshot  # noqa: PLC0415 - numpy and scipy load meanwhile

            snapshot = due_snapshot(bench, None, progress)
            visits = open_visits(bench)
            ids = {visit.vehicle_id for visit in visits}
            own = [line for line in snapshot.lines if line.vehicle_id in ids] if ids else []
            return ReadList(snapshot, arranged(snapshot), visits_by_line(visits, own))

        self._session.background.run(
            read,
            key="due",
            done=self.read.emit,
            failed=self.refused.emit,
            what=_("Working out what is due"),
            owner=self,
        )

    def explain(self, line: DueLine) -> None:
        """Ask what the date of a line rests on; lines without a forecast have nothing more to tell."""
        installation_id, measurand = line.installation_id, line.measurand
        if installation_id is None or measurand is None:
            self.explained.emit(line.key, ())
            return
        bench, shown = self._session.bench, self._session.shown_units

        def work(_progress: Progress) -> tuple[str, ...]:
            from wearlog.drawing.explain_words import explain_lines  # noqa: PLC0415 - as above
            from wearlog.workshop.explain import explanation  # noqa: PLC0415

            return explain_lines(explanation(bench, installation_id, measurand), shown)

        self._session.background.run(
            work,
            key="due why",
            done=lambda lines: self.explained.emit(line.key, lines),
            # The reason that is shown already is then all there is.
            failed=lambda _error: self.explained.emit(line.key, ()),
            owner=self,
        )

    def book(self, lines: Sequence[DueLine], on: date) -> None:
        """Book the work of a visit for a day."""
        bench = self._session.bench

        def work() -> Changes:
            from wearlog.workshop.booking import book_lines  # noqa: PLC0415 - as above

            return book_lines(bench, lines, on)

        self._keep(work)

    def call_off(self, visit: PlannedVisit) -> None:
        """Call a visit off."""
        bench = self._session.bench

        def work() -> Changes:
            from wearlog.workshop.booking import call_off  # noqa: PLC0415 - as above

            return call_off(bench, visit.number)

        self._keep(work)

    def _keep(self, work: Callable[[], Changes]) -> None:
        self._session.background.run(
            lambda _progress: work(),
            key="due keep",
            done=self._session.tell_change,
            failed=self.refused.emit,
            what=_("Saving"),
            owner=self,
            is_urgent=True,
        )
