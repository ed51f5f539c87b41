"""What Help shows: what is new, the cautions, and what wearlog is."""

from gettext import gettext as _

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QTextBrowser, QVBoxLayout, QWidget

import wearlog
from wearlog.drawing import cautions
from wearlog.resources import resource
from wearlog.window.theme import scaled


class Document(QDialog):
    """A page of text to read."""

    def __init__(self, title: str, markdown: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.text = QTextBrowser()
        self.text.setAccessibleName(title)
        self.text.setOpenExternalLinks(True)
        self.text.document().setDocumentMargin(24)
        self.text.setMarkdown(markdown)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 16, 16)
        layout.addWidget(self.text)
        layout.addWidget(buttons)
        self.resize(scaled(600), scaled(520))


def whats_new() -> str:
    """Return the shipped list of what users notice, as Markdown."""
    return resource("whats_new.md").read_text(encoding="utf-8")


def all_cautions() -> str:
    """Return the usual cautions at a drive, as Markdown."""
    title = _("Cautions")
    points = "\n".join(f"- {line}" for line in cautions.cautions())
    return f"# {title}\n\n{points}\n\n{cautions.maker_caution()}\n"


def about() -> str:
    """Return what wearlog is, as Markdown."""
    says = _(
        "Keeps track of drive-line wear and service intervals for the workshop behind a fleet of light "
        "two-wheelers. Colours of states: M. Okabe and K. Ito, *Color Universal Design* (2008). Measurement "
        "uncertainty: JCGM 100."
    )
    return f"# wearlog {wearlog.__version__}\n\n{says}\n"
