"""Work at the shelf with the chosen part: receive, count, order, take off; price and lead time."""

from gettext import gettext as _
from typing import Literal, TypeAlias, get_args

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from wearlog.drawing.parts_demand import paint_demand
from wearlog.drawing.parts_words import why_text
from wearlog.fleet.problem import Problem
from wearlog.window import theme
from wearlog.window.fields import EntryField, FieldNote
from wearlog.window.flow import FlowLayout
from wearlog.window.theme import set_role
from wearlog.workshop.parts_snapshot import PartsLine, PartsSnapshot, ShelfTerms

Job: TypeAlias = Literal["receive", "count", "order", "use"]
JOBS: tuple[Job, ...] = get_args(Job)


def likely_number(job: Job, line: PartsLine) -> int:
    """Return the number of pieces that is most likely meant."""
    return {
        "receive": line.on_order or line.order_now or 1,
        "count": line.on_hand,
        "order": line.order_now or line.short or 1,
        "use": 1,
    }[job]


class DemandDrawing(QWidget):
    """The demand of the chosen part as a drawing with numbers."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._line: PartsLine | None = None
        self.setAccessibleName(_("Chance of each number of pieces"))

    def show_line(self, line: PartsLine | None) -> None:
        """Show a line; nothing for None."""
        self._line = line
        self.setFixedSize(theme.scaled(240), theme.scaled(84))
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint it."""
        if self._line is None or not self._line.mean:
            return
        painter = QPainter(self)
        area = self.rect().toRectF().adjusted(0, 2, -1, 0)
        paint_demand(painter, area, self._line, theme.colours(), theme.text_scale(), numbers=True)
        painter.end()


class NumberField(EntryField):
    """A number from 0 on, or nothing.

    Attributes
    ----------
    value
        None while the text is empty or not understood.
    """

    def __init__(self, name: str, *, is_whole: bool, parent: QWidget | None = None) -> None:
        super().__init__(name, parent)
        self.value: float | None = None
        self._is_whole = is_whole

    def read(self, text: str) -> None:
        """Understand the text as a number."""
        self.problem, self.value = None, None
        if not text.strip():
            return
        try:
            number = float(text.strip().replace(",", "."))
        except ValueError:
            number = -1.0
        if not 0.0 <= number < 1e6 or (self._is_whole and number != int(number)):
            self.problem = Problem(
                _("“{text}” is not a number from 0 on.").format(text=text.strip()),
                "",
                _("Leave it empty for what the part type says."),
            )
        else:
            self.value = number


