"""Finds room for labels that stand in a chart: they never cover one another nor a mark, and are never cut."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QFont

from wearlog.drawing.chart_frame import text_size


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a label."""

    text: str
    font: QFont
    colour: str


@dataclass(frozen=True, slots=True)
class Wanted:
    """A label that wants room beside something.

    Attributes
    ----------
    key
        What it belongs to.
    lines
        Its text.
    beside
        The box of what it labels; places around it are tried in the order of `sides`.
    sides
        Of ``"above"``, ``"below"``, ``"right"``, ``"left"`` and the corners ``"above right"`` and so on.
    is_needed
        True puts it where it does the least harm if no place is free; False leaves it out.
    """

    key: str
    lines: tuple[Line, ...]
    beside: QRectF
    sides: tuple[str, ...] = ("right", "above", "below", "left")
    is_needed: bool = False


@dataclass(frozen=True, slots=True)
class Label:
    """A label with its place, [px]."""

    key: str
    lines: tuple[Line, ...]
    box: QRectF


_GAP_PX = 5.0
#: How far a label above or below may slide along what it labels, as shares of its width.
_SLIDES = (0.0, 0.3, -0.3, 0.55, -0.55)
#: What covering a curve costs against being further away.
_CURVE_WEIGHT = 0.25
_CORNERS = ("above right", "above left", "below right", "below left")


def label_size(lines: tuple[Line, ...]) -> tuple[float, float]:
    """Return the width and height of a label, [px]."""
    sizes = [text_size(line.font, line.text) for line in lines]
    return max(width for width, _height in sizes), sum(height for _width, height in sizes)


def _place(wanted: Wanted, side: str) -> QRectF:
    width, height = label_size(wanted.lines)
    box = wanted.beside
    x, y = box.center().x() - width / 2, box.center().y() - height / 2
    if "above" in side:
        y = box.top() - height - (_GAP_PX if side == "above" else 1.0)
    if "below" in side:
        y = box.bottom() + (_GAP_PX if side == "below" else 1.0)
    if "right" in side:
        x = box.right() + _GAP_PX
    if "left" in side:
        x = box.left() - width - _GAP_PX
    return QRectF(x, y, width, height)


def _harm(box: QRectF, taken: Iterable[QRectF]) -> float:
    harm = 0.0
    for other in taken:
        if box.intersects(other):
            shared = box.intersected(other)
            harm += max(shared.width(), 1.0) * max(shared.height(), 1.0)
    return harm


def _held_inside(box: QRectF, bounds: QRectF) -> QRectF:
    x = min(max(box.left(), bounds.left()), bounds.right() - box.width())
    y = min(max(box.top(), bounds.top()), bounds.bottom() - box.height())
    return QRectF(QPointF(x, y), box.size())


def _tries(sides: tuple[str, ...]) -> Iterator[tuple[str, float]]:
    for side in sides:
        for slide in _SLIDES if side in {"above", "below"} else (0.0,):
            yield side, slide


def place_labels(
    wanted: Iterable[Wanted], taken: Iterable[QRectF], faint: Iterable[QRectF], bounds: QRectF
) -> list[Label]:
    """Return labels with room, in the order in which they were wanted.

    Parameters
    ----------
    wanted : iterable of Wanted
        Most important first.
    taken : iterable of QRectF
        Boxes that no label may touch: marks, lines of levels, [px].
    faint : iterable of QRectF
        Boxes that labels avoid if they can: curves, [px].
    bounds : QRectF
        No label leaves these, [px].
    """
    occupied, curves = list(taken), list(faint)
    placed: list[Label] = []
    for label in wanted:
        best: tuple[float, QRectF] | None = None
        needed: tuple[float, QRectF] | None = None
        sides = (*label.sides, *(c for c in _CORNERS if c not in label.sides))
        for rank, (side, slide) in enumerate(_tries(sides)):
            box = _place(label, side)
            box.translate(slide * box.width(), 0.0)
            inside = _held_inside(box, bounds)
            moved = abs(inside.x() - box.x()) + abs(inside.y() - box.y())
            harm = _harm(inside, occupied)
            cost = _CURVE_WEIGHT * _harm(inside, curves) + 3.0 * moved + 2.0 * rank
            if harm == 0.0 and moved < 40.0 and (best is None or cost < best[0]):
                best = (cost, inside)
            if needed is None or harm + cost < needed[0]:
                needed = (harm + cost, inside)
        choice = best or (needed if label.is_needed else None)
        if choice is not None:
            placed.append(Label(label.key, label.lines, choice[1]))
            occupied.append(choice[1].adjusted(-3.0, 0.0, 3.0, 0.0))
    return placed


def spread_apart(boxes: list[QRectF], bounds: QRectF, gap: float) -> list[QRectF]:
    """Return boxes of one column moved up and down, as little as needed, so that none touches another.

    Parameters
    ----------
    boxes : list of QRectF
        Wanted places; the order from top to bottom is kept, [px].
    bounds : QRectF
        The column, [px].
    gap : float
        Least distance between two, [px].
    """
    order = sorted(range(len(boxes)), key=lambda n: boxes[n].top())
    tops = [boxes[n].top() for n in order]
    heights = [boxes[n].height() for n in order]
    for n in range(1, len(tops)):
        tops[n] = max(tops[n], tops[n - 1] + heights[n - 1] + gap)
    if tops:
        tops[-1] = min(tops[-1], bounds.bottom() - heights[-1])
        for n in range(len(tops) - 2, -1, -1):
            tops[n] = min(tops[n], tops[n + 1] - heights[n] - gap)
        tops[0] = max(tops[0], bounds.top())
        for n in range(1, len(tops)):
            tops[n] = max(tops[n], tops[n - 1] + heights[n - 1] + gap)
    moved = {
        n: QRectF(boxes[n].left(), top, boxes[n].width(), boxes[n].height())
        for n, top in zip(order, tops, strict=True)
    }
    return [moved[n] for n in range(len(boxes))]
