"""An import with mistakes: each one is told with its place, and nothing is let in."""

import pytest

from tests.makers.import_folder import (
    SMALL_FLEET,
    brought,
    kept,
    new_bench,
    problems_of,
    with_row,
    write_folder,
)
from wearlog.exchange.csv_folder import read_import
from wearlog.fleet.problem import Cancelled
from wearlog.fleet.reading import Reading
from wearlog.fleet.vehicle import Vehicle
from wearlog.workshop.bring_in import bring_in


@pytest.fixture
def bench():
    bench = new_bench()
    yield bench
    bench.database.close()


def test_one_bad_row_lets_nothing_in(bench, tmp_path):
    row = "LR-01,final drive,2026-06-01,2500,slack,direct,30,,,,,"
    told = problems_of(bench, write_folder(tmp_path, readings=with_row("readings", row)))
    assert told == [
        "readings.csv row 10, vehicle: There is no vehicle LR-01. Did you mean LR-001?",
    ]
    assert kept(bench, Vehicle) == ()
    assert brought(bench, write_folder(tmp_path)).rows_added == 31


def test_a_stopped_import_leaves_no_trace(bench, tmp_path):
    class StopAtSaving:
        def step(self, *told):
            if told[2] == "Saving":
                raise Cancelled

    rows = read_import([write_folder(tmp_path)])
    with pytest.raises(Cancelled):
        bring_in(bench, rows, StopAtSaving())
    assert kept(bench, Vehicle) == ()
    assert kept(bench, Reading) == ()


ROWS = [
    ("stages", "LR-009,final drive,1,chain,,,", "stages.csv row 6, vehicle", "no vehicle LR-009"),
    ("stages", "LR-001,third,2,chain,,,", "stages.csv row 6, order", "another stage with the order 2"),
    ("vehicles", "LR-001,Twin,moped,Upper Depot,km,,", "vehicles.csv row 5", "stands there twice"),
    ("meter", "LR-001,2026-07-01,2400", "meter.csv row 4, meter", "2400 km is below 2500 km on 2026-06-01"),
    ("meter", "LR-001,2026-06-02,9000", "meter.csv row 4, meter", "more than any day allows"),
    ("meter", "LR-001,2027-06-02,9000", "meter.csv row 4, date", "lies in the future"),
    ("meter", "LR-001,2026-07-01,30 h", "meter.csv row 4, meter", "counts km"),
    ("meter", "LT-01,2026-07-01,30 km", "meter.csv row 4, meter", "counts h"),
    ("meter", "LR-001,2026-07-01,10,replaced,2400", "meter.csv row 4, meter", "2400 km is below"),
    ("meter", "LR-001,2026-07-01,2600,,2400", "meter.csv row 4, old meter", "belongs to a replaced meter"),
    (
        "installations",
        "LC-01,final drive,driver,Chain 1/2 x 3/32,2025-01-10,10,,,,",
        "installations.csv row 8, position",
        "A chain does not belong in the position driver",
    ),
    (
        "installations",
        "LC-01,final drive,driven,Sprocket 48 t,2025-01-10,10,,,,",
        "installations.csv row 8, part type",
        "no part type Sprocket 48 t",
    ),
    (
        "installations",
        "LC-01,final drive,run,Chain 1/2 x 3/32,2025-06-10,300,,,,",
        "installations.csv row 8, fitted on",
        "has not come off by then",
    ),
    (
        "installations",
        "LT-01,final drive,driver,Sprocket 428 14 t,2025-01-10,1,,2025-01-09,1,worn",
        "installations.csv row 8, removed on",
        "before it was fitted",
    ),
    (
        "installations",
        "LT-01,final drive,driver,Sprocket 428 14 t,2025-01-10,1,,,,worn",
        "installations.csv row 8, removed on",
        "not when",
    ),
    (
        "installations",
        "LT-01,final drive,driver,Sprocket 428 14 t,2025-01-10,1,K-1,,,",
        "installations.csv row 8, part type",
        "The part K-1 is a Chain 428 sealed",
    ),
    (
        "visits",
        "LR-001,2025-04-01,2000,Ada,clean: rear drive,",
        "visits.csv row 3, tasks",
        "no stage rear drive",
    ),
    ("visits", "LR-001,2025-03-01,1800,Bo,inspect,", "visits.csv row 3", "two visits on 2025-03-01"),
    (
        "readings",
        "LR-001,final drive,2025-01-02,50,chain elongation,same side of two rollers,254,run,20,,,",
        "readings.csv row 10, date",
        "Nothing was fitted there yet on 2025-01-02",
    ),
    (
        "readings",
        "LC-01,final drive,2025-08-01,600,chain elongation,same side of two rollers,254,driven,20,,,",
        "readings.csv row 10, date",
        "No part sat there",
    ),
    (
        "readings",
        "LR-001,final drive,2025-08-01,600,sprocket condition grade,grade by eye,1,,,,,",
        "readings.csv row 10, position",
        "not said which one",
    ),
    (
        "readings",
        "LR-001,final drive,2025-08-01,600,static belt tension,span frequency,60 Hz,run,,,,",
        "readings.csv row 10, measurand",
        "is not measured on a chain",
    ),
    (
        "readings",
        "LR-001,final drive,2025-08-01,600,chain elongation,same side of two rollers,254,run,,,,",
        "readings.csv row 10, spots",
        "pitches",
    ),
    (
        "readings",
        "LC-01,final drive,2025-08-02,601,chain elongation,drop-in gauge,0.6 in,run,,Gauge,,",
        "readings.csv row 10, spots",
        "Gauge has no stamp 0.6",
    ),
    (
        "readings",
        "LC-01,final drive,2025-08-02,601,chain elongation,drop-in gauge,0.5 in,run,,,,",
        "readings.csv row 10, instrument",
        "What the stamps of the gauge mean",
    ),
    (
        "readings",
        "LR-001,primary drive,2025-09-01,900,static belt tension,deflection force,42 N/12; 44 N/13,run",
        "readings.csv row 10, spots",
        "different deflections",
    ),
    (
        "readings",
        "LR-001,final drive,2025-08-01,600,slack,direct,30,,,Calliper,,",
        "readings.csv row 10, instrument",
        "Did you mean Caliper",
    ),
]


