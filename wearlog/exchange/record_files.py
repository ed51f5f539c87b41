"""The fleet record as a file: figures as CSV and JSON, charts as PNG and SVG, and text for the terminal."""

import json
from gettext import gettext as _
from pathlib import Path
from textwrap import fill
from typing import BinaryIO

from PySide6.QtCore import QBuffer, QIODevice, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QImage, QImageWriter, QPainter
from PySide6.QtSvg import QSvgGenerator

from wearlog import units
from wearlog.drawing.chart_frame import draw_text, text_size
from wearlog.drawing.number_words import share_text
from wearlog.drawing.palette import colour, palette, type_font
from wearlog.drawing.record_picture import Drawn, lives_drawn, rates_drawn, reliability_drawn
from wearlog.drawing.record_sentences import (
    error_text,
    hindsight_text,
    life_sentences,
    rate_sentences,
    reliability_sentences,
)
from wearlog.drawing.record_words import (
    factor_text,
    half_life_text,
    kind_text,
    level_text,
    per_use_text,
    rate_interval_text,
)
from wearlog.exchange.files import write_whole
from wearlog.exchange.pdf import MM_PER_INCH, ensure_application
from wearlog.exchange.record_data import record_data, record_table
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.quantity import ShownUnits
from wearlog.wording import day_text
from wearlog.workshop.record_snapshot import WIDTHS, Factor, KindRecord, RecordSnapshot, Reliability

#: Width of the pictures at 96 dots per inch, [px]; their height follows from what they show.
WIDTH_PX = 1000
#: Pixels of a PNG for each of these: sharp in print at 288 dots per inch.
PNG_SCALE = 3
#: Endings that are known.
FORMATS = ("csv", "json", "png", "svg")
_DPI = 96.0
_SIDE_PX, _GAP_PX = 24.0, 10.0


def write_record(
    snapshot: RecordSnapshot,
    file: Path,
    shown: ShownUnits,
    kind_key: str = "",
    by: Factor | None = None,
) -> None:
    """Write the record as the kind of file that its ending names, whole or not at all.

    Parameters
    ----------
    snapshot : RecordSnapshot
        The fleet's own record.
    file : Path
        Ends in .csv or .json for all figures, in .png or .svg for charts.
    shown : ShownUnits
        The units of this seat, for charts.
    kind_key : str
        Which kind of part the charts are about; empty for all together.
    by : Factor or None
        What the charts compare by.

    Raises
    ------
    WearlogError
        If the ending is not known or the file can't be written.
    """
    form = file.suffix.lower().removeprefix(".")
    if form not in FORMATS:
        raise WearlogError(
            Problem(
                _("“{name}” has no ending that says what to write.").format(name=file.name),
                "",
                _("End the name in .csv, .json, .png or .svg."),
                kind=ProblemKind.FILE,
            )
        )
    if form in {"csv", "json"}:
        write_record_figures(snapshot, file, form)
        return
    ensure_application()
    sheet = _Sheet(snapshot, shown, snapshot.kind(kind_key), by)
    content = sheet.png() if form == "png" else sheet.svg()

    def write(stream: BinaryIO) -> None:
        stream.write(content)

    write_whole(file, write)


def write_record_figures(snapshot: RecordSnapshot, target: Path | BinaryIO, form: str) -> None:
    """Write all figures as ``"csv"`` or ``"json"``; canonical numbers whatever the seat reads in."""
    if form == "json":
        text = json.dumps(record_data(snapshot), ensure_ascii=False, indent=2, allow_nan=False) + "\n"
    else:
        text = record_table(snapshot)

    def write(stream: BinaryIO) -> None:
        stream.write(text.encode())

    write_whole(target, write)


