"""Many seats at one server: `python -m tests.benchmarks.bench_load WRITERS READERS VISITS VEHICLES LIMIT_S`.

Every seat is a process of its own with its own connection to one PostgreSQL server, which commits to disk.
Writers save one service after the other, as fast as they can; readers ask for the due list and the trend of
a vehicle and pause between. At the end every save that was acknowledged is looked for. After the limit no
save is begun any more, so that the run ends on a slow machine too.
"""

import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from multiprocessing import get_context
from multiprocessing.synchronize import Event
from uuid import uuid4

import numpy as np

from tests.makers.bench import SAMPLE_DAY
from tests.makers.big_fleet import big_bench
from tests.makers.server import running_server
from wearlog.fleet.fitting import Position
from wearlog.fleet.parts import PartKind
from wearlog.fleet.reading import Measurand, Method, Reading, Spot
from wearlog.fleet.service import Visit
from wearlog.store.database import Database
from wearlog.workshop.bench import Bench, FixedClock
from wearlog.workshop.due import due_snapshot
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.keeping import verify
from wearlog.workshop.learn import learned
from wearlog.workshop.measure import open_sheet, save
from wearlog.workshop.predict import trend_snapshot
from wearlog.workshop.sheet import EntryDraft, SheetDraft

#: How long a reader looks at what it was shown, [s].
LOOK_S = 5.0
#: What a vehicle goes between two services of the load, [km or h].
USE_BETWEEN = 4.0

#: What was acknowledged: vehicle, total use, number of the change.
Saved = tuple[int, float, str]


@dataclass(slots=True)
class Load:
    """What came of a run.

    Attributes
    ----------
    saved
        Every save that was acknowledged.
    took_s
        How long each question or save took, by what it was, [s].
    before, after
        Visits and readings before and after.
    lost, doubled
        Acknowledged saves that are not there, and those that are there more than once.
    findings
        What a look through the whole database found.
    elapsed_s
        From the first save to the last, [s].
    """

    saved: list[Saved] = field(default_factory=list)
    took_s: dict[str, list[float]] = field(default_factory=dict)
    before: tuple[int, int] = (0, 0)
    after: tuple[int, int] = (0, 0)
    lost: int = 0
    doubled: int = 0
    findings: tuple[str, ...] = ()
    elapsed_s: float = 0.0

    def add_times(self, times: dict[str, list[float]]) -> None:
        """Add what one seat has measured."""
        for what, some in times.items():
            self.took_s.setdefault(what, []).extend(some)


def chains_that_run(state: FleetState) -> dict[int, int]:
    """Return the chain that runs on each vehicle in service."""
    return {
        one.vehicle_id: one.id
        for one in state.installations.values()
        if one.is_current
        and one.position is Position.RUN
        and state.part_type_of(one).kind is PartKind.CHAIN
        and state.vehicles[one.vehicle_id].retired_on is None
    }


def seat(address: str, name: str) -> Bench:
    """Return a bench of its own at the server."""
    clock = FixedClock(SAMPLE_DAY)
    return Bench(Database.open(address, now=clock.now()), name, clock)


def timed(times: dict[str, list[float]], what: str, work: Callable[[], object]) -> object:
    """Return what some work gives, and note how long it took."""
    begun = time.perf_counter()
    result = work()
    times.setdefault(what, []).append(time.perf_counter() - begun)
    return result


def first_sheet(bench: Bench, vehicle_id: int) -> SheetDraft:
    """Return a sheet of a vehicle with the meter and the length of its chain."""
    sheet = open_sheet(bench, vehicle_id)
    asked = next(
        asked
        for block in sheet.blocks
        for asked in block.readings
        if asked.measurand is Measurand.CHAIN_ELONGATION
    )
    entry = EntryDraft(
        text="255.10",
        spots=(Spot(typed="255.10", value=20 * (asked.pitch_mm or 12.7) * 1.0045, resolution=0.01),),
        method=Method.OVER_ROLLERS,
        pitches=20,
        was_cleaned=True,
    )
    value = sheet.last_meter or 0.0
    return SheetDraft(vehicle_id, SAMPLE_DAY, meter_value=value, entries={asked.key: entry})


def write(
    address: str, number: int, vehicle_ids: Sequence[int], visits: int, limit_s: float
) -> tuple[list[Saved], dict[str, list[float]]]:
    """Save so many services, on some vehicles in turn; return what was acknowledged, and how long it took."""
    bench = seat(address, f"Writer {number}")
    times: dict[str, list[float]] = {}
    saved: list[Saved] = []
    sheets = {vehicle_id: first_sheet(bench, vehicle_id) for vehicle_id in vehicle_ids}
    begun = time.monotonic()
    for turn in range(visits):
        if time.monotonic() - begun > limit_s:
            break
        vehicle_id = vehicle_ids[turn % len(vehicle_ids)]
        value = (sheets[vehicle_id].meter_value or 0.0) + USE_BETWEEN
        sheet = sheets[vehicle_id] = replace(
            sheets[vehicle_id], meter_value=value, meter_text=f"{value:g}", save_key=uuid4().hex
        )
        changes = timed(times, "save a service", lambda sheet=sheet: save(bench, sheet))
        saved.append((vehicle_id, value, changes.change_id))  # type: ignore[attr-defined]
    bench.database.close()
    return saved, times


