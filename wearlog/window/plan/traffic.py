"""What the plan page asks of the workshop, off the window's thread."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from gettext import gettext as _
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from wearlog.fleet.planned import PlannedState, PlannedVisit
from wearlog.fleet.progress import Progress
from wearlog.window.session import Session
from wearlog.workshop.changes import Changes
from wearlog.workshop.plan_snapshot import PlannedStop, PlanTerms, VisitPlan

#: Time for the solver and each depot while somebody waits, [s]; more of it changes little.
SECONDS = 1.5


@dataclass(frozen=True, slots=True)
class Seen:
    """The plans of all three ways, and what is planned or booked already."""

    plans: tuple[VisitPlan, ...]
    visits: tuple[PlannedVisit, ...]


@dataclass(frozen=True, slots=True)
class Marked:
    """What is planned or booked, and whether the plan shown still holds."""

    visits: tuple[PlannedVisit, ...]
    holds: bool


@dataclass(frozen=True, slots=True)
class Moved:
    """A plan with a visit on another day; `changes` if it was planned or booked already."""

    plan: VisitPlan
    stop: PlannedStop
    to: date
    changes: Changes | None


class PlanTraffic(QObject):
    """Asks, and tells what came of it.

    Signals
    -------
    planned(Seen), marked(Marked), moved(Moved)
        Answers.
    terms_kept()
        Other terms were agreed on.
    refused(WearlogError)
        Something did not work.
    """

    planned = Signal(object)
    marked = Signal(object)
    moved = Signal(object)
    terms_kept = Signal()
    refused = Signal(object)

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session

    def plan(self, weeks: int) -> None:
        """Plan some weeks in all three ways."""
        bench = self._session.bench

        def read(progress: Progress) -> Seen:
            from wearlog.workshop.booking import open_visits  # noqa: PLC0415 - numpy and scipy load meanwhile
            from wearlog.workshop.plan_visits import compare_plans  # noqa: PLC0415

            return Seen(compare_plans(bench, weeks, progress, seconds=SECONDS), open_visits(bench))

        self._session.background.run(
            read,
            key="plan",
            done=self.planned.emit,
            failed=self.refused.emit,
            what=_("Planning visits"),
            owner=self,
        )

    def mark(self, plan: VisitPlan) -> None:
        """Ask what is planned or booked, and whether a plan still holds."""
        bench = self._session.bench

        def read(_progress: Progress) -> Marked:
            from wearlog.workshop.booking import open_visits  # noqa: PLC0415 - as above
            from wearlog.workshop.plan_moves import is_still_right  # noqa: PLC0415

            visits = open_visits(bench)
            return Marked(visits, is_still_right(bench, plan, visits))

        self._session.background.run(
            read, key="plan visits", done=self.marked.emit, failed=self.refused.emit, owner=self
        )

    def move(self, plan: VisitPlan, stop: PlannedStop, visit: PlannedVisit | None, to: date) -> None:
        """Put a visit on another day; one that is planned or booked already moves in the books, too."""
        bench = self._session.bench

        def work(_progress: Progress) -> Moved:
            from wearlog.workshop.booking import move_visit  # noqa: PLC0415 - as above
            from wearlog.workshop.plan_moves import move_stop  # noqa: PLC0415

            moved = move_stop(bench, plan, stop, to)
            return Moved(moved, stop, to, None if visit is None else move_visit(bench, visit.number, to))

        self._session.background.run(
            work, key="plan move", done=self.moved.emit, failed=self.refused.emit, owner=self, is_urgent=True
        )

    def book_plan(self, plan: VisitPlan) -> None:
        """Book every visit of a plan."""
        bench = self._session.bench

        def work() -> Changes:
            from wearlog.workshop.plan_keep import keep_plan  # noqa: PLC0415 - as above

            return keep_plan(bench, plan, PlannedState.BOOKED)

        self._keep(work)

    def book(self, stop: PlannedStop) -> None:
        """Book one visit."""
        bench, lines = self._session.bench, tuple(work.line for work in stop.works)

        def work() -> Changes:
            from wearlog.workshop.booking import book_lines  # noqa: PLC0415 - as above

            return book_lines(bench, lines, stop.on)

        self._keep(work)

    def call_off(self, visit: PlannedVisit) -> None:
        """Call a visit off."""
        bench = self._session.bench

        def work() -> Changes:
            from wearlog.workshop.booking import call_off  # noqa: PLC0415 - as above

            return call_off(bench, visit.number)

        self._keep(work)

    def agree(self, terms: PlanTerms) -> None:
        """Agree on other terms."""
        bench = self._session.bench

        def work() -> Changes:
            from wearlog.workshop.plan_terms import agree_plan_terms  # noqa: PLC0415 - as above

            return agree_plan_terms(bench, terms)

        def done(changes: Changes) -> None:
            self._session.tell_change(changes)
            self.terms_kept.emit()

        self._keep(work, done)

    def write(self, plan: VisitPlan, depot: str, file: Path, form: str) -> None:
        """Write a plan, or one depot of it, to a file."""
        shown = self._session.shown_units

        def write(_progress: Progress) -> Path:
            from wearlog.exchange import plan_files  # noqa: PLC0415 - loaded when first needed

            chosen = plan_files.of_depot(plan, depot) if depot else plan
            plan_files.write_plan(chosen, file, form, shown)
            return file

        self._session.background.run(
            write,
            key=f"write {file}",
            done=lambda written: self._session.messages.said(_("Written to {file}").format(file=written)),
            failed=self.refused.emit,
            what=_("Writing {file}").format(file=file.name),
            owner=self,
        )

    def _keep(self, work: Callable[[], Changes], done: Callable[[Changes], None] | None = None) -> None:
        self._session.background.run(
            lambda _progress: work(),
            key="plan keep",
            done=done or self._session.tell_change,
            failed=self.refused.emit,
            what=_("Saving"),
            owner=self,
            is_urgent=True,
        )
