"""A backup is put back from the window: the fleet of then is shown, and what was there is kept."""

from datetime import UTC, datetime

import pytest

from tests.makers.bench import add_motorcycle, empty_bench
from wearlog import app
from wearlog.preferences import Preferences
from wearlog.window.start import Openers, build_window
from wearlog.workshop.bench import Bench
from wearlog.workshop.keeping import back_up_now, kept_backups


class Clock:
    """A clock that is no sample's: it tells the same moment, but it could go on."""

    def now(self):
        return datetime(2026, 11, 25, 12, tzinfo=UTC)


@pytest.fixture
def seat(tmp_path, qtbot):
    first = empty_bench(tmp_path / "workshop.sqlite")
    first.clock = Clock()
    add_motorcycle(first, "LR-001")

    def open_database(address, _progress):
        return Bench(type(first.database).open(address, now=Clock().now()), "Tilda", Clock())

    openers = Openers(open_database, open_database, app.close_bench)
    seat = build_window(first, Preferences(theme="light", last_page="due"), openers)
    seat.show()
    qtbot.waitUntil(lambda: seat.window.fleet.model.snapshot is not None)
    yield seat
    seat.close()
    app.close_bench(seat.session.bench)


def tags(seat):
    return [row.tag for row in seat.window.fleet.model.snapshot.rows]


def test_a_backup_takes_the_place_of_the_open_database(seat, tmp_path, qtbot):
    bench = seat.session.bench
    back_up_now(bench)
    (backup,) = kept_backups(bench)
    add_motorcycle(bench, "LR-002", types=types_of(bench))
    before = seat.window
    seat.restore(backup)
    qtbot.waitUntil(lambda: seat.window is not before)
    qtbot.waitUntil(lambda: seat.window.fleet.model.snapshot is not None)
    assert tags(seat) == ["LR-001"]
    assert len(list(tmp_path.glob("workshop.aside-*.sqlite"))) == 1
    qtbot.waitUntil(lambda: not seat.background.is_busy())


def types_of(bench):
    from wearlog.fleet.parts import PartType

    with bench.database.reading() as records:
        return dict(zip(("chain", "driver", "driven"), records.all(PartType), strict=True))


def test_a_backup_that_is_damaged_leaves_the_window_as_it_was(seat, tmp_path, qtbot):
    bench = seat.session.bench
    copy = back_up_now(bench)
    (backup,) = kept_backups(bench)
    copy.write_bytes(copy.read_bytes()[:30_000])
    before = seat.window
    seat.restore(backup)
    page = seat.window.current_page()
    qtbot.waitUntil(page.banner.isVisible)
    assert "damaged" in page.banner.text.text()
    assert seat.window is before
    qtbot.waitUntil(lambda: not seat.background.is_busy())
    assert bench.data_version() > 0


def test_the_daily_backup_is_made_while_work_goes_on(seat, qtbot):
    seat.back_up_if_due()
    qtbot.waitUntil(lambda: len(kept_backups(seat.session.bench)) == 1)
    seat.back_up_if_due()
    qtbot.waitUntil(lambda: not seat.background.is_busy())
    assert len(kept_backups(seat.session.bench)) == 1
