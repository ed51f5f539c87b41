"""Beside the list: the fastener that the hand is at, its pattern drawn, and what is known of it."""

from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QComboBox, QLabel, QPushButton, QVBoxLayout, QWidget

from wearlog.drawing.torque_pattern import BoltPattern, TorquePattern, pattern_text
from wearlog.drawing.torque_words import (
    bolts_text,
    last_text,
    passes_text,
    range_also_text,
    range_text,
    recheck_rule_text,
    recheck_text,
    treatment_text,
    work_text,
)
from wearlog.fleet.torque import TorqueWork
from wearlog.window.flow import FlowLayout
from wearlog.window.theme import colours, set_role, text_scale
from wearlog.window.torque.earlier import EarlierRecords
from wearlog.window.torque.model import WORKS, TorqueModel


class FastenerDetail(QWidget):
    """The fastener that is chosen.

    Signals
    -------
    change_wanted(), adding_wanted(), taking_off_wanted()
        The fastener, or the sheet, is to be changed.
    """

    change_wanted = Signal()
    adding_wanted = Signal()
    taking_off_wanted = Signal()

    def __init__(self, model: TorqueModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self.setAccessibleName(_("Chosen fastener"))
        self.name = _label("title")
        self.range = _label("strong")
        self.pattern = TorquePattern()
        self.order = _label("muted")
        self.passes = _label("muted")
        self.work = QComboBox()
        self.work.setAccessibleName(_("What was done"))
        self.work.setToolTip(_("F2 in the field goes to the next one, the star key to the marker line."))
        for work in WORKS:
            text = work_text(work)
            self.work.addItem(text[:1].upper() + text[1:], work.value)
        self.work.activated.connect(self._on_work)
        self.last = _label("muted")
        self.earlier = EarlierRecords()
        self.recheck = _label("muted")
        self.note = _label("muted")
        self.source = _label("caption")
        self.change = _link(_("&Change …"), self.change_wanted)
        self.add = _link(_("&Add a fastener …"), self.adding_wanted)
        self.take_off = _link(_("&Take off …"), self.taking_off_wanted)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 4, 0)
        layout.setSpacing(8)
        layout.addWidget(self.name)
        layout.addWidget(self.range)
        layout.addWidget(self.pattern, 0, Qt.AlignmentFlag.AlignHCenter)
        said = (self.last, self.earlier, self.recheck, self.source)
        for widget in (self.order, self.passes, self.work, self.note, *said):
            layout.addWidget(widget)
        links = FlowLayout(spacing=16)
        for button in (self.change, self.take_off, self.add):
            links.addWidget(button)
        layout.addLayout(links)
        layout.addStretch(1)
        model.opened.connect(self.refresh)
        model.chosen.connect(lambda _number: self.refresh())
        model.entry_changed.connect(self._on_entry)
        self.refresh()

    def take_look(self) -> None:
        """Take the colours and the text size that are applied now."""
        self.pattern.wear_colours(colours(), text_scale())

    def refresh(self) -> None:
        """Show the chosen fastener."""
        self.take_look()
        model, snapshot = self._model, self._model.snapshot
        line = model.line(model.chosen_id)
        has_line = line is not None
        for widget in (self.pattern, self.work, self.change, self.take_off, self.earlier):
            widget.setVisible(has_line)
        self.earlier.show_line(line, model.shown)
        if line is None or snapshot is None:
            for label in (
                *(self.name, self.range, self.order, self.passes),
                *(self.last, self.recheck, self.note, self.source),
            ):
                _say(label, "")
            return
        fastener = line.fastener
        _say(self.name, fastener.name[:1].upper() + fastener.name[1:])
        also = range_also_text(fastener, model.shown)
        wanted = range_text(fastener) + (f" ({also})" if also else "")
        _say(self.range, f"{wanted}, {treatment_text(fastener.treatment)}")
        words = pattern_text(BoltPattern(fastener.bolts, fastener.is_opposing))
        size = bolts_text(fastener) if fastener.bolts == 1 else fastener.size
        _say(self.order, f"{words} {size}".strip())
        _say(self.passes, passes_text(fastener))
        last = last_text(line, model.shown)
        _say(self.last, _("Last: {what}.").format(what=last) if last else _("Nothing recorded yet."))
        _say(self.note, fastener.note)
        unit = snapshot.use_unit
        if line.recheck is not None:
            _say(self.recheck, recheck_text(line.recheck, unit, model.shown))
        else:
            rule = recheck_rule_text(fastener, unit, model.shown)
            _say(self.recheck, rule[:1].upper() + rule[1:] + ".")
        source = fastener.source or _("not given")
        _say(self.source, _("Source: {source}").format(source=source))
        self._show_entry()

    def _on_entry(self, fastener_id: int) -> None:
        if fastener_id == self._model.chosen_id:
            self._show_entry()

    def _show_entry(self) -> None:
        line = self._model.line(self._model.chosen_id)
        if line is None:
            return
        entry = self._model.entry(self._model.chosen_id)
        self.work.setCurrentIndex(WORKS.index(entry.work))
        fastener = line.fastener
        done = len(entry.values_nm)
        if done == 1 or entry.work is TorqueWork.MARKER_SEEN:
            done = fastener.bolts
        self.pattern.show_pattern(
            BoltPattern(fastener.bolts, fastener.is_opposing, min(done, fastener.bolts))
        )

    def _on_work(self, index: int) -> None:
        self._model.set_work(self._model.chosen_id, WORKS[index])


def _label(role: str) -> QLabel:
    label = QLabel()
    set_role(label, role)
    label.setWordWrap(True)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    return label


def _say(label: QLabel, text: str) -> None:
    label.setText(text)
    label.setVisible(bool(text))


def _link(text: str, signal: object) -> QPushButton:
    button = QPushButton(text)
    button.setAccessibleName(text.replace("&", "").removesuffix(" …"))
    set_role(button, "link")
    button.clicked.connect(signal)
    return button
