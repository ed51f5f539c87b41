"""Torque sheets: started, filled in, questioned, re-checked, taken back."""

from dataclasses import replace
from datetime import timedelta

import pytest

from tests.makers.bench import TODAY, add_motorcycle
from tests.makers.torque import (
    STARTING,
    add_wrench,
    fastener_named,
    line_named,
    motorcycle_with_sheet,
    tighten,
)
from wearlog.drawing.due_words import action_text, reason_text
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.problem import DoubtKind, EditConflict, WearlogError
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.service import Task, TaskDone, Visit
from wearlog.fleet.torque import Fastener, TorqueRecord, TorqueSheet, TorqueWork, Treatment
from wearlog.fleet.vehicle import Vehicle
from wearlog.units import factor
from wearlog.workshop.due import due_snapshot
from wearlog.workshop.due_snapshot import Action
from wearlog.workshop.torque import (
    check_torques,
    drop_torques,
    keep_torques,
    kept_torques,
    save_torques,
    start_sheet,
    torque_snapshot,
    void_torque,
)
from wearlog.workshop.torque_doubts import MARKER_LINE, UNIT_NM, USE_UNIT
from wearlog.workshop.torque_sheets import keep_fastener, take_off_fastener
from wearlog.workshop.torque_snapshot import Standing, TorqueDraft, TorqueEntry
from wearlog.workshop.undo import undo

AXLE = Fastener(torque_sheet_id=1, order=1, name="rear axle", low_nm=50.0, high_nm=55.0)
SPROCKET = Fastener(
    torque_sheet_id=1,
    order=2,
    name="rear sprocket",
    low_nm=12.0,
    high_nm=12.0,
    bolts=5,
    is_opposing=True,
    treatment=Treatment.THREAD_LOCK,
)


def typed(*values_nm, unit="N.m", work=TorqueWork.TIGHTENED):
    return TorqueEntry(" ".join(f"{value:g}" for value in values_nm), values_nm, unit, work)


def doubts_about(fastener, entry, wrench=None):
    return {doubt.kind: doubt for doubt in check_torques(fastener, entry, wrench, TODAY)}


def rechecks(bench, vehicle_id):
    return [
        line
        for line in due_snapshot(bench, 3000).lines
        if line.vehicle_id == vehicle_id
        and line.action is Action.RECHECK
        and line.task is Task.TORQUE_CHECKED
    ]


# --- the starting example


def test_the_starting_sheet_has_the_values_of_common_practice(bench):
    chain = motorcycle_with_sheet(bench)
    ranges = {
        line.fastener.name: (line.fastener.low_nm, line.fastener.high_nm)
        for line in torque_snapshot(bench, chain.vehicle_id).lines
    }
    # Common practice, no source.
    assert ranges == {
        "sprocket to intermediate shaft": (12, 12),
        "swing-arm pivot": (35, 35),
        "linkage": (20, 25),
        "brake caliper": (12, 12),
        "motor mounts": (25, 25),
        "rear axle": (50, 55),
        "motor-shaft nut": (50, 50),
    }


def test_every_starting_value_says_that_it_has_no_source_and_defers_to_the_maker(bench):
    chain = motorcycle_with_sheet(bench)
    snapshot = torque_snapshot(bench, chain.vehicle_id)
    for line in snapshot.lines:
        assert "common practice, no source" in line.fastener.source
        assert "defer to the vehicle maker's manual" in line.fastener.source
    assert "Defer to the vehicle maker's manual" in snapshot.sheet.note


def test_the_sprocket_is_thread_locked_and_tightened_in_opposing_order(bench):
    chain = motorcycle_with_sheet(bench)
    line = line_named(bench, chain.vehicle_id, "sprocket to intermediate shaft")
    assert line.fastener.treatment is Treatment.THREAD_LOCK
    assert line.fastener.is_opposing
    # 1-3-5-2-4, common practice: clockwise the turns come first, fourth, second, fifth, third.
    assert line.steps == (1, 4, 2, 5, 3)


