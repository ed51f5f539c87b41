"""What did we agree on: limits, intervals, instruments, the workshop, this seat, the database."""

from functools import partial
from gettext import gettext as _
from pathlib import Path

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QScrollArea, QStackedWidget, QWidget

from wearlog.fleet.problem import WearlogError
from wearlog.window.page import Page
from wearlog.window.session import Session
from wearlog.window.settings.database import DatabaseSection
from wearlog.window.settings.instruments import InstrumentsSection
from wearlog.window.settings.intervals import IntervalsSection
from wearlog.window.settings.keeping_traffic import KeepingTraffic
from wearlog.window.settings.ledger_section import LedgerSection
from wearlog.window.settings.limits import LimitsSection
from wearlog.window.settings.model import Section, SettingsModel
from wearlog.window.settings.seat import SeatSection
from wearlog.window.settings.section_bar import SectionBar
from wearlog.window.settings.traffic import SettingsTraffic
from wearlog.window.settings.workshop_form import WorkshopSection
from wearlog.workshop.agree_snapshot import AgreedSnapshot
from wearlog.workshop.changes import Changes

#: What each section is about, under the heading of the page.
_SUBJECTS = {
    Section.LIMITS: _("Values at which parts are replaced. The vehicle maker’s limit always comes first."),
    Section.INTERVALS: _("What comes round, how often, and the first time after fitting."),
    Section.INSTRUMENTS: _("What is measured with, how well it reads, and when it is to be calibrated."),
    Section.WORKSHOP: _("How careful, how far ahead, and what comes in together."),
    Section.SEAT: _("Counts at this seat alone, and at once."),
    Section.DATABASE: _("Where everything is kept."),
}


class SettingsPage(Page):
    """The agreements of the workshop and the preferences of the seat, one section at a time."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(session, _("What did we agree on?"), parent)
        self.model = SettingsModel(session.shown_units, self)
        self.traffic = SettingsTraffic(session.bench, session.background, self)
        self.bar = SectionBar(self.model)
        self.limits = LimitsSection(self.model, self.traffic)
        self.intervals = IntervalsSection(self.model, self.traffic)
        self.instruments = InstrumentsSection(self.model, self.traffic, session.bench.today())
        self.workshop = WorkshopSection(self.model, self.traffic)
        self.seat = SeatSection(session, self.model)
        self.keeping = KeepingTraffic(session.bench, session.background, self)
        self.database = DatabaseSection(self.model, self.traffic, self.keeping)
        self.sections: dict[Section, LedgerSection | WorkshopSection | SeatSection | DatabaseSection] = {
            Section.LIMITS: self.limits,
            Section.INTERVALS: self.intervals,
            Section.INSTRUMENTS: self.instruments,
            Section.WORKSHOP: self.workshop,
            Section.SEAT: self.seat,
            Section.DATABASE: self.database,
        }
        self.stack = QStackedWidget()
        for section in self.sections.values():
            self.stack.addWidget(_scrolling(section))
        self.body.setSpacing(12)
        self.body.addWidget(self.bar)
        self.body.addWidget(self.stack, 1)
        self.set_primary(_("Add a limit"), self._do_primary)
        self._connect()
        self._show_section()

    def _connect(self) -> None:
        self.model.turned.connect(lambda _section: self._show_section())
        self.traffic.opened.connect(self._on_opened)
        self.traffic.refused.connect(self._on_refused)
        self.traffic.backed_up.connect(self._on_backed_up)
        for section in (self.limits, self.intervals, self.instruments, self.workshop):
            section.changed.connect(self._on_changed_here)
        for ledger in self._ledgers:
            ledger.form_turned.connect(self._show_primary)
        self.keeping.refused.connect(self._on_refused)
        self.database.other_wanted.connect(self.session.want_database)
        self.database.restore_wanted.connect(self.session.want_restore)
        self.session.preferences_changed.connect(self._on_preferences)
        for number in range(1, 4):
            self._add_key(f"Alt+{number}", number)

    @property
    def _ledgers(self) -> tuple[LedgerSection, ...]:
        return (self.limits, self.intervals, self.instruments)

    def _add_key(self, keys: str, number: int) -> None:
        shortcut = QShortcut(QKeySequence(keys), self)
        shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        shortcut.activated.connect(partial(self._take_offer, number))

    def _take_offer(self, number: int) -> None:
        section = self.sections[self.model.section]
        if isinstance(section, LedgerSection):
            section.take_offer(number)

    # --- what is shown

    def show_vehicle(self, vehicle_id: int | None) -> None:  # noqa: ARG002 - the page is about none
        """Read the settings when they were never read; they are about no vehicle."""
        if self.model.snapshot is None:
            self.traffic.load()

    def refresh(self, _changes: Changes) -> None:
        """Read anew: how many parts a limit governs changes with every part fitted."""
        self.traffic.load()

    def focus_first(self) -> None:
        """Put the focus where work in this section starts."""
        self.sections[self.model.section].focus_first()

    def _show_section(self) -> None:
        self.stack.setCurrentIndex(list(self.sections).index(self.model.section))
        self.set_subject(_SUBJECTS[self.model.section])
        self.clear_problems()
        self._show_primary()

    def _show_primary(self) -> None:
        section = self.sections[self.model.section]
        text = {
            Section.LIMITS: _("Add a limit"),
            Section.INTERVALS: _("Add an interval"),
            Section.INSTRUMENTS: _("Add an instrument"),
            Section.WORKSHOP: _("Save"),
            Section.DATABASE: _("Back up now …"),
        }.get(self.model.section, "")
        self.primary.setText(text)
        self.primary.setAccessibleName(text.removesuffix(" …"))
        keys = {Section.WORKSHOP: _("Ctrl+Enter"), Section.DATABASE: ""}
        self.primary.setToolTip(f"{text}  {keys.get(self.model.section, _('Insert in the list'))}".strip())
        is_open = isinstance(section, LedgerSection) and section.form is not None
        self.primary.setVisible(bool(text) and not is_open)
        snapshot = self.model.snapshot
        is_server = snapshot is not None and not snapshot.database.is_file
        self.primary.setEnabled(self.model.section is not Section.DATABASE or not is_server)

    def _do_primary(self) -> None:
        section = self.sections[self.model.section]
        if isinstance(section, LedgerSection):
            section.add()
        elif isinstance(section, WorkshopSection):
            section.form.confirm()
        elif isinstance(section, DatabaseSection):
            section.ask_target()

    # --- what happens

    def _on_opened(self, snapshot: AgreedSnapshot) -> None:
        self.model.show(snapshot)
        self._show_primary()

    def _on_changed_here(self, changes: Changes) -> None:
        self.clear_problems()
        self.session.tell_change(changes)

    def _on_refused(self, error: WearlogError) -> None:
        self.session.messages.problem(error, self)

    def _on_backed_up(self, file: Path) -> None:
        self.clear_problems()
        self.session.messages.said(_("Backed up to {file}").format(file=file))

    def _on_preferences(self) -> None:
        self.model.show_units(self.session.shown_units)
        for section in self.sections.values():
            section.take_look()

    def changeEvent(self, event: QEvent) -> None:
        """Follow the text size."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.StyleChange and hasattr(self, "sections"):
            for section in self.sections.values():
                section.take_look()


def _scrolling(widget: QWidget) -> QScrollArea:
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setWidget(widget)
    return area
