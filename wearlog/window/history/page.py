"""What happened to a vehicle: its records, the latest first, and the way to put each of them right."""

from collections.abc import Callable
from functools import partial
from gettext import gettext as _
from pathlib import Path

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import QFileDialog, QStackedWidget, QWidget

from wearlog.drawing.history_words import detail_sentences, summary_text, value_of, what_text, where_text
from wearlog.drawing.trail_words import entry_title, field_changes, moment_text, person_text
from wearlog.exchange.files import name_for_file
from wearlog.fleet.audit import AuditEntry
from wearlog.fleet.fitting import Installation
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.reading import Reading
from wearlog.fleet.service import Visit
from wearlog.fleet.torque import TorqueRecord
from wearlog.window.bench_keys import put_focus
from wearlog.window.history.below import Below
from wearlog.window.history.head import HistoryHead
from wearlog.window.history.model import Filter, RecordsModel
from wearlog.window.history.traffic import HistoryTraffic, OpenedHistory
from wearlog.window.history.view import RecordsView
from wearlog.window.page import Page, hairline
from wearlog.window.session import Session
from wearlog.window.settings.detail import Deed
from wearlog.window.theme import scaled
from wearlog.wording import day_text
from wearlog.workshop.changes import Changes
from wearlog.workshop.history_snapshot import HistoryLine, HistorySnapshot

#: Height of the words under the list, and of those of the trail, which are many, [px] at plain text size.
WORDS_PX, TRAIL_WORDS_PX = 124, 176


