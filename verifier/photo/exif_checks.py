"""Is there camera data, is it possible, and do two readers agree on it?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from verifier.photo.exif import ExifClaims
from verifier.photo.exif_block import TAGS, Reading, plain, read_block
from verifier.photo.observations import HOW_TO_SEND, Observation, ObservationKey
from verifier.photo.remarks import heard_remarks
from verifier.photo.second_reading import SecondReading


def exif_observations(
    block: bytes, claims: ExifClaims, kind: str, second: SecondReading | None
) -> list[Observation]:
    """Observe whether there is Exif, whether it is possible, and whether two readers agree on it.

    Args:
        block: TIFF structure of the Exif block; empty when there is none.
        claims: What the first reader made of it.
        kind: ``JPEG``, ``PNG`` or ``HEIC``.
        second: What the second reader found; ``None`` when it was not asked.

    Returns:
        Observations.
    """
    if not block:
        return [
            Observation(
                key=ObservationKey.NO_EXIF,
                weight="warning",
                value="none",
                says="The photo carries no camera data: typical of chat programs, which make pictures smaller and strip them.",
                todo=HOW_TO_SEND,
                source="Exif 2.32; Perspect. Legal Forensic Sci. 2(2) 10006 (2025) on stripping by chat programs",
            )
        ]
    found = [
        Observation(
            key=ObservationKey.EXIF_FAULT,
            weight="note",
            value=fault,
            says=f"A claim in the camera data can't be: {fault}.",
            todo="It is left out. If many photos show it, check the phone or send them another way.",
            source=f"Exif 2.32, {kind} file",
        )
        for fault in claims.faults
    ]
    return found + _second_reader(block, second)


def _second_reader(block: bytes, second: SecondReading | None) -> list[Observation]:
    if second is None:
        return []
    if second.trouble:
        return [
            Observation(
                key=ObservationKey.SECOND_READER_FAILED,
                weight="note",
                value=second.trouble,
                says="The camera data could be read in one way only; it may be damaged.",
                todo="Its claims rest on one reader. Send the photo again if it matters.",
                source="Two independent readers of one Exif block; common practice, no source",
            )
        ]
    return [
        Observation(
            key=ObservationKey.READERS_DIFFER,
            weight="note",
            value=f"{_shown(one)} | {_shown(other)}",
            says=f"Two readers disagree on '{name.replace('_', ' ')}': the camera data is ambiguous or damaged.",
            todo="Don't rely on this claim.",
            source="Two independent readers of one Exif block; common practice, no source",
        )
        for name, one, other in differences(block, second.tags)
    ]


def differences(block: bytes, other: Mapping[str, Any]) -> list[tuple[str, Reading | None, Reading | None]]:
    """List the claims on which two readers disagree.

    Args:
        block: TIFF structure of the Exif block, read here by Pillow.
        other: What the other reader found, by directory and tag number.

    Returns:
        Name of the claim and both readings.
    """
    try:
        with heard_remarks():  # told by `claims_of` already
            first = read_block(block)
    except Exception:  # reported as a fault of the first reader already
        return []
    pairs = (
        (name, first.get(key), plain(other[key]) if key in other else None) for name, key in TAGS.items()
    )
    return [(name, one, two) for name, one, two in pairs if not _same(one, two)]


def _same(one: Reading | None, other: Reading | None) -> bool:
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(_close(a, b) for a, b in zip(one, other, strict=True))
    if one is None or other is None:
        return not one and not other  # an empty text and no text say the same
    return one == other


def _close(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    return abs(one - other) <= 1e-6 * max(1.0, abs(one))


def _shown(reading: Reading | None) -> str:
    return "nothing" if reading is None else str(reading)[:60]
