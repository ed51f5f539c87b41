"""How fast the workshop answers: `python -m tests.benchmarks.bench_workshop 300 3000 10000`.

Each number is a fleet of so many vehicles, made in a file that is thrown away. Times are of one core, elapsed
and of the processor, with the collector of cycles still, as it is while the window waits for work. Memory is
the most that a process held which opened the file and asked for the due list and the fleet list.
"""

import gc
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from datetime import date, timedelta
from multiprocessing import get_context
from pathlib import Path

from tests.makers.bench import SAMPLE_DAY
from tests.makers.big_fleet import big_bench
from wearlog.fleet.fitting import Position
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.reading import Measurand, Method, Reading
from wearlog.measuring.evaluated import Evaluated
from wearlog.store.database import Database
from wearlog.wording import set_up_translations
from wearlog.workshop.bench import Bench, FixedClock
from wearlog.workshop.conditions import conditions
from wearlog.workshop.due import due_snapshot
from wearlog.workshop.fleet_snapshot import FleetSnapshot
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.foresee import foresee
from wearlog.workshop.judge import fleet_snapshot
from wearlog.workshop.learn import learned
from wearlog.workshop.outlook import outlooks
from wearlog.workshop.predict import trend_snapshot
from wearlog.workshop.usage import vehicle_uses

Table = dict[str, tuple[float, float]]


def taken(table: Table, what: str, work: Callable[[], object]) -> None:
    """Note how long some work takes, elapsed and on the processor, [s]."""
    gc.collect()
    gc.disable()
    elapsed, used = time.perf_counter(), time.process_time()
    work()
    table[what] = (time.perf_counter() - elapsed, time.process_time() - used)
    gc.enable()


def made(file: Path, vehicles: int) -> None:
    """Make the fleet in a file."""
    bench = big_bench(file, vehicles)
    bench.database.close()


def run(vehicles: int, folder: Path) -> Table:
    """Return what each question takes on a fleet of so many vehicles."""
    table: Table = {}
    file = folder / f"{vehicles}.sqlite"
    taken(table, "make the fleet", lambda: made(file, vehicles))
    clock = FixedClock(SAMPLE_DAY)
    benches: list[Bench] = []

    def open_again(clock: FixedClock = clock) -> Bench:
        benches.append(Bench(Database.open(file, now=clock.now()), "Tilda", clock))
        return benches[-1]

    taken(table, "open the database", open_again)
    bench = benches[-1]
    taken(table, "learn from nothing", lambda: (learned(bench), vehicle_uses(bench)))
    taken(table, "due list, first of the day", lambda: due_snapshot(open_again()))
    taken(table, "due list, later that day", lambda: due_snapshot(open_again()))
    with ProcessPoolExecutor(1, get_context("spawn")) as other:
        table["memory later that day, MB"] = (other.submit(memory_mb, file, SAMPLE_DAY).result(), 0.0)
    one, other_seat = open_again(), open_again()
    due_snapshot(one)
    save(other_seat, 5)
    taken(table, "  after the first change", lambda: due_snapshot(one))
    save(other_seat, 6)
    taken(table, "  after one change more", lambda: due_snapshot(one))
    # On another day nothing is read back.
    parts = open_again(FixedClock(SAMPLE_DAY + timedelta(days=1)))
    for what, work in (
        ("  of it: read the fleet", lambda: fleet_state(parts)),
        ("  of it: readings and parts", lambda: learned(parts)),
        ("  of it: use of vehicles", lambda: vehicle_uses(parts)),
        ("  of it: look ahead", lambda: outlooks(parts)),
        ("  of it: grades by eye", lambda: conditions(parts)),
        ("  of it: lines and visits", lambda: due_snapshot(parts)),
    ):
        taken(table, what, work)
    taken(table, "fleet list after it", lambda: fleet_snapshot(parts))
    fleet = fleet_snapshot(parts)
    taken(table, "find a vehicle in the list", lambda: found(fleet, "00123 428"))
    save(parts, 1)
    due_snapshot(parts)
    taken(table, "save a reading", lambda: save(parts, 2))
    taken(table, "due list after one change", lambda: due_snapshot(parts))
    taken(table, "fleet list after one change", lambda: fleet_snapshot(parts))
    vehicle_id, installation_id = place(parts, 3)
    use = fleet_state(parts).histories[vehicle_id].last
    total = 0.0 if use is None else use.total_use
    result = Evaluated(value=0.004, low=None, high=None, u_value=0.0003, mean=0.004, spread=0.0)
    elongation = Measurand.CHAIN_ELONGATION
    taken(
        table,
        "one reading to its date",
        lambda: foresee(parts, installation_id, elongation, total, SAMPLE_DAY, result),
    )
    taken(table, "trend of one vehicle", lambda: trend_snapshot(parts, vehicle_id, installation_id))
    for one in benches:
        one.database.close()
    with ProcessPoolExecutor(1, get_context("spawn")) as other:
        day = SAMPLE_DAY + timedelta(days=2)
        table["memory, MB"] = (other.submit(memory_mb, file, day).result(), 0.0)
    return table


