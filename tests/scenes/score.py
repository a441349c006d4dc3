"""Overlap of labels and truth, class by class, on scenes that no training has seen.

python -m tests.scenes.score
"""

from __future__ import annotations

import numpy as np
import torch

from tests.scenes.phone import photographed
from tests.scenes.render import CONFIGURATION, rendered
from tests.scenes.scene import CLASSES
from verifier.vision.halves import Halves
from verifier.vision.labels import label_photo


def main() -> None:
    """Render, label and compare."""
    held, picture = CONFIGURATION["held_out"], CONFIGURATION["picture"]
    seeds = range(held["first_seed"], held["first_seed"] + held["scenes"])
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(1)
    both, either, seen, told = np.zeros((4, len(CLASSES)))
    for seed, radiance, classes, _ in rendered(
        seeds, (picture["width_px"], picture["height_px"]), picture["rays_per_px"], device
    ):
        photo = (photographed(radiance[None].float())[0].permute(1, 2, 0).cpu().numpy() * 255).astype(
            np.uint8
        )
        label = label_photo(Halves.of(np.ascontiguousarray(photo[..., ::-1]))).probability.argmax(0)
        truth = classes[..., 4].cpu().numpy()
        print(f"scene {seed}: {np.mean(label == truth):.3f} of the cells right", flush=True)
        for k in range(len(CLASSES)):
            both[k] += np.sum((label == k) & (truth == k))
            either[k] += np.sum((label == k) | (truth == k))
            seen[k] += np.sum(truth == k)
            told[k] += np.sum(label == k)
    for k, name in enumerate(CLASSES):
        print(
            f"{name:12s} overlap {both[k] / max(either[k], 1):.2f}, found {both[k] / max(seen[k], 1):.2f}, "
            f"right {both[k] / max(told[k], 1):.2f}"
        )


if __name__ == "__main__":
    main()
