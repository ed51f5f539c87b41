"""Code 39: a number as bars that any bar code scanner types as a keyboard would."""

from collections.abc import Iterator

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter

#: Nine elements of each character, bars and spaces in turn beginning with a bar; w is wide, n narrow.
#: ISO/IEC 16388:2007, table 1.
_ELEMENTS = {
    "0": "nnnwwnwnn",
    "1": "wnnwnnnnw",
    "2": "nnwwnnnnw",
    "3": "wnwwnnnnn",
    "4": "nnnwwnnnw",
    "5": "wnnwwnnnn",
    "6": "nnwwwnnnn",
    "7": "nnnwnnwnw",
    "8": "wnnwnnwnn",
    "9": "nnwwnnwnn",
    "A": "wnnnnwnnw",
    "B": "nnwnnwnnw",
    "C": "wnwnnwnnn",
    "D": "nnnnwwnnw",
    "E": "wnnnwwnnn",
    "F": "nnwnwwnnn",
    "G": "nnnnnwwnw",
    "H": "wnnnnwwnn",
    "I": "nnwnnwwnn",
    "J": "nnnnwwwnn",
    "K": "wnnnnnnww",
    "L": "nnwnnnnww",
    "M": "wnwnnnnwn",
    "N": "nnnnwnnww",
    "O": "wnnnwnnwn",
    "P": "nnwnwnnwn",
    "Q": "nnnnnnwww",
    "R": "wnnnnnwwn",
    "S": "nnwnnnwwn",
    "T": "nnnnwnwwn",
    "U": "wwnnnnnnw",
    "V": "nwwnnnnnw",
    "W": "wwwnnnnnn",
    "X": "nwnnwnnnw",
    "Y": "wwnnwnnnn",
    "Z": "nwwnwnnnn",
    "-": "nwnnnnwnw",
    ".": "wwnnnnwnn",
    " ": "nwwnnnwnn",
    "$": "nwnwnwnnn",
    "/": "nwnwnnnwn",
    "+": "nwnnnwnwn",
    "%": "nnnwnwnwn",
    "*": "nwnnwnwnn",
}
#: Start and stop.
_ENDS = "*"
#: A wide element against a narrow one; between 2 and 3 (ISO/IEC 16388:2007, 4.4).
WIDE = 2.5
#: Clear of ink on both sides, narrow elements (ISO/IEC 16388:2007, 4.4).
QUIET = 10.0


def can_be_coded(text: str) -> bool:
    """Whether a text has only characters that Code 39 knows; small letters count as capitals.

    Examples
    --------
    >>> can_be_coded("V-0042"), can_be_coded("Gerät 7")
    (True, False)
    """
    return bool(text) and all(one in _ELEMENTS and one != _ENDS for one in text.upper())


def code39_elements(text: str) -> Iterator[tuple[float, bool]]:
    """Yield the widths of bars and spaces in narrow elements, and whether each is a bar; no quiet zones.

    Examples
    --------
    >>> sum(width for width, _is_bar in code39_elements("V-0042"))
    115.0
    """
    for place, character in enumerate(f"{_ENDS}{text.upper()}{_ENDS}"):
        if place:
            yield 1.0, False
        for n, kind in enumerate(_ELEMENTS[character]):
            yield (WIDE if kind == "w" else 1.0), n % 2 == 0


def code39_width(text: str, narrow: float) -> float:
    """Return how wide the bars of a text are, with both quiet zones, in the unit of `narrow`."""
    return narrow * (2.0 * QUIET + sum(width for width, _is_bar in code39_elements(text)))


def paint_code39(painter: QPainter, rect: QRectF, text: str) -> None:
    """Draw a text as bars over the whole of a rectangle, quiet zones inside it.

    Parameters
    ----------
    painter : QPainter
        On paper.
    rect : QRectF
        Where.
    text : str
        What a scanner will type; `can_be_coded` must hold.

    References
    ----------
    ISO/IEC 16388:2007, Code 39 bar code symbology specification.
    """
    narrow = rect.width() / code39_width(text, 1.0)
    at = rect.left() + QUIET * narrow
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor("#000000"))
    for width, is_bar in code39_elements(text):
        if is_bar:
            painter.drawRect(QRectF(at, rect.top(), width * narrow, rect.height()))
        at += width * narrow
    painter.restore()