def memory_mb(file: Path, day: date) -> float:
    """Return the most memory that this process has held after it made the due list on a day, [MB].

    On the first start of a day the fleet list is made as well.
    """
    clock = FixedClock(day)
    bench = Bench(Database.open(file, now=clock.now()), "Tilda", clock)
    due_snapshot(bench)
    if day != SAMPLE_DAY:
        fleet_snapshot(bench)
    bench.database.close()
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def found(fleet: FleetSnapshot, words: str) -> int:
    """Return how many vehicles of a list have all words, as the list's filter looks for them."""
    wanted = words.casefold().split()
    return sum(1 for row in fleet.rows if all(word in row.search_text for word in wanted))


def place(bench: Bench, number: int) -> tuple[int, int]:
    """Return one of the vehicles that count km, and the chain of its last stage."""
    state = fleet_state(bench)
    chosen = [v for v in state.vehicles.values() if v.retired_on is None and v.meter_unit.use_unit == "km"]
    vehicle = chosen[number]
    stage = state.stages_of[vehicle.id][-1]
    run_ = next(one for one in state.current_on(stage.id) if one.position is Position.RUN)
    return vehicle.id, run_.id


def save(bench: Bench, number: int) -> None:
    """Save a meter entry and a reading of a vehicle."""
    vehicle_id, installation_id = place(bench, number)
    state = fleet_state(bench)
    last = state.histories[vehicle_id].last
    use = (0.0 if last is None else last.total_use) + 5.0
    stage_id = state.installations[installation_id].stage_id
    with bench.database.writing(by=bench.by, at=bench.now(), what="measure") as records:
        records.add(MeterEntry(vehicle_id=vehicle_id, on=SAMPLE_DAY, value=use))
        records.add(
            Reading(
                vehicle_id=vehicle_id,
                stage_id=stage_id,
                installation_id=installation_id,
                visit_id=None,
                on=SAMPLE_DAY,
                total_use=use,
                measurand=Measurand.CHAIN_ELONGATION,
                method=Method.OVER_ROLLERS,
                value=0.004,
                u_value=0.0003,
            )
        )


def main() -> None:
    """Print a table with a column for each fleet."""
    set_up_translations()
    sizes = [int(text) for text in sys.argv[1:]] or [300, 3000, 10_000]
    with tempfile.TemporaryDirectory() as folder:
        tables = {size: run(size, Path(folder)) for size in sizes}
    print(f"{'seconds, elapsed (processor)':32}" + "".join(f"{size:>20}" for size in sizes))  # noqa: T201
    for what in tables[sizes[0]]:
        cells = (tables[size][what] for size in sizes)
        print(f"{what:32}" + "".join(f"{one:>11.3f} ({used:.3f})" for one, used in cells))  # noqa: T201


if __name__ == "__main__":
    main()
