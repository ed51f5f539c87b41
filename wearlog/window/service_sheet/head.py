"""The head of the sheet: which vehicle, its meter, when, by whom."""

from collections.abc import Iterable, Iterator
from datetime import date
from gettext import gettext as _

from PySide6.QtCore import QStringListModel, Qt, Signal
from PySide6.QtWidgets import QCompleter, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from wearlog.drawing.words import use_text
from wearlog.window.fields import DateField, EntryField, TagField
from wearlog.window.offer_bar import Sentence, of_problem
from wearlog.window.service_sheet.model import SheetModel
from wearlog.window.service_sheet.words import meter_label
from wearlog.window.theme import scaled, set_role
from wearlog.wording import day_text

#: Widths of tag, meter, old meter, date and person, [px].
WIDTHS_PX = (112, 152, 124, 112, 108)


class SheetHead(QWidget):
    """Tag, meter, date and person on one line.

    Signals
    -------
    tag_confirmed(str)
        A tag was typed or scanned and confirmed with Enter.
    """

    tag_confirmed = Signal(str)

    def __init__(self, model: SheetModel) -> None:
        super().__init__()
        self._model = model
        self._shown_tag = ""
        self.tag = TagField(_("Vehicle tag"))
        self.tag.setPlaceholderText(_("type or scan"))
        self.meter = EntryField(_("Meter"))
        self.day = DateField(_("Date"), _today_of(model))
        self.day.setPlaceholderText("")
        self.by = EntryField(_("By"))
        self.old_meter = EntryField(_("Old meter, last value"))
        self.old_meter.setPlaceholderText(_("not known"))
        self.meter_label = QLabel(_("Meter"))
        self.old_label = QLabel(_("Old meter showed"))
        captions = (
            QLabel(_("Vehicle")),
            self.meter_label,
            self.old_label,
            QLabel(_("Date")),
            QLabel(_("By")),
        )
        self._captions = captions
        self._room_px = 0
        self._people = QStringListModel(self)
        completer = QCompleter(self._people, self)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        self.by.setCompleter(completer)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        for label, field in zip(captions, self.targets(), strict=True):
            row.addLayout(_captioned(label, field))
        row.addStretch(1)
        self.tag.returnPressed.connect(self._on_tag)
        self.meter.textEdited.connect(model.type_meter)
        self.old_meter.textEdited.connect(model.type_old_meter)
        self.day.understood.connect(self._on_day)
        self.by.textChanged.connect(model.set_by)
        model.opened.connect(self.refresh)
        model.head_changed.connect(self._show_meter)
        self.refresh()

    def fit(self, room_px: int) -> None:
        """Take the text size that is applied now, as far as there is room, [px]; captions stay whole."""
        self._room_px = room_px
        self._fit()

    def _fit(self) -> None:
        if not self._room_px:
            return
        columns = dict(zip(self.targets(), zip(self._captions, WIDTHS_PX, strict=True), strict=True))
        if self.old_meter.isHidden():
            del columns[self.old_meter]
        wanted = {field: scaled(width) for field, (_label, width) in columns.items()}
        least = {field: label.minimumSizeHint().width() for field, (label, _width) in columns.items()}
        room = self._room_px - 8 * len(columns)
        tight: set[QWidget] = set()
        share = 1.0
        while len(tight) < len(wanted):
            rest = sum(width for field, width in wanted.items() if field not in tight)
            share = min(1.0, (room - sum(least[field] for field in tight)) / rest)
            more = {f for f, width in wanted.items() if f not in tight and width * share < least[f]}
            if not more:
                break
            tight |= more
        for field, width in wanted.items():
            field.setFixedWidth(max(round(width * share), least[field]))

    def set_tags(self, tags: Iterable[tuple[str, int]]) -> None:
        """Say which tags there are."""
        self.tag.set_tags(tags)

    def stops(self) -> Iterator[QWidget]:
        """Go through the widgets that Enter stops at; date and person only where they are not known."""
        yield self.tag
        yield self.meter
        if self._model.draft is not None and self._model.draft.meter_was_replaced:
            yield self.old_meter
        if self.day.day is None:
            yield self.day
        if not self.by.text().strip():
            yield self.by

    def targets(self) -> tuple[QWidget, ...]:
        """Return everything that takes keys."""
        return (self.tag, self.meter, self.old_meter, self.day, self.by)

    def refresh(self) -> None:
        """Show another sheet, or none."""
        snapshot, draft = self._model.snapshot, self._model.draft
        for field in (self.meter, self.day, self.by):
            field.setEnabled(draft is not None)
        if snapshot is None or draft is None:
            if self.tag.text() == self._shown_tag:
                # Not what was scanned meanwhile.
                self.tag.clear()
            for field in (self.meter, self.day, self.by, self.old_meter):
                field.clear()
            self.meter_label.setText(_("Meter"))
            self.meter.setPlaceholderText("")
            self._show_meter()
            return
        self._shown_tag = snapshot.tag
        self.tag.setText(snapshot.tag)
        if self.tag.hasFocus():
            self.tag.selectAll()
        self._people.setStringList(list(snapshot.people))
        self.day.today = snapshot.today
        self.day.set_day(draft.on)
        self.by.setText(draft.by)
        self.meter_label.setText(meter_label(snapshot))
        self.meter_label.setToolTip(day_text(snapshot.last_meter_on) if snapshot.last_meter_on else "")
        self.meter.setPlaceholderText(snapshot.meter_unit)
        self._show_meter()

    def _show_meter(self) -> None:
        draft = self._model.draft
        text = draft.meter_text if draft is not None else ""
        if self.meter.text() != text:
            self.meter.setText(text)
        was_replaced = draft is not None and draft.meter_was_replaced
        if (
            was_replaced
            and draft is not None
            and not self._model.old_meter_text
            and not self.old_meter.hasFocus()
        ):
            old = draft.old_meter_value
            shown = "" if old is None else self._old_text(old)
            if self.old_meter.text() != shown:
                self.old_meter.setText(shown)
        self.old_meter.setVisible(was_replaced)
        self.old_label.setVisible(was_replaced)
        self._fit()

    def _old_text(self, old: float) -> str:
        snapshot = self._model.snapshot
        use_unit = snapshot.use_unit if snapshot else "km"
        return use_text(old, use_unit, self._model.shown)

    def _on_tag(self) -> None:
        # A scanner is quicker than the list of tags that it opens.
        if (popup := self.tag.completer().popup()) is not None:
            popup.hide()
        # What is scanned next takes the place of this tag, wherever the focus goes meanwhile.
        self.tag.selectAll()
        self.tag_confirmed.emit(self.tag.text().strip())

    def _on_day(self) -> None:
        if self.day.day is not None:
            self._model.set_day(self.day.day)

    def sentences(self) -> list[Sentence]:
        """Return what is to be said about the head: meter and date."""
        said: list[Sentence] = []
        if self.day.problem is not None:
            said.append(of_problem(self.day.problem))
        if self._model.meter_problem is not None:
            said.append(of_problem(self._model.meter_problem))
        preview, draft = self._model.preview, self._model.draft
        if preview is not None and draft is not None and draft.meter_text.strip():
            said += [of_problem(problem) for problem in preview.meter_problems]
            said += [
                Sentence(doubt.question, doubt.offers, doubt)
                for doubt in preview.meter_doubts
                if doubt.offers
            ]
        is_wrong = self._model.meter_problem is not None or bool(preview and preview.meter_problems)
        self.meter.mark_problem(is_wrong and bool(self.meter.text()))
        self.day.mark_problem(self.day.problem is not None)
        return said


def _captioned(label: QLabel, field: QWidget) -> QVBoxLayout:
    set_role(label, "caption")
    label.setBuddy(field)
    field.setProperty("bench", True)
    column = QVBoxLayout()
    column.setSpacing(0)
    column.addWidget(label)
    column.addWidget(field)
    return column


def _today_of(model: SheetModel) -> date:
    return model.snapshot.today if model.snapshot else date.min
