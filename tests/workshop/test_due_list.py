"""What is due, by when, why, and what comes in together."""

from dataclasses import replace
from datetime import timedelta

import pytest

from tests.makers.bench import KM_A_DAY, TODAY, add_motorcycle
from wearlog.drawing.due_words import reason_text
from wearlog.drive.chain import span
from wearlog.drive.slack import excess_length_for_total_movement
from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Measurand, Method, Reading, Spot
from wearlog.fleet.service import IntervalRule, Task, TaskDone, Visit
from wearlog.fleet.state import State
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.workshop.bench import set_caution_level
from wearlog.workshop.due import due_snapshot
from wearlog.workshop.due_snapshot import Action, DueCause
from wearlog.workshop.judge import fleet_snapshot
from wearlog.workshop.predict import forecasts, trend_snapshot
from wearlog.workshop.trend_snapshot import LEVELS, MEDIAN, Basis

#: 0.14 % per 1000 km after bedding-in of 0.05 %.
STEADY = [(500, 0.0012), (1500, 0.0026), (2500, 0.0040), (3500, 0.0054)]


def lines_of(bench, action, installation_id=None, task=None):
    return [
        line
        for line in due_snapshot(bench, 3000).lines
        if line.action is action
        and installation_id in {None, line.installation_id}
        and task in {None, line.task}
    ]


def write(bench, *added):
    with bench.database.writing(by="Tilda", at=bench.now(), what="test") as records:
        return [records.add(record) for record in added]


def test_a_steadily_worn_chain_is_due_about_where_its_line_meets_the_limit(bench):
    chain = add_motorcycle(bench, readings=STEADY, u_elongation=0.0002)
    (line,) = lines_of(bench, Action.REPLACE, chain.id)
    # 0.05 % + 0.14 % per 1000 km meets 1 % at 6786 km on the chain: plain arithmetic.
    assert line.likely_use == pytest.approx(1000 + 6786, rel=0.06)
    assert line.early_use < line.likely_use < line.late_use
    assert line.early_on < line.likely_on < line.late_on


def test_the_likely_date_follows_from_the_vehicles_own_use(bench):
    chain = add_motorcycle(bench, readings=STEADY, u_elongation=0.0002)
    (line,) = lines_of(bench, Action.REPLACE, chain.id)
    days = (line.likely_use - 5000.0) / KM_A_DAY
    assert (line.likely_on - TODAY).days == pytest.approx(days, rel=0.15)


def test_a_part_is_due_on_the_day_its_chance_of_being_past_reaches_the_caution_level(bench):
    chain = add_motorcycle(bench, readings=STEADY)
    (line,) = lines_of(bench, Action.REPLACE, chain.id)
    forecast = next(f for f in forecasts(bench) if f.measurand is Measurand.CHAIN_ELONGATION)
    assert line.due_on == forecast.limit_on[LEVELS.index(0.1)]


def test_a_bolder_workshop_replaces_later(bench):
    chain = add_motorcycle(bench, readings=STEADY)
    (careful,) = lines_of(bench, Action.REPLACE, chain.id)
    set_caution_level(bench, 0.4)
    (bold,) = lines_of(bench, Action.REPLACE, chain.id)
    assert careful.due_on < bold.due_on


@pytest.mark.parametrize("level", [0.0, 0.9, -0.1])
def test_a_senseless_caution_level_is_refused(bench, level):
    with pytest.raises(WearlogError, match="caution"):
        set_caution_level(bench, level)


def test_a_part_is_ordered_its_lead_time_ahead(bench):
    chain = add_motorcycle(bench, readings=STEADY)
    (line,) = lines_of(bench, Action.REPLACE, chain.id)
    assert line.due_on - line.order_by == timedelta(days=14)


def test_a_chain_past_its_limit_is_due_now_and_says_so(bench):
    worn = [(1000, 0.0030), (2000, 0.0060), (3000, 0.0090), (3900, 0.0116)]
    chain = add_motorcycle(bench, readings=worn, u_elongation=0.0002)
    (line,) = lines_of(bench, Action.REPLACE, chain.id)
    assert line.due_on == TODAY
    assert line.state is State.PAST_LIMIT
    assert line.reason.cause is DueCause.PAST_LIMIT
    assert line.past_probability > 0.5


