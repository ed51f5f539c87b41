"""The due list as the cells of a table, the same in every file."""

import math
from datetime import date
from gettext import gettext as _

from wearlog import units
from wearlog.drawing.words import action_text, reason_text, state_text
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.workshop.due_snapshot import DueLine

Cell = str | int | float | date | None


def due_headers(shown: ShownUnits) -> list[str]:
    """Return the headers of the due list as a table, with the units of this seat."""
    distance = shown.unit_of(Quantity.DISTANCE)
    return [
        _("due on"),
        _("vehicle"),
        _("depot"),
        _("action"),
        _("stage"),
        _("part"),
        _("state"),
        _("early on"),
        _("likely on"),
        _("late on"),
        *(f"{name} [{unit}]" for unit in (distance, "h") for name in (_("early"), _("likely"), _("late"))),
        _("order by"),
        _("chance past limit now [%]"),
        _("reason"),
        _("visit"),
        _("visit on"),
    ]


def due_cells(line: DueLine, shown: ShownUnits) -> list[Cell]:
    """Return one line of the due list as the cells of a table."""
    uses = (line.early_use, line.likely_use, line.late_use)
    empty: list[Cell] = [None, None, None]
    if line.use_unit == "h":
        in_columns = [*empty, *(finite(use, 1) for use in uses)]
    else:
        unit = shown.unit_of(Quantity.DISTANCE)
        in_columns = [
            *(
                None if finite(use) is None else round(units.in_unit(use or 0.0, Quantity.DISTANCE, unit))
                for use in uses
            ),
            *empty,
        ]
    chance = finite(line.past_probability)
    return [
        line.due_on,
        line.tag,
        line.depot,
        action_text(line),
        line.stage_name,
        line.part_text,
        state_text(line.state),
        line.early_on,
        line.likely_on,
        line.late_on,
        *in_columns,
        line.order_by,
        None if chance is None else round(100.0 * chance, 1),
        reason_text(line, shown),
        line.group or None,
        line.group_on,
    ]


def finite(value: float | None, places: int | None = None) -> float | None:
    """Return a number, rounded if asked, or None if there is none or it is beyond reach."""
    if value is None or not math.isfinite(value):
        return None
    return float(value) if places is None else round(float(value), places)
