"""Work beside other work: the same result however many threads there are, and the threads are given back."""

import cv2
import pytest

from verifier.vision.beside import beside


@pytest.fixture
def threads():
    before = cv2.getNumThreads()
    yield cv2.setNumThreads
    cv2.setNumThreads(before)


@pytest.mark.parametrize("count", [1, 2, 5])
def test_result_comes_and_the_threads_are_given_back(threads, count):
    threads(count)
    with beside(lambda: sum(range(1000))) as result:
        assert cv2.getNumThreads() == max(count // 2, 1)
        assert result() == 499_500
        assert cv2.getNumThreads() == count
    assert cv2.getNumThreads() == count


def test_second_work_at_once_goes_without_and_shares_out_nothing(threads):
    threads(4)
    with beside(lambda: "first") as first:
        with beside(lambda: "second") as second:
            assert cv2.getNumThreads() == 2
            assert second() == "second"
        assert cv2.getNumThreads() == 2
        assert first() == "first"
    assert cv2.getNumThreads() == 4


def test_failure_on_either_side_is_told_and_gives_the_threads_back(threads):
    threads(2)
    with pytest.raises(ZeroDivisionError), beside(lambda: 1 // 0) as result:
        result()
    assert cv2.getNumThreads() == 2
    with pytest.raises(ValueError, match="here"), beside(lambda: 1):
        raise ValueError("here")
    with beside(lambda: 2) as result:
        assert cv2.getNumThreads() == 1
        assert result() == 2
    assert cv2.getNumThreads() == 2
