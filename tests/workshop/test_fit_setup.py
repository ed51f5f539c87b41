"""A plan that is fitted: what closes, what opens, what comes due, what is refused, and the way back."""

from dataclasses import replace
from datetime import timedelta

import pytest

from tests.makers.bench import TODAY
from tests.makers.setup import FRONT_MM, add_belt_motorcycle
from wearlog.fleet.fitting import Installation, Position, RemovalReason
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.parts import DriveKind, PartKind, PartType, WearClass
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.service import Task, Visit
from wearlog.fleet.vehicle import Stage
from wearlog.workshop.compare_part_types import add_part_type
from wearlog.workshop.compare_setups import draft_of, setup_snapshot
from wearlog.workshop.compare_snapshot import PlanField
from wearlog.workshop.due import due_snapshot
from wearlog.workshop.due_snapshot import Action
from wearlog.workshop.fit_setup import Fitting, fit_setup
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.undo import undo

METER = 4050.0


@pytest.fixture
def made(bench):
    return add_belt_motorcycle(bench)


@pytest.fixture
def to_chain(bench, made):
    snapshot = setup_snapshot(bench, made.vehicle.id)
    run = next(
        choice.part_type
        for choice in snapshot.choices
        if choice.part_type.designation == "08B"
        and choice.part_type.wear_class is WearClass.PRIMARY_ROLLER_CHAIN
    )
    return replace(
        draft_of(snapshot, made.primary.id),
        drive=DriveKind.CHAIN,
        run=run,
        pitches=70,
        driver_teeth=17,
        driven_teeth=44,
    )


def fitted_now(bench, stage_id):
    state = fleet_state(bench)
    return {i.position: i for i in state.current_on(stage_id)}


def everything(bench):
    with bench.database.reading() as records:
        return {
            kind.__name__: records.all(kind, live=kind is not Stage)
            for kind in (Installation, MeterEntry, Stage, Visit)
        }


def test_old_parts_close_with_the_reason_and_new_ones_open(bench, made, to_chain):
    before = fitted_now(bench, made.primary.id)
    fit_setup(bench, to_chain, TODAY, METER, "Ines")
    after = fitted_now(bench, made.primary.id)
    state = fleet_state(bench)
    assert {state.part_type_of(i).kind for i in after.values()} == {PartKind.CHAIN, PartKind.SPROCKET}
    assert after[Position.RUN].links == 70
    assert {state.part_type_of(after[p]).teeth for p in (Position.DRIVER, Position.DRIVEN)} == {17, 44}
    for installation in before.values():
        closed = state.installations[installation.id]
        assert (closed.removed_on, closed.removed_use) == (TODAY, METER)
        assert closed.removal_reason is RemovalReason.CONVERSION


def test_the_stage_is_a_chain_stage_from_then_on(bench, made, to_chain):
    fit_setup(bench, replace(to_chain, centre_distance_mm=FRONT_MM + 1.0), TODAY, METER)
    stage = fleet_state(bench).stages[made.primary.id]
    assert stage.drive is DriveKind.CHAIN
    assert stage.centre_distance_mm == FRONT_MM + 1.0
    # The span was measured on the belt; nobody has measured the chain's.
    assert stage.span_mm is None
    assert stage.slack_definition


def test_visit_and_meter_say_what_was_done(bench, made, to_chain):
    fit_setup(bench, to_chain, TODAY, METER, "Ines", Fitting(meter_text="4050", set_to=10.0, notes="quiet"))
    visit = fleet_state(bench).visits_of[made.vehicle.id][-1]
    assert (visit.by, visit.total_use, visit.notes) == ("Ines", METER, "quiet")
    tasks = [done.task for done in visit.tasks]
    assert tasks.count(Task.PART_REMOVED) == tasks.count(Task.PART_FITTED) == 3
    set_to = next(done for done in visit.tasks if done.task is Task.TENSION_SET)
    assert (set_to.after, set_to.quantity_unit) == (10.0, "mm")
    entry = next(e for e in fleet_state(bench).meter_entries if e.value == METER)
    assert (entry.typed, entry.visit_id) == ("4050", visit.id)


def test_the_re_checks_after_fitting_are_due_by_themselves(bench, made, to_chain):
    fit_setup(bench, to_chain, TODAY, METER, fitting=Fitting(set_to=10.0))
    lines = [
        line
        for line in due_snapshot(bench, 3000).lines
        if line.stage_id == made.primary.id and line.action is Action.RECHECK
    ]
    assert {line.task for line in lines} == {Task.TORQUE_CHECKED, Task.TENSION_SET}
    assert all(line.due_on >= TODAY for line in lines)
    care = {line.task for line in due_snapshot(bench, 3000).lines if line.stage_id == made.primary.id}
    assert Task.LUBRICATED in care


