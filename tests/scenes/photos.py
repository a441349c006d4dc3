"""Render whole photos of drawn scenes with a real standing board and everything that is true about them beside.

    python -m tests.scenes.board_pages --out tests/scenes/out/boards.npz         once, where the project is installed
    python -m tests.scenes.photos --boards tests/scenes/out/boards.npz --count 20 --out FOLDER

Writes FOLDER/photos-K.tar, each with NAME.jpg and NAME.json for some photos; a photo's level stands in its name. Needs
Pillow, and a device to be quick.
"""

from __future__ import annotations

import argparse
import io
import json
import math
import tarfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import torch
from numpy.typing import NDArray
from PIL import Image

from tests.scenes.laid_board import BoardPage, lay, read_pages
from tests.scenes.phone import photographed
from tests.scenes.scene import BAR_NUMBER, BLOCK_NUMBER, Scene, draw_scene
from tests.scenes.trace import DeviceTracer, Windows, trace_windows_here
from tests.scenes.truth import Seen, truth_of
from tests.scenes.windows import PHOTO_PX

Floats32 = NDArray[np.float32]

TILE_PX = 600
SAMPLES = 18
"""A multiple of nine: with others a pixel's rays are not spread evenly about its middle, and the picture lies a fraction of
a pixel beside the truth."""

BYTES_IN_A_TAR = 13_000_000
COARSE, AROUND_PX = 4, 240
"""Blocks are looked at once more in a quarter of the size, so far beyond the picture, for what its edge cuts off."""

STORED_TURNS, TURN_SHARES = (1, 3, 6, 8), (0.8, 0.04, 0.1, 0.06)
DIAGONAL_35_MM = math.hypot(36, 24)


@dataclass(frozen=True)
class Renderer:
    """Traces views of scenes, on the device where there is one.

    Attributes:
        device: ``cuda`` or ``cpu``.
        tracer: The device's tracer.
    """

    device: str
    tracer: DeviceTracer | None

    def views(
        self, scene: Scene, cams: Floats32, *, side: int, samples: int = 0, number: int = BLOCK_NUMBER
    ) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor]:
        """Trace square views of a scene.

        Args:
            scene: The scene.
            cams: (n, 20) views.
            side: Side of a view. [px]
            samples: Rays a pixel; 0 for numbers only.
            number: Column of the number that a pixel tells.

        Returns:
            Radiance (n, side, side, 3), number seen, and number that would be seen if nothing else were there.
        """
        prims = np.asarray(scene.prims, np.float32)
        prims[:, BLOCK_NUMBER] = prims[:, number]
        windows = Windows(prims, np.repeat([[0, len(prims)]], len(cams), 0).astype(np.int32), cams)
        trace = self.tracer.trace_windows if self.tracer else trace_windows_here
        radiance, seen, alone = trace(scene, windows, side=side, samples=samples, seed=len(prims))
        return (
            torch.as_tensor(radiance, device=self.device),
            torch.as_tensor(seen, device=self.device),
            torch.as_tensor(alone, device=self.device),
        )


