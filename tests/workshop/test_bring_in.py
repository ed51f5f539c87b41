"""An import: what it adds, and that it adds it once."""

from datetime import date

import pytest

from tests.makers.import_folder import (
    SMALL_FLEET,
    brought,
    kept,
    new_bench,
    problems_of,
    with_row,
    without,
    write_folder,
)
from wearlog.drive.defaults import default_limits
from wearlog.exchange.csv_folder import read_import
from wearlog.fleet.fitting import Installation, RemovalReason
from wearlog.fleet.limit import Limit
from wearlog.fleet.meter import MeterEntry, use_history
from wearlog.fleet.parts import Part, WearClass
from wearlog.fleet.problem import DoubtKind
from wearlog.fleet.reading import Measurand, Method, Reading
from wearlog.fleet.service import IntervalRule, Task, TaskDone, Visit
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.resources import sample_fleet
from wearlog.workshop.bench import set_up
from wearlog.workshop.bring_in import bring_in


@pytest.fixture
def bench():
    bench = new_bench()
    yield bench
    bench.database.close()


def vehicle_id(bench, tag):
    (vehicle,) = kept(bench, Vehicle, tag=tag)
    return vehicle.id


def readings_of(bench, tag, measurand=Measurand.CHAIN_ELONGATION):
    return kept(bench, Reading, vehicle_id=vehicle_id(bench, tag), measurand=measurand)


# --- what is added ---------------------------------------------------------------------------------------


def test_all_rows_are_added_and_counted(bench, tmp_path):
    result = brought(bench, write_folder(tmp_path))
    assert result.added == {
        "vehicles": 3,
        "stages": 4,
        "part_types": 4,
        "instruments": 3,
        "meter": 2,
        "installations": 6,
        "visits": 1,
        "readings": 8,
        "meter entries implied": 7,
        "visits implied": 4,
    }
    assert result.already == {}
    assert result.rows_added == 31
    assert len(kept(bench, MeterEntry)) == 9
    assert len(kept(bench, Reading)) == 8


def test_a_replaced_meter_keeps_the_total_distance(bench, tmp_path):
    """100 km, 1800 km, replaced at 3000 km by one at 0, then 900 km: 3900 km in all."""
    brought(bench, write_folder(tmp_path))
    readings = readings_of(bench, "LR-001")
    assert [reading.total_use for reading in readings] == [100.0, 1800.0, 3900.0, 3900.0]
    first = kept(bench, Installation, vehicle_id=vehicle_id(bench, "LR-001"))[0]
    assert (first.fitted_use, first.removed_use) == (100.0, 3900.0)
    history = use_history(kept(bench, MeterEntry, vehicle_id=vehicle_id(bench, "LR-001")))
    assert history.last is not None
    assert history.last.total_use == 5500.0


def test_a_meter_in_miles_is_kept_in_kilometres(bench, tmp_path):
    # 1 mi = 1.609344 km exactly: NIST SP 811 (2008), appendix B.
    brought(bench, write_folder(tmp_path))
    assert readings_of(bench, "LC-01")[0].total_use == pytest.approx(600 * 1.609344)


def test_a_meter_in_hours_stays_in_hours(bench, tmp_path):
    brought(bench, write_folder(tmp_path))
    assert readings_of(bench, "LT-01")[0].total_use == 90.5


def test_the_greatest_spot_counts(bench, tmp_path):
    """20 pitches of 12.7 mm are 254.0 mm; the longest of three places reads 254.9 mm: 0.354 %."""
    brought(bench, write_folder(tmp_path))
    reading = readings_of(bench, "LR-001")[1]
    assert reading.value == pytest.approx(0.9 / 254.0)
    assert reading.mean == pytest.approx((0.6 + 0.9 + 0.7) / 3 / 254.0)
    assert reading.spread == pytest.approx(0.3 / 254.0)
    assert [spot.typed for spot in reading.spots] == ["254.6", "254.9", "254.7"]


def test_inches_are_understood_among_millimetres(bench, tmp_path):
    brought(bench, write_folder(tmp_path))
    reading = next(r for r in readings_of(bench, "LR-001") if r.spots[0].typed == "10.06 in")
    assert reading.value is not None
    # The zero reading of this chain was 254.02 mm; how it is used is for the forecast, not for the value.
    assert reading.value == pytest.approx((10.06 * 25.4 - 254.0) / 254.0, abs=1e-9)