def test_the_trail_holds_all_of_it_under_one_number(bench, made, to_chain):
    changes = fit_setup(bench, to_chain, TODAY, METER, "Ines")
    with bench.database.reading() as records:
        trail = records.audit(change_id=changes.change_id)
    assert {entry.by for entry in trail} == {"Ines"}
    kinds = [entry.record for entry in trail]
    assert kinds.count("Installation") == 6
    assert {"Visit", "MeterEntry", "Stage", "Part", "PartType"} <= set(kinds)
    assert changes.vehicle_ids == {made.vehicle.id}
    assert len(changes.installation_ids) == 6


def test_a_fitting_is_taken_back_as_a_whole(bench, made, to_chain):
    before = everything(bench)
    undo(bench, fit_setup(bench, to_chain, TODAY, METER))
    after = everything(bench)

    def plain(records):
        return [replace(record, version=0) for record in records]

    assert {kind: plain(kept) for kind, kept in after.items()} == {
        kind: plain(kept) for kind, kept in before.items()
    }
    assert fleet_state(bench).stages[made.primary.id].drive is DriveKind.BELT


def test_links_that_come_out_leave_the_chain_where_it_is(bench, made):
    draft = draft_of(setup_snapshot(bench, made.vehicle.id), made.final.id)
    chain = fitted_now(bench, made.final.id)[Position.RUN]
    # Two links out bring the axle some 13 mm forward: the front end is entered anew.
    fit_setup(bench, replace(draft, pitches=116, centre_distance_mm=530.0), TODAY, METER)
    kept = fitted_now(bench, made.final.id)[Position.RUN]
    assert (kept.id, kept.links) == (chain.id, 116)
    visit = fleet_state(bench).visits_of[made.vehicle.id][-1]
    (out,) = visit.tasks
    assert (out.task, out.note) == (Task.LINKS_REMOVED, "from 118 to 116 links")


def test_only_what_is_worn_is_renewed_with_its_own_reason(bench, made):
    draft = draft_of(setup_snapshot(bench, made.vehicle.id), made.final.id)
    before = fitted_now(bench, made.final.id)
    worn = Fitting(reason=RemovalReason.WORN)
    fit_setup(bench, replace(draft, renewed=frozenset({Position.RUN})), TODAY, METER, fitting=worn)
    after = fitted_now(bench, made.final.id)
    assert after[Position.DRIVER].id == before[Position.DRIVER].id
    assert fleet_state(bench).installations[before[Position.RUN].id].removal_reason is RemovalReason.WORN
    # A chain of the same kind and length is of the type that is known already.
    types = {fleet_state(bench).part_type_of(one[Position.RUN]).id for one in (before, after)}
    assert len(types) == 1


def test_a_type_of_the_standard_is_made_once_and_used_again(bench, made, to_chain):
    fit_setup(bench, to_chain, TODAY, METER)
    known = len(fleet_state(bench).part_types)
    second = add_belt_motorcycle_again(bench)
    fit_setup(bench, replace(to_chain, vehicle_id=second[0], stage_id=second[1]), TODAY, METER)
    # The second vehicle brings its own six types; the conversion none.
    assert len(fleet_state(bench).part_types) == known


def add_belt_motorcycle_again(bench):
    """Move the belt primary's kind of vehicle in once more, with the part types that are there."""
    state = fleet_state(bench)
    first = state.vehicle_tagged("LR-031")
    with bench.database.writing(by="Tilda", at=bench.now(), what="second") as records:
        vehicle = records.add(replace(first, id=0, version=0, tag="LR-032"))
        stage = records.add(
            replace(
                next(s for s in state.stages_of[first.id] if s.order == 1),
                id=0,
                version=0,
                vehicle_id=vehicle.id,
                drive=DriveKind.BELT,
            )
        )
        records.add(MeterEntry(vehicle_id=vehicle.id, on=TODAY - timedelta(days=30), value=3000.0))
        for old in state.installations.values():
            if old.stage_id == state.stages_of[first.id][0].id and old.removed_on is not None:
                part = records.add(replace(state.parts[old.part_id], id=0, version=0))
                records.add(
                    replace(
                        old,
                        id=0,
                        version=0,
                        part_id=part.id,
                        vehicle_id=vehicle.id,
                        stage_id=stage.id,
                        fitted_use=1000.0,
                        removed_on=None,
                        removed_use=None,
                        removal_reason=None,
                    )
                )
    return vehicle.id, stage.id