class _Sheet:
    """The charts with their sentences, one under the other, for paper."""

    def __init__(
        self, snapshot: RecordSnapshot, shown: ShownUnits, kind: KindRecord | None, by: Factor | None
    ) -> None:
        self.snapshot = snapshot
        self.title = _("Fleet record: {parts}").format(
            parts=_("all parts") if kind is None else kind_text(kind)
        )
        judged = kind or snapshot
        chosen = by if kind is not None and by in kind.comparisons else None
        compared = (
            _("How fast parts wear")
            if chosen is None
            else _("How fast parts wear, by {factor}").format(factor=factor_text(chosen))
        )
        self.sections: list[tuple[str, Drawn | None, str]] = [
            (
                _("What forecasts were worth"),
                reliability_drawn(snapshot, kind),
                " ".join(
                    [*reliability_sentences(judged.readings, judged.distances), hindsight_text(snapshot)]
                ),
            ),
            (
                compared,
                rates_drawn(snapshot, kind, chosen, shown),
                "" if kind is None else " ".join(rate_sentences(kind, chosen, shown)),
            ),
            (
                _("How long parts last"),
                lives_drawn(snapshot, kind, shown),
                "" if kind is None else " ".join(life_sentences(kind, chosen, shown)),
            ),
        ]

    def height(self) -> int:
        """Return the height of the sheet, [px]."""
        image = QImage(1, 1, QImage.Format.Format_RGB32)
        with QPainter(image) as painter:
            return round(self.paint(painter, is_trial=True))

    def paint(self, painter: QPainter, *, is_trial: bool = False) -> float:
        """Draw the sheet, or only find out how high it is."""
        colours = palette("paper")
        bold, caption = type_font("body", bold=True), type_font("caption")
        width = WIDTH_PX - 2 * _SIDE_PX
        top = 20.0
        for n, text in enumerate((self.title, *(heading for heading, _drawn, _words in self.sections))):
            painter.setPen(colour(colours.ink))
            if not is_trial:
                draw_text(painter, _SIDE_PX, top, bold, text)
            top += text_size(bold, text)[1] + _GAP_PX
            if not n:
                continue
            _heading, drawn, words = self.sections[n - 1]
            if drawn is not None:
                if not is_trial:
                    drawn.paint(painter, QRectF(_SIDE_PX, top, width, drawn.height_px), colours, 1.0)
                top += drawn.height_px + _GAP_PX
            painter.setFont(caption)
            painter.setPen(colour(colours.ink))
            flags = int(Qt.TextFlag.TextWordWrap)
            room = painter.boundingRect(QRectF(_SIDE_PX, top, width, 2000.0), flags, words)
            if not is_trial:
                painter.drawText(QRectF(_SIDE_PX, top, width, room.height() + 2.0), flags, words)
            top += room.height() + 2.0 * _GAP_PX
        foot = _("Data as of {day}.").format(day=day_text(self.snapshot.today))
        painter.setPen(colour(colours.muted))
        if not is_trial:
            draw_text(painter, _SIDE_PX, top, caption, foot)
        return top + text_size(caption, foot)[1] + 16.0

    def png(self) -> bytes:
        """Return the sheet as a PNG file."""
        height = self.height()
        image = QImage(WIDTH_PX * PNG_SCALE, height * PNG_SCALE, QImage.Format.Format_RGB32)
        image.fill(colour(palette("paper").ground))
        dots_per_metre = round(_DPI * PNG_SCALE / MM_PER_INCH * 1000)
        image.setDotsPerMeterX(dots_per_metre)
        image.setDotsPerMeterY(dots_per_metre)
        image.setText("Title", self.title)
        with QPainter(image) as painter:
            painter.scale(PNG_SCALE, PNG_SCALE)
            self.paint(painter)
        buffer = QBuffer()
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        QImageWriter(buffer, b"png").write(image)
        return bytes(buffer.data().data())

    def svg(self) -> bytes:
        """Return the sheet as an SVG file."""
        height = self.height()
        buffer = QBuffer()
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        svg = QSvgGenerator()
        svg.setOutputDevice(buffer)
        svg.setSize(QSize(WIDTH_PX, height))
        svg.setViewBox(QRect(0, 0, WIDTH_PX, height))
        svg.setResolution(round(_DPI))
        svg.setTitle(self.title)
        svg.setDescription(" ".join(words for _heading, _drawn, words in self.sections if words))
        with QPainter(svg) as painter:
            painter.fillRect(QRectF(0.0, 0.0, WIDTH_PX, height), colour(palette("paper").ground))
            self.paint(painter)
        return bytes(buffer.data().data())


