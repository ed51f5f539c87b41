"""What a job card says: the work of one visit, what was found last, and what is to be written on it."""

from dataclasses import dataclass
from datetime import date

from wearlog.fleet.reading import Measurand
from wearlog.fleet.service import Task
from wearlog.workshop.due_snapshot import Action, DueLine
from wearlog.workshop.sheet import SheetSnapshot
from wearlog.workshop.torque_snapshot import TorqueSnapshot


@dataclass(frozen=True, slots=True)
class CardTask:
    """One piece of work to tick.

    `line` is the line of the due list that asks for it, None where that list asks for it no longer. `is_with`
    is work that is not due yet, done along with the rest.
    """

    action: Action
    task: Task | None
    stage_name: str
    part_text: str
    measurand: Measurand | None = None
    due_on: date | None = None
    is_with: bool = False
    line: DueLine | None = None


@dataclass(frozen=True, slots=True)
class CardPart:
    """A part to take along; `on_hand` is None where nobody keeps count of such parts at the depot."""

    name: str
    count: int
    on_hand: int | None = None
    joining_link: str = ""


@dataclass(frozen=True, slots=True)
class JobCard:
    """The job card of one visit.

    Attributes
    ----------
    number
        Of the planned visit; empty for a card that was not planned.
    on, minutes
        The planned day and bay time; None if not planned.
    sheet
        What the service sheet asks for at this visit.
    torque
        The torque sheet of the vehicle; its `sheet` is None if there is none.
    """

    number: str
    on: date | None
    minutes: int | None
    note: str
    tasks: tuple[CardTask, ...]
    parts: tuple[CardPart, ...]
    sheet: SheetSnapshot
    torque: TorqueSnapshot

    @property
    def code(self) -> str:
        """What is typed or scanned in the service sheet's field for the vehicle."""
        return self.number or self.sheet.tag