# --- what is refused


def test_all_that_is_wrong_is_told_at_once_and_nothing_is_saved(bench, made, to_chain):
    before = everything(bench)
    wrong = replace(to_chain, pitches=None, driver_teeth=0)
    with pytest.raises(WearlogError) as refused:
        fit_setup(bench, wrong, TODAY + timedelta(days=3), None, fitting=Fitting(set_to=-4.0))
    said = " ".join(str(problem) for problem in refused.value.problems)
    for part in ("0 teeth", "lies ahead", "meter value is missing", "slack cannot be negative"):
        assert part in said
    assert everything(bench) == before


def test_a_plan_without_a_length_is_not_fitted(bench, to_chain):
    with pytest.raises(WearlogError) as refused:
        fit_setup(bench, replace(to_chain, pitches=None), TODAY, METER)
    assert [problem.where for problem in refused.value.problems] == [PlanField.PITCHES]


def test_a_chain_that_does_not_close_is_not_fitted(bench, to_chain):
    with pytest.raises(WearlogError) as refused:
        fit_setup(bench, replace(to_chain, pitches=60), TODAY, METER)
    assert "60 links are too short" in refused.value.problems[0].what


def test_what_is_fitted_already_is_not_fitted_again(bench, made):
    draft = draft_of(setup_snapshot(bench, made.vehicle.id), made.primary.id)
    with pytest.raises(WearlogError, match="what is fitted now"):
        fit_setup(bench, draft, TODAY, METER)


def test_a_meter_that_runs_backwards_is_questioned_with_offers(bench, to_chain):
    with pytest.raises(WearlogError) as refused:
        fit_setup(bench, to_chain, TODAY, 12.0)
    assert "meter replaced" in {offer.action for offer in refused.value.problems[0].offers}


def test_nothing_comes_off_before_it_came_on(bench, made, to_chain):
    fit_setup(bench, to_chain, TODAY, METER)
    snapshot = setup_snapshot(bench, made.vehicle.id)
    early = replace(draft_of(snapshot, made.primary.id), renewed=frozenset({Position.RUN}))
    with pytest.raises(WearlogError) as refused:
        fit_setup(bench, early, TODAY - timedelta(days=1), 3990.0)
    assert any("came on only" in problem.what for problem in refused.value.problems)


# --- types of one's own


def own_chain(**other):
    wanted = {
        "kind": PartKind.CHAIN,
        "name": "Workshop 428 reinforced",
        "designation": "428R",
        "wear_class": WearClass.OPEN_MOTORCYCLE_CHAIN,
        "pitch_mm": 12.7,
        "roller_diameter_mm": 8.51,
        "links": 120,
        "lead_time_days": 5,
        "price": 41.0,
    }
    return PartType(**{**wanted, **other})


def test_a_type_of_ones_own_can_be_chosen_at_once(bench, made):
    changes = add_part_type(bench, own_chain())
    assert not changes.can_undo
    choices = setup_snapshot(bench, made.vehicle.id).choices
    mine = next(choice for choice in choices if choice.part_type.designation == "428R")
    assert mine.is_own
    assert mine.part_type.source == "entered in the workshop"


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"name": " "}, "name"),
        ({"designation": ""}, "designation"),
        ({"pitch_mm": 0.0}, "pitch_mm"),
        ({"roller_diameter_mm": 13.0}, "roller_diameter_mm"),
        ({"links": -2}, "links"),
        ({"wear_class": WearClass.PULLEY}, "wear_class"),
        ({"lead_time_days": -1}, "lead_time_days"),
        ({"price": -1.0}, "price"),
        ({"kind": PartKind.SPROCKET, "wear_class": WearClass.SPROCKET}, "teeth"),
        ({"kind": PartKind.SPROCKET, "wear_class": WearClass.SPROCKET, "teeth": 2}, "teeth"),
    ],
)
def test_a_type_that_cannot_be_is_refused_at_its_field(bench, change, field):
    with pytest.raises(WearlogError) as refused:
        add_part_type(bench, own_chain(**change))
    assert field in {problem.where for problem in refused.value.problems}


def test_a_name_that_is_taken_is_refused(bench):
    add_part_type(bench, own_chain())
    with pytest.raises(WearlogError, match="another part type"):
        add_part_type(bench, own_chain())