def test_a_gauge_gives_an_interval_with_its_bias_taken_off(bench, tmp_path):
    """0.5 goes in, 0.75 stays out, and the gauge reads 0.1 % too much on a new chain."""
    brought(bench, write_folder(tmp_path))
    (reading,) = readings_of(bench, "LC-01")
    assert reading.value is None
    assert reading.high == pytest.approx(0.0075 - 0.001)
    assert reading.low is not None
    assert reading.low <= 0.005 - 0.001
    assert [(spot.typed, spot.value, spot.second) for spot in reading.spots] == [
        ("0.5 in", 0.005, 1.0),
        ("0.75 out", 0.0075, 0.0),
    ]


def test_on_the_day_of_a_change_the_zero_reading_is_of_the_new_chain(bench, tmp_path):
    brought(bench, write_folder(tmp_path))
    old, new = sorted(readings_of(bench, "LR-001")[2:], key=lambda r: r.is_zero_reading)
    parts = {part.id: part.label for part in kept(bench, Part)}
    on = {i.id: parts[i.part_id] for i in kept(bench, Installation)}
    assert (on[old.installation_id], on[new.installation_id]) == ("K-1", "K-2")
    assert new.is_zero_reading


def test_slack_belongs_to_the_stage_with_its_definition(bench, tmp_path):
    brought(bench, write_folder(tmp_path))
    (slack,) = readings_of(bench, "LR-001", Measurand.SLACK)
    assert slack.installation_id is None
    assert slack.definition == "lower run, mid-span, total"
    assert slack.value == 34.0  # the tightest place is where slack is set: makers' manuals, common practice


def test_belt_tension_follows_from_frequency_span_and_mass(bench, tmp_path):
    """T = 4 m (L f)^2, the string equation: 4 x 0.12 kg/m x (0.18 m x 66 Hz)^2 = 67.7 N."""
    brought(bench, write_folder(tmp_path))
    (tension,) = readings_of(bench, "LR-001", Measurand.BELT_TENSION)
    assert tension.method is Method.SPAN_FREQUENCY
    assert tension.value == pytest.approx(4 * 0.12 * (0.18 * 66) ** 2)


def test_readings_join_the_visit_of_their_day(bench, tmp_path):
    brought(bench, write_folder(tmp_path))
    visits = {visit.id: visit for visit in kept(bench, Visit)}
    reading = readings_of(bench, "LR-001")[1]
    visit = visits[reading.visit_id]
    stage = kept(bench, Stage, vehicle_id=reading.vehicle_id, name="final drive")[0]
    assert visit.by == "Ada"
    assert visit.tasks == (
        TaskDone(task=Task.CLEANED),
        TaskDone(task=Task.LUBRICATED, stage_id=stage.id),
        TaskDone(task=Task.TENSION_SET, stage_id=stage.id, before=52.0, after=38.0, quantity_unit="mm"),
    )
    assert all(r.visit_id in visits for r in kept(bench, Reading))


def test_a_part_moved_between_vehicles_is_one_part(bench, tmp_path):
    moved = (
        with_row("installations", "LR-001,final drive,driven,Moved,2025-02-01,900,M,2025-03-01,1800,moved")
        + "LT-01,final drive,driven,Moved,2025-03-02,20,M,,,\n"
    )
    types = with_row("part_types", "Moved,sprocket,428,sprocket,12.7,8.51,,48,,")
    brought(bench, write_folder(tmp_path, installations=moved, part_types=types))
    (part,) = kept(bench, Part, label="M")
    first, second = kept(bench, Installation, part_id=part.id)
    assert first.removal_reason is RemovalReason.MOVED
    assert (first.vehicle_id, second.vehicle_id) == (vehicle_id(bench, "LR-001"), vehicle_id(bench, "LT-01"))
    assert second.is_current


def test_a_removal_without_a_meter_value_is_interpolated(bench, tmp_path):
    text = SMALL_FLEET["installations"].replace("2025-09-01,900,worn", "2025-08-31,,worn")
    brought(bench, write_folder(tmp_path, installations=text))
    # From 3000 km on 1 June to 3900 km on 1 September, 91 of 92 days on.
    assert kept(bench, Installation)[0].removed_use == pytest.approx(3000 + 900 * 91 / 92)


def test_a_used_part_keeps_what_it_ran_before(bench, tmp_path):
    head = "vehicle,stage,position,part type,fitted on,fitted at,part,use before,history known"
    text = (
        f"{head}\nLC-01,final drive,run,Chain 1/2 x 3/32,2025-01-10,10,K-3,200,\n"
        "LT-01,final drive,run,Chain 428 sealed,2025-01-10,1,K-4,,no\n"
    )
    brought(bench, write_folder(tmp_path, installations=text, readings=None, meter=None))
    miles, unknown = kept(bench, Part)
    assert miles.use_before == pytest.approx(200 * 1.609344)
    assert miles.is_history_known
    assert not unknown.is_history_known


