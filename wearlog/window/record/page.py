"""Were we right: what forecasts were worth, how fast parts wear and how long they last in this fleet."""

from collections.abc import Callable
from gettext import gettext as _
from html import escape
from pathlib import Path

from PySide6.QtCore import QEvent, Qt
from PySide6.QtWidgets import (
    QComboBox,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QMenu,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from wearlog.drawing.record_picture import lives_drawn, rates_drawn, reliability_drawn
from wearlog.fleet.progress import Progress
from wearlog.window import theme
from wearlog.window.flow import FlowLayout
from wearlog.window.page import Page, hairline
from wearlog.window.record.model import HeldRow, RecordModel
from wearlog.window.record.section import Section
from wearlog.window.session import Session
from wearlog.window.theme import set_role
from wearlog.workshop.changes import Changes
from wearlog.workshop.record_snapshot import WIDTHS, Factor, RecordSnapshot


class RecordPage(Page):
    """The fleet's own record."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(session, _("Were we right?"), parent)
        self.model = RecordModel(session.shown_units)
        self.forecasts = Section(_("What forecasts were worth"))
        self.rates = Section(_("How fast parts wear"))
        self.lives = Section(_("How long parts last"))
        self.empty = QLabel(
            _(
                "Nothing to judge yet. Fit a chain, belt or sprocket and measure it at a service; from the "
                "first reading on, every forecast is held against what came."
            )
        )
        self.empty.setWordWrap(True)
        self.empty.setAccessibleName(_("Why the page is empty"))
        self.empty.hide()
        self.choices = QWidget()
        self.choices.setLayout(self._make_choices())
        self.area = _scrolling((self.forecasts, self.rates, self.lives))
        self.area.hide()
        self.choices.hide()
        self.body.addWidget(self.choices)
        self.body.addWidget(self.empty, 0, Qt.AlignmentFlag.AlignTop)
        self.body.addWidget(self.area, 1)
        self.body.addStretch(0)
        self._make_actions()
        session.preferences_changed.connect(self._on_preferences)
        self._take_look()

    # --- the record

    def show_vehicle(self, _vehicle_id: int | None) -> None:
        """Read the record when it was never read; it is about the whole fleet."""
        if self.model.snapshot is None:
            self.load()

    def refresh(self, _changes: Changes) -> None:
        """Read the record anew: a reading of one vehicle teaches of all."""
        self.load()

    def load(self) -> None:
        """Take a quick look off the window's thread, then a careful one."""
        self._read(is_honest=False, what=_("Holding forecasts against what came"))

    def look_carefully(self) -> None:
        """Predict every reading again with what was known in its day."""
        self._read(is_honest=True, what=_("Predicting past readings with what was known then"))

    def _read(self, *, is_honest: bool, what: str) -> None:
        bench = self.session.bench

        def read(progress: Progress) -> RecordSnapshot:
            from wearlog.workshop.record import record_snapshot  # noqa: PLC0415 - numpy and scipy load meanwhile

            return record_snapshot(bench, is_honest=is_honest, progress=progress)

        self.session.background.run(
            read, key="record", done=self._on_read, failed=self.show_problems, what=what, owner=self
        )

    def _on_read(self, snapshot: RecordSnapshot) -> None:
        self.show_record(snapshot)
        if self.model.wants_careful_look and self.model.is_small:
            self.look_carefully()

    def show_record(self, snapshot: RecordSnapshot) -> None:
        """Show a record; what is chosen stays chosen."""
        self.clear_problems()
        self.model = self.model.with_snapshot(snapshot)
        self._show_choices()
        self._show_all()

    def focus_first(self) -> None:
        """Put the focus on the choice of parts."""
        self.kind.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_all(self) -> None:
        model, snapshot = self.model, self.model.snapshot
        self.empty.setVisible(model.is_empty)
        self.area.setVisible(snapshot is not None and not model.is_empty)
        self.choices.setVisible(self.area.isVisibleTo(self))
        self.primary.setVisible(model.wants_careful_look)
        self.export.setEnabled(self.area.isVisibleTo(self))
        self.set_subject(model.summary())
        if snapshot is None or model.is_empty:
            return
        self.forecasts.show_section(
            reliability_drawn(snapshot, model.kind), model.forecast_words(), _table(model.held_rows())
        )
        by = model.by if model.factors() else None
        self.rates.show_section(rates_drawn(snapshot, model.kind, by, model.shown), model.rate_words())
        self.lives.show_section(lives_drawn(snapshot, model.kind, model.shown), model.life_words())

    # --- what is chosen

    def _make_choices(self) -> FlowLayout:
        self.kind = QComboBox()
        self.kind.setAccessibleName(_("Kind of part"))
        self.by = QComboBox()
        self.by.setAccessibleName(_("Compared by"))
        self.by_label = QLabel(_("compared &by"))
        self.by_label.setBuddy(self.by)
        label = QLabel(_("&Parts"))
        label.setBuddy(self.kind)
        row = FlowLayout(spacing=16)
        for combo in (self.kind, self.by):
            combo.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.by_pair = _pair(self.by_label, self.by)
        for pair in (_pair(label, self.kind), self.by_pair):
            row.addWidget(pair)
        self.kind.currentIndexChanged.connect(self._on_kind)
        self.by.currentIndexChanged.connect(self._on_by)
        return row

    def _show_choices(self) -> None:
        _fill(self.kind, [(key, name) for key, name in self.model.kinds()], self.model.kind_key)
        self._show_factors()

    def _show_factors(self) -> None:
        factors = self.model.factors()
        _fill(self.by, [(by.value, name) for by, name in factors], self.model.by.value)
        self.by_pair.setVisible(bool(factors))

    def _on_kind(self) -> None:
        self.model = self.model.with_kind(str(self.kind.currentData() or ""))
        self._show_factors()
        self._show_all()

    def _on_by(self) -> None:
        if self.by.currentData():
            self.model = self.model.compared_by(Factor(self.by.currentData()))
            self._show_all()

    # --- files

    def _make_actions(self) -> None:
        self.set_primary(_("&Judge without hindsight"), self.look_carefully)
        self.primary.hide()
        self.export = QPushButton(_("E&xport"))
        self.export.setEnabled(False)
        menu = QMenu(self.export)
        for text, slot in self.exports():
            menu.addAction(text).triggered.connect(lambda _checked, slot=slot: slot())
        self.export.setMenu(menu)
        self.side_actions.addWidget(self.export)

    def exports(self) -> tuple[tuple[str, Callable[[], None]], ...]:
        """Return what the record can be written to."""
        return (
            (_("&Figures, CSV …"), lambda: self._ask_file("csv", _("Table (*.csv)"))),
            (_("Figures, &JSON …"), lambda: self._ask_file("json", _("JSON (*.json)"))),
            (_("&Charts, PNG …"), lambda: self._ask_file("png", _("Picture (*.png)"))),
            (_("Charts, &SVG …"), lambda: self._ask_file("svg", _("Drawing (*.svg)"))),
        )

    def _ask_file(self, form: str, kind: str) -> None:
        if self.model.snapshot is None or self.model.is_empty:
            return
        name, _kind = QFileDialog.getSaveFileName(self, _("Export the fleet record"), f"record.{form}", kind)
        if name:
            self.write(Path(name).with_suffix(f".{form}"))

    def write(self, file: Path) -> None:
        """Write the record to a file: all figures (.csv, .json) or the charts shown (.png, .svg)."""
        model = self.model
        snapshot = model.snapshot
        if snapshot is None:
            return

        def write(_progress: Progress) -> Path:
            from wearlog.exchange.record_files import write_record  # noqa: PLC0415 - loaded when first needed

            write_record(snapshot, file, model.shown, model.kind_key, model.by)
            return file

        self.session.background.run(
            write,
            key=f"write {file}",
            done=lambda written: self.session.messages.said(_("Written to {file}").format(file=written)),
            failed=self.show_problems,
            what=_("Writing {file}").format(file=file.name),
            owner=self,
        )

    # --- look

    def changeEvent(self, event: QEvent) -> None:
        """Paint anew in other colours."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.StyleChange and hasattr(self, "lives"):
            self._take_look()

    def _on_preferences(self) -> None:
        self.model = self.model.in_units(self.session.shown_units)
        self._take_look()
        self._show_all()

    def _take_look(self) -> None:
        for section in (self.forecasts, self.rates, self.lives):
            section.take_look()


def _table(rows: list[HeldRow]) -> str:
    """Return the shares held as a table of rich text."""
    if not rows:
        return ""
    muted = theme.colours().muted
    cell = '<td align="right" style="padding-left:12px;padding-bottom:4px">{}</td>'
    head = "".join(
        cell.format(f'<span style="color:{muted}">{round(100 * width)}\u2009%</span>') for width in WIDTHS
    )
    lines = [
        f'<tr><td style="padding-bottom:4px;color:{muted}">{escape(_("interval"))}</td>{head}</tr>',
    ]
    for row in rows:
        shares = "".join(cell.format(f"<b>{escape(share)}</b>") for share in row.shares)
        lines.append(f"<tr><td>{escape(row.name)}</td>{shares}</tr>")
    return f'<table cellspacing="0" cellpadding="0">{"".join(lines)}</table>'


def _pair(label: QLabel, combo: QComboBox) -> QWidget:
    """Return a label and what it names, which stay side by side."""
    pair = QWidget()
    row = QHBoxLayout(pair)
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(8)
    row.addWidget(label)
    row.addWidget(combo)
    return pair


def _fill(combo: QComboBox, items: list[tuple[str, str]], chosen: str) -> None:
    """Show items in a combo box without telling anybody."""
    combo.blockSignals(True)
    combo.clear()
    for key, name in items:
        combo.addItem(name, key)
    combo.setCurrentIndex(max(combo.findData(chosen), 0))
    combo.blockSignals(False)


def _scrolling(sections: tuple[Section, ...]) -> QScrollArea:
    inside = QWidget()
    layout = QVBoxLayout(inside)
    layout.setContentsMargins(0, 0, 12, 0)
    layout.setSpacing(20)
    for n, section in enumerate(sections):
        if n:
            layout.addWidget(hairline())
        layout.addWidget(section)
    layout.addStretch(1)
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setAccessibleName(_("The record"))
    area.setAccessibleDescription(_("Wear rates and earlier forecasts, to be scrolled with the arrow keys"))
    area.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setWidget(inside)
    set_role(inside, "ground")
    return area
