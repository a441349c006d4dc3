"""Work done beside other work, where there is a second thread for it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from functools import cache
from threading import Lock
from typing import Final, TypeVar

import cv2

T = TypeVar("T")

_SHARED_OUT: Final = Lock()
"""Held while the threads are shared out: the library knows one number of them for the whole process. Who finds it held, as a
second photo measured in the same process may, goes without."""


@contextmanager
def beside(work: Callable[[], T]) -> Iterator[Callable[[], T]]:
    """Do some work beside what follows.

    With a single thread (``cv2.setNumThreads(1)``, as each of several workers on a folder has) it is done when its result
    is first asked for. Networks and pictures work without the interpreter's lock, so a second thread gains time. The
    threads of the image library are shared out evenly meanwhile: three that work on two cores mostly wait for each other.
    Who asks for the result does nothing else from then on, and the work gets all of them.

    Args:
        work: Takes nothing, changes nothing, and gives the same whenever it runs.

    Yields:
        Gives the work's result, and waits for it; on leaving, the work is over or was never begun.
    """
    if cv2.getNumThreads() < 2 or not _SHARED_OUT.acquire(blocking=False):
        yield cache(work)
        return
    threads = cv2.getNumThreads()

    def result() -> T:
        cv2.setNumThreads(threads)
        return running.result()

    try:
        with ThreadPoolExecutor(1) as second:
            cv2.setNumThreads(threads // 2)
            running = second.submit(work)
            yield result
    finally:
        cv2.setNumThreads(threads)
        _SHARED_OUT.release()
