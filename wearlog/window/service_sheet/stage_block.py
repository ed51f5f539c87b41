"""One stage on the sheet: its readings in the order of the hand, then what was done."""

from collections.abc import Callable, Iterator
from functools import partial
from gettext import gettext as _

from PySide6.QtCore import Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from wearlog.drawing.words import measurand_text
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Method
from wearlog.fleet.service import Task
from wearlog.window.bench_keys import BenchTick, SpotsField
from wearlog.window.flow import FlowLayout
from wearlog.window.offer_bar import OfferBar, of_problem
from wearlog.window.page import hairline
from wearlog.window.service_sheet.entry_row import NARROW_PX, EntryRow, muted_label
from wearlog.window.service_sheet.model import SheetModel
from wearlog.window.service_sheet.outcome import ElidedLabel
from wearlog.window.service_sheet.words import task_last_text
from wearlog.window.theme import scaled, set_role, text_scale
from wearlog.workshop.sheet import AskedReading, AskedTask, SheetBlock

#: So many of the things folded away are named, and where the text is large.
FOLDED_SHOWN, FOLDED_SHOWN_LARGE = 3, 1
LARGE = 1.5
#: Height of a stage's heading, with or without a link in it, [px].
HEAD_PX = 32


class TaskEntry(QWidget):
    """One task: a tick, and from/to where something is set."""

    def __init__(self, model: SheetModel, asked: AskedTask, stage_name: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.key = asked.key
        self._model = model
        name = f"{stage_name}: {asked.text}"
        self.tick = BenchTick(asked.text)
        self.tick.setAccessibleName(name)
        self.tick.setMinimumHeight(scaled(40))
        if model.snapshot is not None:
            self.tick.setToolTip(task_last_text(asked, model.snapshot, ShownUnits()))
        self.tick.toggled.connect(lambda done: model.tick(asked.key, done))
        self.before = self._value_field(_("{task} from").format(task=name), _("from"))
        self.after = self._value_field(_("{task} to").format(task=name), _("to"))
        self.unit = muted_label(asked.quantity_unit)
        self._takes_values = asked.takes_values
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(6)
        for widget in (self.tick, self.before, self.after, self.unit):
            row.addWidget(widget)
        self.refresh()

    def _value_field(self, name: str, hint: str) -> SpotsField:
        field = SpotsField(name)
        field.set_bench_size()
        field.setPlaceholderText(hint)
        field.setFixedWidth(scaled(72))
        field.textEdited.connect(self._on_values)
        return field

    def _on_values(self) -> None:
        self._model.type_values(self.key, self.before.text(), self.after.text())

    def stops(self) -> Iterator[QWidget]:
        """Go through the widgets that Enter stops at."""
        yield self.tick
        if self._takes_values and self.tick.isChecked():
            yield from (self.before, self.after)

    def refresh(self) -> None:
        """Show what the model holds."""
        task = self._model.task(self.key)
        self.tick.setChecked(task.done)
        for field, text in ((self.before, task.before_text), (self.after, task.after_text)):
            if field.text() != text:
                field.setText(text)
            field.setVisible(self._takes_values and task.done)
        self.unit.setVisible(self._takes_values and task.done)


class StageBlock(QWidget):
    """One stage: the readings that are due, what else is possible folded away, the tasks.

    Signals
    -------
    accepted(str, doubt, Offer)
        An offer about an entry was taken.
    grew()
        Rows came, went or changed their height.
    """

    accepted = Signal(str, object, object)
    grew = Signal()

    def __init__(self, model: SheetModel, block: SheetBlock, parent: QWidget) -> None:
        super().__init__(parent)
        self._model = model
        self._block = block
        self.setAccessibleName(block.stage_name)
        self.rows: dict[str, EntryRow] = {}
        self.tasks: dict[str, TaskEntry] = {}
        self._pairs: list[QBoxLayout] = []
        self.said = OfferBar(_("Problems of {stage}").format(stage=block.stage_name))
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.setSpacing(0)
        self._layout.addWidget(hairline())
        self._layout.addLayout(self._head())
        self._entries = QVBoxLayout()
        self._entries.setSpacing(0)
        self._layout.addLayout(self._entries)
        self._layout.addLayout(self._task_lines())
        self._layout.addWidget(self.said)
        due = [asked for asked in block.readings if self._is_open(asked)]
        self._add_rows(due)
        self._folded = [asked for asked in block.readings if not self._is_open(asked)]
        self._tell_folded()

    def _is_open(self, asked: AskedReading) -> bool:
        return asked.is_due or not self._model.entry(asked.key).is_empty

    def _head(self) -> QBoxLayout:
        name = QLabel(self._block.stage_name[:1].upper() + self._block.stage_name[1:])
        set_role(name, "strong")
        name.setMinimumHeight(scaled(HEAD_PX))
        drive = ElidedLabel()
        set_role(drive, "caption")
        drive.say(self._block.drive_text)
        self.more = QPushButton()
        set_role(self.more, "link")
        self.more.clicked.connect(self.unfold)
        beside = QHBoxLayout()
        beside.setSpacing(12)
        beside.addWidget(name)
        beside.addWidget(drive, 1)
        self._heading = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._heading.setContentsMargins(2, 2, 0, 0)
        self._heading.setSpacing(12)
        self._heading.addLayout(beside, 1)
        self._heading.addWidget(self.more)
        return self._heading

    def _task_lines(self) -> QVBoxLayout:
        """Lay out what is due first, then the other tasks, then the parts that may be fitted."""
        lines = QVBoxLayout()
        lines.setSpacing(0)
        groups: dict[int, list[TaskEntry]] = {0: [], 1: [], 2: []}
        for asked in self._block.tasks:
            entry = TaskEntry(self._model, asked, self._block.stage_name, self)
            entry.setVisible(asked.is_due or self._model.task(asked.key).done)
            self.tasks[asked.key] = entry
            groups[0 if asked.is_due else 2 if asked.task is Task.PART_FITTED else 1].append(entry)
        for entries in groups.values():
            line = FlowLayout(spacing=20)
            line.setContentsMargins(2, 0, 0, 0)
            for entry in entries:
                line.addWidget(entry)
            lines.addLayout(line)
        return lines

    def _add_rows(self, readings: list[AskedReading]) -> None:
        """Add rows; two grades by eye in a row share one line."""
        waiting = list(readings)
        while waiting:
            asked = waiting.pop(0)
            pair = [asked]
            if asked.method is Method.GRADE and waiting and waiting[0].method is Method.GRADE:
                pair.append(waiting.pop(0))
            line = QBoxLayout(QBoxLayout.Direction.LeftToRight)
            line.setSpacing(16)
            self._pairs.append(line)
            for reading in pair:
                row = EntryRow(
                    self._model,
                    reading.key,
                    drive_text=self._block.drive_text,
                    is_half=len(pair) == 2,
                    parent=self,
                )
                row.accepted.connect(self.accepted)
                row.grew.connect(self.grew)
                self.rows[reading.key] = row
                line.addWidget(row, 1)
            self._entries.addLayout(line)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put pairs under one another where there is no room beside."""
        super().resizeEvent(event)
        is_narrow = event.size().width() < scaled(NARROW_PX)
        way = QBoxLayout.Direction.TopToBottom if is_narrow else QBoxLayout.Direction.LeftToRight
        for line in self._pairs:
            if line.direction() is not way:
                line.setDirection(way)
                line.setSpacing(0 if is_narrow else 16)
        if self._heading.direction() is not way:
            self._heading.setDirection(way)
            self._heading.setSpacing(0 if is_narrow else 12)

    def _tell_folded(self) -> None:
        names = [measurand_text(asked.measurand) for asked in self._folded]
        names += [entry.tick.text() for entry in self.tasks.values() if entry.isHidden()]
        unique = list(dict.fromkeys(names))
        most = FOLDED_SHOWN if text_scale() < LARGE else FOLDED_SHOWN_LARGE
        shown = ", ".join(unique[:most]) + (" …" if len(unique) > most else "")
        self.more.setText(_("also possible: {what}").format(what=shown))
        self.more.setToolTip(", ".join(unique))
        self.more.setAccessibleName(
            _("{stage}, also possible: {what}").format(stage=self._block.stage_name, what=", ".join(unique))
        )
        self.more.setVisible(bool(unique))

    def unfold(self) -> None:
        """Show everything that is possible at this stage."""
        folded, self._folded = self._folded, []
        first = folded[0].key if folded else ""
        self._add_rows(folded)
        for entry in self.tasks.values():
            entry.setVisible(True)
        self._tell_folded()
        self.grew.emit()
        if first:
            self.rows[first].field.setFocus()

    def stops(self) -> Iterator[QWidget]:
        """Go through the widgets that Enter stops at, in the order of the hand."""
        for row in self.rows.values():
            yield from row.stops()
        for task in self.tasks.values():
            if not task.isHidden():
                yield from task.stops()

    def targets(self) -> Iterator[QWidget]:
        """Go through everything that takes keys."""
        for row in self.rows.values():
            yield from (row.what, row.pitches, row.field, row.definition)
        for task in self.tasks.values():
            yield from (task.tick, task.before, task.after)

    def refresh_task(self, key: str) -> None:
        """Show a task as the model holds it."""
        self.tasks[key].refresh()
        problems = [problem for k in self.tasks for problem in self._model.task_problems(k)]
        self.said.show_sentences([of_problem(problem) for problem in problems])

    def bars(self) -> Iterator[OfferBar]:
        """Go through the sentences with offers, in the order of the page."""
        for row in self.rows.values():
            yield row.said
        yield self.said

    def connect_ticks(self, go_on: Callable[[QWidget, int], None]) -> None:
        """Let a tick set by a key go on."""
        for task in self.tasks.values():
            task.tick.went_on.connect(partial(go_on, task.tick, 1))
