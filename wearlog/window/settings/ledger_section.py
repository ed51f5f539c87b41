"""A section with a list: the list, the chosen line in words under it, and the forms in its place."""

from abc import abstractmethod
from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from wearlog.fleet.problem import Doubt, WearlogError
from wearlog.window.bench_keys import put_focus
from wearlog.window.page import hairline
from wearlog.window.settings.detail import Detail
from wearlog.window.settings.form import AgreementForm
from wearlog.window.settings.ledger import Ledger
from wearlog.window.settings.model import SettingsModel
from wearlog.window.settings.traffic import Ask, Keep, SettingsTraffic
from wearlog.workshop.changes import Changes


class LedgerSection(QWidget):
    """One list of agreements and all that is done with it.

    Signals
    -------
    changed(Changes)
        Something was agreed on.
    form_turned()
        A form was opened or left.
    """

    changed = Signal(object)
    form_turned = Signal()

    def __init__(
        self, model: SettingsModel, traffic: SettingsTraffic, ledger: Ledger, forms: tuple[AgreementForm, ...]
    ) -> None:
        super().__init__()
        self.model = model
        self.traffic = traffic
        self.ledger = ledger
        self.detail = Detail(_("Chosen line"))
        self.form: AgreementForm | None = None
        self._forms = forms
        self._is_saving = False
        self.below = QWidget()
        below = QVBoxLayout(self.below)
        below.setContentsMargins(0, 0, 0, 8)
        below.setSpacing(0)
        for widget in (self.detail, *forms):
            below.addWidget(widget)
        for form in forms:
            form.hide()
            form.left.connect(self.leave_form)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(12)
        layout.addWidget(ledger, 1)
        layout.addWidget(hairline())
        layout.addWidget(self.below)
        ledger.chosen.connect(lambda _key: self.describe())
        ledger.view.change_wanted.connect(self.change)
        ledger.view.adding_wanted.connect(self.add)
        ledger.view.taking_out_wanted.connect(self.take_out)
        model.shown_anew.connect(self.show_anew)

    # --- what a section says and does

    @abstractmethod
    def show_anew(self) -> None:
        """Show the rows of another snapshot or in other units."""

    @abstractmethod
    def describe(self) -> None:
        """Say in words what is chosen."""

    @abstractmethod
    def change(self) -> None:
        """Open the form for the chosen line."""

    @abstractmethod
    def add(self) -> None:
        """Open the form for one more."""

    @abstractmethod
    def take_out(self) -> None:
        """Take the chosen line out of force, or out of use."""

    # --- forms

    def open_form(self, form: AgreementForm, first: QWidget) -> None:
        """Show a form in the place of the words."""
        for other in (self.detail, *self._forms):
            other.setVisible(other is form)
        self.form = form
        form.take_look()
        form.start()
        self.form_turned.emit()
        put_focus(first)

    def leave_form(self) -> None:
        """Show the words again; the focus goes back to the list."""
        if self.form is None:
            return
        self.form = None
        self.ledger.view.setFocus(Qt.FocusReason.OtherFocusReason)
        for form in self._forms:
            form.hide()
        self.detail.show()
        self.describe()
        self.form_turned.emit()

    def focus_first(self) -> None:
        """Put the focus into the list, or into the form that is open."""
        if self.form is None:
            self.ledger.view.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            put_focus(self.form.keep)

    def take_offer(self, number: int) -> None:
        """Take an offer of the open form by its number."""
        if self.form is not None:
            self.form.take_offer(number)

    # --- keeping

    def agree(self, keep: Keep, what: str, ask: Ask | None = None) -> None:
        """Keep a change; questions and problems are shown in the open form."""
        if self._is_saving:
            return
        self._is_saving = True
        self.traffic.agree(
            keep, what, ask=ask, done=self._on_kept, asked=self._on_asked, refused=self._on_refused
        )

    def _on_kept(self, changes: Changes) -> None:
        self._is_saving = False
        self.leave_form()
        self.changed.emit(changes)

    def _on_asked(self, doubts: tuple[Doubt, ...]) -> None:
        self._is_saving = False
        if self.form is not None:
            self.form.ask(doubts)

    def _on_refused(self, error: WearlogError) -> None:
        self._is_saving = False
        if self.form is not None:
            self.form.show_error(error)
        else:
            self.traffic.refused.emit(error)

    def take_look(self) -> None:
        """Follow the text size."""
        self.ledger.view.size_columns()
        for form in self._forms:
            form.take_look()
