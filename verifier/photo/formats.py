"""What a file really is, whether it is small enough to open, and the one guarded way to open it."""

from __future__ import annotations

import io
from dataclasses import dataclass

import pillow_heif
from PIL import Image

from verifier.errors import BadInput
from verifier.photo.jpeg_segments import MAX_SEGMENTS, jpeg_outline
from verifier.photo.remarks import heard_remarks

pillow_heif.register_heif_opener(thumbnails=False)

_FORMATS = {"JPEG": ("JPEG", "MPO"), "PNG": ("PNG",), "HEIC": ("HEIF",)}
_HEIC_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs", b"mif1", b"msf1"}
_OTHER_KINDS = (
    (b"%PDF", "a PDF"),
    (b"GIF8", "a GIF picture"),
    (b"BM", "a BMP picture"),
    (b"II*\0", "a TIFF or raw picture"),
    (b"MM\0*", "a TIFF or raw picture"),
    (b"PK\x03\x04", "a zip archive or an office file"),
    (b"\x1a\x45\xdf\xa3", "a video"),
)
_PLAIN_MODES = {"1", "L", "LA", "P", "RGB", "RGBA", "CMYK", "YCbCr"}


@dataclass(frozen=True, slots=True)
class PhotoLimits:
    """What a photo may ask of this machine.

    Attributes:
        max_bytes: Largest file. [bytes]
        max_megapixels: Largest picture, read from its header before anything is decoded. [10^6 pixels]
        max_scans: Most passes of a progressive JPEG; each is decoded over the whole picture.
    """

    max_bytes: int = 100_000_000
    max_megapixels: float = 130.0
    max_scans: int = 50


@dataclass(frozen=True, slots=True)
class OpenedPhoto:
    """A photo whose header was read and found acceptable; its pixels are not decoded yet.

    Attributes:
        image: The opened picture; loading it is strict.
        kind: ``JPEG``, ``PNG`` or ``HEIC``, by content.
        remarks: What the decoder remarked while it read the header.
        exif_blocks: Exif blocks of a JPEG, counted without a decoder; ``None`` for other kinds.
        bits: Bits a colour as stored; more than 8 are narrowed to 8 when the pixels are decoded.
    """

    image: Image.Image
    kind: str
    remarks: tuple[str, ...]
    exif_blocks: int | None = None
    bits: int = 8


def kind_of(data: bytes, name: str) -> str:
    """Tell the format from the content; the name is only used in messages.

    Args:
        data: The whole file.
        name: File name, for the message.

    Returns:
        ``JPEG``, ``PNG`` or ``HEIC``.

    Raises:
        BadInput: If it is empty or something else; the message says what it looks like.
    """
    if not data:
        raise BadInput(
            "The file is empty.",
            where=name,
            todo="Send it again from the phone; the transfer may have broken off.",
        )
    if data.startswith(b"\xff\xd8\xff"):
        return "JPEG"
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "PNG"
    brands = {data[8:12], *(data[i : i + 4] for i in range(16, min(64, int.from_bytes(data[:4], "big")), 4))}
    if data[4:8] == b"ftyp" and data[8:12] != b"avif" and brands & _HEIC_BRANDS:
        return "HEIC"
    raise BadInput(
        f"This is {_looks_like(data)}, not a JPEG, PNG or HEIC photo.",
        where=name,
        todo="Send the photo itself, as the phone stored it. Converting or renaming it would lose its evidence.",
    )


def _looks_like(data: bytes) -> str:
    for start, kind in _OTHER_KINDS:
        if data.startswith(start):
            return kind
    if data[4:8] == b"ftyp":
        return "an AVIF picture" if data[8:12] == b"avif" else "a video"
    if data[:4] == b"RIFF":
        return "a WebP picture" if data[8:12] == b"WEBP" else "a sound or video file"
    try:
        data[:512].decode("utf-8")
    except UnicodeDecodeError:
        return "an unknown kind of file"
    return "a text file" if b"\0" not in data[:512] else "an unknown kind of file"


