"""A paper of several pages: blocks shared out, a head on the first page, a foot on each."""

from collections.abc import Callable, Sequence
from gettext import gettext as _

from wearlog.drawing.paper_blocks import Block, share_out
from wearlog.drawing.paper_ink import Ink, Side, in_lines
from wearlog.exchange.pdf import Paper, PaperSize, sheet_of

MARGIN_MM = 16.0
_TOP = 15.0
_FOOT = 18.0
_SMALL = 2.5


def page_width(size: PaperSize) -> float:
    """Return how wide the writing on a sheet is, [mm]."""
    # ISO 216; ANSI/ASME Y14.1: 8.5 in.
    return (210.0 if size is PaperSize.A4 else 215.9) - 2 * MARGIN_MM


def pages_needed(blocks: Sequence[Block], head_mm: float, size: PaperSize) -> int:
    """Return on how many pages blocks find room under a head of some height, [mm]."""
    height = 297.0 if size is PaperSize.A4 else 279.4
    room = height - _TOP - _FOOT
    return len(share_out(blocks, room - head_mm, room))


def pages_pdf(
    title: str,
    size: PaperSize,
    head: Callable[[Ink], None],
    head_mm: float,
    blocks: Sequence[Block],
    foot: str,
) -> bytes:
    """Return a PDF with blocks on as many pages as they need.

    Parameters
    ----------
    title : str
        Of the file.
    size : PaperSize
        A4 or Letter.
    head : callable
        Draws what stands at the top of the first page.
    head_mm : float
        Its height, [mm].
    blocks : sequence of Block
        What stands under it.
    foot : str
        Stands at the foot of every page, beside the number of the page.
    """
    paper = Paper(title, sheet_of(size))
    page = paper.page_mm
    ink = Ink(paper.painter)
    room = page.height() - _TOP - _FOOT
    pages = share_out(blocks, room - head_mm, room)
    right = page.width() - MARGIN_MM
    for number, inside in enumerate(pages, start=1):
        top = _TOP
        if number == 1:
            head(ink)
            top += head_mm
        else:
            paper.new_page()
        for block in inside:
            block.paint(ink, top)
            top += block.height
        at = page.height() - _FOOT + 3.0
        ink.line(MARGIN_MM, right, at)
        count = _("page {n} of {all}").format(n=number, all=len(pages))
        ink.write(MARGIN_MM, at + 4.2, count, _SMALL, muted=True, width=right - MARGIN_MM, side=Side.RIGHT)
        for n, line in enumerate(in_lines(foot, right - MARGIN_MM - 24.0, _SMALL)[:3]):
            ink.write(MARGIN_MM, at + 4.2 + n * 3.3, line, _SMALL, muted=True)
    return paper.finished()
