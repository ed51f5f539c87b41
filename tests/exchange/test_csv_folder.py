"""The public import format: what is read, and what is said of what can't be read."""

import csv
import io
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.makers.import_folder import SMALL_FLEET, with_row, write_folder
from wearlog import units
from wearlog.exchange.cells import typed
from wearlog.exchange.columns import FORMS
from wearlog.exchange.csv_folder import MOST_PROBLEMS, read_import
from wearlog.fleet.problem import Cancelled, ProblemKind, WearlogError
from wearlog.fleet.quantity import Quantity
from wearlog.fleet.reading import Method
from wearlog.fleet.service import Task
from wearlog.resources import sample_fleet
from wearlog.workshop.import_rows import Amount, GaugeSpot, TaskRow


def problems_of(*paths: Path) -> list[str]:
    with pytest.raises(WearlogError) as caught:
        read_import(paths)
    return [str(problem) for problem in caught.value.problems]


def the_problem(folder: Path) -> str:
    found = problems_of(folder)
    assert len(found) == 1, found
    return found[0]


# --- what is read ----------------------------------------------------------------------------------------


def test_a_folder_is_read_file_by_file(tmp_path):
    rows = read_import([write_folder(tmp_path)])
    assert {name: len(found) for name, found in rows.lists().items()} == {
        "vehicles": 3,
        "stages": 4,
        "part_types": 4,
        "instruments": 3,
        "meter": 2,
        "installations": 6,
        "visits": 1,
        "readings": 8,
        "interval_rules": 0,
        "limits": 0,
        "stock": 0,
    }
    assert rows.vehicles[0].description == "Patrol motorcycle, belt primary"
    assert str(rows.vehicles[1].where) == "vehicles.csv row 3"


def test_a_single_file_is_read_alone(tmp_path):
    folder = write_folder(tmp_path)
    rows = read_import([folder / "meter.csv"])
    assert len(rows) == len(rows.meter) == 2


def test_the_header_names_the_unit_of_bare_cells(tmp_path):
    # 1 in = 25.4 mm exactly: NIST SP 811 (2008), appendix B.
    text = "vehicle,stage,order,drive,centre distance [in]\nLR-001,final drive,1,chain,23.5\n"
    rows = read_import([write_folder(tmp_path, stages=text)])
    assert rows.stages[0].centre_distance_mm == pytest.approx(596.9, abs=1e-9)


def test_a_cell_with_its_own_unit_overrides_the_header(tmp_path):
    text = "vehicle,stage,order,drive,centre distance [mm]\nLR-001,final drive,1,chain,23 1/2 in\n"
    rows = read_import([write_folder(tmp_path, stages=text)])
    assert rows.stages[0].centre_distance_mm == pytest.approx(596.9, abs=1e-9)


def test_a_meter_value_without_a_unit_is_left_to_the_vehicle(tmp_path):
    text = "vehicle,date,meter\nLC-01,2025-06-01,500\nLC-01,2025-07-01,900 km\nLT-01,2025-07-01,12.5 h\n"
    rows = read_import([write_folder(tmp_path, meter=text)])
    assert [(row.meter.value, row.meter.unit) for row in rows.meter] == [
        (500.0, ""),
        (900.0, "km"),
        (12.5, "h"),
    ]


def test_a_meter_column_in_miles_is_converted(tmp_path):
    # 1 mi = 1.609344 km exactly: NIST SP 811 (2008), appendix B.
    text = "vehicle,date,meter [mi]\nLC-01,2025-06-01,1000\n"
    assert read_import([write_folder(tmp_path, meter=text)]).meter[0].meter == Amount(1609.344, "km", "1000")


