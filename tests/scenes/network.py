"""The label network: a plain encoder-decoder, small enough for one core of a site laptop."""

from __future__ import annotations

import torch
from torch import nn

WIDTHS = (16, 32, 64, 112, 144)


def _conv(inside: int, outside: int, *, stride: int = 1, size: int = 3) -> nn.Sequential:
    return nn.Sequential(
        nn.Conv2d(inside, outside, size, stride, size // 2, bias=False),
        nn.BatchNorm2d(outside),
        nn.ReLU(inplace=True),
    )


class LabelNetwork(nn.Module):
    """RGB pictures (n, 3, h, w), 0 to 1, to logits (n, 12, h/2, w/2): eleven classes and the centre-line cue."""

    def __init__(self, classes: int = 11) -> None:
        super().__init__()
        a, b, c, d, e = WIDTHS
        self.stem = nn.Sequential(_conv(3, a, stride=2), _conv(a, a))
        self.down1 = nn.Sequential(_conv(a, b, stride=2), _conv(b, b))
        self.down2 = nn.Sequential(_conv(b, c, stride=2), _conv(c, c))
        self.down3 = nn.Sequential(_conv(c, d, stride=2), _conv(d, d), _conv(d, d))
        self.down4 = nn.Sequential(_conv(d, e, stride=2), _conv(e, e), _conv(e, e))
        self.side4, self.side3, self.side2, self.side1 = (
            _conv(e, d, size=1),
            _conv(d, c, size=1),
            _conv(c, b, size=1),
            _conv(b, a, size=1),
        )
        self.up3, self.up2, self.up1, self.up0 = _conv(d, d), _conv(c, c), _conv(b, b), _conv(a, a)
        self.head = nn.Conv2d(a, classes + 1, 1)
        self.larger = nn.Upsample(scale_factor=2, mode="nearest")

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        """Return logits."""
        s0 = self.stem(x)
        s1 = self.down1(s0)
        s2 = self.down2(s1)
        s3 = self.down3(s2)
        s4 = self.down4(s3)
        y = self.up3(self.larger(self.side4(s4)) + s3)
        y = self.up2(self.larger(self.side3(y)) + s2)
        y = self.up1(self.larger(self.side2(y)) + s1)
        y = self.up0(self.larger(self.side1(y)) + s0)
        return self.head(y)
