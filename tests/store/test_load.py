"""Several seats save at once on a server, each a process of its own: nothing is lost or doubled."""

import pytest

from tests.benchmarks.bench_load import run

WRITERS, READERS, VISITS = 4, 1, 200


@pytest.mark.slow
def test_four_seats_at_once_lose_nothing_and_double_nothing(postgresql):
    load = run(postgresql, WRITERS, READERS, VISITS, vehicles=16, limit_s=1e9)
    assert len(load.saved) == VISITS
    assert (load.lost, load.doubled) == (0, 0)
    # A reading with each of them.
    assert load.after == (load.before[0] + VISITS, load.before[1] + VISITS)
    assert load.findings == ()