def open_photo(data: bytes, name: str, limits: PhotoLimits | None = None) -> OpenedPhoto:
    """Open a photo without decoding it, and hold it against the limits.

    Args:
        data: The whole file.
        name: File name, for messages.
        limits: What a photo may ask of this machine.

    Returns:
        The opened photo.

    Raises:
        BadInput: If it is no photo, too large, or its header can't be read.

    Source:
        OWASP ASVS 5.0.0, 5.2.1, 5.2.2 and 5.2.6 (file size, content against type, pixel count before decoding).
    """
    limits = limits or PhotoLimits()
    if len(data) > limits.max_bytes:
        raise BadInput(
            f"The file has {len(data) / 1e6:.0f} MB; at most {limits.max_bytes / 1e6:.0f} MB are taken.",
            where=name,
            todo="Send the photo in the phone's normal resolution, not as raw or video.",
        )
    kind = kind_of(data, name)
    outline = jpeg_outline(data) if kind == "JPEG" else None
    if outline is not None and (outline.scans > limits.max_scans or outline.segments > MAX_SEGMENTS):
        raise BadInput(
            f"The JPEG asks for {outline.scans} passes in {outline.segments} parts; at most {limits.max_scans} and "
            f"{MAX_SEGMENTS} are taken. No camera writes such a file.",
            where=name,
            todo="Send the photo as the phone stored it.",
        )
    with heard_remarks() as remarks:
        try:
            image = Image.open(io.BytesIO(data), formats=_FORMATS[kind])
        except Image.DecompressionBombError as error:
            raise _too_many_pixels(name, limits, "more pixels than any phone takes") from error
        except Exception as error:  # any parser error: one bad file must not stop the others
            raise _damaged(name, kind, error) from error
    width, height = image.size
    if width * height > limits.max_megapixels * 1e6:
        raise _too_many_pixels(
            name, limits, f"{width} x {height} pixels ({width * height / 1e6:.0f} million)"
        )
    if image.mode not in _PLAIN_MODES:
        raise BadInput(
            f"The picture stores its pixels as {image.mode}, which no phone camera does.",
            where=name,
            todo="Send the photo as the phone stored it, with 8 bits a colour.",
        )
    return OpenedPhoto(
        image, kind, tuple(remarks), outline.exif_blocks if outline else None, _bits_stored(image, kind, data)
    )


def _bits_stored(image: Image.Image, kind: str, data: bytes) -> int:
    """Bits a colour: of a PNG from its header (ISO/IEC 15948, 11.2.1), of a HEIC as its decoder tells; a JPEG has 8."""
    if kind == "PNG":
        return data[24]
    return int(image.info.get("bit_depth", 8)) if kind == "HEIC" else 8


def decode(opened: OpenedPhoto, name: str) -> Image.Image:
    """Decode all pixels, strictly: a file that ends early is refused, never filled up.

    Args:
        opened: An opened photo.
        name: File name, for messages.

    Returns:
        The same picture, loaded.

    Raises:
        BadInput: If the pixels can't all be decoded.
    """
    try:
        opened.image.load()
    except Exception as error:  # any decoder error: one bad file must not stop the others
        raise _damaged(name, opened.kind, error) from error
    return opened.image


def _too_many_pixels(name: str, limits: PhotoLimits, found: str) -> BadInput:
    return BadInput(
        f"The picture claims {found}; at most {limits.max_megapixels:g} million pixels are opened.",
        where=name,
        todo="Send a single photo in the phone's normal resolution, no panorama and no drawing scan.",
    )


def _damaged(name: str, kind: str, error: Exception) -> BadInput:
    said = str(error) or type(error).__name__
    return BadInput(
        f"The {kind} can't be read to its end: {said}.",
        where=name,
        todo="Send it again from the phone (cable, mail, or 'as file'); the transfer may have broken off.",
    )
