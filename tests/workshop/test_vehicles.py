"""Vehicles as a workshop keeps them: added after a template, set right, retired, on another duty, laid up."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from tests.makers.bench import TODAY, add_motorcycle, empty_bench
from wearlog.fleet.audit import AuditEntry
from wearlog.fleet.fitting import Installation, Position, RemovalReason
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.parts import DriveKind, Part, PartKind, PartType
from wearlog.fleet.problem import EditConflict, WearlogError
from wearlog.fleet.spells import DutySpell, LayUp
from wearlog.fleet.vehicle import Duty, MeterUnit, Stage, Vehicle, VehicleKind
from wearlog.workshop.ask import open_sheet
from wearlog.workshop.compare_setups import setup_snapshot
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.judge import fleet_directory, fleet_snapshot
from wearlog.workshop.undo import undo
from wearlog.workshop.vehicles import (
    bring_back,
    erase_contact,
    retire_vehicle,
    save_vehicle,
    vehicle_snapshot,
)
from wearlog.workshop.vehicles_draft import LayUpDraft, PartDraft, StageDraft, TakenOff, with_records
from wearlog.workshop.vehicles_templates import (
    draft_like,
    drop_template,
    keep_template,
    template_of,
    usual_templates,
)


@pytest.fixture
def bench(tmp_path):
    bench = empty_bench(tmp_path / "bench.sqlite", TODAY)
    yield bench
    bench.database.close()


def kept(bench, kind, **equal):
    with bench.database.reading() as records:
        return records.all(kind, **equal)


def new(bench, template="belt primary", **values):
    """A vehicle about to be added after a template."""
    snapshot = vehicle_snapshot(bench, None)
    one = next(t for t in snapshot.templates if template in {t.name, t.text})
    draft = draft_like(one, snapshot.choices, snapshot.draft)
    said = {"tag": "LR-050", "depot": "Upper Depot", "meter_value": 1200.0, "meter_text": "1200"}
    return replace(draft, **(said | values))


def added(bench, **values):
    """The number of a vehicle that was added."""
    (vehicle_id,) = save_vehicle(bench, new(bench, **values)).vehicle_ids
    return vehicle_id


def opened(bench, vehicle_id):
    return vehicle_snapshot(bench, vehicle_id).draft


def wrong(bench, draft):
    """The fields that keep a vehicle from being saved."""
    with pytest.raises(WearlogError) as raised:
        save_vehicle(bench, draft)
    return {problem.where for problem in raised.value.problems}


# -- templates ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "kind", "drives"),
    [
        ("belt primary", VehicleKind.ELECTRIC_MOTORCYCLE, ["belt", "chain"]),
        ("chain primary", VehicleKind.ELECTRIC_MOTORCYCLE, ["chain", "chain"]),
        ("petrol motorcycle", VehicleKind.PETROL_MOTORCYCLE, ["chain"]),
        ("moped", VehicleKind.MOPED, ["chain"]),
        ("cargo e-bike", VehicleKind.CARGO_EBIKE, ["chain"]),
        ("single chain", VehicleKind.BICYCLE, ["chain"]),
        ("hub gear chain", VehicleKind.BICYCLE, ["chain"]),
        ("hub gear belt", VehicleKind.BICYCLE, ["belt"]),
    ],
)
def test_a_usual_vehicle_joins_with_all_its_stages_and_parts(bench, name, kind, drives):
    vehicle_id = added(bench, template=name)
    state = fleet_state(bench)
    assert state.vehicles[vehicle_id].kind is kind
    stages = state.stages_of[vehicle_id]
    assert [stage.drive.value for stage in stages] == drives
    for stage in stages:
        fitted = state.current_on(stage.id)
        assert [one.position for one in fitted] == [Position.RUN, Position.DRIVER, Position.DRIVEN]
        run, driver, driven = (state.part_type_of(one) for one in fitted)
        assert run.source
        assert run.pitch_mm == driver.pitch_mm == driven.pitch_mm
        wheel = PartKind.SPROCKET if stage.drive is DriveKind.CHAIN else PartKind.PULLEY
        assert driver.kind is driven.kind is wheel
        assert all(one.fitted_use == 1200.0 for one in fitted)
        # An odd number of links would take a cranked one: common practice, no source.
        assert stage.drive is DriveKind.BELT or fitted[0].links % 2 == 0


def test_vehicles_of_one_sort_share_their_part_types(bench):
    added(bench)
    types = kept(bench, PartType)
    added(bench, tag="LR-051")
    assert kept(bench, PartType) == types


def test_the_workshops_own_template_carries_what_is_the_same_for_its_sort(bench):
    snapshot = vehicle_snapshot(bench, None)
    draft = new(bench, owner_contact="Aldwyn Pike", description="patrol e-moto", model="PM-C")
    stage = replace(draft.stages[1], centre_distance_mm=556.0).with_part(
        PartDraft(position=Position.DRIVEN, count=48)
    )
    keep_template(bench, draft.with_stage(stage), "Patrol, woods gearing")
    again = new(bench, "Patrol, woods gearing", tag="LR-051", meter_value=5.0)
    assert (again.description, again.model, again.owner_contact) == ("patrol e-moto", "PM-C", "")
    assert again.stages[1].centre_distance_mm == 556.0
    assert again.stages[1].part(Position.DRIVEN).count == 48
    (vehicle_id,) = save_vehicle(bench, again).vehicle_ids
    assert opened(bench, vehicle_id).stages[1].part(Position.DRIVEN).count == 48
    drop_template(bench, "own: Patrol, woods gearing")
    assert vehicle_snapshot(bench, None).templates == snapshot.templates == usual_templates()


def test_a_vehicle_serves_as_template_for_the_next(bench):
    vehicle_id = added(bench, template="moped")
    snapshot = vehicle_snapshot(bench, vehicle_id)
    like = draft_like(template_of(snapshot.draft, "LR-050"), snapshot.choices, new(bench, tag="LM-02"))
    assert [stage.stage for stage in like.stages] == [None]
    (second,) = save_vehicle(bench, like).vehicle_ids
    one, other = (opened(bench, number).stages[0] for number in (vehicle_id, second))
    assert [part.count for part in one.parts] == [part.count for part in other.parts]
    assert one.part(Position.RUN).fitted.part.id != other.part(Position.RUN).fitted.part.id


@pytest.mark.parametrize("name", ["", "  "])
def test_a_template_needs_a_name(bench, name):
    with pytest.raises(WearlogError, match="no name"):
        keep_template(bench, new(bench), name)


# -- adding ------------------------------------------------------------------------------------------------


def test_one_change_adds_it_and_undo_takes_all_of_it_back(bench):
    changes = save_vehicle(bench, new(bench))
    trail = kept(bench, AuditEntry)
    assert {entry.record for entry in trail if entry.change_id == changes.change_id} >= {
        "Vehicle",
        "MeterEntry",
        "Stage",
        "Part",
        "Installation",
    }
    undo(bench, changes)
    assert fleet_state(bench).vehicles == {}
    assert fleet_state(bench).stages == {}
    # The tag is free for the vehicle that it should have been.
    assert added(bench, meter_value=9.0)


def test_everything_that_is_missing_is_told_at_once_and_nothing_is_kept(bench):
    draft = new(bench, tag=" ", depot="", meter_value=None)
    stage = replace(draft.stages[1], name="primary drive").with_part(
        PartDraft(position=Position.DRIVEN, count=2)
    )
    draft = draft.with_stage(stage)
    key = stage.key
    assert wrong(bench, draft) == {"tag", "depot", "meter", f"{key}:name", f"{key}:driven:count"}
    assert kept(bench, Vehicle) == ()


@pytest.mark.parametrize("tag", ["LR-050", "lr-050 "])
def test_a_tag_that_is_taken_is_told_beside_the_tag(bench, tag):
    added(bench)
    assert wrong(bench, new(bench, tag=tag)) == {"tag"}


def test_parts_are_there_since_a_day_with_what_is_on_them(bench):
    """The chain came from another fleet with 3100 km on it; nobody knows how far the driven sprocket ran."""
    start = TODAY - timedelta(days=30)
    draft = new(bench, template="petrol motorcycle", meter_on=start)
    stage = draft.stages[0]
    chain = replace(stage.part(Position.RUN), fitted_on=start, use_before=3100.0, lot="26-C")
    driven = replace(stage.part(Position.DRIVEN), is_history_known=False)
    (vehicle_id,) = save_vehicle(
        bench, draft.with_stage(stage.with_part(chain).with_part(driven))
    ).vehicle_ids
    state = fleet_state(bench)
    run, _driver, wheel = state.current_on(state.stages_of[vehicle_id][0].id)
    assert (run.fitted_on, run.fitted_use) == (start, 1200.0)
    assert state.use_on_part(run, 1500.0) == 3100.0 + 300.0
    assert state.parts[run.part_id].lot == "26-C"
    assert not state.parts[wheel.part_id].is_history_known


def test_a_part_is_not_older_in_its_place_than_the_meter_is_known(bench):
    draft = new(bench, template="moped")
    stage = draft.stages[0]
    chain = replace(stage.part(Position.RUN), fitted_on=TODAY - timedelta(days=90))
    assert wrong(bench, draft.with_stage(stage.with_part(chain))) == {f"{stage.key}:run:fitted_on"}


def test_a_stage_can_join_without_its_parts(bench):
    draft = new(bench, template="moped")
    bare = StageDraft(key=draft.free_key, name="second drive", drive=DriveKind.CHAIN)
    (vehicle_id,) = save_vehicle(bench, draft.with_stage(bare)).vehicle_ids
    stages = fleet_state(bench).stages_of[vehicle_id]
    assert [stage.order for stage in stages] == [1, 2]
    assert fleet_state(bench).current_on(stages[1].id) == ()


# -- changing ----------------------------------------------------------------------------------------------


def test_what_was_entered_wrongly_is_set_right_in_its_place(bench):
    vehicle_id = added(bench)
    draft = opened(bench, vehicle_id)
    final = draft.stages[1]
    driven = replace(final.part(Position.DRIVEN), count=48, lot="B7")
    changed = replace(draft, depot="Harbour Depot").with_stage(
        replace(final, name="rear drive", centre_distance_mm=560.0).with_part(driven)
    )
    changes = save_vehicle(bench, changed)
    state = fleet_state(bench)
    assert state.vehicles[vehicle_id].depot == "Harbour Depot"
    stage = state.stages_of[vehicle_id][1]
    assert (stage.name, stage.centre_distance_mm) == ("rear drive", 560.0)
    wheel = state.current_on(stage.id)[2]
    assert wheel.id == driven.fitted.installation.id
    assert state.part_type_of(wheel).teeth == 48
    assert opened(bench, vehicle_id).stages[0] == draft.stages[0]
    undo(bench, changes)
    assert [s.part(Position.DRIVEN).count for s in opened(bench, vehicle_id).stages] == [56, 42]


def test_saving_what_was_not_changed_leaves_no_trail(bench):
    vehicle_id = added(bench)
    before = kept(bench, AuditEntry)
    save_vehicle(bench, opened(bench, vehicle_id))
    assert kept(bench, AuditEntry) == before


def test_a_measured_part_was_there_when_it_was_measured(bench):
    chain = add_motorcycle(bench, readings=[(500.0, 0.001), (2000.0, 0.003)])
    draft = opened(bench, chain.vehicle_id)
    stage = draft.stages[0]
    late = replace(stage.part(Position.RUN), fitted_on=TODAY)
    assert wrong(bench, draft.with_stage(stage.with_part(late))) == {f"{stage.key}:run:fitted_on"}
    early = replace(stage.part(Position.RUN), fitted_on=chain.fitted_on + timedelta(days=2))
    save_vehicle(bench, draft.with_stage(stage.with_part(early)))
    moved = fleet_state(bench).installations[chain.id]
    assert moved.fitted_use == fleet_state(bench).histories[chain.vehicle_id].use_on(moved.fitted_on)


def test_a_stage_goes_off_service_with_all_that_is_on_it(bench):
    vehicle_id = added(bench)
    draft = opened(bench, vehicle_id)
    primary = replace(draft.stages[0], taken_off=TakenOff(on=TODAY, reason=RemovalReason.CONVERSION))
    changes = save_vehicle(bench, draft.with_stage(primary))
    left = vehicle_snapshot(bench, vehicle_id)
    assert [stage.name for stage in left.draft.stages] == ["final drive"]
    assert left.gone_stages == ("primary drive",)
    # Neither the service sheet nor the drive set-up asks for it any more.
    assert [block.stage_name for block in open_sheet(bench, vehicle_id).blocks] == ["final drive"]
    assert [one.stage.name for one in setup_snapshot(bench, vehicle_id).stages] == ["final drive"]
    gone = [i for i in kept(bench, Installation) if i.stage_id == primary.stage.id]
    assert {(i.removed_on, i.removal_reason) for i in gone} == {(TODAY, RemovalReason.CONVERSION)}
    undo(bench, changes)
    assert len(opened(bench, vehicle_id).stages) == 2


def test_an_hour_meter_does_not_become_a_distance(bench):
    vehicle_id = added(bench)
    draft = opened(bench, vehicle_id)
    assert wrong(bench, replace(draft, meter_unit=MeterUnit.HOURS)) == {"meter_unit"}
    save_vehicle(bench, replace(draft, meter_unit=MeterUnit.MILES))
    assert kept(bench, MeterEntry)[0].value == 1200.0


# -- duty and lay-ups --------------------------------------------------------------------------------------


def test_a_change_of_duty_in_mid_life_keeps_what_it_was_before(bench):
    vehicle_id = added(bench, duty=Duty.ROAD, in_service_since=date(2025, 4, 1))
    draft = opened(bench, vehicle_id)
    changed = replace(draft, duty=Duty.OFF_ROAD, duty_from=date(2026, 3, 1))
    changes = save_vehicle(bench, changed)
    spells = [(spell.from_on, spell.duty) for spell in opened(bench, vehicle_id).spells]
    assert spells == [(date(2025, 4, 1), Duty.ROAD), (date(2026, 3, 1), Duty.OFF_ROAD)]
    assert fleet_state(bench).vehicles[vehicle_id].duty is Duty.OFF_ROAD
    earlier = replace(opened(bench, vehicle_id), duty=Duty.MIXED, duty_from=date(2025, 9, 1))
    assert wrong(bench, earlier) == {"duty_from"}
    undo(bench, changes)
    assert opened(bench, vehicle_id).spells == ()
    assert fleet_state(bench).vehicles[vehicle_id].duty is Duty.ROAD


def test_a_duty_that_it_was_always_on_is_set_right_without_a_spell(bench):
    vehicle_id = added(bench, duty=Duty.ROAD, in_service_since=date(2025, 4, 1))
    draft = opened(bench, vehicle_id)
    save_vehicle(bench, replace(draft, duty=Duty.MIXED, duty_from=date(2025, 4, 1)))
    assert kept(bench, DutySpell) == ()
    assert fleet_state(bench).vehicles[vehicle_id].duty is Duty.MIXED


def test_a_lay_up_is_kept_ended_and_taken_back(bench):
    vehicle_id = added(bench)
    winter = LayUpDraft(key=9, from_on=date(2025, 11, 20), reason="winter")
    save_vehicle(bench, opened(bench, vehicle_id).with_lay_up(winter))
    (one,) = opened(bench, vehicle_id).lay_ups
    assert (one.from_on, one.until_on, one.reason) == (date(2025, 11, 20), None, "winter")
    ended = replace(one, until_on=date(2026, 2, 1))
    save_vehicle(bench, opened(bench, vehicle_id).with_lay_up(ended))
    assert kept(bench, LayUp)[0].has_day(date(2026, 1, 31))
    assert not kept(bench, LayUp)[0].has_day(date(2026, 2, 1))
    (one,) = opened(bench, vehicle_id).lay_ups
    save_vehicle(bench, opened(bench, vehicle_id).with_lay_up(replace(one, is_dropped=True)))
    assert opened(bench, vehicle_id).lay_ups == ()
    assert kept(bench, LayUp)[0].void_reason


@pytest.mark.parametrize(
    ("first", "until", "field"),
    [
        (None, None, "from_on"),
        (date(2026, 1, 5), date(2026, 1, 5), "until_on"),
        (date(2025, 10, 1), date(2025, 12, 1), "from_on"),
    ],
)
def test_a_lay_up_that_can_not_be_is_told_beside_its_day(bench, first, until, field):
    vehicle_id = added(bench)
    draft = opened(bench, vehicle_id)
    draft = draft.with_lay_up(
        LayUpDraft(key=8, from_on=date(2025, 11, 20), until_on=date(2026, 1, 2))
    ).with_lay_up(LayUpDraft(key=9, from_on=first, until_on=until))
    assert wrong(bench, draft) == {f"9:{field}"}


# -- retiring, privacy -------------------------------------------------------------------------------------


def test_a_vehicle_retires_with_a_reason_and_comes_back(bench):
    vehicle_id = added(bench)
    vehicle = fleet_state(bench).vehicles[vehicle_id]
    with pytest.raises(WearlogError) as raised:
        retire_vehicle(bench, vehicle, TODAY + timedelta(days=1), " ")
    assert {problem.where for problem in raised.value.problems} == {"on", "reason"}
    retire_vehicle(bench, vehicle, TODAY, "sold")
    retired = fleet_state(bench).vehicles[vehicle_id]
    assert (retired.retired_on, retired.retired_reason) == (TODAY, "sold")
    bring_back(bench, retired)
    back = fleet_state(bench).vehicles[vehicle_id]
    assert (back.retired_on, back.retired_reason) == (None, "")
    with bench.database.reading() as records:
        assert any("sold" in entry.what for entry in records.audit(vehicle_id=vehicle_id))


def test_the_owners_contact_is_erased_and_the_history_stays(bench):
    vehicle_id = added(bench, owner_contact="Aldwyn Pike, 01632 960111")
    before = fleet_state(bench)
    changes = erase_contact(bench, before.vehicles[vehicle_id])
    assert not changes.can_undo
    after = fleet_state(bench)
    assert after.vehicles[vehicle_id].owner_contact == ""
    assert after.installations == before.installations
    with bench.database.reading() as records:
        trail = [records.told(entry) for entry in records.audit(vehicle_id=vehicle_id)]
    assert not any("Aldwyn" in entry.before + entry.after for entry in trail)


# -- two seats ---------------------------------------------------------------------------------------------


def test_two_seats_that_change_one_vehicle_lose_nothing(bench):
    vehicle_id = added(bench, notes="left pannier cracked")
    mine = replace(opened(bench, vehicle_id), depot="Harbour Depot")
    save_vehicle(bench, replace(opened(bench, vehicle_id), notes="pannier mended"))
    with pytest.raises(EditConflict) as raised:
        save_vehicle(bench, mine)
    versions = raised.value.versions
    assert (versions.mine.depot, versions.theirs.notes) == ("Harbour Depot", "pannier mended")
    assert fleet_state(bench).vehicles[vehicle_id].depot == "Upper Depot"
    merged = replace(versions.theirs, depot="Harbour Depot")
    save_vehicle(bench, with_records(mine, versions.theirs, merged))
    both = fleet_state(bench).vehicles[vehicle_id]
    assert (both.depot, both.notes) == ("Harbour Depot", "pannier mended")


def test_two_seats_that_change_one_stage_and_one_part_lose_nothing(bench):
    vehicle_id = added(bench)
    mine = opened(bench, vehicle_id)
    mine = mine.with_stage(replace(mine.stages[1], centre_distance_mm=560.0))
    theirs = opened(bench, vehicle_id)
    save_vehicle(bench, theirs.with_stage(replace(theirs.stages[1], rated_power_kw=11.0)))
    with pytest.raises(EditConflict) as raised:
        save_vehicle(bench, mine)
    kept_now = raised.value.versions.theirs
    save_vehicle(bench, with_records(mine, kept_now, replace(kept_now, centre_distance_mm=560.0)))
    stage = kept(bench, Stage)[1]
    assert (stage.centre_distance_mm, stage.rated_power_kw) == (560.0, 11.0)
    part = opened(bench, vehicle_id).stages[1].part(Position.RUN).fitted.part
    assert kept(bench, Part, id=part.id) == (part,)


# -- the fleet list ----------------------------------------------------------------------------------------


def test_the_fleet_is_listed_and_searched_before_its_wear_is_known(bench):
    add_motorcycle(bench, readings=[(500.0, 0.001), (2000.0, 0.003)])
    added(bench, template="moped", tag="LM-01", notes="left pannier cracked", owner_contact="Aldwyn Pike")
    directory, judged = fleet_directory(bench), fleet_snapshot(bench)
    assert [row.tag for row in directory.rows] == [row.tag for row in judged.rows]
    assert not directory.is_judged
    assert all(row.rules == () for row in directory.rows)
    text = next(row.search_text for row in judged.rows if row.tag == "LM-01")
    assert "pannier" in text
    assert "aldwyn" not in text
