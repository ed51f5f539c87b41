"""Work off the window's thread: one request per key counts, and every job ends in exactly one way."""

import gc
import sys
import threading  # noqa: TID251 - to hold a worker until the test lets it go

import pytest

from wearlog.fleet.problem import Cancelled, Problem, WearlogError
from wearlog.window.background import HAND_OVER_S, WORKERS, Background, Ending


@pytest.fixture
def ended(background):
    """Every job that ended, in order."""
    jobs = []
    background.ended.connect(jobs.append)
    return jobs


def test_a_result_arrives_on_the_windows_thread(background, qtbot):
    got = []
    here = threading.get_ident()
    background.run(
        lambda _progress: threading.get_ident(),
        key="a",
        done=lambda there: got.append((there, threading.get_ident())),
    )
    qtbot.waitUntil(lambda: bool(got))
    worked_on, delivered_on = got[0]
    assert delivered_on == here
    assert worked_on != here


def test_a_newer_request_takes_the_place_of_an_older_one(background, qtbot, ended):
    gate, got = threading.Event(), []
    background.run(lambda _progress: gate.wait(10) and "old", key="trend", done=got.append)
    background.run(lambda _progress: "new", key="trend", done=got.append)
    gate.set()
    qtbot.waitUntil(lambda: len(ended) == 2)
    assert got == ["new"]
    assert sorted(job.ending for job in ended) == [Ending.DONE, Ending.STOPPED]


def test_requests_of_different_pages_do_not_disturb_each_other(background, qtbot):
    got = []
    for name in ("fleet", "trend", "due"):
        background.run(lambda _progress, name=name: name, key=name, done=got.append)
    qtbot.waitUntil(lambda: len(got) == 3)
    assert sorted(got) == ["due", "fleet", "trend"]


def test_no_more_than_two_workers_are_busy_at_once(background, qtbot):
    busy, most, lock = [0], [0], threading.Lock()
    together = threading.Barrier(WORKERS)

    def work(progress):
        with lock:
            busy[0] += 1
            most[0] = max(most[0], busy[0])
        together.wait(10)
        with lock:
            busy[0] -= 1

    got = []
    for n in range(3 * WORKERS):
        background.run(work, key=f"job {n}", done=got.append)
    qtbot.waitUntil(lambda: len(got) == 3 * WORKERS)
    assert most[0] == WORKERS


def test_a_stopped_job_is_told_at_its_next_step(background, qtbot, ended):
    reached, gate, caught = threading.Event(), threading.Event(), []

    def work(progress):
        progress.step(0, 10, "Reading")
        reached.set()
        gate.wait(10)
        try:
            progress.step(1, 10, "Reading")
        except Cancelled:
            caught.append(True)
            raise

    job = background.run(work, key="import", done=lambda _r: pytest.fail("was stopped"), what="Importing")
    reached.wait(10)
    job.stop()
    gate.set()
    qtbot.waitUntil(lambda: bool(ended))
    assert caught
    assert [j.ending for j in ended] == [Ending.STOPPED]


def test_what_was_committed_before_the_stop_is_still_reported(background, qtbot):
    reached, gate, got = threading.Event(), threading.Event(), []

    def work(progress):
        reached.set()
        gate.wait(10)
        return "saved"

    job = background.run(work, key="save", done=got.append)
    reached.wait(10)
    job.stop()
    gate.set()
    qtbot.waitUntil(lambda: bool(got))
    assert got == ["saved"]


def test_a_problem_goes_to_the_one_who_asked(background, qtbot, ended):
    got = []

    def work(progress):
        raise WearlogError(Problem("The file is empty.", "readings.csv"))

    background.run(
        work, key="import", done=got.append, failed=lambda error: got.append(error.problems[0].where)
    )
    qtbot.waitUntil(lambda: bool(got))
    assert got == ["readings.csv"]
    assert [job.ending for job in ended] == [Ending.FAILED]


def test_a_problem_nobody_waits_for_is_left_to_the_window(background, qtbot):
    def work(progress):
        raise WearlogError(Problem("The database is locked."))

    with qtbot.waitSignal(background.problem_left) as left:
        background.run(work, key="fleet", done=lambda _r: None)
    assert left.args[0].problems[0].what == "The database is locked."


def test_a_bug_on_a_worker_reaches_the_window_with_its_trace(background, qtbot, ended):
    def work(progress):
        raise ZeroDivisionError("no links")

    with qtbot.waitSignal(background.broke) as broke:
        background.run(work, key="trend", done=lambda _r: None)
    assert isinstance(broke.args[0], ZeroDivisionError)
    assert broke.args[0].__traceback__ is not None
    assert [job.ending for job in ended] == [Ending.BROKE]


def test_progress_reaches_the_strip_and_its_last_step_always_does(background, qtbot):
    seen, got = [], []
    background.progressed.connect(lambda job: seen.append((job.step_done, job.steps, job.step_what)))

    def work(progress):
        for n in range(1, 1001):
            progress.step(n, 1000, "Reading rows")

    background.run(work, key="import", done=got.append, what="Importing")
    qtbot.waitUntil(lambda: bool(got))
    assert seen[-1] == (1000, 1000, "Reading rows")
    # Thousands of steps a second would keep the window from painting.
    assert len(seen) < 1000


def test_closing_stops_what_runs_and_delivers_nothing(qapp, qtbot):
    background = Background()
    reached, got = threading.Event(), []

    def work(progress):
        reached.set()
        while True:
            progress.step(1, 2, "Waiting")

    background.run(work, key="long", done=got.append)
    reached.wait(10)
    background.close()
    qtbot.waitUntil(lambda: not background.is_busy())
    assert got == []


def test_a_result_for_a_page_that_is_gone_is_dropped(background, qtbot, qapp, ended):
    from PySide6.QtCore import QObject

    page, gate, got = QObject(), threading.Event(), []
    background.run(lambda _progress: gate.wait(10), key="page", done=got.append, owner=page)
    page.deleteLater()
    qtbot.waitUntil(lambda: _is_gone(page))
    gate.set()
    qtbot.waitUntil(lambda: bool(ended))
    assert got == []


def _is_gone(thing):
    import shiboken6

    return not shiboken6.isValid(thing)


def test_the_collector_of_cycles_is_still_while_there_is_work(background, qtbot):
    gate, seen, got = threading.Event(), [], []

    def work(_progress):
        seen.append(gc.isenabled())
        return gate.wait(10)

    background.run(work, key="a", done=got.append)
    background.run(work, key="b", done=got.append)
    qtbot.waitUntil(lambda: len(seen) == 2)
    assert seen == [False, False]
    gate.set()
    qtbot.waitUntil(lambda: len(got) == 2)
    assert gc.isenabled()


def test_the_collector_is_back_after_work_that_failed(background, qtbot, ended):
    def work(_progress):
        raise WearlogError(Problem("It did not work."))

    background.run(work, key="a", done=lambda _result: None, failed=lambda _error: None)
    qtbot.waitUntil(lambda: bool(ended))
    assert gc.isenabled()


def test_a_busy_worker_hands_over_sooner_than_python_would(background):
    assert background is not None
    assert sys.getswitchinterval() == pytest.approx(HAND_OVER_S)
