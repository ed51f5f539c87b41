"""The data are looked through, copied by themselves and put back."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from tests.makers.bench import TODAY, add_motorcycle, empty_bench
from wearlog.fleet.fitting import Installation, RemovalReason
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.problem import Cancelled, WearlogError
from wearlog.fleet.progress import Silent
from wearlog.fleet.reading import Reading
from wearlog.fleet.service import Visit
from wearlog.fleet.spells import LayUp
from wearlog.fleet.vehicle import Vehicle
from wearlog.workshop.bench import FixedClock
from wearlog.workshop.keeping import (
    back_up_if_changed,
    back_up_if_due,
    back_up_now,
    kept_backups,
    remark_about_drive,
    restore_database,
    verify,
)


class TickingClock:
    """A clock that is put forward by hand."""

    def __init__(self):
        self.at = datetime(2026, 11, 23, 12, tzinfo=UTC)

    def now(self):
        return self.at


@pytest.fixture
def bench(tmp_path):
    bench = empty_bench(tmp_path / "workshop.sqlite")
    bench.clock = TickingClock()
    yield bench
    bench.database.close()


@pytest.fixture
def chain(bench):
    return add_motorcycle(bench, readings=[(500.0, 0.001), (1500.0, 0.0022)])


def writing(bench):
    return bench.database.writing(by="Tilda", at=bench.now(), what="x")


def found(bench):
    return [finding.what for finding in verify(bench).findings]


# -- records that contradict each other --------------------------------------------------------------------


def test_nothing_is_found_in_a_fleet_that_is_in_order(bench, chain):
    snapshot = verify(bench)
    assert (snapshot.findings, snapshot.notes, snapshot.is_clean) == ((), (), True)
    assert snapshot.entries >= snapshot.rows > 10


def test_a_meter_that_runs_backwards_is_found(bench, chain):
    with writing(bench) as records:
        records.add(MeterEntry(vehicle_id=chain.vehicle_id, on=TODAY + timedelta(days=1), value=10.0))
    bench.clock = FixedClock(TODAY + timedelta(days=2))
    (finding,) = verify(bench).findings
    assert finding.what == "The meter runs backwards."
    assert finding.where.startswith("LR-001: ")
    assert "10 on 2026-11-24" in finding.where
    assert finding.todo


def test_meter_entries_that_lie_ahead_are_noted(bench, chain):
    with writing(bench) as records:
        records.add(MeterEntry(vehicle_id=chain.vehicle_id, on=date(2027, 3, 1), value=90_000.0))
    snapshot = verify(bench)
    assert snapshot.is_clean
    assert "1 meter entries lie ahead of today" in snapshot.notes[0]


def test_two_parts_in_one_place_at_once_are_found(bench, chain):
    with writing(bench) as records:
        part = records.add(replace(records.first(type_of_part()), id=0, version=0, label="second"))
        records.add(replace(chain, id=0, version=0, part_id=part.id, fitted_use=chain.fitted_use + 10.0))
    assert found(bench) == ["Two parts sit in one place at once."]


def type_of_part():
    from wearlog.fleet.parts import Part

    return Part


def test_one_part_in_two_places_at_once_is_found(bench, chain):
    other = add_motorcycle(bench, "LR-002", types=types_of(bench))
    with writing(bench) as records:
        records.void(other, "makes room")
        records.add(
            replace(
                other,
                id=0,
                version=0,
                part_id=chain.part_id,
                fitted_on=chain.fitted_on + timedelta(days=3),
            )
        )
    assert "One part sits in two places at once." in found(bench)


def types_of(bench):
    from wearlog.fleet.parts import PartType

    with bench.database.reading() as records:
        chain, driver, driven = records.all(PartType)
    return {"chain": chain, "driver": driver, "driven": driven}


@pytest.mark.parametrize(
    ("removal", "what"),
    [
        ({"removed_on": TODAY}, "A part came off without a day or without the use at which it did."),
        (
            {"removed_on": date(2020, 1, 1), "removed_use": 0.0},
            "A part came off before it was fitted.",
        ),
    ],
)
def test_a_removal_that_cannot_be_is_found(bench, chain, removal, what):
    with writing(bench) as records:
        records.replace(replace(chain, removal_reason=RemovalReason.WORN, **removal))
    assert what in found(bench)


@pytest.mark.parametrize(
    "values", [{"total_use": 1e6}, {"on": date(2019, 1, 1)}, {"total_use": -5.0}], ids=str
)
def test_a_reading_outside_the_time_of_its_part_is_found(bench, chain, values):
    with writing(bench) as records:
        records.void(chain, "to be fitted again, and to come off")
        again = records.add(
            replace(
                chain,
                id=0,
                version=0,
                removed_on=TODAY,
                removed_use=chain.fitted_use + 4000.0,
                removal_reason=RemovalReason.WORN,
            )
        )
        for reading in records.all(Reading, installation_id=chain.id):
            records.replace(replace(reading, installation_id=again.id))
    assert found(bench) == []
    with writing(bench) as records:
        reading = records.all(Reading)[0]
        records.replace(replace(reading, **values))
    assert found(bench) == ["A reading lies outside the time in which its part was there."]


def test_what_counts_below_something_voided_is_found(bench, chain):
    with writing(bench) as records:
        visit = records.add(Visit(vehicle_id=chain.vehicle_id, on=TODAY, total_use=100.0))
        entry = records.all(MeterEntry)[-1]
        records.replace(replace(entry, visit_id=visit.id))
        records.void(visit, "typed twice")
    (finding,) = verify(bench).findings
    assert finding.what == "It still counts though what it belongs to is voided."
    assert finding.where == f"meter_entry {entry.id} → visit {visit.id}"


def test_a_lay_up_that_ends_before_it_begins_is_found(bench, chain):
    with writing(bench) as records:
        records.add(LayUp(vehicle_id=chain.vehicle_id, from_on=TODAY, until_on=TODAY - timedelta(days=1)))
    assert found(bench) == ["A lay-up ends before it begins."]


def test_many_findings_alike_are_counted(bench, chain):
    with writing(bench) as records:
        records.add_all(
            [
                LayUp(vehicle_id=chain.vehicle_id, from_on=TODAY, until_on=TODAY - timedelta(days=n))
                for n in range(1, 51)
            ]
        )
    findings = verify(bench).findings
    assert len(findings) == 21
    assert findings[-1].what == "30 more of: A lay-up ends before it begins."


def test_a_look_through_can_be_stopped(bench, chain):
    class Stopping(Silent):
        def step(self, done, total, what):
            super().step(done, total, what)
            if done >= 3:
                raise Cancelled

    with pytest.raises(Cancelled):
        verify(bench, Stopping())


def test_a_drive_that_keeps_no_log_is_noted(bench):
    assert remark_about_drive(bench) == ""
    bench.database.keeps_log = False
    assert "one seat at a time" in verify(bench).notes[0]
    assert empty_bench().database.keeps_log


# -- backups made by themselves ----------------------------------------------------------------------------


def test_a_backup_is_made_once_a_day_if_something_has_changed(bench, chain):
    assert back_up_if_due(bench) is not None
    bench.clock.at += timedelta(hours=20)
    with writing(bench) as records:
        records.set_setting("caution level", "0.1")
    assert back_up_if_due(bench) is None
    bench.clock.at += timedelta(hours=20)
    assert back_up_if_due(bench) is not None
    bench.clock.at += timedelta(days=3)
    assert back_up_if_due(bench) is None
    assert [one.at.day for one in kept_backups(bench)] == [25, 23]
    assert all(one.size_bytes > 10_000 for one in kept_backups(bench))


def test_closing_makes_a_backup_only_if_something_has_changed(bench, chain):
    first = back_up_if_changed(bench)
    assert back_up_if_changed(bench) is None
    bench.clock.at += timedelta(minutes=5)
    with writing(bench) as records:
        records.set_setting("caution level", "0.1")
    second = back_up_if_changed(bench)
    assert [one.path for one in kept_backups(bench)] == [second, first]


def test_a_sample_or_a_database_in_memory_has_no_backups(tmp_path):
    for address in (":memory:", tmp_path / "sample.sqlite"):
        bench = empty_bench(address)
        assert back_up_if_due(bench) is None
        assert back_up_if_changed(bench) is None
        assert back_up_now(bench) is None
        assert kept_backups(bench) == ()
        bench.database.close()


def test_a_backup_is_put_back_with_what_was_there_kept_aside(bench, chain):
    copy = back_up_now(bench)
    with writing(bench) as records:
        bike = records.all(Vehicle)[0]
        records.replace(replace(bike, depot="Harbour Depot"))
    bench.database.close()
    done = restore_database(bench.database.address, copy, bench.now())
    assert done.place == bench.database.path
    with bench.database.reading() as records:
        assert records.all(Vehicle)[0].depot == "Upper Depot"
        assert len(records.all(Installation)) == 3
    bench.database.close()
    restore_database(bench.database.address, done.aside, bench.now() + timedelta(seconds=1))
    with bench.database.reading() as records:
        assert records.all(Vehicle)[0].depot == "Harbour Depot"


@pytest.mark.parametrize("address", [":memory:", "postgresql+psycopg://robin@server/fleet"])
def test_only_a_file_is_put_back_from_here(address, tmp_path):
    with pytest.raises(WearlogError, match="Only a database file can be put back"):
        restore_database(address, tmp_path / "copy.sqlite", datetime.now(UTC))
