"""Forecasts as JSON and as a table."""

import io
import json
from datetime import date

import pytest

from tests.makers.explained import explained
from wearlog.exchange.forecast_files import forecast_table_text, write_forecast
from wearlog.fleet.limit import Limit
from wearlog.fleet.parts import WearClass
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Measurand
from wearlog.workshop.predict import PartForecast

TODAY = date(2026, 11, 23)
USES = (12_000.0, 12_500.0, 13_000.0, 13_600.0, 14_300.0, 15_200.0, 16_900.0)
DAYS = tuple(date(2027, month, 1) for month in range(1, 8))


def forecast(**other: object) -> PartForecast:
    """A final drive chain at three fifths of its allowance."""
    told: dict[str, object] = {
        "vehicle": "LR-017",
        "depot": "Upper Depot",
        "stage": "final drive",
        "part": "428 chain, 118 links",
        "position": "run",
        "measurand": Measurand.CHAIN_ELONGATION,
        "use_unit": "km",
        "use_on_part": 8_100.0,
        "allowance_mean": 0.61,
        "allowance_sd": 0.04,
        "allowance_quantiles": (0.53, 0.56, 0.58, 0.61, 0.64, 0.66, 0.69),
        "limit": Limit(
            measurand=Measurand.CHAIN_ELONGATION,
            wear_class=WearClass.SEALED_MOTORCYCLE_CHAIN,
            service_limit=0.01,
            source="workshop default",
        ),
        "limit_why": "",
        "limit_use": USES,
        "limit_on": DAYS,
        "past_probability": 0.001,
        "readings": 6,
        "questioned": (date(2026, 5, 3),),
    }
    return PartForecast(**{**told, **other})  # type: ignore[arg-type]


def data_of(*forecasts: PartForecast) -> dict:
    stream = io.BytesIO()
    write_forecast(forecasts, stream, TODAY)
    return json.loads(stream.getvalue())


def test_json_tells_the_whole_forecast():
    data = data_of(forecast())
    assert data["as_of"] == "2026-11-23"
    assert data["probabilities"] == [0.025, 0.1, 0.25, 0.5, 0.75, 0.9, 0.975]
    (told,) = data["installations"]
    assert told["vehicle"] == "LR-017"
    assert told["stage"] == "final drive"
    assert told["part"] == "428 chain, 118 links"
    assert told["on_part_now_distance_km"] == 8100.0
    assert told["allowance_used_mean"] == 0.61
    assert told["allowance_used_sd"] == 0.04
    assert told["allowance_used_quantiles"][3] == 0.61
    assert told["service_limit_fraction"] == 0.01
    assert told["service_limit_source"] == "workshop default"
    assert told["on_part_at_limit_distance_km"] == list(USES)
    assert told["on_at_limit"] == [day.isoformat() for day in DAYS]
    assert told["readings"] == 6
    assert told["questioned_readings"] == ["2026-05-03"]


def test_what_is_beyond_reach_is_null():
    data = data_of(forecast(limit_use=(*USES[:5], None, None), limit_on=(*DAYS[:4], None, None, None)))
    told = data["installations"][0]
    assert told["on_part_at_limit_distance_km"][5:] == [None, None]
    assert told["on_at_limit"][4:] == [None, None, None]


def test_hours_are_called_hours():
    told = data_of(forecast(use_unit="h", use_on_part=81.5))["installations"][0]
    assert told["on_part_now_running_time_h"] == 81.5
    assert "on_part_at_limit_running_time_h" in told


@pytest.mark.parametrize(
    ("measurand", "field"),
    [
        (Measurand.BELT_TENSION, "service_limit_n"),
        (Measurand.SPROCKET_TOOTH_THICKNESS, "service_limit_mm"),
        (Measurand.BELT_CONDITION, "service_limit"),
    ],
)
def test_a_limit_has_its_unit_in_its_name(measurand, field):
    limit = Limit(measurand=measurand, wear_class=WearClass.UNKNOWN, service_limit=3.0, as_new=5.0)
    assert data_of(forecast(measurand=measurand, limit=limit))["installations"][0][field] == 3.0


def test_the_table_has_one_line_a_part():
    text = forecast_table_text((forecast(), forecast(vehicle="LR-018", questioned=())), ShownUnits())
    lines = text.splitlines()
    assert len(lines) == 3
    assert "LR-017" in lines[1]
    assert "6?" in lines[1]
    assert "6?" not in lines[2]
    assert "1 Apr 2027" in lines[1]


def test_an_empty_fleet_says_so():
    assert forecast_table_text((), ShownUnits()) == "No part is followed by its wear yet.\n"


def test_json_explains_its_date():
    told = data_of(forecast(explanation=explained()))["installations"][0]["explanation"]
    assert [one["weight"] for one in told["readings"]] == [0.98, 0.0]
    assert told["readings"][1]["why_less"] == "voided"
    assert told["readings"][1]["void_reason"] == "other vehicle"
    rate = told["rate"]
    assert rate["fleet_share"] + rate["own_share"] == 1.0
    assert rate["estimate_fraction_per_1000_km"] == [0.0016, 0.0019, 0.0023]
    assert told["usage"]["per_week_km"] == 112.0
    assert told["usage"]["first_entry"] == "2026-01-04"
    assert told["limit"]["adds_days"] == 0.0
    assert told["limit"]["days_for_a_tenth_more"] == 21.0
    width = told["date_width"]
    assert (width["from"], width["to"], width["days"]) == ("early", "late", 120.0)
    assert sum(cause["share_of_squared_width"] for cause in width["causes"]) == pytest.approx(1.0)
    assert {cause["cause"] for cause in width["causes"]} == {"rate", "usage", "readings", "process"}


def test_a_forecast_without_explanation_says_null():
    assert data_of(forecast())["installations"][0]["explanation"] is None
