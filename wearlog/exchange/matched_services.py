"""A book with a row for each service: visits, what was measured at them, and vehicles that are new."""

from collections.abc import Callable
from dataclasses import dataclass, field, fields
from datetime import date
from gettext import gettext as _
from typing import Any, Protocol

from wearlog.exchange import measured_cells
from wearlog.exchange.cell_text import answer, number_text
from wearlog.exchange.cells import BadCell
from wearlog.exchange.matching import MEASURE, RENEWED, ColumnMatch, Match, Measure, text_of
from wearlog.exchange.spreadsheet import Cell, SheetRow, Unread
from wearlog.fleet.fitting import Position
from wearlog.fleet.reading import Method
from wearlog.fleet.service import Task
from wearlog.fleet.vehicle import MeterUnit, VehicleKind
from wearlog.workshop.import_matches import KnownForImport
from wearlog.workshop.import_rows import (
    Amount,
    ImportRows,
    InstallationRow,
    PartTypeRow,
    ReadingRow,
    StageRow,
    TaskRow,
    VehicleRow,
    VisitRow,
    Where,
)
from wearlog.workshop.vehicles_draft import StageDraft

Say = Callable[[str, str, str], None]


@dataclass(frozen=True, slots=True)
class SheetWhere(Where):
    """A place in a sheet whose columns have names of their own."""

    headers: tuple[tuple[str, str], ...] = field(default=(), compare=False)

    def cell(self, column: str) -> str:
        """Return the place of a cell in words, the column by its name in the sheet."""
        name = next((header for known, header in self.headers if known == column), column)
        return _("{file} row {row}, {column}").format(file=self.file, row=self.row, column=name)

    def renamed(self, header: str, column: str = "spots") -> "SheetWhere":
        """Return the place with another name for one column."""
        return SheetWhere(self.file, self.row, ((column, header), *self.headers))


class Seen(Protocol):
    """Where values and wrong cells are noted for the preview."""

    values: dict[tuple[int, int], object]
    wrong: set[tuple[int, int]]


@dataclass(frozen=True, slots=True)
class _Start:
    """When a vehicle that is not kept yet stands in the sheet for the first time."""

    on: date
    meter: Amount
    where: Where


