import pytest

from tests.makers.bench import empty_bench

#: Files whose tests run on both kinds of database.
ON_BOTH = {
    "test_agreements",
    "test_bring_in",
    "test_correcting",
    "test_entering_a_service",
}


def pytest_generate_tests(metafunc):
    """Let the tests of the daily work run on a server too."""
    if "bench" in metafunc.fixturenames and metafunc.module.__name__.rpartition(".")[2] in ON_BOTH:
        metafunc.parametrize("bench", ["memory", "postgresql"], indirect=True)


@pytest.fixture
def bench(request):
    """A bench on a new database, in memory or on a server, closed at the end."""
    is_on_server = getattr(request, "param", "memory") == "postgresql"
    made = empty_bench(request.getfixturevalue("postgresql") if is_on_server else ":memory:")
    yield made
    made.database.close()
