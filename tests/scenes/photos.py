"""Render whole photos of drawn scenes, with the blocks in them as truth, to choose thresholds on.

    python -m tests.scenes.photos --first-seed 4000000 --count 20 --out FOLDER

Writes FOLDER/photos-K.tar, each with SEED.jpg and SEED.json for some photos. Needs Pillow, and a device to be quick.
"""

from __future__ import annotations

import argparse
import io
import json
import tarfile
from pathlib import Path

import numpy as np
import torch

from tests.scenes.phone import photographed
from tests.scenes.scene import Scene, draw_scene
from tests.scenes.trace import DeviceTracer, Windows, trace_windows_here
from tests.scenes.windows import PHOTO_PX

TILE_PX = 600
IN_A_TAR = 8


def photo_of(
    seed: int, device: str, tracer: DeviceTracer | None, *, samples: int = 4
) -> tuple[Scene, torch.Tensor, torch.Tensor, torch.Tensor]:
    """Render one photo in tiles.

    Args:
        seed: Seed of the scene.
        device: ``cuda`` or ``cpu``.
        tracer: The device's tracer.
        samples: Rays a pixel.

    Returns:
        The scene, stored values (h, w, 3), number of the block seen and of the block there (h, w).
    """
    scene = draw_scene(seed, width=PHOTO_PX[0], height=PHOTO_PX[1])
    columns, rows = scene.width // TILE_PX, scene.height // TILE_PX
    cams = np.repeat(np.asarray(scene.cam, np.float32)[None], columns * rows, 0)
    for k in range(columns * rows):
        cams[k, 13:15] -= (TILE_PX * (k % columns), TILE_PX * (k // columns))
    prims = np.asarray(scene.prims, np.float32)
    windows = Windows(prims, np.repeat([[0, len(prims)]], len(cams), 0).astype(np.int32), cams)
    trace = tracer.trace_windows if tracer else trace_windows_here
    arrays = trace(scene, windows, side=TILE_PX, samples=samples, seed=seed)
    whole = []
    for a in arrays:
        t = torch.as_tensor(a, device=device)
        t = t.reshape(rows, columns, TILE_PX, TILE_PX, -1).permute(0, 2, 1, 3, 4)
        whole.append(t.reshape(rows * TILE_PX, columns * TILE_PX, -1))
    radiance, seen, alone = whole
    torch.manual_seed(seed)
    photo = photographed(radiance.permute(2, 0, 1)[None])[0].permute(1, 2, 0)
    return scene, photo, seen[..., 0], alone[..., 0]


def truth_of(scene: Scene, seen: torch.Tensor, alone: torch.Tensor) -> dict[str, object]:
    """What is to be found: each block's box, and how much of it is seen."""
    blocks = []
    for number in torch.unique(alone).tolist():
        if number == 0:
            continue
        y, x = torch.nonzero(alone == number, as_tuple=True)
        box = [float(v) for v in (x.min(), y.min(), x.max() + 1, y.max() + 1)]
        blocks.append({"box_px": box, "seen": float((seen == number).sum()) / len(x), "px": len(x)})
    return {
        "cam": np.asarray(scene.cam, float).tolist(),
        "direction": float(scene.lowest[0]),
        "axis_mm": float(scene.lowest[1]),
        "blocks": blocks,
    }


def main() -> None:
    """Render photos."""
    from PIL import Image

    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--first-seed", type=int, default=4_000_000)
    ask.add_argument("--count", type=int, default=20)
    ask.add_argument("--out", type=Path, required=True)
    a = ask.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    tracer = DeviceTracer() if device == "cuda" else None
    for k in range(a.count):
        seed = a.first_seed + k
        scene, photo, seen, alone = photo_of(seed, device, tracer)
        stored = io.BytesIO()
        Image.fromarray((photo.cpu().numpy() * 255).round().astype(np.uint8)).save(stored, "JPEG", quality=88)
        told = json.dumps(truth_of(scene, seen, alone)).encode()
        with tarfile.open(a.out / f"photos-{k // IN_A_TAR}.tar", "a") as tar:
            for name, data in ((f"{seed}.jpg", stored.getvalue()), (f"{seed}.json", told)):
                info = tarfile.TarInfo(name)
                info.size = len(data)
                tar.addfile(info, io.BytesIO(data))
        print(f"photo {seed}: {len(stored.getvalue())} bytes", flush=True)


if __name__ == "__main__":
    main()
