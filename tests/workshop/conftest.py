import pytest

from tests.makers.bench import empty_bench


@pytest.fixture
def bench():
    """A bench on a new database in memory, closed at the end."""
    made = empty_bench()
    yield made
    made.database.close()