def test_marks_of_other_programs_are_no_obstacle(tmp_path):
    """A byte order mark, CRLF, blank rows, empty columns, headers in capitals, columns in any order."""
    folder = write_folder(tmp_path)
    head = "\ufeffDEPOT,Tag,description,meter_unit,kind,,"
    text = f'{head}\r\nUpper Depot,LR-9,"two\r\nlines",km,moped,,\r\n,,,,,,\r\n'
    (folder / "vehicles.csv").write_bytes(text.encode())
    rows = read_import([folder])
    assert [(row.tag, row.depot, row.description) for row in rows.vehicles] == [
        ("LR-9", "Upper Depot", "two\r\nlines")
    ]


def test_every_spot_is_kept_as_typed_with_its_value(tmp_path):
    reading = read_import([write_folder(tmp_path)]).readings[1]
    assert [(spot.typed, spot.value) for spot in reading.spots] == [
        ("254.6", 254.6),
        ("254.9", 254.9),
        ("254.7", 254.7),
    ]
    assert reading.spots[0].resolution == pytest.approx(0.1)


def test_the_last_unit_counts_for_the_spots_before_it(tmp_path):
    head = "vehicle,stage,date,meter,measurand,method,spots,pitches"
    row = "LR-001,final drive,2025-03-01,1800,chain elongation,same edge of two pins,10; 10.1 in,20"
    reading = read_import([write_folder(tmp_path, readings=f"{head}\n{row}\n")]).readings[0]
    assert [spot.value for spot in reading.spots] == pytest.approx([254.0, 256.54])


def test_inside_and_outside_stand_in_pairs(tmp_path):
    reading = read_import([write_folder(tmp_path)]).readings[7]
    assert [(spot.value, spot.second) for spot in reading.spots] == [(119.7, 136.7), (119.8, 136.8)]


@pytest.mark.parametrize(
    ("cell", "spots"),
    [
        ("0.5 in; 0.75 out", (GaugeSpot("0.5 in; 0.75 out", "0.5", "0.75"),)),
        ("0.5 in/0.75 out", (GaugeSpot("0.5 in/0.75 out", "0.5", "0.75"),)),
        ("0.5 out", (GaugeSpot("0.5 out", "", "0.5"),)),
        ("1.0 in", (GaugeSpot("1.0 in", "1.0"),)),
        (
            "0.5 in; 0.75 out; 0.75 in; 1.0 out",
            (GaugeSpot("0.5 in; 0.75 out", "0.5", "0.75"), GaugeSpot("0.75 in; 1.0 out", "0.75", "1.0")),
        ),
    ],
)
def test_a_gauge_tells_which_stamp_goes_in_and_which_stays_out(tmp_path, cell, spots):
    head = "vehicle,stage,date,meter,measurand,method,spots,instrument"
    row = f"LC-01,final drive,2025-08-01,600,chain elongation,drop-in gauge,{cell},Gauge"
    reading = read_import([write_folder(tmp_path, readings=f"{head}\n{row}\n")]).readings[0]
    assert reading.method is Method.GAUGE
    assert reading.gauge_spots == spots
    assert not reading.spots


def test_a_force_stands_with_its_deflection(tmp_path):
    head = "vehicle,stage,date,meter,measurand,method,spots"
    row = "LR-001,primary drive,2025-08-01,600,static belt tension,deflection force,42 N / 12 mm"
    spot = read_import([write_folder(tmp_path, readings=f"{head}\n{row}\n")]).readings[0].spots[0]
    assert (spot.value, spot.second) == (42.0, 12.0)


