"""What is shown of how the data are kept: what a look through the database found, and the copies of it."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from wearlog.fleet.problem import Problem


@dataclass(frozen=True, slots=True)
class VerifySnapshot:
    """What a look through the whole database found.

    Attributes
    ----------
    address
        Of the database, without any password.
    findings
        What cannot be right; each says where and what to do.
    notes
        What is odd and may be right, in sentences.
    entries
        How many entries of the trail were followed.
    rows
        How many kept rows were held against the trail.
    """

    address: str
    findings: tuple[Problem, ...]
    notes: tuple[str, ...] = ()
    entries: int = 0
    rows: int = 0

    @property
    def is_clean(self) -> bool:
        """Whether nothing was found."""
        return not self.findings


@dataclass(frozen=True, slots=True)
class KeptBackup:
    """One copy of the database, made by itself; `at` is when, `size_bytes` how large it is."""

    path: Path
    at: datetime
    size_bytes: int


@dataclass(frozen=True, slots=True)
class RestoredDatabase:
    """A copy was put in place; `aside` is where the file that was there is kept, None if there was none."""

    source: Path
    place: Path
    aside: Path | None
