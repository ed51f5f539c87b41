"""The same stage of several vehicles on one chart: which can be chosen, and their lines."""

from collections.abc import Sequence

import numpy as np

from wearlog.fleet.reading import Measurand
from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.outlook import outlooks
from wearlog.workshop.trend_curves import wear_curve
from wearlog.workshop.trend_overlay_snapshot import MOST_LINES, OverlayChoice, OverlayLine
from wearlog.workshop.trend_snapshot import MEDIAN


def overlay_choices(bench: Bench, installation_id: int, measurand: Measurand) -> tuple[OverlayChoice, ...]:
    """Return the parts in the same place of other vehicles, by tag; none for a part that does not run."""
    state, found = fleet_state(bench), outlooks(bench)
    own = found.get((installation_id, measurand))
    if own is None:
        return ()
    here = own.item.installation
    name = state.stages[here.stage_id].name
    choices = []
    for (number, measured), outlook in found.items():
        there = outlook.item.installation
        if (
            measured is not measurand
            or there.position is not here.position
            or there.vehicle_id == here.vehicle_id
            or outlook.item.use_unit != own.item.use_unit
            or state.stages[there.stage_id].name != name
        ):
            continue
        vehicle = state.vehicles[there.vehicle_id]
        part_text = state.part_text(there)
        words = (vehicle.tag, vehicle.depot, vehicle.description, vehicle.model, part_text)
        choices.append(
            OverlayChoice(
                vehicle_id=vehicle.id,
                installation_id=number,
                measurand=measured,
                tag=vehicle.tag,
                depot=vehicle.depot,
                part_text=part_text,
                rule=outlook.rule,
                search_text=" ".join(words).casefold(),
            )
        )
    return tuple(sorted(choices, key=lambda one: (one.tag.casefold(), one.installation_id)))


def overlay_lines(bench: Bench, keys: Sequence[tuple[int, Measurand]]) -> tuple[OverlayLine, ...]:
    """Return the lines of some parts, as far as they still run; no more than `MOST_LINES`."""
    state, found = fleet_state(bench), outlooks(bench)
    lines = []
    for key in keys[:MOST_LINES]:
        outlook = found.get(key)
        if outlook is None:
            continue
        item = outlook.item
        x, value = wear_curve(outlook)
        known = outlook.family.readings.x_last if outlook.readings else outlook.family.readings.x_start
        lines.append(
            OverlayLine(
                vehicle_id=item.installation.vehicle_id,
                installation_id=key[0],
                tag=state.vehicles[item.installation.vehicle_id].tag,
                state=outlook.state,
                use_on_part=np.asarray(item.use_of(x)),
                value=np.asarray(value[:, MEDIAN]),
                use_known=float(item.use_of(float(known[outlook.row]))),
                meter_offset=-item.offset,
                as_new=item.limit.as_new,
                service_limit=item.limit.service_limit,
            )
        )
    return tuple(lines)
