"""A second, independent reading of the Exif block, in a worker process with limits on memory and time."""

from __future__ import annotations

import atexit
import base64
import contextlib
import functools
import json
import os
import subprocess
import sys
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

SECONDS_PER_PHOTO = 2.0
_SECONDS_TO_START = 20.0
_WORKER = Path(__file__).with_name("exif_worker.py")


@dataclass(frozen=True, slots=True)
class SecondReading:
    """What the second reader found.

    Attributes:
        tags: Values by directory and tag number; empty when it failed.
        trouble: Why it failed, or empty.
    """

    tags: Mapping[str, Any] = field(default_factory=dict)
    trouble: str = ""


class GuardedExifReader:
    """One worker process, started at the first photo and again after each one that it did not survive.

    Args:
        seconds_per_photo: A photo that takes longer is given up and the worker ended.
        worker: The script that the worker runs.
    """

    def __init__(self, seconds_per_photo: float = SECONDS_PER_PHOTO, worker: Path = _WORKER) -> None:
        self._seconds = seconds_per_photo
        self._worker = worker
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None

    def read(self, block: bytes) -> SecondReading:
        """Read one Exif block.

        Args:
            block: TIFF structure, from its byte-order mark on.

        Returns:
            The values found, or why there are none; never an exception.
        """
        with self._lock:
            try:
                answer = self._ask(block)
            except OSError as error:
                self._end()
                return SecondReading(trouble=f"the reader could not be run ({type(error).__name__})")
        if answer is None:
            return SecondReading(
                trouble=f"the reader was ended: too much memory or more than {self._seconds:g} s"
            )
        if "trouble" in answer:
            return SecondReading(trouble=f"the reader stumbled ({answer['trouble']})")
        return SecondReading(tags=answer["tags"])

    def close(self) -> None:
        """End the worker process; the next photo would start another."""
        with self._lock:
            self._end()

    def _ask(self, block: bytes) -> dict[str, Any] | None:
        process = self._process or self._start()
        line = _exchange(process, base64.b64encode(block) + b"\n", self._seconds)
        if not line.endswith(b"\n"):
            self._end()
            return None
        answer: dict[str, Any] = json.loads(line)
        return answer

    def _start(self) -> subprocess.Popen[bytes]:
        # -P keeps this folder off the worker's import path: its modules must not stand in for others.
        self._process = subprocess.Popen(
            [sys.executable, "-P", str(self._worker)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )
        if _exchange(self._process, b"", _SECONDS_TO_START) != b"ready\n":
            raise OSError("the worker did not start")
        return self._process

    def _end(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            for pipe in (self._process.stdin, self._process.stdout):
                if pipe is not None:
                    with contextlib.suppress(BrokenPipeError):
                        pipe.close()
            self._process = None


def _exchange(process: subprocess.Popen[bytes], line: bytes, seconds: float) -> bytes:
    """Send a line and wait for one; whoever takes too long is ended, which also ends the wait."""
    if process.stdin is None or process.stdout is None:
        raise OSError("the worker has no pipes")
    watchdog = threading.Timer(seconds, process.kill)
    watchdog.start()
    try:
        process.stdin.write(line)
        process.stdin.flush()
        return process.stdout.readline()
    except BrokenPipeError:
        return b""
    finally:
        watchdog.cancel()


@functools.cache
def _reader_of(process_id: int) -> GuardedExifReader:
    """One worker for each process: a forked one must not share its parent's pipes."""
    reader = GuardedExifReader()
    atexit.register(reader.close)
    return reader


def second_reading(block: bytes) -> SecondReading:
    """Read an Exif block with this process's worker.

    Args:
        block: TIFF structure, from its byte-order mark on.

    Returns:
        The values found, or why there are none; never an exception.
    """
    return _reader_of(os.getpid()).read(block)
