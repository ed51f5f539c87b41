"""The connection goes while a service is saved: tried again, it is there once, whatever was heard before."""

from contextlib import suppress
from dataclasses import replace
from uuid import uuid4

import pytest
from sqlalchemy import make_url, text

from tests.makers.bench import TODAY, add_caliper, add_motorcycle, empty_bench
from tests.makers.cut import Way
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.problem import ConnectionLost, ProblemKind, WearlogError
from wearlog.fleet.reading import Measurand, Method, Reading, Spot
from wearlog.fleet.service import Visit
from wearlog.store.database import Database
from wearlog.workshop.bench import Bench, FixedClock
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.keeping import verify
from wearlog.workshop.measure import keep_draft, kept_draft, open_sheet, save
from wearlog.workshop.sheet import EntryDraft, SheetDraft
from wearlog.workshop.undo import undo

SEAT = "wearlog seat on the way"


@pytest.fixture
def way(postgresql):
    with Way(postgresql) as made:
        yield made


@pytest.fixture
def office(postgresql):
    """A bench beside the server, with a motorcycle whose chain is measured."""
    made = empty_bench(postgresql)
    add_caliper(made)
    add_motorcycle(made, readings=[(500, 0.0010), (1500, 0.0022)])
    yield made
    made.database.close()


@pytest.fixture
def seat(office, postgresql, way):
    """A bench at the other end of the way."""
    query = {name: value for name, value in make_url(postgresql).query.items() if name != "host"}
    url = make_url(postgresql).set(host="127.0.0.1", port=way.port, query={**query, "application_name": SEAT})
    address = url.render_as_string(hide_password=False)
    clock = FixedClock(TODAY)
    made = Bench(Database.open(address, now=clock.now()), "Ines", clock)
    yield made
    made.database.close()


def sheet_of(bench, km: float) -> SheetDraft:
    """A sheet with the meter and the chain's length over 20 pitches, under a key of its own."""
    (vehicle_id,) = fleet_state(bench).vehicles
    (key,) = (
        asked.key
        for block in open_sheet(bench, vehicle_id).blocks
        for asked in block.readings
        if asked.measurand is Measurand.CHAIN_ELONGATION
    )
    entry = EntryDraft(
        text="255.30",
        spots=(Spot(typed="255.30", value=255.30, resolution=0.01),),
        method=Method.OVER_ROLLERS,
        pitches=20,
        was_cleaned=True,
    )
    return SheetDraft(
        vehicle_id, TODAY, meter_text=f"{km:g}", meter_value=km, entries={key: entry}, save_key=uuid4().hex
    )


def counts(bench) -> dict[str, int]:
    with bench.database.reading() as records:
        return {kind.__name__: records.count(kind) for kind in (Visit, Reading, MeterEntry)}


def one_more(before: dict[str, int], services: int = 1) -> dict[str, int]:
    return {name: count + services for name, count in before.items()}


@pytest.fixture
def points(seat, way):
    """How many messages go to the server while a service is saved: the points at which it can be lost."""
    fleet_state(seat)
    draft = sheet_of(seat, 5001.0)
    way.watch()
    save(seat, draft)
    assert way.sent > 10
    return way.sent


@pytest.mark.slow
def test_cut_before_any_message_a_service_is_saved_once(seat, office, way, points):
    before = counts(office)
    for number in range(1, points + 1):
        draft = sheet_of(seat, 5001.0 + number)
        way.watch(lambda sent, at=number: sent != at)
        with suppress(ConnectionLost):
            save(seat, draft)
        way.watch()
        changes = save(seat, draft)
        assert changes.vehicle_ids == {draft.vehicle_id}
        assert counts(office) == one_more(before, number)
    assert verify(office).findings == ()


@pytest.mark.slow
def test_with_the_answer_to_any_message_lost_a_service_is_saved_once(seat, office, way, points):
    before = counts(office)
    unsure = 0
    for number in range(1, points + 1):
        draft = sheet_of(seat, 5001.0 + number)
        way.watch(drops_answer_to=number)
        try:
            save(seat, draft)
        except ConnectionLost as lost:
            unsure += "nobody knows" in lost.problems[0].what
        way.watch()
        save(seat, draft)
        assert counts(office) == one_more(before, number)
    # The answer to the commit.
    assert unsure >= 1
    assert verify(office).findings == ()


@pytest.mark.slow
def test_with_the_server_process_ended_at_any_message_a_service_is_saved_once(
    seat, office, way, points, administrator
):
    """pg_terminate_backend: PostgreSQL manual, "Server Signaling Functions"."""
    query = text(
        "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity WHERE application_name = :name"
    )

    def end_it(sent: int, at: int) -> bool:
        if sent == at:
            administrator.execute(query, {"name": SEAT})
        return True

    before = counts(office)
    for number in range(1, points + 1):
        draft = sheet_of(seat, 5001.0 + number)
        way.watch(lambda sent, at=number: end_it(sent, at))
        with suppress(ConnectionLost):
            save(seat, draft)
        way.watch()
        save(seat, draft)
        assert counts(office) == one_more(before, number)
    assert verify(office).findings == ()


def test_a_sheet_changed_after_an_unknown_save_is_told_and_not_doubled(seat, office, way, points):
    before = counts(office)
    draft = sheet_of(seat, 5100.0)
    way.watch()
    save(seat, draft)
    with pytest.raises(WearlogError, match="was saved before") as told:
        save(seat, replace(draft, notes="rear sprocket hooked"))
    assert told.value.problems[0].kind is ProblemKind.CONFLICT
    assert counts(office) == one_more(before)


def test_a_save_found_done_leaves_no_half_filled_sheet_behind(seat, office, points):
    draft = sheet_of(seat, 5100.0)
    save(seat, draft)
    # The page keeps what it shows while it does not know.
    keep_draft(seat, draft)
    save(seat, draft)
    assert kept_draft(office, draft.vehicle_id) is None


def test_a_save_found_done_can_be_taken_back_and_saved_anew(seat, office, points):
    before = counts(office)
    draft = sheet_of(seat, 5100.0)
    first = save(seat, draft)
    again = save(seat, draft)
    assert (again.change_id, again.installation_ids) == (first.change_id, first.installation_ids)
    undo(seat, again)
    reopened = kept_draft(seat, draft.vehicle_id)
    assert reopened is not None
    save(seat, replace(reopened, save_key=uuid4().hex))
    assert counts(office) == one_more(before, 2)


def test_while_the_server_is_down_nothing_is_saved_and_afterwards_once(seat, office, way, points):
    before = counts(office)
    draft = sheet_of(seat, 5100.0)
    way.shut()
    for _try in range(3):
        with pytest.raises(ConnectionLost):
            save(seat, draft)
    assert counts(office) == before
    way.reopen()
    save(seat, draft)
    save(seat, draft)
    assert counts(office) == one_more(before)


def test_a_connection_that_died_while_nobody_worked_is_made_anew_unseen(seat, way):
    seat.data_version()
    way.shut()
    way.reopen()
    assert seat.data_version() > 0
