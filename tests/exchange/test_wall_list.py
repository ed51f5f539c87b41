"""The wall list, opened again by an independent reader (pypdf)."""

import io
import re
from dataclasses import replace
from datetime import date, timedelta

import pypdf
import pytest

from tests.makers.due import due_line, due_list, due_of
from tests.makers.fleet import TODAY, UPPER
from wearlog.exchange.wall_list import write_wall_list
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Measurand
from wearlog.fleet.state import State
from wearlog.workshop.due_snapshot import Action

MM_PER_POINT = 25.4 / 72
HARBOUR = "Harbour depot"


def opened(snapshot):
    stream = io.BytesIO()
    write_wall_list(snapshot, stream, ShownUnits())
    return pypdf.PdfReader(io.BytesIO(stream.getvalue()))


def texts(page):
    """Each piece of text with the size of its font on paper, [mm]."""
    found = []

    def visit(text, cm, tm, _font, size):
        if text.strip():
            found.append((" ".join(text.split()), abs(size * tm[3] * cm[3]) * MM_PER_POINT))

    page.extract_text(visitor_text=visit)
    return found


def capital_share():
    """Height of capitals of the font as a share of its size, as Qt measures it."""
    from PySide6.QtGui import QFontMetricsF

    from wearlog.drawing.palette import type_font

    font = type_font("body")
    font.setPixelSize(1000)
    return QFontMetricsF(font).capHeight() / 1000.0


def words(page):
    return re.sub(r"\s+", " ", page.extract_text())


def test_what_matters_reads_at_two_metres(qapp):
    # NUREG-0700 rev. 2 (2002), 11.4.1.5-1: height of characters at least 0.004 x the distance; 8 mm at 2 m.
    page = opened(due_list(due_line(6, date(2026, 12, 15)))).pages[0]
    large = {text: size * capital_share() for text, size in texts(page)}
    for wanted in ("LR-006", "replace chain", "15 Dec"):
        assert large[wanted] >= 8.0, (wanted, large)


def test_a_long_task_takes_a_second_line_rather_than_smaller_letters(qapp):
    long = replace(due_line(6, date(2026, 12, 15), Action.MEASURE), measurand=Measurand.CHAIN_LIFT)
    long = replace(long, measurand=Measurand.SPROCKET_TOOTH_THICKNESS)
    page = opened(due_list(long)).pages[0]
    sizes = [size * capital_share() for text, size in texts(page) if "tooth" in text or "thickness" in text]
    assert sizes
    assert min(sizes) >= 8.0


def test_it_is_a4_across_and_says_page_data_day_and_cautions(qapp):
    reader = opened(due_of(12))
    for number, page in enumerate(reader.pages, start=1):
        # ISO 216: A4 is 210 mm x 297 mm.
        assert float(page.mediabox.width) * MM_PER_POINT == pytest.approx(297.0, abs=0.5)
        assert float(page.mediabox.height) * MM_PER_POINT == pytest.approx(210.0, abs=0.5)
        said = words(page)
        assert f"page {number} of {len(reader.pages)}" in said
        assert "data as of 25 Nov 2026" in said
        assert "Battery isolated or key out" in said


def test_each_depot_has_its_own_pages(qapp):
    lines = [due_line(1, depot=UPPER), due_line(2, depot=HARBOUR)]
    reader = opened(due_list(*lines))
    assert len(reader.pages) == 2
    first, second = (words(page) for page in reader.pages)
    assert "Harbour depot: due for service" in first
    assert "LR-002" in first
    assert "LR-001" not in first
    assert "LR-001" in second


def test_every_line_is_on_it_once_and_sorted_by_date(qapp):
    days = [date(2026, 12, 20), date(2026, 12, 1), date(2027, 1, 9)]
    lines = [due_line(n + 1, day, group=n) for n, day in enumerate(days)]
    said = words(opened(due_list(*lines)).pages[0])
    places = [said.index(tag) for tag in ("LR-002", "LR-001", "LR-003")]
    assert places == sorted(places)
    assert said.count("replace chain") == 3


def test_the_same_job_on_two_stages_of_one_vehicle_is_ticked_once(qapp):
    primary = due_line(9, date(2026, 12, 9), Action.ADJUST, stage="primary drive", state=State.PLAN)
    final = due_line(9, date(2026, 12, 12), Action.ADJUST, stage="final drive", state=State.PAST_LIMIT)
    final = replace(final, stage_id=primary.stage_id + 1)
    said = words(opened(due_list(primary, final)).pages[0])
    assert said.count("set slack") == 1
    assert "past limit: primary drive; final drive" in said
    assert "9 Dec" in said


def test_what_is_overdue_says_now_and_its_state_in_words(qapp):
    late = due_line(4, TODAY - timedelta(days=3), state=State.PAST_LIMIT, half_width_days=None)
    said = words(opened(due_list(late)).pages[0])
    assert "now" in said
    assert "past limit" in said
    assert "since 22 Nov 2026" in said


def test_states_are_printed_in_black_alone(qapp):
    lines = [due_line(n + 1, state=state, group=n) for n, state in enumerate(State)]
    page = opened(due_list(*lines)).pages[0]
    content = page.get_contents().get_data().decode("latin-1")
    fills = {
        tuple(map(float, found))
        for found in re.findall(r"([\d.]+) ([\d.]+) ([\d.]+) (?:rg|scn|RG|SCN)\b", content)
    }
    assert fills
    assert all(max(fill) - min(fill) < 0.01 for fill in fills), fills


def test_a_long_list_takes_as_many_pages_as_it_needs(qapp):
    lines = [due_line(n + 1, date(2026, 12, 1) + timedelta(days=n), group=n, depot=UPPER) for n in range(40)]
    reader = opened(due_list(*lines))
    assert len(reader.pages) == 5  # eight lines of 19.5 mm between head and foot of 210 mm
    tags = [tag for page in reader.pages for tag in re.findall(r"LR-\d{3}", words(page))]
    assert tags == [f"LR-{n + 1:03d}" for n in range(40)]


def test_an_empty_list_says_so(qapp):
    assert "Nothing is due in the next 60 days." in words(opened(due_list(within_days=60)).pages[0])


def test_a_folder_that_is_not_there_is_a_problem_to_help_with(qapp, tmp_path):
    with pytest.raises(WearlogError, match="folder does not exist"):
        write_wall_list(due_list(due_line()), tmp_path / "none" / "wall.pdf", ShownUnits())
