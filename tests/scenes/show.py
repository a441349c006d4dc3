"""Save some scenes as a phone would have stored them, each beside its labels, as one picture to look at."""

from __future__ import annotations

import argparse
import math

import numpy as np
import torch

from tests.scenes.phone import photographed
from tests.scenes.render import render_for

PALETTE = np.array(
    [
        (30, 30, 30),
        (0, 114, 178),
        (86, 180, 233),
        (213, 94, 0),
        (230, 159, 0),
        (0, 158, 115),
        (240, 228, 66),
        (204, 121, 167),
        (255, 255, 255),
        (120, 120, 120),
        (0, 60, 255),
    ],
    np.uint8,
)


def main() -> None:
    """Render and save."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--first-seed", type=int, default=1)
    ask.add_argument("--count", type=int, default=12)
    ask.add_argument("--samples", type=int, default=9)
    ask.add_argument("--width", type=int, default=1024)
    ask.add_argument("--height", type=int, default=768)
    ask.add_argument("--out", required=True)
    a = ask.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    seeds = range(a.first_seed, a.first_seed + a.count)
    radiance, classes, _ = render_for(math.inf, seeds, (a.width, a.height), a.samples, device, print)
    rows = []
    for i in range(len(radiance)):
        picture = photographed(radiance[i : i + 1].float())[0].permute(1, 2, 0)[::2, ::2].cpu().numpy()
        labels = PALETTE[classes[i, :, :, 4].cpu().numpy()]
        rows.append(np.hstack([(picture * 255).astype(np.uint8), labels]))
    if len(rows) % 2:
        rows.pop()
    sheet = np.vstack([np.hstack(rows[k : k + 2]) for k in range(0, len(rows), 2)])
    from PIL import Image

    Image.fromarray(sheet).save(a.out)


if __name__ == "__main__":
    main()