def test_a_vehicle_without_a_sheet_is_offered_the_one_that_fits_its_kind(bench):
    chain = add_motorcycle(bench)
    snapshot = torque_snapshot(bench, chain.vehicle_id)
    assert snapshot.sheet is None
    assert [key for key, _words in snapshot.templates] == [STARTING]


def test_vehicles_of_one_model_share_their_sheet(bench):
    first = add_motorcycle(bench)
    second = add_motorcycle(bench, "LR-002", types=None if first is None else _types(bench))
    with bench.database.writing(by="Tilda", at=bench.now(), what="model") as records:
        for chain in (first, second):
            records.replace(replace(records.get(Vehicle, chain.vehicle_id), model="EM-C"))
    changes = start_sheet(bench, first.vehicle_id, STARTING)
    assert changes.vehicle_ids == {first.vehicle_id, second.vehicle_id}
    shared = torque_snapshot(bench, second.vehicle_id)
    assert shared.sheet.model == "EM-C"
    assert shared.vehicles == 2
    tighten(bench, first.vehicle_id, rear_axle=52)
    assert line_named(bench, second.vehicle_id, "rear axle").last is None


def _types(bench):
    from wearlog.fleet.parts import PartType

    with bench.database.reading() as records:
        names = {"chain": "428 chain", "driver": "428 sprocket 14", "driven": "428 sprocket 42"}
        return {key: records.first(PartType, name=name) for key, name in names.items()}


def test_a_second_sheet_for_a_vehicle_is_refused(bench):
    chain = motorcycle_with_sheet(bench)
    with pytest.raises(WearlogError, match="already"):
        start_sheet(bench, chain.vehicle_id, STARTING)


def test_a_sheet_that_is_not_shipped_is_refused(bench):
    chain = add_motorcycle(bench)
    with pytest.raises(WearlogError, match="heavy_lorry"):
        start_sheet(bench, chain.vehicle_id, "heavy_lorry")


def test_a_started_sheet_can_be_taken_back(bench):
    chain = add_motorcycle(bench)
    undo(bench, start_sheet(bench, chain.vehicle_id, STARTING))
    assert torque_snapshot(bench, chain.vehicle_id).sheet is None
    start_sheet(bench, chain.vehicle_id, "")
    assert torque_snapshot(bench, chain.vehicle_id).lines == ()


# --- what is odd about a value


@pytest.mark.parametrize("value", [50.0, 52.5, 55.0])
def test_the_ends_of_a_range_belong_to_it(value):
    assert not check_torques(AXLE, typed(value), None, TODAY)


@pytest.mark.parametrize(("value", "word"), [(49.0, "below"), (60.0, "above")])
def test_a_value_out_of_range_is_questioned(value, word):
    (doubt,) = check_torques(AXLE, typed(value), None, TODAY)
    assert doubt.kind is DoubtKind.UNUSUAL
    assert word in doubt.question
    assert "50 to 55 N·m" in doubt.question


def test_a_single_value_leaves_room_for_the_wrench():
    # ISO 6789, type II class A: 4 % above 10 N.m, as quoted by a maker of wrenches. 12 N.m: 11.52 to 12.48.
    assert not check_torques(SPROCKET, typed(12.4), None, TODAY)
    assert check_torques(SPROCKET, typed(12.6), None, TODAY)


@pytest.mark.parametrize(
    ("unit", "newton", "metre"),
    [
        ("lbf.ft", 0.45359237 * 9.80665, 0.3048),
        ("lbf.in", 0.45359237 * 9.80665, 0.0254),
        ("kgf.m", 9.80665, 1.0),
    ],
)
def test_units_of_torque_are_those_of_the_handbook(unit, newton, metre):
    # NIST SP 811 (2008), appendix B: pound, foot, inch and standard gravity by definition.
    assert UNIT_NM[unit] == pytest.approx(newton * metre, rel=1e-6)
    assert UNIT_NM[unit] == pytest.approx(factor(unit, Quantity.TORQUE), rel=1e-6)


