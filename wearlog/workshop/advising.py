"""Advice that goes with a replacement: what to change as a set, and what must not run on."""

from collections.abc import Mapping
from dataclasses import replace

from wearlog.drive.replacing import Advice, AdviceKind, set_advice, stop_use_advice
from wearlog.fleet.parts import PartKind
from wearlog.fleet.reading import Measurand
from wearlog.workshop.due_snapshot import Action, DueLine
from wearlog.workshop.fleet_state import FleetState
from wearlog.workshop.outlook import Outlook
from wearlog.workshop.trend_snapshot import MEDIAN


def advise(
    state: FleetState, found: Mapping[tuple[int, Measurand], Outlook], outlook: Outlook, line: DueLine
) -> DueLine:
    """Return a line with the advice that goes with it, the gravest if there is more than one."""
    if line.action is not Action.REPLACE:
        return line
    advice = advice_on(state, found, outlook)
    if advice is None:
        return line
    return replace(line, reason=replace(line.reason, advice=advice.text, advice_source=advice.source))


def advice_on(
    state: FleetState, found: Mapping[tuple[int, Measurand], Outlook], outlook: Outlook
) -> Advice | None:
    """Return the advice on a part that is to be replaced; None if there is nothing to add."""
    item = outlook.item
    if outlook.readings:
        stop = stop_use_advice(item.limit, item.limit.value_at(float(outlook.allowance[MEDIAN])))
        if stop is not None:
            return stop
    if state.part_type_of(item.installation).kind is not PartKind.CHAIN:
        return None
    beside = (
        found.get((one.id, Measurand.SPROCKET_TOOTH_THICKNESS))
        for one in state.current_on(item.installation.stage_id)
    )
    worn = [float(other.allowance[MEDIAN]) for other in beside if other is not None and other.readings]
    advice = set_advice(max(worn, default=None), chain_replaced=True)
    return None if advice is not None and advice.kind is AdviceKind.REPLACE_SPROCKET else advice
