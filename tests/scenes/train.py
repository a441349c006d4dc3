"""Render scenes on the device and train the label networks of ``scenes.toml`` on them.

    python -m tests.scenes.train --out OUT
    torchrun --nproc-per-node 2 -m tests.scenes.train --out OUT

Writes OUT/labels-SIZE.pt for each size, and OUT/log-0.txt; writes them again during training, so that a stop loses little.
``export.py`` makes ONNX of them.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path

import numpy as np
import torch
import torch.nn.functional as nnf

from tests.scenes.network import LabelNetwork, Sizes, by_cell
from tests.scenes.phone import photographed
from tests.scenes.pupils import Place, Pupil, leave, own_place, train_side_by_side
from tests.scenes.render import CONFIGURATION, Say, render_for
from tests.scenes.scene import CLASSES

Data = tuple[torch.Tensor, torch.Tensor, torch.Tensor]
TRAINING = CONFIGURATION["training"]


def batch_of(data: Data, index: torch.Tensor, turn: int, flip: bool) -> Data:
    """Take pictures, soft class targets and cue of some scenes, turned and flipped.

    Args:
        data: Radiance, classes and cue of all scenes.
        index: (n,) which scenes.
        turn: Quarter turns.
        flip: Whether left and right are swapped.

    Returns:
        Pictures (n, 3, h, w), class shares (n, 11, h/2, w/2), cue (n, 1, h/2, w/2).
    """
    radiance, classes, cues = (a[index] for a in data)
    shares = torch.stack([(classes == k).float().mean(-1) for k in range(len(CLASSES))], 1)
    turned = [torch.rot90(a, turn, (2, 3)) for a in (radiance, shares, cues.float()[:, None] / 255)]
    if flip:
        turned = [a.flip(3) for a in turned]
    return photographed(turned[0]), turned[1], turned[2]


def loss_of(y: torch.Tensor, shares: torch.Tensor, cue: torch.Tensor, weight: torch.Tensor) -> torch.Tensor:
    """Weighted cross-entropy against class shares, overlap of the classes other than the deck, and the cue.

    Args:
        y: (n, 12, h, w) logits.
        shares: (n, 11, h, w) class shares.
        cue: (n, 1, h, w) centre-line cue.
        weight: (11,) class weights.

    Returns:
        The loss.
    """
    logs = torch.log_softmax(y[:, :-1].float(), 1)
    entropy = -(shares * logs).sum(1) * (shares * weight[None, :, None, None]).sum(1)
    p = logs.exp()
    inside, total = (p * shares).sum((0, 2, 3)), (p + shares).sum((0, 2, 3))
    overlap = 1 - (2 * inside[1:] + 50) / (total[1:] + 50)
    heat = nnf.binary_cross_entropy_with_logits(y[:, -1:].float(), cue, reduction="none") * (1 + 4 * cue)
    return entropy.mean() + TRAINING["overlap_share"] * overlap.mean() + TRAINING["cue_share"] * heat.mean()


def train(data: Data, out: Path, place: Place, say: Say) -> None:
    """Train networks of all sizes side by side, on the same pictures, for a given time.

    Args:
        data: Radiance, classes and cue of all scenes, on the device.
        out: Folder for weights.
        place: Where this process trains.
        say: Told of the progress.
    """
    torch.manual_seed(TRAINING["seed"] + place.rank)
    pupils = {
        name: Pupil(LabelNetwork(Sizes(**sizes)), place, TRAINING)
        for name, sizes in TRAINING["sizes"].items()
    }
    weight = torch.tensor(TRAINING["class_weights"], device=place.device)
    rng = np.random.default_rng(TRAINING["seed"] + 4 + place.rank)

    def examples() -> tuple[torch.Tensor, Callable[[torch.Tensor], torch.Tensor]]:
        index = torch.as_tensor(rng.integers(0, len(data[0]), TRAINING["batch"]), device=place.device)
        x, shares, cue = batch_of(data, index, int(rng.integers(4)), bool(rng.integers(2)))
        return x, lambda y: loss_of(by_cell(y), shares, cue, weight)

    train_side_by_side(pupils, examples, TRAINING["train_seconds"], str(out / "labels"), say)


def main() -> None:
    """Render and train."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--out", type=Path, required=True)
    a = ask.parse_args()
    a.out.mkdir(parents=True, exist_ok=True)
    picture = CONFIGURATION["picture"]
    place = own_place()
    with (a.out / f"log-{place.rank}.txt").open("a") as log:

        def say(text: str) -> None:
            print(text, flush=True)
            log.write(text + "\n")
            log.flush()

        first = TRAINING["first_seed"] + place.rank * TRAINING["scenes"]
        seeds = range(first, first + TRAINING["scenes"])
        size = (picture["width_px"], picture["height_px"])
        data = render_for(TRAINING["render_seconds"], seeds, size, picture["rays_per_px"], place.device, say)
        train(data, a.out, place, say)
    leave(place)


if __name__ == "__main__":
    main()
