"""Networks in training: one step of each, a running mean of its weights, and several devices that train the same ones.

A device that trains along has its own scenes and pictures; the gradients of all are averaged before each step, so that all
hold the same weights. Started with ``torchrun --nproc-per-node N -m tests.scenes.train ...``, a process a device.
"""

from __future__ import annotations

import math
import multiprocessing
import os
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import torch
import torch.distributed as dist
from torch import nn


@dataclass(frozen=True)
class Place:
    """Where a process trains.

    Attributes:
        device: Device to train on.
        rank: Number of this process, from 0.
        count: Number of processes.
    """

    device: str
    rank: int
    count: int


def own_place() -> Place:
    """Join the other processes, if there are any.

    Returns:
        The place of this one.
    """
    count, rank = int(os.environ.get("WORLD_SIZE", "1")), int(os.environ.get("RANK", "0"))
    if not torch.cuda.is_available():
        return Place("cpu", 0, 1)
    torch.cuda.set_device(int(os.environ.get("LOCAL_RANK", "0")))
    if count > 1:
        dist.init_process_group("nccl")
    return Place("cuda", rank, count)


def leave(place: Place) -> None:
    """Part from the other processes.

    Args:
        place: The place of this one.
    """
    if place.count > 1:
        dist.destroy_process_group()


def drawers() -> int:
    """Number of processes that draw scenes for this one, which shares the processor with those that train along."""
    return max(1, multiprocessing.cpu_count() // int(os.environ.get("LOCAL_WORLD_SIZE", "1")) - 2)


class Pupil:
    """A network in training and the running mean of its weights."""

    def __init__(self, network: nn.Module, place: Place, plan: Mapping[str, Any]) -> None:
        """Begin.

        Args:
            network: With the weights to begin with.
            place: Where it trains; the weights of the first process are taken everywhere.
            plan: ``best_rate``, the highest learning rate; ``weight_decay``; ``mean_of_weights``, how slowly the running mean
                forgets.
        """
        self.network = network.to(place.device, memory_format=torch.channels_last)
        self.place, self.best_rate = place, plan["best_rate"]
        if place.count > 1:
            for tensor in self.network.state_dict().values():
                dist.broadcast(tensor, 0)
        ema = torch.optim.swa_utils.get_ema_multi_avg_fn(plan["mean_of_weights"])
        self._mean = torch.optim.swa_utils.AveragedModel(self.network, multi_avg_fn=ema, use_buffers=True)
        self._optimiser = torch.optim.AdamW(
            self.network.parameters(), lr=plan["best_rate"], weight_decay=plan["weight_decay"]
        )

    def told(self, x: torch.Tensor) -> torch.Tensor:
        """What the network says.

        Args:
            x: Its input.

        Returns:
            Its output, in full precision.
        """
        with torch.autocast(self.place.device, dtype=torch.bfloat16):
            y: torch.Tensor = self.network(x.contiguous(memory_format=torch.channels_last))
        return y.float()

    def learn(self, loss: torch.Tensor, done: float) -> None:
        """One step against a loss.

        Args:
            loss: The loss, of this process's pictures.
            done: Share of the training that is over; the rate rises for a 25th of it and then falls like a cosine.
        """
        rate = (
            self.best_rate * min(1.0, done / 0.04 + 0.02) * (0.5 + 0.5 * math.cos(math.pi * min(done, 1.0)))
        )
        for group in self._optimiser.param_groups:
            group["lr"] = max(rate, 1e-6)
        self._optimiser.zero_grad(set_to_none=True)
        loss.backward()
        if self.place.count > 1:
            gradients = [p.grad for p in self.network.parameters() if p.grad is not None]
            flat = torch.cat([g.reshape(-1) for g in gradients])
            dist.all_reduce(flat)
            for g, part in zip(gradients, flat.split([g.numel() for g in gradients]), strict=True):
                g.copy_(part.view_as(g) / self.place.count)
        nn.utils.clip_grad_norm_(self.network.parameters(), 2.0)
        self._optimiser.step()
        self._mean.update_parameters(self.network)

    def state(self) -> dict[str, Any]:
        """The running mean of the weights, on the processor."""
        return {k: t.detach().float().cpu() for k, t in self._mean.module.state_dict().items()}


def train_side_by_side(
    pupils: Mapping[str, Pupil],
    examples: Callable[[], tuple[torch.Tensor, Callable[[torch.Tensor], torch.Tensor]]],
    seconds: float,
    kept_as: str,
    say: Callable[[str], None],
) -> None:
    """Train networks on the same examples for a given time, and write the running means of their weights every 100 s.

    Args:
        pupils: Networks by the names of their sizes.
        examples: Draws new ones: what the networks are given, and the loss of what they say of it.
        seconds: Wall time.
        kept_as: Path of the weights without size and ending; the first process writes them.
        say: Told of the progress.
    """
    place = next(iter(pupils.values())).place
    running = dict.fromkeys(pupils, 0.0)
    begin, step, saved = time.time(), 0, 0.0
    while (done := _share_done(time.time() - begin, seconds, place)) < 1.0:
        x, loss_of = examples()
        step += 1
        for name, pupil in pupils.items():
            loss = loss_of(pupil.told(x))
            pupil.learn(loss, done)
            if step % 20 == 0:
                running[name] += 0.05 * (loss.item() - running[name])
        if step % 500 == 0:
            told = ", ".join(f"{name} {value:.4f}" for name, value in running.items())
            say(f"step {step}, {done:.3f} of the time, loss {told}")
        if done * seconds - saved > 100:
            saved = done * seconds
            _keep(pupils, kept_as, place)
    say(f"{step} steps on each of {place.count}")
    _keep(pupils, kept_as, place)


def _keep(pupils: Mapping[str, Pupil], kept_as: str, place: Place) -> None:
    if place.rank == 0:
        for name, pupil in pupils.items():
            torch.save(pupil.state(), f"{kept_as}-{name}.pt")


def _share_done(spent_s: float, whole_s: float, place: Place) -> float:
    """Share of the time to train that is used up, as the first process's clock says, so that all end with the same step."""
    if place.count == 1:
        return spent_s / whole_s
    told = torch.tensor([spent_s / whole_s], device=place.device, dtype=torch.float64)
    dist.broadcast(told, 0)
    return float(told)