class HistoryPage(Page):
    """The history of the chosen vehicle and the trail of every change."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(session, _("What happened?"), parent)
        self.snapshot: HistorySnapshot | None = None
        self._wanted_id: int | None = None
        self.traffic = HistoryTraffic(session.bench, session.background, self)
        heads = (_("Day"), _("Meter"), _("What"), _("Where"), _("Came to"), _("Who"))
        self.records = RecordsModel(heads, frozenset({1}), self)
        trail_heads = (_("When"), _("Who"), _("What"), _("Before"), _("After"))
        self.trail = RecordsModel(trail_heads, frozenset(), self)
        self.head = HistoryHead(self.records)
        self.list = RecordsView(
            _("What happened"), self.records, (116, 104, 168, -5, -4, 92), {5: 700, 3: 560}
        )
        self.trail_list = RecordsView(
            _("Trail of changes"), self.trail, (152, 92, 244, -2, -3), {1: 620, 3: 560}
        )
        self.below = Below(session, self.traffic)
        self.detail = self.below.detail
        self._lay_out()
        self.set_primary(_("&Correct …"), self.correct)
        self._connect()
        self._show_line()

    def _lay_out(self) -> None:
        self.lists = QStackedWidget()
        self.lists.addWidget(self.list)
        self.lists.addWidget(self.trail_list)
        self.body.setSpacing(12)
        self.body.addWidget(self.head)
        self.body.addWidget(self.lists, 1)
        self.body.addWidget(hairline())
        self.body.addWidget(self.below)
        self._take_look()

    def _connect(self) -> None:
        traffic = self.traffic
        traffic.opened.connect(self._on_opened)
        traffic.refused.connect(self._on_refused)
        traffic.exported.connect(self._on_exported)
        self.head.turned.connect(self._on_turned)
        self.head.filtered.connect(self.records.choose_filter)
        self.head.searched.connect(self._on_searched)
        self.list.chosen.connect(lambda _key: self._show_line())
        self.list.change_wanted.connect(self.correct)
        self.list.void_wanted.connect(self.void_or_restore)
        self.list.adding_wanted.connect(self.replace_meter)
        self.trail_list.chosen.connect(lambda _key: self._show_line())
        for model in (self.records, self.trail):
            model.narrowed.connect(self._on_narrowed)
        self.below.kept.connect(self._on_kept)
        self.below.refused.connect(self._on_refused)
        self.below.turned.connect(self._on_form_turned)
        self.below.elsewhere_wanted.connect(self._go_to)
        self.session.preferences_changed.connect(self._on_preferences)
        for number in range(1, 10):
            shortcut = QShortcut(QKeySequence(f"Alt+{number}"), self)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(partial(self.below.take_offer, number))

    # --- opening

    def show_vehicle(self, vehicle_id: int | None) -> None:
        """Show the history of a vehicle."""
        shown = self.snapshot.vehicle_id if self.snapshot else None
        if vehicle_id is None or (vehicle_id == shown and vehicle_id == self._wanted_id):
            return
        self._wanted_id = vehicle_id
        self.traffic.open(vehicle_id, self.session.shown_units)

    def refresh(self, changes: Changes) -> None:
        """Read anew if something of the shown vehicle changed; an open form stays as it is typed."""
        if self._wanted_id is not None and changes.concern(self._wanted_id):
            self.traffic.open(self._wanted_id, self.session.shown_units)

    def _on_opened(self, opened: OpenedHistory) -> None:
        snapshot = opened.snapshot
        if snapshot.vehicle_id != self._wanted_id:
            return
        is_other = self.snapshot is None or self.snapshot.vehicle_id != snapshot.vehicle_id
        self.snapshot = snapshot
        if is_other:
            self.clear_problems()
            self.below.leave()
        about = f"{snapshot.tag}, {snapshot.vehicle_text} · {snapshot.depot}"
        self.set_subject(f"{about}\n{summary_text(snapshot)}")
        self.records.show(opened.rows)
        self.trail.show(opened.trail)
        self.head.show_counts()
        self._show_line()

    def focus_first(self) -> None:
        """Put the focus into the list, or into the form that is open."""
        if self.below.form is not None:
            put_focus(self.below.form.keep)
        else:
            self._shown_list.setFocus(Qt.FocusReason.OtherFocusReason)

    @property
    def _shown_list(self) -> RecordsView:
        return self.trail_list if self.head.trail.isChecked() else self.list

    def _on_turned(self, is_trail: bool) -> None:
        self.below.leave()
        self.lists.setCurrentWidget(self.trail_list if is_trail else self.list)
        self._share_height()
        self._on_narrowed()
        self._show_line()

    def _on_searched(self, text: str) -> None:
        self.records.search(text)
        self.trail.search(text)

    def _on_narrowed(self) -> None:
        model = self._shown_list.records
        self.head.say_count(model.rowCount(), model.total)

    def _go_to(self, key: str) -> None:
        """Leave the form and show another line, whatever is filtered."""
        self.below.leave()
        self.head.words.clear()
        if not self.list.choose(key):
            row = self.records.row_of(key)
            kind = row.item.kind.value if row is not None and isinstance(row.item, HistoryLine) else ""
            self.head.choose({"meter": Filter.METER, "reading": Filter.READINGS}.get(kind, Filter.ALL))
            self.list.choose(key)

    # --- the chosen line

    @property
    def line(self) -> HistoryLine | None:
        """The line of the history that is chosen."""
        row = self.records.row_of(self.list.chosen_key)
        return row.item if row is not None and isinstance(row.item, HistoryLine) else None

    def _show_line(self) -> None:
        if self.head.trail.isChecked():
            self._show_entry()
        else:
            self._show_record()
        self._show_primary()

    def _show_entry(self) -> None:
        row = self.trail.row_of(self.trail_list.chosen_key)
        snapshot = self.snapshot
        self.detail.show_deeds(((_("&Export the trail …"), self.export_csv),) if snapshot else ())
        if row is None or snapshot is None or not isinstance(row.item, AuditEntry):
            self.detail.show_words(_("Nothing was changed yet."), ())
            return
        entry, names = row.item, snapshot.trail.names
        title = entry_title(entry, names)
        head = _("{what}: {who}, {when} ({work})").format(
            what=title[:1].upper() + title[1:],
            who=person_text(entry.by),
            when=moment_text(entry),
            work=entry.what,
        )
        changes = field_changes(entry, names, self.session.shown_units)
        if entry.before:
            lines = tuple(f"{one.name}: {one.before} → {one.after}" for one in changes)
        else:
            lines = ("; ".join(f"{one.name}: {one.after}" for one in changes),)
        self.detail.show_words(head, lines)

    def _show_record(self) -> None:
        line, snapshot = self.line, self.snapshot
        if snapshot is None:
            self.detail.show_words(_("Choose a vehicle in the list on the left."), ())
            self.detail.show_deeds(())
            return
        if line is None:
            self.detail.show_words(_("Nothing of this kind has happened."), ())
            self.detail.show_deeds(self._deeds(None))
            return
        shown = self.session.shown_units
        parts = (what_text(line, snapshot), where_text(line), value_of(line, snapshot, shown))
        title = " · ".join(part for part in (day_text(line.on), *parts) if part)
        self.detail.show_words(title, (" ".join(detail_sentences(line, snapshot, shown)),))
        self.detail.show_deeds(self._deeds(line))

    def _deeds(self, line: HistoryLine | None) -> tuple[Deed, ...]:
        deeds: list[Deed] = []
        record = None if line is None else line.record
        if isinstance(record, Reading | MeterEntry | TorqueRecord | Visit):
            text = _("Let it count &again") if record.void_reason else _("&Void …")
            deeds.append((text, self.void_or_restore))
        if isinstance(record, Installation) and not record.void_reason:
            deeds.append((_("&Move the part …"), self.move_away))
        deeds.append((_("Meter was &replaced …"), self.replace_meter))
        return tuple(deeds)

    def _show_primary(self) -> None:
        self.primary.setVisible(self.below.form is None and not self.head.trail.isChecked())
        self.primary.setEnabled(self._can_correct(self.line))
        self.primary.setToolTip(_("Correct the chosen record  Enter in the list"))

    def _can_correct(self, line: HistoryLine | None) -> bool:
        is_kind = line is not None and isinstance(line.record, Reading | MeterEntry | Installation)
        return is_kind and line is not None and not line.void_reason

    # --- what is done

    def correct(self) -> None:
        """Open the form that fits the chosen line."""
        line, snapshot = self.line, self.snapshot
        if line is not None and snapshot is not None and self._can_correct(line):
            self.below.correct(line, snapshot, self.session.shown_units)

    def void_or_restore(self) -> None:
        """Ask why the chosen record should no longer count; let a voided one count again."""
        if self.line is not None and self.snapshot is not None:
            self.below.void_or_restore(self.line, self.snapshot)

    def replace_meter(self) -> None:
        """Open the form for a meter replacement that nobody wrote down."""
        if self.snapshot is not None:
            self.below.replace_meter(self.line, self.snapshot, self.session.shown_units)

    def move_away(self) -> None:
        """Open the form that moves the part of the chosen line."""
        if self.line is not None and self.snapshot is not None:
            self.below.move_away(self.line, self.snapshot, self.session.shown_units)

    def _on_form_turned(self) -> None:
        if self.below.form is None:
            self._shown_list.setFocus(Qt.FocusReason.OtherFocusReason)
        self._show_line()

    def _on_kept(self, changes: Changes) -> None:
        self.clear_problems()
        self.session.tell_change(changes)

    def _on_refused(self, error: WearlogError) -> None:
        self.session.messages.problem(error, self)

    # --- the trail as a file

    def exports(self) -> tuple[tuple[str, Callable[[], None]], ...]:
        """Return the ways of writing the trail."""
        if self.snapshot is None:
            return ()
        return (
            (_("Trail of changes, CSV …"), self.export_csv),
            (_("Trail of changes, JSON …"), partial(self._export, "json")),
        )

    def export_csv(self) -> None:
        """Write the trail for a spreadsheet."""
        self._export("csv")

    def _export(self, ending: str) -> None:
        if self.snapshot is None:
            return
        name = f"trail-{name_for_file(self.snapshot.tag)}.{ending}"
        chosen, _kind = QFileDialog.getSaveFileName(self, _("Export the trail"), name, f"*.{ending}")
        if chosen:
            self.traffic.export(self.snapshot.trail, Path(chosen), ending, self.session.shown_units)

    def _on_exported(self, file: Path) -> None:
        self.session.messages.said(_("Written: {file}").format(file=file))

    # --- look

    def _on_preferences(self) -> None:
        if self._wanted_id is not None:
            self.traffic.open(self._wanted_id, self.session.shown_units)

    def _take_look(self) -> None:
        self.head.take_look()
        for view in (self.list, self.trail_list):
            view.size_columns()
        self.below.take_look()
        self._share_height()

    def _share_height(self) -> None:
        words = TRAIL_WORDS_PX if self.head.trail.isChecked() else WORDS_PX
        self.below.set_room(self.height(), scaled(words))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the height anew."""
        super().resizeEvent(event)
        self._share_height()

    def changeEvent(self, event: QEvent) -> None:
        """Follow the text size."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.StyleChange and hasattr(self, "below"):
            self._take_look()
