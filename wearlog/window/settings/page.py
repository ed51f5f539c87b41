"""What did we agree on: limits, intervals, instruments, the workshop, this seat, the database."""

from functools import cached_property, partial
from gettext import gettext as _
from pathlib import Path
from typing import TypeVar

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


AnySection = LedgerSection | WorkshopSection | SeatSection | DatabaseSection
T = TypeVar("T", bound=AnySection)


class SettingsPage(Page):
    """The agreements of the workshop and the preferences of the seat, one section at a time."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(session, _("What did we agree on?"), parent)
        self.model = SettingsModel(session.shown_units, self)
        self.traffic = SettingsTraffic(session.bench, session.background, self)
        self.bar = SectionBar(self.model)
        self.keeping = KeepingTraffic(session.bench, session.background, self)
        self._made: dict[Section, AnySection] = {}
        self._places = {section: _scrolling() for section in Section}
        self.stack = QStackedWidget()
        for place in self._places.values():
            self.stack.addWidget(place)
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
        self.keeping.refused.connect(self._on_refused)
        self.session.preferences_changed.connect(self._on_preferences)
        for number in range(1, 4):
            self._add_key(f"Alt+{number}", number)

    # --- the sections, each made when it is first turned to: all of them at once would take too long

    @cached_property
    def limits(self) -> LimitsSection:
        """The limits."""
        return self._placed(Section.LIMITS, LimitsSection(self.model, self.traffic))

    @cached_property
    def intervals(self) -> IntervalsSection:
        """The intervals."""
        return self._placed(Section.INTERVALS, IntervalsSection(self.model, self.traffic))

    @cached_property
    def instruments(self) -> InstrumentsSection:
        """The instruments."""
        today = self.session.bench.today()
        return self._placed(Section.INSTRUMENTS, InstrumentsSection(self.model, self.traffic, today))

    @cached_property
    def workshop(self) -> WorkshopSection:
        """The policy of the workshop."""
        return self._placed(Section.WORKSHOP, WorkshopSection(self.model, self.traffic))

    @cached_property
    def seat(self) -> SeatSection:
        """The preferences of this seat."""
        return self._placed(Section.SEAT, SeatSection(self.session, self.model))

    @cached_property
    def database(self) -> DatabaseSection:
        """The database and its backups."""
        made = DatabaseSection(self.model, self.traffic, self.keeping)
        made.other_wanted.connect(self.session.want_database)
        made.restore_wanted.connect(self.session.want_restore)
        return self._placed(Section.DATABASE, made)

    def section(self, wanted: Section) -> AnySection:
        """Return a section."""
        if wanted is Section.LIMITS:
            return self.limits
        if wanted is Section.INTERVALS:
            return self.intervals
        if wanted is Section.INSTRUMENTS:
            return self.instruments
        if wanted is Section.WORKSHOP:
            return self.workshop
        return self.seat if wanted is Section.SEAT else self.database

    def _placed(self, section: Section, made: T) -> T:
        if isinstance(made, (LedgerSection, WorkshopSection)):
            made.changed.connect(self._on_changed_here)
        if isinstance(made, LedgerSection):
            made.form_turned.connect(self._show_primary)
        self._made[section] = made
        self._places[section].setWidget(made)
        if self.model.snapshot is not None:
            self.model.shown_anew.emit()
        return made

    def _add_key(self, keys: str, number: int) -> None:
        shortcut = QShortcut(QKeySequence(keys), self)
        shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        shortcut.activated.connect(partial(self._take_offer, number))

    def _take_offer(self, number: int) -> None:
        section = self.section(self.model.section)
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
        self.section(self.model.section).focus_first()

    def _show_section(self) -> None:
        self.section(self.model.section)
        self.stack.setCurrentWidget(self._places[self.model.section])
        self.set_subject(_SUBJECTS[self.model.section])
        self.clear_problems()
        self._show_primary()

    def _show_primary(self) -> None:
        section = self.section(self.model.section)
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
        section = self.section(self.model.section)
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
        for section in self._made.values():
            section.take_look()

    def changeEvent(self, event: QEvent) -> None:
        """Follow the text size."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.StyleChange and hasattr(self, "_made"):
            for section in self._made.values():
                section.take_look()


def _scrolling() -> QScrollArea:
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    return area
