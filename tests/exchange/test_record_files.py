"""The fleet record as files and as text."""

import csv
import io
import json
import math

import pytest
from PySide6.QtGui import QImage
from PySide6.QtSvg import QSvgRenderer

from tests.makers.bench import TODAY
from tests.makers.record import kind_record, record, survival
from wearlog.exchange.record_data import COLUMNS
from wearlog.exchange.record_files import record_text, write_record, write_record_figures
from wearlog.fleet.problem import ProblemKind, WearlogError
from wearlog.fleet.quantity import ShownUnits
from wearlog.workshop.record_snapshot import Factor

SHOWN = ShownUnits()


def figures(snapshot, form):
    stream = io.BytesIO()
    write_record_figures(snapshot, stream, form)
    return stream.getvalue().decode()


def test_json_holds_every_figure_with_its_unit_in_the_name():
    data = json.loads(figures(record(kind_record()), "json"))
    assert (data["as_of"], data["without_hindsight"]) == (TODAY.isoformat(), True)
    assert data["next_reading"]["checks"] == 400
    eighty = next(one for one in data["next_reading"]["intervals"] if one["promised"] == 0.8)
    assert eighty["held"] == pytest.approx(0.8)
    assert eighty["held_low_95"] < 0.8 < eighty["held_high_95"]
    chain = data["kinds"][0]
    assert chain["compared"]["duty"]["rates"][0]["allowance_per_1000_km"] == pytest.approx(0.11)
    assert chain["compared"]["duty"]["verdict"]["data_tell"] is True
    assert chain["survival"]["median_life_km"] == 11_000.0
    assert [step["followed"] for step in chain["survival"]["steps"]] == [20, 19, 18]


def test_hours_have_fields_of_their_own():
    chain = json.loads(figures(record(kind_record(use_unit="h")), "json"))["kinds"][0]
    assert "allowance_per_100_h" in chain["rate"]
    assert "median_life_h" in chain["survival"]


def test_what_is_out_of_sight_is_null_and_empty():
    snapshot = record(kind_record(survival=survival(median=math.inf, median_high=math.inf)))
    assert json.loads(figures(snapshot, "json"))["kinds"][0]["survival"]["median_life_km"] is None
    rows = list(csv.DictReader(io.StringIO(figures(snapshot, "csv"))))
    median = next(row for row in rows if row["figure"] == "median life" and not row["compared_by"])
    assert (median["value"], median["low_95"], median["high_95"]) == ("", "8000", "")


def test_the_table_has_one_row_a_figure():
    rows = list(csv.DictReader(io.StringIO(figures(record(kind_record()), "csv"))))
    assert tuple(rows[0]) == COLUMNS
    held = [row for row in rows if row["kind"] == "all" and row["figure"].endswith("held: next reading")]
    assert [float(row["value"]) for row in held] == pytest.approx([0.5, 0.8, 0.95])
    rates = [row for row in rows if row["figure"] == "wear rate" and row["compared_by"] == "duty"]
    assert [(row["level"], row["value"], row["parts"]) for row in rates] == [
        ("off-road", "0.11", "9"),
        ("road", "0.065", "40"),
    ]


def test_a_lot_that_looks_like_a_formula_is_made_harmless():
    kind = kind_record(survival_by={Factor.LOT: (survival("=1+1"), survival("B"))})
    assert "'=1+1" in figures(record(kind), "csv")


@pytest.mark.parametrize("key", ["", kind_record().key])
def test_charts_go_to_pictures(qapp, tmp_path, key):
    snapshot = record(kind_record())
    write_record(snapshot, tmp_path / "r.png", SHOWN, key, Factor.DUTY)
    image = QImage(str(tmp_path / "r.png"))
    assert image.width() == 3000
    assert image.text("Title").startswith("Fleet record")
    write_record(snapshot, tmp_path / "r.svg", SHOWN, key, Factor.DUTY)
    assert QSvgRenderer(str(tmp_path / "r.svg")).isValid()
    assert b"clipPath" not in (tmp_path / "r.svg").read_bytes()


def test_an_unknown_ending_is_refused(tmp_path):
    with pytest.raises(WearlogError, match="has no ending") as refused:
        write_record(record(kind_record()), tmp_path / "r.docx", SHOWN)
    assert refused.value.problems[0].kind is ProblemKind.FILE
    assert not list(tmp_path.iterdir())


def test_the_text_tells_forecasts_rates_and_lives():
    text = record_text(record(kind_record()), SHOWN)
    assert "sealed motorcycle chains: next reading" in text
    assert "half of them last 11 000 km (8000 to 14 000 km)" in text
    assert "use up 7.0 % (6.3 to 7.8 %) of the allowance per 1000 km" in text
    assert "by duty: the data tell them apart" in text
    assert all(len(line) <= 100 for line in text.splitlines() if line.startswith("Of "))


def test_an_empty_record_says_so():
    assert record_text(record(), SHOWN) == "Nothing to judge yet: no part is followed by its wear.\n"
    assert json.loads(figures(record(), "json"))["kinds"] == []
