"""Old records put right, each seen by the trend and taken back."""

from dataclasses import replace
from datetime import timedelta

import pytest

from tests.makers.bench import KM_A_DAY, TODAY, add_caliper, add_motorcycle
from tests.makers.torque import motorcycle_with_sheet, tighten
from wearlog.fleet.fitting import Installation
from wearlog.fleet.meter import MeterEntry, MeterEvent
from wearlog.fleet.problem import DoubtKind, EditConflict, WearlogError
from wearlog.fleet.reading import Measurand, Method, Reading, Spot
from wearlog.fleet.service import Visit
from wearlog.fleet.torque import TorqueRecord
from wearlog.workshop.bench import Bench
from wearlog.workshop.correct import (
    ReadingCorrection,
    correct_reading,
    look_at_reading,
    restore_record,
    void_record,
)
from wearlog.workshop.correct_fitting import correct_fitting, look_at_fitting
from wearlog.workshop.correct_meter import keep_meter, look_at_meter, void_meter
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.history import history_snapshot
from wearlog.workshop.history_snapshot import HistoryKind
from wearlog.workshop.judge import rules_of_vehicle
from wearlog.workshop.measure import save
from wearlog.workshop.sheet import SheetDraft
from wearlog.workshop.undo import undo

READ_SO_FAR = [(500, 0.0010), (1500, 0.0022), (2800, 0.0040)]


def kept(bench: Bench, kind, **equal):
    with bench.database.reading() as records:
        return records.all(kind, **equal)


def day_at(km: float):
    """The day on which the chain had run so far; the motorcycle does the same every day."""
    return TODAY - timedelta(days=round((4000.0 - km) / KM_A_DAY))


def corrected_to(reading: Reading, *lengths_mm: float, **more) -> ReadingCorrection:
    """A correction over 20 pitches of 12.7 mm, same side of the rollers."""
    return ReadingCorrection(
        reading=reading,
        text=" ".join(f"{one:g}" for one in lengths_mm),
        spots=tuple(Spot(typed=f"{one:g}", value=one, resolution=0.01) for one in lengths_mm),
        method=Method.OVER_ROLLERS,
        pitches=20,
        was_cleaned=True,
        **more,
    )


@pytest.fixture
def chain(bench):
    return add_motorcycle(bench, readings=READ_SO_FAR)


def last_reading(bench, chain):
    return kept(bench, Reading, installation_id=chain.id)[-1]


def allowance(bench, chain):
    return rules_of_vehicle(bench, chain.vehicle_id)[(chain.id, Measurand.CHAIN_ELONGATION)]


# --- readings


def test_a_corrected_reading_is_worked_out_anew_as_the_sheet_does(bench, chain):
    caliper = add_caliper(bench)
    before = last_reading(bench, chain)
    changes = correct_reading(bench, corrected_to(before, 255.27, 255.4, instrument_id=caliper.id))
    after = last_reading(bench, chain)
    # 255.40 mm over 20 pitches of 12.7 mm: 1.40 / 254 = 0.551 % (worked by hand).
    assert after.value == pytest.approx(0.00551, abs=5e-6)
    assert [spot.typed for spot in after.spots] == ["255.27", "255.4"]
    assert (after.on, after.total_use, after.by) == (before.on, before.total_use, before.by)
    assert changes.installation_ids == {chain.id}
    assert changes.what == "Reading of LR-001 corrected"


def test_the_trail_keeps_the_old_value_of_a_corrected_reading(bench, chain):
    correct_reading(bench, corrected_to(last_reading(bench, chain), 255.4))
    entry = history_snapshot(bench, chain.vehicle_id).trail.entries[0]
    assert '"value":0.004' in entry.before
    assert "255.02" in entry.before
    assert '"typed":"255.4"' in entry.after
    assert entry.by == "Tilda"


def test_the_trend_follows_a_corrected_reading_and_its_undo(bench, chain):
    at_first = allowance(bench, chain)
    changes = correct_reading(bench, corrected_to(last_reading(bench, chain), 256.0))
    assert allowance(bench, chain).median > at_first.median
    undo(bench, changes)
    assert allowance(bench, chain).median == pytest.approx(at_first.median, rel=1e-3)


def test_a_correction_is_questioned_against_the_readings_around_it(bench, chain):
    middle = kept(bench, Reading, installation_id=chain.id)[1]
    _look, doubts = look_at_reading(bench, corrected_to(middle, 256.5))
    kinds = {doubt.kind for doubt in doubts}
    assert DoubtKind.SUSPECT in kinds
    assert DoubtKind.FELL not in kinds
    _look, doubts = look_at_reading(bench, corrected_to(last_reading(bench, chain), 253.0))
    assert DoubtKind.FELL in {doubt.kind for doubt in doubts}


