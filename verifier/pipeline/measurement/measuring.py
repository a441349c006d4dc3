"""Measuring many photos: a few worker processes, answers in the order asked, one bad photo never stops the others."""

from __future__ import annotations

import hashlib
import multiprocessing
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from verifier.board.definition import BoardDefinition
from verifier.board.print_scale import PrintChecks, PrintScale
from verifier.board.standing import standing_boards
from verifier.errors import BadInput
from verifier.store import sha256_of
from verifier.vision.photo_measurement import Method, PhotoFacts, PhotoMeasurement, Saying

if TYPE_CHECKING:
    from verifier.vision.metric.calibrate import CameraProfile

Measure = Callable[[Sequence["Job"], "Settings"], Iterator[PhotoMeasurement]]
"""Another way to measure than a pool that is started for it."""

Progress = Callable[[int, int, str], None]
"""Called with photos done, photos in all, and the name of the one just finished."""

WORKERS = 2
POOL_LOST = (
    "Measuring this photo ended its worker, probably for lack of memory. Send it smaller, or take it again."
)


@dataclass(frozen=True, slots=True)
class Settings:
    """What a measurement depends on besides the photo.

    Attributes:
        checks: Measured check lengths by board number.
        board_scale: One scale for every board, overriding the checks; None to use them.
        boards: Board definitions of one's own, in place of the built-in ones.
        issued: Boards issued for the pour, besides them.
        cameras: Camera profiles; used for a photo whose file names the same camera.
    """

    checks: PrintChecks = field(default_factory=PrintChecks)
    board_scale: float | None = None
    boards: tuple[BoardDefinition, ...] = ()
    issued: tuple[BoardDefinition, ...] = ()
    cameras: tuple[CameraProfile, ...] = ()

    @property
    def mark(self) -> str:
        """A short text that changes whenever a setting does, kept with each recorded measurement."""
        cameras = (camera.to_toml() for camera in self.cameras)
        issued = (repr(board) for board in self.issued)
        parts = (self.checks.model_dump_json(), repr(self.board_scale), repr(self.boards), *issued, *cameras)
        return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:16]

    @property
    def sought(self) -> tuple[BoardDefinition, ...]:
        """Boards to look for; empty for the built-in ones alone."""
        return (*self.issued, *(self.boards or standing_boards())) if self.issued else self.boards

    @property
    def print_checks(self) -> PrintChecks | PrintScale:
        """The scale stated for all boards, else the measured check lengths."""
        return self.checks if self.board_scale is None else PrintScale.stated(self.board_scale)


@dataclass(frozen=True, slots=True)
class Job:
    """One photo to measure: where its bytes lie, and the name it was received under."""

    path: Path
    name: str


def measure_photos(
    jobs: Sequence[Job],
    settings: Settings,
    *,
    workers: int = WORKERS,
    progress: Progress | None = None,
) -> Iterator[PhotoMeasurement]:
    """Measure photos, several at a time.

    Args:
        jobs: Photos in the order in which answers are wanted.
        settings: Boards and their print scale.
        workers: Number of worker processes; one photo alone, or 1, is measured in this process.
        progress: Told after each photo.

    Yields:
        One measurement for each job, in order. A photo that can't be read, or that brings a worker down, gives an unusable
        measurement with its reason.
    """
    if workers <= 1 or len(jobs) <= 1:
        for done, job in enumerate(jobs, start=1):
            answer = measure_one(job, settings)
            if progress is not None:
                progress(done, len(jobs), job.name)
            yield answer
        return
    yield from _in_pool(jobs, settings, min(workers, len(jobs)), progress)


def _in_pool(
    jobs: Sequence[Job], settings: Settings, workers: int, progress: Progress | None
) -> Iterator[PhotoMeasurement]:
    context = _spawned()
    with ProcessPoolExecutor(workers, mp_context=context, initializer=_one_thread) as pool:
        waiting: list[tuple[Job, Future[PhotoMeasurement]]] = [
            (job, pool.submit(measure_one, job, settings)) for job in jobs
        ]
        for done, (job, future) in enumerate(waiting, start=1):
            try:
                answer = future.result()
            except BrokenProcessPool:
                answer = _alone(job, settings, context)
            if progress is not None:
                progress(done, len(jobs), job.name)
            yield answer


