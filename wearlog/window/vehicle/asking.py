"""Asks before something of a vehicle is retired, taken off, kept or erased, and has it done."""

from gettext import gettext as _

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from wearlog.window.vehicle.ask_bars import AskBar, ContactBar, RetireBar, StageOffBar, TemplateBar
from wearlog.window.vehicle.model import VehicleModel
from wearlog.window.vehicle.traffic import VehicleTraffic


class Asking(QWidget):
    """The one bar under the heading that asks something, if any.

    Signals
    -------
    turned()
        A bar was opened or closed.
    """

    turned = Signal()

    def __init__(self, model: VehicleModel, traffic: VehicleTraffic, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model, self._traffic = model, traffic
        self.bar: AskBar | None = None
        self.retire_bar, self.off_bar = RetireBar(), StageOffBar()
        self.template_bar, self.contact_bar = TemplateBar(), ContactBar()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        for bar in self._bars:
            layout.addWidget(bar)
            bar.left.connect(self.close_bar)
        self.retire_bar.confirmed.connect(self._retire)
        self.off_bar.confirmed.connect(self._take_off)
        self.template_bar.confirmed.connect(self._keep_template)
        self.contact_bar.confirmed.connect(self._erase)
        self.hide()

    @property
    def _bars(self) -> tuple[AskBar, ...]:
        return (self.retire_bar, self.off_bar, self.template_bar, self.contact_bar)

    def take_look(self) -> None:
        """Follow the text size."""
        for bar in self._bars:
            bar.take_look()

    def close_bar(self) -> None:
        """Ask nothing any more."""
        if self.bar is not None:
            self.bar.hide()
            self.bar = None
            self.hide()
            self.turned.emit()

    def _turn_to(self, bar: AskBar) -> None:
        self.close_bar()
        self.bar = bar
        self.show()
        self.turned.emit()

    # --- what is asked, and done

    def ask_retire(self) -> None:
        """Ask since when and why the vehicle goes."""
        snapshot = self._model.snapshot
        if snapshot is None or snapshot.vehicle is None:
            return
        self._turn_to(self.retire_bar)
        text = _("{tag} goes out of service. Its history stays, and it can come back.")
        self.retire_bar.start(snapshot.today, text.format(tag=snapshot.vehicle.tag))

    def _retire(self) -> None:
        vehicle = self._model.draft.vehicle
        if vehicle is not None:
            self._traffic.retire(vehicle, self.retire_bar.on, self.retire_bar.reason.text())

    def ask_off(self, key: int) -> None:
        """Ask since when and why a stage goes off service."""
        snapshot, stage = self._model.snapshot, self._model.draft.stage(key)
        if snapshot is None or stage is None:
            return
        self._turn_to(self.off_bar)
        self.off_bar.key = key
        text = _("{stage} goes off service with all that is on it, once the vehicle is saved.")
        self.off_bar.start(snapshot.today, text.format(stage=stage.name))

    def _take_off(self) -> None:
        self._model.take_off(self.off_bar.key, self.off_bar.end)
        self.close_bar()

    def ask_template(self) -> None:
        """Ask under which name the vehicle is kept as a template."""
        self._turn_to(self.template_bar)
        self.template_bar.name.setText(self._model.draft.description)
        text = _(
            "Stages, teeth and links are kept for the next one of its sort; tag, meter and owner are not."
        )
        self.template_bar.open(text)

    def _keep_template(self) -> None:
        self._traffic.keep_template(self._model.draft, self.template_bar.name.text())

    def ask_erase(self) -> None:
        """Ask before the owner's contact is gone for good."""
        vehicle = self._model.draft.vehicle
        if vehicle is None:
            return
        self._turn_to(self.contact_bar)
        text = _(
            "The owner’s contact of {tag} is erased here and in the trail; readings and visits stay. "
            "There is no way back. Copies made earlier still hold it until they are deleted."
        )
        self.contact_bar.open(text.format(tag=vehicle.tag))

    def _erase(self) -> None:
        vehicle = self._model.draft.vehicle
        if vehicle is not None:
            self._traffic.erase_contact(vehicle)
