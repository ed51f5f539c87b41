"""Kills the program while it saves and imports: ``python -m tests.store.killed FOLDER SAVES IMPORTS SEED``.

A process of its own without threads, so that each round is a fork of it: the child opens the database and
works, and says on a pipe what was saved; it is killed (SIGKILL) at a random moment. After each round the file
is looked at with SQLite alone. What came of all rounds is printed as JSON.

A killed process leaves to the kernel what it wrote; a power cut does not. Every third round therefore also
loses what a power cut may lose: all that was written to the log after the last save that was reported, in
part overwritten with noise, and the shared memory beside it.
"""

import json
import os
import random
import select
import signal
import sqlite3
import sys
import time
import traceback
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from tests.makers.bench import TODAY, add_motorcycle, empty_bench
from tests.makers.import_folder import write_folder
from wearlog.exchange.csv_folder import read_import
from wearlog.fleet.progress import Silent
from wearlog.fleet.reading import Measurand, Spot
from wearlog.store.database import Database
from wearlog.workshop.bench import Bench, FixedClock
from wearlog.workshop.bring_in import bring_in
from wearlog.workshop.keeping import verify
from wearlog.workshop.measure import open_sheet, save
from wearlog.workshop.sheet import EntryDraft, SheetDraft

#: How far the meter goes from save to save, so that it never runs backwards, [km].
STEP_KM = 0.01
#: A round lasts at most so long at first; then as long as a few saves take on this machine, [s].
LONGEST_S = 0.3


@dataclass
class Came:
    """What came of the rounds."""

    saves: int = 0
    imports: int = 0
    kills: int = 0
    torn: int = 0
    before_opening: int = 0
    acknowledged: int = 0
    kept_unreported: int = 0
    imports_whole: int = 0
    imports_none: int = 0
    wrong: list[str] = field(default_factory=list)
    seconds: float = 0.0


def bench_of(file):
    return Bench(Database.open(file, now=FixedClock(TODAY).now()), "Robin", FixedClock(TODAY))


def killed_after(work, delay_s):
    """Let a child work until it is killed, and return the lines that it said and whether it was killed."""
    ours, theirs = os.pipe()
    child = os.fork()
    if child == 0:
        code = 1
        try:
            os.close(ours)
            work(lambda line: os.write(theirs, f"{line}\n".encode()))
            code = 0
        except BaseException:
            traceback.print_exc()
            raise
        finally:
            os._exit(code)
    os.close(theirs)
    end = time.monotonic() + delay_s
    said = b""
    while (left := end - time.monotonic()) > 0:
        if select.select([ours], [], [], left)[0]:
            some = os.read(ours, 65536)
            if not some:
                break
            said += some
    os.kill(child, signal.SIGKILL)
    _pid, status = os.waitpid(child, 0)
    while some := os.read(ours, 65536):
        said += some
    os.close(ours)
    if os.WIFEXITED(status) and os.WEXITSTATUS(status):
        message = f"the child failed after saying {said!r}"
        raise RuntimeError(message)
    # A line that was not finished was not said.
    return said.decode().split("\n")[:-1], os.WIFSIGNALED(status)


def tear_log(file, length, chance):
    """Lose what was written to the log after its first bytes, and the shared memory."""
    log = file.with_name(file.name + "-wal")
    if not log.exists():
        return False
    whole = log.stat().st_size
    with log.open("r+b") as opened:
        keep = chance.randint(length, max(length, whole))
        opened.truncate(keep)
        if chance.random() < 0.5:
            noise_from = chance.randint(length, keep)
            opened.seek(noise_from)
            opened.write(chance.randbytes(keep - noise_from))
    file.with_name(file.name + "-shm").unlink(missing_ok=True)
    return True


# -- saving ------------------------------------------------------------------------------------------------


def saving(file, chain, asked, number, start_km):
    method = asked.method

    def work(say):
        bench = bench_of(file)
        say("open")
        n = 0
        while True:
            n += 1
            km = start_km + n * STEP_KM
            spot = Spot(typed="31", value=31.0, resolution=1.0)
            entry = EntryDraft(text="31", spots=(spot,), method=method)
            draft = SheetDraft(
                vehicle_id=chain.vehicle_id,
                on=TODAY,
                meter_text=f"{km:g}",
                meter_value=km,
                entries={asked.key: entry},
                notes=f"{number}.{n}",
            )
            save(bench, draft)
            log = file.with_name(file.name + "-wal")
            say(f"{number}.{n} {log.stat().st_size} {km!r}")

    return work


