"""Words of the set-up page: what a figure is, by how much it changes, which lengths close."""

import pytest

from tests.makers.setup import belt_primary, chain_primary
from wearlog.drawing.setup_words import (
    adjuster_text,
    change_text,
    closing_text,
    compared_text,
    groups,
    life_basis_text,
    life_interval_text,
    life_text,
    remarks_shown,
)
from wearlog.drive.conversion import Compared, ComparedRow, compare
from wearlog.drive.remarks import RemarkKind
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.workshop.compare_snapshot import LifeEstimate
from wearlog.workshop.trend_snapshot import Basis

SHOWN = ShownUnits()


def plain(text):
    return text.replace("\u2009", " ").replace("\u202f", " ")


def test_every_figure_that_is_compared_has_a_place_and_a_name():
    placed = [what for _title, members in groups() for what in members]
    assert sorted(placed) == sorted(Compared)
    assert len({compared_text(what) for what in Compared}) == len(Compared)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (ComparedRow(Compared.RATIO, 3.0, 3.3, "1"), "+10.0 %"),
        (ComparedRow(Compared.LENGTH_CHOSEN, 118, 116, "1", Quantity.COUNT), "\u22122"),
        (ComparedRow(Compared.CENTRE_DISTANCE, 241.5, 244.7, "mm", Quantity.LENGTH), "+3.2 mm"),
        (ComparedRow(Compared.SLACK, 21.90, 21.93, "mm", Quantity.LENGTH), "same"),
        (ComparedRow(Compared.SLACK, None, 9.8, "mm", Quantity.LENGTH), ""),
    ],
)
def test_a_change_is_told_as_people_think_of_it(row, said):
    assert plain(change_text(row, SHOWN)) == said


def test_the_lengths_that_close_are_named():
    assert closing_text(chain_primary(links=None)) == "70 links close between the adjuster’s ends"
    fixed = chain_primary(links=None, adjuster_front_mm=None, adjuster_rear_mm=None)
    assert closing_text(fixed) == "69.51 at this distance"


def test_the_adjuster_is_told_with_what_of_it_is_used():
    assert plain(adjuster_text(chain_primary(), SHOWN)) == "adjuster 12.0 mm, 3.2 used"
    assert plain(adjuster_text(chain_primary(links=60), SHOWN)) == "adjuster 12.0 mm, out of its reach"


def test_a_belt_short_of_the_adjuster_by_a_hair_closes_all_the_same():
    figures = belt_primary()
    assert any(remark.kind is RemarkKind.DOES_NOT_CLOSE for remark in figures.remarks) or (
        figures.loop.is_closing
    )
    assert not any(remark.kind is RemarkKind.DOES_NOT_CLOSE for remark in remarks_shown(figures))
    far = remarks_shown(belt_primary(belt_teeth=108))
    assert any(remark.kind is RemarkKind.DOES_NOT_CLOSE for remark in far)


def test_a_life_has_no_more_digits_than_it_is_sure_of():
    life = LifeEstimate(9828.2, 14868.9, 22491.3, "km", 20, Basis.FLEET)
    assert plain(life_text(life, SHOWN)) == "14 900 km"
    assert plain(life_interval_text(life, SHOWN)) == "9800 to 22 500"
    assert life_basis_text(life) == "20 similar parts"


def test_a_life_that_no_reading_backs_is_called_an_estimate():
    life = LifeEstimate(1.0, 2.0, 3.0, "km", 0, Basis.ENGINEERING)
    assert life_basis_text(life) == "engineering estimate"


def test_both_sides_of_a_conversion_are_told_in_one_order():
    conversion = compare(belt_primary().setup, chain_primary().setup)
    assert [row.what for row in conversion.rows] == list(Compared)
