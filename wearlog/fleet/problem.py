"""What can go wrong in a person's words: problems, doubts, and the offers that lead on."""

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any


class ProblemKind(StrEnum):
    """Whose help is needed; the command line has one exit code for each."""

    INPUT = "input"
    NOT_FOUND = "not found"
    DATABASE = "database"
    CONFLICT = "conflict"
    FILE = "file"


@dataclass(frozen=True, slots=True)
class Offer:
    """A way on from a doubt or a problem.

    Attributes
    ----------
    label
        What the person reads on the button.
    action
        A stable word for the program, for example ``"use value"`` or ``"meter replaced"``.
    value
        What the action needs, for example the value in the other unit.
    """

    label: str
    action: str
    value: str | float | int | None = None


@dataclass(frozen=True, slots=True)
class Problem:
    """Something that stops the work and that the person can mend.

    Attributes
    ----------
    what
        What was wrong, a full sentence.
    where
        Where: a vehicle and stage, a field, or file, row and column.
    todo
        What to do about it, a full sentence.
    offers
        Ways on that the program can carry out itself.
    kind
        Whose help is needed.
    """

    what: str
    where: str = ""
    todo: str = ""
    offers: tuple[Offer, ...] = ()
    kind: ProblemKind = ProblemKind.INPUT

    def __str__(self) -> str:
        """Return one line: where, what, what to do."""
        head = f"{self.where}: {self.what}" if self.where else self.what
        return f"{head} {self.todo}".strip()


class DoubtKind(StrEnum):
    """Why a value that may be true is questioned."""

    MISCOUNT = "miscount"
    OTHER_UNIT = "other unit"
    UNUSUAL = "unusual"
    SUSPECT = "suspect"
    FELL = "fell"
    PART_REPLACED = "part replaced without record"
    NO_ZERO_READING = "no zero reading"
    NOT_CLEANED = "not cleaned"
    SPREAD = "spread between spots"
    INSTRUMENT_CHANGED = "instrument changed"
    CALIBRATION_DUE = "calibration due"
    METER_JUMP = "meter jump"
    DUPLICATE = "duplicate"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something odd that may be true: a question, never a refusal.

    Attributes
    ----------
    kind
        Why the value is questioned.
    question
        What the person is asked, a full sentence.
    where
        The field or row it belongs to.
    offers
        Ways on.
    """

    kind: DoubtKind
    question: str
    where: str = ""
    offers: tuple[Offer, ...] = ()


class WearlogError(Exception):
    """One or more problems that the person can help with."""

    def __init__(self, *problems: Problem) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems: tuple[Problem, ...] = problems


@dataclass(frozen=True, slots=True)
class Versions:
    """The two versions of a record that two people changed at once."""

    mine: Any
    theirs: Any


class EditConflict(WearlogError):
    """Somebody else changed the record meanwhile; both versions are kept here."""

    def __init__(self, problem: Problem, versions: Versions) -> None:
        super().__init__(problem)
        self.versions = versions


class ConnectionLost(WearlogError):
    """The server with the database does not answer, or no longer; what was under way may be tried again."""


class AlreadySaved(Exception):
    """A save that was tried again is done already, by the change of this number; nothing was done twice."""

    def __init__(self, change_id: str) -> None:
        super().__init__(change_id)
        self.change_id = change_id


class Cancelled(Exception):
    """The person stopped the work; nothing was saved."""


@dataclass(slots=True)
class Findings:
    """Problems collected row by row, raised together at the end."""

    problems: list[Problem] = field(default_factory=list)

    def add(self, what: str, where: str = "", todo: str = "") -> None:
        """Collect one more problem."""
        self.problems.append(Problem(what, where, todo))

    def raise_if_any(self) -> None:
        """Raise all that was collected.

        Raises
        ------
        WearlogError
            If at least one problem was collected.
        """
        if self.problems:
            raise WearlogError(*self.problems)
