"""Runs work off the window's thread; the only file that starts threads.

Two things could still make the window wait for a worker, both of them Python's. Only one thread runs Python
at a time and hands over only so often: the window's thread lets go at every call into Qt and would wait that
long each time. And the collector of reference cycles stops all threads while it looks through everything
there is: what a long job has built, a million records of a large fleet, is taken out of its rounds.
"""

import gc
import sys
import threading  # noqa: TID251 - a lock; no thread is started by it
import time
from collections.abc import Callable
from enum import StrEnum
from itertools import count
from typing import Any, TypeVar

import shiboken6
from PySide6.QtCore import QObject, QRunnable, Qt, QThreadPool, Signal, Slot  # noqa: TID251 - here, and only here

from wearlog.fleet.problem import Cancelled, WearlogError
from wearlog.fleet.progress import Progress

T = TypeVar("T")

#: Workers; two keep the window's questions answered while one of them is busy with something long.
WORKERS = 2
#: Progress is passed on at most this often, [s]; a loop over 10,000 parts would flood the window otherwise.
PROGRESS_EVERY_S = 0.04
#: How long a thread may keep Python to itself while another waits, [s]; a tenth of Python's own choice.
HAND_OVER_S = 0.0005
#: Work that took longer has built something that stays, [s].
LONG_S = 0.5


class Ending(StrEnum):
    """How a job ended: in exactly one of these ways."""

    DONE = "done"
    STOPPED = "stopped"
    FAILED = "failed"
    BROKE = "broke"


class Job:
    """One piece of work on its way.

    Attributes
    ----------
    key
        A newer job with the same key takes the place of this one.
    what
        What is being done, in words; empty for quiet work that nobody needs to see.
    step_done, steps, step_what
        How far it is.
    ending
        None while it runs.
    """

    def __init__(self, number: int, key: str, what: str) -> None:
        self.number = number
        self.key = key
        self.what = what
        self.step_done = 0
        self.steps = 0
        self.step_what = ""
        self.ending: Ending | None = None
        self.is_stop_asked = False
        self.is_dropped = False

    def stop(self) -> None:
        """Ask the work to stop at its next step; what was already committed stays and is reported."""
        self.is_stop_asked = True

    def drop(self) -> None:
        """Ask the work to stop and take no notice of whatever it still brings."""
        self.is_stop_asked = True
        self.is_dropped = True


class _Post(QObject):
    """Carries news from the workers to the window's thread."""

    progressed = Signal(int, int, int, str)
    ended = Signal(int, str, object)


class _Steps:
    """The progress of one job, called on a worker."""

    def __init__(self, job: Job, post: _Post) -> None:
        self._job = job
        self._post = post
        self._told_at = 0.0

    def step(self, done: int, total: int, what: str) -> None:
        if self._job.is_stop_asked:
            raise Cancelled
        now = time.monotonic()
        if now - self._told_at >= PROGRESS_EVERY_S or done >= total:
            self._told_at = now
            self._post.progressed.emit(self._job.number, done, total, what)


