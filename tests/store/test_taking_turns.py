"""Several threads and seats at once: each has a transaction of its own, writers take turns."""

from concurrent.futures import ThreadPoolExecutor

import pytest

from tests.store.kept import DAY, NOW, vehicle
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.vehicle import Vehicle

SEATS = 6


def test_what_was_checked_still_holds_at_the_commit(address, fleet, open_database):
    """Each seat reads the last meter value and enters the next: none is entered twice."""
    seats = [open_database(address) for _seat in range(SEATS)]

    def enter_the_next(seat):
        for _time in range(5):
            with seat.writing(by="Robin", at=NOW, what="meter") as records:
                last = max((entry.value for entry in records.all(MeterEntry)), default=0.0)
                records.add(MeterEntry(vehicle_id=fleet.vehicle.id, on=DAY, value=last + 1.0))

    with ThreadPoolExecutor(SEATS) as threads:
        list(threads.map(enter_the_next, seats))
    with seats[0].reading() as records:
        assert [entry.value for entry in records.all(MeterEntry)] == [
            float(n) for n in range(1, 5 * SEATS + 1)
        ]
    assert seats[0].data_version() == 5 * SEATS + 1


def test_threads_share_an_open_database_but_no_transaction(database):
    def add_and_count(n):
        with database.writing(by="Robin", at=NOW, what="set up") as records:
            records.add(vehicle(f"V-{n}"))
        with database.reading() as records:
            return len(records.all(Vehicle))

    with ThreadPoolExecutor(SEATS) as threads:
        counts = list(threads.map(add_and_count, range(20)))
    assert max(counts) == 20
    assert database.data_version() == 20


def test_threads_wait_for_the_one_connection_of_a_database_in_memory(open_database):
    database = open_database(":memory:")

    def add(n):
        with database.writing(by="Robin", at=NOW, what="set up") as records:
            return records.add(vehicle(f"V-{n}")).id

    with ThreadPoolExecutor(SEATS) as threads:
        numbers = list(threads.map(add, range(20)))
    assert sorted(numbers) == list(range(1, 21))


def test_of_two_seats_that_take_the_same_tag_one_is_told(address, database, open_database):
    seats = [open_database(address) for _seat in range(SEATS)]

    def take(seat):
        try:
            with seat.writing(by="Robin", at=NOW, what="set up") as records:
                records.add(vehicle("LR-500"))
        except WearlogError as error:
            return error.problems[0].what
        return "kept"

    with ThreadPoolExecutor(SEATS) as threads:
        outcomes = sorted(threads.map(take, seats))
    assert outcomes == ["There is another vehicle with the tag LR-500."] * (SEATS - 1) + ["kept"]


def test_readers_do_not_wait_for_a_writer(database, fleet):
    with database.writing(by="Robin", at=NOW, what="set up") as records:
        records.add(vehicle("LR-018"))
        with database.reading() as others:
            assert others.all(Vehicle) == (fleet.vehicle,)


def test_a_writer_leaves_its_turn_to_others_after_an_exception(database):
    with pytest.raises(LookupError), database.writing(by="Robin", at=NOW, what="set up"):
        raise LookupError
    with database.writing(by="Sasha", at=NOW, what="set up") as records:
        records.add(vehicle())
    assert database.data_version() == 1
