"""Brings in the rows of an import: all or nothing, and the same rows twice add nothing."""

from contextlib import suppress
from dataclasses import dataclass, field
from gettext import gettext as _
from typing import TypeVar

from wearlog.fleet.fitting import Installation
from wearlog.fleet.parts import Part, PartType
from wearlog.fleet.problem import Doubt, Problem, WearlogError
from wearlog.fleet.progress import Progress, Silent
from wearlog.fleet.reading import Instrument
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.store.records import Records
from wearlog.workshop.bench import Bench
from wearlog.workshop.bring_in_context import Import
from wearlog.workshop.bring_in_fittings import bring_fittings
from wearlog.workshop.bring_in_meter import bring_meter
from wearlog.workshop.bring_in_named import (
    bring_instruments,
    bring_limits,
    bring_part_types,
    bring_rules,
    bring_stages,
    bring_vehicles,
)
from wearlog.workshop.bring_in_readings import bring_readings
from wearlog.workshop.bring_in_stock import bring_stock
from wearlog.workshop.bring_in_visits import bring_visits
from wearlog.workshop.changes import Changes
from wearlog.workshop.import_rows import ImportRow, ImportRows
from wearlog.workshop.row_keys import new_rows

R = TypeVar("R", bound=ImportRow)

#: More problems than this help nobody; the rest is counted.
MOST_PROBLEMS = 500
#: Taking back goes record by record, while others wait to save; more of them than this are not offered.
MOST_UNDONE = 1000


@dataclass(frozen=True, slots=True)
class Brought:
    """What an import added.

    Attributes
    ----------
    added, already
        Rows by file, such as ``{"vehicles": 40}``: added now, and kept before. What rows imply (visits and
        meter entries of the day) is counted under names that end in "implied".
    changes
        For pages and for undo; None if nothing was added.
    doubts
        What is odd about rows that were brought in all the same, each with its file and row.
    """

    added: dict[str, int]
    already: dict[str, int]
    changes: Changes | None
    doubts: tuple[Doubt, ...] = field(default=())

    @property
    def rows_added(self) -> int:
        """How many rows were added, without what they imply."""
        return sum(count for name, count in self.added.items() if not name.endswith("implied"))

    @property
    def rows_already(self) -> int:
        """How many rows were known."""
        return sum(self.already.values())


class _OnlyTried(Exception):
    """Ends a transaction that was to show what would come of it."""


def bring_in(bench: Bench, rows: ImportRows, progress: Progress | None = None) -> Brought:
    """Add the rows of an import and return what was added.

    Parameters
    ----------
    bench : Bench
        Where to.
    rows : ImportRows
        As `wearlog.exchange.csv_folder.read_import` returns them.
    progress : Progress or None
        Told step by step; may stop the work, and then nothing is added.

    Raises
    ------
    WearlogError
        With the problems of all rows; then nothing is added.
    Cancelled
        If the person stopped it; then nothing is added.
    """
    return _brought(bench, rows, progress or Silent(), is_dry=False)


def try_in(bench: Bench, rows: ImportRows, progress: Progress | None = None) -> Brought:
    """Return what an import would add, without adding anything.

    Parameters
    ----------
    bench : Bench
        Where to.
    rows : ImportRows
        As for `bring_in`.
    progress : Progress or None
        Told step by step; may stop the work.

    Raises
    ------
    WearlogError
        With the problems of all rows.
    """
    return _brought(bench, rows, progress or Silent(), is_dry=True)


def _brought(bench: Bench, rows: ImportRows, progress: Progress, *, is_dry: bool) -> Brought:
    what = _("Import")
    change_id = ""
    with (
        suppress(_OnlyTried),
        bench.database.writing(by=bench.by, at=bench.now(), what=what) as records,
    ):
        work = Import(records=records, today=bench.today(), progress=progress)
        _bring(work, rows)
        change_id = records.change_id
        if is_dry:
            raise _OnlyTried
    added = {name: count for name, count in work.added.items() if count}
    can_undo = sum(added.values()) <= MOST_UNDONE
    return Brought(
        added,
        {name: count for name, count in work.already.items() if count},
        Changes(what, change_id, can_undo=can_undo) if added and not is_dry else None,
        tuple(work.doubts),
    )


def _raise_if_any(work: Import) -> None:
    problems = work.findings.problems
    if len(problems) > MOST_PROBLEMS:
        rest = Problem(
            _("{n} more problems are not listed.").format(n=len(problems) - MOST_PROBLEMS),
            "",
            _("Mend those above first and import again."),
        )
        raise WearlogError(*problems[:MOST_PROBLEMS], rest)
    work.findings.raise_if_any()


def _bring(work: Import, rows: ImportRows) -> None:
    """Add the rows in the order in which they build on each other.

    A row with a problem is left out and the work goes on, so that all problems are told at once and none
    follows from another; at the end the transaction is taken back.
    """
    _read_kept(work, work.records)
    keys: dict[str, str] = {}

    def fresh(name: str, given: list[R], *, checked: bool = True) -> list[R]:
        work.progress.step(0, len(given), _("Comparing with what is kept"))
        left, told = new_rows(work.records, given, work.findings, checked=checked)
        work.count(name, already=told.already)
        keys.update(told.keys)
        return left

    # Named things are compared with what is kept under the name, which says more than a key.
    vehicles = fresh("vehicles", rows.vehicles, checked=False)
    stages = fresh("stages", rows.stages, checked=False)
    part_types = fresh("part_types", rows.part_types, checked=False)
    instruments = fresh("instruments", rows.instruments, checked=False)
    meter = fresh("meter", rows.meter)
    installations = fresh("installations", rows.installations)
    visits = fresh("visits", rows.visits)
    readings = fresh("readings", rows.readings)
    rules = fresh("interval_rules", rows.interval_rules, checked=False)
    limits = fresh("limits", rows.limits, checked=False)
    stock = fresh("stock", rows.stock)

    bring_vehicles(work, vehicles)
    bring_stages(work, stages)
    bring_part_types(work, part_types)
    bring_instruments(work, instruments)
    work.progress.step(0, len(rows), _("Following the meters"))
    bring_meter(work, meter, installations, visits, readings)
    work.progress.step(0, len(rows), _("Fitting the parts"))
    bring_fittings(work, installations)
    bring_visits(work, visits, readings)
    bring_readings(work, readings)
    bring_rules(work, rules)
    bring_limits(work, limits)
    bring_stock(work, stock)
    _raise_if_any(work)
    if keys:
        work.progress.step(len(rows), len(rows), _("Saving"))
        work.records.remember_row_keys(keys)


def _read_kept(work: Import, records: Records) -> None:
    work.vehicles = {vehicle.tag: vehicle for vehicle in records.all(Vehicle, live=True)}
    work.stages = {(stage.vehicle_id, stage.name): stage for stage in records.all(Stage, live=True)}
    work.part_types = {part_type.name: part_type for part_type in records.all(PartType)}
    work.instruments = {instrument.name: instrument for instrument in records.all(Instrument)}
    work.parts = {part.id: part for part in records.all(Part)}
    for installation in records.all(Installation, live=True):
        work.installations.setdefault(installation.stage_id, []).append(installation)
    for installations in work.installations.values():
        installations.sort(key=lambda i: (i.fitted_on, i.fitted_use, i.id))
