"""The engineering priors as shipped, and what is said of a file that does not hold together."""

import copy
import math

import pytest

from wearlog.fleet.parts import WearClass
from wearlog.fleet.vehicle import Duty
from wearlog.forecast.prior import read_wear_priors
from wearlog.resources import toml

FILE = toml("limits", "wear_priors.toml")
PRIORS = read_wear_priors(FILE)


def test_every_wear_class_and_duty_has_a_row():
    assert {str(one) for one in WearClass} <= set(PRIORS.classes)
    assert {str(one) for one in Duty} <= set(PRIORS.duty_shift)


def test_every_row_names_its_source_and_how_good_it_is():
    marks = {"assumption", "found", "common practice", "from memory"}
    for row in [*FILE["class"].values(), *FILE["duty"].values()]:
        assert len(row["source"]) > 10
        assert row["mark"] in marks


def test_a_range_becomes_mean_and_spread_of_the_logarithm():
    # By hand: open chain 0.08 to 0.6 % per 1000 km at a limit of 2 %.
    prior = PRIORS.family_prior(WearClass.OPEN_MOTORCYCLE_CHAIN, limit_percent=2.0)
    assert math.exp(prior.log_rate) == pytest.approx(math.sqrt(0.08 * 0.6) / 2.0)
    assert prior.family_sd == pytest.approx(math.log(0.6 / 0.08) / 3.29)


def test_an_unknown_class_is_very_wide():
    prior = PRIORS.family_prior(WearClass.UNKNOWN)
    assert prior.family_sd == pytest.approx(1.03, abs=0.005)
    assert PRIORS.family_prior("tracked sledge") == prior


def test_a_narrow_range_is_not_believed():
    # Sealed chain: ln(0.15 / 0.03) / 3.29 is 0.489, below the least of 0.5.
    assert PRIORS.family_prior(WearClass.SEALED_MOTORCYCLE_CHAIN, limit_percent=2.0).family_sd == 0.5


def test_bedding_in_of_a_chain_weighs_more_at_a_tight_limit():
    tight = PRIORS.family_prior(WearClass.DERAILLEUR_CYCLE_CHAIN, limit_percent=0.75).theta
    assert tight.offset_mean == pytest.approx(0.08)
    assert tight.offset_mean_sd == pytest.approx(0.07 / 0.75)
    assert tight.offset_sd == pytest.approx(0.05 / 0.75)
    wide = PRIORS.family_prior(WearClass.OPEN_MOTORCYCLE_CHAIN, limit_percent=3.0).theta
    assert wide.offset_sd == 0.02


def test_a_sprocket_outlives_two_to_three_chains():
    chain = PRIORS.family_prior(WearClass.SEALED_MOTORCYCLE_CHAIN, limit_percent=2.0)
    sprocket = PRIORS.family_prior(WearClass.SPROCKET, chain=chain)
    assert math.exp(chain.log_rate - sprocket.log_rate) == pytest.approx(2.5)
    assert sprocket.family_sd == 0.7
    assert PRIORS.family_prior(WearClass.SPROCKET).log_rate < PRIORS.family_prior("unknown").log_rate


def test_a_belt_is_told_in_shares_of_its_allowance():
    belt = PRIORS.family_prior(WearClass.TOOTHED_BELT)
    assert math.exp(belt.log_rate) == pytest.approx(math.sqrt(0.01 * 0.3))


def test_sand_wears_a_chain_twice_as_fast():
    prior = PRIORS.family_prior(WearClass.OPEN_MOTORCYCLE_CHAIN)
    assert math.exp(PRIORS.cell_mean(prior, Duty.OFF_ROAD) - prior.log_rate) == pytest.approx(2.0, abs=0.02)
    assert PRIORS.cell_mean(prior, "on the moon") == prior.log_rate


def test_a_limit_that_is_not_positive_is_refused():
    with pytest.raises(ValueError, match="column limit_percent"):
        PRIORS.family_prior(WearClass.OPEN_MOTORCYCLE_CHAIN, limit_percent=0.0)


@pytest.mark.parametrize(
    ("row", "column", "value"),
    [
        ("sprocket", "low", "fast"),
        ("sprocket", "low", 0.9),
        ("unknown", "per", "mile"),
        ("unknown", "source", ""),
        ("unknown", "typical_limit", None),
    ],
)
def test_a_row_that_cannot_be_used_is_named(row, column, value):
    spoilt = copy.deepcopy(FILE)
    spoilt["class"][row][column] = value
    with pytest.raises(ValueError, match=f"row {row}, column {column}"):
        read_wear_priors(spoilt)


def test_a_file_without_the_unknown_class_is_refused():
    spoilt = copy.deepcopy(FILE)
    del spoilt["class"]["unknown"]
    with pytest.raises(ValueError, match="row unknown"):
        read_wear_priors(spoilt)
