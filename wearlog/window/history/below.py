"""Under the list: the chosen line in words, or the form that puts it right, from typing to keeping."""

from functools import partial
from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from wearlog.drawing.history_words import what_text
from wearlog.drawing.trail_words import field_text, kept_text
from wearlog.fleet.fitting import Installation
from wearlog.fleet.meter import MeterEntry, MeterEvent
from wearlog.fleet.problem import EditConflict, WearlogError
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Reading
from wearlog.fleet.service import Visit
from wearlog.fleet.torque import TorqueRecord
from wearlog.window.bench_keys import put_focus
from wearlog.window.conflict import ConflictPanel
from wearlog.window.history.fitting_form import FittingForm
from wearlog.window.history.forms import HistoryForm
from wearlog.window.history.meter_form import MeterForm
from wearlog.window.history.move_form import MoveForm
from wearlog.window.history.reading_form import ReadingForm
from wearlog.window.history.traffic import HistoryTraffic, Looked, Order, Voiding
from wearlog.window.session import Session
from wearlog.window.settings.detail import Detail
from wearlog.window.settings.form import AgreementForm, ReasonForm
from wearlog.window.theme import scaled
from wearlog.wording import day_text
from wearlog.workshop.changes import Changes
from wearlog.workshop.history_snapshot import HistoryLine, HistorySnapshot, Voidable

#: A form takes no more than this share of the page.
MOST_FORM = 0.55


