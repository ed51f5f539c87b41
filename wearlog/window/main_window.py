"""The frame: fleet on the left, one page on the right; knows nothing about wear."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from gettext import gettext as _
from typing import TYPE_CHECKING, Literal

from PySide6.QtCore import QByteArray, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QAction, QActionGroup, QCloseEvent, QFontMetrics, QKeySequence, QShowEvent
from PySide6.QtWidgets import (
    QApplication,
    QButtonGroup,
    QHBoxLayout,
    QMainWindow,
    QMenu,
    QPushButton,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from wearlog.fleet.problem import WearlogError
from wearlog.fleet.state import URGENCY
from wearlog.window import documents, theme
from wearlog.window.fleet_list.panel import FleetPanel
from wearlog.window.flow import FlowLayout
from wearlog.window.messages import BugDialog, Said
from wearlog.window.page import Page, PageFrame, hairline
from wearlog.window.pages import PAGES, PageEntry, load_pages
from wearlog.window.session import Session
from wearlog.window.strips import ProgressStrip, QuietBar
from wearlog.window.welcome.page import WelcomePage
from wearlog.workshop.fleet_snapshot import FleetSnapshot

if TYPE_CHECKING:
    from wearlog.window.help.panel import HelpPanel

#: The fleet list is this wide at first, [px].
FLEET_PX = 312
WELCOME = "welcome"
#: The pages that need no vehicle to be there, as they add some.
VEHICLE, IMPORT = "vehicle", "import"


class _Tab(QPushButton):
    """The name of a page; as wide as it is in bold, so that the others do not move when it is chosen."""

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.setCheckable(True)

    def sizeHint(self) -> QSize:
        width = QFontMetrics(theme.font(bold=True)).horizontalAdvance(self.text())
        return QSize(width + 4, super().sizeHint().height())

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()


class MainWindow(QMainWindow):
    """The window of one seat.

    Signals
    -------
    database_wanted(), sample_wanted()
        Another database, or a throw-away copy of the sample fleet, is to be opened.
    """

    database_wanted = Signal()
    sample_wanted = Signal()

    def __init__(
        self,
        session: Session,
        *,
        place: str = "",
        log_file: str = "",
        entries: tuple[PageEntry, ...] = PAGES,
    ) -> None:
        super().__init__()
        self.session = session
        self._entries = entries
        self._log_file = log_file
        self._pages: dict[str, Page] = {}
        self._frames: dict[str, PageFrame] = {}
        self._wanted = self._known(session.preferences.last_page)
        self._is_fleet_empty = False
        self._has_loaded_pages = False
        # First of all who listen: the others lay themselves out by the new look.
        session.preferences_changed.connect(self._on_preferences)
        self.setWindowTitle(f"{place} – wearlog" if place else "wearlog")
        self.fleet = FleetPanel(session)
        self.fleet.set_place_text(place)
        self.stack = QStackedWidget()
        self.quiet = QuietBar(session.messages)
        self.progress = ProgressStrip(session.background)
        self.help: HelpPanel | None = None
        self.setCentralWidget(self._make_centre())
        self._make_menus()
        session.page_wanted.connect(self.open_page)
        session.database_wanted.connect(self.database_wanted)
        session.messages.problem_told.connect(self._on_problem)
        session.messages.bug_found.connect(self._on_bug)
        self.fleet.shown.connect(self._on_fleet)
        self.fleet.entered.connect(self._on_entered)
        self.quiet.undo_changed.connect(self._on_undo_changed)
        self._restore()

    # --- pages

    def start(self) -> None:
        """Open the page of last time, read the fleet and look for changes of other seats."""
        self.open_page(self._wanted)
        self.fleet.load()
        self.session.watch()
        self.session.background.ended.connect(self._load_pages_soon)

    def _load_pages_soon(self) -> None:
        """Load the other pages once nothing is on its way: the first one is not to wait for them."""
        QTimer.singleShot(0, self, self._load_pages)

    def _load_pages(self) -> None:
        background = self.session.background
        if self._has_loaded_pages or background.is_busy() or not self.isVisible():
            return
        self._has_loaded_pages = True
        background.run(load_pages, key="load pages", done=lambda _nothing: None, owner=self)

    def page(self, name: str) -> Page:
        """Return a page, made when it is first asked for."""
        if name not in self._pages:
            made: Page
            if name == WELCOME:
                made = WelcomePage(self.session)
                made.sample_wanted.connect(self.sample_wanted)
                made.vehicle_wanted.connect(self.add_vehicle)
                made.sheet_wanted.connect(self.import_files)
                made.folder_wanted.connect(lambda: self.import_files(is_folder=True))
            else:
                made = next(entry for entry in self._entries if entry.name == name).make(self.session)
            self._pages[name] = made
            # Hung up empty: every move of a whole page to another parent costs as much as laying it out.
            self._frames[name] = frame = PageFrame()
            self.stack.addWidget(frame)
            frame.take(made)
        return self._pages[name]

    def current_page(self) -> Page | None:
        """Return the page that is open."""
        shown = self.stack.currentWidget()
        return shown.page if isinstance(shown, PageFrame) else None

    def open_page(self, name: str) -> None:
        """Go to a page; as long as there is no vehicle, to the one that helps to begin."""
        open_now = self.current_page()
        if open_now is not None and not open_now.may_leave():
            self._check_tab(self._wanted)
            return
        self._wanted = name if name == WELCOME else self._known(name)
        # A vehicle that was just added is chosen before the fleet is read anew.
        has_none = self._is_fleet_empty and self.session.vehicle_id is None
        has_none = has_none and self._wanted not in {VEHICLE, IMPORT}
        shown_name = WELCOME if has_none else self._wanted
        shown = self.page(shown_name)
        self.stack.setCurrentWidget(self._frames[shown_name])
        if self.help is not None:
            self.help.hide()
        self._check_tab(self._wanted)
        if self.isVisible():
            shown.become_visible()
            shown.focus_first()

    def _known(self, name: str) -> str:
        """Return the name of a page, of the first one if there is none of that name."""
        return next((entry.name for entry in self._entries if entry.name == name), self._entries[0].name)

    def _check_tab(self, name: str) -> None:
        # A page without a tab leaves none checked, which an exclusive group does not allow.
        self._tabs.setExclusive(False)
        for tab in self._tabs.buttons():
            tab.setChecked(tab.property("page") == name)
        self._tabs.setExclusive(True)
        for action in self._page_actions:
            action.setChecked(action.data() == name)

    def showEvent(self, event: QShowEvent) -> None:
        """Let the open page catch up."""
        super().showEvent(event)
        page = self.current_page()
        if page is not None:
            page.become_visible()

    # --- making

    def _make_centre(self) -> QWidget:
        right = QWidget()
        right.setProperty("role", "ground")
        right.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        column = QVBoxLayout(right)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._make_page_bar())
        column.addWidget(hairline())
        column.addWidget(self.stack, 1)
        column.addWidget(self.quiet)
        column.addWidget(self.progress)
        self.splitter = QSplitter(Qt.Orientation.Horizontal)
        self.splitter.setHandleWidth(1)
        self.splitter.setChildrenCollapsible(False)
        self.splitter.addWidget(self.fleet)
        self.splitter.addWidget(right)
        self.splitter.setStretchFactor(0, 0)
        self.splitter.setStretchFactor(1, 1)
        return self.splitter

    def _make_page_bar(self) -> QHBoxLayout:
        margins = QHBoxLayout()
        margins.setContentsMargins(32, 0, 32, 0)
        bar = FlowLayout(spacing=8)
        margins.addLayout(bar)
        self._tabs = QButtonGroup(self)
        for entry in self._entries:
            if not entry.is_on_bar:
                continue
            tab = _Tab(entry.title)
            tab.setProperty("page", entry.name)
            tab.setToolTip(f"{entry.question}  {entry.key}")
            tab.setAccessibleDescription(entry.question)
            tab.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            theme.set_role(tab, "tab")
            tab.clicked.connect(lambda _checked, name=entry.name: self.open_page(name))
            self._tabs.addButton(tab)
            bar.addWidget(tab)
        return margins

    def _add(
        self,
        menu: QMenu,
        text: str,
        slot: Callable[[], None],
        key: QKeySequence.StandardKey | str | None = None,
    ) -> QAction:
        action = QAction(text, self)
        if key is not None:
            action.setShortcut(QKeySequence(key))
        action.triggered.connect(lambda _checked: slot())
        menu.addAction(action)
        return action

    def _make_menus(self) -> None:
        file = self.menuBar().addMenu(_("&File"))
        self._add(file, _("&Open database …"), self.database_wanted.emit, QKeySequence.StandardKey.Open)
        self._add(file, _("&Import …"), self.import_files)
        self._add(file, _("Open the &sample fleet"), self.sample_wanted.emit)
        file.addSeparator()
        self._add(file, _("&Add a vehicle …"), self.add_vehicle, "Ctrl+N")
        self._export = file.addMenu(_("&Export"))
        self._export.aboutToShow.connect(self._fill_export)
        file.addSeparator()
        self._add(file, _("&Quit"), self._quit, QKeySequence.StandardKey.Quit)
        edit = self.menuBar().addMenu(_("&Edit"))
        self._undo = self._add(edit, _("&Undo"), self.quiet.undo, QKeySequence.StandardKey.Undo)
        self._undo.setEnabled(False)
        go = self.menuBar().addMenu(_("&Go"))
        group = QActionGroup(self)
        self._page_actions = []
        for entry in self._entries:
            action = self._add(go, entry.menu_text, partial(self.open_page, entry.name), entry.key)
            action.setCheckable(True)
            action.setData(entry.name)
            group.addAction(action)
            self._page_actions.append(action)
        go.addSeparator()
        self._add(go, _("&Find in the fleet"), self.fleet.focus_find, QKeySequence.StandardKey.Find)
        self._add(go, _("F&leet list"), self.fleet.focus_list, "Ctrl+L")
        self._add(go, _("&Next vehicle"), lambda: self.fleet.step(1), "Alt+Down")
        self._add(go, _("&Previous vehicle"), lambda: self.fleet.step(-1), "Alt+Up")
        self._make_view_menu(self.menuBar().addMenu(_("&View")))
        help_menu = self.menuBar().addMenu(_("&Help"))
        self._add(help_menu, _("&Help on this page"), self.turn_help, QKeySequence.StandardKey.HelpContents)
        self._add(help_menu, _("&Cautions"), lambda: self._read(_("Cautions"), documents.all_cautions()))
        self._add(help_menu, _("What's &new"), lambda: self._read(_("What's new"), documents.whats_new()))
        self._add(help_menu, _("&About wearlog"), lambda: self._read(_("About wearlog"), documents.about()))

    def _make_view_menu(self, view: QMenu) -> None:
        group = QActionGroup(self)
        self._themes: dict[str, QAction] = {}
        for name, text in {
            "light": _("&Light"),
            "dark": _("&Dark"),
            "system": _("As the &system"),
        }.items():
            action = self._add(view, text, partial(self._set_theme, name))
            action.setCheckable(True)
            group.addAction(action)
            self._themes[name] = action
        self._themes.get(self.session.preferences.theme, self._themes["system"]).setChecked(True)
        view.addSeparator()
        larger = self._add(
            view, _("Text &larger"), lambda: self._step_text(1), QKeySequence.StandardKey.ZoomIn
        )
        larger.setShortcuts([QKeySequence(QKeySequence.StandardKey.ZoomIn), QKeySequence("Ctrl+=")])
        self._add(view, _("Text s&maller"), lambda: self._step_text(-1), QKeySequence.StandardKey.ZoomOut)
        self._add(view, _("&Plain text size"), lambda: self._set_text(1.0), "Ctrl+Alt+0")

    # --- what the menus do

    def turn_help(self) -> None:
        """Open help on the page that is open; close it if the focus is in it already."""
        page = self.current_page()
        if page is None:
            return
        name = next(name for name, one in self._pages.items() if one is page)
        at = page.method_at_hand()
        panel = self._help_panel()
        focus = QApplication.focusWidget()
        if panel.is_at(name) and focus is not None and panel.isAncestorOf(focus):
            panel.leave()
            return
        title = next((entry.title for entry in self._entries if entry.name == name), _("First steps"))
        panel.show_page(name, title, at)

    def _help_panel(self) -> "HelpPanel":
        if self.help is None:
            from wearlog.window.help.panel import HelpPanel  # noqa: PLC0415 - loaded when it is wanted

            self.help = HelpPanel(self.stack)
        return self.help

    def add_vehicle(self) -> None:
        """Go to the form for a new vehicle."""
        from wearlog.window.vehicle.page import VehiclePage  # noqa: PLC0415 - a page is loaded when it is opened

        self.open_page(VEHICLE)
        page = self.current_page()
        if isinstance(page, VehiclePage):
            page.begin()

    def import_files(self, *, is_folder: bool = False) -> None:
        """Go to the import and ask for a sheet, or for a folder."""
        from wearlog.window.import_sheet.page import ImportPage  # noqa: PLC0415 - a page is loaded when opened

        self.open_page(IMPORT)
        page = self.current_page()
        if isinstance(page, ImportPage):
            (page.choose_folder if is_folder else page.choose_files)()

    def _quit(self) -> None:
        self.close()

    def _fill_export(self) -> None:
        self._export.clear()
        page = self.current_page()
        for text, slot in page.exports() if page is not None else ():
            self._add(self._export, text, slot)
        if self._export.isEmpty():
            nothing = self._add(self._export, _("Nothing to export on this page"), lambda: None)
            nothing.setEnabled(False)

    def _read(self, title: str, markdown: str) -> None:
        documents.Document(title, markdown, self).open()

    def _set_theme(self, name: str) -> None:
        self.session.set_preferences(replace(self.session.preferences, theme=name))

    def _set_text(self, scale: float) -> None:
        self.session.set_preferences(replace(self.session.preferences, text_scale=scale))

    def _step_text(self, step: Literal[-1, 1]) -> None:
        self._set_text(theme.next_scale(self.session.preferences.text_scale, step))

    # --- what happens

    def _on_preferences(self) -> None:
        app = QApplication.instance()
        if isinstance(app, QApplication):
            theme.apply(app, self.session.preferences)
        if self.help is not None:
            self.help.take_look()

    def _on_fleet(self, snapshot: FleetSnapshot) -> None:
        was_empty, self._is_fleet_empty = self._is_fleet_empty, not snapshot.rows
        known = {row.vehicle_id for row in snapshot.rows}
        if self.session.vehicle_id not in known and snapshot.rows:
            last = self.session.preferences.last_vehicle
            in_service = [row for row in snapshot.rows if not row.is_retired] or list(snapshot.rows)
            urgent = max(in_service, key=lambda row: URGENCY.index(row.state))
            chosen = next((row for row in in_service if row.tag == last), urgent)
            self.session.choose(chosen.vehicle_id)
        if was_empty == self._is_fleet_empty:
            return
        if self._is_fleet_empty:
            self.session.vehicle_id = None
        wanted = self._wanted if self._wanted != WELCOME else self._entries[0].name
        # Whoever has gone on to a page already, as after adding the first vehicle, is left in peace there.
        if self._is_fleet_empty or self.current_page() is not self._pages.get(wanted):
            self.open_page(wanted)

    def _on_entered(self) -> None:
        page = self.current_page()
        if page is not None:
            page.focus_first()

    def _on_problem(self, error: WearlogError, page: QWidget | None) -> None:
        shown = page if isinstance(page, Page) else self.current_page()
        if shown is not None:
            shown.show_problems(error)

    def _on_bug(self, report: str) -> None:
        BugDialog(report, self._log_file, self).open()

    def _on_undo_changed(self, said: Said | None) -> None:
        self._undo.setEnabled(said is not None)
        self._undo.setText(_("&Undo: {what}").format(what=said.text) if said else _("&Undo"))

    # --- where the window stood

    def _restore(self) -> None:
        self.resize(1280, 800)
        kept = self.session.preferences.window
        if kept:
            self.restoreGeometry(QByteArray.fromBase64(kept.encode()))
        width = round(self.session.preferences.fleet_width_px) or FLEET_PX
        self.splitter.setSizes([width, max(self.width() - width, 1)])

    def _remember(self) -> None:
        row = self.fleet.model.row_of(self.session.vehicle_id)
        vehicle = self.fleet.model.vehicle_at(row) if row is not None else None
        preferences = self.session.preferences
        self.session.set_preferences(
            replace(
                preferences,
                window=bytes(self.saveGeometry().toBase64().data()).decode(),
                fleet_width_px=float(self.splitter.sizes()[0]),
                last_page=self._wanted if self._wanted != WELCOME else "",
                last_vehicle=vehicle.tag if vehicle else preferences.last_vehicle,
            )
        )

    def closeEvent(self, event: QCloseEvent) -> None:
        """Remember where the window stood; half-filled sheets are kept as they are typed."""
        page = self.current_page()
        if page is not None and not page.may_leave():
            event.ignore()
            return
        self._remember()
        self.session.stop_watching()
        super().closeEvent(event)
