"""The pages of the window: name, title, question, key and maker."""

from collections.abc import Callable
from dataclasses import dataclass
from gettext import gettext as _

from wearlog.window.page import Page
from wearlog.window.session import Session


@dataclass(frozen=True, slots=True)
class PageEntry:
    """One page.

    Attributes
    ----------
    name
        A stable word for the program and the preferences.
    title
        On the page bar and in the menu.
    question
        The heading of the page.
    key
        Its key, in Qt's portable notation.
    make
        Makes the page; called when it is first opened.
    is_on_bar
        Whether it has a tab; the others are reached from the menu and by key.
    """

    name: str
    title: str
    question: str
    key: str
    make: Callable[[Session], Page]
    is_on_bar: bool = True

    @property
    def menu_text(self) -> str:
        """What the menu says."""
        return self.title


def _trend(session: Session) -> Page:
    from wearlog.window.trend.page import TrendPage  # noqa: PLC0415 - a page is loaded when it is opened

    return TrendPage(session)


def _sheet(session: Session) -> Page:
    from wearlog.window.service_sheet.page import SheetPage  # noqa: PLC0415 - as above

    return SheetPage(session)


def _due(session: Session) -> Page:
    from wearlog.window.due.page import DuePage  # noqa: PLC0415 - as above

    return DuePage(session)


def _setup(session: Session) -> Page:
    from wearlog.window.drive_setup.page import SetupPage  # noqa: PLC0415 - as above

    return SetupPage(session)


def _torque(session: Session) -> Page:
    from wearlog.window.torque.page import TorquePage  # noqa: PLC0415 - as above

    return TorquePage(session)


def _record(session: Session) -> Page:
    from wearlog.window.record.page import RecordPage  # noqa: PLC0415 - as above

    return RecordPage(session)


def _parts(session: Session) -> Page:
    from wearlog.window.parts.page import PartsPage  # noqa: PLC0415 - as above

    return PartsPage(session)


def _plan(session: Session) -> Page:
    from wearlog.window.plan.page import PlanPage  # noqa: PLC0415 - as above

    return PlanPage(session)


def _settings(session: Session) -> Page:
    from wearlog.window.settings.page import SettingsPage  # noqa: PLC0415 - as above

    return SettingsPage(session)


def _vehicle(session: Session) -> Page:
    from wearlog.window.vehicle.page import VehiclePage  # noqa: PLC0415 - as above

    return VehiclePage(session)


def _history(session: Session) -> Page:
    from wearlog.window.history.page import HistoryPage  # noqa: PLC0415 - as above

    return HistoryPage(session)


def _import(session: Session) -> Page:
    from wearlog.window.import_sheet.page import ImportPage  # noqa: PLC0415 - as above

    return ImportPage(session)


PAGES: tuple[PageEntry, ...] = (
    PageEntry("trend", _("Wear trend"), _("How worn is it?"), "Ctrl+1", _trend),
    PageEntry("sheet", _("Service sheet"), _("What was measured?"), "Ctrl+2", _sheet),
    PageEntry("due", _("Due for service"), _("When is it due?"), "Ctrl+3", _due),
    PageEntry("setup", _("Drive set-up"), _("What would change?"), "Ctrl+4", _setup),
    PageEntry("torque", _("Torque sheet"), _("How tight is it?"), "Ctrl+5", _torque),
    PageEntry("parts", _("Parts"), _("What must be ordered?"), "Ctrl+6", _parts),
    PageEntry("plan", _("Visit plan"), _("Who comes when?"), "Ctrl+7", _plan),
    PageEntry("record", _("Fleet record"), _("Were we right?"), "Ctrl+8", _record),
    PageEntry("vehicle", _("Vehicle"), _("Which vehicle is it?"), "Ctrl+E", _vehicle, is_on_bar=False),
    PageEntry("history", _("History"), _("What happened?"), "Ctrl+0", _history, is_on_bar=False),
    PageEntry("import", _("Import"), _("What does each column say?"), "Ctrl+I", _import, is_on_bar=False),
    PageEntry("settings", _("Settings"), _("What did we agree on?"), "Ctrl+9", _settings),
)
