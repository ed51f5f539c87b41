"""When chains are best replaced: the curve of one class of chains and what it says."""

from gettext import gettext as _

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QComboBox, QLabel, QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from wearlog.drawing.policy_chart import paint_policy
from wearlog.drawing.policy_words import basis_text, best_text, limit_text
from wearlog.window import theme
from wearlog.window.theme import set_role
from wearlog.workshop.policy_snapshot import PolicyOf, PolicySnapshot


class PolicyChart(QWidget):
    """The curve itself."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._policy: PolicyOf | None = None
        self.setAccessibleName(_("Long-run cost against the wear at replacement"))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def minimumSizeHint(self) -> QSize:
        """Return a size at which the curve can still be read."""
        return QSize(theme.scaled(320), theme.scaled(220))

    def show_policy(self, policy: PolicyOf) -> None:
        """Show the curve of a class of chains."""
        self._policy = policy
        self.setAccessibleDescription(f"{best_text(policy)} {limit_text(policy)}")
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint it."""
        if self._policy is None:
            return
        painter = QPainter(self)
        paint_policy(painter, self.rect().toRectF(), self._policy, theme.colours(), theme.text_scale())
        painter.end()


class PolicyView(QWidget):
    """The class of chains, its curve, and what it says."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.snapshot: PolicySnapshot | None = None
        self.chains = QComboBox()
        self.chains.setAccessibleName(_("Class of chains"))
        self.chains.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.chains.currentIndexChanged.connect(self._on_chosen)
        self.chart = PolicyChart()
        self.best = QLabel()
        self.best.setWordWrap(True)
        self.best.setAccessibleName(_("Where the cost is least"))
        self.limit = QLabel()
        self.limit.setWordWrap(True)
        self.limit.setAccessibleName(_("What early and late cost"))
        self.basis = QLabel()
        self.basis.setWordWrap(True)
        self.basis.setAccessibleName(_("What the curve rests on"))
        set_role(self.basis, "caption")
        self.nothing = QLabel(_("There is no chain with a price yet: give the part types prices first."))
        self.nothing.setWordWrap(True)
        set_role(self.nothing, "muted")
        self.content = QWidget()
        inside = QVBoxLayout(self.content)
        inside.setContentsMargins(0, 0, 0, 0)
        inside.setSpacing(12)
        inside.addWidget(self.chains, 0, Qt.AlignmentFlag.AlignLeft)
        inside.addWidget(self.chart, 1)
        inside.addWidget(self.best)
        inside.addWidget(self.limit)
        inside.addWidget(self.basis)
        inside.addWidget(self.nothing)
        inside.addStretch(0)
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QScrollArea.Shape.NoFrame)
        scroll.setWidget(self.content)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(scroll)

    def show_policies(self, snapshot: PolicySnapshot) -> None:
        """Show the policies; the chosen class stays chosen."""
        self.snapshot = snapshot
        chosen = self.chains.currentData()
        self.chains.blockSignals(True)
        self.chains.clear()
        for policy in snapshot.policies:
            self.chains.addItem(policy.wear_class.value, policy.wear_class.value)
        self.chains.setCurrentIndex(max(self.chains.findData(chosen), 0))
        self.chains.blockSignals(False)
        has_any = bool(snapshot.policies)
        for widget in (self.chains, self.chart, self.best, self.limit, self.basis):
            widget.setVisible(has_any)
        self.nothing.setVisible(not has_any)
        self._on_chosen()

    def _on_chosen(self) -> None:
        place = self.chains.currentIndex()
        if self.snapshot is None or not 0 <= place < len(self.snapshot.policies):
            return
        policy = self.snapshot.policies[place]
        self.chart.show_policy(policy)
        self.best.setText(best_text(policy))
        self.limit.setText(limit_text(policy))
        self.basis.setText(basis_text(policy))