def test_a_makers_limit_moves_the_date_and_names_its_source(bench):
    chain = add_motorcycle(bench, readings=STEADY, limit=0.006)
    (line,) = lines_of(bench, Action.REPLACE, chain.id)
    assert line.reason.limit_source == "vehicle maker's manual"
    # 0.6 % is met at about 3930 km on the chain, which has 4000 km on it.
    assert line.due_on == TODAY


def test_a_chain_never_measured_is_measured_before_it_is_ordered(bench):
    chain = add_motorcycle(bench)
    assert not lines_of(bench, Action.REPLACE, chain.id)
    (line,) = lines_of(bench, Action.MEASURE, chain.id)
    assert line.state is State.NO_READING


def test_a_chain_that_is_due_only_for_want_of_knowledge_is_measured_first(bench):
    """One early reading, and a third left as a rule; measured first by common practice, no source."""
    chain = add_motorcycle(bench, readings=[(800.0, 0.0030)], km_on_chain=4000.0)
    (forecast,) = [f for f in forecasts(bench) if f.measurand is Measurand.CHAIN_ELONGATION]
    assert forecast.limit_on[LEVELS.index(0.1)] <= TODAY
    assert not lines_of(bench, Action.REPLACE, chain.id)
    (line,) = [
        one
        for one in lines_of(bench, Action.MEASURE, chain.id)
        if one.measurand is Measurand.CHAIN_ELONGATION
    ]
    assert (line.reason.cause, line.state) == (DueCause.READING_DECIDES, State.PLAN)
    assert line.due_on <= TODAY
    assert "too little is known to order a new one" in reason_text(line, ShownUnits())


def test_a_worn_chain_read_long_ago_is_replaced_without_another_reading(bench):
    readings = [(800.0, 0.0030), (1800.0, 0.0060), (2700.0, 0.0087)]
    chain = add_motorcycle(bench, readings=readings, km_on_chain=3400.0, u_elongation=0.0002)
    (line,) = lines_of(bench, Action.REPLACE, chain.id)
    assert line.due_on == TODAY
    assert line.state in {State.DUE, State.PAST_LIMIT}


def test_a_chain_just_read_is_due_though_the_reading_was_coarse(bench):
    """Another reading with the same rule would tell hardly more, and the chance is what it is."""
    chain = add_motorcycle(bench, readings=[(3900.0, 0.0065)], km_on_chain=4000.0, u_elongation=0.0035)
    (line,) = lines_of(bench, Action.REPLACE, chain.id)
    assert line.reason.allowance < 0.75
    assert line.reason.cause is not DueCause.READING_DECIDES


def test_a_chain_without_readings_borrows_from_its_fleet(bench):
    types = {}
    chain = add_motorcycle(bench, "LR-001")
    alone = trend_snapshot(bench, chain.vehicle_id, chain.id)
    assert alone.basis is Basis.ENGINEERING
    from tests.workshop.test_entering_a_service import known_types

    types = known_types(bench)
    for n in range(2, 8):
        add_motorcycle(bench, f"LR-{n:03d}", STEADY, types=types, u_elongation=0.0002)
    with_fleet = trend_snapshot(bench, chain.vehicle_id, chain.id)
    assert with_fleet.basis is Basis.FLEET
    assert with_fleet.similar_parts == 6
    # The others reach 1 % near 6800 km: the expectation moves there and grows narrower.
    assert abs(with_fleet.limit_use[MEDIAN] - 6800) < abs(alone.limit_use[MEDIAN] - 6800)
    width_alone = alone.limit_use[5] / alone.limit_use[1]
    assert with_fleet.limit_use[5] / with_fleet.limit_use[1] < width_alone