@pytest.mark.parametrize(("file", "row", "where", "what"), ROWS)
def test_a_row_that_cannot_be_is_told_with_its_place(bench, tmp_path, file, row, where, what):
    told = problems_of(bench, write_folder(tmp_path, **{file: with_row(file, row)}))
    assert len(told) == 1, told
    assert told[0].startswith(f"{where}: ")
    assert what in told[0]
    assert kept(bench, Vehicle) == ()


def test_problems_of_all_steps_are_told_together(bench, tmp_path):
    folder = write_folder(
        tmp_path,
        meter=with_row("meter", "LR-001,2026-07-01,2400"),
        visits=with_row("visits", "LR-001,2025-04-01,2000,Ada,clean: rear drive,"),
        readings=with_row("readings", "LR-01,final drive,2026-06-01,2500,slack,direct,30,,,,,"),
    )
    assert [told.split(",")[0] for told in problems_of(bench, folder)] == [
        "meter.csv row 4",
        "visits.csv row 3",
        "readings.csv row 10",
    ]


def test_one_slip_in_a_meter_is_told_once(bench, tmp_path):
    """A value ten times too high must not condemn all values after it."""
    rows = "".join(f"LC-01,2026-0{month}-01,{value}\n" for month, value in ((2, 800), (3, 8500), (4, 900)))
    later = "LC-01,2026-05-01,1000\nLC-01,2026-06-01,1100\n"
    told = problems_of(bench, write_folder(tmp_path, meter=SMALL_FLEET["meter"] + rows + later))
    assert len(told) == 1
    assert "meter.csv row 6" in told[0]
    assert "meter.csv row 5" in told[0]


def test_a_meter_replaced_before_what_is_kept_is_refused(bench, tmp_path):
    """It would change the total use of readings that are kept already."""
    brought(bench, write_folder(tmp_path))
    text = with_row("meter", "LR-001,2025-02-01,0,replaced,1000")
    told = problems_of(bench, write_folder(tmp_path, meter=text))
    assert any("are kept already" in line for line in told)
