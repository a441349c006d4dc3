"""Render windows about blocks and about what looks like one, and train the networks that tell them apart.

    python -m tests.scenes.train_blocks --out OUT
    torchrun --nproc-per-node 2 -m tests.scenes.train_blocks --out OUT

Writes OUT/blocks-SIZE.pt for each size of ``scenes.toml``, and OUT/log-0.txt; again during training, so that a stop loses
little. ``block_network.py`` makes ONNX of them.
"""

from __future__ import annotations

import argparse
import math
import multiprocessing
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import torch
import torch.nn.functional as nnf

from tests.scenes.block_network import CELL_PX, MM_PER_PX, PATCH_PX, USUAL_PX, BlockNetwork, Widths, levelled
from tests.scenes.phone import photographed
from tests.scenes.pupils import Place, Pupil, drawers, leave, own_place, train_side_by_side
from tests.scenes.render import CONFIGURATION
from tests.scenes.trace import DeviceTracer, trace_windows_here
from tests.scenes.windows import NEAREST, SIDE_PX, Chosen, windows_of

PLAN = CONFIGURATION["blocks"]
CELLS = PATCH_PX // CELL_PX
BLOCK_SEEN, NOT_SEEN = 0.35, 0.06
"""Blocks of which more is seen are to be told, those of which less is seen are not; between them nothing is asked."""

Say = Callable[[str], None]


@dataclass(frozen=True)
class Data:
    """Windows on the device: radiance (n, 3, s, s), which of the three nearest blocks, from 1, is seen and which would be
    if nothing else were there (n, s, s), and from mm to pixels of the window (n, 3, 3)."""

    radiance: torch.Tensor
    seen: torch.Tensor
    alone: torch.Tensor
    warps: torch.Tensor

    def __len__(self) -> int:
        return len(self.radiance)


def _chosen(seeds: range) -> Iterator[Chosen]:
    with multiprocessing.get_context("spawn").Pool(drawers()) as pool:
        for one in pool.imap_unordered(windows_of, seeds, chunksize=2):
            if one is not None:
                yield one


def rendered(seeds: range, seconds: float, device: str, say: Say) -> Data:
    """Render the windows of scenes until the time is used up.

    Args:
        seeds: Seeds of the scenes.
        seconds: Wall time.
        device: ``cuda`` or ``cpu``.
        say: Told of the progress.

    Returns:
        The windows.
    """
    trace = DeviceTracer().trace_windows if device == "cuda" else trace_windows_here
    most, side = PLAN["windows"], SIDE_PX
    data = Data(
        torch.empty(most, 3, side, side, dtype=torch.half, device=device),
        torch.empty(most, side, side, dtype=torch.uint8, device=device),
        torch.empty(most, side, side, dtype=torch.uint8, device=device),
        torch.empty(most, 3, 3, device=device),
    )
    begin, count, scenes = time.time(), 0, 0
    for one in _chosen(seeds):
        arrays = trace(one.scene, one.windows, side=side, samples=PLAN["rays_per_px"], seed=one.seed)
        radiance, *maps = (torch.as_tensor(a, device=device) for a in arrays)
        own = slice(count, min(count + len(radiance), most))
        n = own.stop - own.start
        numbers = torch.as_tensor(one.numbers, device=device)
        data.radiance[own] = radiance[:n].permute(0, 3, 1, 2).clamp(max=6e4).half()
        for kept, of_scene in zip((data.seen, data.alone), maps, strict=True):
            for k in range(NEAREST):
                kept[own] = kept[own] * (k > 0) + (of_scene[:n] == numbers[:n, k, None, None]) * (k + 1)
        data.warps[own] = torch.as_tensor(one.warps, device=device)[:n]
        count, scenes = own.stop, scenes + 1
        if scenes % 500 == 0:
            say(f"{scenes} scenes, {count} windows in {time.time() - begin:.1f} s")
        if time.time() - begin > seconds or count == most:
            break
    say(f"{count} windows of {scenes} scenes in {time.time() - begin:.1f} s")
    return Data(*(t[:count] for t in (data.radiance, data.seen, data.alone, data.warps)))


