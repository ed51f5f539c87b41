"""Paper as PDF: pages drawn in millimetres, as vectors."""

from collections.abc import Iterator
from contextlib import contextmanager
from gettext import gettext as _
from pathlib import Path

from PySide6.QtCore import QMarginsF, QRectF, QSizeF
from PySide6.QtGui import QPageLayout, QPageSize, QPainter, QPdfWriter
from PySide6.QtWidgets import QApplication

from wearlog.fleet.problem import Problem, ProblemKind, WearlogError

#: Dots per inch of the coordinates that a page is drawn in; fine enough that rounding is never seen.
RESOLUTION_DPI = 1200
MM_PER_INCH = 25.4


def ensure_application() -> None:
    """Make sure that text can be drawn, also where no window is open.

    The command line has no window; a drawing needs fonts all the same.
    """
    if QApplication.instance() is None:
        # Kept by Qt itself until the process ends.
        _APPLICATIONS.append(QApplication(["wearlog", "-platform", "offscreen"]))


_APPLICATIONS: list[QApplication] = []


def cannot_write(file: Path, why: str) -> WearlogError:
    """Return the problem of a file that can't be written."""
    return WearlogError(
        Problem(
            _("{file} can't be written: {why}.").format(file=file.name, why=why.rstrip(".")),
            str(file.parent),
            _("Choose another folder or name, or close the file where it is open."),
            kind=ProblemKind.FILE,
        )
    )


@contextmanager
def replacing(file: Path) -> Iterator[Path]:
    """Give a name beside a file to write to; the file is replaced only once all of it was written.

    Raises
    ------
    WearlogError
        If the folder can't be written to.
    """
    fresh = file.with_name(f".{file.name}.new")
    try:
        yield fresh
        fresh.replace(file)
    except OSError as error:
        raise cannot_write(file, error.strerror or str(error)) from error
    finally:
        fresh.unlink(missing_ok=True)


class Paper:
    """A PDF that is drawn page by page, in millimetres from the upper left corner."""

    def __init__(self, file: Path, title: str, size: QPageSize, *, is_landscape: bool = False) -> None:
        self._writer = QPdfWriter(str(file))
        self._writer.setResolution(RESOLUTION_DPI)
        self._writer.setTitle(title)
        self._writer.setCreator("wearlog")
        way = QPageLayout.Orientation.Landscape if is_landscape else QPageLayout.Orientation.Portrait
        # Margins are part of the drawing; the printable area is the whole sheet.
        self._writer.setPageLayout(QPageLayout(size, way, QMarginsF()))
        self.painter = QPainter()
        if not self.painter.begin(self._writer):
            raise cannot_write(file, _("the folder does not let new files in"))
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

    def close(self) -> None:
        """Finish the file."""
        self.painter.end()


def page_of(width_mm: float, height_mm: float) -> QPageSize:
    """Return a sheet of any size."""
    return QPageSize(QSizeF(width_mm, height_mm), QPageSize.Unit.Millimeter)