def test_pound_feet_typed_as_newton_metres_are_recognised():
    doubt = doubts_about(AXLE, typed(40.0))[DoubtKind.OTHER_UNIT]
    # 40 lbf.ft x 1.3558 = 54.2 N.m.
    assert "40 lbf·ft would be 54.2 N·m" in doubt.question
    assert [(offer.action, offer.value) for offer in doubt.offers] == [(USE_UNIT, "lbf.ft")]


def test_newton_metres_read_as_pound_feet_are_recognised():
    doubt = doubts_about(AXLE, typed(52 * 1.3558179, unit="lbf.ft"))[DoubtKind.OTHER_UNIT]
    assert doubt.offers[0].value == "N.m"


def test_kilogram_metres_typed_as_newton_metres_are_recognised():
    assert doubts_about(AXLE, typed(5.3))[DoubtKind.OTHER_UNIT].offers[0].value == "kgf.m"


def test_one_bolt_out_of_range_is_enough_for_a_question():
    assert DoubtKind.UNUSUAL in doubts_about(SPROCKET, typed(12.0, 12.0, 15.0, 12.0, 12.0))


def test_a_bolt_left_out_is_noticed_and_one_value_counts_for_all():
    assert "5 bolts, but 4 values" in doubts_about(SPROCKET, typed(*[12.0] * 4))[DoubtKind.MISCOUNT].question
    assert DoubtKind.MISCOUNT not in doubts_about(SPROCKET, typed(12.0))


def test_a_wrench_past_its_calibration_is_questioned(bench):
    late = add_wrench(bench, due=TODAY - timedelta(days=1))
    good = add_wrench(bench, "another", due=TODAY)
    assert DoubtKind.CALIBRATION_DUE in doubts_about(AXLE, typed(52.0), late)
    assert not doubts_about(AXLE, typed(52.0), good)


def test_turning_a_cured_thread_locked_joint_is_questioned():
    doubt = doubts_about(SPROCKET, typed(12.0, work=TorqueWork.RECHECKED))[DoubtKind.OTHER]
    assert doubt.offers[0].action == MARKER_LINE
    assert not doubts_about(SPROCKET, TorqueEntry(work=TorqueWork.MARKER_SEEN))


# --- saving


def test_a_saved_torque_says_who_when_and_with_what(bench):
    chain = motorcycle_with_sheet(bench)
    wrench = add_wrench(bench)
    tighten(bench, chain.vehicle_id, instrument_id=wrench.id, rear_axle=52.0)
    line = line_named(bench, chain.vehicle_id, "rear axle")
    assert line.last.applied_nm == (52.0,)
    assert (line.last.by, line.last.on, line.last_wrench) == ("Tilda", TODAY, "wrench 20 to 100")
    assert line.last.total_use == 5000.0
    assert torque_snapshot(bench, chain.vehicle_id).last_wrench_id == wrench.id


def test_a_questioned_value_is_kept_with_its_question(bench):
    chain = motorcycle_with_sheet(bench)
    tighten(bench, chain.vehicle_id, rear_axle=70.0)
    line = line_named(bench, chain.vehicle_id, "rear axle")
    assert line.standing is Standing.OUT_OF_RANGE
    assert "70 N·m is above 50 to 55 N·m" in line.last.note


def test_saving_is_one_transaction_that_can_be_taken_back(bench):
    chain = motorcycle_with_sheet(bench)
    changes = tighten(bench, chain.vehicle_id, rear_axle=52.0, linkage=22.0)
    undo(bench, changes)
    lines = torque_snapshot(bench, chain.vehicle_id).lines
    assert all(line.standing is Standing.NOT_RECORDED for line in lines)
    with bench.database.reading() as records:
        assert all(visit.void_reason for visit in records.all(Visit))
        assert {record.void_reason for record in records.all(TorqueRecord)} == {"undone"}