def test_tasks_name_their_stage_and_what_was_set(tmp_path):
    tasks = read_import([write_folder(tmp_path)]).visits[0].tasks
    assert tasks == (
        TaskRow(Task.CLEANED),
        TaskRow(Task.LUBRICATED, "final drive"),
        TaskRow(Task.TENSION_SET, "final drive", 52.0, 38.0, "mm"),
    )


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        (
            "set tension: primary drive 180 N > 240 N",
            TaskRow(Task.TENSION_SET, "primary drive", 180.0, 240.0, "N"),
        ),
        (
            "set tension: stage 2 final 2 in > 1 1/2 in",
            TaskRow(Task.TENSION_SET, "stage 2 final", 50.8, 38.1, "mm"),
        ),
        ("remove links: final drive 118 > 116", TaskRow(Task.LINKS_REMOVED, "final drive", 118.0, 116.0, "")),
        (
            "check torque: final drive 20 N.m > 25 N.m",
            TaskRow(Task.TORQUE_CHECKED, "final drive", 20.0, 25.0, "N.m"),
        ),
    ],
)
def test_what_was_set_is_read_in_any_unit(tmp_path, cell, expected):
    text = f"vehicle,date,meter,tasks\nLR-001,2025-03-01,1800,{cell}\n"
    (task,) = read_import([write_folder(tmp_path, visits=text)]).visits[0].tasks
    assert (task.task, task.stage, task.quantity_unit) == (
        expected.task,
        expected.stage,
        expected.quantity_unit,
    )
    assert (task.before, task.after) == pytest.approx((expected.before, expected.after))


def test_an_instrument_is_described_in_the_unit_of_what_it_reads(tmp_path):
    caliper, gauge, ring = read_import([write_folder(tmp_path)]).instruments
    assert (caliper.resolution, caliper.u_instrument) == pytest.approx((0.01, 0.03))
    assert gauge.bias == pytest.approx(0.001)
    assert gauge.stamps == (("0.5", 0.005), ("0.75", 0.0075))
    assert ring.u_instrument == pytest.approx(0.5)


def test_one_name_in_three_units_tells_three_intervals_apart(tmp_path):
    head = "task,every [km],every [h],every [d],first [mi],after fitting"
    text = f"{head}\nlubricate,300,,35,,\ncheck torque,,,,60,yes\n"
    rows = read_import([write_folder(tmp_path, interval_rules=text)]).interval_rules
    assert (rows[0].every_km, rows[0].every_h, rows[0].every_days) == (300.0, None, 35)
    assert rows[1].first_km == pytest.approx(60 * 1.609344)
    assert rows[1].is_after_fitting


def test_limits_carry_the_unit_of_their_measurand(tmp_path):
    text = (
        "measurand,wear class,service limit,as new,plan share,source\n"
        "chain elongation,sealed motorcycle chain,1.0 %,0 %,75 %,workshop\n"
        "static belt tension,toothed belt,180 N,240 N,0.8,workshop\n"
        "belt condition grade,toothed belt,3,0,,workshop\n"
    )
    rows = read_import([write_folder(tmp_path, limits=text)]).limits
    assert [(row.service_limit, row.as_new, row.plan_share) for row in rows] == [
        (0.01, 0.0, 0.75),
        (180.0, 240.0, 0.8),
        (3.0, 0.0, 0.75),
    ]


def test_the_sample_fleet_is_in_the_public_format():
    rows = read_import([sample_fleet()])
    for form in FORMS.values():
        with (sample_fleet() / form.name).open(encoding="utf-8", newline="") as stream:
            assert len(rows.lists()[form.rows]) == sum(1 for _row in csv.reader(stream)) - 1


@given(
    number=st.decimals(min_value=0, max_value=10_000, places=3).map(str),
    quantity_unit=st.sampled_from(
        [
            (Quantity.LENGTH, "mm"),
            (Quantity.LENGTH, "in"),
            (Quantity.DISTANCE, "mi"),
            (Quantity.ELONGATION, "%"),
            (Quantity.FORCE, "lbf"),
            (Quantity.TEMPERATURE, "degF"),
        ]
    ),
)
def test_a_column_by_one_factor_gives_what_each_cell_alone_would(number, quantity_unit):
    quantity, unit = quantity_unit
    alone = units.parse(f"{number} {unit}", quantity)
    in_column = typed(number, quantity, unit)
    assert in_column.value == pytest.approx(alone.value, rel=1e-12, abs=1e-12)
    assert in_column.resolution == pytest.approx(alone.resolution)


