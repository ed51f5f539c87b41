"""The wear trend as files, opened again by independent readers."""

import csv
import xml.etree.ElementTree as ET
from datetime import date
from itertools import pairwise

import pypdf
import pytest
from PIL import Image

from tests.makers import trend
from wearlog.exchange.pictures import picture_kind, suggested_name, write_trend
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.quantity import ShownUnits

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def snapshot(qapp):
    return trend.chain_at(0.85)


def written(tmp_path, snapshot, ending, shown=None):
    file = tmp_path / f"chart.{ending}"
    write_trend(file, snapshot, shown or ShownUnits())
    return file


def test_a_png_is_sharp_in_print_and_not_blank(tmp_path, snapshot):
    with Image.open(written(tmp_path, snapshot, "png")) as picture:
        picture.load()
        assert picture.size == (3000, 1800)
        assert picture.info["dpi"][0] == pytest.approx(288, abs=1)
        shades = {level for _count, level in picture.convert("L").getcolors(maxcolors=1 << 24)}
    assert min(shades) < 20
    assert max(shades) == 255
    assert len(shades) > 100


def test_bands_and_limit_differ_in_lightness_too(tmp_path, snapshot):
    # A copier knows no hue: the three bands and the ground have to be told apart by lightness alone.
    with Image.open(written(tmp_path, snapshot, "png")) as picture:
        grey = picture.convert("L")
        colours = {level: count for count, level in grey.getcolors(maxcolors=1 << 24)}
    from wearlog.drawing.palette import palette

    def lightness(name):
        red, green, blue = (int(name[n : n + 2], 16) for n in (1, 3, 5))
        return round(0.299 * red + 0.587 * green + 0.114 * blue)

    levels = [lightness(band) for band in palette("paper").bands]
    assert all(abs(one - other) >= 20 for one, other in pairwise(levels))
    assert all(any(colours.get(level + d, 0) > 500 for d in (-1, 0, 1)) for level in levels)


def test_an_svg_is_made_of_lines_and_text_within_its_box(tmp_path, snapshot):
    root = ET.parse(written(tmp_path, snapshot, "svg")).getroot()  # noqa: S314 - written by the test itself
    assert root.get("viewBox") == "0 0 1000 600"
    said = " ".join("".join(text.itertext()) for text in root.iter(f"{SVG}text"))
    for wanted in ("service limit", "questioned: not cleaned?", "today", "distance on the chain, km"):
        assert wanted in said
    assert not list(root.iter(f"{SVG}image"))
    assert "fitted 14 Mar 2026" in root.find(f"{SVG}title").text


def test_curves_are_cut_at_the_edge_of_the_chart(tmp_path, snapshot):
    root = ET.parse(written(tmp_path, snapshot, "svg")).getroot()  # noqa: S314 - written by the test itself
    lowest = []
    for line in root.iter(f"{SVG}polyline"):
        points = [tuple(map(float, pair.split(","))) for pair in line.get("points").split()]
        lowest.append(min(y for _x, y in points))
    assert lowest
    # Heading and dates take the upper 66 px; the ticks of the dates hang from there.
    assert min(lowest) >= 66.0


def test_a_pdf_holds_text_and_vectors_not_a_picture(tmp_path, snapshot):
    reader = pypdf.PdfReader(written(tmp_path, snapshot, "pdf"))
    (page,) = reader.pages
    assert not page.images
    said = " ".join(page.extract_text().split())
    assert "final drive: chain, 420, 118 links" in said
    assert "service limit" in said
    assert "Data as of 25 Nov 2026" in said
    assert "never override the vehicle maker's manual" in said
    assert reader.metadata.title.startswith("LR-017")
    width = float(page.mediabox.width) / 72 * 96
    assert width == pytest.approx(1000, abs=2)


def test_the_numbers_are_in_canonical_units_with_iso_dates_whatever_the_seat_reads(tmp_path, snapshot):
    plain = written(tmp_path, snapshot, "csv").read_bytes()
    miles = written(tmp_path, snapshot, "csv", ShownUnits(distance="mi", elongation="mm/m")).read_bytes()
    assert plain == miles
    with (tmp_path / "chart.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    readings = [row for row in rows if row["series"] == "reading"]
    assert len(readings) == len(snapshot.readings)
    first = readings[0]
    assert date.fromisoformat(first["date"]) == snapshot.readings[0].on
    assert float(first["use_on_part_km"]) == snapshot.readings[0].use_on_part
    assert float(first["value_fraction"]) == pytest.approx(snapshot.readings[0].value, rel=1e-8)
    assert [row["remarks"] for row in readings if "voided" in row["remarks"]] == ["voided: other vehicle"]


def test_every_quantile_of_the_curve_and_of_the_crossing_is_among_the_numbers(tmp_path, snapshot):
    with written(tmp_path, snapshot, "csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    curve = [row for row in rows if row["series"] in {"smoothed", "forecast"}]
    assert len(curve) == len(snapshot.curve_use)
    at = 100
    shown = [float(curve[at][f"quantile_{level}_fraction"]) for level in ("0.025", "0.5", "0.975")]
    assert shown == pytest.approx([snapshot.curve_value[at, n] for n in (0, 3, 6)], rel=1e-8)
    crossing = {row["remarks"]: float(row["use_on_part_km"]) for row in rows if row["series"] == "at limit"}
    assert crossing["probability 0.5"] == pytest.approx(snapshot.limit_use[3], rel=1e-8)
    assert len(crossing) == 7


def test_a_part_without_readings_and_a_worn_out_one_can_be_written_too(tmp_path, qapp):
    for other in (trend.chain_without_readings(), trend.chain_at(1.06), trend.sprocket_wearing_down()):
        for ending in ("png", "svg", "pdf", "csv"):
            assert written(tmp_path, other, ending).stat().st_size > 1000


def test_an_unknown_ending_says_which_are_known(tmp_path, snapshot):
    with pytest.raises(WearlogError, match=r"End the name in \.png, \.svg, \.pdf or \.csv"):
        write_trend(tmp_path / "chart.bmp", snapshot, ShownUnits())
    assert not list(tmp_path.iterdir())


def test_a_name_is_suggested_that_every_system_takes(snapshot):
    from pathlib import Path

    name = suggested_name(snapshot, picture_kind(Path("x.pdf")))
    assert name == "LR-017_final_drive_chain_elongation_2026-11-25.pdf"