def test_a_voided_reading_is_kept_with_its_reason(bench, tmp_path):
    head = SMALL_FLEET["readings"].splitlines()[0]
    row = "LR-001,final drive,2025-03-01,1800,chain elongation,same side of two rollers,267,run,20,,,"
    text = f"{head},void reason\n{row},one pin too many\n"
    brought(bench, write_folder(tmp_path, readings=text))
    (reading,) = readings_of(bench, "LR-001")
    assert reading.void_reason == "one pin too many"


def test_oddities_are_asked_and_kept(bench, tmp_path):
    """267 mm over 20 pitches are 5.1 %, which is what 21 pitches of a healthy chain measure."""
    row = "LR-001,final drive,2025-05-01,2500,chain elongation,same side of two rollers,267,run,20,,yes,"
    result = brought(bench, write_folder(tmp_path, readings=with_row("readings", row)))
    miscounts = [doubt for doubt in result.doubts if doubt.kind is DoubtKind.MISCOUNT]
    assert [doubt.where for doubt in miscounts] == ["readings.csv row 10"]
    assert len(readings_of(bench, "LR-001")) == 5


def test_a_limit_of_the_workshop_takes_the_place_of_a_default(bench, tmp_path):
    set_up(bench)
    before = kept(bench, Limit, live=True)
    text = (
        "measurand,wear class,service limit,source\nchain elongation,sealed motorcycle chain,0.9 %,our rule\n"
    )
    brought(bench, write_folder(tmp_path, limits=text))
    sealed = {
        (limit.service_limit, limit.void_reason)
        for limit in kept(
            bench,
            Limit,
            wear_class=WearClass.SEALED_MOTORCYCLE_CHAIN,
            measurand=Measurand.CHAIN_ELONGATION,
            designation="",
            model="",
        )
    }
    default = next(
        limit
        for limit in default_limits()
        if limit.wear_class is WearClass.SEALED_MOTORCYCLE_CHAIN
        and limit.measurand is Measurand.CHAIN_ELONGATION
        and not (limit.designation or limit.model)
    )
    assert sealed == {(default.service_limit, "replaced by limits.csv row 2"), (0.9 / 100, "")}
    assert len(kept(bench, Limit, live=True)) == len(before)


def test_a_rule_for_another_kind_of_vehicle_stands_beside_the_defaults(bench, tmp_path):
    set_up(bench)
    before = len(kept(bench, IntervalRule, live=True))
    text = "task,every [km],vehicle kind,stage,note\nlubricate,333,cargo e-bike,final drive,harbour salt\n"
    brought(bench, write_folder(tmp_path, interval_rules=text))
    assert len(kept(bench, IntervalRule, live=True)) == before + 1


# --- once ------------------------------------------------------------------------------------------------


def test_the_same_rows_again_add_nothing(bench, tmp_path):
    folder = write_folder(tmp_path)
    first = brought(bench, folder)
    version = bench.data_version()
    again = brought(bench, folder)
    assert again.added == {}
    assert again.changes is None
    assert again.rows_already == first.rows_added
    assert bench.data_version() == version


def test_the_same_content_written_otherwise_adds_nothing(bench, tmp_path):
    """Other units, another column order, a byte order mark."""
    brought(bench, write_folder(tmp_path))
    text = (
        "\ufeffstage,vehicle,order,drive,slack definition,centre distance [cm],belt span [m]\n"
        "primary drive,LR-001,1,belt,,20,0.18\n"
    )
    again = brought(bench, write_folder(tmp_path / "again", **{**dict.fromkeys(SMALL_FLEET), "stages": text}))
    assert again.added == {}
    assert again.already == {"stages": 1}


def test_one_more_row_adds_one(bench, tmp_path):
    folder = write_folder(tmp_path)
    brought(bench, folder)
    row = "LR-001,final drive,2026-06-01,2500,chain elongation,same side of two rollers,254.9,run,20,,yes,"
    again = brought(bench, write_folder(tmp_path, readings=with_row("readings", row)))
    assert again.added == {"readings": 1, "visits implied": 1}


def test_two_equal_readings_in_one_file_are_two(bench, tmp_path):
    row = SMALL_FLEET["readings"].splitlines()[2]
    folder = write_folder(tmp_path, readings=with_row("readings", row))
    assert brought(bench, folder).added["readings"] == 9
    assert brought(bench, folder).added == {}


def test_a_repeat_reading_added_later_joins_the_first(bench, tmp_path):
    brought(bench, write_folder(tmp_path))
    row = "LR-001,final drive,2025-03-01,1800,chain elongation,same side of two rollers,254.8,run,20,Caliper"
    lines = SMALL_FLEET["readings"].splitlines(keepends=True)
    text = "".join([*lines[:2], row + "\n", *lines[2:]])
    assert brought(bench, write_folder(tmp_path, readings=text)).added == {"readings": 1}