# --- what is said of what can't be read ------------------------------------------------------------------

CELLS = [
    ("vehicles", "LR-2,Bike,motorbike,Upper Depot,km", "row 5, kind", "not known here", "petrol motorcycle"),
    ("vehicles", "LR-2,Bike,electric motorcicle,Upper Depot,km", "row 5, kind", "electric motorcycle", ""),
    ("vehicles", "LR-2,Bike,moped,Upper Depot,miles", "row 5, meter unit", "Known here: km, mi, h", ""),
    ("vehicles", ",Bike,moped,Upper Depot,km", "row 5, tag", "empty", "Fill it in"),
    ("vehicles", "LR-2,Bike,moped,Upper Depot,km,,14/03/2026", "row 5, in service since", "2026-03-14", ""),
    ("vehicles", "LR-2,Bike,moped,Upper Depot,km,,04/03/2026", "row 5, in service since", "two ways", ""),
    ("vehicles", "LR-2,Bike,moped,Upper Depot,km,,2026-02-30", "row 5, in service since", "calendar", ""),
    ("vehicles", "LR-2,Bike, fast,moped,Upper Depot,km,,2026-02-03", "row 5", "8 cells", "quote marks"),
    ("stages", "LR-001,third,3,chain,12 kg", "row 6, centre distance", "kg", ""),
    ("stages", "LR-001,third,3,chain,-5", "row 6, centre distance", "more than 0", ""),
    ("stages", "LR-001,third,0,chain,", "row 6, order", "less than 1", ""),
    ("stages", "LR-001,third,1.5,chain,", "row 6, order", "whole number", ""),
    ("part_types", "X,chain,428,sealed motorcycle chain,twelve", "row 6, pitch", "not a number", ""),
    ("instruments", "C2,caliper,0.01", "row 5, resolution", "no unit", "[mm]"),
    ("instruments", "C2,caliper,0.01 Hz", "row 5, resolution", "Hz", ""),
    ("instruments", "G2,two-prong gauge,,,,0.5", "row 5, stamps", "stamp", "0.75 = 0.75 %"),
    ("meter", "LR-001,2026-07-01,-5", "row 4, meter", "less than 0", ""),
    ("meter", "LR-001,2026-07-01,5 kg", "row 4, meter", "kg", ""),
    ("meter", "LR-001,2026-07-01,50,exchanged", "row 4, event", "replaced", ""),
    ("visits", "LR-001,2026-07-01,3000,Ada,polish", "row 3, tasks", "not a task", "clean"),
    ("visits", "LR-001,2026-07-01,3000,Ada,set tension: final drive 5 > 3", "row 3, tasks", "no unit", ""),
    (
        "visits",
        "LR-001,2026-07-01,3000,Ada,clean: final drive 5 mm > 3 mm",
        "row 3, tasks",
        "can't be read",
        "",
    ),
    ("visits", "LR-001,2026-07-01,3000,Ada,clean,€ 20", "row 3, cost", "not a number", "without a currency"),
]


@pytest.mark.parametrize(("file", "row", "where", "what", "todo"), CELLS)
def test_a_bad_cell_is_told_with_file_row_column_and_the_way_out(tmp_path, file, row, where, what, todo):
    told = the_problem(write_folder(tmp_path, **{file: with_row(file, row)}))
    assert told.startswith(f"{file}.csv {where}: ")
    assert what in told
    assert todo in told


READINGS = [
    ("static belt tension,span frequency,62", "no unit"),
    ("chain elongation,inside and outside,119.7", "not a pair"),
    ("chain elongation,inside and outside,136.7/119.7", "inside length first"),
    ("chain elongation,drop-in gauge,0.5", "0.5 in; 0.75 out"),
    ("belt condition grade,grade by eye,4", "0, 1, 2 and 3"),
    ("belt condition grade,grade by eye,1.5", "0, 1, 2 and 3"),
    ("chain elongation,same edge of two pins,254;;abc", "not a number"),
    ("chain elongation,same edge of two pins," + ";".join(["254"] * 101), "101 spots"),
]


