"""Train the small regression that reads a bar's outline from the brightness across it.

python -m tests.scenes.outlines --out FOLDER     render, train and write outlines.npz (needs CuPy and a device)

Every drawn bar gives its two outline edges exactly. Blocks of rows are cut across it as the photo is read at run time,
with the line and the first guess of the width somewhat wrong, as they are there.
"""

from __future__ import annotations

import argparse
import math
import multiprocessing
import time
from pathlib import Path

import numpy as np
import torch
import torch.nn.functional as nnf

from tests.scenes.phone import photographed
from tests.scenes.render import CONFIGURATION, _packed
from tests.scenes.scene import FAR_LOWER, NEAR_UPPER, Scene
from tests.scenes.trace import DeviceTracer

PLAN = CONFIGURATION["outlines"]
SAMPLES, SPAN = 49, 1.6
"""Samples across, over so many guessed widths to either side."""

ROWS, ROW_PX = 8, 3.0
"""Rows of a block, and their distance along the bar."""

Blocks = tuple[torch.Tensor, torch.Tensor]


def projected(scene: Scene, points: np.ndarray) -> np.ndarray:
    """Pixels of points in space, through the lens.

    Args:
        scene: Its camera is used.
        points: (n, 3) in mm.

    Returns:
        (n, 2) pixels.
    """
    cam = np.asarray(scene.cam, np.float64)
    seen = (points - cam[:3]) @ cam[3:12].reshape(3, 3).T
    xy = seen[:, :2] / seen[:, 2:]
    r2 = (xy**2).sum(1, keepdims=True)
    return xy * (1 + cam[15] * r2 + cam[16] * r2 * r2) * cam[12] + cam[13:15]


def stations(scene: Scene) -> np.ndarray:
    """Where blocks are cut.

    Args:
        scene: A drawn scene.

    Returns:
        (n, 8): middle of the outline, unit step along the bar, unit step across, its width, its class; all in pixels.
    """
    out = []
    camera = np.asarray(scene.cam[:3], np.float64)
    for prim in np.asarray(scene.prims, np.float64):
        if prim[0] != 0 or not NEAR_UPPER <= prim[1] <= FAR_LOWER or not prim[3]:
            continue
        start, along, length, radius = prim[4:7], prim[7:10], prim[10], prim[11]
        t = np.arange(20.0, length - 20.0, 14.0)
        if len(t) == 0:
            continue
        axis = start + t[:, None] * along
        across = np.cross(along, axis - camera)
        across *= radius / np.linalg.norm(across, axis=1, keepdims=True)
        left, right = projected(scene, axis - across), projected(scene, axis + across)
        ahead = projected(scene, axis + 5.0 * along) - projected(scene, axis)
        ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
        beside = np.stack([-ahead[:, 1], ahead[:, 0]], 1)
        width = np.abs(((right - left) * beside).sum(1))
        out.append(np.c_[(left + right) / 2, ahead, beside, width, np.full(len(t), prim[1])])
    return np.concatenate(out) if out else np.zeros((0, 8))