def read(address: str, number: int, vehicle_ids: Sequence[int], is_over: Event) -> dict[str, list[float]]:
    """Ask for the due list and a trend again and again until the writers are done."""
    bench = seat(address, f"Reader {number}")
    times: dict[str, list[float]] = {}
    turn = number
    chains = chains_that_run(fleet_state(bench))
    while not is_over.is_set():
        timed(times, "due list after changes", lambda: due_snapshot(bench))
        vehicle_id = vehicle_ids[turn % len(vehicle_ids)]
        installation_id = chains[vehicle_id]
        timed(
            times,
            "trend of one vehicle",
            lambda vehicle_id=vehicle_id, part=installation_id: trend_snapshot(bench, vehicle_id, part),
        )
        turn += 1
        is_over.wait(LOOK_S)
    bench.database.close()
    return times


def run(address: str, writers: int, readers: int, visits: int, vehicles: int, limit_s: float) -> Load:
    """Let writers save so many services in all on a fleet of so many vehicles, while readers read."""
    office = big_bench(address, vehicles)
    learned(office)
    ids = sorted(chains_that_run(fleet_state(office)))
    load = Load(before=_counted(office))
    context = get_context("spawn")
    with context.Manager() as manager, ProcessPoolExecutor(writers + readers, context) as seats:
        is_over = manager.Event()
        reading = [seats.submit(read, address, n, ids, is_over) for n in range(readers)]
        begun = time.perf_counter()
        writing = [
            seats.submit(write, address, n, ids[n::writers], len(range(n, visits, writers)), limit_s)
            for n in range(writers)
        ]
        try:
            for saved, times in _results(writing):
                load.saved += saved
                load.add_times(times)
        finally:
            is_over.set()
        load.elapsed_s = time.perf_counter() - begun
        for times in _results(reading):
            load.add_times(times)
    load.after = _counted(office)
    _look_for_all(office, load)
    load.findings = tuple(str(one) for one in verify(office).findings)
    office.database.close()
    return load


def _results(futures: Iterable[Future]) -> Iterable:  # type: ignore[type-arg]
    return [future.result() for future in futures]


def _counted(bench: Bench) -> tuple[int, int]:
    with bench.database.reading() as records:
        return records.count(Visit), records.count(Reading)


def _look_for_all(bench: Bench, load: Load) -> None:
    with bench.database.reading() as records:
        places = Counter((visit.vehicle_id, visit.on) for visit in records.all(Visit, on=SAMPLE_DAY))
        changes = Counter(entry.change_id for entry in records.audit() if entry.record == "Visit")
    wanted = Counter((vehicle_id, SAMPLE_DAY) for vehicle_id, _use, _change in load.saved)
    load.lost = sum(changes[change_id] == 0 for _vehicle, _use, change_id in load.saved)
    load.doubled = sum(changes[change_id] > 1 for _vehicle, _use, change_id in load.saved)
    load.doubled += sum(max(places[place] - count, 0) for place, count in wanted.items())


def main() -> None:
    """Print what came of a run."""
    numbers = [int(one) for one in sys.argv[1:]] or [8, 4, 20_000, 400, 3600]
    writers, readers, visits, vehicles, limit_s = numbers
    with running_server(is_durable=True) as address:
        load = run(address, writers, readers, visits, vehicles, limit_s)
    lines = [
        f"{writers} writers, {readers} readers, {visits} services wanted on {vehicles} vehicles",
        f"{load.elapsed_s:.0f} s, {len(load.saved) / load.elapsed_s:.1f} services a second",
        f"visits {load.before[0]} -> {load.after[0]}, readings {load.before[1]} -> {load.after[1]}",
        f"acknowledged {len(load.saved)}, lost {load.lost}, doubled {load.doubled}",
        f"verify: {len(load.findings)} findings {load.findings[:3]}",
        "| what | times | half | 95 % | 99 % | longest |",
    ]
    for what, some in load.took_s.items():
        quantiles = [*np.percentile(np.array(some) * 1000.0, [50, 95, 99]), max(some) * 1000.0]
        lines.append(f"| {what} | {len(some)} | " + " | ".join(f"{one:.0f} ms" for one in quantiles) + " |")
    print("\n".join(lines))  # noqa: T201


if __name__ == "__main__":
    main()
