"""The owner's report, opened again by independent readers (pypdf, poppler)."""

import io
from datetime import date

import pypdf
import pytest

from tests.exchange.paper_pictures import APPROVED_DPI, approved_picture, difference, page_picture
from tests.makers.due import due_line
from tests.makers.owner_report import a_visit, report_made
from wearlog.drawing.due_words import action_text
from wearlog.exchange.owner_report import MOST_PAGES, write_owner_report
from wearlog.exchange.pdf import PaperSize
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.state import URGENCY, State
from wearlog.workshop.due_snapshot import Action
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.owner_report import owner_report

MM_PER_POINT = 25.4 / 72
PLAIN = ShownUnits()


def report_on(bench, tag):
    return owner_report(bench, fleet_state(bench).vehicle_tagged(tag).id)


def pdf_of(report, shown=PLAIN, size=PaperSize.A4):
    stream = io.BytesIO()
    write_owner_report(report, stream, shown, size)
    return stream.getvalue()


def words(content):
    pages = pypdf.PdfReader(io.BytesIO(content)).pages
    return " ".join(" ".join(page.extract_text().split()) for page in pages)


def test_it_tells_measured_done_advised_limits_and_what_it_is_not(qapp):
    report = report_made()
    said = words(pdf_of(report))
    for wanted in (
        "LR-017",
        "What is advised, and why",
        "104 % of the wear allowance used",
        "What was measured",
        "1.76 ± 0.07 %",
        "1.41 ± 0.06 %",
        "What was done",
        "final drive: cleaned, tension or slack set from 44 to 30 mm",
        "new: chain 420, 118 links",
        "Limits, and where they come from",
        "1.70 %",
        "It is no certificate of roadworthiness",
        "never override the vehicle maker's manual",
        "do not ride on past the limit",
    ):
        assert wanted in said.replace("\u2009", " "), wanted
    for line in report.advice:
        assert action_text(line).capitalize() in said


def test_the_first_sentences_say_how_it_stands_and_what_matters_most(qapp):
    said = words(pdf_of(report_made()))
    assert (
        "The chain of the final drive is worn past its limit: about 104 % of what it may wear."
        in said.replace("\u2009", " ")
    )
    assert "What matters most: replace chain of the final drive now." in said


def test_every_limit_on_a_real_vehicle_has_its_source(sample, qapp):
    report = report_on(sample, "LR-009")
    said = words(pdf_of(report))
    limits = [one.limit for one in report.readings if one.limit is not None]
    assert limits
    for limit in limits:
        assert " ".join(limit.source.split())[:40] in said


def test_the_worst_stage_comes_first(sample, qapp):
    trends = report_on(sample, "LR-009").trends
    assert len({trend.stage_id for trend in trends}) == len(trends) == 2
    urgency = [URGENCY.index(trend.rule.state) for trend in trends]
    assert urgency == sorted(urgency, reverse=True)


@pytest.mark.parametrize("size", list(PaperSize))
def test_no_report_of_the_fleet_is_longer_than_three_sheets(sample, qapp, size):
    wanted = (210.0, 297.0) if size is PaperSize.A4 else (215.9, 279.4)
    vehicles = [v for v in fleet_state(sample).vehicles.values() if v.retired_on is None]
    for vehicle in vehicles[::8]:
        pages = pypdf.PdfReader(io.BytesIO(pdf_of(owner_report(sample, vehicle.id), size=size))).pages
        assert 1 <= len(pages) <= MOST_PAGES, vehicle.tag
        box = pages[0].mediabox
        assert (float(box.width) * MM_PER_POINT, float(box.height) * MM_PER_POINT) == pytest.approx(
            wanted, abs=0.5
        )


def test_units_are_those_of_the_seat_but_the_meter_shows_its_own(qapp):
    said = words(pdf_of(report_made(), ShownUnits(distance="mi", length="in"))).replace("\u2009", " ")
    # 44 mm and 1.76 mm at 25.4 mm to the inch (international yard and pound agreement, 1959).
    assert "1.73 ± 0.07 in" in said
    assert "11 312 km" in said.replace("\u202f", " ")


def test_a_vehicle_without_any_record_gets_a_report_that_says_so(qapp):
    report = report_made(advice=(), visits=(), readings=(), trends=(), state=State.NO_READING)
    said = words(pdf_of(report))
    assert "Nothing on this vehicle is followed by its wear yet." in said
    assert "No service visit is on record." in said
    assert "Nothing was measured on the parts that are fitted now." in said
    assert "Nothing needs doing until" in said
    assert "do not ride on past the limit" not in said


def test_umlauts_and_long_names_stay_on_the_sheet(qapp):
    long = "Geländemotorrad für Übungsfahrten mit außergewöhnlich langem Namen " * 3
    said = words(pdf_of(report_made(tag="Müßiggänger-007", vehicle_text=long)))
    assert "Müßiggänger-007" in said


def test_a_long_story_is_shortened_rather_than_growing(qapp):
    lines = tuple(due_line(17, date(2026, 12, 1 + n % 28), list(Action)[n % 5]) for n in range(40))
    content = pdf_of(report_made(advice=lines, visits=tuple(a_visit(n) for n in range(25))))
    assert len(pypdf.PdfReader(io.BytesIO(content)).pages) <= MOST_PAGES
    assert "more, later." in words(content)


@pytest.mark.parametrize("page", [1, 2])
def test_the_report_looks_as_it_was_approved(approved_font, page):
    picture = page_picture(pdf_of(report_made()), APPROVED_DPI, page)
    assert difference(picture, approved_picture(f"owner-report-{page}")) < 0.012
