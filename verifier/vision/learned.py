"""What the networks have learned: their weights as kept in the package, how they are asked, and the names by which a result
tells of them.
"""  # noqa: D205 - one sentence that doesn't fit one line

from __future__ import annotations

import hashlib
from functools import cache
from importlib.resources import as_file, files
from importlib.resources.abc import Traversable
from threading import Lock

import cv2
import numpy as np
from numpy.typing import NDArray


@cache
def learned(name: str) -> bytes:
    """The bytes of one file of weights.

    Args:
        name: file name in ``weights/``, whose ``DATASHEET.md`` says what each was trained on and where it fails.

    Returns:
        The file as it is.

    Raises:
        FileNotFoundError: the package holds no such file.
    """
    return _file(name).read_bytes()


def _file(name: str) -> Traversable:
    return files("verifier.vision").joinpath("weights", name)


def told_by(name: str, pictures: NDArray[np.float32]) -> NDArray[np.float32]:
    """What a network says of pictures.

    Args:
        name: file name of the network in ``weights/``.
        pictures: (n, c, h, w), as the network was trained.

    Returns:
        The network's output, (n, ...); the same pictures give the same output, whatever the number of threads.

    Raises:
        FileNotFoundError: the package holds no such network.
    """
    network, alone = _network(name)
    with alone:
        network.setInput(pictures)
        told: NDArray[np.float32] = np.asarray(network.forward(), np.float32)
    return told


@cache
def _network(name: str) -> tuple[cv2.dnn.Net, Lock]:
    """A network, and a lock to hold while it runs: it writes on scratch memory of its own.

    It is kept, for a new one takes its 100 MB from the system anew with every photo: a sixth of the time of a look. Of
    the library's two ways to run a network the older one takes half the time for views and is as quick for whole photos;
    it can be asked for with a file only, not with bytes.
    """
    with as_file(_file(name)) as path:
        return cv2.dnn.readNetFromONNX(str(path), cv2.dnn.ENGINE_CLASSIC), Lock()


@cache
def name_of_labels() -> str:
    """Name of the weights that labels and blocks come from: the first 16 hex digits of their SHA-256."""
    weights = (learned(name) for name in ("labels.onnx", "blocks.onnx", "blocks_closer.onnx"))
    return hashlib.sha256(b"".join(weights)).hexdigest()[:16]


@cache
def name_of_outlines() -> str:
    """Name of the weights that outlines come from: the first 8 hex digits of their SHA-256."""
    return hashlib.sha256(learned("outlines.npz")).hexdigest()[:8]