class ShelfBar(QWidget):
    """The chosen part: why it is wanted, its demand, and the jobs at the shelf.

    Signals
    -------
    job_done(str, int)
        A job and the number of pieces.
    terms_given(ShelfTerms)
        Price, lead time, least stock.
    left()
        Esc: back to the list.
    """

    job_done = Signal(str, int)
    terms_given = Signal(object)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("The chosen part"))
        self._line: PartsLine | None = None
        self._is_compact = False
        self.job: Job = "receive"
        self.name = QLabel()
        self.name.setWordWrap(True)
        set_role(self.name, "strong")
        self.name.setAccessibleName(_("Chosen part"))
        self.why = QLabel()
        self.why.setWordWrap(True)
        self.why.setAccessibleName(_("Why it is wanted"))
        self.why.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.drawing = DemandDrawing()
        words = QVBoxLayout()
        words.setSpacing(4)
        words.addWidget(self.name)
        words.addWidget(self.why, 1)
        upper = QHBoxLayout()
        upper.setSpacing(24)
        upper.addLayout(words, 1)
        side = QVBoxLayout()
        side.setSpacing(0)
        side.addWidget(self.drawing)
        self.legend = QLabel(_("filled: there or on order; tick: enough"))
        set_role(self.legend, "caption")
        side.addWidget(self.legend)
        side.addStretch(1)
        upper.addLayout(side)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(8)
        layout.addLayout(upper)
        layout.addLayout(self._make_jobs())
        self.terms = self._make_terms()
        layout.addWidget(self.terms)
        self.terms.hide()

    def show_line(self, snapshot: PartsSnapshot | None, line: PartsLine | None) -> None:
        """Show a line; nothing for None."""
        is_other = line is None or self._line is None or line.key != self._line.key
        self._line = line
        self.setEnabled(line is not None)
        self.setVisible(line is not None)
        self.drawing.show_line(line)
        self._show_legend()
        if line is None or snapshot is None:
            return
        self.name.setText(f"{line.name}, {line.depot}")
        self.why.setText(why_text(snapshot, line))
        self.name.setToolTip(self.why.text())
        self.take_off.setEnabled(line.on_hand > 0)
        if is_other:
            self.terms.hide()
            self.job = "receive"
        self.pieces.setText(str(likely_number(self.job, line)))
        if not self.terms.isVisible():
            self._fill_terms(line)

    def set_compact(self, is_compact: bool) -> None:
        """Leave out the reason and the drawing where the list needs the room; both stay in the tool tip."""
        self._is_compact = is_compact
        for widget in (self.why, self.drawing, self.legend):
            widget.setVisible(not is_compact)
        self._show_legend()

    def _show_legend(self) -> None:
        has_drawing = self._line is not None and self._line.mean > 0.0
        self.legend.setVisible(has_drawing and not self._is_compact)

    def begin(self, job: Job) -> None:
        """Ask for the number of pieces of a job; Enter does it."""
        if self._line is None:
            return
        self.job = job
        self.pieces.setText(str(likely_number(job, self._line)))
        self.pieces.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.pieces.selectAll()
        self.hint.setText(_("Enter: {job}").format(job=self.buttons[job].text().replace("&", "").lower()))

    def _make_jobs(self) -> FlowLayout:
        self.pieces = NumberField(_("Pieces"), is_whole=True)
        self.pieces.setFixedWidth(theme.scaled(64))
        self.pieces.installEventFilter(self)
        texts = {
            "receive": _("Receive"),
            "count": _("Set to count"),
            "order": _("Order"),
            "use": _("Take off"),
        }
        keys = {"receive": "R", "count": "C", "order": "O", "use": "U"}
        self.buttons: dict[str, QPushButton] = {}
        row = FlowLayout()
        label = QLabel(_("pieces"))
        set_role(label, "muted")
        row.addWidget(label)
        row.addWidget(self.pieces)
        for job in JOBS:
            button = QPushButton(texts[job])
            button.setAccessibleName(texts[job])
            button.setToolTip(f"{texts[job]}  {keys[job]}")
            button.clicked.connect(lambda _checked, job=job: self._do(job))
            self.buttons[job] = button
            row.addWidget(button)
        self.take_off = self.buttons["use"]
        self.terms_button = QPushButton(_("Price and lead time"))
        self.terms_button.setAccessibleName(_("Price and lead time"))
        set_role(self.terms_button, "link")
        self.terms_button.clicked.connect(self._toggle_terms)
        row.addWidget(self.terms_button)
        self.hint = QLabel()
        set_role(self.hint, "caption")
        self.hint.setAccessibleName(_("What Enter does"))
        row.addWidget(self.hint)
        return row

    def _make_terms(self) -> QWidget:
        made = QWidget()
        row = FlowLayout(made)
        self.price = NumberField(_("Price of one piece"), is_whole=False)
        self.lead = NumberField(_("Lead time in days"), is_whole=True)
        self.least = NumberField(_("Least stock"), is_whole=True)
        self.joining = NumberField(_("Joining links on hand"), is_whole=True)
        self.joining_label = QLabel(_("joining links"))
        self.note = FieldNote()
        keep = QPushButton(_("Keep"))
        keep.setAccessibleName(_("Keep price and lead time"))
        keep.clicked.connect(self._keep_terms)
        for text, field in (
            (QLabel(_("price")), self.price),
            (QLabel(_("lead time, days")), self.lead),
            (QLabel(_("at least")), self.least),
            (self.joining_label, self.joining),
        ):
            set_role(text, "muted")
            text.setBuddy(field)
            field.setFixedWidth(theme.scaled(84))
            field.returnPressed.connect(self._keep_terms)
            row.addWidget(text)
            row.addWidget(field)
        row.addWidget(keep)
        row.addWidget(self.note)
        return made

    def _fill_terms(self, line: PartsLine) -> None:
        self.price.setText("" if line.price is None else f"{line.price:.2f}")
        self.lead.setText(str(line.lead_days))
        self.least.setText(str(line.least) if line.least else "")
        self.joining.setText(str(line.joining_links) if line.joining_links else "")
        for widget in (self.joining, self.joining_label):
            widget.setVisible(bool(line.joining_link))

    def _toggle_terms(self) -> None:
        if self._line is None:
            return
        self._fill_terms(self._line)
        self.terms.setVisible(self.terms.isHidden())
        if not self.terms.isHidden():
            self.price.setFocus(Qt.FocusReason.OtherFocusReason)
            self.price.selectAll()

    def _keep_terms(self) -> None:
        fields: tuple[NumberField, ...] = (self.price, self.lead, self.least, self.joining)
        problems = [field.problem for field in fields if field.problem is not None]
        self.note.show_problems(problems)
        if problems or self._line is None:
            return
        self.terms.hide()
        self.terms_given.emit(
            ShelfTerms(
                lead_days=None if self.lead.value is None else int(self.lead.value),
                price=self.price.value,
                least=None if self.least.value is None else int(self.least.value),
                joining_links=int(self.joining.value or 0),
            )
        )

    def _do(self, job: Job) -> None:
        if self._line is None:
            return
        if self.pieces.value is None:
            self.pieces.mark_problem(True)
            self.hint.setText(_("Type how many pieces."))
            return
        self.hint.clear()
        self.job_done.emit(job, int(self.pieces.value))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let Enter in the number do the job and Esc go back to the list."""
        if watched is self.pieces and isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
                self._do(self.job)
                if self.pieces.value is not None:
                    self.left.emit()
                return True
            if event.key() == Qt.Key.Key_Escape:
                self.hint.clear()
                self.left.emit()
                return True
        return super().eventFilter(watched, event)
