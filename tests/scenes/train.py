"""Render scenes on the device and train the label network on them, one round of ``scenes.toml`` a call.

    python -m tests.scenes.train --round 1 --out OUT [--start-from labels.pt]

Writes OUT/labels.pt, OUT/labels.onnx and OUT/log.txt; writes them again during training, so that a stop loses little.
"""

from __future__ import annotations

import argparse
import math
import time
from pathlib import Path

import numpy as np
import torch
import torch.nn.functional as nnf

from tests.scenes.export import export
from tests.scenes.network import LabelNetwork
from tests.scenes.phone import photographed
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


def train(data: Data, seconds: float, best_rate: float, start_from: Path | None, out: Path, say: Say) -> None:
    """Train for a given time with one cycle of the learning rate, and keep a running mean of the weights.

    Args:
        data: Radiance, classes and cue of all scenes, on the device.
        seconds: Wall time.
        best_rate: Highest learning rate.
        start_from: Weights to begin with.
        out: Folder for weights.
        say: Told of the progress.
    """
    device = data[0].device.type
    torch.manual_seed(TRAINING["seed"])
    network = LabelNetwork().to(device, memory_format=torch.channels_last)
    if start_from:
        network.load_state_dict(torch.load(start_from, map_location=device))
    ema = torch.optim.swa_utils.get_ema_multi_avg_fn(TRAINING["mean_of_weights"])
    mean = torch.optim.swa_utils.AveragedModel(network, multi_avg_fn=ema, use_buffers=True)
    optimiser = torch.optim.AdamW(network.parameters(), lr=best_rate, weight_decay=TRAINING["weight_decay"])
    weight = torch.tensor(TRAINING["class_weights"], device=device)
    rng = np.random.default_rng(TRAINING["seed"] + 4)
    begin, step, running, saved = time.time(), 0, 0.0, 0.0
    while (spent := time.time() - begin) < seconds:
        done = spent / seconds
        rate = best_rate * min(1.0, done / 0.04 + 0.02) * (0.5 + 0.5 * math.cos(math.pi * done))
        for group in optimiser.param_groups:
            group["lr"] = max(rate, 1e-6)
        index = torch.as_tensor(rng.integers(0, len(data[0]), TRAINING["batch"]), device=device)
        x, shares, cue = batch_of(data, index, int(rng.integers(4)), bool(rng.integers(2)))
        with torch.autocast(device, dtype=torch.bfloat16):
            y = network(x.contiguous(memory_format=torch.channels_last))
        loss = loss_of(y, shares, cue, weight)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(network.parameters(), 2.0)
        optimiser.step()
        mean.update_parameters(network)
        step += 1
        running = loss.item() if step == 1 else 0.99 * running + 0.01 * loss.item()
        if step % 200 == 0:
            say(f"step {step}, {spent:.0f} s, loss {running:.4f}, rate {rate:.5f}")
        if spent - saved > 100:
            saved = spent
            save(mean.module, out)
    say(f"{step} steps of {TRAINING['batch']} pictures, loss {running:.4f}")
    save(mean.module, out)


def save(network: torch.nn.Module, out: Path) -> None:
    """Write weights and ONNX.

    Args:
        network: The network.
        out: Folder for the files.
    """
    state = {k: t.detach().float().cpu() for k, t in network.state_dict().items()}
    torch.save(state, out / "labels.pt")
    copy = LabelNetwork()
    copy.load_state_dict(state)
    export(copy, out / "labels.onnx")


def main() -> None:
    """Render and train one round."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--round", type=int, default=1)
    ask.add_argument("--start-from", type=Path)
    ask.add_argument("--out", type=Path, required=True)
    a = ask.parse_args()
    a.out.mkdir(parents=True, exist_ok=True)
    plan, picture = CONFIGURATION["round"][a.round - 1], CONFIGURATION["picture"]

    with (a.out / "log.txt").open("a") as log:

        def say(text: str) -> None:
            print(text, flush=True)
            log.write(text + "\n")
            log.flush()

        seeds = range(plan["first_seed"], plan["first_seed"] + plan["scenes"])
        size = (picture["width_px"], picture["height_px"])
        device = "cuda" if torch.cuda.is_available() else "cpu"
        data = render_for(math.inf, seeds, size, picture["rays_per_px"], device, say)
        train(data, plan["train_seconds"], plan["best_rate"], a.start_from, a.out, say)


if __name__ == "__main__":
    main()
