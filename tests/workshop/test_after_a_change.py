"""After any change the program knows what it would know if it were started anew."""

import random
from dataclasses import fields, is_dataclass, replace
from datetime import timedelta

import numpy as np
import pytest

from tests.makers.bench import SAMPLE_DAY
from tests.makers.big_fleet import big_bench
from wearlog.fleet.fitting import Installation, RemovalReason
from wearlog.fleet.limit import Limit
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.parts import Part
from wearlog.fleet.reading import Measurand, Method, Reading
from wearlog.fleet.service import Task, TaskDone, Visit
from wearlog.fleet.spells import LayUp
from wearlog.workshop import due, due_kept, learn, outlook_some
from wearlog.workshop.bench import Bench, FixedClock
from wearlog.workshop.due import all_lines, due_snapshot
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.judge import fleet_snapshot
from wearlog.workshop.learn import learned


@pytest.fixture(scope="module")
def big(tmp_path_factory):
    """A bench on 120 invented vehicles."""
    made = big_bench(tmp_path_factory.mktemp("big") / "big.sqlite", 120, seed=5)
    yield made
    made.database.close()


@pytest.fixture
def fresh(tmp_path):
    """A bench on 120 invented vehicles of which everything was just learnt."""
    made = big_bench(tmp_path / "big.sqlite", 120, seed=6)
    due_snapshot(made)
    yield made
    made.database.close()


def chance_of(seed):
    return random.Random(seed)  # noqa: S311 - invented changes


def alike(one, other, path=""):
    """Say where two snapshots differ; sums over other company may round otherwise in the last places."""
    if is_dataclass(one) and type(one) is type(other):
        for field in fields(one):
            yield from alike(getattr(one, field.name), getattr(other, field.name), f"{path}.{field.name}")
    elif isinstance(one, tuple) and isinstance(other, tuple) and len(one) == len(other):
        for n, (left, right) in enumerate(zip(one, other, strict=True)):
            yield from alike(left, right, f"{path}[{n}]")
    elif isinstance(one, float) and isinstance(other, float):
        if not np.isclose(one, other, rtol=1e-7, atol=1e-9):
            yield path, one, other
    elif one != other:
        yield path, one, other


def by_key(snapshot):
    return {(line.key, line.reason.cause): line for line in snapshot.lines}


def assert_same_list(one, other):
    mine, theirs = by_key(one), by_key(other)
    assert mine.keys() == theirs.keys()
    assert not [far for key, line in mine.items() for far in alike(line, theirs[key])]
    assert not list(alike(tuple(one.groups), tuple(other.groups)))


def assert_as_if_anew(bench):
    anew = Bench(bench.database, bench.by, bench.clock)
    assert_same_list(due_snapshot(bench), due_snapshot(anew))
    assert not list(alike(fleet_snapshot(bench), fleet_snapshot(anew)))


def write(bench, *new, changed=(), voided=()):
    with bench.database.writing(by="Tilda", at=bench.now(), what="change") as records:
        for record in new:
            records.add(record)
        for record in changed:
            records.replace(record)
        for record in voided:
            records.void(record, "typing slip")


def vehicle_and_run(bench, chance):
    """Pick a vehicle in use with the chain of its last stage."""
    state = fleet_state(bench)
    vehicle = chance.choice([one for one in state.vehicles.values() if one.retired_on is None])
    stage = state.stages_of[vehicle.id][-1]
    return state, vehicle, stage, state.current_on(stage.id)[0]


def measure(bench, chance):
    state, vehicle, stage, run = vehicle_and_run(bench, chance)
    use = state.histories[vehicle.id].last.total_use + 3.0
    entry = MeterEntry(vehicle_id=vehicle.id, on=SAMPLE_DAY, value=use)
    visit = Visit(
        vehicle_id=vehicle.id,
        on=SAMPLE_DAY,
        total_use=use,
        tasks=(TaskDone(task=Task.LUBRICATED, stage_id=stage.id),),
    )
    reading = Reading(
        vehicle_id=vehicle.id,
        stage_id=stage.id,
        installation_id=run.id,
        visit_id=None,
        on=SAMPLE_DAY,
        total_use=use,
        measurand=Measurand.CHAIN_ELONGATION,
        method=Method.OVER_ROLLERS,
        value=chance.uniform(0.002, 0.009),
        u_value=0.0003,
    )
    write(bench, entry, visit, reading)


