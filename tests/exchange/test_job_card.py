"""The job card, opened by independent readers: pypdf, poppler, a bar code reader (zxing-cpp)."""

import io
import re
from dataclasses import replace

import pypdf
import pytest
import zxingcpp

from tests.exchange.paper_pictures import APPROVED_DPI, approved_picture, difference, page_picture
from tests.makers.job_card import NUMBER, bare_card, full_card, usual_card
from wearlog.drawing.paper_ink import paper_font
from wearlog.drawing.paper_words import card_place_text
from wearlog.exchange.job_card import NUMBER_CAPITAL_MM, write_job_card
from wearlog.exchange.pdf import PaperSize, capital_share
from wearlog.fleet.quantity import ShownUnits

MM_PER_POINT = 25.4 / 72
CARDS = {"usual": usual_card, "full": full_card, "bare": bare_card}


def pdf_of(card, size=PaperSize.A4):
    stream = io.BytesIO()
    write_job_card(card, stream, ShownUnits(), size)
    return stream.getvalue()


def words(content):
    return " ".join(pypdf.PdfReader(io.BytesIO(content)).pages[0].extract_text().split())


@pytest.mark.parametrize("size", list(PaperSize))
@pytest.mark.parametrize("name", list(CARDS))
def test_a_card_is_one_sheet_whatever_is_on_it(qapp, name, size):
    reader = pypdf.PdfReader(io.BytesIO(pdf_of(CARDS[name](), size)))
    assert len(reader.pages) == 1
    # ISO 216: A4 is 210 mm x 297 mm; ANSI/ASME Y14.1: size A is 8.5 in x 11 in.
    wanted = (210.0, 297.0) if size is PaperSize.A4 else (215.9, 279.4)
    box = reader.pages[0].mediabox
    assert (float(box.width) * MM_PER_POINT, float(box.height) * MM_PER_POINT) == pytest.approx(
        wanted, abs=0.5
    )


def test_the_number_reads_across_the_bench(qapp):
    # NUREG-0700 rev. 2 (2002), 11.4.1.5-1: height of characters at least 0.004 x the distance; 8 mm at 2 m.
    sizes = []

    def visit(text, cm, tm, _font, size):
        if text.strip() == NUMBER:
            sizes.append(abs(size * tm[3] * cm[3]) * MM_PER_POINT)

    pypdf.PdfReader(io.BytesIO(pdf_of(usual_card()))).pages[0].extract_text(visitor_text=visit)
    assert max(sizes) * capital_share(paper_font(10.0, bold=True)) >= NUMBER_CAPITAL_MM == 0.004 * 2000.0


@pytest.mark.parametrize("size", list(PaperSize))
def test_a_scanner_types_the_number_or_the_tag(qapp, size):
    for card, wanted in ((usual_card(), NUMBER), (bare_card(), "LR-017"), (full_card(), NUMBER)):
        [code] = zxingcpp.read_barcodes(page_picture(pdf_of(card, size), 200))
        assert code.format == zxingcpp.BarcodeFormat.Code39
        assert code.text == wanted


def test_a_tag_that_bars_can_not_say_is_written_only(qapp):
    card = bare_card()
    card = replace(card, sheet=replace(card.sheet, tag="Gerät 7"))
    content = pdf_of(card)
    assert zxingcpp.read_barcodes(page_picture(content, 200)) == []
    assert "Gerät 7" in words(content)


def test_it_says_tasks_reasons_parts_last_values_limits_torques_and_cautions(qapp):
    said = words(pdf_of(usual_card()))
    for wanted in (
        "Replace chain",
        "Set slack",
        "Re-check torque",
        "Not due yet: done along with the rest.",
        "86 % of the wear allowance used",
        "1 × chain 420, 118 links, joining link clip",
        "2 on the shelf",
        "Elongation",
        "1.70 %",
        "sprocket to intermediate shaft",
        "50 to 55 N·m",
        "5 bolts in opposing order: 1-3-5-2-4",
        "Isolate the battery or remove the key before hands go near the drive.",
        "never override the vehicle maker's manual",
        f"scan or type {NUMBER}",
    ):
        assert wanted.replace("\u2009", " ") in said.replace("\u2009", " "), wanted


def test_no_task_is_lost_among_twenty_with_long_names(qapp):
    card = full_card()
    said = re.sub(r"\s", "", words(pdf_of(card)))
    for task in card.tasks:
        assert re.sub(r"\s", "", card_place_text(task)) in said
    # What found no room is counted and waits in the program.
    assert "standonthetorquesheet." in said


def test_letters_are_never_too_small_to_read(qapp):
    # Six points: common practice for the least on paper, no source.
    sizes = []

    def visit(text, cm, tm, _font, size):
        if text.strip():
            sizes.append(abs(size * tm[3] * cm[3]))

    pypdf.PdfReader(io.BytesIO(pdf_of(full_card()))).pages[0].extract_text(visitor_text=visit)
    assert min(sizes) >= 5.5


def test_a_bare_card_says_so_and_leaves_room_to_write(qapp):
    said = words(pdf_of(bare_card()))
    assert "Nothing is due within a month." in said
    assert "not planned" in said
    assert "Torques" not in said
    assert "Notes, found on the way" in said


@pytest.mark.parametrize("name", list(CARDS))
def test_the_card_looks_as_it_was_approved(approved_font, name):
    picture = page_picture(pdf_of(CARDS[name]()), APPROVED_DPI)
    approved = approved_picture(f"job-card-{name}")
    assert difference(picture, approved) < 0.012


def test_a_missing_part_of_the_page_is_noticed(approved_font):
    card = usual_card()
    without = page_picture(pdf_of(replace(card, parts=())), APPROVED_DPI)
    assert difference(without, approved_picture("job-card-usual")) > 0.012
