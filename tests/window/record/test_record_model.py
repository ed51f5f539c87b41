"""What the fleet record page shows, without a window."""

from tests.makers.record import NOTHING, kind_record, record
from wearlog.fleet.parts import WearClass
from wearlog.fleet.quantity import ShownUnits
from wearlog.window.record.model import CAREFUL_AT_ONCE, RecordModel
from wearlog.workshop.record_snapshot import Factor

BELTS = kind_record(wear_class=WearClass.TOOTHED_BELT, comparisons={}, survival_by={})


def model(*kinds, **changes):
    return RecordModel(ShownUnits()).with_snapshot(record(*kinds, **changes))


def test_all_parts_are_shown_first_and_each_kind_can_be_chosen():
    made = model(kind_record(), BELTS)
    assert made.kind is None
    assert [name for _key, name in made.kinds()] == ["all parts", "sealed motorcycle chains", "toothed belts"]
    assert made.factors() == []


def test_a_kind_is_compared_by_what_it_differs_in():
    chosen = model(kind_record(), BELTS).with_kind(kind_record().key)
    assert chosen.factors() == [(Factor.DUTY, "duty")]
    assert chosen.by is Factor.DUTY
    assert model(kind_record(), BELTS).with_kind(BELTS.key).factors() == []


def test_a_factor_that_the_kind_does_not_have_gives_way():
    made = model(kind_record()).compared_by(Factor.LOT).with_kind(kind_record().key)
    assert made.by is Factor.DUTY


def test_the_choice_stays_when_the_record_is_read_anew():
    chosen = model(kind_record(), BELTS).with_kind(BELTS.key)
    assert chosen.with_snapshot(record(kind_record(), BELTS)).kind_key == BELTS.key
    assert chosen.with_snapshot(record(kind_record())).kind_key == ""


def test_the_table_shows_what_each_interval_held():
    rows = model(kind_record()).held_rows()
    shares = [[share.replace("\u2009", " ") for share in row.shares] for row in rows]
    assert shares[0] == ["50 %", "80 %", "95 %"]
    assert [row.name for row in rows] == ["next reading", "distance at the limit"]
    assert model(kind_record(readings=NOTHING, distances=NOTHING)).held_rows() == []


def test_counts_of_one_are_said_as_one():
    assert (
        model(kind_record(n_parts=1, n_readings=1))
        .summary()
        .startswith("1 reading of 1 part on 12 vehicles.")
    )


def test_a_quick_look_is_followed_by_a_careful_one_in_fleets_of_usual_size():
    quick = model(kind_record(), is_honest=False)
    assert quick.wants_careful_look
    assert quick.is_small
    assert not model(kind_record(n_readings=CAREFUL_AT_ONCE + 1), is_honest=False).is_small
    assert not model(kind_record()).wants_careful_look


def test_an_empty_record_wants_nothing():
    empty = model(is_honest=False)
    assert empty.is_empty
    assert not empty.wants_careful_look
    assert empty.summary() == ""
