"""The label network: a plain encoder-decoder, small enough for one core of a site laptop."""

from __future__ import annotations

from dataclasses import dataclass

import torch
from torch import nn

CLASSES, CELLS_PX = 11, 2
"""Classes told apart, and the side of a cell of the labels in pixels of the picture."""


@dataclass(frozen=True)
class Sizes:
    """Widths and depths of a label network.

    Attributes:
        stem: Channels at half the size of the picture.
        widths: Channels at a quarter, an eighth, a sixteenth and a thirty-second of it.
        depths: Convolutions at each of these on the way down, besides the one that halves.
    """

    stem: int = 16
    widths: tuple[int, int, int, int] = (32, 64, 112, 144)
    depths: tuple[int, int, int, int] = (1, 2, 3, 3)


def _conv(inside: int, outside: int, size: int = 3) -> nn.Sequential:
    return nn.Sequential(
        nn.Conv2d(inside, outside, size, 1, size // 2, bias=False),
        nn.BatchNorm2d(outside),
        nn.ReLU(inplace=True),
    )


def _halved(inside: int, outside: int, size: int = 2) -> nn.Sequential:
    # Two by two without overlap takes half the time of three by three, and what follows overlaps again.
    return nn.Sequential(
        nn.Conv2d(inside, outside, size, 2, (size - 1) // 2, bias=False),
        nn.BatchNorm2d(outside),
        nn.ReLU(inplace=True),
    )


class LabelNetwork(nn.Module):
    """RGB pictures (n, 3, h, w), 0 to 1, to logits (n, 48, h/4, w/4): eleven classes and the centre-line cue, for each the four
    cells of 2 x 2 pixels, row by row."""

    def __init__(self, sizes: Sizes | None = None) -> None:
        super().__init__()
        chosen = sizes or Sizes()
        b, c, d, e = chosen.widths
        steps = [[_conv(w, w) for _ in range(k)] for w, k in zip(chosen.widths, chosen.depths, strict=True)]
        stem = (_halved(3, chosen.stem, 3), _halved(chosen.stem, b))
        self.down1 = nn.Sequential(*stem, *steps[0])
        self.down2 = nn.Sequential(_halved(b, c), *steps[1])
        self.down3 = nn.Sequential(_halved(c, d), *steps[2])
        self.down4 = nn.Sequential(_halved(d, e), *steps[3])
        self.side4, self.side3, self.side2 = _conv(e, d, 1), _conv(d, c, 1), _conv(c, b, 1)
        self.up3, self.up2, self.up1 = _conv(d, d), _conv(c, c), _conv(b, b)
        self.head = nn.Conv2d(b, (CLASSES + 1) * CELLS_PX**2, 1)
        self.larger = nn.Upsample(scale_factor=2, mode="nearest")

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        """Return logits."""
        s1 = self.down1(x)
        s2 = self.down2(s1)
        s3 = self.down3(s2)
        s4 = self.down4(s3)
        y = self.up3(self.larger(self.side4(s4)) + s3)
        y = self.up2(self.larger(self.side3(y)) + s2)
        y = self.up1(self.larger(self.side2(y)) + s1)
        return self.head(y)


def by_cell(logits: torch.Tensor) -> torch.Tensor:
    """Logits laid out on the cells.

    Args:
        logits: (n, 48, h, w), as the network gives them.

    Returns:
        (n, 12, 2 h, 2 w).
    """
    return nn.functional.pixel_shuffle(logits, CELLS_PX)
