"""Cells with a form of their own: spots of a reading, gauge stamps, tasks of a visit."""

import re
from collections.abc import Mapping
from dataclasses import replace
from gettext import gettext as _
from typing import Any

from wearlog.exchange.cells import LONGEST_NAME, BadCell, has_own_unit, in_range, shortened, suggestion, typed
from wearlog.fleet.quantity import Quantity
from wearlog.fleet.reading import InstrumentKind, Measurand, Method, Spot
from wearlog.fleet.service import Task
from wearlog.workshop.import_rows import GaugeSpot, TaskRow

#: More places than this on one chain are a slip of the separator.
MOST_SPOTS = 100

_LENGTHS = {Method.PIN_TO_PIN, Method.OVER_ROLLERS, Method.BETWEEN_ROLLERS, Method.TAPE, Method.WHOLE_CHAIN}

_READS = {
    InstrumentKind.CALIPER: Quantity.LENGTH,
    InstrumentKind.RULE: Quantity.LENGTH,
    InstrumentKind.TAPE: Quantity.LENGTH,
    InstrumentKind.GAUGE_TWO_PRONG: Quantity.ELONGATION,
    InstrumentKind.GAUGE_ONE_SIDE: Quantity.ELONGATION,
    InstrumentKind.FREQUENCY_METER: Quantity.FREQUENCY,
    InstrumentKind.FORCE_GAUGE: Quantity.FORCE,
    InstrumentKind.TORQUE_WRENCH: Quantity.TORQUE,
}


def instrument_quantity(row: Mapping[str, Any]) -> Quantity | None:
    """Return what an instrument reads."""
    kind = row.get("kind")
    return _READS[kind] if isinstance(kind, InstrumentKind) else None


def measurand_quantity(row: Mapping[str, Any]) -> Quantity | None:
    """Return the kind of quantity of a row's measurand."""
    measurand = row.get("measurand")
    return measurand.quantity if isinstance(measurand, Measurand) else None


def spot_quantity(method: Method, measurand: Measurand) -> Quantity:
    """Return the kind of quantity that a method reads at a spot."""
    if method in _LENGTHS or method is Method.INSIDE_AND_OUTSIDE:
        return Quantity.LENGTH
    if method in {Method.ELONGATION_READ, Method.GAUGE}:
        return Quantity.ELONGATION
    if method is Method.SPAN_FREQUENCY:
        return Quantity.FREQUENCY
    if method is Method.DEFLECTION_FORCE:
        return Quantity.FORCE
    return Quantity.GRADE if method is Method.GRADE else measurand.quantity


def spots(text: str, unit: str, row: Mapping[str, Any]) -> tuple[Spot, ...] | tuple[GaugeSpot, ...]:
    """Read the spots of a reading, parted by semicolons, in the way of its method."""
    method, measurand = row.get("method"), row.get("measurand")
    if not isinstance(method, Method) or not isinstance(measurand, Measurand):
        return ()  # said already for those cells
    pieces = [piece.strip() for piece in text.split(";") if piece.strip()]
    if len(pieces) > MOST_SPOTS:
        raise BadCell(
            _("{n} spots in one cell.").format(n=len(pieces)),
            _("A reading has at most {most}; give every reading a row of its own.").format(most=MOST_SPOTS),
        )
    if method is Method.GAUGE:
        return _gauge_spots(pieces, text)
    kind = spot_quantity(method, measurand)
    if method in {Method.INSIDE_AND_OUTSIDE, Method.DEFLECTION_FORCE}:
        return tuple(_pair(piece, kind, unit, method) for piece in pieces)
    found: list[Spot] = []
    for piece in reversed(pieces):
        value = typed(piece, kind, unit)
        if has_own_unit(piece):
            unit = value.unit  # "257.1; 257.4 mm": the unit counts for the numbers before it, too
        if kind is Quantity.GRADE:
            _check_grade(value.value, piece)
        found.append(Spot(typed=piece, value=value.value, resolution=value.resolution))
    return tuple(reversed(found))


def _check_grade(value: float, piece: str) -> None:
    if value not in {0, 1, 2, 3}:
        raise BadCell(
            _("“{text}” is not a grade.").format(text=shortened(piece)),
            _("Grades by eye are 0, 1, 2 and 3."),
        )


def _pair(piece: str, kind: Quantity, unit: str, method: Method) -> Spot:
    halves = piece.split("/")
    if len(halves) != 2:
        halves = re.split(r"\s+/\s+", piece)
    if len(halves) != 2:
        example = "119.76/136.78" if method is Method.INSIDE_AND_OUTSIDE else "42 N / 12 mm"
        raise BadCell(
            _("“{text}” is not a pair.").format(text=shortened(piece)),
            _("Write both values of the spot with a stroke between them, for example {example}.").format(
                example=example
            ),
        )
    first, second = halves[0].strip(), halves[1].strip()
    if method is Method.DEFLECTION_FORCE:
        deflection = typed(second, Quantity.LENGTH, unit)
        force = typed(first, kind, unit)
        in_range(deflection.value, second, 0.0, None, None)
        return Spot(typed=piece, value=force.value, second=deflection.value, resolution=force.resolution)
    outside = typed(second, kind, unit)
    inside = typed(first, kind, outside.unit if has_own_unit(second) and not has_own_unit(first) else unit)
    if outside.value <= inside.value:
        raise BadCell(
            _("In “{text}” the outside length is not more than the inside length.").format(text=piece),
            _("Write the inside length first."),
        )
    return Spot(typed=piece, value=inside.value, second=outside.value, resolution=inside.resolution)