def test_a_miscount_is_questioned_in_a_correction_too(bench, chain):
    _look, doubts = look_at_reading(bench, corrected_to(last_reading(bench, chain), 267.9))
    assert DoubtKind.MISCOUNT in {doubt.kind for doubt in doubts}


def test_what_cannot_be_understood_is_not_kept_as_a_correction(bench, chain):
    correction = replace(corrected_to(last_reading(bench, chain), 255.4), text="25.4x", spots=())
    with pytest.raises(WearlogError, match="can’t be understood"):
        correct_reading(bench, correction)


def test_two_people_correcting_one_reading_see_both_versions(bench, chain):
    opened = last_reading(bench, chain)
    correct_reading(bench, corrected_to(opened, 255.4))
    with pytest.raises(EditConflict) as met:
        correct_reading(bench, corrected_to(opened, 255.5))
    assert met.value.versions.mine.spots[0].value == 255.5
    assert met.value.versions.theirs.spots[0].value == 255.4


def test_a_voided_reading_keeps_its_reason_and_counts_again_when_restored(bench, chain):
    at_first = allowance(bench, chain)
    void_record(bench, last_reading(bench, chain), "wrong vehicle")
    voided = last_reading(bench, chain)
    assert voided.void_reason == "wrong vehicle"
    assert allowance(bench, chain).median != pytest.approx(at_first.median, rel=1e-4)
    restore_record(bench, voided)
    assert allowance(bench, chain).median == pytest.approx(at_first.median, rel=1e-3)


def test_nothing_is_voided_without_a_reason(bench, chain):
    with pytest.raises(WearlogError, match="without a reason"):
        void_record(bench, last_reading(bench, chain), "  ")


def test_the_history_shows_what_is_voided_too(bench, chain):
    void_record(bench, last_reading(bench, chain), "misread")
    lines = history_snapshot(bench, chain.vehicle_id).lines
    readings = [line for line in lines if line.kind is HistoryKind.READING]
    assert [line.void_reason for line in readings] == ["misread", "", ""]
    assert [line.on for line in readings] == sorted((line.on for line in readings), reverse=True)


def test_a_torque_is_voided_and_counts_again(bench):
    chain = motorcycle_with_sheet(bench)
    tighten(bench, chain.vehicle_id, rear_axle=52.0)
    (record,) = kept(bench, TorqueRecord)
    changes = void_record(bench, record, "wrench was set to 25")
    assert kept(bench, TorqueRecord, live=True) == ()
    undo(bench, changes)
    assert len(kept(bench, TorqueRecord, live=True)) == 1


# --- meter


def entry_on(bench, chain, day, **equal):
    return next(
        entry for entry in kept(bench, MeterEntry, vehicle_id=chain.vehicle_id, **equal) if entry.on == day
    )


def test_a_corrected_meter_entry_takes_its_visit_and_readings_along(bench, chain):
    save(bench, SheetDraft(chain.vehicle_id, TODAY, meter_text="5400", meter_value=5400.0, notes="slip"))
    entry = entry_on(bench, chain, TODAY, value=5400.0)
    (visit,) = kept(bench, Visit)
    assert visit.total_use == 5400.0
    changes = keep_meter(bench, replace(entry, value=5040.0, typed="5040"))
    (visit,) = kept(bench, Visit)
    assert visit.total_use == 5040.0
    assert fleet_state(bench).histories[chain.vehicle_id].last.total_use == 5040.0
    undo(bench, changes)
    (visit,) = kept(bench, Visit)
    assert visit.total_use == 5400.0


def test_a_correction_that_would_run_backwards_is_refused_with_ways_on(bench, chain):
    entry = entry_on(bench, chain, TODAY)
    with pytest.raises(WearlogError, match="go backwards") as met:
        look_at_meter(bench, replace(entry, value=500.0))
    (problem,) = met.value.problems
    assert [offer.action for offer in problem.offers] == ["meter replaced", "typing slip", "other entry"]
    assert problem.where == "LR-001"


def test_an_impossible_speed_is_refused_in_a_correction(bench, chain):
    with pytest.raises(WearlogError, match="a day since"):
        look_at_meter(bench, replace(entry_on(bench, chain, TODAY), value=99_000.0))


def test_a_meter_replaced_in_the_past_keeps_the_total_distance(bench):
    # The old meter stopped at 3000 km, the new one began at 0; since then it counted 60 km of real way.
    chain = add_motorcycle(bench, km_on_chain=2000.0, readings=[(500, 0.001), (1900, 0.003)])
    changed_on = TODAY + timedelta(days=0)
    replaced = MeterEntry(
        vehicle_id=chain.vehicle_id, on=changed_on, value=0.0, event=MeterEvent.REPLACED, old_value=3000.0
    )
    look = look_at_meter(bench, replaced)
    assert (look.use_before, look.use_after) == (3000.0, 3000.0)
    keep_meter(bench, replaced)
    history = fleet_state(bench).histories[chain.vehicle_id]
    assert history.total_for(60.0, TODAY) == 3060.0


