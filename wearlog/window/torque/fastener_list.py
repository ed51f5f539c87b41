"""The fasteners of the sheet, one row each, in the order of the hand."""

from collections.abc import Callable, Iterator
from gettext import gettext as _

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QScrollArea, QVBoxLayout, QWidget

from wearlog.window.bench_keys import EnterWalk, put_focus
from wearlog.window.offer_bar import OfferBar
from wearlog.window.theme import scaled, set_role
from wearlog.window.torque.fastener_row import FIELD_PX, GAP_PX, FastenerRow, range_px
from wearlog.window.torque.head import TorqueHead
from wearlog.window.torque.model import TorqueModel

#: Least height of the list, [px] at plain text size.
LEAST_PX = 208


class FastenerList(QWidget):
    """The rows under their captions; Enter goes from field to field, past the last to `at_end`."""

    def __init__(
        self, model: TorqueModel, head: TorqueHead, note: OfferBar, at_end: Callable[[], None]
    ) -> None:
        super().__init__()
        self._model = model
        self._head = head
        self._note = note
        self.rows: list[FastenerRow] = []
        self.walk = EnterWalk(self.stops, at_end, self)
        self._captions = [QLabel(text) for text in (_("Fastener"), _("Range"), "", _("How it stands"))]
        captions = QHBoxLayout()
        captions.setContentsMargins(12, 0, 4, 0)
        for label, stretch in zip(self._captions, (6, 0, 0, 4), strict=True):
            set_role(label, "caption")
            captions.addWidget(label, stretch)
        self._caption_row = captions
        self._content = QWidget()
        self._lines = QVBoxLayout(self._content)
        self._lines.setContentsMargins(0, 0, 0, 0)
        self._lines.setSpacing(0)
        self.scroller = QScrollArea()
        self.scroller.setWidgetResizable(True)
        self.scroller.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.scroller.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.scroller.setWidget(self._content)
        self.scroller.verticalScrollBar().rangeChanged.connect(self._make_room)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addLayout(captions)
        layout.addWidget(self.scroller, 1)
        for widget in (head.meter, head.day, head.by):
            self.walk.watch(widget)
        model.opened.connect(self.rebuild)
        model.entry_changed.connect(self._on_entry)
        model.head_changed.connect(self.refresh_rows)
        model.chosen.connect(lambda _number: self._content.update())
        self.take_look()

    def stretch(self, *, is_whole: bool) -> None:
        """Show all rows at once where the page itself scrolls; else scroll here."""
        height = self._content.sizeHint().height() if is_whole else scaled(LEAST_PX)
        self.scroller.setMinimumHeight(height)

    def take_look(self) -> None:
        """Take the text size that is applied now."""
        self._caption_row.setSpacing(scaled(GAP_PX))
        self._captions[1].setFixedWidth(scaled(range_px(self._model)))
        self._captions[2].setFixedWidth(scaled(FIELD_PX))
        unit = self._model.shown.torque.replace(".", "·")
        self._captions[2].setText(_("Applied, {unit}").format(unit=unit))
        for row in self.rows:
            row.take_look()

    def _make_room(self, _low: int, high: int) -> None:
        """Keep the captions over their columns when a scroll bar takes some of the width."""
        bar = self.scroller.verticalScrollBar().sizeHint().width() if high > 0 else 0
        self._caption_row.setContentsMargins(12, 0, 4 + bar, 0)

    def stops(self) -> list[QWidget]:
        """Return the widgets that Enter stops at: what is missing in the head, then the fields."""
        stops: list[QWidget] = [self._head.meter]
        if self._head.day.day is None:
            stops.append(self._head.day)
        if not self._head.by.text().strip():
            stops.append(self._head.by)
        return stops + [row.field for row in self.rows]

    def rebuild(self) -> None:
        """Lay out the rows of another sheet; the rows of the same fasteners stay, and the focus with them."""
        numbers = [line.fastener.id for line in self._model.lines]
        if numbers != [row.fastener_id for row in self.rows]:
            while (item := self._lines.takeAt(0)) is not None:
                if (widget := item.widget()) is not None:
                    widget.hide()
                    widget.deleteLater()
            self.rows = [FastenerRow(self._model, number, self._content) for number in numbers]
            for row in self.rows:
                self._lines.addWidget(row)
                row.show()
                row.grew.connect(self.number_offers)
                self.walk.watch(row.field)
            self._lines.addStretch(1)
        for row in self.rows:
            row.show_line()
        self.refresh_rows()
        self.take_look()

    def refresh_rows(self) -> None:
        """Show every row as the model holds it."""
        for row in self.rows:
            row.refresh()
        self.number_offers()

    def _on_entry(self, fastener_id: int) -> None:
        for row in self.rows:
            if row.fastener_id == fastener_id:
                row.refresh()

    def row(self, fastener_id: int) -> FastenerRow | None:
        """Return the row of a fastener."""
        return next((row for row in self.rows if row.fastener_id == fastener_id), None)

    def focus_first(self) -> None:
        """Put the hand at the first fastener."""
        if self.rows:
            chosen = self.row(self._model.chosen_id) or self.rows[0]
            put_focus(chosen.field)

    def go_to_first_problem(self) -> bool:
        """Put the focus where something can't be understood; False if all of it can."""
        for row in self.rows:
            if self._model.problem(row.fastener_id) is not None:
                put_focus(row.field)
                row.show_problem()
                return True
        if self._model.meter_problem is not None:
            put_focus(self._head.meter)
            return True
        return False

    # --- offers, numbered down the page for Alt+number

    def _bars(self) -> Iterator[OfferBar]:
        yield self._note
        for row in self.rows:
            yield row.said

    def number_offers(self) -> None:
        """Give all offers their numbers."""
        number = 1
        for bar in self._bars():
            number = bar.number_from(number)

    def take_offer(self, number: int) -> None:
        """Take the offer of a number."""
        at = number - 1
        for bar in self._bars():
            if at < bar.offers:
                bar.accept(at)
                return
            at -= bar.offers
