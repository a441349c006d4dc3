"""How the label network's four maps of a class become one: by the worked example of the operator that stands for it."""

import numpy as np
import pytest

from verifier.vision.labels import by_cell

pytestmark = pytest.mark.source("ONNX operators, DepthToSpace version 13, example in mode CRD (from memory)")


def test_four_quarters_are_laid_out_as_the_operator_lays_them_out():
    blocks = [np.array([[0, 1, 2], [3, 4, 5]], np.float32) + 9 * k for k in range(4)]
    expected = [
        [0, 9, 1, 10, 2, 11],
        [18, 27, 19, 28, 20, 29],
        [3, 12, 4, 13, 5, 14],
        [21, 30, 22, 31, 23, 32],
    ]
    assert by_cell(np.stack(blocks)).tolist() == expected