def photo_of(scene: Scene, renderer: Renderer, *, samples: int = SAMPLES) -> tuple[torch.Tensor, Seen]:
    """Render one photo in tiles.

    Args:
        scene: The scene, its sides whole tiles.
        renderer: What traces it.
        samples: Rays a pixel.

    Returns:
        Stored values (h, w, 3), and what each pixel shows.
    """
    columns, rows = scene.width // TILE_PX, scene.height // TILE_PX
    cams = np.repeat(np.asarray(scene.cam, np.float32)[None], columns * rows, 0)
    for k in range(columns * rows):
        cams[k, 13:15] -= (TILE_PX * (k % columns), TILE_PX * (k // columns))

    def whole(tiles: torch.Tensor) -> torch.Tensor:
        t = tiles.reshape(rows, columns, TILE_PX, TILE_PX, -1).permute(0, 2, 1, 3, 4)
        return t.reshape(rows * TILE_PX, columns * TILE_PX, -1)

    radiance, seen, alone = (whole(a) for a in renderer.views(scene, cams, side=TILE_PX, samples=samples))
    _, bars, _ = renderer.views(scene, cams, side=TILE_PX, number=BAR_NUMBER)
    around = np.asarray(scene.cam, np.float32)[None].copy()
    around[0, 12] /= COARSE
    around[0, 13:15] = (around[0, 13:15] + AROUND_PX - (COARSE - 1) / 2) / COARSE
    side = (max(scene.width, scene.height) + 2 * AROUND_PX) // COARSE
    _, _, blocks_around = renderer.views(scene, around, side=side)
    first = AROUND_PX // COARSE
    photo = photographed(radiance.permute(2, 0, 1)[None])[0].permute(1, 2, 0)
    return photo, Seen(
        seen[..., 0].cpu().numpy(),
        alone[..., 0].cpu().numpy(),
        whole(bars)[..., 0].cpu().numpy(),
        blocks_around[0].cpu().numpy(),
        (first, first, first + scene.width // COARSE, first + scene.height // COARSE),
    )


def exif_of(scene: Scene, rng: np.random.Generator, orientation: int) -> Image.Exif | None:
    """What a phone would write into the file; some leave out the focal length, few write nothing.

    Args:
        scene: The scene.
        rng: For what is left out.
        orientation: How the picture is stored; anything but 1 is always written.

    Returns:
        Tags, or None.
    """
    told = rng.random()
    if told < 0.06 and orientation == 1:
        return None
    focal_35 = float(scene.cam[12]) / math.hypot(scene.width, scene.height) * DIAGONAL_35_MM
    exif = Image.Exif()
    when = f"2031:06:{rng.integers(1, 29):02d} {rng.integers(6, 19):02d}:{rng.integers(60):02d}:07"
    exif[271], exif[272], exif[274], exif[306] = "Demo", "Demo Phone 2", orientation, when
    own = {
        33434: 1 / float(rng.choice((60, 120, 500, 1000))),
        33437: 1.8,
        34855: int(rng.choice((50, 100, 400, 1600))),
        36867: when,
        36868: when,
        40962: scene.width,
        40963: scene.height,
    }
    if told > 0.2:
        own[37386], own[41989] = round(focal_35 / 4.6, 2), round(focal_35)
    exif[34665] = own
    return exif


def drawn(
    seed: int, boards: list[BoardPage], renderer: Renderer, *, samples: int
) -> tuple[str, bytes, dict[str, object]]:
    """Draw a scene, lay a board in it, render it and store it.

    Args:
        seed: Seed of everything.
        boards: Boards to choose from.
        renderer: What traces it.
        samples: Rays a pixel.

    Returns:
        Name, JPEG and truth.

    Raises:
        ValueError: If the scene has no place for a board.
    """
    rng = np.random.default_rng(seed + 9_000_000)
    torch.manual_seed(seed)
    scene = draw_scene(seed, width=PHOTO_PX[0], height=PHOTO_PX[1], with_board=False)
    laid = lay(scene, boards[rng.integers(len(boards))], rng)
    photo, seen = photo_of(scene, renderer, samples=samples)
    orientation = int(rng.choice(STORED_TURNS, p=TURN_SHARES))
    exif = exif_of(scene, rng, orientation)
    stored = io.BytesIO()
    Image.fromarray((photo.cpu().numpy() * 255).round().astype(np.uint8)).save(
        stored,
        "JPEG",
        quality=int(rng.integers(85, 96)),
        subsampling="4:2:0",
        **({"exif": exif} if exif else {}),
    )
    truth = truth_of(scene, laid, seen, orientation)
    return f"{truth['level']}_{seed}", stored.getvalue(), truth


def main() -> None:
    """Render photos."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--boards", type=Path, required=True)
    ask.add_argument("--first-seed", type=int, default=4_000_000)
    ask.add_argument("--count", type=int, default=20)
    ask.add_argument("--samples", type=int, default=SAMPLES)
    ask.add_argument("--out", type=Path, required=True)
    a = ask.parse_args()
    on_device = torch.cuda.is_available()
    renderer = Renderer("cuda" if on_device else "cpu", DeviceTracer() if on_device else None)
    boards = read_pages(a.boards)
    a.out.mkdir(parents=True, exist_ok=True)
    tars, used, seed, made = 0, 0, a.first_seed, 0
    while made < a.count:
        try:
            name, jpeg, truth = drawn(seed, boards, renderer, samples=a.samples)
        except ValueError as error:
            print(f"{seed}: {error}, left out", flush=True)
            continue
        finally:
            seed += 1
        made += 1
        files = {f"{name}.jpg": jpeg, f"{name}.json": json.dumps(truth).encode()}
        size = sum(map(len, files.values()))
        if used + size > BYTES_IN_A_TAR:
            tars, used = tars + 1, 0
        used += size
        with tarfile.open(a.out / f"photos-{tars}.tar", "a") as tar:
            for file, data in files.items():
                info = tarfile.TarInfo(file)
                info.size = len(data)
                tar.addfile(info, io.BytesIO(data))
        print(f"{name}: {len(jpeg)} bytes, board {truth['board']['number']}", flush=True)


if __name__ == "__main__":
    main()
