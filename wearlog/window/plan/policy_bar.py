"""The three ways of planning side by side, and what each costs."""

from collections.abc import Sequence
from gettext import gettext as _
from gettext import ngettext

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QButtonGroup,
    QGridLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from wearlog.drawing.parts_words import money_text
from wearlog.drawing.plan_words import cost_rows, policy_meaning, policy_text, proof_text
from wearlog.planning.scheduling import VisitPolicy
from wearlog.window import theme
from wearlog.window.flow import FlowLayout
from wearlog.window.theme import set_role
from wearlog.workshop.plan_snapshot import VisitPlan


class PolicyBar(QWidget):
    """One button for each way of planning, with what tells them apart.

    Signals
    -------
    chosen(VisitPolicy)
        Another way is to be shown.
    """

    chosen = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("Ways of planning"))
        self.buttons: dict[VisitPolicy, QPushButton] = {}
        group = QButtonGroup(self)
        row = FlowLayout(self)
        for policy in VisitPolicy:
            button = QPushButton(policy_text(policy))
            button.setCheckable(True)
            button.setToolTip(policy_meaning(policy))
            button.clicked.connect(lambda _checked, policy=policy: self.chosen.emit(policy))
            group.addButton(button)
            self.buttons[policy] = button
            row.addWidget(button)
        self.take_look()

    def take_look(self) -> None:
        """Be high enough for two lines."""
        for button in self.buttons.values():
            button.setMinimumHeight(theme.scaled(48))

    def show_plans(self, plans: Sequence[VisitPlan], shown: VisitPolicy) -> None:
        """Show the figures of each way, and which one is looked at."""
        for plan in plans:
            visits = ngettext("{n} visit", "{n} visits", len(plan.stops)).format(n=len(plan.stops))
            figures = _("{visits}, {late} late, {money} for 1000 km").format(
                visits=visits, late=len(plan.late), money=money_text(plan.cost.per_1000_km)
            )
            button = self.buttons[plan.policy]
            button.setText(f"{policy_text(plan.policy)}\n{figures}")
            button.setAccessibleName(f"{policy_text(plan.policy)}: {figures}")
            button.setChecked(plan.policy is shown)


class CostsView(QWidget):
    """What 1000 km cost under each plan, by cause; the least total stands out."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("Costs of the plans"))
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(32)
        self._grid.setVerticalSpacing(6)
        self._grid.setColumnStretch(4, 1)
        self.said = QLabel(
            _(
                "Money for 1000 km (100 h) of the fleet over the weeks of the plan. Parts worn are the same "
                "whatever the plan; unused life is what parts that come off early would still have gone."
            )
        )
        self.said.setWordWrap(True)
        set_role(self.said, "muted")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.setSpacing(12)
        layout.addLayout(self._grid)
        layout.addWidget(self.said)
        layout.addStretch(1)

    def show_plans(self, plans: Sequence[VisitPlan]) -> None:
        """Show plans side by side."""
        while (item := self._grid.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.deleteLater()
        for column, plan in enumerate(plans):
            self._put(0, 1 + column, policy_text(plan.policy), "strong")
        rows = cost_rows(plans)
        for place, row in enumerate(rows, start=1):
            role = "strong" if row.is_total else ""
            self._put(place, 0, row.label, role or "muted")
            for column, amount in enumerate(row.amounts):
                self._put(place, 1 + column, amount, role)
        for column, plan in enumerate(plans):
            self._put(len(rows) + 1, 1 + column, proof_text(plan), "caption")

    def _put(self, row: int, column: int, text: str, role: str) -> None:
        label = QLabel(text)
        if role:
            set_role(label, role)
        if column:
            label.setAlignment(Qt.AlignmentFlag.AlignRight)
        self._grid.addWidget(label, row, column)