class StandingWorkers:
    """Worker processes that stay, so that a photo need not wait until one has started; for a page, not for a command.

    Two threads may measure at once. A photo that brings a worker down is refused, and the next one finds new workers.
    """

    def __init__(self, workers: int = WORKERS) -> None:
        self._workers = workers
        self._lock = Lock()
        self._pool: ProcessPoolExecutor | None = None

    def warm(self) -> None:
        """Start the workers and let them load what measuring needs, without waiting for it."""
        for _ in range(self._workers):
            self._standing().submit(method_version)

    def __call__(self, jobs: Sequence[Job], settings: Settings) -> Iterator[PhotoMeasurement]:
        """Measure photos, one after the other.

        Args:
            jobs: Photos.
            settings: Boards and their print scale.

        Yields:
            One measurement for each job, in order.
        """
        for job in jobs:
            pool = self._standing()
            try:
                yield pool.submit(measure_one, job, settings).result()
            except BrokenProcessPool:
                self._lost(pool)
                yield _alone(job, settings, _spawned())

    def close(self) -> None:
        """End the workers."""
        with self._lock:
            if self._pool is not None:
                self._pool.shutdown(wait=False, cancel_futures=True)
                self._pool = None

    def _standing(self) -> ProcessPoolExecutor:
        with self._lock:
            if self._pool is None:
                self._pool = ProcessPoolExecutor(
                    self._workers, mp_context=_spawned(), initializer=_one_thread
                )
            return self._pool

    def _lost(self, pool: ProcessPoolExecutor) -> None:
        with self._lock:
            if self._pool is pool:
                self._pool = None


def _spawned() -> multiprocessing.context.SpawnContext:
    """Spawned, not forked: the page runs threads, and a forked copy of a locked lock stays locked."""
    return multiprocessing.get_context("spawn")


def method_version() -> str:
    """Return the version of the method that this program measures with, loading the rooms that it needs."""
    from verifier.vision.measure import METHOD_VERSION

    return METHOD_VERSION


def _alone(job: Job, settings: Settings, context: multiprocessing.context.SpawnContext) -> PhotoMeasurement:
    """Try once more in a worker of its own, after some photo brought the common pool down."""
    try:
        with ProcessPoolExecutor(1, mp_context=context, initializer=_one_thread) as pool:
            return pool.submit(measure_one, job, settings).result()
    except BrokenProcessPool:
        return refused(job, Saying(reason="worker-lost", say=POOL_LOST))


def _one_thread() -> None:
    """Each worker keeps to one core; the pool is the parallelism."""
    import cv2  # heavy, and only workers need it

    cv2.setNumThreads(1)


def measure_one(job: Job, settings: Settings) -> PhotoMeasurement:
    """Measure one photo; whatever goes wrong becomes a refusal.

    Args:
        job: The photo.
        settings: Boards and their print scale.

    Returns:
        The measurement.
    """
    try:
        return _measured(job, settings)
    except BadInput as error:
        return refused(job, Saying(reason="unreadable", say=f"{error.wrong} {error.todo}"))
    except Exception as error:  # one bad photo must not stop the others; it is told, not hidden
        say = f"Measuring failed ({type(error).__name__}: {error}). Keep the photo and take another one of the spot."
        return refused(job, Saying(reason="measuring-failed", say=say))


def _measured(job: Job, settings: Settings) -> PhotoMeasurement:
    # Loads large libraries; only a process that measures needs them.
    from verifier.vision.measure import measure_file

    return measure_file(
        _bytes_of(job),
        job.name,
        boards=settings.sought,
        print_checks=settings.print_checks,
        profiles=settings.cameras,
    )


def _bytes_of(job: Job) -> bytes:
    try:
        return job.path.read_bytes()
    except OSError as error:
        raise BadInput(
            f"The file can't be read ({error.strerror}).",
            where=job.name,
            todo="Check its name and its rights.",
        ) from error


def refused(job: Job, saying: Saying) -> PhotoMeasurement:
    """An unusable measurement of a photo that gave no pixels.

    Args:
        job: The photo.
        saying: Why, and what to do.

    Returns:
        The measurement, with the hash of the bytes where they can be read.
    """
    digest = sha256_of(job.path) if job.path.is_file() else "0" * 64
    return PhotoMeasurement(
        photo=PhotoFacts(name=job.name, sha256=digest, width_px=0, height_px=0),
        usable=False,
        refusals=(saying,),
        method=Method(version="", labels=""),
    )