class Below(QScrollArea):
    """The part under the list.

    Signals
    -------
    kept(Changes)
        Something was put right.
    refused(WearlogError)
        Why something was not, while no form is open that could say so.
    turned()
        A form was opened or left.
    elsewhere_wanted(str)
        The key of another line that is to be looked at.
    """

    kept = Signal(object)
    refused = Signal(object)
    turned = Signal()
    elsewhere_wanted = Signal(str)

    def __init__(self, session: Session, traffic: HistoryTraffic) -> None:
        super().__init__()
        self.traffic = traffic
        self.form: AgreementForm | None = None
        self._voided: Voidable | None = None
        self._is_saving = False
        self._room_px = 0
        self._words_px = 0
        self.detail = Detail(_("Chosen line"))
        today = session.bench.today()
        self.reading_form, self.meter_form = ReadingForm(), MeterForm(today)
        self.fitting_form, self.move_form = FittingForm(today), MoveForm(today)
        self.reason_form = ReasonForm(_("Void a record"), _("&Void it"))
        self.reason_form.reason.setPlaceholderText(_("for example: read on another vehicle"))
        self.inside = QWidget()
        layout = QVBoxLayout(self.inside)
        layout.setContentsMargins(0, 0, 8, 8)
        layout.setSpacing(0)
        self.conflict = ConflictPanel()
        self.conflict.chosen.connect(lambda _theirs, merged: self._on_merged(merged))
        self.conflict.left.connect(self._back_to_form)
        for widget in (self.detail, *self.forms, self.conflict):
            layout.addWidget(widget)
        layout.addStretch(1)
        self.conflict.hide()
        self.setWidgetResizable(True)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setWidget(self.inside)
        for form in self.forms:
            form.hide()
            form.left.connect(self.leave)
            form.confirmed.connect(partial(self._on_confirmed, insists=False))
            form.insisted.connect(partial(self._on_confirmed, insists=True))
            if isinstance(form, HistoryForm):
                form.look_wanted.connect(self._on_look_wanted)
                form.elsewhere_wanted.connect(self.elsewhere_wanted)

    @property
    def forms(self) -> tuple[AgreementForm, ...]:
        """All forms."""
        return (self.reading_form, self.meter_form, self.fitting_form, self.move_form, self.reason_form)

    # --- opening and leaving

    def correct(self, line: HistoryLine, snapshot: HistorySnapshot, shown: ShownUnits) -> None:
        """Open the form that fits a line."""
        if isinstance(line.record, Reading):
            self._open(self.reading_form, self.reading_form.text)
            self.reading_form.open_line(line, snapshot, shown)
        elif isinstance(line.record, MeterEntry):
            self._open(self.meter_form, self.meter_form.value)
            self.meter_form.open_entry(line.record, snapshot, shown)
        elif isinstance(line.record, Installation):
            self._open(self.fitting_form, self.fitting_form.fitted_day)
            self.fitting_form.open_line(line, snapshot, shown)
        self.fit()

    def void_or_restore(self, line: HistoryLine, snapshot: HistorySnapshot) -> None:
        """Ask why a record should no longer count; let a voided one count again."""
        record = line.record
        if self._is_saving or not isinstance(record, Reading | MeterEntry | TorqueRecord | Visit):
            return
        if record.void_reason:
            self._is_saving = True
            self.traffic.restore(record, self._on_kept, self._on_not_kept)
            return
        self._voided = record
        self._open(self.reason_form, self.reason_form.reason)
        what = what_text(line, snapshot)
        self.reason_form.ask_for(
            _("Void: {what} of {day}. It stays, with the reason.").format(what=what, day=day_text(line.on))
        )
        self.fit()

    def replace_meter(self, line: HistoryLine | None, snapshot: HistorySnapshot, shown: ShownUnits) -> None:
        """Open the form for a meter replacement that nobody wrote down."""
        self._open(self.meter_form, self.meter_form.day)
        entry = MeterEntry(
            vehicle_id=snapshot.vehicle_id,
            on=line.on if line is not None else snapshot.today,
            value=0.0,
            typed="0",
            event=MeterEvent.REPLACED,
        )
        self.meter_form.open_entry(entry, snapshot, shown)
        self.fit()

    def move_away(self, line: HistoryLine, snapshot: HistorySnapshot, shown: ShownUnits) -> None:
        """Open the form that moves the part of a line."""
        if isinstance(line.record, Installation):
            self._open(self.move_form, self.move_form.tag)
            self.move_form.open_line(line, snapshot, shown)
            self.traffic.places(line.record, self.move_form.show_places)
            self.fit()

    def _open(self, form: AgreementForm, first: QWidget) -> None:
        for other in (self.detail, *self.forms, self.conflict):
            other.setVisible(other is form)
        self.form = form
        form.take_look()
        form.start()
        self.turned.emit()
        put_focus(first)

    def leave(self) -> None:
        """Show the chosen line again."""
        if self.form is None:
            return
        self.form = None
        # The page takes the focus to its list first: what is hidden with it would hand it to some neighbour.
        self.turned.emit()
        self.conflict.hide()
        for form in self.forms:
            form.hide()
            if isinstance(form, HistoryForm):
                form.stop()
        self.detail.show()
        self.fit()

    def take_offer(self, number: int) -> None:
        """Take an offer of the open form by its number."""
        if self.form is not None:
            self.form.take_offer(number)

    # --- looking and keeping

    def _on_look_wanted(self) -> None:
        form = self.form
        if not isinstance(form, HistoryForm):
            return
        order = form.order()
        if order is None:
            form.show_look(None)
            return
        self.traffic.look(order, self._on_looked, self._on_look_refused)

    def _on_looked(self, looked: Looked) -> None:
        if isinstance(self.form, HistoryForm):
            self.form.show_look(looked.look)
            self.fit()

    def _on_look_refused(self, error: WearlogError) -> None:
        # Half a number may well be refused; all of it is said when the record is to be kept.
        if isinstance(self.form, HistoryForm):
            self.form.say_look(error.problems[0].what)
            self.fit()

    def _on_confirmed(self, record: object, *, insists: bool) -> None:
        order = self._order(record)
        if self._is_saving or order is None:
            return
        self._is_saving = True
        if insists or isinstance(order, Voiding):
            self.traffic.keep(order, self._on_kept, self._on_not_kept)
        else:
            self.traffic.look(order, self._on_checked, self._on_not_kept)

    def _order(self, record: object) -> Order | None:
        if self.form is None:
            return None
        if self.form is self.reason_form:
            return None if self._voided is None else Voiding(self._voided, str(record))
        return record  # type: ignore[return-value]  # each form hands over its own kind of order

    def _on_checked(self, looked: Looked) -> None:
        if looked.doubts and self.form is not None:
            self._is_saving = False
            self.form.ask(looked.doubts)
            if isinstance(self.form, HistoryForm):
                self.form.show_look(looked.look)
            self.fit()
            return
        self.traffic.keep(looked.order, self._on_kept, self._on_not_kept)

    def _on_kept(self, changes: Changes) -> None:
        self._is_saving = False
        self.leave()
        self.kept.emit(changes)

    def _on_not_kept(self, error: WearlogError) -> None:
        self._is_saving = False
        if self.form is None:
            self.refused.emit(error)
        elif not (isinstance(error, EditConflict) and self._show_versions(error)):
            self._back_to_form()
            self.form.show_error(error)
            self.fit()

    # --- two versions

    def _show_versions(self, error: EditConflict) -> bool:
        """Let the person choose field by field; return whether that can be done with this record.

        The fields of a reading belong together, so there one version or the other counts as a whole.
        """
        form, mine = self.form, error.versions.mine
        if not isinstance(form, HistoryForm) or not isinstance(mine, MeterEntry | Installation):
            return False
        shown, unit, kind = form.shown, form.use_unit, type(mine).__name__
        can_choose = self.conflict.open(
            error,
            form.opened,
            name_of=partial(field_text, record=kind),
            value_of=lambda name, value: kept_text(kind, name, value, unit, shown),
        )
        if can_choose:
            form.rebase(error.versions.theirs)
            form.hide()
            self.conflict.show()
            self.conflict.focus_first()
            self.fit()
        return can_choose

    def _on_merged(self, merged: Order) -> None:
        if not self._is_saving:
            self._is_saving = True
            self.traffic.keep(merged, self._on_kept, self._on_not_kept)

    def _back_to_form(self) -> None:
        if self.form is not None and self.form.isHidden():
            self.conflict.hide()
            self.form.show()
            put_focus(self.form.keep)
            self.fit()

    # --- height

    def set_room(self, room_px: int, words_px: int) -> None:
        """Say how high the page is, and how high the words may be."""
        self._room_px, self._words_px = room_px, words_px
        self.fit()

    def fit(self) -> None:
        """Be as high as the words or the form ask for."""
        wanted = self._words_px
        if self.form is not None:
            layout = self.inside.layout()
            if layout is not None:
                layout.activate()
            wanted = self.inside.sizeHint().height() + 8
            if self.inside.hasHeightForWidth():
                wanted = self.inside.heightForWidth(self.viewport().width()) + 8
        self.setFixedHeight(min(wanted, max(round(self._room_px * MOST_FORM), scaled(80))))

    def take_look(self) -> None:
        """Follow the text size."""
        for form in self.forms:
            form.take_look()
        self.fit()
