"""Folders of CSV files in the import format: a small fleet, changed as a test needs it. All invented."""

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from wearlog.exchange.csv_folder import read_import
from wearlog.fleet.problem import WearlogError
from wearlog.store.database import Database
from wearlog.store.rows import R
from wearlog.workshop.bench import Bench, FixedClock
from wearlog.workshop.bring_in import Brought, bring_in

TODAY = date(2026, 11, 23)

SMALL_FLEET = {
    "vehicles": """\
tag,description,kind,depot,meter unit,duty,in service since
LR-001,"Patrol motorcycle, belt primary",electric motorcycle,Upper Depot,km,off-road,2025-01-02
LC-01,Cargo e-bike,cargo e-bike,Harbour Depot,mi,road,2025-01-02
LT-01,Trail motorcycle,petrol motorcycle,Upper Depot,h,off-road,2025-01-02
""",
    "stages": """\
vehicle,stage,order,drive,centre distance [mm],belt span [mm],slack definition
LR-001,primary drive,1,belt,200,180,
LR-001,final drive,2,chain,600,,"lower run, mid-span, total"
LC-01,final drive,1,chain,440,,
LT-01,final drive,1,chain,610,,"lower run, mid-span, total"
""",
    "part_types": """\
name,kind,designation,wear class,pitch [mm],roller diameter [mm],links,teeth,width [mm],mass per length [kg/m]
Chain 428 sealed,chain,428,sealed motorcycle chain,12.7,8.51,118,,,
Sprocket 428 14 t,sprocket,428,sprocket,12.7,8.51,,14,,
Belt H8M 80 t,belt,H8M,toothed belt,8,,,80,20,0.12
Chain 1/2 x 3/32,chain,1/2 x 3/32,derailleur cycle chain,12.7,7.75,114,,,
""",
    "instruments": """\
name,kind,resolution,standard uncertainty,bias,stamps
Caliper,caliper,0.01 mm,0.03 mm,,
Gauge,two-prong gauge,,0.05 %,0.1 %,0.5 = 0.5 %; 0.75 = 0.75 %
Ring,frequency meter,0.1 Hz,0.5 Hz,,
""",
    "meter": """\
vehicle,date,meter,event,old meter
LR-001,2025-06-01,0,replaced,3000
LR-001,2026-06-01,2500,,
""",
    "installations": """\
vehicle,stage,position,part type,fitted on,fitted at,part,removed on,removed at,reason
LR-001,final drive,run,Chain 428 sealed,2025-01-10,100,K-1,2025-09-01,900,worn
LR-001,final drive,run,Chain 428 sealed,2025-09-01,900,K-2,,,
LR-001,final drive,driver,Sprocket 428 14 t,2025-01-10,100,,,,
LR-001,primary drive,run,Belt H8M 80 t,2025-01-10,100,,,,
LC-01,final drive,run,Chain 1/2 x 3/32,2025-01-10,10,K-3,,,
LT-01,final drive,run,Chain 428 sealed,2025-01-10,1,K-4,,,
""",
    "visits": """\
vehicle,date,meter,by,tasks,cost
LR-001,2025-03-01,1800,Ada,clean; lubricate: final drive; set tension: final drive 52 mm > 38 mm,20
""",
    "readings": """\
vehicle,stage,date,meter,measurand,method,spots [mm],position,pitches,instrument,cleaned,zero reading
LR-001,final drive,2025-01-10,100,chain elongation,same side of two rollers,254.02,run,20,Caliper,yes,yes
LR-001,final drive,2025-03-01,1800,chain elongation,same side of two rollers,254.6;254.9;254.7,run,20,Caliper
LR-001,final drive,2025-09-01,900,chain elongation,same side of two rollers,10.06 in,run,20,Caliper,yes,
LR-001,final drive,2025-09-01,900,chain elongation,same side of two rollers,254.05,run,20,Caliper,yes,yes
LR-001,final drive,2025-09-01,900,slack,direct,34;40,,,,,
LR-001,primary drive,2025-09-01,900,static belt tension,span frequency,62 Hz; 66 Hz,run,,Ring,,
LC-01,final drive,2025-08-01,600,chain elongation,drop-in gauge,0.5 in; 0.75 out,run,,Gauge,,
LT-01,final drive,2025-08-01,90.5,chain elongation,inside and outside,119.7/136.7; 119.8/136.8,run,10,Caliper
""",
}


def write_folder(folder: Path, **files: str | None) -> Path:
    """Write the small fleet into a folder; a named file has other content, None leaves it out."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in {**SMALL_FLEET, **files}.items():
        if text is not None:
            (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return folder


def with_row(name: str, row: str) -> str:
    """Return a file of the small fleet with one more row; it is the last one."""
    return f"{SMALL_FLEET[name]}{row}\n"


def without(name: str, *starts: str) -> str:
    """Return a file of the small fleet without the rows that start so."""
    lines = SMALL_FLEET[name].splitlines(keepends=True)
    return "".join(line for line in lines if not line.startswith(starts))


def new_bench(file: Path | str = ":memory:", today: date = TODAY) -> Bench:
    """Return a bench on a new database without any defaults."""
    return Bench(Database.open(file, now=datetime.now(UTC)), "Ada", FixedClock(today))


def brought(bench: Bench, folder: Path) -> Brought:
    """Bring in a folder."""
    return bring_in(bench, read_import([folder]))


def problems_of(bench: Bench, folder: Path) -> list[str]:
    """Return what is said of a folder that can't be brought in."""
    with pytest.raises(WearlogError) as caught:
        brought(bench, folder)
    return [str(problem) for problem in caught.value.problems]


def kept(bench: Bench, kind: type[R], **equal: object) -> tuple[R, ...]:
    """Return the records that are kept."""
    with bench.database.reading() as records:
        return records.all(kind, **equal)
