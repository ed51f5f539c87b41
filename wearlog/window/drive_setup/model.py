"""What the drive set-up page shows and what is typed on it; no widgets."""

from dataclasses import replace
from gettext import gettext as _

from PySide6.QtCore import QObject, Signal

from wearlog import units
from wearlog.drawing.setup_words import closing_text, comparison_rows
from wearlog.drive.figures import SetupFigures
from wearlog.fleet.fitting import Position
from wearlog.fleet.parts import DriveKind, PartType
from wearlog.fleet.problem import Offer, Problem, WearlogError
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.window.drive_setup.model_comparison import ComparisonModel
from wearlog.workshop.compare_limits import closes
from wearlog.workshop.compare_setups import draft_of, parts_fitted, plan
from wearlog.workshop.compare_snapshot import (
    ComparisonSnapshot,
    PlanField,
    SetupDraft,
    SetupSnapshot,
    StageSetup,
    run_key,
)

#: Fields that are typed, and what each is.
TYPED = {
    PlanField.DRIVER: Quantity.COUNT,
    PlanField.DRIVEN: Quantity.COUNT,
    PlanField.PITCHES: Quantity.COUNT,
    PlanField.CENTRE: Quantity.LENGTH,
    PlanField.ADJUSTER: Quantity.LENGTH,
    PlanField.TENSION: Quantity.FORCE,
}