def test_all_problems_of_a_sheet_are_told_at_once(bench):
    chain = motorcycle_with_sheet(bench)
    axle = fastener_named(bench, chain.vehicle_id, "rear axle")
    linkage = fastener_named(bench, chain.vehicle_id, "linkage")
    draft = TorqueDraft(
        chain.vehicle_id,
        TODAY + timedelta(days=1),
        meter_text="abc",
        entries={axle.id: TorqueEntry("tight"), linkage.id: typed(-20.0), 999: typed(5.0)},
    )
    with pytest.raises(WearlogError) as caught:
        save_torques(bench, draft)
    said = str(caught.value)
    for piece in ("“tight”", "“-20”", "no longer on the torque sheet", "lies ahead", "“abc”"):
        assert piece in said
    with bench.database.reading() as records:
        assert records.all(TorqueRecord) == ()


def test_a_meter_value_typed_on_the_sheet_becomes_a_meter_entry(bench):
    chain = motorcycle_with_sheet(bench)
    axle = fastener_named(bench, chain.vehicle_id, "rear axle")
    draft = TorqueDraft(
        chain.vehicle_id, TODAY, meter_text="5010", meter_value=5010.0, entries={axle.id: typed(52.0)}
    )
    save_torques(bench, draft)
    assert line_named(bench, chain.vehicle_id, "rear axle").last.total_use == 5010.0
    with bench.database.reading() as records:
        assert records.all(MeterEntry, vehicle_id=chain.vehicle_id)[-1].typed == "5010"


def test_a_meter_that_runs_backwards_is_refused(bench):
    chain = motorcycle_with_sheet(bench)
    axle = fastener_named(bench, chain.vehicle_id, "rear axle")
    draft = TorqueDraft(
        chain.vehicle_id, TODAY, meter_text="4000", meter_value=4000.0, entries={axle.id: typed(52.0)}
    )
    with pytest.raises(WearlogError, match="below the last entry"):
        save_torques(bench, draft)


def test_the_check_joins_the_visit_of_the_same_day(bench):
    chain = motorcycle_with_sheet(bench)
    with bench.database.writing(by="Tilda", at=bench.now(), what="visit") as records:
        records.add(
            Visit(
                vehicle_id=chain.vehicle_id,
                on=TODAY,
                total_use=5000.0,
                by="Tilda",
                tasks=(TaskDone(task=Task.CLEANED),),
            )
        )
    tighten(bench, chain.vehicle_id, rear_axle=52.0, sprocket_to_intermediate_shaft=12.0)
    with bench.database.reading() as records:
        (visit,) = records.all(Visit, live=True)
    assert [task.task for task in visit.tasks] == [Task.CLEANED, Task.TORQUE_CHECKED]


def test_a_half_filled_sheet_survives(bench):
    chain = motorcycle_with_sheet(bench)
    draft = TorqueDraft(
        chain.vehicle_id,
        TODAY,
        by="Tilda",
        entries={3: replace(typed(52.0), kept=("unusual",)), 4: TorqueEntry(work=TorqueWork.MARKER_SEEN)},
    )
    keep_torques(bench, draft)
    assert kept_torques(bench, chain.vehicle_id) == draft
    drop_torques(bench, chain.vehicle_id)
    assert kept_torques(bench, chain.vehicle_id) is None


def test_a_voided_torque_no_longer_counts(bench):
    chain = motorcycle_with_sheet(bench)
    tighten(bench, chain.vehicle_id, rear_axle=52.0)
    record = line_named(bench, chain.vehicle_id, "rear axle").last
    void_torque(bench, record.id, "other vehicle")
    assert line_named(bench, chain.vehicle_id, "rear axle").last is None
    with pytest.raises(WearlogError, match="voided already"):
        void_torque(bench, record.id, "again")


# --- re-checks


