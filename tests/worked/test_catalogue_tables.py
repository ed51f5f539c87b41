"""The catalogue against published tables of chains and belts."""

import pytest

from tests.worked.rows import reproduces, table
from wearlog import resources
from wearlog.drive.catalogue import (
    catalogue,
    minimum_tensile_strengths_kn,
    pin_diameters_mm,
    pitch_differentials_mm,
)

N_PER_LBF = 4.4482216152605


def part(designation):
    return next(p for p in catalogue() if p.designation == designation)


def rows(start):
    return [row_id for row_id in table() if row_id.startswith(start)]


#: 10A of that table is really the heavy 50H, and 12A's width is a typing difference of 0.01 mm.
ISO_606 = rows("CH-")
US = [row_id for row_id in rows("AN-") if row_id != "AN-rule"]
MOTORCYCLE = rows("MC-")
PROFILES = rows("BP-")
PITCHES = rows("BQ-")
FROM_MEMORY = [row_id for row_id in rows("ISO-") if row_id not in {"ISO-len", "ISO-min"}]
MASSES = rows("BM-HTD")
CASES = {*ISO_606, *US, *MOTORCYCLE, *PROFILES, *PITCHES, *FROM_MEMORY, *MASSES}


@pytest.mark.parametrize("row_id", ISO_606)
def test_iso_606_chains_agree_with_a_makers_table(row_id):
    _ch, designation, what = row_id.split("-")
    found = {
        "p": part(designation).pitch_mm,
        "d1": part(designation).roller_diameter_mm,
        "b1": part(designation).inner_width_mm,
        "d2": pin_diameters_mm()[designation],
        "Fu": minimum_tensile_strengths_kn()[designation],
    }
    reproduces(row_id, found[what])


@pytest.mark.parametrize("row_id", US)
def test_us_chains_have_the_least_tensile_strength_of_the_standard(row_id):
    reproduces(row_id, minimum_tensile_strengths_kn()[row_id.split("-")[1]] * 1000 / N_PER_LBF)


@pytest.mark.parametrize("row_id", MOTORCYCLE)
def test_motorcycle_chains_agree_with_a_published_table(row_id):
    chain = part(row_id.removeprefix("MC-"))
    if row_id == "MC-219":
        reproduces(row_id, chain.pitch_mm)
        return
    pitch, roller, width = table()[row_id].values
    assert (chain.pitch_mm, chain.roller_diameter_mm) == (pitch, roller)
    assert chain.inner_width_mm == pytest.approx(width, abs=table()[row_id].allowed)


@pytest.mark.parametrize("row_id", FROM_MEMORY)
def test_iso_606_chains_agree_with_the_standard_as_remembered(row_id):
    designation = row_id.removeprefix("ISO-")
    pitch, roller, width, pin, _force, strength = table()[row_id].values
    chain = part(designation)
    assert (chain.pitch_mm, chain.roller_diameter_mm, chain.inner_width_mm) == (pitch, roller, width)
    assert (pin_diameters_mm()[designation], minimum_tensile_strengths_kn()[designation]) == (pin, strength)


@pytest.mark.parametrize("row_id", PROFILES)
def test_curvilinear_profiles_agree_with_a_published_table(row_id):
    designation = row_id.removeprefix("BP-")
    profiles = resources.toml("catalogue", "iso_13050.toml")["belt"]
    profile = next(row for row in profiles if row["designation"] == designation)
    reproduces(
        row_id,
        part(designation).pitch_mm,
        profile["belt_height_mm"],
        profile["tooth_height_mm"],
        pitch_differentials_mm()[designation],
    )


@pytest.mark.parametrize("row_id", PITCHES)
def test_trapezoidal_pitches_agree_with_a_published_list(row_id):
    reproduces(row_id, part(row_id.removeprefix("BQ-")).pitch_mm)


@pytest.mark.parametrize("row_id", MASSES)
def test_belt_masses_agree_with_the_makers_table_as_remembered(row_id):
    designation = "H" + row_id.removeprefix("BM-HTD_")
    belt = next(p for p in catalogue() if p.designation == designation and p.width_mm)
    reproduces(row_id, 1000 * belt.mass_kg_per_m / belt.width_mm)


def test_tensile_strengths_of_us_chains_follow_the_rule_of_the_pitch_squared():
    # 12 500 p^2 with p in inches, from memory; the light chain 41 is the exception.
    for designation in ("25", "40", "50", "60", "80"):
        pitch_in = part(designation).pitch_mm / 25.4
        strength_lbf = minimum_tensile_strengths_kn()[designation] * 1000 / N_PER_LBF
        assert strength_lbf == pytest.approx(12500 * pitch_in**2, rel=2e-3)


def test_every_row_of_the_catalogue_names_its_source():
    assert all(part_type.source for part_type in catalogue())
