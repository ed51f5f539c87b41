"""The parts list as a spreadsheet (Office Open XML), ready to be sorted, filtered and sent to a supplier."""

import io
from datetime import UTC, date, datetime, time
from gettext import gettext as _
from typing import BinaryIO

import xlsxwriter  # type: ignore[import-untyped]

from wearlog.drawing.parts_words import cut_text, joining_text, set_text
from wearlog.exchange.parts_cells import Cell, parts_cells, parts_headers
from wearlog.wording import day_text
from wearlog.workshop.parts_snapshot import PartsSnapshot

#: Column widths in characters; the rest has that of a number.
_WIDTHS = {0: 32, 2: 16, 18: 40, 19: 90}
_WIDTH = 11
_A4 = 9


def write_parts_sheet(snapshot: PartsSnapshot, stream: BinaryIO) -> None:
    """Write the parts list: one sheet of parts, one of sets, chains to cut and joining links.

    Parameters
    ----------
    snapshot : PartsSnapshot
        The parts list.
    stream : BinaryIO
        Where to.
    """
    memory = io.BytesIO()
    book = xlsxwriter.Workbook(
        memory,
        {
            "in_memory": True,
            # Text stays text, whatever it begins with.
            "strings_to_formulas": False,
            "strings_to_numbers": False,
            "strings_to_urls": False,
        },
    )
    title = _("Parts on {day}").format(day=day_text(snapshot.today))
    # The day of the list rather than the time of writing: the same list makes the same file.
    created = datetime.combine(snapshot.today, time(0), tzinfo=UTC).replace(tzinfo=None)
    book.set_properties({"title": title, "created": created})
    formats = {
        "head": book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"}),
        "plain": book.add_format({"valign": "top"}),
        "text": book.add_format({"valign": "top", "text_wrap": True}),
        "date": book.add_format({"num_format": "yyyy-mm-dd", "valign": "top", "align": "left"}),
    }
    headers = parts_headers(snapshot)
    rows = [parts_cells(snapshot, line) for line in snapshot.lines]
    sheet = _sheet(book, formats, _("Parts"), headers, rows, _WIDTHS)
    sheet.set_header(f"&L{title.replace('&', '&&')}")
    texts = [
        *((_("set"), one.depot, set_text(one)) for one in snapshot.sets),
        *((_("chain to cut"), one.depot, cut_text(one)) for one in snapshot.cuts),
        *((_("joining links"), one.depot, joining_text(one)) for one in snapshot.joining_links),
    ]
    more: list[list[Cell]] = [list(row) for row in texts]
    _sheet(book, formats, _("Sets and chains"), [_("what"), _("depot"), _("text")], more, {2: 110})
    book.close()
    stream.write(memory.getvalue())


def _sheet(
    book: xlsxwriter.Workbook,
    formats: dict[str, object],
    name: str,
    headers: list[str],
    rows: list[list[Cell]],
    widths: dict[int, int],
) -> xlsxwriter.worksheet.Worksheet:
    sheet = book.add_worksheet(name)
    for column, header in enumerate(headers):
        sheet.write_string(0, column, header, formats["head"])
        sheet.set_column(column, column, widths.get(column, _WIDTH))
    for place, cells in enumerate(rows, start=1):
        for column, cell in enumerate(cells):
            if cell is None:
                sheet.write_blank(place, column, None, formats["plain"])
            elif isinstance(cell, str):
                sheet.write_string(place, column, cell, formats["text"])
            elif isinstance(cell, date):
                sheet.write_datetime(place, column, datetime.combine(cell, time(0)), formats["date"])
            else:
                sheet.write_number(place, column, cell, formats["plain"])
    last = max(len(rows), 1)
    sheet.freeze_panes(1, 1)
    sheet.autofilter(0, 0, last, len(headers) - 1)
    sheet.set_landscape()
    sheet.set_paper(_A4)
    sheet.set_margins(left=0.4, right=0.4, top=0.6, bottom=0.6)
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)
    sheet.set_footer(_("&RPage &P of &N"))
    return sheet
