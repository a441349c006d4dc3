"""The network that finds cover blocks in small views laid out along the bars, and the mean of what rounds of training gave.

python -m tests.scenes.block_network ROUND1.pt ROUND2.pt blocks.onnx
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

import torch
from torch import nn

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


class BlockNetwork(nn.Module):
    """Views (n, 3, 96, 96), levelled, to (n, 5, 12, 12): logit of a block's middle, way to the middle, log of its sides."""

    def __init__(self) -> None:
        super().__init__()
        fine, cell, wide = 32, 80, 112
        self.near = nn.Sequential(
            _conv(3, 24, stride=2),
            _conv(24, fine, stride=2),
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


def mean_of(rounds: Sequence[Path]) -> BlockNetwork:
    """The network whose weights are the mean of those of several rounds (Wortsman et al. 2022, from memory).

    Args:
        rounds: Files of weights, each round begun from the one before it.

    Returns:
        The network.
    """
    states = [torch.load(path, map_location="cpu") for path in rounds]
    mean = {
        name: torch.stack([state[name].float() for state in states]).mean(0).to(first.dtype)
        for name, first in states[-1].items()
    }
    network = BlockNetwork()
    network.load_state_dict(mean)
    return network.eval()


def main() -> None:
    """Write the mean of rounds."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("rounds", type=Path, nargs="+")
    ask.add_argument("onnx", type=Path)
    a = ask.parse_args()
    export(mean_of(a.rounds), a.onnx)


if __name__ == "__main__":
    main()