# --- text for the terminal ------------------------------------------------------------------------------


def record_text(snapshot: RecordSnapshot, shown: ShownUnits, width: int = 100) -> str:
    """Return the record as lines of text: the back-test by kind, then rates and lives.

    Parameters
    ----------
    snapshot : RecordSnapshot
        The fleet's own record.
    shown : ShownUnits
        The units of this seat.
    width : int
        Characters of a line that sentences may take, [-].
    """
    if not snapshot.kinds:
        return _("Nothing to judge yet: no part is followed by its wear.") + "\n"
    parts = [hindsight_text(snapshot), "", *_checks_table(snapshot), ""]
    parts += [fill(text, width) for text in reliability_sentences(snapshot.readings, snapshot.distances)]
    for kind in snapshot.kinds:
        parts += ["", kind_text(kind).upper()]
        if kind.survival is not None and kind.survival.n_worn:
            half = half_life_text(kind.survival, kind.use_unit, shown)
            parts.append(_("  half of them last {half}").format(half=half))
        if kind.rate is not None:
            parts.append(
                _("  use up {rate} of the allowance {per_use}").format(
                    rate=rate_interval_text(kind.rate, kind.use_unit, shown),
                    per_use=per_use_text(kind.use_unit, shown),
                )
            )
        for by in kind.comparisons:
            parts += _comparison_lines(kind, by, shown)
    text = "\n".join(parts) + "\n"
    return text.replace(units.THIN_SPACE, " ").replace(units.NARROW_NO_BREAK_SPACE, " ")


def _checks_table(snapshot: RecordSnapshot) -> list[str]:
    head = [
        _("FORECASTS OF"),
        _("CHECKS"),
        _("PARTS"),
        *(_("{n} % HELD").format(n=round(100 * w)) for w in WIDTHS),
        _("MEDIAN ERROR"),
        _("STRAIGHT LINE"),
    ]
    rows = [head]
    everything: list[tuple[str, Reliability, Reliability]] = [
        (_("all parts"), snapshot.readings, snapshot.distances),
        *((kind_text(kind), kind.readings, kind.distances) for kind in snapshot.kinds),
    ]
    for name, readings, distances in everything:
        for what, judged in ((_("next reading"), readings), (_("distance at limit"), distances)):
            if judged.n_checks:
                rows.append(
                    [
                        f"{name}: {what}",
                        str(judged.n_checks),
                        str(judged.n_parts),
                        *(share_text(judged.held(w).share) for w in WIDTHS),
                        error_text(judged.median_error),
                        error_text(judged.line_error),
                    ]
                )
    wide = [max(len(row[place]) for row in rows) for place in range(len(head))]
    return [
        "  ".join(
            cell.ljust(wide[place]) if not place else cell.rjust(wide[place])
            for place, cell in enumerate(row)
        )
        for row in rows
    ]


def _comparison_lines(kind: KindRecord, by: Factor, shown: ShownUnits) -> list[str]:
    comparison = kind.comparisons[by]
    names = [level_text(by, rate.level, kind.use_unit, shown) for rate in comparison.rates]
    wide = max(map(len, names))
    verdict = comparison.verdict
    told = (
        _("too few parts to compare")
        if verdict is None
        else _("the data tell them apart")
        if verdict.is_told
        else _("the data do not tell")
    )
    lines = [_("  by {factor}: {told}").format(factor=factor_text(by), told=told)]
    for name, rate in zip(names, comparison.rates, strict=True):
        figures = rate_interval_text(rate, kind.use_unit, shown)
        lines.append(
            f"    {name.ljust(wide)}  {figures}  "
            + _("{read} of {n} parts read").format(read=rate.n_read, n=rate.n_parts)
        )
    return lines