def test_a_re_check_is_due_so_far_after_tightening(bench):
    chain = motorcycle_with_sheet(bench)
    tighten(bench, chain.vehicle_id, rear_axle=52.0)
    recheck = line_named(bench, chain.vehicle_id, "rear axle").recheck
    assert recheck.due_use == 5075.0
    assert not recheck.is_overdue
    # 75 km at 20 km a day.
    assert (recheck.due_on - TODAY).days == pytest.approx(75 / 20, abs=2)


def test_a_re_check_is_overdue_once_the_vehicle_has_gone_far_enough(bench):
    chain = motorcycle_with_sheet(bench)
    tighten(bench, chain.vehicle_id, days_ago=20, rear_axle=52.0)
    line = line_named(bench, chain.vehicle_id, "rear axle")
    assert line.recheck.is_overdue
    assert line.standing is Standing.RECHECK_DUE
    assert line.usual_work is TorqueWork.RECHECKED


@pytest.mark.parametrize("work", [TorqueWork.RECHECKED, TorqueWork.MARKER_SEEN])
def test_a_re_check_is_done_once(bench, work):
    chain = motorcycle_with_sheet(bench)
    tighten(bench, chain.vehicle_id, days_ago=20, rear_axle=52.0)
    values = () if work is TorqueWork.MARKER_SEEN else (52.0,)
    tighten(bench, chain.vehicle_id, work=work, rear_axle=values)
    line = line_named(bench, chain.vehicle_id, "rear axle")
    assert line.recheck is None
    assert line.tightened.on == TODAY - timedelta(days=20)
    assert line.standing is Standing.SET


def test_torque_ticked_on_the_service_sheet_settles_the_re_check_of_that_stage(bench):
    chain = motorcycle_with_sheet(bench)
    tighten(bench, chain.vehicle_id, days_ago=20, rear_axle=52.0, brake_caliper=12.0)
    with bench.database.writing(by="Tilda", at=bench.now(), what="visit") as records:
        task = TaskDone(task=Task.TORQUE_CHECKED, stage_id=chain.stage_id)
        records.add(Visit(vehicle_id=chain.vehicle_id, on=TODAY, total_use=5000.0, tasks=(task,)))
    assert line_named(bench, chain.vehicle_id, "rear axle").recheck is None
    assert line_named(bench, chain.vehicle_id, "brake caliper").recheck is not None


def test_the_due_list_names_the_fasteners_to_re_check(bench):
    chain = motorcycle_with_sheet(bench)
    tighten(bench, chain.vehicle_id, days_ago=1, rear_axle=52.0, brake_caliper=12.0)
    lines = {line.part_text: line for line in rechecks(bench, chain.vehicle_id)}
    assert set(lines) == {"rear axle", "brake caliper"}
    axle = lines["rear axle"]
    assert axle.stage_id == chain.stage_id
    assert action_text(axle) == "re-check torque"
    why = reason_text(axle, ShownUnits())
    assert why == "Once, 75\u2009km after tightening; tightened on 22 Nov 2026."
    assert lines["brake caliper"].stage_name == ""


def test_sheet_and_interval_do_not_ask_for_the_same_re_check_twice(bench):
    chain = motorcycle_with_sheet(bench, km_on_chain=40.0)
    (by_rule,) = rechecks(bench, chain.vehicle_id)
    assert by_rule.installation_id == chain.id
    tighten(bench, chain.vehicle_id, sprocket_to_intermediate_shaft=12.0, rear_axle=52.0)
    (by_sheet,) = rechecks(bench, chain.vehicle_id)
    assert by_sheet.installation_id is None
    assert by_sheet.part_text == "sprocket to intermediate shaft, rear axle"
    # Tightened at 40 km after the fitting, so the sheet's re-check comes 75 km later than that.
    assert by_sheet.likely_use == 1040.0 + 75.0