def test_a_questioned_high_reading_makes_the_date_cautious_until_it_is_looked_at(bench):
    chain = add_motorcycle(bench, readings=[(120, 0.0090)], km_on_chain=400.0, u_elongation=0.0002)
    (line,) = lines_of(bench, Action.REPLACE, chain.id)
    assert line.reason.cause is DueCause.QUESTIONED_READING
    assert line.reason.questioned_on is not None
    (again,) = lines_of(bench, Action.MEASURE, chain.id)
    assert again.due_on == TODAY
    assert again.reason.cause is DueCause.QUESTIONED_READING


def test_lubrication_comes_round_by_distance_from_the_last_time(bench):
    chain = add_motorcycle(bench, readings=STEADY)
    done = TaskDone(task=Task.LUBRICATED, stage_id=chain.stage_id)
    write(
        bench,
        Visit(
            vehicle_id=chain.vehicle_id,
            on=TODAY - timedelta(days=5),
            total_use=4900.0,
            by="Tilda",
            tasks=(done,),
        ),
    )
    (line,) = lines_of(bench, Action.TASK, task=Task.LUBRICATED)
    # Default for motorcycles: every 400 km (400 to 500 km dry: locomotion-en-fete.com).
    assert line.likely_use == pytest.approx(5300.0)
    assert (line.due_on - TODAY).days == pytest.approx(300.0 / KM_A_DAY, abs=4)


def test_days_or_distance_whichever_comes_first(bench):
    chain = add_motorcycle(bench, readings=STEADY)
    write(
        bench,
        IntervalRule(
            task=Task.CLEANED, every_km=100_000.0, every_days=10, vehicle_id=chain.vehicle_id, source="own"
        ),
        Visit(
            vehicle_id=chain.vehicle_id,
            on=TODAY - timedelta(days=4),
            total_use=4920.0,
            by="Tilda",
            tasks=(TaskDone(task=Task.CLEANED, stage_id=chain.stage_id),),
        ),
    )
    (line,) = lines_of(bench, Action.TASK, task=Task.CLEANED)
    assert line.due_on == TODAY + timedelta(days=6)


def test_a_new_chain_is_rechecked_after_bedding_in(bench):
    chain = add_motorcycle(bench, km_on_chain=60.0)
    lines = lines_of(bench, Action.RECHECK, chain.id)
    assert {line.task for line in lines} == {Task.TORQUE_CHECKED, Task.TENSION_SET}
    slack = next(line for line in lines if line.task is Task.TENSION_SET)
    # 100 to 300 km: common practice, no source; the default is 200 km.
    assert slack.likely_use == pytest.approx(1200.0)


def test_a_recheck_done_is_asked_no_more(bench):
    chain = add_motorcycle(bench, km_on_chain=260.0)
    tasks = tuple(TaskDone(task=t, stage_id=chain.stage_id) for t in (Task.TENSION_SET, Task.TORQUE_CHECKED))
    write(bench, Visit(vehicle_id=chain.vehicle_id, on=TODAY, total_use=1220.0, by="Tilda", tasks=tasks))
    assert not lines_of(bench, Action.RECHECK, chain.id)


def test_slack_grows_with_elongation_until_it_must_be_taken_up(bench):
    chain = add_motorcycle(bench, readings=STEADY, u_elongation=0.0002)
    write(
        bench,
        Reading(
            vehicle_id=chain.vehicle_id,
            stage_id=chain.stage_id,
            installation_id=None,
            visit_id=None,
            on=TODAY,
            total_use=5000.0,
            measurand=Measurand.SLACK,
            method=Method.DIRECT,
            spots=(Spot(typed="30 mm", value=30.0),),
            value=30.0,
            u_value=2.0,
            definition="lower run, total, on the stand",
        ),
    )
    line = next(n for n in lines_of(bench, Action.ADJUST) if n.measurand is Measurand.SLACK)
    # From 30 to 45 mm of total movement on this span, by the exact triangle; elongation grows by 0.14 % of
    # the 116 x 12.7 mm loop per 1000 km.
    free = span(556.0, 12.7, 14, 42)
    grown = excess_length_for_total_movement(45.0, free) - excess_length_for_total_movement(30.0, free)
    km = grown / (116 * 12.7 * 0.0014 / 1000.0)
    assert line.likely_use - 5000.0 == pytest.approx(km, rel=0.15)


