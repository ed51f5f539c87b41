"""What the workshop as a whole agrees on: caution, visits, planning ahead, horizon."""

from functools import partial
from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from wearlog.drawing.number_words import chance_text
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.planning.states import Policy
from wearlog.window.fields import EntryField, QuantityField
from wearlog.window.settings.form import AgreementForm, Labelled, understood
from wearlog.window.settings.model import SettingsModel
from wearlog.window.settings.traffic import SettingsTraffic
from wearlog.window.settings.value_words import exact_text
from wearlog.window.theme import set_role
from wearlog.workshop import agreements
from wearlog.workshop.changes import Changes


class PolicyForm(AgreementForm):
    """The four figures, each with what it does."""

    def __init__(self) -> None:
        super().__init__(_("Workshop settings"), _("&Save"))
        self.caution = QuantityField(_("Caution level"), Quantity.SHARE, "%")
        self.window_days = QuantityField(_("Visit window, days"), Quantity.COUNT)
        self.ahead_days = QuantityField(_("Plan ahead, days"), Quantity.COUNT)
        self.horizon_days = QuantityField(_("Horizon, days"), Quantity.COUNT)
        self.said_of_caution = _muted()
        self._before = Policy()
        for field, caption, note in (
            (self.caution, _("Caution level"), self.said_of_caution),
            (
                self.window_days,
                _("Visit window, days"),
                _muted(_("Tasks that fall within so many days of the earliest one come in together.")),
            ),
            (
                self.ahead_days,
                _("Plan ahead, days"),
                _muted(_("A part due within its lead time and so many days more stands as plan.")),
            ),
            (
                self.horizon_days,
                _("Horizon, days"),
                _muted(_("What lies further ahead is not listed unless asked for.")),
            ),
        ):
            self.add_fields(Labelled(caption, field, 136))
            self.add_widget(note)
        self.caution.textChanged.connect(self._explain)
        self.cancel.setText(_("As &before"))
        self.cancel.setToolTip("Esc")
        # The page's one primary action saves.
        self.keep.hide()

    def show_record(self, record: object) -> None:
        """Show what is agreed on."""
        if isinstance(record, Policy):
            self._before = record
            self.caution.setText(exact_text(record.caution_level, Quantity.SHARE, ShownUnits()))
            self.window_days.setText(str(record.window_days))
            self.ahead_days.setText(str(record.plan_ahead_days))
            self.horizon_days.setText(str(record.horizon_days))

    def is_touched(self) -> bool:
        """Whether something else is typed than what is agreed on."""
        try:
            return self.record() != self._before
        except WearlogError:
            return True

    def record(self) -> object:
        """Return what is to be agreed on.

        Raises
        ------
        WearlogError
            All that can't be understood.
        """
        fields = (self.caution, self.window_days, self.ahead_days, self.horizon_days)
        wrong = understood(*fields)
        wrong += [_missing(field) for field in fields if field.typed is None and field.problem is None]
        if wrong:
            raise WearlogError(*wrong)
        caution, *days = (field.typed.value if field.typed is not None else 0.0 for field in fields)
        window, ahead, horizon = (round(value) for value in days)
        return Policy(round(caution, 9), window, ahead, horizon)

    def _explain(self) -> None:
        typed = self.caution.typed
        text = _("A part is due on the day its chance of being past the limit reaches this.")
        if typed is not None and 0.0 < typed.value < 1.0:
            text += " " + _("Of the parts replaced just then, {chance} would be past it.").format(
                chance=chance_text(typed.value)
            )
        self.said_of_caution.setText(text)


def _missing(field: EntryField) -> Problem:
    field.mark_problem(True)
    return Problem(_("{field} is missing.").format(field=field.accessibleName()), "", _("Type a number."))


def _muted(text: str = "") -> QLabel:
    label = QLabel(text)
    label.setWordWrap(True)
    label.setContentsMargins(0, 0, 0, 16)
    set_role(label, "muted")
    return label


class WorkshopSection(QWidget):
    """What the workshop agrees on.

    Signals
    -------
    changed(Changes)
        Something was agreed on.
    """

    changed = Signal(object)

    def __init__(self, model: SettingsModel, traffic: SettingsTraffic) -> None:
        super().__init__()
        self.model = model
        self.traffic = traffic
        self.form = PolicyForm()
        self._is_saving = False
        self.form.title.setText(_("For everybody who works on this database"))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.form, 0, Qt.AlignmentFlag.AlignTop)
        layout.addStretch(1)
        self.form.confirmed.connect(self._keep)
        self.form.left.connect(self._put_back)
        model.shown_anew.connect(self._show_anew)

    def focus_first(self) -> None:
        """Start at the caution level."""
        self.form.focus_on(self.form.caution)

    def take_look(self) -> None:
        """Follow the text size."""
        self.form.take_look()

    def _show_anew(self) -> None:
        snapshot = self.model.snapshot
        # What somebody types meanwhile stays; saved, it is compared with what stands then.
        if snapshot is not None and (not self.form.is_touched() or self.form.caution.text() == ""):
            self.form.show_record(snapshot.policy)

    def _put_back(self) -> None:
        snapshot = self.model.snapshot
        if snapshot is not None:
            self.form.start()
            self.form.show_record(snapshot.policy)

    def _keep(self, policy: Policy) -> None:
        if self._is_saving:
            return
        self._is_saving = True
        self.traffic.agree(
            partial(agreements.change_policy, policy=policy),
            _("Saving the settings"),
            done=self._on_kept,
            refused=self._on_refused,
        )

    def _on_kept(self, changes: Changes) -> None:
        self._is_saving = False
        kept = self.form.record()
        self.form.start()
        self.form.show_record(kept)
        self.changed.emit(changes)

    def _on_refused(self, error: WearlogError) -> None:
        self._is_saving = False
        self.form.show_error(error)
