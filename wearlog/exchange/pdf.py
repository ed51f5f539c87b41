"""Paper as PDF: pages drawn in millimetres, as vectors."""

from enum import StrEnum

from PySide6.QtCore import QBuffer, QIODevice, QMarginsF, QRectF, QSizeF
from PySide6.QtGui import QFont, QFontMetricsF, QPageLayout, QPageSize, QPainter, QPdfWriter
from PySide6.QtWidgets import QApplication

#: Dots per inch of the coordinates that a page is drawn in; fine enough that rounding is never seen.
RESOLUTION_DPI = 1200
MM_PER_INCH = 25.4


class PaperSize(StrEnum):
    """The two sheets that printers hold (ISO 216; ANSI/ASME Y14.1)."""

    A4 = "a4"
    LETTER = "letter"


def sheet_of(size: PaperSize) -> QPageSize:
    """Return a sheet by its name."""
    sheets = {PaperSize.A4: QPageSize.PageSizeId.A4, PaperSize.LETTER: QPageSize.PageSizeId.Letter}
    return QPageSize(sheets[size])


def capital_share(font: QFont) -> float:
    """Return how high capitals of a font are as a share of its size, [-]."""
    large = QFont(font)
    large.setPixelSize(1000)
    return QFontMetricsF(large).capHeight() / 1000.0


def ensure_application() -> None:
    """Make sure that text can be drawn, also where no window is open.

    The command line has no window; a drawing needs fonts all the same.
    """
    if QApplication.instance() is None:
        # Kept by Qt itself until the process ends.
        _APPLICATIONS.append(QApplication(["wearlog", "-platform", "offscreen"]))


_APPLICATIONS: list[QApplication] = []


class Paper:
    """A PDF that is drawn page by page, in millimetres from the upper left corner of the sheet."""

    def __init__(self, title: str, size: QPageSize, *, is_landscape: bool = False) -> None:
        ensure_application()
        self._buffer = QBuffer()
        self._buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        self._writer = QPdfWriter(self._buffer)
        self._writer.setResolution(RESOLUTION_DPI)
        self._writer.setTitle(title)
        self._writer.setCreator("wearlog")
        way = QPageLayout.Orientation.Landscape if is_landscape else QPageLayout.Orientation.Portrait
        # Margins are part of the drawing; the printable area is the whole sheet.
        self._writer.setPageLayout(QPageLayout(size, way, QMarginsF()))
        self.painter = QPainter(self._writer)
        self.painter.scale(RESOLUTION_DPI / MM_PER_INCH, RESOLUTION_DPI / MM_PER_INCH)
        self.pages = 1

    @property
    def page_mm(self) -> QRectF:
        """The sheet, [mm]."""
        size = self._writer.pageLayout().fullRect(QPageLayout.Unit.Millimeter).size()
        return QRectF(0.0, 0.0, size.width(), size.height())

    def new_page(self) -> None:
        """Go on to the next sheet."""
        self._writer.newPage()
        self.pages += 1

    def finished(self) -> bytes:
        """Finish the drawing and return the file."""
        self.painter.end()
        self._buffer.close()
        return bytes(self._buffer.data().data())


def page_of(width_mm: float, height_mm: float) -> QPageSize:
    """Return a sheet of any size."""
    return QPageSize(QSizeF(width_mm, height_mm), QPageSize.Unit.Millimeter)