class Services:
    """Makes the rows of an import from a book of services."""

    def __init__(self, match: Match, known: KnownForImport, rows: ImportRows, say: Say) -> None:
        self.match = match
        self.known = known
        self.rows = rows
        self.say = say
        template = known.template(match.fixed_text("like"))
        self.template = template
        self.new_stages = () if template is None else known.stages_like(template)
        self.measures: dict[tuple[Any, ...], list[ColumnMatch]] = {}
        for column in match.columns:
            if column.field == MEASURE and column.measure is not None:
                key = tuple(getattr(column.measure, one.name) for one in fields(Measure))
                self.measures.setdefault(key, []).append(column)
        self.renewed = [column for column in match.columns if column.field == RENEWED]
        self.cleaned, self.lubricated = match.column_of("cleaned"), match.column_of("lubricated")
        self.starts: dict[str, _Start] = {}

    def take(self, row: SheetRow, where: SheetWhere, values: dict[str, Any] | None, seen: Seen) -> None:
        """Take one row; without values, which its problems explain, measured cells are read all the same."""
        problems_before = len(seen.wrong)
        readings = self._readings(row, where, values, seen)
        tasks = self._tasks(row, values, seen)
        if values is None or len(seen.wrong) > problems_before:
            return
        vehicle, on, meter = values["vehicle"], values["on"], values["meter"]
        if vehicle not in self.known.vehicles:
            start = self.starts.get(vehicle)
            if start is None or (on, where.row) < (start.on, start.where.row):
                self.starts[vehicle] = _Start(on, meter, where)
        self.rows.visits.append(
            VisitRow(
                where=where,
                vehicle=vehicle,
                on=on,
                meter=meter,
                by=values.get("by", ""),
                tasks=(*values.get("tasks", ()), *tasks),
                notes=values.get("notes", ""),
                cost=values.get("cost"),
            )
        )
        self.rows.readings.extend(readings)
        for column in self.renewed:
            self._renew(row, column, where, values, seen)

    # --- what was measured

    def _readings(
        self, row: SheetRow, where: SheetWhere, values: dict[str, Any] | None, seen: Seen
    ) -> list[ReadingRow]:
        found: list[ReadingRow] = []
        said_clean = None if self.cleaned is None else answer(row.cell(self.cleaned.place))
        for columns in self.measures.values():
            measure = columns[0].measure
            spots: list[Any] = []
            place = where
            for column in columns:
                read = self._spots(row, column, where, seen)
                if read:
                    place = where.renamed(column.header) if not spots else place
                    spots += read
            if not spots or measure is None or values is None:
                continue
            is_gauge = measure.method is Method.GAUGE
            found.append(
                ReadingRow(
                    where=place,
                    vehicle=values["vehicle"],
                    stage=self._stage(values["vehicle"], measure.stage),
                    on=values["on"],
                    meter=values["meter"],
                    measurand=measure.measurand,
                    method=measure.method,
                    spots=() if is_gauge else tuple(spots),
                    gauge_spots=tuple(spots) if is_gauge else (),
                    position=measure.position,
                    pitches=measure.pitches,
                    instrument=measure.instrument,
                    was_cleaned=said_clean,
                    by=values.get("by", ""),
                )
            )
        return found

    def _spots(self, row: SheetRow, column: ColumnMatch, where: SheetWhere, seen: Seen) -> tuple[Any, ...]:
        cell, measure = row.cell(column.place), column.measure
        if cell is None or measure is None:
            return ()
        try:
            text = self._figures(cell)
            if text.strip() in {"-", "–", "n/a"}:
                return ()
            told = {"method": measure.method, "measurand": measure.measurand}
            spots = measured_cells.spots(text, column.unit, told)
        except BadCell as bad:
            self._bad(row, column, where, bad, seen)
            return ()
        seen.values[row.number, column.place] = spots
        return spots

    def _figures(self, cell: Cell) -> str:
        if isinstance(cell, Unread):
            raise BadCell(cell.why, _("Save the file in a spreadsheet program, or mend the cell."))
        return number_text(cell if isinstance(cell, str | int | float) else str(cell), self.match.decimal)

    def _stage(self, vehicle: str, named: str) -> str:
        """Return the stage that is meant: the named one, else the only one, else the last from the motor."""
        known = self.known.vehicles.get(vehicle)
        stages = [stage.name for stage in self.new_stages] if known is None else list(known.runs)
        if named in stages or not stages:
            return named or _("final drive")
        return named or stages[-1]

    # --- what was done

    def _tasks(self, row: SheetRow, values: dict[str, Any] | None, seen: Seen) -> list[TaskRow]:
        tasks: list[TaskRow] = []
        if self.cleaned is not None and answer(row.cell(self.cleaned.place)):
            tasks.append(TaskRow(Task.CLEANED))
            seen.values[row.number, self.cleaned.place] = True
        if self.lubricated is None or row.cell(self.lubricated.place) is None:
            return tasks
        cell = row.cell(self.lubricated.place)
        said = answer(cell)
        if said is None or said:
            stage = self._stage(values["vehicle"], "") if values is not None else ""
            care = "" if said else text_of(cell)[:200]
            tasks.append(TaskRow(Task.LUBRICATED, stage, care=care))
            seen.values[row.number, self.lubricated.place] = care or True
        return tasks

    def _renew(
        self, row: SheetRow, column: ColumnMatch, where: SheetWhere, values: dict[str, Any], seen: Seen
    ) -> None:
        cell = row.cell(column.place)
        if cell is None or answer(cell) is False:
            return
        place = where.renamed(column.header, "part type")
        stage = self._stage(values["vehicle"], column.measure.stage if column.measure else "")
        name = self._run(values["vehicle"], stage, text_of(cell))
        if not name and self.template is None and values["vehicle"] not in self.known.vehicles:
            return  # asked once, for all new vehicles
        if not name:
            bad = BadCell(
                _("Which chain or belt was fitted is not known."),
                _("Write the name of a part type into the cell, or add the vehicle with its parts first."),
            )
            self._bad(row, column, where, bad, seen)
            return
        seen.values[row.number, column.place] = name
        self.rows.installations.append(
            InstallationRow(
                where=place,
                vehicle=values["vehicle"],
                stage=stage,
                position=Position.RUN,
                part_type=name,
                fitted_on=values["on"],
                fitted_at=values["meter"],
                replaces_last=True,
            )
        )

    def _run(self, vehicle: str, stage: str, named: str) -> str:
        """Return the part type that was fitted: the one named, else the same as before."""
        if named in self.known.part_types:
            return named
        known = self.known.vehicles.get(vehicle)
        if known is not None:
            return known.runs.get(stage, "")
        made = next((one for one in self.new_stages if one.name == stage), None)
        run = None if made is None else self.known.part_types_like(made).get(Position.RUN)
        return "" if run is None else run.name

    # --- vehicles met for the first time

    def finish(self) -> None:
        """Add the vehicles that are not kept yet, made like the template, with the parts on them."""
        named: set[str] = set()
        renewals = self.rows.installations[:]
        self.rows.installations.clear()
        for tag, start in sorted(self.starts.items(), key=lambda one: one[1].where.row):
            self._add_vehicle(tag, start)
            for order, stage in enumerate(self.new_stages, start=1):
                self._add_stage(tag, start, order, stage, named)
        # What was on a vehicle comes before what it was renewed by, on the same day as well.
        self.rows.installations.extend(renewals)

    def _add_vehicle(self, tag: str, start: _Start) -> None:
        template = self.template
        fixed = self.match.fixed_text("meter_unit")
        unit = next((one for one in MeterUnit if one.value == fixed), None)
        if unit is None:
            unit = MeterUnit.HOURS if start.meter.unit == "h" else self._unit_of_header()
        if template is None:
            # Counted all the same, so that the person is asked what the vehicles are like.
            self.rows.vehicles.append(
                VehicleRow(
                    where=start.where,
                    tag=tag,
                    description=tag,
                    kind=VehicleKind.BICYCLE,
                    depot="?",
                    meter_unit=unit,
                )
            )
            return
        self.rows.vehicles.append(
            VehicleRow(
                where=start.where,
                tag=tag,
                description=template.description or template.kind.value,
                kind=template.kind,
                depot=self.match.fixed_text("depot") or "?",
                meter_unit=unit,
                duty=template.duty,
                model=template.model,
            )
        )

    def _unit_of_header(self) -> MeterUnit:
        column = self.match.column_of("meter")
        told = "" if column is None else column.unit
        usual = self.template.meter_unit if self.template is not None else MeterUnit.KM
        return {"mi": MeterUnit.MILES, "h": MeterUnit.HOURS, "km": MeterUnit.KM}.get(told, usual)

    def _add_stage(self, tag: str, start: _Start, order: int, stage: StageDraft, named: set[str]) -> None:
        self.rows.stages.append(
            StageRow(
                where=start.where,
                vehicle=tag,
                stage=stage.name,
                order=order,
                drive=stage.drive,
                centre_distance_mm=stage.centre_distance_mm,
                adjuster_range_mm=stage.adjuster_range_mm,
                span_mm=stage.span_mm,
                rated_input_rpm=stage.rated_input_rpm,
                rated_power_kw=stage.rated_power_kw,
                wheel_circumference_mm=stage.wheel_circumference_mm,
                slack_definition=stage.slack_definition,
            )
        )
        for position, part_type in self.known.part_types_like(stage).items():
            if part_type.name not in self.known.part_types and part_type.name not in named:
                named.add(part_type.name)
                said = {
                    one.name: getattr(part_type, one.name)
                    for one in fields(PartTypeRow)
                    if one.name != "where"
                }
                self.rows.part_types.append(PartTypeRow(where=start.where, **said))
            self.rows.installations.append(
                InstallationRow(
                    where=start.where,
                    vehicle=tag,
                    stage=stage.name,
                    position=position,
                    part_type=part_type.name,
                    fitted_on=start.on,
                    fitted_at=start.meter,
                    is_history_known=False,
                )
            )

    def _bad(self, row: SheetRow, column: ColumnMatch, where: SheetWhere, bad: BadCell, seen: Seen) -> None:
        seen.wrong.add((row.number, column.place))
        place = _("{file} row {row}, {column}").format(file=where.file, row=row.number, column=column.header)
        self.say(bad.what, place, bad.todo)