@pytest.mark.parametrize(
    ("file", "old", "new", "where", "what"),
    [
        ("vehicles", "e-bike,Harbour Depot", "e-bike,Upper Depot", "vehicles.csv row 3", "another depot"),
        ("stages", "chain,440", "chain,444", "stages.csv row 4", "another centre distance"),
        ("part_types", "8.51,118", "8.51,120", "part_types.csv row 2", "another links"),
        ("meter", "2026-06-01,2500", "2026-06-01,2600", "meter.csv row 3", "with other content"),
        ("readings", "254.6;254.9", "254.6;255.9", "readings.csv row 3", "with other content"),
        ("installations", "10,K-3,,", "10,K-3,2026-01-01,", "installations.csv row 6", "with other content"),
        ("visits", "38 mm,20", "38 mm,25", "visits.csv row 2", "with other content"),
    ],
)
def test_a_known_row_with_other_content_is_a_problem(bench, tmp_path, file, old, new, where, what):
    brought(bench, write_folder(tmp_path))
    changed = SMALL_FLEET[file].replace(old, new)
    assert changed != SMALL_FLEET[file]
    told = problems_of(bench, write_folder(tmp_path, **{file: changed}))
    assert len(told) == 1
    assert told[0].startswith(where)
    assert what in told[0]


# --- the sample fleet ------------------------------------------------------------------------------------


def test_the_sample_fleet_comes_in_whole_and_once():
    bench = new_bench()
    set_up(bench)
    rows = read_import([sample_fleet()])
    first = bring_in(bench, rows)
    assert first.added["vehicles"] == len(rows.vehicles) >= 40
    assert first.rows_added == len(rows)
    assert len(kept(bench, Reading)) == len(rows.readings)
    again = bring_in(bench, rows)
    assert again.added == {}
    assert again.rows_already == len(rows)
    bench.database.close()


def test_rows_may_come_in_several_imports(bench, tmp_path):
    """First the fleet, then what was measured, then one day more."""
    fleet = write_folder(tmp_path / "1", readings=None, visits=None)
    brought(bench, fleet)
    measured = dict.fromkeys(SMALL_FLEET)
    measured |= {"readings": SMALL_FLEET["readings"], "visits": SMALL_FLEET["visits"]}
    second = brought(bench, write_folder(tmp_path / "2", **measured))
    assert second.added["readings"] == 8
    assert [r.total_use for r in readings_of(bench, "LR-001")] == [100.0, 1800.0, 3900.0, 3900.0]
    day = with_row("readings", "LR-001,final drive,2026-07-01,2700,slack,direct,41,,,,,")
    third = brought(bench, write_folder(tmp_path / "3", **{**measured, "readings": day}))
    assert third.added == {"readings": 1, "visits implied": 1, "meter entries implied": 1}
    assert readings_of(bench, "LR-001", Measurand.SLACK)[-1].on == date(2026, 7, 1)


def test_a_bare_visit_is_filled_in_by_a_later_import(bench, tmp_path):
    brought(bench, write_folder(tmp_path, visits=None))
    bare = kept(bench, Visit, on=date(2025, 3, 1))
    assert [visit.tasks for visit in bare] == [()]
    brought(bench, write_folder(tmp_path))
    (filled,) = kept(bench, Visit, on=date(2025, 3, 1))
    assert (filled.id, filled.by, len(filled.tasks)) == (bare[0].id, "Ada", 3)


def test_readings_alone_need_what_they_are_about(bench, tmp_path):
    alone = dict.fromkeys(SMALL_FLEET) | {"readings": without("readings", "LC-01", "LT-01")}
    told = problems_of(bench, write_folder(tmp_path, **alone))
    assert {line.split(": ")[1].split(".")[0] for line in told} == {
        "There is no vehicle LR-001",
        "There is no instrument Caliper",
        "There is no instrument Ring",
    }


def test_what_was_used_at_a_visit_is_kept_and_leaves_older_rows_known(tmp_path):
    from tests.makers.import_folder import with_row
    from wearlog.workshop.import_rows import TaskRow
    from wearlog.workshop.row_keys import normalised

    bench = new_bench()
    row = "LR-001,2025-05-01,2900,Ada,lubricate: final drive = dry wax,"
    brought(bench, write_folder(tmp_path, visits=with_row("visits", row)))
    visits = {visit.on.isoformat(): visit for visit in kept(bench, Visit)}
    assert [task.care for task in visits["2025-05-01"].tasks] == ["dry wax"]
    # Rows that were brought in before the word could be said are still the same rows.
    assert normalised(TaskRow(Task.CLEANED, "final drive")) == "(clean;final drive;;;)"
    bench.database.close()
