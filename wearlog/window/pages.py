"""The pages of the window: name, title, question, key and maker."""

import importlib
from collections.abc import Callable
from dataclasses import dataclass
from gettext import gettext as _

from wearlog import units
from wearlog.fleet.progress import Progress
from wearlog.fleet.quantity import Quantity
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


@dataclass(frozen=True, slots=True)
class PageMaker:
    """Makes a page; the module it is in is loaded when it is first wanted."""

    room: str
    class_name: str

    def load(self) -> type[Page]:
        """Return the class of the page."""
        module = importlib.import_module(f"wearlog.window.{self.room}.page")
        made: type[Page] = getattr(module, self.class_name)
        return made

    def __call__(self, session: Session) -> Page:
        """Return the page."""
        make: Callable[[Session], Page] = self.load()
        return make(session)


PAGES: tuple[PageEntry, ...] = (
    PageEntry("trend", _("Wear trend"), _("How worn is it?"), "Ctrl+1", PageMaker("trend", "TrendPage")),
    PageEntry(
        "sheet",
        _("Service sheet"),
        _("What was measured?"),
        "Ctrl+2",
        PageMaker("service_sheet", "SheetPage"),
    ),
    PageEntry("due", _("Due for service"), _("When is it due?"), "Ctrl+3", PageMaker("due", "DuePage")),
    PageEntry(
        "setup", _("Drive set-up"), _("What would change?"), "Ctrl+4", PageMaker("drive_setup", "SetupPage")
    ),
    PageEntry(
        "torque", _("Torque sheet"), _("How tight is it?"), "Ctrl+5", PageMaker("torque", "TorquePage")
    ),
    PageEntry("parts", _("Parts"), _("What must be ordered?"), "Ctrl+6", PageMaker("parts", "PartsPage")),
    PageEntry("plan", _("Visit plan"), _("Who comes when?"), "Ctrl+7", PageMaker("plan", "PlanPage")),
    PageEntry("record", _("Fleet record"), _("Were we right?"), "Ctrl+8", PageMaker("record", "RecordPage")),
    PageEntry(
        "vehicle",
        _("Vehicle"),
        _("Which vehicle is it?"),
        "Ctrl+E",
        PageMaker("vehicle", "VehiclePage"),
        is_on_bar=False,
    ),
    PageEntry(
        "history",
        _("History"),
        _("What happened?"),
        "Ctrl+0",
        PageMaker("history", "HistoryPage"),
        is_on_bar=False,
    ),
    PageEntry(
        "import",
        _("Import"),
        _("What does each column say?"),
        "Ctrl+I",
        PageMaker("import_sheet", "ImportPage"),
        is_on_bar=False,
    ),
    PageEntry(
        "settings", _("Settings"), _("What did we agree on?"), "Ctrl+9", PageMaker("settings", "SettingsPage")
    ),
)


def load_pages(progress: Progress) -> None:
    """Load what the pages need before they are opened; on a worker, where nobody waits for it."""
    for n, entry in enumerate(PAGES):
        progress.step(n, len(PAGES), _("Loading the pages"))
        if isinstance(entry.make, PageMaker):
            entry.make.load()
    # The first field that understands units would otherwise wait for their table.
    for quantity in Quantity:
        for unit in units.units_for(quantity):
            units.factor(unit, quantity)
