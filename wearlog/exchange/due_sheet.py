"""The due list as a spreadsheet (Office Open XML), ready to be sorted, filtered and printed."""

import io
from datetime import UTC, date, datetime, time
from gettext import gettext as _
from typing import BinaryIO

import xlsxwriter  # type: ignore[import-untyped]

from wearlog.exchange.due_cells import due_cells, due_headers
from wearlog.fleet.quantity import ShownUnits
from wearlog.wording import day_text
from wearlog.workshop.due_snapshot import DueSnapshot

#: Column widths in characters; the rest has that of a date.
_WIDTHS = {1: 10, 2: 16, 3: 24, 4: 14, 5: 26, 6: 14, 18: 80, 19: 7}
_DATE_WIDTH = 12
_A4 = 9


def write_due_sheet(snapshot: DueSnapshot, stream: BinaryIO, shown: ShownUnits) -> None:
    """Write the due list as one sheet: header kept in sight, filter, real dates, one page wide on paper.

    Parameters
    ----------
    snapshot : DueSnapshot
        The due list.
    stream : BinaryIO
        Where to.
    shown : ShownUnits
        The units of this seat.
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
    title = _("Due for service on {day}").format(day=day_text(snapshot.today))
    # The day of the list rather than the time of writing: the same list makes the same file.
    created = datetime.combine(snapshot.today, time(0), tzinfo=UTC).replace(tzinfo=None)
    book.set_properties({"title": title, "created": created})
    sheet = book.add_worksheet(_("Due for service"))
    bold = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
    plain = book.add_format({"valign": "top"})
    wrapped = book.add_format({"valign": "top", "text_wrap": True})
    as_date = book.add_format({"num_format": "yyyy-mm-dd", "valign": "top", "align": "left"})
    headers = due_headers(shown)
    for column, header in enumerate(headers):
        sheet.write_string(0, column, header, bold)
        sheet.set_column(column, column, _WIDTHS.get(column, _DATE_WIDTH))
    for row, line in enumerate(snapshot.lines, start=1):
        for column, cell in enumerate(due_cells(line, shown)):
            if cell is None:
                sheet.write_blank(row, column, None, plain)
            elif isinstance(cell, str):
                sheet.write_string(row, column, cell, wrapped)
            elif isinstance(cell, date):
                sheet.write_datetime(row, column, datetime.combine(cell, time(0)), as_date)
            else:
                sheet.write_number(row, column, cell, plain)
    last = max(len(snapshot.lines), 1)
    sheet.freeze_panes(1, 2)
    sheet.autofilter(0, 0, last, len(headers) - 1)
    sheet.set_landscape()
    sheet.set_paper(_A4)
    sheet.set_margins(left=0.4, right=0.4, top=0.6, bottom=0.6)
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)
    sheet.print_area(0, 0, last, len(headers) - 1)
    sheet.set_header(f"&L{title.replace('&', '&&')}")
    sheet.set_footer(_("&LValues never override the vehicle maker's manual.&RPage &P of &N"))
    book.close()
    stream.write(memory.getvalue())
