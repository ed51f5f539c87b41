"""What an entry means, at once beside its field: value, wear rule, change, limit, date."""

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtGui import QFontMetrics, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from wearlog.drawing.wear_rule import RuleSize, WearRule
from wearlog.window.service_sheet.words import EntryWords
from wearlog.window.theme import colours, scaled, set_role, text_scale


class ElidedLabel(QLabel):
    """A line that ends in dots where the place is too narrow; all of it in the tool tip."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._whole = ""
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    @property
    def whole(self) -> str:
        """The text without dots."""
        return self._whole

    def say(self, text: str) -> None:
        """Show a text."""
        self._whole = text
        self.setAccessibleName(text)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit anew."""
        super().resizeEvent(event)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """Fit anew in another size of text."""
        super().changeEvent(event)
        if event.type() in {QEvent.Type.StyleChange, QEvent.Type.FontChange}:
            self._fit()

    def minimumSizeHint(self) -> QSize:
        """Return one line's height; the width may shrink."""
        return QSize(0, QFontMetrics(self.font()).height())

    def _fit(self) -> None:
        shown = QFontMetrics(self.font()).elidedText(self._whole, Qt.TextElideMode.ElideRight, self.width())
        if shown != self.text():
            self.setText(shown)
        self.setToolTip(self._whole if shown != self._whole else "")


class Outcome(QWidget):
    """Value and wear rule on one line, what else is to know below."""

    def __init__(self, name: str, *, has_rule: bool = True, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.value = ElidedLabel()
        self.rule = WearRule(RuleSize.MEDIUM)
        self.details = ElidedLabel()
        set_role(self.details, "caption")
        self.forecast = ElidedLabel()
        set_role(self.forecast, "caption")
        first = QHBoxLayout()
        first.setSpacing(12)
        first.addWidget(self.value, 1)
        first.addWidget(self.rule)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addStretch(1)
        layout.addLayout(first)
        layout.addWidget(self.details)
        layout.addWidget(self.forecast)
        layout.addStretch(1)
        self._has_rule = has_rule
        self.take_look()

    def take_look(self) -> None:
        """Take the colours and the text size that are applied now."""
        self.rule.wear_colours(colours(), text_scale())
        self.rule.setFixedWidth(scaled(172))

    def show_words(self, words: EntryWords, *, is_answer: bool) -> None:
        """Show what an entry means; `is_answer` sets the value strong, else it is only a hint."""
        set_role(self.value, "strong" if is_answer else "muted")
        self.value.say(words.value)
        self.value.setVisible(bool(words.value) or words.rule is not None)
        self.details.say(words.details)
        self.forecast.say(words.forecast)
        self.forecast.setVisible(bool(words.forecast))
        self.rule.setVisible(self._has_rule and words.rule is not None)
        self.rule.show_value(words.rule, words.limit)
