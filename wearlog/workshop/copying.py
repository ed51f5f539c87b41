"""All that is kept, copied from a file to a server or back."""

from dataclasses import dataclass

from wearlog.fleet.progress import Progress, Silent
from wearlog.store.copying import copy_database
from wearlog.workshop.bench import Bench

__all__ = ["CopiedDatabase", "CopiedRows", "copy_to"]


@dataclass(frozen=True, slots=True)
class CopiedRows:
    """What was copied of one kind; the checksum is that of both sides."""

    name: str
    rows: int
    checksum: str


@dataclass(frozen=True, slots=True)
class CopiedDatabase:
    """A finished copy: its address without any password, and what is in it."""

    address: str
    tables: tuple[CopiedRows, ...]

    @property
    def rows(self) -> int:
        """How many rows there are in all."""
        return sum(table.rows for table in self.tables)


def copy_to(bench: Bench, address: str, progress: Progress | None = None) -> CopiedDatabase:
    """Copy everything into an empty database, compared on both sides; on any problem nothing is copied.

    Parameters
    ----------
    bench : Bench
        What is copied: its state at one moment, whoever saves meanwhile.
    address : str
        A file that is not there yet, or an empty database on a server.
    progress : Progress or None
        Told how far it is; may stop it.

    Raises
    ------
    WearlogError
        If there is something already, or either side cannot be read or written.
    """
    said = progress or Silent()
    shown, tables = copy_database(bench.database, address, now=bench.now(), told=said.step)
    return CopiedDatabase(shown, tuple(CopiedRows(one.name, one.rows, one.checksum) for one in tables))
