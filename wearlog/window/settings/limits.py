"""The limits: which are in force, for how many parts, and from which source."""

from functools import partial
from gettext import gettext as _

from wearlog.fleet.limit import Limit
from wearlog.fleet.parts import WearClass
from wearlog.fleet.reading import Measurand
from wearlog.window.settings.form import ReasonForm
from wearlog.window.settings.ledger import Ledger
from wearlog.window.settings.ledger_section import LedgerSection
from wearlog.window.settings.limit_form import LimitForm
from wearlog.window.settings.limit_words import (
    HEADS,
    NEEDED,
    NUMBERS,
    WIDTHS,
    limit_row,
    limit_sentences,
    limit_title,
)
from wearlog.window.settings.model import LedgerModel, SettingsModel
from wearlog.window.settings.traffic import SettingsTraffic
from wearlog.workshop import agreements
from wearlog.workshop.agree_snapshot import LimitLine

#: What a new limit is like where there is none yet.
_FIRST = Limit(
    measurand=Measurand.CHAIN_ELONGATION, wear_class=WearClass.SEALED_MOTORCYCLE_CHAIN, service_limit=0.01
)


class LimitsSection(LedgerSection):
    """The list of limits and its forms."""

    def __init__(self, model: SettingsModel, traffic: SettingsTraffic) -> None:
        self.limit_form = LimitForm()
        self.reason = ReasonForm(_("Why the limit is taken out of force"), _("Take it &out of force"))
        ledger = Ledger(
            _("Limits in force"), LedgerModel(HEADS, NUMBERS, model), WIDTHS, NEEDED, _("{n} limits")
        )
        super().__init__(model, traffic, ledger, (self.limit_form, self.reason))
        self.detail.show_deeds(
            (
                (_("&Change …"), self.change),
                (_("Add a na&rrower one …"), self.add),
                (_("Take &out of force …"), self.take_out),
            )
        )
        self.limit_form.confirmed.connect(partial(self._keep, insists=False))
        self.limit_form.insisted.connect(partial(self._keep, insists=True))
        self.reason.confirmed.connect(self._take_out)

    @property
    def line(self) -> LimitLine | None:
        """The limit that is chosen."""
        snapshot = self.model.snapshot
        return snapshot.limit_line(self.ledger.chosen_key) if snapshot is not None else None

    def show_anew(self) -> None:
        """Show the limits."""
        snapshot = self.model.snapshot
        if snapshot is not None:
            self.ledger.model.show([limit_row(line, self.model.shown) for line in snapshot.limits])

    def describe(self) -> None:
        """Say where the chosen limit comes from and what it governs."""
        line = self.line
        for button in self.detail.buttons:
            button.setEnabled(line is not None)
        if line is None:
            self.detail.show_words(_("No limit is chosen"), ())
        else:
            self.detail.show_words(limit_title(line), limit_sentences(line, self.model.shown))

    def change(self) -> None:
        """Open the form for the chosen limit."""
        line, snapshot = self.line, self.model.snapshot
        if line is not None and snapshot is not None:
            self.limit_form.open_change(line, snapshot.choices, self.model.shown)
            self.open_form(self.limit_form, self.limit_form.service)

    def add(self) -> None:
        """Open the form for one more limit, like the chosen one."""
        line, snapshot = self.line, self.model.snapshot
        if snapshot is not None:
            like = line.limit if line is not None else _FIRST
            self.limit_form.open_new(like, snapshot.choices, self.model.shown)
            self.open_form(self.limit_form, self.limit_form.what)

    def take_out(self) -> None:
        """Ask why the chosen limit is to be taken out of force."""
        line = self.line
        if line is not None:
            title = _("Why is this limit taken out of force? {limit}").format(limit=limit_title(line))
            self.open_form(self.reason, self.reason.reason)
            self.reason.ask_for(title)

    def _keep(self, limit: Limit, *, insists: bool) -> None:
        keep = agreements.change_limit if limit.id else agreements.add_limit
        ask = None if insists else partial(agreements.doubts_about_limit, limit=limit)
        self.agree(partial(keep, limit=limit), _("Saving the limit"), ask)

    def _take_out(self, reason: str) -> None:
        line = self.line
        if line is not None:
            self.agree(
                partial(agreements.take_limit_out, limit=line.limit, reason=reason), _("Saving the limit")
            )
