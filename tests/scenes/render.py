"""Render scenes with their labels.

python -m tests.scenes.render --first-seed 1 --count 100 --out FOLDER     one .npz a scene
"""

from __future__ import annotations

import argparse
import multiprocessing
import time
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import torch

from tests.scenes.pupils import drawers
from tests.scenes.scene import Scene, draw_scene
from tests.scenes.trace import DeviceTracer, trace_here

CONFIGURATION = tomllib.loads(Path(__file__).with_name("scenes.toml").read_text(encoding="utf-8"))
Say = Callable[[str], None]


def _packed(job: tuple[int, int, int]) -> tuple[int, Scene]:
    """Draw a scene with compact arrays, so that it travels fast between processes."""
    seed, width, height = job
    scene = draw_scene(seed, width=width, height=height)
    scene.prims = np.asarray(scene.prims, np.float32)
    scene.mats = np.asarray(scene.mats, np.float32)
    return seed, scene


def rendered(
    seeds: range, size: tuple[int, int], samples: int, device: str
) -> Iterator[tuple[int, torch.Tensor, torch.Tensor, torch.Tensor]]:
    """Render scene after scene, all turned to landscape.

    Args:
        seeds: Seeds of the scenes.
        size: Width and height, px.
        samples: Rays a pixel.
        device: ``cuda`` or ``cpu``.

    Yields:
        Seed, radiance (3, h, w) half precision, classes (h/2, w/2, 9), cue (h/2, w/2) in 255ths, on the device.
    """
    trace = DeviceTracer().trace if device == "cuda" else trace_here
    with multiprocessing.get_context("spawn").Pool(drawers()) as pool:
        jobs = ((seed, *size) for seed in seeds)
        for seed, scene in pool.imap_unordered(_packed, jobs, chunksize=4):
            r, c, q = (torch.as_tensor(a, device=device) for a in trace(scene, samples=samples, seed=seed))
            if scene.height > scene.width:
                r, c, q = (torch.rot90(a, 1, (0, 1)) for a in (r, c, q))
            cue = (q * 255).round().to(torch.uint8).contiguous()
            yield seed, r.permute(2, 0, 1).half().contiguous(), c.contiguous(), cue


def render_for(
    seconds: float, seeds: range, size: tuple[int, int], samples: int, device: str, say: Say
) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor]:
    """Render until the time or the seeds are used up.

    Args:
        seconds: Wall time.
        seeds: Seeds of the scenes.
        size: Width and height, px.
        samples: Rays a pixel.
        device: ``cuda`` or ``cpu``.
        say: Told of the progress.

    Returns:
        Radiance (n, 3, h, w), classes (n, h/2, w/2, 9), cue (n, h/2, w/2), on the device.
    """
    start = time.time()
    parts: tuple[list[torch.Tensor], ...] = ([], [], [])
    for _, *arrays in rendered(seeds, size, samples, device):
        for part, array in zip(parts, arrays, strict=True):
            part.append(array)
        if len(parts[0]) % 200 == 1:
            say(f"{len(parts[0])} scenes in {time.time() - start:.1f} s")
        if time.time() - start > seconds:
            break
    say(f"{len(parts[0])} scenes in {time.time() - start:.1f} s")
    radiance, classes, cues = (torch.stack(p) for p in parts)
    return radiance, classes, cues


def main() -> None:
    """Render scenes into files."""
    picture = CONFIGURATION["picture"]
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--first-seed", type=int, default=1)
    ask.add_argument("--count", type=int, default=100)
    ask.add_argument("--samples", type=int, default=picture["rays_per_px"])
    ask.add_argument("--width", type=int, default=picture["width_px"])
    ask.add_argument("--height", type=int, default=picture["height_px"])
    ask.add_argument("--out", type=Path, required=True)
    a = ask.parse_args()
    a.out.mkdir(parents=True, exist_ok=True)
    device = "cuda" if torch.cuda.is_available() else "cpu"
    seeds = range(a.first_seed, a.first_seed + a.count)
    for seed, radiance, classes, cue in rendered(seeds, (a.width, a.height), a.samples, device):
        arrays = {"radiance": radiance, "classes": classes, "cue": cue}
        np.savez_compressed(a.out / f"scene-{seed}.npz", **{k: t.cpu().numpy() for k, t in arrays.items()})
        print(f"scene {seed}", flush=True)


if __name__ == "__main__":
    main()
