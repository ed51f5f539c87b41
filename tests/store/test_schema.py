"""The tables of a database follow the program from form to form, and nothing is lost on the way."""

import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import inspect, text

from tests.old_databases.write_dump import write_dump
from tests.store.kept import NOW, one_of_each
from wearlog.fleet.problem import ProblemKind, WearlogError
from wearlog.fleet.vehicle import Vehicle
from wearlog.store import migrations
from wearlog.store.database import Database
from wearlog.store.rows import TABLES
from wearlog.store.verify import Verified, verify_database

OLD = Path(__file__).parent.parent / "old_databases"
NEXT = """
import sqlalchemy as sa
from alembic import op

revision = "9001"
down_revision = "{before}"

def upgrade():
    is_sqlite = op.get_bind().dialect.name == "sqlite"
    with op.batch_alter_table("vehicle", recreate="always" if is_sqlite else "never") as batch:
        batch.add_column(sa.Column("colour", sa.Text(), nullable=False, server_default="green"))
"""


@pytest.fixture
def next_form(tmp_path, monkeypatch):
    """Lets the program know a form of the tables that comes after today's."""
    folder = tmp_path / "next form"
    folder.mkdir()
    (folder / "v9001_colour.py").write_text(NEXT.format(before=migrations.newest_revision()))

    def use():
        monkeypatch.setattr(migrations, "FOLDERS", [*migrations.FOLDERS, folder])

    return use


def test_the_revisions_make_exactly_the_tables_that_the_program_uses(database):
    with database._engine.connect() as connection:
        options = {
            "version_table": migrations.VERSION_TABLE,
            "compare_type": True,
            "compare_server_default": True,
        }
        context = MigrationContext.configure(connection, opts=options)
        assert compare_metadata(context, migrations.METADATA) == []
        assert set(inspect(connection).get_table_names()) == {
            *migrations.METADATA.tables,
            migrations.VERSION_TABLE,
        }


def test_every_foreign_key_holds_back_deletions(database):
    with database._engine.connect() as connection:
        inspector = inspect(connection)
        keys = [key for table in migrations.METADATA.tables for key in inspector.get_foreign_keys(table)]
    assert len(keys) == 32
    assert {(key["options"].get("ondelete"), key["options"].get("onupdate")) for key in keys} == {
        ("RESTRICT", "RESTRICT")
    }


def test_tables_are_made_once(address, open_database):
    for _time in range(3):
        database = open_database(address)
        assert database.data_version() == 0


def test_a_database_follows_to_the_next_form_with_all_it_keeps(address, open_database, next_form):
    database = open_database(address)
    with database.writing(by="Robin", at=NOW, what="set up") as records:
        kept = one_of_each(records)
    database.close()
    next_form()
    again = open_database(address)
    with again.reading() as records:
        assert migrations.revision_of(records.connection) == "9001"
        assert [records.get(type(record), record.id) for record in kept] == kept
        assert records.connection.execute(text("SELECT colour FROM vehicle")).scalar_one() == "green"
    with again._engine.connect() as connection:
        assert {key["referred_table"] for key in inspect(connection).get_foreign_keys("stage")} == {"vehicle"}


def test_a_file_is_copied_beside_itself_before_its_tables_change(tmp_path, open_database, next_form):
    path = tmp_path / "workshop.sqlite"
    database = open_database(path)
    with database.writing(by="Robin", at=NOW, what="set up") as records:
        kept = one_of_each(records)
    database.close()
    with_next = migrations.newest_revision()
    next_form()
    open_database(path).close()
    (copy,) = tmp_path.glob("*.before-*")
    assert copy.name == "workshop.before-9001-20260503T141005Z.sqlite"
    with closing(sqlite3.connect(copy)) as file:
        assert file.execute("SELECT version_num FROM schema_version").fetchall() == [(with_next,)]
        assert file.execute("SELECT tag FROM vehicle").fetchall() == [(kept[0].tag,)]
        assert file.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


def test_a_database_of_a_newer_program_is_refused_and_left_alone(
    address, open_database, next_form, monkeypatch
):
    today = list(migrations.FOLDERS)
    next_form()
    open_database(address).close()
    monkeypatch.setattr(migrations, "FOLDERS", today)
    with pytest.raises(WearlogError) as raised:
        Database.open(address, now=NOW)
    (problem,) = raised.value.problems
    assert problem.kind is ProblemKind.DATABASE
    assert problem.what == "The database was last opened by a newer wearlog (form 9001)."
    assert problem.todo


