"""Job cards for tests: a usual one, the fullest there can be, and a bare one."""

from dataclasses import replace
from datetime import date

from tests.makers.due import due_line
from tests.makers.sheet import motorcycle_sheet
from tests.makers.torque import torque_of
from wearlog.fleet.reading import Measurand
from wearlog.fleet.service import Task
from wearlog.workshop.due_snapshot import Action
from wearlog.workshop.job_card_snapshot import CardPart, CardTask, JobCard

NUMBER = "V-0042"
#: Places with the letters and the length that paper must hold.
LONG_PLACE = "Hinterradantrieb über Zwischenwelle, Kette 428 geschlossen mit 118 Gliedern, großes Ritzel {n}"


def card_task(n: int = 0, action: Action = Action.REPLACE, **says: object) -> CardTask:
    """One piece of work with its reason."""
    line = due_line(17, date(2026, 12, 1 + n % 28), action)
    plain: dict[str, object] = {
        "action": action,
        "task": line.task,
        "stage_name": "final drive",
        "part_text": "chain 420, 118 links",
        "measurand": Measurand.CHAIN_ELONGATION,
        "due_on": line.due_on,
        "line": line,
    }
    return CardTask(**{**plain, **says})  # type: ignore[arg-type]


def usual_card(**says: object) -> JobCard:
    """V-0042: LR-017 gets a chain, its slack set and its torques looked at."""
    plain: dict[str, object] = {
        "number": NUMBER,
        "on": date(2026, 12, 3),
        "minutes": 95,
        "note": "",
        "tasks": (
            card_task(),
            card_task(action=Action.ADJUST, measurand=Measurand.SLACK),
            card_task(action=Action.RECHECK),
            card_task(action=Action.TASK, task=Task.LUBRICATED, is_with=True),
        ),
        "parts": (CardPart("chain 420, 118 links", 1, 2, "clip"), CardPart("sprocket 13 teeth", 1)),
        "sheet": motorcycle_sheet(),
        "torque": torque_of((1, 40, 12.0)),
    }
    return JobCard(**{**plain, **says})  # type: ignore[arg-type]


def full_card() -> JobCard:
    """Twenty tasks with the longest names, umlauts, all readings and every torque."""
    tasks = tuple(card_task(n, part_text=LONG_PLACE.format(n=n)) for n in range(20))
    parts = tuple(CardPart(LONG_PLACE.format(n=n), 1, n, "Nietschloss") for n in range(6))
    torque = torque_of((1, 40, 12.0))
    lines = tuple(
        replace(line, fastener=replace(line.fastener, id=10 * n + line.fastener.id))
        for n in range(3)
        for line in torque.lines
    )
    return usual_card(tasks=tasks, parts=parts, torque=replace(torque, lines=lines))


def bare_card() -> JobCard:
    """Nothing due, nothing ever measured, no torque sheet."""
    sheet = motorcycle_sheet(last_meter=None, last_meter_on=None)
    blocks = tuple(
        replace(block, readings=tuple(replace(one, previous=None, rule=None) for one in block.readings))
        for block in sheet.blocks
    )
    torque = replace(torque_of(), sheet=None, lines=())
    return usual_card(
        number="",
        on=None,
        minutes=None,
        tasks=(),
        parts=(),
        sheet=replace(sheet, blocks=blocks),
        torque=torque,
    )
