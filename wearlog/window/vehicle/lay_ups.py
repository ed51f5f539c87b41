"""Times in which the vehicle stands unused, one a line."""

from functools import partial
from gettext import gettext as _

from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from wearlog.window.fields import DateField, EntryField, FieldNote
from wearlog.window.theme import scaled, set_role
from wearlog.window.vehicle.fields import show_problems
from wearlog.window.vehicle.model import VehicleModel
from wearlog.workshop.vehicles_draft import LayUpDraft

_DAY_PX, _REASON_PX = 128, 264


class LayUpRows(QWidget):
    """The lay-ups of the vehicle."""

    def __init__(self, model: VehicleModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("Lay-ups"))
        self._model = model
        self.fields: dict[str, QWidget] = {}
        self._stops: list[QWidget] = []
        self.heading = QLabel(_("Lay-ups"))
        set_role(self.heading, "strong")
        self.hint = QLabel(_("Times in which it stands unused; they don’t count for how much it is used."))
        self.hint.setWordWrap(True)
        set_role(self.hint, "caption")
        self.add = QPushButton(_("Add a la&y-up"))
        self.add.setAccessibleName(_("Add a lay-up"))
        set_role(self.add, "link")
        self.add.clicked.connect(self._add)
        self.said = FieldNote()
        self.said.setAccessibleName(_("Notes on lay-ups"))
        self.said.hide()
        head = QHBoxLayout()
        head.setSpacing(16)
        head.addWidget(self.heading)
        head.addWidget(self.add)
        head.addWidget(self.hint, 1)
        self._place = QVBoxLayout()
        self._rows: QWidget | None = None
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addLayout(head)
        layout.addLayout(self._place)
        layout.addWidget(self.said)

    def fill(self) -> None:
        """Show the lay-ups anew."""
        if self._rows is not None:
            self._rows.hide()
            self._rows.deleteLater()
        self.fields, self._stops = {}, [self.add]
        shown = [one for one in self._model.draft.lay_ups if not one.is_dropped]
        self.hint.setVisible(not shown)
        self._rows = QWidget()
        grid = QGridLayout(self._rows)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(4)
        grid.setColumnStretch(4, 1)
        captions = (_("Stands from"), _("Used again on"), _("Reason"))
        for column, text in enumerate(captions if shown else ()):
            caption = QLabel(text)
            set_role(caption, "caption")
            grid.addWidget(caption, 0, column)
        for row, one in enumerate(shown, start=1):
            self._add_row(grid, row, one)
        self._place.addWidget(self._rows)
        # At once, so that the focus can go there before the layout does.
        self._rows.show()
        self.show_state()

    def _add_row(self, grid: QGridLayout, row: int, one: LayUpDraft) -> None:
        model, snapshot = self._model, self._model.snapshot
        if snapshot is None:
            return
        first = DateField(_("Lay-up {n}: stands from").format(n=row), snapshot.today)
        until = DateField(_("Lay-up {n}: used again on").format(n=row), snapshot.today)
        first.setPlaceholderText(_("day"))
        until.setPlaceholderText(_("not yet"))
        reason = EntryField(_("Lay-up {n}: reason").format(n=row))
        drop = QPushButton(_("Take back") if one.lay_up is not None else _("Leave out"))
        drop.setAccessibleName(_("Lay-up {n}: {action}").format(n=row, action=drop.text()))
        set_role(drop, "link")
        for field, name, width in ((first, "from_on", _DAY_PX), (until, "until_on", _DAY_PX)):
            key = f"{one.key}:{name}"
            day, unread = getattr(one, name), model.unread_text(key)
            field.setText(unread if unread is not None else day.isoformat() if day is not None else "")
            field.setMaximumWidth(scaled(width))
            field.understood.connect(partial(self._take_day, one.key, name, field))
            self.fields[key] = field
        reason.setText(one.reason)
        reason.setMaximumWidth(scaled(_REASON_PX))
        reason.understood.connect(lambda: model.set_lay_up(one.key, reason=reason.text()))
        drop.clicked.connect(lambda: model.drop_lay_up(one.key))
        for column, widget in enumerate((first, until, reason, drop)):
            grid.addWidget(widget, row, column)
            self._stops.append(widget)

    def _take_day(self, key: int, name: str, field: DateField) -> None:
        self._model.misread(f"{key}:{name}", field.text(), field.problem)
        if field.problem is None:
            self._model.set_lay_up(key, **{name: field.day})

    def _add(self) -> None:
        key = self._model.add_lay_up()
        field = self.fields.get(f"{key}:from_on")
        if field is not None:
            field.setFocus()

    def stops(self) -> list[QWidget]:
        """Return the fields in the order of the hand."""
        return self._stops

    def show_state(self) -> QWidget | None:
        """Show what is wrong; return the first field that is."""
        return show_problems(self.fields, self.said, self._model.problems)