_MARK = re.compile(r"(?P<stamp>.*?\S)\s+(?P<way>in|out)", re.IGNORECASE)


def _gauge_spots(pieces: list[str], text: str) -> tuple[GaugeSpot, ...]:
    found: list[GaugeSpot] = []
    for token in [token.strip() for piece in pieces for token in piece.split("/")]:
        mark = _MARK.fullmatch(token)
        if mark is None:
            raise BadCell(
                _("“{text}” does not say which stamp goes in.").format(text=shortened(token)),
                _("Write the stamp with in or out, for example 0.5 in; 0.75 out."),
            )
        stamp = mark["stamp"].strip()
        if mark["way"].lower() == "in":
            found.append(GaugeSpot(text if len(pieces) < 3 else token, goes_in=stamp))
        elif found and not found[-1].stays_out:
            last = found[-1]
            found[-1] = GaugeSpot(
                last.typed if len(pieces) < 3 else f"{last.typed}; {token}", last.goes_in, stamp
            )
        else:
            found.append(GaugeSpot(token, stays_out=stamp))
    return tuple(found)


def stamps(text: str, unit: str, _row: Mapping[str, Any]) -> tuple[tuple[str, float], ...]:
    """Read what each stamp of a gauge means: ``0.5 = 0.5 %; 0.75 = 0.75 %``."""
    found: list[tuple[str, float]] = []
    for piece in (piece.strip() for piece in text.split(";")):
        if not piece:
            continue
        stamp, equals, meaning = (part.strip() for part in piece.partition("="))
        if not (stamp and equals and meaning):
            raise BadCell(
                _("“{text}” does not say what the stamp means.").format(text=shortened(piece)),
                _("Write stamp = elongation, for example 0.75 = 0.75 %."),
            )
        value = typed(meaning, Quantity.ELONGATION, unit).value
        found.append((stamp, in_range(value, meaning, 0.0, None, 0.2)))
    return tuple(found)


_SET_VALUES = re.compile(
    r"(?P<stage>.*?)(?:^|\s+)(?P<before>[-+]?\d[\d.,/ ]*\s*[^\d>]*?)\s*>\s*(?P<after>[^>]+)"
)
_SET_IN = {
    Task.TENSION_SET: ((Quantity.LENGTH, "mm"), (Quantity.FORCE, "N")),
    Task.TORQUE_CHECKED: ((Quantity.TORQUE, "N.m"),),
    Task.LINKS_REMOVED: ((Quantity.COUNT, ""),),
}


def tasks(text: str, _unit: str, _row: Mapping[str, Any]) -> tuple[TaskRow, ...]:
    """Read the tasks of a visit: ``clean; set tension: final drive 52 mm > 38 mm``.

    What was used stands behind an equals sign: ``lubricate: final drive = dry wax; clean = citrus``.
    """
    return tuple(_task(piece.strip()) for piece in text.split(";") if piece.strip())


def _task(piece: str) -> TaskRow:
    # Spaces around the sign, so that the name of a stage may hold one.
    done, equals, care = (part.strip() for part in f"{piece} ".partition(" = "))
    if not equals:
        return _work_done(piece)
    if not care:
        raise BadCell(
            _("“{text}” does not say what was used.").format(text=shortened(piece)),
            _("Write for example lubricate: final drive = dry wax, or leave out the equals sign."),
        )
    if len(care) > LONGEST_NAME:
        raise BadCell(
            _("“{text}” is longer than {n} letters.").format(text=shortened(care), n=LONGEST_NAME),
            _("Shorten it."),
        )
    return replace(_work_done(done), care=care)


def _work_done(piece: str) -> TaskRow:
    word, _colon, rest = (part.strip() for part in piece.partition(":"))
    known = {task.value: task for task in Task}
    task = known.get(" ".join(word.lower().split()))
    if task is None:
        raise BadCell(_("“{text}” is not a task.").format(text=shortened(word)), suggestion(word, known))
    if ">" not in rest:
        return TaskRow(task, rest)
    values = _SET_VALUES.fullmatch(rest)
    if values is None or task not in _SET_IN:
        raise BadCell(
            _("“{text}” can't be read.").format(text=shortened(piece)),
            _("Write task: stage before > after, for example set tension: final drive 52 mm > 38 mm."),
        )
    problem = BadCell("")
    before, after = values["before"], values["after"].strip()
    for kind, unit in _SET_IN[task]:
        try:
            set_to = typed(after, kind, "")
            set_from = typed(before, kind, "" if has_own_unit(before) else set_to.unit)
        except BadCell as error:
            problem = error
        else:
            return TaskRow(task, values["stage"].strip(), set_from.value, set_to.value, unit)
    raise problem
