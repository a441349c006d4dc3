"""Listening to what a decoder remarks on the side, so that it ends in an observation and not on the screen."""

from __future__ import annotations

import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager

from PIL import Image

_ONE_AT_A_TIME = threading.Lock()  # the filter for warnings belongs to the whole process


@contextmanager
def heard_remarks() -> Iterator[list[str]]:
    """Collect the warnings raised inside the block.

    Pillow's own warning about large pictures is left out: our limit follows it, and is a refusal.

    Yields:
        A list that holds each different remark once when the block has ended.
    """
    remarks: list[str] = []
    with _ONE_AT_A_TIME, warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        yield remarks
        remarks += dict.fromkeys(str(w.message).strip() for w in caught)
