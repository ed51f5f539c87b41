import pytest

from tests.store.kept import NOW, keep_small_fleet
from wearlog.store.database import Database


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request, tmp_path):
    """Where a new database may be made: a file, and a place on a server."""
    if request.param == "sqlite":
        return str(tmp_path / "data" / "workshop.sqlite")
    return request.getfixturevalue("postgresql")


@pytest.fixture
def open_database():
    """Opens databases that are closed after the test."""
    opened = []

    def open_one(address, now=NOW):
        opened.append(Database.open(address, now=now))
        return opened[-1]

    yield open_one
    for database in opened:
        database.close()


@pytest.fixture
def database(address, open_database):
    return open_database(address)


@pytest.fixture
def fleet(database):
    with database.writing(by="Robin", at=NOW, what="set up") as records:
        return keep_small_fleet(records)
