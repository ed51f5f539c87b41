"""The wall list before it is printed: the same drawing that the PDF holds."""

from gettext import gettext as _

from PySide6.QtCore import QMarginsF, QRectF
from PySide6.QtGui import QPageLayout, QPageSize, QPainter
from PySide6.QtPrintSupport import QPrinter, QPrintPreviewDialog
from PySide6.QtWidgets import QWidget

from wearlog.exchange.pdf import MM_PER_INCH
from wearlog.exchange.wall_list import paint_wall_list
from wearlog.workshop.due_snapshot import DueSnapshot


class WallListPreview(QPrintPreviewDialog):
    """Shows the sheets of the wall list, and prints them."""

    def __init__(self, snapshot: DueSnapshot, parent: QWidget | None = None) -> None:
        self._printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        self._printer.setDocName(_("Due for service"))
        self._printer.setFullPage(True)
        self._printer.setPageLayout(
            QPageLayout(QPageSize(QPageSize.PageSizeId.A4), QPageLayout.Orientation.Landscape, QMarginsF())
        )
        super().__init__(self._printer, parent)
        self._snapshot = snapshot
        self.setWindowTitle(_("Wall list"))
        self.setAccessibleName(_("Wall list before printing"))
        self.paintRequested.connect(self.paint_on)

    def paint_on(self, printer: QPrinter) -> None:
        """Draw all sheets on a printer, or on its preview."""
        painter = QPainter(printer)
        dots = printer.resolution() / MM_PER_INCH
        painter.scale(dots, dots)
        size = printer.pageLayout().fullRect(QPageLayout.Unit.Millimeter).size()
        paint_wall_list(
            self._snapshot, painter, QRectF(0.0, 0.0, size.width(), size.height()), printer.newPage
        )
        painter.end()
