"""Brings the tables of a database to the form that this program knows."""

from pathlib import Path
from typing import Any

from alembic.config import Config
from alembic.runtime.environment import EnvironmentContext
from alembic.runtime.migration import MigrationContext, RevisionStep
from alembic.script import Script, ScriptDirectory
from sqlalchemy import Connection, inspect, text

from wearlog.store import tables, tables_plans, tables_small

#: Where the revisions are; they are files of the package, read at run time.
FOLDERS = [Path(__file__).parent / "versions"]
#: Alembic's own table under a name that says what it keeps.
VERSION_TABLE = "schema_version"
#: Every table that this program makes: three files add theirs to the one that they share.
(METADATA,) = {
    row.metadata for row in (tables.VehicleRow, tables_plans.StockLineRow, tables_small.SettingRow)
}
#: Any number that no other program uses for its advisory locks: the letters "wear".
_TURN = 0x77656172


def scripts() -> ScriptDirectory:
    """Return the revisions that this program knows."""
    return ScriptDirectory(str(FOLDERS[0].parent), version_locations=[str(folder) for folder in FOLDERS])


def newest_revision() -> str:
    """Return the revision that this program works with."""
    head = scripts().get_current_head()
    if head is None:
        raise FileNotFoundError(FOLDERS[0])
    return head


def revision_of(connection: Connection) -> str | None:
    """Return the revision of a database, or None before its tables are made."""
    return MigrationContext.configure(
        connection, opts={"version_table": VERSION_TABLE}
    ).get_current_revision()


def is_known(revision: str) -> bool:
    """Whether this program knows a revision; one that it does not know is newer than the program."""
    return revision in {script.revision for script in _revisions()}


def _revisions() -> list[Script]:
    return list(scripts().walk_revisions())


def belongs_to_another_program(connection: Connection) -> bool:
    """Whether a database without a revision holds tables that are in the way."""
    names = set(inspect(connection).get_table_names()) - {VERSION_TABLE}
    if connection.dialect.name == "sqlite":
        return bool(names)
    return bool(names & set(METADATA.tables))


def migrate(connection: Connection) -> None:
    """Apply the revisions that are missing, inside the transaction of `connection`."""
    directory = scripts()
    if connection.dialect.name != "sqlite":
        connection.execute(text("SELECT pg_advisory_xact_lock(:turn)"), {"turn": _TURN})

    def missing(revision: Any, _context: MigrationContext) -> list[RevisionStep]:
        # Nothing public gives the steps without an alembic.ini and an env.py.
        return list(directory._upgrade_revs("head", revision))  # noqa: SLF001

    with EnvironmentContext(Config(), directory, fn=missing) as environment:
        environment.configure(connection=connection, target_metadata=METADATA, version_table=VERSION_TABLE)
        environment.run_migrations()
    if connection.dialect.name == "sqlite":
        astray = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
        if astray:
            message = f"the new tables have lost what rows refer to: {astray[:5]}"
            raise RuntimeError(message)
