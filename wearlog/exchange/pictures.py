"""The wear trend as a file: PNG, SVG and PDF for reports, CSV for a spreadsheet."""

import csv
import io
from collections.abc import Callable
from enum import StrEnum
from gettext import gettext as _
from pathlib import Path
from typing import BinaryIO

from PySide6.QtCore import QBuffer, QIODevice, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QImage, QImageWriter, QPainter
from PySide6.QtSvg import QSvgGenerator

from wearlog.drawing.chart_frame import draw_text, text_size
from wearlog.drawing.palette import colour, palette, type_font
from wearlog.drawing.trend_picture import Ranges, paint_trend, trend_frame
from wearlog.drawing.trend_series import trend_series
from wearlog.drawing.trend_view import TrendView
from wearlog.drawing.words import SentenceKind, day_at, heading_text, maker_caution, trend_sentences
from wearlog.exchange.files import harmless, write_whole
from wearlog.exchange.pdf import MM_PER_INCH, Paper, ensure_application, page_of
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.quantity import CANONICAL_UNIT, Quantity, ShownUnits
from wearlog.fleet.reading import Measurand
from wearlog.wording import day_text
from wearlog.workshop.trend_overlay_snapshot import OverlayLine
from wearlog.workshop.trend_snapshot import LEVELS, TrendSnapshot

#: Size of the picture at 96 dots per inch, [px]; 10.4 in by 6.25 in, half an A4 sheet across.
WIDTH_PX, HEIGHT_PX = 1000, 600
_Paint = Callable[[QPainter, QRectF], None]
#: Pixels of a PNG for each of these: sharp in print at 288 dots per inch.
PNG_SCALE = 3
_DPI = 96.0


class PictureKind(StrEnum):
    """Kinds of files a trend goes to, by ending."""

    PNG = "png"
    SVG = "svg"
    PDF = "pdf"
    CSV = "csv"


def picture_kind(file: Path) -> PictureKind:
    """Return the kind of a file by its ending.

    Raises
    ------
    WearlogError
        If the ending is none of these.

    Examples
    --------
    >>> picture_kind(Path("LR-017.svg")).name
    'SVG'
    """
    try:
        return PictureKind(file.suffix.lower().removeprefix("."))
    except ValueError:
        raise WearlogError(
            Problem(
                _("“{name}” has no ending that says what to write.").format(name=file.name),
                "",
                _("End the name in .png, .svg, .pdf or .csv."),
                kind=ProblemKind.FILE,
            )
        ) from None


def write_trend(
    file: Path,
    snapshot: TrendSnapshot,
    shown: ShownUnits,
    ranges: Ranges | None = None,
    view: TrendView | None = None,
    others: tuple[OverlayLine, ...] = (),
) -> None:
    """Write a trend as the kind of file that its ending names.

    Parameters
    ----------
    file : Path
        Ends in .png, .svg, .pdf or .csv; replaced if it exists.
    snapshot : TrendSnapshot
        The trend of one part.
    shown : ShownUnits
        The units of this seat.
    ranges : tuple or None
        Ranges of use and value to draw, in shown units; the whole story if None.
    view : TrendView or None
        What the axes count; value and use on the part if None.
    others : tuple of OverlayLine
        The same stage of other vehicles.

    Raises
    ------
    WearlogError
        If the ending is not known or the file can't be written.
    """
    kind = picture_kind(file)
    if kind is PictureKind.CSV:
        content = _data(snapshot).encode("utf-8")
    else:
        ensure_application()
        make: Callable[[TrendSnapshot, ShownUnits, _Paint], bytes] = {
            PictureKind.PNG: _png,
            PictureKind.SVG: _svg,
            PictureKind.PDF: _pdf,
        }[kind]

        def paint(painter: QPainter, box: QRectF) -> None:
            paint_sheet(painter, box, snapshot, shown, ranges, view, others)

        content = make(snapshot, shown, paint)

    def write(stream: BinaryIO) -> None:
        stream.write(content)

    write_whole(file, write)