def test_a_re_check_from_before_a_new_chain_stays_if_it_is_the_earlier_one(bench):
    chain = motorcycle_with_sheet(bench, km_on_chain=40.0)
    tighten(bench, chain.vehicle_id, days_ago=10, rear_axle=52.0)
    (line,) = rechecks(bench, chain.vehicle_id)
    # At the first meter entry, 1000 km, for want of an earlier one.
    assert line.likely_use == 1075.0
    assert line.part_text == "rear axle"


def test_a_stage_whose_fasteners_were_all_seen_to_is_not_asked_for_again_by_the_interval(bench):
    chain = motorcycle_with_sheet(bench, km_on_chain=70.0)
    assert len(rechecks(bench, chain.vehicle_id)) == 1
    tighten(
        bench,
        chain.vehicle_id,
        work=TorqueWork.RECHECKED,
        sprocket_to_intermediate_shaft=12.0,
        rear_axle=52.0,
    )
    assert rechecks(bench, chain.vehicle_id) == []


def test_a_retired_vehicle_is_not_re_checked(bench):
    chain = motorcycle_with_sheet(bench)
    tighten(bench, chain.vehicle_id, days_ago=20, rear_axle=52.0)
    with bench.database.writing(by="Tilda", at=bench.now(), what="retired") as records:
        records.replace(replace(records.get(Vehicle, chain.vehicle_id), retired_on=TODAY))
    assert rechecks(bench, chain.vehicle_id) == []


# --- fasteners


def test_the_makers_value_replaces_the_starting_one(bench):
    chain = motorcycle_with_sheet(bench)
    axle = fastener_named(bench, chain.vehicle_id, "rear axle")
    changes = keep_fastener(bench, replace(axle, low_nm=98.0, high_nm=104.0, source="maker's manual p. 12"))
    assert fastener_named(bench, chain.vehicle_id, "rear axle").low_nm == 98.0
    undo(bench, changes)
    assert fastener_named(bench, chain.vehicle_id, "rear axle").low_nm == 50.0


def test_a_new_fastener_stands_last(bench):
    chain = motorcycle_with_sheet(bench)
    with bench.database.reading() as records:
        sheet = records.first(TorqueSheet)
    new = Fastener(torque_sheet_id=sheet.id, order=0, name="guard", low_nm=5.0, high_nm=7.0)
    keep_fastener(bench, new)
    assert torque_snapshot(bench, chain.vehicle_id).lines[-1].fastener.name == "guard"
    with pytest.raises(WearlogError, match="already"):
        keep_fastener(bench, replace(new, name="Guard"))


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"name": " "}, "no name"),
        ({"low_nm": 0.0}, "no range"),
        ({"low_nm": 60.0}, "no range"),
        ({"high_nm": 5500.0}, "more than any fastener"),
        ({"bolts": 0}, "from 1 to 12"),
        ({"recheck_km": 0.0}, "at once"),
    ],
)
def test_a_fastener_that_cannot_be_is_refused(bench, wrong, said):
    with pytest.raises(WearlogError, match=said):
        keep_fastener(bench, replace(AXLE, **wrong))


def test_two_people_changing_one_range_see_each_other(bench):
    chain = motorcycle_with_sheet(bench)
    axle = fastener_named(bench, chain.vehicle_id, "rear axle")
    keep_fastener(bench, replace(axle, high_nm=60.0))
    with pytest.raises(EditConflict):
        keep_fastener(bench, replace(axle, high_nm=58.0))


def test_a_fastener_taken_off_leaves_its_records(bench):
    chain = motorcycle_with_sheet(bench)
    tighten(bench, chain.vehicle_id, rear_axle=52.0)
    take_off_fastener(bench, fastener_named(bench, chain.vehicle_id, "rear axle"), "not on this model")
    names = [line.fastener.name for line in torque_snapshot(bench, chain.vehicle_id).lines]
    assert "rear axle" not in names
    with bench.database.reading() as records:
        assert len(records.all(TorqueRecord, live=True)) == 1