class _Collector:
    """Keeps the collector of cycles still during work; then takes what was built out of its rounds."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._at_work = 0

    def begin(self) -> None:
        with self._lock:
            self._at_work += 1
            gc.disable()

    def end(self, is_long: bool) -> None:
        with self._lock:
            self._at_work -= 1
            if is_long:
                gc.freeze()
            if not self._at_work:
                gc.enable()


_collector = _Collector()


class _Work(QRunnable):
    def __init__(self, job: Job, work: Callable[[Progress], Any], post: _Post) -> None:
        super().__init__()
        self._job = job
        self._work = work
        self._post = post

    def run(self) -> None:
        ending, result = Ending.STOPPED, None
        if not self._job.is_stop_asked:
            begun = time.monotonic()
            _collector.begin()
            try:
                result = self._work(_Steps(self._job, self._post))
                ending = Ending.DONE
            except Cancelled:
                ending = Ending.STOPPED
            except WearlogError as error:
                ending, result = Ending.FAILED, error
            except Exception as error:  # noqa: BLE001 - the window's thread says it
                ending, result = Ending.BROKE, error
            finally:
                _collector.end(time.monotonic() - begun > LONG_S)
        self._post.ended.emit(self._job.number, ending.value, result)


class _Asked:
    """What the window wants to happen when a job ends."""

    def __init__(
        self,
        job: Job,
        work: _Work,
        done: Callable[[Any], None],
        failed: Callable[[WearlogError], None] | None,
        owner: QObject | None,
    ) -> None:
        self.job = job
        self.work = work
        self.done = done
        self.failed = failed
        self.owner = owner

    def is_wanted(self) -> bool:
        """Whether the one who asked still cares for the result."""
        is_gone = self.owner is not None and not shiboken6.isValid(self.owner)
        return not (self.job.is_dropped or is_gone)


class Background(QObject):
    """Two workers, and the one request per key that counts.

    Signals
    -------
    started(Job), progressed(Job), ended(Job)
        For the progress strip; `Job.ending` says how it ended.
    problem_left(WearlogError)
        A problem of a job that was run without `failed`.
    broke(Exception)
        A bug of ours, found on a worker.
    """

    started = Signal(object)
    progressed = Signal(object)
    ended = Signal(object)
    problem_left = Signal(object)
    broke = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(WORKERS)
        sys.setswitchinterval(HAND_OVER_S)
        self._post = _Post(self)
        self._post.progressed.connect(self._on_progressed, Qt.ConnectionType.QueuedConnection)
        self._post.ended.connect(self._on_ended, Qt.ConnectionType.QueuedConnection)
        self._numbers = count(1)
        self._asked: dict[int, _Asked] = {}
        self._newest: dict[str, int] = {}
        self._is_closed = False

    def run(
        self,
        work: Callable[[Progress], T],
        *,
        key: str,
        done: Callable[[T], None],
        failed: Callable[[WearlogError], None] | None = None,
        what: str = "",
        owner: QObject | None = None,
        is_urgent: bool = False,
    ) -> Job:
        """Run some work on a worker and hand its result to `done` on the window's thread.

        Parameters
        ----------
        work
            Called on a worker; may not touch anything of the window.
        key
            A newer request with the same key takes the place of an older one, whose result is dropped.
        done, failed
            Called on the window's thread. Without `failed`, a problem goes to `problem_left`.
        what
            What is being done, for the progress strip; empty keeps it quiet.
        owner
            If it is destroyed before the work ends, the result is dropped.
        is_urgent
            Whether it goes ahead of what waits.
        """
        job = Job(next(self._numbers), key, what)
        older = self._asked.get(self._newest.get(key, 0))
        if older is not None:
            older.job.drop()
        runnable = _Work(job, work, self._post)
        # The pool would otherwise free a runnable that Python still knows.
        runnable.setAutoDelete(False)
        self._asked[job.number] = _Asked(job, runnable, done, failed, owner)
        self._newest[key] = job.number
        self.started.emit(job)
        self._pool.start(runnable, 1 if is_urgent else 0)
        return job

    def stop(self, key: str) -> None:
        """Ask the running job of a key to stop."""
        asked = self._asked.get(self._newest.get(key, 0))
        if asked is not None:
            asked.job.stop()

    def is_busy(self) -> bool:
        """Whether anything is on its way."""
        return bool(self._asked)

    def close(self) -> None:
        """Stop everything and wait for the workers; nothing is delivered any more."""
        self._is_closed = True
        for asked in self._asked.values():
            asked.job.drop()
        self._pool.waitForDone()

    @Slot(int, int, int, str)
    def _on_progressed(self, number: int, done: int, total: int, what: str) -> None:
        asked = self._asked.get(number)
        if asked is None or asked.job.is_dropped:
            return
        asked.job.step_done, asked.job.steps, asked.job.step_what = done, total, what
        self.progressed.emit(asked.job)

    @Slot(int, str, object)
    def _on_ended(self, number: int, ending: str, result: Any) -> None:
        asked = self._asked.pop(number, None)
        if asked is None:
            return
        job = asked.job
        if self._newest.get(job.key) == number:
            del self._newest[job.key]
        job.ending = Ending(ending)
        is_wanted = asked.is_wanted() and not self._is_closed
        if not is_wanted and job.ending is not Ending.BROKE:
            job.ending = Ending.STOPPED
        self.ended.emit(job)
        if job.ending is Ending.BROKE:
            self.broke.emit(result)
        elif not is_wanted:
            return
        elif job.ending is Ending.DONE:
            asked.done(result)
        elif job.ending is Ending.FAILED:
            if asked.failed is None:
                self.problem_left.emit(result)
            else:
                asked.failed(result)