def paint_sheet(
    painter: QPainter,
    box: QRectF,
    snapshot: TrendSnapshot,
    shown: ShownUnits,
    ranges: Ranges | None = None,
    view: TrendView | None = None,
    others: tuple[OverlayLine, ...] = (),
) -> None:
    """Draw the chart with its heading and its sentences, for paper.

    Parameters
    ----------
    painter : QPainter
        In pixels of 1/96 in.
    box : QRectF
        All the room there is, [px].
    snapshot : TrendSnapshot
        The trend of one part.
    shown : ShownUnits
        The units of this seat.
    ranges : tuple or None
        Ranges of use and value to draw, in shown units; the whole story if None.
    view : TrendView or None
        What the axes count; value and use on the part if None.
    others : tuple of OverlayLine
        The same stage of other vehicles.
    """
    colours = palette("paper")
    painter.fillRect(box, colour(colours.ground))
    inner = box.adjusted(24.0, 20.0, -24.0, -16.0)
    heading, body, caption = type_font("body", bold=True), type_font("caption"), type_font("caption")
    painter.setPen(colour(colours.ink))
    top = inner.top()
    draw_text(painter, inner.left(), top, heading, heading_text(snapshot, shown))
    top += text_size(heading, "0")[1] + 10.0
    told = (
        SentenceKind.FORECAST,
        SentenceKind.QUESTIONED,
        SentenceKind.BASIS,
        SentenceKind.LIMIT,
        SentenceKind.ASSUMES,
    )
    sentences = [s.text for s in trend_sentences(snapshot, shown) if s.kind in told]
    below = _wrapped_height(painter, inner, " ".join(sentences)) + text_size(caption, "0")[1] + 6.0
    chart = QRectF(inner.left(), top, inner.width(), inner.bottom() - top - below - 10.0)
    series = trend_series(snapshot, shown, view, others)
    paint_trend(painter, trend_frame(series, chart, colours, ranges), series)
    painter.setPen(colour(colours.ink))
    painter.setFont(body)
    words = QRectF(inner.left(), chart.bottom() + 10.0, inner.width(), below)
    painter.drawText(words, int(Qt.TextFlag.TextWordWrap), " ".join(sentences))
    painter.setPen(colour(colours.muted))
    foot = _("Data as of {day}. {caution}").format(day=day_text(snapshot.today), caution=maker_caution())
    draw_text(painter, inner.left(), inner.bottom() - text_size(caption, "0")[1], caption, foot)


def _wrapped_height(painter: QPainter, inner: QRectF, text: str) -> float:
    painter.setFont(type_font("caption"))
    room = QRectF(0.0, 0.0, inner.width(), 1000.0)
    return painter.boundingRect(room, int(Qt.TextFlag.TextWordWrap), text).height()


def _png(snapshot: TrendSnapshot, shown: ShownUnits, paint: _Paint) -> bytes:
    image = QImage(WIDTH_PX * PNG_SCALE, HEIGHT_PX * PNG_SCALE, QImage.Format.Format_RGB32)
    dots_per_metre = round(_DPI * PNG_SCALE / MM_PER_INCH * 1000)
    image.setDotsPerMeterX(dots_per_metre)
    image.setDotsPerMeterY(dots_per_metre)
    image.setText("Title", heading_text(snapshot, shown))
    with QPainter(image) as painter:
        painter.scale(PNG_SCALE, PNG_SCALE)
        paint(painter, QRectF(0.0, 0.0, WIDTH_PX, HEIGHT_PX))
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QImageWriter(buffer, b"png")
    writer.write(image)
    return bytes(buffer.data().data())


def _svg(snapshot: TrendSnapshot, shown: ShownUnits, paint: _Paint) -> bytes:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    svg = QSvgGenerator()
    svg.setOutputDevice(buffer)
    svg.setSize(QSize(WIDTH_PX, HEIGHT_PX))
    svg.setViewBox(QRect(0, 0, WIDTH_PX, HEIGHT_PX))
    svg.setResolution(round(_DPI))
    svg.setTitle(heading_text(snapshot, shown))
    svg.setDescription(" ".join(sentence.text for sentence in trend_sentences(snapshot, shown)))
    with QPainter(svg) as painter:
        paint(painter, QRectF(0.0, 0.0, WIDTH_PX, HEIGHT_PX))
    return bytes(buffer.data().data())