@pytest.mark.parametrize(("cells", "what"), READINGS)
def test_bad_spots_are_told_in_the_words_of_their_method(tmp_path, cells, what):
    told = the_problem(
        write_folder(tmp_path, readings=with_row("readings", f"LR-001,final drive,2025-09-02,950,{cells}"))
    )
    assert told.startswith("readings.csv row 10, spots: ")
    assert what in told


HEADERS = [
    ("vehicles", "tag,discription,kind,depot,meter unit\n", "discription", "Did you mean “description”"),
    ("vehicles", "tag,description,kind,depot\n", "“meter unit” is missing", "Add it"),
    ("vehicles", "tag,tag,description,kind,depot,meter unit\n", "twice", "Keep one"),
    ("vehicles", "tag;description;kind;depot;meter unit\n", "not parted by commas", "comma-separated"),
    ("vehicles", "tag\tdescription\n", "not parted by commas", "comma-separated"),
    ("vehicles", "\n", "names no columns", "tag, description"),
    ("vehicles", "", "names no columns", "tag, description"),
    ("stages", "vehicle,stage,order,drive,belt span [kg]\n", "unit that does not fit", "mm, cm"),
    ("stages", "vehicle [mm],stage,order,drive\n", "unit that does not fit", "Write vehicle without a unit"),
    ("interval_rules", "task,every\n", "needs a unit", "km, mi"),
]


@pytest.mark.parametrize(("file", "text", "what", "todo"), HEADERS)
def test_a_header_that_does_not_fit_is_told(tmp_path, file, text, what, todo):
    told = problems_of(write_folder(tmp_path, **{file: text}))
    assert any(line.startswith(f"{file}.csv") and what in line and todo in line for line in told), told


BYTES = [
    (b"tag,description\nLR-1,caf\xe9\n", "line 2", "0xE9", "UTF-8"),
    ("tag,description\n".encode("utf-16"), "vehicles.csv", "UTF-16", "UTF-8"),
    (b"tag,description\nLR-1,a\x00b\n", "line 2", "NUL", "UTF-8"),
    (b"PK\x03\x04rest of an archive", "vehicles.csv", "spreadsheet", "CSV"),
    (b'tag,description,kind,depot,meter unit\nLR-1,"never closed\n', "line", "quote marks", '"'),
    (b'tag,description,kind,depot,meter unit\nLR-1,"a"b,moped,D,km\n', "line 2", "quote marks", '"'),
    (
        b"tag,description,kind,depot,meter unit\nLR-1," + b"x" * 200_000 + b",moped,D,km\n",
        "line 2",
        "longer",
        "quote",
    ),
    (
        b"tag,description,kind,depot,meter unit\nLR-1," + b"x" * 5_000 + b",moped,D,km\n",
        "row 2",
        "longer",
        "Shorten",
    ),
    (
        b"tag,description,kind,depot,meter unit,\nLR-1,b,moped,D,km,lost\n",
        "row 2",
        "without a name",
        "column 6",
    ),
]


@pytest.mark.parametrize(("data", "where", "what", "todo"), BYTES)
def test_a_file_that_is_not_plain_csv_is_told_kindly(tmp_path, data, where, what, todo):
    (tmp_path / "vehicles.csv").write_bytes(data)
    told = the_problem(tmp_path)
    assert where in told.split(": ")[0]
    assert what in told
    assert todo in told


def test_problems_of_all_files_are_told_together(tmp_path):
    folder = write_folder(
        tmp_path,
        vehicles=with_row("vehicles", "LR-2,Bike,rocket,Upper Depot,parsec"),
        meter=with_row("meter", "LR-001,yesterday,lots"),
    )
    assert [told.split(":")[0] for told in problems_of(folder)] == [
        "meter.csv row 4, date",
        "meter.csv row 4, meter",
        "vehicles.csv row 5, kind",
        "vehicles.csv row 5, meter unit",
    ]


