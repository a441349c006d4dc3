"""What the file itself shows: edited, saved again, made smaller, a screen picture, a thumbnail of something else."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from verifier.photo.exif import ExifClaims
from verifier.photo.observations import HOW_TO_SEND, Observation, ObservationKey

STORED_WITHIN_S = 2.0
CHANGED_AFTER_S = 60.0
ASPECT_LIMIT_PERCENT = 2.0
THUMBNAIL_LIKE_FROM = 0.8
SCREEN_RATIO_FROM = 1.7
PLAIN_BITS = 8
_EDITING_WORDS = re.compile(
    r"edit|photo|paint|shop|light|draw|retouch|filter|collage|image|pixel ?art", re.IGNORECASE
)
_ENDINGS = {"JPEG": (".jpg", ".jpeg", ".jpe", ".jfif"), "PNG": (".png",), "HEIC": (".heic", ".heif", ".hif")}
STANDARD_LUMINANCE = (
    16, 11, 10, 16, 24, 40, 51, 61, 12, 12, 14, 19, 26, 58, 60, 55, 14, 13, 16, 24, 40, 57, 69, 56, 14, 17, 22, 29, 51,
    87, 80, 62, 18, 22, 37, 56, 68, 109, 103, 77, 24, 35, 55, 64, 81, 104, 113, 92, 49, 64, 78, 87, 103, 121, 120, 101,
    72, 92, 95, 98, 112, 100, 103, 99,
)  # fmt: skip
"""ITU-T T.81 | ISO/IEC 10918-1, annex K, table K.1, row by row."""


def history_observations(claims: ExifClaims, *, has_exif: bool) -> list[Observation]:
    """Observe signs that the file was written by something other than the camera.

    Args:
        claims: What the photo claims.
        has_exif: Whether it has camera data at all; without it nothing here can be said.

    Returns:
        Observations.
    """
    found: list[Observation] = []
    written = claims.processing_software or claims.software
    if claims.processing_software or (claims.software and _EDITING_WORDS.search(claims.software)):
        found.append(
            Observation(
                key=ObservationKey.EDITING_SOFTWARE,
                weight="warning",
                value=written or "",
                says=f"The file names a picture program: {written}.",
                todo=f"Measurements need the untouched original. {HOW_TO_SEND}",
                source="Exif 2.32, tags 0x0131 and 0x000B; word list: common practice, no source",
            )
        )
    found += _changed_later(claims)
    if has_exif and not (claims.make and claims.model):
        found.append(
            Observation(
                key=ObservationKey.NO_CAMERA,
                weight="note",
                value="none",
                says="The camera's make or model is missing, though other camera data is there.",
                todo=HOW_TO_SEND,
                source="Exif 2.32, tags 0x010F and 0x0110",
            )
        )
    return found


def _changed_later(claims: ExifClaims) -> list[Observation]:
    if claims.modified_local is None or claims.captured_local is None:
        return []
    # The modify date carries no fraction of a second.
    apart = (claims.modified_local - claims.captured_local.replace(microsecond=0)).total_seconds()
    if abs(apart) <= STORED_WITHIN_S:
        return []
    changed = abs(apart) > CHANGED_AFTER_S
    return [
        Observation(
            key=ObservationKey.MODIFIED_LATER,
            weight="warning" if changed else "note",
            value=apart,
            limit=CHANGED_AFTER_S if changed else STORED_WITHIN_S,
            unit="s",
            says=f"By its own dates the file was written {abs(apart):.0f} s {'after' if apart > 0 else 'before'} capture"
            f"{': changed later.' if changed else '; night and HDR modes take some seconds.'}",
            todo=HOW_TO_SEND,
            source="Exif 2.32, tags 0x0132 and 0x9003; limits: common practice, no source",
        )
    ]


def picture_observations(
    kind: str,
    name: str,
    stored_px: tuple[int, int],
    claims: ExifClaims,
    tables: Mapping[int, Sequence[int]],
    *,
    bits: int = PLAIN_BITS,
) -> list[Observation]:
    """Observe what format, name, size and coding tables show.

    Args:
        kind: ``JPEG``, ``PNG`` or ``HEIC``, by content.
        name: File name.
        stored_px: Width and height as stored.
        claims: What the photo claims.
        tables: Quantisation tables of a JPEG, row by row; empty for other formats.
        bits: Bits a colour as stored.

    Returns:
        Observations.
    """
    found: list[Observation] = []
    ending = name[name.rfind(".") :].lower() if "." in name else ""
    if ending and ending not in _ENDINGS[kind]:
        found.append(
            Observation(
                key=ObservationKey.NAME_AND_CONTENT_DIFFER,
                weight="note",
                value=ending,
                limit=kind,
                says=f"The name ends in {ending}, the content is {kind}.",
                todo="Nothing; the content counts. The name was changed somewhere on the way.",
                source="OWASP ASVS 5.0.0, 5.2.2",
            )
        )
    if claims.width_px and claims.height_px and {claims.width_px, claims.height_px} != set(stored_px):
        found.append(
            Observation(
                key=ObservationKey.SIZE_AGAINST_EXIF,
                weight="warning",
                value=f"{stored_px[0]} x {stored_px[1]}",
                limit=f"{claims.width_px} x {claims.height_px}",
                unit="px",
                says="The picture is not as large as the camera says it took it: cropped or made smaller.",
                todo=HOW_TO_SEND,
                source="Exif 2.32, tags 0xA002 and 0xA003",
            )
        )
    if kind == "PNG":
        found.append(_png(stored_px))
    if bits > PLAIN_BITS:
        found.append(_narrowed(bits))
    if tables and (quality := library_quality(tables[0])) is not None:
        found.append(
            Observation(
                key=ObservationKey.SAVED_BY_LIBRARY,
                weight="note",
                value=float(quality),
                unit="quality",
                says=f"Coded with the standard's example tables at quality {quality}: general programs do that, most "
                "phone cameras have tables of their own.",
                todo="Ask for the file as the phone stored it, if this is not it.",
                source="ITU-T T.81, table K.1; IEEE TIFS 6(3), 2011, on coding tables by camera model",
            )
        )
    return found


def _png(stored_px: tuple[int, int]) -> Observation:
    ratio = max(stored_px) / min(stored_px)
    screen = ratio >= SCREEN_RATIO_FROM
    return Observation(
        key=ObservationKey.PNG_NOT_FROM_CAMERA,
        weight="warning" if screen else "note",
        value=round(ratio, 2),
        limit=SCREEN_RATIO_FROM,
        unit="long side / short side",
        says="A PNG: phone cameras don't write it. Its shape is that of a screen: a screenshot?"
        if screen
        else "A PNG: phone cameras don't write it.",
        todo=HOW_TO_SEND,
        source="common practice, no source",
    )


def _narrowed(bits: int) -> Observation:
    return Observation(
        key=ObservationKey.NARROWED,
        weight="note",
        value=float(bits),
        limit=float(PLAIN_BITS),
        unit="bits a colour",
        says=f"Stored with {bits} bits a colour; {PLAIN_BITS} are looked at, the finer steps are left out. The original is kept whole.",
        todo="Nothing; places of edges hardly change. Ask for the file as the phone stored it, if this is not it.",
        source="ISO/IEC 15948 (PNG), 11.2.1, bit depth; ISO/IEC 23008-12 (HEIF)",
    )


def library_quality(luminance: Sequence[int]) -> int | None:
    """Return the quality setting with which a luminance table was scaled from the standard's example.

    Args:
        luminance: 64 values, row by row.

    Returns:
        1 to 100, or ``None`` where the table is not a scaled example table.

    Source:
        ITU-T T.81, table K.1; scaling as in the free JPEG library of the Independent JPEG Group.
    """
    for quality in range(1, 101):
        scale = 5000 // quality if quality < 50 else 200 - 2 * quality
        scaled = [min(255, max(1, (value * scale + 50) // 100)) for value in STANDARD_LUMINANCE]
        if scaled == list(luminance):
            return quality
    return None


def thumbnail_observations(
    shape_px: tuple[int, int], thumbnail_px: tuple[int, int], alike: float
) -> list[Observation]:
    """Observe whether the stored thumbnail shows the same picture.

    Args:
        shape_px: Width and height of the picture as stored.
        thumbnail_px: Width and height of the thumbnail.
        alike: Correlation of the two, -1 to 1.

    Returns:
        One note, or nothing.
    """
    ratio, small = shape_px[0] / shape_px[1], thumbnail_px[0] / thumbnail_px[1]
    off_percent = abs(small / ratio - 1) * 100
    if off_percent <= ASPECT_LIMIT_PERCENT and alike >= THUMBNAIL_LIKE_FROM:
        return []
    return [
        Observation(
            key=ObservationKey.THUMBNAIL_DIFFERS,
            weight="note",
            value=round(off_percent if off_percent > ASPECT_LIMIT_PERCENT else alike, 2),
            limit=ASPECT_LIMIT_PERCENT if off_percent > ASPECT_LIMIT_PERCENT else THUMBNAIL_LIKE_FROM,
            unit="% of shape" if off_percent > ASPECT_LIMIT_PERCENT else "correlation",
            says="The small picture stored by the camera differs from the photo: cropped or edited after capture?",
            todo=HOW_TO_SEND,
            source="Exif 2.32, 4.5.5; limits: common practice, no source (some cameras put bars around thumbnails)",
        )
    ]
