"""Says what the axes of the chart count, and opens the comparison with other vehicles."""

from gettext import gettext as _

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from wearlog.drawing.trend_view import TrendView, UseScale, ValueScale
from wearlog.workshop.trend_snapshot import TrendSnapshot


class AxisSwitches(QWidget):
    """Three switches beside the part that is shown.

    Signals
    -------
    view_wanted(TrendView)
        The axes are to count something else.
    """

    view_wanted = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("What the chart shows"))
        self.allowance = self._switch(
            _("Allowance"), _("Left axis: the allowance used instead of the value measured  {key}"), "Alt+A"
        )
        self.vehicle = self._switch(
            _("Vehicle’s distance"),
            _("Lower axis: the distance of the vehicle instead of that on the part  {key}"),
            "Alt+D",
        )
        self.compare = self._switch(
            _("Compare"), _("Lay the same stage of other vehicles over it  {key}"), "Alt+C"
        )
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(8)
        for button in (self.allowance, self.vehicle, self.compare):
            layout.addWidget(button)
        for button in (self.allowance, self.vehicle):
            button.clicked.connect(self._tell)

    def show_view(self, view: TrendView, snapshot: TrendSnapshot | None) -> None:
        """Show what the axes count; hour meters count running time."""
        self.allowance.setChecked(view.is_allowance)
        self.vehicle.setChecked(view.is_vehicle)
        is_hours = snapshot is not None and snapshot.use_unit == "h"
        self.vehicle.setText(_("Vehicle’s hours") if is_hours else _("Vehicle’s distance"))
        self.compare.setEnabled(snapshot is not None and snapshot.removed_on is None)

    def _switch(self, text: str, tip: str, key: str) -> QPushButton:
        button = QPushButton(text)
        button.setCheckable(True)
        button.setAccessibleName(text)
        button.setToolTip(tip.format(key=key))
        return button

    def _tell(self) -> None:
        self.view_wanted.emit(
            TrendView(
                ValueScale.ALLOWANCE if self.allowance.isChecked() else ValueScale.VALUE,
                UseScale.VEHICLE if self.vehicle.isChecked() else UseScale.PART,
            )
        )