def test_a_flood_of_problems_is_counted_rather_than_listed(tmp_path):
    rows = "".join(f"LR-001,2026-07-01,x{n}\n" for n in range(700))
    told = problems_of(write_folder(tmp_path, meter=SMALL_FLEET["meter"] + rows))
    assert len(told) == MOST_PROBLEMS + 1
    assert told[-1].startswith("200 more problems")


def test_an_unknown_file_is_told_with_the_name_it_may_mean(tmp_path):
    folder = write_folder(tmp_path)
    (folder / "reading.csv").write_text("a,b\n", encoding="utf-8")
    assert "Did you mean “readings.csv”" in the_problem(folder)


def test_other_files_in_a_folder_are_left_alone(tmp_path):
    folder = write_folder(tmp_path)
    (folder / "notes.txt").write_text("ride safely", encoding="utf-8")
    assert len(read_import([folder]).vehicles) == 3


@pytest.mark.parametrize("name", ["nowhere", "nowhere/vehicles.csv"])
def test_a_missing_file_is_a_problem_with_files(tmp_path, name):
    with pytest.raises(WearlogError) as caught:
        read_import([tmp_path / name])
    assert [problem.kind for problem in caught.value.problems] == [ProblemKind.FILE]


def test_a_folder_without_csv_files_names_those_it_looks_for(tmp_path):
    assert "vehicles.csv" in the_problem(tmp_path)


def test_reading_can_be_stopped(tmp_path):
    rows = "".join(f"LR-001,2026-07-01,{3000 + n}\n" for n in range(3000))

    class Stop:
        def step(self, *_told) -> None:
            raise Cancelled

    with pytest.raises(Cancelled):
        read_import([write_folder(tmp_path, meter=SMALL_FLEET["meter"] + rows)], Stop())


def test_a_row_number_is_the_one_a_spreadsheet_shows(tmp_path):
    """A quoted line break makes two lines of text but one row."""
    text = 'tag,description,kind,depot,meter unit\nLR-1,"a\nb\nc",moped,D,km\nLR-2,x,rocket,D,km\n'
    assert "row 3, kind" in the_problem(write_folder(tmp_path, vehicles=text))


def test_what_is_written_by_the_csv_module_is_read_as_it_was(tmp_path):
    """RFC 4180 quoting: commas, quote marks and line breaks inside cells."""
    awkward = 'He said "42", then\nleft; why?'
    stream = io.StringIO(newline="")
    csv.writer(stream).writerows(
        [["tag", "description", "kind", "depot", "meter unit"], ["A", awkward, "moped", "D", "km"]]
    )
    folder = write_folder(tmp_path)
    (folder / "vehicles.csv").write_bytes(stream.getvalue().encode())
    assert read_import([folder]).vehicles[0].description == awkward


def test_a_task_says_what_was_used(tmp_path):
    text = "vehicle,date,meter,tasks\nLR-001,2025-03-01,1800,%s\n"
    file = tmp_path / "visits.csv"
    tasks = (
        "clean = citrus cleaner; lubricate: final drive = dry wax; "
        "set tension: final drive 52 mm > 38 mm = torque stick; lubricate: stage a=b"
    )
    file.write_text(text % tasks, encoding="utf-8")
    read = read_import([file]).visits[0].tasks
    assert [(task.stage, task.care) for task in read] == [
        ("", "citrus cleaner"),
        ("final drive", "dry wax"),
        ("final drive", "torque stick"),
        ("stage a=b", ""),
    ]
    assert (read[2].before, read[2].after) == (52.0, 38.0)
    file.write_text(text % "lubricate: final drive =", encoding="utf-8")
    with pytest.raises(WearlogError, match=r"row 2, tasks.*does not say what was used"):
        read_import([file])
