"""Has this picture been seen before, perhaps saved again, made smaller or turned?"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.fft import dctn

from verifier.photo.observations import Observation, ObservationKey

SAME_UP_TO_BITS = 3
LIKE_UP_TO_BITS = 12
_SIDE = 32
_LOW = 8
_SOURCE = (
    "Perceptual hash of the lowest 8 x 8 cosine frequencies; limits from own trials on 150 drawn mats: saved again at "
    "quality 50 or half size at most 2 bits, different scenes at least 12"
)
_SMALL = (16, 12)


def perceptual_hash(grey: NDArray[np.uint8]) -> int:
    """Return a 64-bit hash that changes little when a picture is saved again.

    Args:
        grey: (h, w) uint8.

    Returns:
        64 bits, the lowest frequency first.

    Source:
        Common practice for finding copies of pictures: sign of each low frequency against their median; no standard.
    """
    return _hash(_shrunk(grey))


def hashes_of_turns(grey: NDArray[np.uint8]) -> tuple[int, ...]:
    """Return the hash of a picture and of its three quarter turns.

    Args:
        grey: (h, w) uint8.

    Returns:
        Four hashes; the first is that of the picture as given.
    """
    small = _shrunk(grey)
    return tuple(_hash(np.rot90(small, turns)) for turns in range(4))


def _shrunk(grey: NDArray[np.uint8]) -> NDArray[np.float64]:
    image = Image.fromarray(grey).resize((_SIDE, _SIDE), Image.Resampling.BOX)
    return np.asarray(image, dtype=np.float64)


def _hash(small: NDArray[np.float64]) -> int:
    low = dctn(small, norm="ortho")[:_LOW, :_LOW].ravel()
    bits = low > np.median(low)
    return int("".join("1" if bit else "0" for bit in bits), 2)


def bits_apart(one: int, other: int) -> int:
    """Return in how many bits two hashes differ.

    Args:
        one: A hash.
        other: Another.

    Returns:
        0 to 64.
    """
    return (one ^ other).bit_count()


def copy_observations(
    sha256: str, turned_hashes: tuple[int, ...], known: Iterable[tuple[str, str, int]]
) -> list[Observation]:
    """Compare a photo with those already taken in.

    Args:
        sha256: Hash of the new file.
        turned_hashes: Perceptual hashes of the new picture and its turns.
        known: Name, SHA-256 and perceptual hash of each photo known before.

    Returns:
        One observation for the nearest photo of each kind: same file, same picture, like picture.
    """
    nearest: dict[ObservationKey, tuple[int, str]] = {}
    for name, known_sha256, known_hash in known:
        apart = min(bits_apart(known_hash, h) for h in turned_hashes)
        if known_sha256 == sha256:
            key, apart = ObservationKey.SAME_FILE, 0
        elif apart <= SAME_UP_TO_BITS:
            key = ObservationKey.SAME_PICTURE
        elif apart <= LIKE_UP_TO_BITS:
            key = ObservationKey.LIKE_PICTURE
        else:
            continue
        nearest[key] = min(nearest.get(key, (65, "")), (apart, name))
    return [_copy(key, apart, name) for key, (apart, name) in nearest.items()]


def _copy(key: ObservationKey, apart: int, name: str) -> Observation:
    if key is ObservationKey.SAME_FILE:
        return Observation(
            key=key,
            weight="warning",
            value=name,
            says=f"This is byte for byte the same file as {name}.",
            todo="Nothing is lost: it counts once. For another spot, take another photo.",
            source="SHA-256 (FIPS 180-4) of the bytes as received",
        )
    same = key is ObservationKey.SAME_PICTURE
    return Observation(
        key=key,
        weight="warning" if same else "note",
        value=float(apart),
        limit=float(SAME_UP_TO_BITS if same else LIKE_UP_TO_BITS),
        unit="bit",
        says=f"The picture is the same as {name}, saved again or turned."
        if same
        else f"The picture is very like {name}; two photos of one mat can be that alike.",
        todo="Keep the one that came straight from the camera; it must not stand for two spots."
        if same
        else "Look at both: do they show two spots, or one spot twice?",
        source=_SOURCE,
    )


def likeness(one: NDArray[np.uint8], other: NDArray[np.uint8]) -> float:
    """Return how alike two pictures of one shape are, by the correlation of 16 x 12 patches.

    Args:
        one: (h, w) uint8.
        other: (h, w) uint8, any size of about the same shape.

    Returns:
        -1 to 1; 1 where both are plain grey.
    """
    a, b = (
        np.asarray(Image.fromarray(p).resize(_SMALL, Image.Resampling.BOX), dtype=np.float64).ravel()
        for p in (one, other)
    )
    a, b = a - a.mean(), b - b.mean()
    spread = float(np.linalg.norm(a) * np.linalg.norm(b))
    return 1.0 if spread < 1e-9 else float(a @ b) / spread
