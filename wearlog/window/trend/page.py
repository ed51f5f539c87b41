"""How worn is it: chart, figures, readings, and the files the chart can be written to."""

from gettext import gettext as _
from pathlib import Path

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QAction, QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import (
    QBoxLayout,
    QFileDialog,
    QLabel,
    QMenu,
    QPushButton,
    QScrollArea,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from wearlog.drawing.trend_chart import TrendChart
from wearlog.fleet.problem import ProblemKind, WearlogError
from wearlog.fleet.progress import Progress
from wearlog.window import theme
from wearlog.window.page import Page, hairline
from wearlog.window.paper import Entries, owner_paper_entries
from wearlog.window.session import Session
from wearlog.window.theme import set_role
from wearlog.window.trend.chooser import PartChooser
from wearlog.window.trend.compare import ComparePanel
from wearlog.window.trend.compare_model import CompareModel
from wearlog.window.trend.model import Choice, TrendModel
from wearlog.window.trend.nothing import Nothing
from wearlog.window.trend.panel import TrendPanel
from wearlog.window.trend.readings_view import ROW_PX, ReadingsView, VoidBar
from wearlog.window.trend.switches import AxisSwitches
from wearlog.workshop.changes import Changes
from wearlog.workshop.trend_overlay_snapshot import OverlayChoice, OverlayLine
from wearlog.workshop.trend_snapshot import TrendSnapshot

#: Height that everything but the rows of the readings wants, [px]; most rows before the chart gets the rest.
_CHART_PX = 612
_MOST_ROWS = 10
#: From this width on the figures stand beside the chart, [px].
_SIDE_BY_SIDE_PX = 720


class TrendPage(Page):
    """The wear trend of one part of the chosen vehicle."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(session, _("How worn is it?"), parent)
        self.model = TrendModel(session.shown_units)
        self.chart = TrendChart()
        self.panel = TrendPanel(self.model)
        self.chooser = PartChooser()
        self.fitted = QLabel()
        set_role(self.fitted, "muted")
        self.fitted.setWordWrap(True)
        self.readings = ReadingsView(self.model.readings)
        self.choices = CompareModel()
        self.compare = ComparePanel(self.choices)
        self.compare.hide()
        self.switches = AxisSwitches()
        self.void_bar = VoidBar()
        self.expected = QLabel(
            _(
                "No reading yet. The bands are what similar parts lead to expect; "
                "a reading makes them its own."
            )
        )
        set_role(self.expected, "muted")
        self.foot = QLabel()
        set_role(self.foot, "caption")
        self.foot.setWordWrap(True)
        self.foot.setAccessibleName(_("What is taken for granted"))
        self.nothing = Nothing()
        self.nothing.button.clicked.connect(self._enter_service)
        self.stack = QStackedWidget()
        self.stack.addWidget(self._make_content())
        self.stack.addWidget(self.nothing)
        self.body.addWidget(self.stack, 1)
        self.set_primary(_("Enter a &service"), self._enter_service, "Ctrl+Return")
        self._make_exports()
        self._make_keys()
        self.wear_theme()
        self._connect()
        self._say_choose()

    # --- making

    def _make_content(self) -> QWidget:
        self._part = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._part.setSpacing(16)
        self._part.addWidget(self.chooser)
        self._part.addWidget(self.fitted, 1)
        self._part.addWidget(self.switches)
        self._upper = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._upper.setSpacing(24)
        self._upper.addWidget(self.chart, 1)
        self._parting = hairline(vertical=True)
        self._upper.addWidget(self._parting)
        self._upper.addWidget(self.panel)
        self._upper.addWidget(self.compare)
        content = QWidget()
        layout = QVBoxLayout(content)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(12)
        layout.addLayout(self._part)
        layout.addLayout(self._upper, 1)
        layout.addWidget(hairline())
        layout.addWidget(self.void_bar)
        layout.addWidget(self.expected)
        layout.addWidget(self.readings)
        layout.addWidget(self.foot)
        scroll = QScrollArea()
        scroll.setWidget(content)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QScrollArea.Shape.NoFrame)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        return scroll

    def _make_exports(self) -> None:
        self.export_button = QPushButton(_("E&xport"))
        self.export_button.setAccessibleName(_("Export"))
        menu = QMenu(self.export_button)
        for ending, text, kind in (
            ("png", _("&Picture, PNG …"), _("Picture (*.png)")),
            ("svg", _("&Drawing, SVG …"), _("Drawing (*.svg)")),
            ("pdf", _("P&aper, PDF …"), _("PDF (*.pdf)")),
            ("csv", _("&Numbers, CSV …"), _("Table (*.csv)")),
        ):
            action = QAction(text, menu)
            action.triggered.connect(lambda _checked, e=ending, k=kind: self._ask_file(e, k))
            menu.addAction(action)
        menu.addSeparator()
        for text, slot in self.exports():
            menu.addAction(text).triggered.connect(lambda _checked, slot=slot: slot())
        self.export_button.setMenu(menu)
        self.export_button.setToolTip(_("Chart and numbers as files  {key}").format(key="Ctrl+E"))
        self.side_actions.addWidget(self.export_button)

    def exports(self) -> Entries:
        """Return the papers about the vehicle and the part that is shown."""
        return owner_paper_entries(self, self._shown_part)

    def _shown_part(self) -> int | None:
        return None if self.model.snapshot is None else self.model.snapshot.installation_id

    def _make_keys(self) -> None:
        for keys, slot in (
            ("Ctrl+E", self.export_button.showMenu),
            ("Ctrl+Up", lambda: self.chooser.step(-1)),
            ("Ctrl+Down", lambda: self.chooser.step(1)),
            ("Alt+A", self.switches.allowance.click),
            ("Alt+D", self.switches.vehicle.click),
            ("Alt+C", self.switches.compare.click),
        ):
            shortcut = QShortcut(QKeySequence(keys), self)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(slot)

    def _connect(self) -> None:
        self.model.changed.connect(self._show)
        self.chooser.wanted.connect(self._on_part)
        self.chart.reading_chosen.connect(self.readings.choose)
        self.readings.reading_chosen.connect(self.chart.look_at)
        self.readings.void_wanted.connect(self._on_void_wanted)
        self.void_bar.voided.connect(self._void)
        self.switches.view_wanted.connect(self.model.show_view)
        self.switches.compare.clicked.connect(self._on_compare)
        self.compare.closed.connect(self._close_compare)
        self.choices.chosen_changed.connect(self._load_others)
        self.session.preferences_changed.connect(self._on_preferences)

    # --- loading

    def show_vehicle(self, vehicle_id: int | None) -> None:
        """Show the most urgent part of a vehicle, or the one that was looked at last."""
        if vehicle_id is None:
            self._say_choose()
        else:
            self.load(vehicle_id)

    def refresh(self, changes: Changes) -> None:
        """Load anew: a reading of one vehicle moves the estimates of all that are alike."""
        del changes
        if self.session.vehicle_id is not None:
            self.load(self.session.vehicle_id)

    def load(self, vehicle_id: int) -> None:
        """Work out a trend off the window's thread."""
        bench = self.session.bench
        installation_id, measurand = self.model.wanted(vehicle_id)

        def read(progress: Progress) -> TrendSnapshot:
            from wearlog.workshop.predict import trend_snapshot  # noqa: PLC0415 - scipy loads off this thread

            return trend_snapshot(bench, vehicle_id, installation_id, measurand, progress)

        self.session.background.run(
            read,
            key="trend",
            done=self.show_trend,
            failed=lambda error: self._on_failed(vehicle_id, error),
            what=_("Working out the wear trend"),
            owner=self,
            is_urgent=True,
        )

    def show_trend(self, snapshot: TrendSnapshot) -> None:
        """Show a trend."""
        self.clear_problems()
        before = self.model.place
        self.model.show(snapshot)
        if before is not None and before != self.model.place:
            # Another stage or measurand: what was compared has nothing to do with it.
            self.choices.clear()
        if self.choices.chosen or self.compare.isVisible():
            self._load_choices()

    # --- comparing

    def _on_compare(self) -> None:
        if self.switches.compare.isChecked():
            self.panel.hide()
            self.compare.open()
            self._load_choices()
        else:
            self._close_compare()

    def _close_compare(self) -> None:
        self.switches.compare.setChecked(False)
        self.compare.hide()
        self.panel.show()
        self.chart.setFocus(Qt.FocusReason.OtherFocusReason)

    def _load_choices(self) -> None:
        snapshot, bench = self.model.snapshot, self.session.bench
        if snapshot is None:
            return
        number, measurand = snapshot.installation_id, snapshot.measurand

        def read(_progress: Progress) -> tuple[OverlayChoice, ...]:
            from wearlog.workshop.trend_overlay import overlay_choices  # noqa: PLC0415 - off this thread

            return overlay_choices(bench, number, measurand)

        def show(choices: tuple[OverlayChoice, ...]) -> None:
            self.choices.show_choices(choices)
            self._load_others()

        self.session.background.run(
            read,
            key="trend choices",
            done=show,
            failed=self.show_problems,
            what=_("Looking for vehicles to compare with"),
            owner=self,
            is_urgent=True,
        )

    def _load_others(self) -> None:
        chosen, bench = self.choices.chosen, self.session.bench
        if not chosen:
            if self.model.others:
                self.model.show_others(())
            return

        def read(_progress: Progress) -> tuple[OverlayLine, ...]:
            from wearlog.workshop.trend_overlay import overlay_lines  # noqa: PLC0415 - off this thread

            return overlay_lines(bench, chosen)

        self.session.background.run(
            read,
            key="trend others",
            done=self.model.show_others,
            failed=self.show_problems,
            what=_("Working out the other vehicles"),
            owner=self,
            is_urgent=True,
        )

    def _on_failed(self, vehicle_id: int, error: WearlogError) -> None:
        problem = error.problems[0]
        if problem.kind is not ProblemKind.NOT_FOUND:
            self.show_problems(error)
            return
        if self.model.wanted(vehicle_id)[0] is not None:
            # The part that was looked at has gone: show what there is now.
            self.model.forget(vehicle_id)
            self.load(vehicle_id)
            return
        self.model.show(None)
        self.clear_problems()
        self.set_subject(problem.where)
        self.nothing.say(problem.what, problem.todo, _("Enter a service"))
        self.stack.setCurrentWidget(self.nothing)

    def _say_choose(self) -> None:
        self.model.show(None)
        self.nothing.say(
            _("Choose a vehicle in the fleet."),
            _("Its most urgent part is shown here: how worn it is, how sure that is, and when it is due."),
        )
        self.stack.setCurrentWidget(self.nothing)

    # --- showing

    def _show(self) -> None:
        model, snapshot = self.model, self.model.snapshot
        self.set_subject(model.subject)
        has_trend = snapshot is not None
        self.export_button.setEnabled(has_trend)
        self.primary.setEnabled(has_trend or self.session.vehicle_id is not None)
        self.void_bar.hide()
        self.chart.show_snapshot(snapshot, model.shown, model.view, model.others)
        self.switches.show_view(model.view, snapshot)
        if snapshot is None:
            return
        self.chooser.show_choices(model.choices, model.chosen)
        self.fitted.setText(model.fitted_text)
        self.foot.setText(model.foot)
        has_readings = bool(snapshot.readings)
        self.readings.setVisible(has_readings)
        self.expected.setVisible(not has_readings)
        self.stack.setCurrentIndex(0)
        self._fit_readings()

    def _fit_readings(self) -> None:
        """Give the readings what the chart can spare, in whole rows."""
        spare = self.height() - theme.scaled(_CHART_PX)
        self.readings.show_rows(min(spare // theme.scaled(ROW_PX), _MOST_ROWS))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the height anew."""
        super().resizeEvent(event)
        self._fit_width()
        self._fit_readings()

    def _fit_width(self) -> None:
        """Put the figures beside the chart, or below it where both would be too narrow."""
        is_wide = self.width() >= theme.scaled(_SIDE_BY_SIDE_PX)
        way = QBoxLayout.Direction.LeftToRight if is_wide else QBoxLayout.Direction.TopToBottom
        self._upper.setDirection(way)
        self._part.setDirection(way)
        self._parting.setVisible(is_wide)
        self.panel.stand_beside(is_wide=is_wide)
        self.chart.setMinimumHeight(theme.scaled(260))

    def focus_first(self) -> None:
        """Put the focus on the chart."""
        target = self.chart if self.model.snapshot is not None else self
        target.setFocus(Qt.FocusReason.OtherFocusReason)

    def wear_theme(self) -> None:
        """Take the colours and the text scale that are applied now."""
        self.chart.wear_colours(theme.colours(), theme.text_scale())
        self.panel.wear_theme()
        self.compare.wear_theme()
        self.readings.wear_theme()
        self._fit_width()

    def changeEvent(self, event: QEvent) -> None:
        """Draw anew in other colours."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.StyleChange and hasattr(self, "panel"):
            self.wear_theme()
            if self.model.snapshot is not None:
                self._show()

    def _on_preferences(self) -> None:
        self.model.show_units(self.session.shown_units)
        self.wear_theme()

    # --- doing

    def _enter_service(self) -> None:
        self.session.want_page("sheet")

    def _on_part(self, choice: Choice) -> None:
        vehicle_id = self.session.vehicle_id
        if vehicle_id is not None:
            self.model.want(vehicle_id, choice.installation_id, choice.measurand)
            self.load(vehicle_id)

    def _on_void_wanted(self, reading_id: int) -> None:
        row = self.readings.chosen()
        if row is not None and row.reading_id == reading_id:
            self.void_bar.ask(row)

    def _void(self, reading_id: int, reason: str) -> None:
        bench = self.session.bench

        def void(_progress: Progress) -> Changes:
            from wearlog.workshop.measure import void_reading  # noqa: PLC0415 - loaded when first needed

            return void_reading(bench, reading_id, reason)

        self.session.background.run(
            void,
            key=f"void {reading_id}",
            done=self.session.tell_change,
            failed=self.show_problems,
            what=_("Voiding a reading"),
            owner=self,
            is_urgent=True,
        )

    def _ask_file(self, ending: str, kind: str) -> None:
        from wearlog.exchange.pictures import PictureKind, suggested_name  # noqa: PLC0415 - when first needed

        if self.model.snapshot is None:
            return
        name = suggested_name(self.model.snapshot, PictureKind(ending))
        chosen, _kind = QFileDialog.getSaveFileName(self, _("Export the wear trend"), name, kind)
        if chosen:
            self.write(Path(chosen).with_suffix(f".{ending}"))

    def write(self, file: Path) -> None:
        """Write what is in sight to a file; its ending says as what."""
        from wearlog.exchange.pictures import write_trend  # noqa: PLC0415 - loaded when first needed

        if self.model.snapshot is None:
            return
        try:
            ranges = self.chart.ranges() if self.chart.series is not None else None
            model = self.model
            write_trend(file, self.model.snapshot, model.shown, ranges, model.view, model.others)
        except WearlogError as error:
            self.show_problems(error)
            return
        self.session.messages.said(_("Written to {file}").format(file=file))