def void_a_reading(bench, chance):
    _state, vehicle, _stage, _run = vehicle_and_run(bench, chance)
    with bench.database.reading() as records:
        readings = records.all(Reading, live=True, vehicle_id=vehicle.id)
    write(bench, voided=[chance.choice(readings)])


def fit_a_new_chain(bench, chance):
    state, vehicle, stage, run = vehicle_and_run(bench, chance)
    use = state.histories[vehicle.id].last.total_use
    with bench.database.writing(by="Tilda", at=bench.now(), what="chain") as records:
        gone = replace(run, removed_on=SAMPLE_DAY, removed_use=use, removal_reason=RemovalReason.WORN)
        records.replace(gone)
        part = records.add(Part(part_type_id=state.parts[run.part_id].part_type_id))
        new = Installation(
            part_id=part.id,
            vehicle_id=vehicle.id,
            stage_id=stage.id,
            position=run.position,
            fitted_on=SAMPLE_DAY,
            fitted_use=use,
        )
        records.add(new)


def tension_a_belt(bench, chance):
    state = fleet_state(bench)
    vehicle = chance.choice([v for v in state.vehicles.values() if len(state.stages_of[v.id]) == 2])
    use = state.histories[vehicle.id].last.total_use
    done = TaskDone(task=Task.TENSION_SET, stage_id=state.stages_of[vehicle.id][0].id)
    write(bench, Visit(vehicle_id=vehicle.id, on=SAMPLE_DAY, total_use=use - 1.0, tasks=(done,)))


def retire(bench, chance):
    _state, vehicle, _stage, _run = vehicle_and_run(bench, chance)
    write(bench, changed=[replace(vehicle, retired_on=SAMPLE_DAY)])


def lay_up(bench, chance):
    _state, vehicle, _stage, _run = vehicle_and_run(bench, chance)
    write(bench, LayUp(vehicle_id=vehicle.id, from_on=SAMPLE_DAY - timedelta(days=40), until_on=SAMPLE_DAY))


def agree_on_a_limit(bench, chance):
    _state, vehicle, stage, run = vehicle_and_run(bench, chance)
    state = fleet_state(bench)
    part_type = state.part_type_of(run)
    limit = Limit(
        measurand=Measurand.CHAIN_ELONGATION,
        wear_class=part_type.wear_class,
        service_limit=0.008,
        vehicle_id=vehicle.id,
        stage_name=stage.name,
        source="vehicle maker's manual",
    )
    write(bench, limit)


CHANGES = (measure, void_a_reading, fit_a_new_chain, tension_a_belt, retire, lay_up, agree_on_a_limit)


@pytest.mark.parametrize("change", CHANGES, ids=lambda change: change.__name__)
def test_one_change_leads_where_a_new_start_would(big, change):
    due_snapshot(big)
    change(big, chance_of(change.__name__))
    assert_as_if_anew(big)


def test_many_changes_lead_where_a_new_start_would(big):
    chance = chance_of(11)
    due_snapshot(big)
    for _n in range(12):
        chance.choice(CHANGES)(big, chance)
        due_snapshot(big)
    assert_as_if_anew(big)


def test_a_saved_reading_leaves_the_fits_of_the_fleet_alone(fresh):
    before = learned(fresh)
    measure(fresh, chance_of(3))
    after = learned(fresh)
    kept = {key: family.kept for key, family in before.families.items()}
    assert all(family.kept is kept[key] for key, family in after.families.items())


