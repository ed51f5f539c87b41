"""Our own drawings, in the colours of the theme; never without a word or an accessible name."""

from functools import cache

from PySide6.QtCore import QByteArray, QRectF, Qt
from PySide6.QtGui import QIcon, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer

from wearlog.resources import resource

#: Sizes that icons are drawn at, [px]; Qt takes the one that fits.
_SIZES = (16, 24, 32, 48, 64, 128, 256)


@cache
def icon(name: str, colour: str = "#000000") -> QIcon:
    """Return an icon of resources/icons, drawn in a colour of the palette.

    Parameters
    ----------
    name : str
        The name of the file without its ending; ``"wearlog"`` keeps its own colours.
    colour : str
        What stands for the current colour in the drawing, ``#rrggbb``.

    Raises
    ------
    FileNotFoundError
        If there is no such drawing.
    """
    drawing = resource("icons", f"{name}.svg").read_text(encoding="utf-8")
    renderer = QSvgRenderer(QByteArray(drawing.replace("currentColor", colour).encode()))
    made = QIcon()
    for size in _SIZES:
        picture = QPixmap(size, size)
        picture.fill(Qt.GlobalColor.transparent)
        with QPainter(picture) as painter:
            renderer.render(painter, QRectF(0.0, 0.0, size, size))
        made.addPixmap(picture)
    return made
