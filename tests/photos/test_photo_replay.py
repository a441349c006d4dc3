"""The same original gives the same numbers, to the last digit, on every run and with one or two threads."""

import cv2
from photo_truth import RENDERED

from verifier.vision.measure import measure_file


def test_same_numbers_on_repeated_runs_and_with_one_or_two_threads():
    path = RENDERED / "hard_0310.jpg"
    data = path.read_bytes()
    before = cv2.getNumThreads()
    try:
        cv2.setNumThreads(1)
        first, again = measure_file(data, path.name), measure_file(data, path.name)
        cv2.setNumThreads(2)
        two = measure_file(data, path.name)
    finally:
        cv2.setNumThreads(before)
    assert first.usable
    assert first.model_dump_json() == again.model_dump_json()
    assert first.model_dump_json() == two.model_dump_json()