def blocks_of(
    photo: torch.Tensor, classes: torch.Tensor, places: np.ndarray, rng: np.random.Generator
) -> Blocks:
    """Cut blocks across bars with a line and a first guess of the width that are somewhat wrong.

    Args:
        photo: (3, h, w) red-green-blue, 0 to 1.
        classes: (h/2, w/2) class of each cell's middle.
        places: As ``stations`` gives them.
        rng: For the wrongness.

    Returns:
        Features (n, 3 * SAMPLES + 2) and targets (n, 2): logarithm of true over guessed width, middle in guessed widths.
    """
    _, h, w = photo.shape
    inside = (places[:, 0] > 30) & (places[:, 0] < w - 30) & (places[:, 1] > 30) & (places[:, 1] < h - 30)
    p = torch.as_tensor(places[inside & (places[:, 6] > 3.0)], device=photo.device, dtype=torch.float32)
    n = len(p)

    def normal(scale: float) -> torch.Tensor:
        return torch.as_tensor(rng.normal(0, scale, n), device=photo.device, dtype=torch.float32)

    guess = p[:, 6] * torch.exp(normal(0.16).clamp(-0.4, 0.4))
    off, skew = normal(0.09) * guess, normal(0.012)
    at = (torch.arange(ROWS, device=photo.device) - (ROWS - 1) / 2) * ROW_PX
    x = torch.linspace(-SPAN, SPAN, SAMPLES, device=photo.device)
    shift = off[:, None, None] + at[None, :, None] * skew[:, None, None] + x * guess[:, None, None]
    place = p[:, None, None, 0:2] + at[None, :, None, None] * p[:, None, None, 2:4]
    place = place + shift[..., None] * p[:, None, None, 4:6]
    size = torch.tensor([w, h], device=photo.device)
    cut = nnf.grid_sample(
        photo[None],
        ((place + 0.5) / size * 2 - 1).reshape(1, n, -1, 2),
        align_corners=False,
        padding_mode="border",
    )
    rows = cut[0].reshape(3, n, ROWS, SAMPLES).mean(2).permute(1, 0, 2).flip(1)
    middle = (p[:, None, 0:2] + at[None, :, None] * p[:, None, 2:4]) / 2
    cell = classes[
        middle[..., 1].long().clamp(0, classes.shape[0] - 1),
        middle[..., 0].long().clamp(0, classes.shape[1] - 1),
    ]
    seen = (cell == p[:, None, 7]).float().mean(1)
    target = torch.stack([torch.log(p[:, 6] / guess), -off / guess], 1)
    keep = seen > 0.3
    return features(rows, guess)[keep].half(), target[keep]


def features(rows: torch.Tensor, guess_px: torch.Tensor) -> torch.Tensor:
    """What the regression sees of each block; ``verifier.vision.outlines`` does the same.

    Args:
        rows: (n, 3, SAMPLES) blue-green-red, 0 to 1.
        guess_px: (n,) guessed width in pixels.

    Returns:
        (n, 3 * SAMPLES + 2).
    """
    mean = rows.mean((1, 2), keepdim=True)
    spread = rows.std((1, 2), keepdim=True, correction=0) + 0.01
    told = torch.stack([torch.log(guess_px) - 2.3, torch.log(spread[:, 0, 0]) + 2.5], 1)
    return torch.cat([((rows - mean) / spread).flatten(1), told], 1)


def subsampled(photo: torch.Tensor) -> torch.Tensor:
    """Colour at half the resolution of brightness, as phones store it. Takes and gives (1, 3, h, w)."""
    grey = (photo * torch.tensor([0.299, 0.587, 0.114], device=photo.device).view(1, 3, 1, 1)).sum(
        1, keepdim=True
    )
    colour = nnf.interpolate(nnf.avg_pool2d(photo - grey, 2), size=photo.shape[2:], mode="bilinear")
    return (grey + colour).clamp(0, 1)


def gathered(seconds: float, first_seed: int) -> list[Blocks]:
    """Render scenes and cut their bars until the time is used up.

    Args:
        seconds: Wall time.
        first_seed: Of the scenes.

    Returns:
        Blocks by scene.
    """
    trace, begin, out = DeviceTracer().trace, time.time(), []
    size = (PLAN["width_px"], PLAN["height_px"])
    with multiprocessing.get_context("spawn").Pool(max(1, multiprocessing.cpu_count() - 2)) as pool:
        jobs = ((seed, *size) for seed in range(first_seed, first_seed + 100_000))
        for seed, scene in pool.imap_unordered(_packed, jobs, chunksize=2):
            radiance, classes, _ = trace(scene, samples=PLAN["rays_per_px"], seed=seed)
            light = torch.as_tensor(radiance, device="cuda").permute(2, 0, 1)[None]
            photo = subsampled(photographed(light))[0]
            middle = torch.as_tensor(classes, device="cuda")[:, :, 4]
            places = stations(scene)
            if len(places):
                out.append(blocks_of(photo, middle, places, np.random.default_rng(seed)))
            if time.time() - begin > seconds:
                break
        pool.terminate()
    print(
        f"{len(out)} scenes, {sum(len(b[1]) for b in out)} blocks in {time.time() - begin:.0f} s", flush=True
    )
    return out


