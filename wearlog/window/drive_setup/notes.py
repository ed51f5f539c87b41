"""Beside the comparison: what to mind, what is added to the care of the stage, which limits come first."""

from collections.abc import Iterable
from gettext import gettext as _
from html import escape

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QSizePolicy, QVBoxLayout, QWidget

from wearlog.drawing.cautions import maker_caution
from wearlog.drawing.setup_words import remarks_shown
from wearlog.drive.governing import Governing
from wearlog.drive.upkeep import UpkeepChange
from wearlog.window import theme
from wearlog.window.theme import set_role
from wearlog.workshop.compare_snapshot import ComparisonSnapshot

#: One thing to read: its text, and where it comes from.
Noted = tuple[str, str]


def advised(compared: ComparisonSnapshot) -> list[Noted]:
    """Return what to renew with the plan."""
    return [] if compared.advice is None else [(compared.advice.text, compared.advice.source)]


def cautioned(compared: ComparisonSnapshot) -> list[Noted]:
    """Return what to mind when the plan is fitted, then what is odd about it."""
    shown = remarks_shown(compared.conversion.after)
    all_remarks = [*compared.conversion.cautions, *shown]
    dropped = {remark.text for remark in compared.conversion.after.remarks} - {r.text for r in shown}
    texts = {remark.text: remark.source for remark in all_remarks if remark.text not in dropped}
    return list(texts.items())


def cared(changes: Iterable[UpkeepChange]) -> list[Noted]:
    """Return upkeep that is added or falls away."""
    found = []
    for change in changes:
        text = _("added: {task}") if change.is_added else _("no longer: {task}")
        found.append((text.format(task=change.text), change.source))
    return found


def limited(governing: Governing | None) -> list[Noted]:
    """Return the limits of the new chain, the one that governs first."""
    if governing is None:
        return []
    return [(limit.why, limit.source) for limit in governing.limits] + [
        (text, "") for text in governing.unknown
    ]


class SetupNotes(QWidget):
    """Everything about a plan that is not a figure."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("Remarks and cautions"))
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.setSpacing(6)
        self._shown: list[tuple[str, list[Noted]]] = []
        self._labels: list[QLabel] = []
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)

    @property
    def text(self) -> str:
        """All that is said, without the sources."""
        return "\n".join(text for _title, notes in self._shown for text, _source in notes)

    def show_comparison(self, compared: ComparisonSnapshot | None) -> None:
        """Show what is to be said about a plan."""
        sections: list[tuple[str, list[Noted]]] = []
        if compared is not None and compared.is_changed:
            sections = [
                (_("Renew with it"), advised(compared)),
                (_("Cautions and remarks"), cautioned(compared)),
                (_("After fitting"), [(c.text, c.source) for c in compared.conversion.rechecks]),
                (_("Upkeep"), cared(compared.conversion.upkeep)),
                (_("Limits of the new chain"), limited(compared.governing_after)),
                (_("Wear"), [(compared.conversion.life_note, "")]),
            ]
        elif compared is not None:
            remarks = [(remark.text, remark.source) for remark in remarks_shown(compared.conversion.before)]
            sections = [
                (_("Remarks on the stage as it is"), remarks),
                (_("Limits of a new chain"), limited(compared.governing_before)),
            ]
        told = [(title, notes) for title, notes in sections if notes]
        if told != self._shown:
            self._shown = told
            self._fill()

    def take_look(self) -> None:
        """Take colours and text size as they are now."""
        self._fill()

    def _fill(self) -> None:
        for label in self._labels:
            self._layout.removeWidget(label)
            label.hide()
            label.deleteLater()
        self._labels = []
        muted = theme.colours().muted
        for title, notes in self._shown:
            heading = QLabel(title)
            set_role(heading, "strong")
            heading.setContentsMargins(0, theme.scaled(8), 0, 0)
            self._add(heading)
            for text, source in notes:
                said = escape(text)
                if source:
                    said += f' <span style="color:{muted}; font-size:small">{escape(source)}</span>'
                label = QLabel(said)
                label.setTextFormat(Qt.TextFormat.RichText)
                label.setWordWrap(True)
                label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
                label.setAccessibleName(text)
                self._add(label)
        if self._shown:
            foot = QLabel(maker_caution())
            foot.setWordWrap(True)
            foot.setContentsMargins(0, theme.scaled(8), 0, 0)
            set_role(foot, "caption")
            self._add(foot)

    def _add(self, label: QLabel) -> None:
        self._labels.append(label)
        self._layout.addWidget(label)
