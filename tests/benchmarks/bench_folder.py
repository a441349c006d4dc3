"""A folder of photos on two workers against one.

    python tests/benchmarks/bench_folder.py [FOLDER] [COPIES]

Without arguments the photos of the tests are taken, several times over: some forty photos are a round over a pour. A worker
is a process that keeps to one core. One worker is therefore this process held to one thread; the two are started and ended
within the time taken, as a command does. Beside it stands this process with all its threads, which is what a command with
one worker really does. What a busy machine does to such figures the last line tells: processor time against wall time.
"""

from __future__ import annotations

import os
import resource
import sys
import time
from pathlib import Path

import cv2

from verifier.pipeline.measurement.measuring import Job, Settings, measure_photos

RENDERED = Path(__file__).parents[1] / "photos" / "rendered"


def processor_s():
    """Processor time of this process and of those that it started and that have ended, in s."""
    own, ended = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return own.ru_utime + own.ru_stime + ended.ru_utime + ended.ru_stime


def taken_s(jobs, workers, threads):
    """Wall time and processor time, in s."""
    cv2.setNumThreads(threads)
    before, start = processor_s(), time.perf_counter()
    done = list(measure_photos(jobs, Settings(), workers=workers))
    assert len(done) == len(jobs)
    return time.perf_counter() - start, processor_s() - before


def main(folder, copies):
    jobs = [Job(path, path.name) for path in sorted(folder.glob("*.jpg"))] * copies
    cores = len(os.sched_getaffinity(0))
    taken_s(jobs[:1], 1, 1)
    one, one_cpu = taken_s(jobs, 1, 1)
    threaded, _ = taken_s(jobs, 1, cores)
    two, two_cpu = taken_s(jobs, 2, 1)
    print(
        f"{len(jobs)} photos, {cores} cores: one worker {len(jobs) / one:.2f} photos/s, two workers {len(jobs) / two:.2f} photos/s, "
        f"{one / two:.2f} times as many; one process with {cores} threads {len(jobs) / threaded:.2f} photos/s"
    )
    print(
        f"processor time a photo: one worker {one_cpu / len(jobs):.2f} s ({one_cpu / one:.0%} of its wall time; near 100 % on a "
        f"calm machine), two workers {two_cpu / len(jobs):.2f} s ({two_cpu / two:.0%}, of 200 %)"
    )


if __name__ == "__main__":
    main(
        Path(sys.argv[1]) if len(sys.argv) > 1 else RENDERED,
        int(sys.argv[2]) if len(sys.argv) > 2 else 4,
    )
