"""Work done beside other work, where there is a second thread for it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from functools import cache
from typing import TypeVar

import cv2

T = TypeVar("T")


@contextmanager
def beside(work: Callable[[], T]) -> Iterator[Callable[[], T]]:
    """Do some work beside what follows.

    With a single thread (``cv2.setNumThreads(1)``, as each of several workers on a folder has) it is done when its result
    is first asked for. Networks and pictures work without the interpreter's lock, so a second thread gains time.

    Args:
        work: Takes nothing, changes nothing, and gives the same whenever it runs.

    Yields:
        Gives the work's result, and waits for it; on leaving, the work is over or was never begun.
    """
    if cv2.getNumThreads() < 2:
        yield cache(work)
        return
    with ThreadPoolExecutor(1) as second:
        yield second.submit(work).result