def test_a_condition_grade_of_three_replaces_at_once(bench):
    chain = add_motorcycle(bench, readings=STEADY)
    with bench.database.reading() as records:
        driven = records.first(Installation, vehicle_id=chain.vehicle_id, position=Position.DRIVEN)
    write(
        bench,
        Reading(
            vehicle_id=chain.vehicle_id,
            stage_id=chain.stage_id,
            installation_id=driven.id,
            visit_id=None,
            on=TODAY,
            total_use=5000.0,
            measurand=Measurand.SPROCKET_CONDITION,
            method=Method.GRADE,
            spots=(Spot(typed="3", value=3.0),),
            value=3.0,
        ),
    )
    line = next(n for n in lines_of(bench, Action.REPLACE, driven.id))
    assert line.reason.cause is DueCause.CONDITION_GRADE
    assert line.due_on == TODAY
    assert fleet_snapshot(bench).rows[0].state is State.PAST_LIMIT


def test_lines_close_together_make_one_visit(bench):
    add_motorcycle(bench, readings=STEADY)
    snapshot = due_snapshot(bench, 3000)
    for group in snapshot.groups:
        assert len({line.vehicle_id for line in group.lines}) == 1
        late = max(max(line.due_on, TODAY) for line in group.lines)
        assert (late - group.on).days <= snapshot.window_days
    assert sum(len(group.lines) for group in snapshot.groups) == len(snapshot.lines)


def test_lines_come_sorted_by_date_and_end_at_the_horizon(bench):
    add_motorcycle(bench, readings=STEADY)
    lines = due_snapshot(bench, 60).lines
    assert [line.due_on for line in lines] == sorted(line.due_on for line in lines)
    assert all(line.due_on <= TODAY + timedelta(days=60) for line in lines)


def test_a_retired_vehicle_is_due_for_nothing(bench):
    chain = add_motorcycle(bench, readings=STEADY)
    with bench.database.writing(by="Tilda", at=bench.now(), what="retire") as records:
        records.replace(replace(records.get(Vehicle, chain.vehicle_id), retired_on=TODAY))
    assert not due_snapshot(bench, 3000).lines
    assert fleet_snapshot(bench).rows[0].is_retired


def test_a_vehicle_standing_still_is_due_later_than_one_in_use(bench):
    from tests.workshop.test_entering_a_service import known_types
    from wearlog.fleet.meter import MeterEntry

    busy = add_motorcycle(bench, "LR-001", STEADY)
    idle = add_motorcycle(bench, "LR-002", STEADY, types=known_types(bench))
    with bench.database.writing(by="Tilda", at=bench.now(), what="stood") as records:
        for entry in records.all(MeterEntry, vehicle_id=idle.vehicle_id):
            if entry.value > 4600.0:
                records.replace(replace(entry, on=entry.on - timedelta(days=1)))
        records.add(MeterEntry(vehicle_id=idle.vehicle_id, on=TODAY, value=5000.0))
        records.add(MeterEntry(vehicle_id=busy.vehicle_id, on=TODAY, value=5000.0))
    lines = {
        n.vehicle_id: n for n in lines_of(bench, Action.REPLACE) if n.measurand is Measurand.CHAIN_ELONGATION
    }
    assert lines[busy.vehicle_id].likely_on <= lines[idle.vehicle_id].likely_on


def test_an_empty_fleet_has_an_empty_list(bench):
    snapshot = due_snapshot(bench)
    assert not snapshot.lines
    assert not snapshot.groups
    assert not fleet_snapshot(bench).rows


def adjuster_at(bench, chain, position_mm, range_mm=20.0):
    with bench.database.writing(by="Tilda", at=bench.now(), what="adjuster") as records:
        stage = records.get(Stage, chain.stage_id)
        records.replace(replace(stage, adjuster_range_mm=range_mm))
    write(
        bench,
        Reading(
            vehicle_id=chain.vehicle_id,
            stage_id=chain.stage_id,
            installation_id=None,
            visit_id=None,
            on=TODAY,
            total_use=5000.0,
            measurand=Measurand.ADJUSTER_POSITION,
            method=Method.DIRECT,
            spots=(Spot(typed=f"{position_mm} mm", value=position_mm),),
            value=position_mm,
            u_value=0.5,
        ),
    )


