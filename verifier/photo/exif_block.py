"""The Exif block as it stands in the file: where it is, its tags as text and numbers, its thumbnail."""

from __future__ import annotations

import io
import math
from collections.abc import Mapping
from typing import Any

from PIL import ExifTags, Image

from verifier.photo.remarks import heard_remarks

Reading = str | list[float | None]
Readings = Mapping[str, Reading]

TAGS: dict[str, str] = {
    "make": "Image:271",
    "model": "Image:272",
    "orientation": "Image:274",
    "software": "Image:305",
    "modified": "Image:306",
    "processing_software": "Image:11",
    "exposure_time_s": "EXIF:33434",
    "f_number": "EXIF:33437",
    "iso": "EXIF:34855",
    "captured": "EXIF:36867",
    "digitized": "EXIF:36868",
    "offset": "EXIF:36881",
    "offset_modified": "EXIF:36880",
    "subsec": "EXIF:37521",
    "flash": "EXIF:37385",
    "focal_length_mm": "EXIF:37386",
    "width_px": "EXIF:40962",
    "height_px": "EXIF:40963",
    "focal_plane_x": "EXIF:41486",
    "focal_plane_y": "EXIF:41487",
    "focal_plane_unit": "EXIF:41488",
    "digital_zoom": "EXIF:41988",
    "focal_length_35mm": "EXIF:41989",
    "lens": "EXIF:42036",
    "latitude_ref": "GPS:1",
    "latitude": "GPS:2",
    "longitude_ref": "GPS:3",
    "longitude": "GPS:4",
    "gps_time": "GPS:7",
    "direction_ref": "GPS:16",
    "direction": "GPS:17",
    "gps_date": "GPS:29",
    "accuracy": "GPS:31",
}
"""Exif 2.32 (CIPA DC-008-2019): directory and tag number of each claim that is read."""

_THUMBNAIL_DIRECTORY = ExifTags.IFD.IFD1
_THUMBNAIL_MAX_PX = 1_000_000
_SUB_DIRECTORIES = {"EXIF": 0x8769, "GPS": 0x8825}


def exif_block(image: Image.Image) -> bytes:
    """Return the Exif block of an opened picture.

    Args:
        image: An opened picture of any format.

    Returns:
        TIFF structure from its byte-order mark on; empty when there is none.

    Source:
        Exif 2.32 (CIPA DC-008), 4.5.2; PNG 1.2 extensions, eXIf; ISO/IEC 23008-12 annex A.
    """
    block = image.info.get("exif", b"")
    return bytes(block).removeprefix(b"Exif\0\0") if isinstance(block, bytes) else b""


def read_block(block: bytes) -> dict[str, Reading]:
    """Read an Exif block with Pillow.

    Args:
        block: TIFF structure, from its byte-order mark on.

    Returns:
        Values by directory and tag number (`TAGS`); text stripped of its padding, a number without meaning (0/0) as
        ``None`` in its list.

    Raises:
        Exception: Whatever the parser stumbles on; `claims_of` turns it into a fault.
    """
    exif = Image.Exif()
    exif.load(block)
    directories: dict[str, Mapping[int, Any]] = {"Image": exif}
    directories |= {name: exif.get_ifd(tag) for name, tag in _SUB_DIRECTORIES.items()}
    found: dict[str, Reading] = {}
    for key in TAGS.values():
        directory, _, tag = key.partition(":")
        value = directories[directory].get(int(tag))
        if value is not None:
            found[key] = plain(value)
    return found


def thumbnail_of(block: bytes) -> Image.Image | None:
    """Return the small picture that a camera stores in the Exif block.

    Args:
        block: TIFF structure, from its byte-order mark on; may be empty.

    Returns:
        The decoded thumbnail, or ``None`` where there is none that can be decoded.

    Source:
        Exif 2.32 (CIPA DC-008), 4.5.5 and tags 0x0201 and 0x0202 of the first directory.
    """
    try:
        with heard_remarks():  # told by `claims_of` already
            exif = Image.Exif()
            exif.load(block)
            directory = exif.get_ifd(_THUMBNAIL_DIRECTORY)
        start, length = int(directory[0x0201]), int(directory[0x0202])
        image = Image.open(io.BytesIO(block[start : start + length]), formats=("JPEG",))
        if image.width * image.height > _THUMBNAIL_MAX_PX:
            return None
        image.load()
    except Exception:  # a thumbnail is a by-product: absent or unreadable, nothing hangs on it
        return None
    return image


def plain(value: Any) -> Reading:
    """Bring a tag's value to text or a list of numbers, so that two readers can be compared.

    Args:
        value: A value as a reader gives it.

    Returns:
        Text without padding, or numbers; what is neither counts as ``None``.
    """
    if isinstance(value, bytes):
        value = value.decode("latin-1")
    if isinstance(value, str):
        return value.split("\0")[0].strip()
    numbers = value if isinstance(value, list | tuple) else (value,)
    return [_number(n) for n in numbers]


def _number(value: Any) -> float | None:
    try:
        number = float(value)
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return number if math.isfinite(number) else None