def _grids(warps: torch.Tensor, *, jitter: bool) -> torch.Tensor:
    """Where each pixel of a view lies in its window, (n, p, p, 2) from -1 to 1."""
    n, device = len(warps), warps.device
    axis = (torch.arange(PATCH_PX, device=device) - (PATCH_PX - 1) / 2) * MM_PER_PX
    y, x = torch.meshgrid(axis, axis, indexing="ij")
    mm = torch.stack([x, y], -1).reshape(1, -1, 2).repeat(n, 1, 1)
    if jitter:
        # Views lie along the bars, either way round; now and then across them, or the bars are not known.
        kind = torch.rand(n, device=device)
        turn = torch.randn(n, device=device) * 0.05 + math.pi * torch.randint(0, 2, (n,), device=device)
        turn = turn + torch.where(kind < 0.2, math.pi / 2, 0.0)
        turn = torch.where(kind > 0.88, torch.rand(n, device=device) * 2 * math.pi, turn)
        scale = torch.exp(torch.randn(n, device=device) * 0.10)
        shift = (torch.rand(n, 1, 2, device=device) - 0.5) * 50.0
        c, s = (torch.cos(turn) * scale)[:, None], (torch.sin(turn) * scale)[:, None]
        flip = torch.where(torch.rand(n, 1, device=device) < 0.5, -1.0, 1.0)
        a, b = mm[..., 0], mm[..., 1] * flip
        mm = torch.stack([a * c - b * s, a * s + b * c], -1) + shift
    h = torch.cat([mm, torch.ones_like(mm[..., :1])], -1) @ warps.transpose(1, 2)
    px = h[..., :2] / h[..., 2:]
    if jitter:
        # The edge of a photo: beyond it its last row is repeated.
        edge = torch.rand(n, 1, 2, device=device) * 0.75 * SIDE_PX
        off = torch.rand(n, 1, 2, device=device) < 0.92
        far = torch.rand(n, 1, 2, device=device) < 0.5
        low = torch.where(off | far, torch.zeros_like(edge), edge * 0.55)
        high = torch.where(off | ~far, torch.full_like(edge, SIDE_PX - 1.0), SIDE_PX - 1.0 - edge * 0.55)
        px = torch.minimum(torch.maximum(px, low), high)
    grid = (px + 0.5) / SIDE_PX * 2 - 1
    return grid.reshape(n, PATCH_PX, PATCH_PX, 2)


def batch_of(data: Data, index: torch.Tensor, *, jitter: bool = True) -> tuple[torch.Tensor, ...]:
    """Views, and what is to be told of them.

    Args:
        data: All windows.
        index: (n,) which of them.
        jitter: Whether place, turn and scale are drawn anew.

    Returns:
        Views (n, 3, p, p), blocks' middles (n, c, c) 0 or 1, weight of each cell (n, c, c), way and sides (n, 4, c, c).
    """
    grid = _grids(data.warps[index], jitter=jitter)
    photo = photographed(data.radiance[index])
    views = nnf.grid_sample(photo, grid, mode="bilinear", padding_mode="border", align_corners=False)
    maps = torch.stack([data.seen[index], data.alone[index]], 1).float()
    seen, alone = nnf.grid_sample(maps, grid, mode="nearest", align_corners=False).unbind(1)
    n, device = len(index), views.device
    told = torch.zeros(n, CELLS, CELLS, device=device)
    weight = torch.ones_like(told)
    boxes = torch.zeros(n, 4, CELLS, CELLS, device=device)
    middle = torch.arange(CELLS, device=device) * CELL_PX + (CELL_PX - 1) / 2
    axis = torch.arange(PATCH_PX, device=device, dtype=torch.float32)
    for number in range(1, NEAREST + 1):
        there = alone == number
        area = there.sum((1, 2))
        share = (seen == number).sum((1, 2)) / area.clamp(min=1)
        sides = []
        for dim in (1, 2):
            on = there.any(dim)
            low = torch.where(on, axis, torch.inf).amin(1)
            high = torch.where(on, axis, -torch.inf).amax(1)
            sides.append((low, high))
        ((x0, x1), (y0, y1)) = sides
        some = area >= 12
        cx, cy, w, h = (
            (torch.where(some, v, 0.0)) for v in ((x0 + x1) / 2, (y0 + y1) / 2, x1 - x0 + 1, y1 - y0 + 1)
        )
        dx, dy = cx[:, None] - middle, cy[:, None] - middle
        inside = (dx.abs() <= w[:, None] / 2 + 2)[:, None, :] & (dy.abs() <= h[:, None] / 2 + 2)[:, :, None]
        core = (dx.abs() <= (0.22 * w[:, None]).clamp(min=4.01))[:, None, :] & (
            dy.abs() <= (0.22 * h[:, None]).clamp(min=4.01)
        )[:, :, None]
        cut = torch.minimum(torch.minimum(x0, y0), PATCH_PX - 1 - torch.maximum(x1, y1)) < 1
        asked = (some & (share >= BLOCK_SEEN))[:, None, None]
        open_ = (some & ((share >= NOT_SEEN) | cut))[:, None, None]
        weight = torch.where(open_ & inside & ~core, 0.0, weight)
        weight = torch.where(open_ & core & ~asked, 0.0, weight)
        mine = asked & core
        told = torch.where(mine, 1.0, told)
        weight = torch.where(mine, 1.0, weight)
        own = torch.stack(
            [
                (dx / 16)[:, None, :].expand(n, CELLS, CELLS),
                (dy / 16)[:, :, None].expand(n, CELLS, CELLS),
                torch.log(w.clamp(min=4) / USUAL_PX)[:, None, None].expand(n, CELLS, CELLS),
                torch.log(h.clamp(min=4) / USUAL_PX)[:, None, None].expand(n, CELLS, CELLS),
            ],
            1,
        )
        boxes = torch.where(mine[:, None], own, boxes)
    return views, told, weight, boxes