def _pdf(snapshot: TrendSnapshot, shown: ShownUnits, paint: _Paint) -> bytes:
    mm_per_px = MM_PER_INCH / _DPI
    paper = Paper(heading_text(snapshot, shown), page_of(WIDTH_PX * mm_per_px, HEIGHT_PX * mm_per_px))
    paper.painter.scale(mm_per_px, mm_per_px)
    paint(paper.painter, QRectF(0.0, 0.0, WIDTH_PX, HEIGHT_PX))
    return paper.finished()


def _data(snapshot: TrendSnapshot) -> str:
    """Return every number of the chart in canonical units, one row a point, decimals with a point.

    Canonical units and ISO 8601 dates whatever the seat reads in: a file is for machines.
    """
    unit = _unit_ending(snapshot.measurand)
    use = snapshot.use_unit
    stream = io.StringIO(newline="")
    table = csv.writer(stream)
    table.writerow(
        [
            "vehicle",
            "stage",
            "part",
            "measurand",
            "series",
            "date",
            f"use_on_part_{use}",
            f"value{unit}",
            f"low{unit}",
            f"high{unit}",
            f"standard_uncertainty{unit}",
            *(f"quantile_{level:g}{unit}" for level in LEVELS),
            "remarks",
        ]
    )
    told = (snapshot.tag, snapshot.stage_name, snapshot.part_text, snapshot.measurand.value)
    head = [harmless(word) for word in told]
    blank = [""] * len(LEVELS)
    for reading in snapshot.readings:
        remark = reading.mark.value + (f": {reading.void_reason}" if reading.void_reason else "")
        row = [reading.value, reading.low, reading.high, reading.u_value]
        numbers = ["" if v is None else f"{v:.9g}" for v in row]
        table.writerow(
            [
                *head,
                "reading",
                reading.on.isoformat(),
                f"{reading.use_on_part:.9g}",
                *numbers,
                *blank,
                harmless(remark),
            ]
        )
    for at, row_of in zip(snapshot.curve_use.tolist(), snapshot.curve_value.tolist(), strict=True):
        kind = "smoothed" if at <= snapshot.use_known else "forecast"
        quantiles = [f"{v:.9g}" for v in row_of]
        table.writerow([*head, kind, "", f"{at:.9g}", "", "", "", "", *quantiles, ""])
    for level, at, day in zip(LEVELS, snapshot.limit_use.tolist(), snapshot.limit_days.tolist(), strict=True):
        on = _iso(day)
        limit = f"{snapshot.limit.service_limit:.9g}"
        where = f"{at:.9g}" if at != float("inf") else ""
        table.writerow([*head, "at limit", on, where, limit, "", "", "", *blank, f"probability {level:g}"])
    for event in snapshot.events:
        row_use = f"{event.use_on_part:.9g}"
        table.writerow(
            [*head, "service", event.on.isoformat(), row_use, "", "", "", "", *blank, harmless(event.text)]
        )
    return stream.getvalue()


def _unit_ending(measurand: Measurand) -> str:
    """Return what a column name ends in to tell its unit."""
    if measurand.quantity is Quantity.GRADE:
        return ""
    unit = CANONICAL_UNIT[measurand.quantity]
    return "_fraction" if unit == "1" else f"_{unit}"


def _iso(day: float) -> str:
    on = day_at(day)
    return on.isoformat() if on is not None else ""


def suggested_name(snapshot: TrendSnapshot, kind: PictureKind) -> str:
    """Return a name for the file: vehicle, stage, part and day."""
    words = f"{snapshot.tag} {snapshot.stage_name} {snapshot.measurand.value} {snapshot.today.isoformat()}"
    plain = "".join(letter if letter.isalnum() or letter in "-_" else "_" for letter in words)
    return f"{plain}.{kind.value}"
