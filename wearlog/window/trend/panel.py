"""Beside the chart: the figure of today, the wear rule, the state, what follows, and why."""

from gettext import gettext as _

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from wearlog.drawing.explain_bars import WidthBars
from wearlog.drawing.wear_rule import RuleSize, WearRule, paint_state_mark
from wearlog.drawing.words import Fact, state_text
from wearlog.fleet.state import State
from wearlog.window import theme
from wearlog.window.theme import set_role
from wearlog.window.trend.model import TrendModel

WIDTH_PX = 248
#: From this height on there is room for everything, [px].
_ROOMY_PX = 1100
#: Qt's own word for no limit, QWIDGETSIZE_MAX.
_ANY = 16_777_215


class StateMark(QWidget):
    """The shape of a state; the word stands beside it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state: State | None = None
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def show_state(self, state: State) -> None:
        """Show a state."""
        self._state = state
        self.update()

    def sizeHint(self) -> QSize:
        """Return a square as high as the text."""
        return QSize(theme.scaled(14), theme.scaled(14))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the shape."""
        if self._state is not None:
            with QPainter(self) as painter:
                paint_state_mark(painter, QRectF(self.rect()), self._state, theme.colours())
        event.accept()


def _label(role: str, *, wraps: bool = True) -> QLabel:
    label = QLabel()
    set_role(label, role)
    label.setWordWrap(wraps)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    return label


class FactLabel(QWidget):
    """One figure: what it is, the figure, its note."""

    def __init__(self, fact: Fact, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bars = WidthBars()
        self.name, self.figure, self.note = _label("caption"), _label("strong"), _label("caption")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        for part in (self.name, self.figure, self.bars, self.note):
            layout.addWidget(part)
        self.show_fact(fact)

    def show_fact(self, fact: Fact) -> None:
        """Show another figure."""
        self.name.setText(fact.label)
        self.figure.setText(fact.figure)
        self.figure.setVisible(bool(fact.figure))
        self.note.setText(fact.note)
        self.note.setVisible(bool(fact.note))
        self.bars.wear_colours(theme.colours(), theme.text_scale())
        self.bars.show_bars(fact.bars)
        self.setAccessibleName(fact.label)
        self.figure.setAccessibleName(fact.label)
        self.setAccessibleDescription(f"{fact.figure}. {fact.note}".strip())


class FactList(QWidget):
    """Figures under one another."""

    def __init__(self, spacing: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.setSpacing(spacing)
        self.shown: list[FactLabel] = []

    def show_facts(self, facts: tuple[Fact, ...]) -> None:
        """Show figures, reusing the labels that are there."""
        while len(self.shown) > len(facts):
            gone = self.shown.pop()
            self._layout.removeWidget(gone)
            gone.hide()
            gone.deleteLater()
        for n, fact in enumerate(facts):
            if n < len(self.shown):
                self.shown[n].show_fact(fact)
            else:
                label = FactLabel(fact)
                self.shown.append(label)
                self._layout.addWidget(label)


class TrendPanel(QScrollArea):
    """What the trend means, in figures."""

    def __init__(self, model: TrendModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName(_("What the trend means"))
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.number, self.unit, self.when = _label("figure", wraps=False), _label("muted"), _label("caption")
        self.number.setAccessibleName(_("Estimate today"))
        self.rule = WearRule(RuleSize.LARGE)
        self.mark, self.state = StateMark(), _label("strong", wraps=False)
        self.state.setAccessibleName(_("State"))
        self.facts = FactList(10)
        self.facts.setAccessibleName(_("What follows"))
        self.why_button = QPushButton(_("&Why?"))
        set_role(self.why_button, "link")
        self.why_button.setCheckable(True)
        self.why_button.setAccessibleName(_("Why?"))
        self.why_button.setToolTip(_("What this rests on  {key}").format(key="Alt+W"))
        self.basis = _label("caption")
        self.why = FactList(8)
        self.why.setAccessibleName(_("What this rests on"))
        self.why.hide()
        self.why_button.toggled.connect(self._unfold)
        self.why_button.pressed.connect(self._on_why)
        self._is_by_hand = False
        self._inside = self._laid_out()
        self.setWidget(self._inside)
        self.wear_theme()
        model.changed.connect(self._show)

    def wear_theme(self) -> None:
        """Take the colours and the text scale that are applied now."""
        self.rule.wear_colours(theme.colours(), theme.text_scale())
        self.mark.updateGeometry()
        self.update()

    def stand_beside(self, *, is_wide: bool) -> None:
        """Stand beside the chart, in a column that scrolls; or below it, as high as it needs to be."""
        if is_wide:
            self.setFixedWidth(theme.scaled(WIDTH_PX))
            self.setMinimumHeight(0)
        else:
            self.setMinimumWidth(0)
            self.setMaximumWidth(_ANY)
            self.setMinimumHeight(self._inside.sizeHint().height())

    def sizeHint(self) -> QSize:
        """Return a height that never pushes the chart; the column scrolls."""
        return QSize(theme.scaled(WIDTH_PX), self.minimumHeight())

    def _laid_out(self) -> QWidget:
        inside = QWidget()
        number = QHBoxLayout()
        number.setSpacing(8)
        number.addWidget(self.number, 0, Qt.AlignmentFlag.AlignBottom)
        number.addWidget(self.unit, 1, Qt.AlignmentFlag.AlignBottom)
        self.unit.setContentsMargins(0, 0, 0, 7)
        state = QHBoxLayout()
        state.setSpacing(8)
        state.addWidget(self.mark)
        state.addWidget(self.state, 1)
        why = QHBoxLayout()
        why.setSpacing(12)
        why.addWidget(self.why_button)
        why.addWidget(self.basis, 1)
        layout = QVBoxLayout(inside)
        layout.setContentsMargins(0, 0, 8, 0)
        layout.setSpacing(0)
        layout.addLayout(number)
        layout.addWidget(self.when)
        layout.addSpacing(8)
        layout.addWidget(self.rule)
        layout.addSpacing(8)
        layout.addLayout(state)
        layout.addSpacing(12)
        layout.addWidget(self.facts)
        layout.addSpacing(8)
        layout.addLayout(why)
        layout.addWidget(self.why)
        layout.addStretch(1)
        return inside

    def _show(self) -> None:
        snapshot, figure = self._model.snapshot, self._model.figure
        if snapshot is None or figure is None:
            return
        self.number.setText(figure.number)
        self.unit.setText(figure.unit)
        self.when.setText(figure.note)
        self.rule.show_value(snapshot.rule, self._model.limit)
        self.mark.show_state(snapshot.state)
        self.state.setText(state_text(snapshot.state))
        self.state.setStyleSheet(f"color: {theme.colours().look(snapshot.state).text};")
        self.facts.show_facts(self._model.facts)
        self.basis.setText(self._model.basis)
        self.why.show_facts(self._model.why)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Unfold what it rests on where there is room anyway, as long as nobody chose."""
        super().resizeEvent(event)
        self._unfold_if_room()

    def _unfold_if_room(self) -> None:
        if not self._is_by_hand:
            self.why_button.setChecked(self.height() >= theme.scaled(_ROOMY_PX))

    def _on_why(self) -> None:
        self._is_by_hand = True

    def _unfold(self, is_open: bool) -> None:
        self.why.setVisible(is_open)
        bar = self.verticalScrollBar()
        if not is_open:
            bar.setValue(0)
        elif self._is_by_hand:
            # What unfolds begins at the top, right under its button.
            layout = self._inside.layout()
            if layout is not None:
                layout.activate()
            self._inside.adjustSize()
            bar.setValue(self.why_button.y() - 4)
