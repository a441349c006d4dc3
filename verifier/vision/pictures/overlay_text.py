"""Text on pictures: plates that read on any ground, wrapped to a width in pixels, any script without a fall."""

from __future__ import annotations

import re
import unicodedata
from functools import cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

Picture = NDArray[np.uint8]
Colour = tuple[int, int, int]

_NEVER_IN_A_FONT = "\uffff"
"""A noncharacter (Unicode 15, 23.7): drawn as the font's sign for a glyph that it lacks."""

_SPELT = {
    "×": "x",
    "–": "-",
    "—": "-",
    "‑": "-",
    "−": "-",
    "·": ".",
    "½": "1/2",
    "µ": "u",
    "Ø": "dia ",
    "ø": "dia ",
    "ß": "ss",
    "≤": "<=",
    "≥": ">=",
}
"""Signs of the trade that the built-in font lacks, spelt in letters that it has."""

_KEPT = "\u00a0"
_NUMBER_AND_UNIT = re.compile(r"(?<=\d) (?=mm\b|m2\b|%)")
"""The space between a number and its unit, at which no line ends."""


def printable(text: str) -> str:
    """The text on one line in letters that the built-in font has; others become their base letter or ``?``.

    Args:
        text: Any text, also with control characters or half characters from a damaged file name.

    Returns:
        What is drawn.
    """
    whole = unicodedata.normalize("NFC", text.encode("utf-8", "replace").decode("utf-8"))
    return " ".join("".join(_in_font(c) for c in whole).split())


@cache
def _in_font(letter: str) -> str:
    if letter.isspace() or not letter.isprintable():
        return " "
    font = _font(32)
    absent = bytes(font.getmask(_NEVER_IN_A_FONT))
    if bytes(font.getmask(letter)) != absent:
        return letter
    plain = _SPELT.get(letter, unicodedata.normalize("NFKD", letter)[0])
    return "?" if bytes(font.getmask(plain)) == absent else plain


def plate_size(text: str, size: int) -> tuple[int, int]:
    """Width and height in pixels of the plate that carries a text of a size."""
    left, top, right, bottom = _font(size).getbbox(printable(text))
    margin = max(2, size // 6)
    return int(right - left) + 2 * margin, int(bottom - top) + 2 * margin


def wrapped(text: str, size: int, width_px: int) -> list[str]:
    """Break a text into lines no wider than a width; a word that is too long alone is broken inside.

    Args:
        text: What to write.
        size: Text size in pixels.
        width_px: Widest line.

    Returns:
        The lines, at least one.
    """
    font = _font(size)
    lines = [""]
    for word in _NUMBER_AND_UNIT.sub(_KEPT, printable(text)).split(" "):
        joined = f"{lines[-1]} {word}".strip()
        if font.getlength(joined) <= width_px:
            lines[-1] = joined
            continue
        if lines[-1]:
            lines.append("")
        for letter in word:
            if lines[-1] and font.getlength(lines[-1] + letter) > width_px:
                lines.append("")
            lines[-1] += letter
    return [line.replace(_KEPT, " ") for line in lines]


def put_text(
    canvas: Picture,
    text: str,
    place: tuple[float, float],
    size: int,
    colour: Colour,
    *,
    turn_deg: float = 0.0,
    from_left: bool = False,
) -> None:
    """Write on a white plate, turned, centred on its place or starting there.

    Args:
        canvas: Picture (h, w, 3), written into; what reaches beyond its edge is left out.
        text: One line.
        place: Pixel of the centre, or of the left end.
        size: Text size in pixels.
        colour: Blue, green, red; darkened where white would not carry it.
        turn_deg: Turn from x to y.
        from_left: Whether the place is the left end.
    """
    plate, mask = _plate(printable(text), size, colour, round(turn_deg))
    h, w = mask.shape
    x = round(place[0]) - (0 if from_left else w // 2)
    y = round(place[1]) - h // 2
    x0, y0, x1, y1 = max(x, 0), max(y, 0), min(x + w, canvas.shape[1]), min(y + h, canvas.shape[0])
    if x0 >= x1 or y0 >= y1:
        return
    part = mask[y0 - y : y1 - y, x0 - x : x1 - x, None].astype(np.float32) / 255.0
    under = canvas[y0:y1, x0:x1].astype(np.float32)
    over = plate[y0 - y : y1 - y, x0 - x : x1 - x].astype(np.float32)
    canvas[y0:y1, x0:x1] = np.rint(under + (over - under) * part).astype(np.uint8)


@cache
def _font(size: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    return ImageFont.load_default(size)


def _plate(text: str, size: int, colour: Colour, turn_deg: int) -> tuple[Picture, NDArray[np.uint8]]:
    font = _font(size)
    left, top, _, _ = font.getbbox(text)
    margin = max(2, size // 6)
    picture = Image.new("RGBA", plate_size(text, size), (255, 255, 255, 225))
    ImageDraw.Draw(picture).text((margin - left, margin - top), text, font=font, fill=_ink(colour))
    turned = picture.rotate(-turn_deg, expand=True, resample=Image.Resampling.BICUBIC)
    pixels = np.asarray(turned)
    return np.ascontiguousarray(pixels[..., 2::-1]), np.ascontiguousarray(pixels[..., 3])


def _ink(colour: Colour) -> tuple[int, int, int, int]:
    """The colour, darkened where it would not stand out on white (contrast 4.5 to 1; WCAG 2.2, 1.4.3)."""
    b, g, r = colour
    while _contrast_on_white(r, g, b) < 4.5:
        r, g, b = int(0.92 * r), int(0.92 * g), int(0.92 * b)
    return r, g, b, 255


def _contrast_on_white(r: int, g: int, b: int) -> float:
    def linear(v: int) -> float:
        c = v / 255.0
        return c / 12.92 if c <= 0.04045 else float(((c + 0.055) / 1.055) ** 2.4)

    return 1.05 / (0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b) + 0.05)