def network() -> torch.nn.Sequential:
    """Two hidden layers; out come width, middle, and the logarithm of the scale of the error of each."""
    wide, narrow = PLAN["hidden"]
    return torch.nn.Sequential(
        torch.nn.Linear(3 * SAMPLES + 2, wide),
        torch.nn.ReLU(),
        torch.nn.Linear(wide, narrow),
        torch.nn.ReLU(),
        torch.nn.Linear(narrow, 4),
    )


def loss_of(y: torch.Tensor, target: torch.Tensor) -> torch.Tensor:
    """Negative logarithm of Laplace's density: honest scales, and little pull from blocks that show something else."""
    scale = y[:, 2:].clamp(-6, 1)
    return ((y[:, :2] - target).abs() * torch.exp(-scale) + scale).mean()


def turned(x: torch.Tensor, t: torch.Tensor) -> Blocks:
    """The same blocks seen from the other side."""
    rows = x[:, :-2].reshape(-1, 3, SAMPLES).flip(2).flatten(1)
    return torch.cat([rows, x[:, -2:]], 1), t * torch.tensor([1.0, -1.0], device=t.device)


def trained(blocks: Blocks, seconds: float) -> torch.nn.Sequential:
    """Train for a time.

    Args:
        blocks: Features and targets.
        seconds: Wall time.

    Returns:
        The regression.
    """
    torch.manual_seed(PLAN["seed"])
    x, t = blocks
    net = network().cuda()
    optimiser = torch.optim.AdamW(net.parameters(), lr=PLAN["best_rate"], weight_decay=1e-4)
    begin, step = time.time(), 0
    while (spent := time.time() - begin) < seconds:
        for group in optimiser.param_groups:
            group["lr"] = PLAN["best_rate"] * (0.5 + 0.5 * math.cos(math.pi * spent / seconds)) + 1e-6
        index = torch.randint(len(t), (PLAN["batch"],), device="cuda")
        bx, bt = x[index].float(), t[index]
        if step % 2:
            bx, bt = turned(bx, bt)
        loss = loss_of(net(bx), bt)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        optimiser.step()
        step += 1
        if step % 2000 == 0:
            print(f"step {step}, {spent:.0f} s, loss {loss.item():.4f}", flush=True)
    return net


def report(net: torch.nn.Sequential, held: list[Blocks]) -> None:
    """Print how well outlines of scenes held out are read, by their width in pixels."""
    with torch.no_grad():
        x, t = torch.cat([b[0] for b in held]).float(), torch.cat([b[1] for b in held])
        y = net(x)
        px = torch.exp(x[:, -2] + 2.3 + t[:, 0])
        error, scale = (y[:, 0] - t[:, 0]), torch.exp(y[:, 2])
        for low, high in ((3, 6), (6, 9), (9, 13), (13, 20), (20, 60)):
            at = (px >= low) & (px < high)
            if not at.any():
                continue
            e, s = error[at], scale[at]
            sure = s < s.median()
            print(
                f"{low}-{high} px: {int(at.sum())} blocks, median |error| {e.abs().median():.4f}, bias {e.median():+.4f}, "
                f"surer half {e[sure].abs().median():.4f} bias {e[sure].median():+.4f}, scale {s.median():.4f}",
                flush=True,
            )


def main() -> None:
    """Render, train, report, write."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--out", type=Path, required=True)
    ask.add_argument("--render-seconds", type=float, default=PLAN["render_seconds"])
    ask.add_argument("--train-seconds", type=float, default=PLAN["train_seconds"])
    a = ask.parse_args()
    scenes = gathered(a.render_seconds, PLAN["first_seed"])
    apart = max(2, len(scenes) // 20)
    held, used = scenes[:apart], scenes[apart:]
    net = trained((torch.cat([b[0] for b in used]), torch.cat([b[1] for b in used])), a.train_seconds)
    report(net, held)
    layers = [m for m in net if isinstance(m, torch.nn.Linear)]
    arrays = {f"weight_{k}": m.weight.detach().cpu().numpy() for k, m in enumerate(layers)}
    arrays |= {f"bias_{k}": m.bias.detach().cpu().numpy() for k, m in enumerate(layers)}
    np.savez_compressed(a.out / "outlines.npz", **arrays)


if __name__ == "__main__":
    main()