class SetupModel(QObject):
    """The plan for one stage, as it is typed, and what comes of it.

    Attributes
    ----------
    snapshot
        The drive of the vehicle; None while none is chosen.
    stage_id
        The stage that is planned.
    draft
        The plan as far as it is understood; None for a stage whose parts are not known.
    comparison
        The plan beside what is fitted; None while it can't be worked out.
    wants_estimate
        Whether the life at this fleet's rates is still to be worked out, or anew.

    Signals
    -------
    opened()
        Another vehicle or stage is shown: every field is anew.
    changed()
        The plan changed, or what comes of it.
    """

    opened = Signal()
    changed = Signal()

    def __init__(self, shown: ShownUnits, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.shown = shown
        self.snapshot: SetupSnapshot | None = None
        self.stage_id: int | None = None
        self.draft: SetupDraft | None = None
        self.comparison: ComparisonSnapshot | None = None
        self.rows = ComparisonModel(self)
        self.wants_estimate = False
        self._start: SetupDraft | None = None
        self._base: ComparisonSnapshot | None = None
        self._texts: dict[PlanField, str] = {}
        self._typed_problems: dict[PlanField, Problem] = {}
        self._plan_problems: tuple[Problem, ...] = ()

    # --- opening

    def show(self, snapshot: SetupSnapshot | None) -> None:
        """Show a vehicle; what is typed for the same stage stays unless something else is fitted now."""
        old, known = self.snapshot, self.stage_id
        is_same = old is not None and snapshot is not None and old.vehicle.id == snapshot.vehicle.id
        self.snapshot = snapshot
        stages = () if snapshot is None else snapshot.stages
        ids = [one.stage.id for one in stages]
        stage_id = known if is_same and known in ids else self._first(stages)
        start = None if snapshot is None or stage_id is None else draft_of(snapshot, stage_id)
        if is_same and stage_id == known and start == self._start and start is not None:
            # Only the list of parts, people or the meter differ: the plan goes on.
            self.opened.emit()
            self._work_out()
            # The fleet may have been measured meanwhile; until then the life told last stands.
            self.wants_estimate = True
            return
        self._open(stage_id, start)

    def _first(self, stages: tuple[StageSetup, ...]) -> int | None:
        """Return the first stage that is known, else the first."""
        known = [one for one in stages if one.setup is not None]
        return next((one.stage.id for one in (*known, *stages)), None)

    def choose_stage(self, stage_id: int) -> None:
        """Plan another stage of the vehicle."""
        if self.snapshot is not None and stage_id != self.stage_id:
            self._open(stage_id, draft_of(self.snapshot, stage_id))

    def reset(self) -> None:
        """Take the plan back to what is fitted."""
        self._open(self.stage_id, self._start)

    def _open(self, stage_id: int | None, start: SetupDraft | None) -> None:
        self.stage_id, self._start, self.draft = stage_id, start, start
        self._typed_problems = {}
        self._texts = {} if start is None else self._texts_of(start)
        self._base = None
        if self.snapshot is not None and start is not None:
            try:
                self._base = plan(self.snapshot, start)
            except WearlogError:
                self._base = None
        self.opened.emit()
        self._work_out()

    def _texts_of(self, draft: SetupDraft) -> dict[PlanField, str]:
        values: dict[PlanField, float | None] = {
            PlanField.DRIVER: draft.driver_teeth,
            PlanField.DRIVEN: draft.driven_teeth,
            PlanField.PITCHES: draft.pitches,
            PlanField.CENTRE: draft.centre_distance_mm,
            PlanField.ADJUSTER: draft.adjuster_range_mm,
            PlanField.TENSION: draft.tension_n,
        }
        return {field: self._text_of(field, value) for field, value in values.items()}

    def _text_of(self, field: PlanField, value: float | None) -> str:
        if value is None:
            return ""
        quantity = TYPED[field]
        if quantity is Quantity.COUNT:
            return str(round(value))
        unit = self.shown.unit_of(quantity)
        return f"{units.in_unit(value, quantity, unit):.5g} {unit}"

    def show_units(self, shown: ShownUnits) -> None:
        """Read in other units; what is typed bare means the new unit, so the fields are filled anew."""
        self.shown = shown
        if self.draft is not None:
            self._texts |= {
                field: text
                for field, text in self._texts_of(self.draft).items()
                if field not in self._typed_problems
            }
        self.opened.emit()
        self._work_out()

    # --- what is shown

    @property
    def stage(self) -> StageSetup | None:
        """The stage that is planned."""
        if self.snapshot is None or self.stage_id is None:
            return None
        return self.snapshot.stage(self.stage_id)

    @property
    def subject(self) -> str:
        """Which vehicle it is."""
        if self.snapshot is None:
            return ""
        vehicle = self.snapshot.vehicle
        return f"{vehicle.tag}, {vehicle.description} · {vehicle.depot}"

    @property
    def before(self) -> SetupFigures | None:
        """The stage as it is."""
        return None if self.stage is None else self.stage.figures

    @property
    def after(self) -> SetupFigures | None:
        """The stage as it is planned; None while it can't be worked out."""
        return None if self.comparison is None else self.comparison.conversion.after

    @property
    def is_changed(self) -> bool:
        """Whether the plan is another than what is fitted."""
        return self.comparison is not None and self.comparison.is_changed

    @property
    def is_touched(self) -> bool:
        """Whether anything was typed or chosen."""
        return self.draft != self._start or bool(self._typed_problems)

    @property
    def can_fit(self) -> bool:
        """Whether there is a plan to fit."""
        return self.is_changed and not self._typed_problems

    def text(self, field: PlanField) -> str:
        """Return what stands in a field."""
        return self._texts.get(field, "")

    def problem(self, field: PlanField) -> Problem | None:
        """Return what is wrong with a field: what was typed, or what comes of it."""
        typed = self._typed_problems.get(field)
        if typed is not None:
            return typed
        return next((problem for problem in self._plan_problems if problem.where == field), None)

    @property
    def is_new(self) -> frozenset[Position]:
        """Where a new part goes on, whether it has to or is wanted."""
        if self.stage is None or self.draft is None:
            return frozenset()
        return parts_fitted(self.stage, self.draft)

    @property
    def must_be_new(self) -> frozenset[Position]:
        """Where another part has to go on."""
        if self.stage is None or self.draft is None:
            return frozenset()
        return parts_fitted(self.stage, replace(self.draft, renewed=frozenset()))

    @property
    def length_hint(self) -> tuple[str, tuple[Offer, ...]]:
        """Which lengths close, and those to take with one press."""
        if self.draft is None:
            return "", ()
        figures = self.after if self.after is not None else self._without_length()
        if figures is None:
            return "", ()
        chosen = self.draft.pitches
        is_fine = self.after is not None and figures.loop.adjuster is not None and closes(figures)
        if is_fine and chosen not in figures.loop.closing:
            # Shorter than the adjuster's front end by less than anybody can measure.
            return "", ()
        whole = figures.loop.closing or tuple(
            filter(None, [figures.loop.to_order if figures.loop.adjuster is None else None])
        )
        offers = tuple(
            Offer(_("Take {n}").format(n=n), PlanField.PITCHES.value, n) for n in whole[:3] if n != chosen
        )
        if chosen in whole:
            return closing_text(figures), ()
        return closing_text(figures), offers

    def _without_length(self) -> SetupFigures | None:
        """Return the plan's figures without the length that was typed, which may be what is wrong."""
        if self.snapshot is None or self.draft is None:
            return None
        try:
            return plan(self.snapshot, replace(self.draft, pitches=None)).conversion.after
        except WearlogError:
            return None

    # --- planning

    def type_text(self, field: PlanField, text: str) -> None:
        """Take what was typed; the text always stays, understood or not."""
        if self.draft is None or text == self._texts.get(field, ""):
            return
        self._texts[field] = text
        self._typed_problems.pop(field, None)
        value: float | None = None
        if text.strip():
            try:
                value = self._value_of(field, text)
            except WearlogError as error:
                self._typed_problems[field] = error.problems[0]
        self._put(field, value)
        self._work_out()

    def _value_of(self, field: PlanField, text: str) -> float:
        quantity = TYPED[field]
        value = units.parse(text, quantity, self.shown.unit_of(quantity)).value
        if quantity is Quantity.COUNT and value != round(value):
            raise WearlogError(
                Problem(
                    _("“{text}” is not a whole number.").format(text=text.strip()),
                    field,
                    _("Teeth and links are counted one by one."),
                )
            )
        return value

    def _put(self, field: PlanField, value: float | None) -> None:
        if self.draft is None:
            return
        count = None if value is None else round(value)
        if field is PlanField.DRIVER:
            self.draft = replace(self.draft, driver_teeth=count)
        elif field is PlanField.DRIVEN:
            self.draft = replace(self.draft, driven_teeth=count)
        elif field is PlanField.PITCHES:
            self.draft = replace(self.draft, pitches=count)
        elif field is PlanField.CENTRE:
            self.draft = replace(self.draft, centre_distance_mm=value)
        elif field is PlanField.ADJUSTER:
            self.draft = replace(self.draft, adjuster_range_mm=value)
        elif field is PlanField.TENSION:
            self.draft = replace(self.draft, tension_n=value)

    def set_drive(self, drive: DriveKind) -> None:
        """Plan a chain or a belt; the length of the other kind says nothing any more."""
        if self.draft is None or self.snapshot is None or drive is self.draft.drive:
            return
        start = self._start
        run, pitches = None, None
        if start is not None and drive is start.drive:
            run, pitches = start.run, start.pitches
        else:
            run = next((choice.part_type for choice in self.snapshot.choices_for(drive)), None)
        self.draft = replace(self.draft, drive=drive, run=run, pitches=pitches)
        self._texts[PlanField.PITCHES] = self._text_of(PlanField.PITCHES, pitches)
        self._typed_problems.pop(PlanField.PITCHES, None)
        self.opened.emit()
        self._work_out()

    def set_run(self, run: PartType) -> None:
        """Plan another chain or belt."""
        if self.draft is None or (self.draft.run is not None and run_key(run) == run_key(self.draft.run)):
            return
        self.draft = replace(self.draft, run=run)
        self._work_out()

    def set_new(self, position: Position, *, is_new: bool) -> None:
        """Plan a new part where the old one could stay."""
        if self.draft is None:
            return
        renewed = self.draft.renewed | {position} if is_new else self.draft.renewed - {position}
        if renewed != self.draft.renewed:
            self.draft = replace(self.draft, renewed=renewed)
            self._work_out()

    def take_estimate(self, compared: ComparisonSnapshot) -> None:
        """Take the life at this fleet's rates, if it is of this plan and of what is fitted now."""
        if self.comparison is not None and _is_of_same(compared, self.comparison):
            self.comparison = compared
            self.wants_estimate = False
            self._show_rows()
            self.changed.emit()

    def _work_out(self) -> None:
        self._plan_problems = ()
        before, self.comparison = self.comparison, None
        if self.snapshot is not None and self.draft is not None:
            try:
                compared = plan(self.snapshot, self.draft)
                # A figure that is not understood is no figure that was left out.
                self.comparison = None if self._typed_problems else compared
            except WearlogError as error:
                # What is merely missing is asked for where it is, once the plan is to be fitted.
                missing = self.draft.missing
                self._plan_problems = tuple(p for p in error.problems if p not in missing)
        if self.comparison is not None and before is not None and _is_of_same(before, self.comparison):
            self.comparison = replace(
                self.comparison, lives=before.lives, advice=before.advice, is_estimated=before.is_estimated
            )
        self.wants_estimate = self.comparison is not None and not self.comparison.is_estimated
        self._show_rows()
        self.changed.emit()

    def _show_rows(self) -> None:
        if self.is_changed and self.comparison is not None:
            self.rows.show(comparison_rows(self.comparison, self.shown))
            return
        shown = self.comparison if self.comparison is not None else self._base
        rows = [] if shown is None else comparison_rows(shown, self.shown)
        if self.comparison is None:
            rows = [row for row in rows if not row.key.startswith(("life", "interval", "basis"))]
        self.rows.show([replace(row, after="", change="") for row in rows])


def _is_of_same(one: ComparisonSnapshot, other: ComparisonSnapshot) -> bool:
    """Whether two compare the same plan with the same stage; a plan once fitted is its own beginning."""
    return (one.draft, one.before, one.fitted) == (other.draft, other.before, other.fitted)