def test_lines_of_other_vehicles_stay_as_they_are(fresh):
    before = {line.key: line for line in due_snapshot(fresh).lines}
    version = fleet_state(fresh).data_version
    measure(fresh, chance_of(4))
    after = due_snapshot(fresh).lines
    (changed,) = fleet_state(fresh).changed_since(version)
    others = [line for line in after if line.vehicle_id != changed]
    assert others
    assert all(before[line.key] is line for line in others)


def test_a_change_at_another_seat_is_found_by_the_trail(big):
    due_snapshot(big)
    version = fleet_state(big).data_version
    other_seat = Bench(big.database, "Corbin", big.clock)
    measure(other_seat, chance_of(8))
    assert len(fleet_state(big).changed_since(version)) == 1
    assert_as_if_anew(big)


@pytest.fixture
def kept(big, monkeypatch):
    """The bench on 120 vehicles, its due list kept; what it is kept for is a larger fleet."""
    monkeypatch.setattr(due_kept, "LEAST_KEPT", 1)
    # Of a small fleet one reading is a large share: here fits hold all the same.
    monkeypatch.setattr(learn, "REFIT_SHARE", 1.0)
    monkeypatch.setattr(outlook_some, "still_holds", lambda *_all: True)
    due_snapshot(Bench(big.database, big.by, FixedClock(SAMPLE_DAY + timedelta(days=400))))
    due_snapshot(Bench(big.database, big.by, big.clock))
    return big


def list_anew(bench, monkeypatch):
    """Return the due list worked out from nothing but the fits."""
    with monkeypatch.context() as without:
        without.setattr(due, "kept_lines", lambda *_all: None)
        without.setattr(due_kept, "LEAST_KEPT", 10**9)
        return due_snapshot(Bench(bench.database, bench.by, bench.clock))


def test_a_kept_due_list_is_the_one_worked_out_from_nothing(kept, monkeypatch):
    again = Bench(kept.database, kept.by, kept.clock)
    assert_same_list(due_snapshot(again), list_anew(kept, monkeypatch))
    assert "learned" not in again.remembered


@pytest.mark.parametrize("change", CHANGES, ids=lambda change: change.__name__)
def test_a_kept_due_list_minds_what_changed_since(kept, monkeypatch, change):
    change(kept, chance_of(change.__name__))
    again = Bench(kept.database, kept.by, kept.clock)
    told = due_snapshot(again)
    assert ("learned" in again.remembered) == (change is agree_on_a_limit)
    assert_same_list(told, list_anew(kept, monkeypatch))


def test_a_program_that_began_with_a_kept_list_follows_further_changes(kept, monkeypatch):
    again, chance = Bench(kept.database, kept.by, kept.clock), chance_of(21)
    due_snapshot(again)
    for change in (measure, fit_a_new_chain, measure, lay_up):
        change(kept, chance)
        due_snapshot(again)
    assert "learned" not in again.remembered
    assert_same_list(due_snapshot(again), list_anew(kept, monkeypatch))
    # The fleet list has all parts looked at, and the next change goes by that.
    fleet_snapshot(again)
    measure(kept, chance)
    assert_same_list(due_snapshot(again), list_anew(kept, monkeypatch))


def test_a_kept_due_list_is_of_its_day_only(kept, monkeypatch):
    tomorrow = Bench(kept.database, kept.by, FixedClock(SAMPLE_DAY + timedelta(days=1)))
    told = due_snapshot(tomorrow)
    assert "learned" in tomorrow.remembered
    assert_same_list(told, list_anew(tomorrow, monkeypatch))


def test_lines_and_visits_of_the_list_are_the_same_records(fresh):
    snapshot = due_snapshot(fresh, 56)
    inside = {id(line) for group in snapshot.groups for line in group.lines}
    assert inside == {id(line) for line in snapshot.lines}
    assert list(snapshot.lines) == [line for line in all_lines(fresh) if line in snapshot.lines[:]]
    assert snapshot.lines[-1] is list(snapshot.lines)[-1]
    assert [group.on for group in snapshot.groups] == sorted(group.on for group in snapshot.groups)