def test_a_short_adjuster_ends_before_the_chain_is_worn(bench):
    chain = add_motorcycle(bench, readings=STEADY, u_elongation=0.0002)
    adjuster_at(bench, chain, 19.0)
    line = next(n for n in lines_of(bench, Action.ADJUST) if n.measurand is Measurand.ADJUSTER_POSITION)
    # 7.404 mm of axle travel for 1 % on this drive (exact geometry, the chain not climbing): 1 mm is 0.135 %,
    # and that comes after 0.135 / 0.14 of 1000 km; the slower engineering prior pulls one chain by a tenth.
    assert line.likely_use - 5000.0 == pytest.approx(1000.0 * (1.0 / 7.404) / 0.14, rel=0.15)
    assert line.reason.cause is DueCause.ADJUSTER_FORECAST
    # 12.77 mm of axle travel for two links of 12.7 mm on this drive (exact geometry).
    assert "two links" in line.reason.advice
    assert "never mends a worn chain" in line.reason.advice


def test_an_adjuster_that_outlasts_the_chain_is_nobodys_worry(bench):
    chain = add_motorcycle(bench, readings=STEADY, u_elongation=0.0002)
    adjuster_at(bench, chain, 2.0)
    assert not [n for n in lines_of(bench, Action.ADJUST) if n.measurand is Measurand.ADJUSTER_POSITION]


def tooth_reading(bench, chain, position, thickness_mm):
    with bench.database.reading() as records:
        wheel = records.first(Installation, vehicle_id=chain.vehicle_id, position=position)
    write(
        bench,
        Reading(
            vehicle_id=chain.vehicle_id,
            stage_id=chain.stage_id,
            installation_id=wheel.id,
            visit_id=None,
            on=TODAY,
            total_use=5000.0,
            measurand=Measurand.SPROCKET_TOOTH_THICKNESS,
            method=Method.DIRECT,
            spots=(Spot(typed=f"{thickness_mm} mm", value=thickness_mm),),
            value=thickness_mm,
            u_value=0.05,
        ),
    )
    return wheel


def test_a_worn_sprocket_goes_with_the_chain_as_a_set(bench):
    chain = add_motorcycle(bench, readings=STEADY)
    # 428 teeth are 12.7 - 8.51 = 4.19 mm thick when new; a third may go when driven both ways (Tsubaki, Drive
    # Chains catalogue, Table 8), so 2.9 mm is nearly the end.
    tooth_reading(bench, chain, Position.DRIVER, 2.9)
    (line,) = lines_of(bench, Action.REPLACE, chain.id)
    assert "as a set" in line.reason.advice


def test_sprockets_never_looked_at_are_looked_at_before_a_new_chain_goes_on(bench):
    chain = add_motorcycle(bench, readings=STEADY)
    (line,) = lines_of(bench, Action.REPLACE, chain.id)
    assert "Inspect the teeth" in line.reason.advice


def test_good_sprockets_may_stay(bench):
    chain = add_motorcycle(bench, readings=STEADY)
    tooth_reading(bench, chain, Position.DRIVER, 4.1)
    tooth_reading(bench, chain, Position.DRIVEN, 4.1)
    (line,) = lines_of(bench, Action.REPLACE, chain.id)
    assert not line.reason.advice


def test_past_the_stop_use_limit_the_advice_is_not_to_ride(bench):
    worn = [(1000, 0.0060), (2000, 0.0120), (3000, 0.0180), (3900, 0.0235)]
    chain = add_motorcycle(bench, readings=worn, u_elongation=0.0002)
    (line,) = lines_of(bench, Action.REPLACE, chain.id)
    assert "not" in line.reason.advice.casefold()
    assert "set" not in line.reason.advice.split()
