"""The intervals: what comes round, how often, and from which source."""

from functools import partial
from gettext import gettext as _

from wearlog.fleet.service import IntervalRule, Task
from wearlog.window.settings.form import ReasonForm
from wearlog.window.settings.interval_form import IntervalForm
from wearlog.window.settings.interval_words import (
    HEADS,
    NEEDED,
    NUMBERS,
    WIDTHS,
    rule_row,
    rule_sentences,
    rule_title,
)
from wearlog.window.settings.ledger import Ledger
from wearlog.window.settings.ledger_section import LedgerSection
from wearlog.window.settings.model import LedgerModel, SettingsModel
from wearlog.window.settings.traffic import SettingsTraffic
from wearlog.workshop import agreements
from wearlog.workshop.agree_snapshot import RuleLine


class IntervalsSection(LedgerSection):
    """The list of interval rules and its forms."""

    def __init__(self, model: SettingsModel, traffic: SettingsTraffic) -> None:
        self.rule_form = IntervalForm()
        self.reason = ReasonForm(_("Why the interval is taken out of force"), _("Take it &out of force"))
        ledger = Ledger(
            _("Intervals in force"), LedgerModel(HEADS, NUMBERS, model), WIDTHS, NEEDED, _("{n} intervals")
        )
        super().__init__(model, traffic, ledger, (self.rule_form, self.reason))
        self.detail.show_deeds(
            (
                (_("&Change …"), self.change),
                (_("Add &another one …"), self.add),
                (_("Take &out of force …"), self.take_out),
            )
        )
        self.rule_form.confirmed.connect(partial(self._keep, insists=False))
        self.rule_form.insisted.connect(partial(self._keep, insists=True))
        self.reason.confirmed.connect(self._take_out)

    @property
    def line(self) -> RuleLine | None:
        """The rule that is chosen."""
        snapshot = self.model.snapshot
        return snapshot.rule_line(self.ledger.chosen_key) if snapshot is not None else None

    def show_anew(self) -> None:
        """Show the rules."""
        snapshot = self.model.snapshot
        if snapshot is not None:
            self.ledger.model.show([rule_row(line, self.model.shown) for line in snapshot.rules])

    def describe(self) -> None:
        """Say what the chosen rule asks for."""
        line = self.line
        for button in self.detail.buttons:
            button.setEnabled(line is not None)
        if line is None:
            self.detail.show_words(_("No interval is chosen"), ())
        else:
            self.detail.show_words(rule_title(line), rule_sentences(line, self.model.shown))

    def change(self) -> None:
        """Open the form for the chosen rule."""
        line, snapshot = self.line, self.model.snapshot
        if line is not None and snapshot is not None:
            form = self.rule_form
            form.open_change(line, snapshot.choices, self.model.shown)
            self.open_form(form, form.first_km if line.rule.is_after_fitting else form.every_km)

    def add(self) -> None:
        """Open the form for one more rule, like the chosen one."""
        line, snapshot = self.line, self.model.snapshot
        if snapshot is not None:
            like = line.rule if line is not None else IntervalRule(task=Task.LUBRICATED)
            self.rule_form.open_new(like, snapshot.choices, self.model.shown)
            self.open_form(self.rule_form, self.rule_form.task)

    def take_out(self) -> None:
        """Ask why the chosen rule is to be taken out of force."""
        line = self.line
        if line is not None:
            title = _("Why is this interval taken out of force? {rule}").format(rule=rule_title(line))
            self.open_form(self.reason, self.reason.reason)
            self.reason.ask_for(title)

    def _keep(self, rule: IntervalRule, *, insists: bool) -> None:
        keep = agreements.change_rule if rule.id else agreements.add_rule
        ask = None if insists else partial(agreements.doubts_about_rule, rule=rule)
        self.agree(partial(keep, rule=rule), _("Saving the interval"), ask)

    def _take_out(self, reason: str) -> None:
        line = self.line
        if line is not None:
            self.agree(
                partial(agreements.take_rule_out, rule=line.rule, reason=reason), _("Saving the interval")
            )