def loss_of(y: torch.Tensor, told: torch.Tensor, weight: torch.Tensor, boxes: torch.Tensor) -> torch.Tensor:
    """Focal cross-entropy of the middles (Lin et al. 2017, from memory), and smooth differences of way and sides.

    Args:
        y: (n, 5, c, c) what the network tells.
        told: (n, c, c) 1 at the middle of a block.
        weight: (n, c, c) weight of each cell.
        boxes: (n, 4, c, c) way to the middle and sides.

    Returns:
        The loss.
    """
    logit = y[:, 0].float()
    p = torch.sigmoid(logit)
    entropy = nnf.binary_cross_entropy_with_logits(logit, told, reduction="none")
    focal = entropy * (told - p).abs() ** 1.5 * weight * torch.where(told > 0, 1.5, 1.0)
    count = told.sum() + 20
    off = nnf.smooth_l1_loss(y[:, 1:].float(), boxes, beta=0.3, reduction="none").sum(1)
    return (focal.sum() + 0.4 * (off * told).sum()) / count


def train(data: Data, out: Path, place: Place, say: Say) -> None:
    """Train networks of all sizes side by side, on the same views, for a time.

    Args:
        data: The windows.
        out: Folder for the weights.
        place: Where this process trains.
        say: Told of the progress.
    """
    torch.manual_seed(PLAN["seed"] + place.rank)
    pupils = {
        name: Pupil(BlockNetwork(Widths(**widths)), place, PLAN) for name, widths in PLAN["sizes"].items()
    }

    def examples() -> tuple[torch.Tensor, Callable[[torch.Tensor], torch.Tensor]]:
        index = torch.randint(0, len(data), (PLAN["batch"],), device=place.device)
        views, *wanted = batch_of(data, index)
        return levelled(views), lambda y: loss_of(y, *wanted)

    train_side_by_side(pupils, examples, PLAN["train_seconds"], str(out / "blocks"), say)


def main() -> None:
    """Render and train."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--out", type=Path, required=True)
    a = ask.parse_args()
    a.out.mkdir(parents=True, exist_ok=True)
    place = own_place()
    with (a.out / f"log-{place.rank}.txt").open("a") as log:

        def say(text: str) -> None:
            print(text, flush=True)
            log.write(text + "\n")
            log.flush()

        first = PLAN["first_seed"] + place.rank * PLAN["scenes"]
        data = rendered(range(first, first + PLAN["scenes"]), PLAN["render_seconds"], place.device, say)
        train(data, a.out, place, say)
    leave(place)


if __name__ == "__main__":
    main()