def look_at(file):
    """Return what SQLite alone sees: faults, and the notes of visits that are whole, half ones apart."""
    with closing(sqlite3.connect(file)) as opened:
        faults = [row[0] for row in opened.execute("PRAGMA integrity_check")]
        faults += [str(row) for row in opened.execute("PRAGMA foreign_key_check")]
        whole = """
            SELECT visit.notes, count(DISTINCT meter_entry.id), count(DISTINCT reading.id),
                   count(DISTINCT audit.id)
            FROM visit
            LEFT JOIN meter_entry ON meter_entry.visit_id = visit.id
            LEFT JOIN reading ON reading.visit_id = visit.id
            LEFT JOIN audit ON audit.record = 'Visit' AND audit.record_id = visit.id
            WHERE visit.notes <> '' GROUP BY visit.id
        """
        rows = opened.execute(whole).fetchall()
    half = [row for row in rows if row[1:] != (1, 1, 1)]
    return [fault for fault in faults if fault != "ok"], [row[0] for row in rows], half


def kill_while_saving(folder, rounds, chance, came):
    file = folder / "saving.sqlite"
    bench = empty_bench(file)
    chain = add_motorcycle(bench, readings=[(500.0, 0.001)])
    sheet = open_sheet(bench, chain.vehicle_id)
    asked = next(
        asked for block in sheet.blocks for asked in block.readings if asked.measurand is Measurand.SLACK
    )
    km = sheet.last_meter or 0.0
    bench.database.close()
    reported: list[str] = []
    longest_s = LONGEST_S
    for number in range(rounds):
        start = km + number * 100 * STEP_KM
        said, was_killed = killed_after(
            saving(file, chain, asked, number, start), chance.uniform(0.0, longest_s)
        )
        came.saves += 1
        came.kills += was_killed
        came.before_opening += not said
        saves = [line.split() for line in said if line != "open"]
        reported += [words[0] for words in saves]
        longest_s = max(0.1, longest_s * (0.95 if len(saves) >= 3 else 1.02 if saves else 1.05))
        if number % 3 == 0 and saves:
            came.torn += tear_log(file, int(saves[-1][1]), chance)
        faults, kept, half = look_at(file)
        missing = set(reported) - set(kept)
        doubled = len(kept) - len(set(kept))
        unreported = [one for one in kept if one.split(".")[0] == str(number) and one not in reported]
        if faults or half or missing or doubled or len(unreported) > 1:
            came.wrong.append(
                f"round {number}: {faults} half {half} missing {missing} doubled {doubled} {unreported}"
            )
        came.kept_unreported += len(unreported)
        reported += unreported
    came.acknowledged = len(reported) - came.kept_unreported
    bench = bench_of(file)
    came.wrong += [str(finding) for finding in verify(bench).findings]
    bench.database.close()


# -- importing ---------------------------------------------------------------------------------------------

COUNTED = ("vehicle", "stage", "part", "installation", "visit", "meter_entry", "reading", "row_key", "audit")


def counts(file):
    with closing(sqlite3.connect(file)) as opened:
        faults = [row[0] for row in opened.execute("PRAGMA integrity_check")]
        faults += [str(row) for row in opened.execute("PRAGMA foreign_key_check")]
        numbers = [
            opened.execute(f"SELECT count(*) FROM {table}").fetchone()[0]  # noqa: S608 - our own names
            for table in COUNTED
        ]
    return [fault for fault in faults if fault != "ok"], numbers


def kill_while_importing(folder, rounds, chance, came):
    rows = read_import([write_folder(folder / "csv")], Silent())
    model = folder / "model.sqlite"
    bench = empty_bench(model)
    bench.database.close()
    _faults, before = counts(model)
    bare = model.read_bytes()
    started = time.monotonic()
    bench = bench_of(model)
    bring_in(bench, rows)
    bench.database.close()
    lasts = time.monotonic() - started
    _faults, after = counts(model)

    def work_on(file):
        def work(say):
            bench = bench_of(file)
            bring_in(bench, rows)
            say("imported")
            bench.database.close()

        return work

    for number in range(rounds):
        file = folder / f"import-{number}.sqlite"
        file.write_bytes(bare)
        said, was_killed = killed_after(work_on(file), chance.uniform(0.0, 1.3 * lasts))
        came.imports += 1
        came.kills += was_killed
        faults, seen = counts(file)
        came.imports_whole += seen == after
        came.imports_none += seen == before
        if faults or seen not in (before, after) or (said and seen != after):
            came.wrong.append(f"import {number}: {faults} {seen} said {said}")
        bench = bench_of(file)
        bring_in(bench, rows)
        bench.database.close()
        again = counts(file)
        if again != ([], after):
            came.wrong.append(f"import {number} again: {again}")
        file.unlink()


def main():
    folder, saves, imports, seed = Path(sys.argv[1]), *map(int, sys.argv[2:5])
    chance = random.Random(seed)  # noqa: S311 - moments, not secrets
    came = Came()
    started = time.monotonic()
    kill_while_saving(folder, saves, chance, came)
    kill_while_importing(folder, imports, chance, came)
    came.seconds = round(time.monotonic() - started, 1)
    sys.stdout.write(json.dumps(came.__dict__) + "\n")


if __name__ == "__main__":
    main()
