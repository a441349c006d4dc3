"""The outline of a JPEG file, read without decoding it: how many Exif blocks, how many passes."""

from __future__ import annotations

import re
from dataclasses import dataclass

MAX_SEGMENTS = 5_000
_MARKER = re.compile(rb"\xff[\x01-\xcf\xd8-\xfe]")
"""A marker inside coded data; FF 00 is a coded FF and FF D0 to FF D7 restart the coder (ITU-T T.81, B.1.1.2)."""
_WITHOUT_LENGTH = {0x01, *range(0xD0, 0xD9)}
_EXIF, _START_OF_SCAN, _END = 0xE1, 0xDA, 0xD9


@dataclass(frozen=True, slots=True)
class JpegOutline:
    """What the markers of a JPEG say.

    Attributes:
        exif_blocks: Exif blocks before the end of the picture.
        scans: Passes over the picture; one or a few, more for a progressive file.
        segments: All segments; counting stops beyond `MAX_SEGMENTS`.
    """

    exif_blocks: int
    scans: int
    segments: int


def jpeg_outline(data: bytes) -> JpegOutline:
    """Walk the segments of a JPEG up to the end of its first picture; what follows (a video, a second picture) is left.

    Args:
        data: The whole file, starting with FF D8.

    Returns:
        Counts; of a damaged file as far as its markers can be followed.

    Source:
        ITU-T T.81, annex B; Exif 2.32 (CIPA DC-008), 4.7.2 (APP1).
    """
    at, exif_blocks, scans, segments = 2, 0, 0, 0
    while at + 4 <= len(data) and data[at] == 0xFF and segments <= MAX_SEGMENTS:
        marker = data[at + 1]
        if marker == _END:
            break
        if marker == 0xFF or marker in _WITHOUT_LENGTH:
            at += 1 if marker == 0xFF else 2
            segments += 1
            continue
        segments += 1
        exif_blocks += marker == _EXIF and data[at + 4 : at + 10] == b"Exif\0\0"
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        if marker == _START_OF_SCAN:
            scans += 1
            following = _MARKER.search(data, at)
            if following is None:
                break
            at = following.start()
    return JpegOutline(exif_blocks, scans, segments)