def test_a_change_of_form_that_loses_rows_is_taken_back(tmp_path, open_database, monkeypatch):
    path = tmp_path / "workshop.sqlite"
    database = open_database(path)
    with database.writing(by="Robin", at=NOW, what="set up") as records:
        kept = one_of_each(records)
    database.close()
    before = migrations.newest_revision()
    folder = tmp_path / "next form"
    folder.mkdir()
    losing = f'from alembic import op\nrevision = "9002"\ndown_revision = "{before}"\n'
    losing += 'def upgrade():\n    op.execute("DELETE FROM vehicle")\n'
    (folder / "v9002_losing.py").write_text(losing)
    with monkeypatch.context() as patch:
        patch.setattr(migrations, "FOLDERS", [*migrations.FOLDERS, folder])
        with pytest.raises(RuntimeError, match="have lost what rows refer to"):
            Database.open(path, now=NOW)
    with open_database(path).reading() as records:
        assert records.get(Vehicle, kept[0].id) == kept[0]


# -- databases of earlier programs -------------------------------------------------------------------------

#: The records that came with each form after the first.
CAME_WITH = {"0002": {"DutySpell", "LayUp", "StockLine", "PartOrder", "StockMove", "PlannedVisit"}}


def kinds_of(form):
    later = {name for revision, names in CAME_WITH.items() if revision > form for name in names}
    return {kind.__name__ for kind in TABLES} - later - {"AuditEntry"}


def test_there_is_a_small_database_of_every_form():
    forms = {script.revision for script in migrations.scripts().walk_revisions()}
    assert {path.stem for path in OLD.glob("*.sql")} == forms


@pytest.mark.parametrize("dump", sorted(OLD.glob("*.sql")), ids=lambda path: path.stem)
def test_a_database_of_an_earlier_form_opens_with_all_it_keeps(dump, tmp_path, open_database):
    path = tmp_path / "old.sqlite"
    with closing(sqlite3.connect(path)) as file:
        file.executescript(dump.read_text(encoding="utf-8"))
    database = open_database(path)
    copies = [one.name for one in tmp_path.glob("old.before-*")]
    newest = migrations.newest_revision()
    assert copies == ([] if dump.stem == newest else [f"old.before-{newest}-20260503T141005Z.sqlite"])
    with database.reading() as records:
        counts = {kind.__name__: len(records.all(kind)) for kind in TABLES if kind.__name__ != "AuditEntry"}
        assert {name: count for name, count in counts.items() if count} == dict.fromkeys(
            kinds_of(dump.stem), 1
        )
        assert records.setting("caution") == "0.9"
        assert records.drafts() == {"sheet LR-001": '{"length": "153."}'}
        assert records.known_row_keys({"a1", "a2"}) == {"a1"}
        assert len(records.audit()) == len(kinds_of(dump.stem)) + 1
    with database.writing(by="Robin", at=NOW, what="set up") as records:
        (old,) = records.all(Vehicle)
        assert records.replace(type(old)(**{**_fields(old), "notes": "seen"})).version == old.version + 1


@pytest.mark.parametrize("dump", sorted(OLD.glob("*.sql")), ids=lambda path: path.stem)
def test_the_trail_of_an_earlier_form_is_chained_and_tells_no_contact(dump, tmp_path, open_database):
    path = tmp_path / "old.sqlite"
    with closing(sqlite3.connect(path)) as file:
        file.executescript(dump.read_text(encoding="utf-8"))
    database = open_database(path)
    found = Verified()
    assert verify_database(database, found, lambda _done, _total, _what: None)
    assert found.findings == []
    with database.reading() as records:
        bike = records.all(Vehicle)[0]
        (added,) = [entry for entry in records.audit(vehicle_id=bike.id) if entry.record == "Vehicle"]
        assert bike.owner_contact == "yard office"
        assert "yard office" not in added.after
        assert "yard office" in records.told(added).after


def _fields(record):
    return {name: getattr(record, name) for name in record.__dataclass_fields__}


def test_the_newest_dump_is_what_is_written_today(tmp_path):
    newest = write_dump(tmp_path)
    kept = OLD / newest.name

    def lines(path):
        # The numbers of changes, salts and digests differ each time.
        return re.sub(r"[0-9a-f]{32,64}", "change", path.read_text(encoding="utf-8")).splitlines()

    assert lines(kept) == lines(newest)
