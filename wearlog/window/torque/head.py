"""The head of the torque sheet: date, meter, person and wrench."""

from datetime import date
from gettext import gettext as _

from PySide6.QtCore import QStringListModel, Qt
from PySide6.QtWidgets import QComboBox, QCompleter, QLabel, QVBoxLayout, QWidget

from wearlog.drawing.torque_words import last_meter_text, wrench_text
from wearlog.measuring.history import instrument_doubts
from wearlog.window.fields import DateField, EntryField
from wearlog.window.flow import FlowLayout
from wearlog.window.offer_bar import OfferBar, Sentence, of_problem
from wearlog.window.theme import scaled, set_role
from wearlog.window.torque.model import TorqueModel
from wearlog.wording import day_text

#: Widths of meter, date, person and wrench, [px] at plain text size.
WIDTHS_PX = (148, 116, 132, 424)


class TorqueHead(QWidget):
    """Meter, date, person and wrench on one line, and what is to be said about them."""

    def __init__(self, model: TorqueModel) -> None:
        super().__init__()
        self._model = model
        self.meter = EntryField(_("Meter"))
        self.day = DateField(_("Date"), date.min)
        self.day.setPlaceholderText("")
        self.by = EntryField(_("By"))
        self.wrench = QComboBox()
        self.wrench.setAccessibleName(_("Torque wrench"))
        self.said = OfferBar(_("Questions about the wrench, meter and date"))
        self.meter_label = QLabel(_("Meter"))
        self._people = QStringListModel(self)
        completer = QCompleter(self._people, self)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        self.by.setCompleter(completer)
        row = FlowLayout(spacing=12)
        for label, field in (
            (self.meter_label, self.meter),
            (QLabel(_("Date")), self.day),
            (QLabel(_("By")), self.by),
            (QLabel(_("Torque wrench")), self.wrench),
        ):
            row.addWidget(_captioned(label, field))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addLayout(row)
        layout.addWidget(self.said)
        self.take_look()
        self.meter.textEdited.connect(model.type_meter)
        self.meter.editingFinished.connect(self.show_said)
        self.day.understood.connect(self._on_day)
        self.day.editingFinished.connect(self.show_said)
        self.by.textChanged.connect(model.set_by)
        self.wrench.activated.connect(self._on_wrench)
        model.opened.connect(self.refresh)
        model.head_changed.connect(self.show_said)

    def take_look(self) -> None:
        """Take the text size that is applied now."""
        for field, width in zip(self.targets(), WIDTHS_PX, strict=True):
            field.setFixedWidth(scaled(width))

    def targets(self) -> tuple[QWidget, ...]:
        """Return everything that takes keys."""
        return (self.meter, self.day, self.by, self.wrench)

    def refresh(self) -> None:
        """Show the head of another sheet."""
        snapshot, draft = self._model.snapshot, self._model.draft
        if snapshot is None or draft is None:
            return
        self.day.today = snapshot.today
        self.day.set_day(draft.on)
        if self.by.text() != draft.by:
            self.by.setText(draft.by)
        self._people.setStringList(list(snapshot.people))
        if self.meter.text() != draft.meter_text:
            self.meter.setText(draft.meter_text)
        known = last_meter_text(snapshot)
        self.meter_label.setText(_("Meter, {last}").format(last=known) if known else _("Meter"))
        self.meter.setPlaceholderText(snapshot.meter_unit.value)
        since = day_text(snapshot.last_meter_on)
        self.meter.setToolTip(_("If nothing is typed, the value of {day} counts.").format(day=since))
        self._show_wrenches()
        self.show_said()

    def _show_wrenches(self) -> None:
        snapshot, draft = self._model.snapshot, self._model.draft
        if snapshot is None or draft is None:
            return
        self.wrench.clear()
        self.wrench.addItem(_("not recorded") if snapshot.wrenches else _("no torque wrench known yet"), None)
        for wrench in snapshot.wrenches:
            self.wrench.addItem(wrench_text(wrench, snapshot.today), wrench.id)
        self.wrench.setCurrentIndex(max(self.wrench.findData(draft.instrument_id), 0))

    def show_said(self) -> None:
        """Show what is to be said about date, meter and wrench."""
        said: list[Sentence] = []
        for field, problem in ((self.day, self.day.problem), (self.meter, self._model.meter_problem)):
            is_wrong = problem is not None and not field.hasFocus()
            field.mark_problem(is_wrong)
            if problem is not None and is_wrong:
                said.append(of_problem(problem))
        draft = self._model.draft
        if draft is not None:
            said += [Sentence(doubt.question) for doubt in instrument_doubts(self._model.wrench, draft.on)]
        self.said.show_sentences(said)

    def _on_day(self) -> None:
        if self.day.day is not None:
            self._model.set_day(self.day.day)

    def _on_wrench(self) -> None:
        self._model.set_wrench(self.wrench.currentData())


def _captioned(label: QLabel, field: QWidget) -> QWidget:
    set_role(label, "caption")
    label.setBuddy(field)
    field.setProperty("bench", True)
    box = QWidget()
    column = QVBoxLayout(box)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(0)
    column.addWidget(label)
    column.addWidget(field)
    return box
