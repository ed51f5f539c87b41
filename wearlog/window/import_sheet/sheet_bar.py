"""What holds for the whole sheet: how it is read, what a row is, and one value for what it lacks."""

from gettext import gettext as _

from PySide6.QtCore import Signal
from PySide6.QtGui import QIntValidator
from PySide6.QtWidgets import QLabel, QLineEdit, QVBoxLayout, QWidget

from wearlog.exchange.matching import SERVICE, DayOrder, Field, purposes
from wearlog.exchange.sheet_text import ENCODINGS, SEPARATORS
from wearlog.exchange.spreadsheet import TextWay
from wearlog.window.flow import FlowLayout
from wearlog.window.import_sheet import words
from wearlog.window.import_sheet.choices import Choice
from wearlog.window.import_sheet.model import ImportModel
from wearlog.window.settings.form import Labelled
from wearlog.window.theme import set_role


class SheetBar(QWidget):
    """Choices for the whole sheet.

    Signals
    -------
    way_wanted(TextWay)
        The text is to be read in another way.
    """

    way_wanted = Signal(object)

    def __init__(self, model: ImportModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("The whole sheet"))
        self._model = model
        self.sheet = Choice(_("Sheet"))
        self.purpose = Choice(_("A row is"))
        self.header = QLineEdit()
        self.header.setValidator(QIntValidator(1, 999_999, self.header))
        self.days = Choice(_("Days are written"))
        self.decimal = Choice(_("Decimals are written"))
        self.encoding = Choice(_("Encoding"))
        self.separator = Choice(_("Columns are parted by"))
        self._labelled = {
            "sheet": Labelled(_("Sheet"), self.sheet, 144),
            "purpose": Labelled(_("A row is"), self.purpose, 168),
            "header": Labelled(_("Headers in row"), self.header, 104),
            "days": Labelled(_("Days are written"), self.days, 120),
            "decimal": Labelled(_("Decimals"), self.decimal, 112),
            "separator": Labelled(_("Parted by"), self.separator, 136),
            "encoding": Labelled(_("Encoding"), self.encoding, 112),
        }
        row = FlowLayout(spacing=16)
        for labelled in self._labelled.values():
            row.addWidget(labelled)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addLayout(row)
        self.sheet.picked.connect(lambda number: model.choose_sheet(int(str(number))))
        self.purpose.picked.connect(lambda purpose: model.choose_purpose(str(purpose)))
        self.header.editingFinished.connect(self._on_header)
        self.days.picked.connect(lambda days: model.set_days(DayOrder(days)))
        self.decimal.picked.connect(lambda mark: model.set_decimal(str(mark)))
        self.encoding.picked.connect(lambda one: self._want(encoding=str(one)))
        self.separator.picked.connect(lambda one: self._want(separator=str(one)))

    def show_anew(self) -> None:
        """Show how the sheet is understood now."""
        book, match = self._model.book, self._model.match
        if book is None or match is None:
            return
        self._labelled["sheet"].setVisible(len(book.sheets) > 1)
        self.sheet.offer([(n, sheet.name) for n, sheet in enumerate(book.sheets)], self._model.sheet_number)
        self.purpose.offer(list(purposes().items()), match.purpose)
        if not self.header.hasFocus():
            self.header.setText(str(match.header_row))
        self.days.offer([(one, _(one.value) or _("not told")) for one in DayOrder], match.days)
        marks = (("", _("not told")), (".", _("point")), (",", _("comma")))
        self.decimal.offer(marks, match.decimal)
        way = book.way
        for name in ("separator", "encoding"):
            self._labelled[name].setVisible(way is not None)
        if way is not None:
            known = list(dict.fromkeys([way.encoding, *ENCODINGS]))
            self.encoding.offer([(one, one.upper()) for one in known], way.encoding)
            marks_ = list(dict.fromkeys([*SEPARATORS, way.separator]))
            self.separator.offer(
                [(one, words.SEPARATOR_WORDS.get(one, one)) for one in marks_], way.separator
            )

    def take_look(self) -> None:
        """Follow the text size."""
        for labelled in self._labelled.values():
            labelled.take_look()

    def _on_header(self) -> None:
        if self.header.text():
            self._model.choose_header_row(int(self.header.text()))

    def _want(self, *, encoding: str = "", separator: str = "") -> None:
        way = self._model.book.way if self._model.book is not None else None
        if way is not None:
            self.way_wanted.emit(TextWay(encoding or way.encoding, separator or way.separator))


class FixedRow(QWidget):
    """One value for all rows, for what the sheet lacks."""

    def __init__(self, model: ImportModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("For all rows"))
        self._model = model
        self.title = QLabel(_("For all rows"))
        set_role(self.title, "strong")
        self._fields: dict[str, tuple[Choice, Labelled]] = {}
        self._row = FlowLayout(spacing=16)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addWidget(self.title)
        layout.addLayout(self._row)

    def field(self, name: str) -> Choice:
        """Return the list of a field that is shown."""
        return self._fields[name][0]

    def show_anew(self) -> None:
        """Show the fields that the sheet lacks now."""
        match = self._model.match
        lacking = self._model.lacking()
        self.setVisible(bool(lacking))
        if match is None:
            return
        for field in lacking:
            if field.name not in self._fields:
                self._add(field)
        wanted = {field.name for field in lacking}
        for name, (choice, labelled) in self._fields.items():
            labelled.setVisible(name in wanted)
            if name in wanted:
                choice.offer(self._choices(name), match.fixed_text(name))

    def take_look(self) -> None:
        """Follow the text size."""
        for _choice, labelled in self._fields.values():
            labelled.take_look()

    def _add(self, field: Field) -> None:
        is_free = field.name != "like"
        title = field.title[:1].upper() + field.title[1:]
        choice = Choice(title, is_free=is_free)
        labelled = Labelled(title, choice, 176 if is_free else 288)
        choice.picked.connect(lambda value, name=field.name: self._model.set_fixed(name, str(value or "")))
        self._row.addWidget(labelled)
        self._fields[field.name] = (choice, labelled)
        labelled.show()

    def _choices(self, name: str) -> list[tuple[object, str]]:
        match, known = self._model.match, self._model.known
        if match is None or known is None:
            return []
        if name == "like":
            return [("", _("choose …")), *((one.name, one.text) for one in known.templates)]
        lists = {
            "depot": known.depots,
            "instrument": known.instruments,
            "by": known.people,
            "stage": known.stages,
            "vehicle": tuple(known.vehicles) if match.purpose == SERVICE else (),
        }
        listed = words.choices_of("vehicles.csv" if match.purpose == SERVICE else match.purpose, name)
        return [(one, one) for one in (*listed, *lists.get(name, ()))]