def test_a_replacement_entered_afterwards_moves_all_that_came_later(bench):
    """The meter was changed at 3000 km for one that began at 3100 km, and nobody wrote it down."""
    chain = add_motorcycle(bench, km_on_chain=4000.0, readings=READ_SO_FAR)
    day = day_at(2000.0) + timedelta(days=1)
    replaced = MeterEntry(
        vehicle_id=chain.vehicle_id, on=day, value=3030.0, event=MeterEvent.REPLACED, old_value=3020.0
    )
    changes = keep_meter(bench, replaced)
    later = last_reading(bench, chain)
    assert later.total_use == pytest.approx(3800.0 - 10.0)
    assert kept(bench, Reading, installation_id=chain.id)[0].total_use == 1500.0
    assert fleet_state(bench).histories[chain.vehicle_id].last.total_use == pytest.approx(4990.0)
    undo(bench, changes)
    assert last_reading(bench, chain).total_use == 3800.0


def test_a_replacement_that_makes_the_meter_run_backwards_is_refused(bench, chain):
    replaced = MeterEntry(
        vehicle_id=chain.vehicle_id,
        on=day_at(2000.0),
        value=0.0,
        event=MeterEvent.REPLACED,
        old_value=1200.0,
    )
    with pytest.raises(WearlogError, match="go backwards"):
        keep_meter(bench, replaced)


def test_a_voided_meter_entry_leaves_its_visit_between_the_others(bench, chain):
    day = day_at(3000.0) + timedelta(days=5)
    save(bench, SheetDraft(chain.vehicle_id, TODAY, meter_text="5010", meter_value=5010.0, notes="x"))
    entry = MeterEntry(vehicle_id=chain.vehicle_id, on=day, value=4190.0)
    keep_meter(bench, entry)
    added = entry_on(bench, chain, day)
    void_meter(bench, added, "read on another vehicle")
    assert entry_on(bench, chain, day).void_reason == "read on another vehicle"
    restore_record(bench, entry_on(bench, chain, day))
    assert entry_on(bench, chain, day).void_reason == ""


# --- fittings


def test_a_fitting_date_is_corrected_and_the_distance_on_the_part_follows(bench, chain):
    other_day = chain.fitted_on - timedelta(days=0)
    corrected = replace(chain, fitted_on=other_day, fitted_use=1100.0)
    assert look_at_fitting(bench, corrected).part_use == pytest.approx(3900.0)
    changes = correct_fitting(bench, corrected)
    (now,) = kept(bench, Installation, id=chain.id)
    assert now.fitted_use == 1100.0
    undo(bench, changes)
    (now,) = kept(bench, Installation, id=chain.id)
    assert now.fitted_use == 1000.0


def test_a_fitting_may_not_begin_after_a_reading_of_the_part(bench, chain):
    with pytest.raises(WearlogError, match="measured here on") as met:
        correct_fitting(bench, replace(chain, fitted_on=day_at(1000.0), fitted_use=2000.0))
    assert met.value.problems[0].offers[0].action == "look at reading"


def test_the_part_before_comes_off_when_the_next_one_was_fitted(bench, chain):
    day = day_at(3500.0)
    spare = replace(fleet_state(bench).parts[chain.part_id], id=0, version=0)
    with bench.database.writing(by="Tilda", at=bench.now(), what="chain changed") as records:
        old = records.replace(replace(chain, removed_on=day, removed_use=4500.0))
        new = records.add(
            Installation(
                part_id=records.add(spare).id,
                vehicle_id=chain.vehicle_id,
                stage_id=chain.stage_id,
                position=chain.position,
                fitted_on=day,
                fitted_use=4500.0,
            )
        )
    moved_to = day + timedelta(days=4)
    corrected = replace(new, fitted_on=moved_to, fitted_use=4580.0)
    (along,) = look_at_fitting(bench, corrected).along
    assert (along.id, along.removed_on, along.removed_use) == (old.id, moved_to, 4580.0)
    changes = correct_fitting(bench, corrected)
    assert changes.installation_ids == {old.id, new.id}


def test_a_part_does_not_come_off_before_it_was_fitted(bench, chain):
    wrong = replace(chain, removed_on=chain.fitted_on - timedelta(days=1), removed_use=900.0)
    with pytest.raises(WearlogError, match="before it was fitted"):
        correct_fitting(bench, wrong)


def test_measurand_of_the_corrected_reading_stays(bench, chain):
    correct_reading(bench, corrected_to(last_reading(bench, chain), 255.4))
    assert last_reading(bench, chain).measurand is Measurand.CHAIN_ELONGATION
