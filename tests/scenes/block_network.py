"""The networks that find cover blocks in small views laid out along the bars.

python -m tests.scenes.block_network SIZE blocks-SIZE.pt blocks.onnx
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path

import torch
from torch import nn

from tests.scenes.render import CONFIGURATION

SIZES = CONFIGURATION["blocks"]["sizes"]
PATCH_PX, CELL_PX, MM_PER_PX = 96, 8, 1.6
USUAL_PX = 24.0
"""Side of a block of usual size in a view; sizes are told against it."""


def _conv(inside: int, outside: int, *, stride: int = 1) -> nn.Sequential:
    return nn.Sequential(
        nn.Conv2d(inside, outside, 3, stride, 1, bias=False), nn.BatchNorm2d(outside), nn.ReLU(inplace=True)
    )


class _Step(nn.Module):
    def __init__(self, width: int) -> None:
        super().__init__()
        self.first, self.second = _conv(width, width), _conv(width, width)

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        return x + self.second(self.first(x))


@dataclass(frozen=True)
class Widths:
    """Channels of a network of blocks at half the size of a view, a quarter, an eighth (its cells) and a sixteenth."""

    half: int = 24
    quarter: int = 32
    cell: int = 80
    around: int = 112


class BlockNetwork(nn.Module):
    """Views (n, 3, 96, 96), levelled, to (n, 5, 12, 12): logit of a block's middle, way to the middle, log of its sides."""

    def __init__(self, widths: Widths | None = None) -> None:
        super().__init__()
        chosen = widths or Widths()
        fine, cell, wide = chosen.quarter, chosen.cell, chosen.around
        self.near = nn.Sequential(
            _conv(3, chosen.half, stride=2),
            _conv(chosen.half, fine, stride=2),
            _Step(fine),
            _conv(fine, cell, stride=2),
            _Step(cell),
        )
        # Two steps at half the cells see most of a view: bars that go on, and what else lies about.
        self.around = nn.Sequential(
            _conv(cell, wide, stride=2),
            _Step(wide),
            nn.Conv2d(wide, cell, 1),
            nn.Upsample(scale_factor=2, mode="nearest"),
        )
        self.told = nn.Sequential(_Step(cell), nn.Conv2d(cell, 5, 1))

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        """Return what each cell tells."""
        near = self.near(x)
        return self.told(near + self.around(near))


class Exported(nn.Module):
    """The network with its last step: the first channel is a probability."""

    def __init__(self, network: BlockNetwork) -> None:
        super().__init__()
        self.network = network

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        """Return (n, 5, 12, 12)."""
        y = self.network(x)
        return torch.cat([torch.sigmoid(y[:, :1]), y[:, 1:]], 1)


def levelled(views: torch.Tensor) -> torch.Tensor:
    """Views with their own mean and contrast taken out.

    Args:
        views: (n, 3, h, w), 0 to 1.

    Returns:
        The same, of mean 0 and about unit scatter over all three colours.
    """
    mean = views.mean((1, 2, 3), keepdim=True)
    return (views - mean) / (views.std((1, 2, 3), keepdim=True, correction=0) + 0.02)


def export(network: BlockNetwork, path: Path) -> None:
    """Write the network for any number of views and any size that 8 divides.

    Args:
        network: The trained network.
        path: The ONNX file.
    """
    torch.onnx.export(
        Exported(network).float().cpu().eval(),
        (torch.zeros(2, 3, PATCH_PX, PATCH_PX),),
        str(path),
        input_names=["views"],
        output_names=["cells"],
        dynamic_axes={"views": {0: "n", 2: "h", 3: "w"}, "cells": {0: "n", 2: "h8", 3: "w8"}},
        opset_version=17,
        dynamo=False,
    )


def main() -> None:
    """Write ONNX."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("size", choices=SIZES)
    ask.add_argument("weights", type=Path)
    ask.add_argument("onnx", type=Path)
    a = ask.parse_args()
    network = BlockNetwork(Widths(**SIZES[a.size]))
    network.load_state_dict(torch.load(a.weights, map_location="cpu"))
    export(network, a.onnx)


if __name__ == "__main__":
    main()
