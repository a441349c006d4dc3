"""Run the tracer on a scene: with the C compiler here, or on a CUDA device through CuPy."""

from __future__ import annotations

import ctypes
import subprocess
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tests.scenes.scene import STRIDE, Scene

SOURCE = Path(__file__).with_name("tracer.c")


@cache
def _library() -> ctypes.CDLL:
    built = Path(tempfile.mkdtemp()) / "tracer.so"
    # No -ffast-math: loading such a library would flush subnormal numbers to zero for the whole process.
    subprocess.run(
        [
            "cc",
            "-O3",
            "-march=native",
            "-fno-math-errno",
            "-shared",
            "-fPIC",
            "-o",
            str(built),
            str(SOURCE),
            "-lm",
        ],
        check=True,
    )
    return ctypes.CDLL(str(built))


def _arrays(scene: Scene) -> tuple[NDArray[np.float32], ...]:
    prims = np.asarray(scene.prims, np.float32).reshape(-1, STRIDE)
    mats = np.asarray(scene.mats, np.float32)
    return tuple(
        np.ascontiguousarray(a, np.float32)
        for a in (prims, mats, scene.light, scene.deck, scene.page, scene.cam)
    )


def trace_here(
    scene: Scene, *, samples: int = 9, seed: int = 1
) -> tuple[NDArray[np.float32], NDArray[np.uint8], NDArray[np.float32]]:
    """Render with the C compiler.

    Args:
        scene: The scene.
        samples: Rays a pixel.
        seed: Seed of the rays.

    Returns:
        Radiance (h, w, 3), classes of nine points a cell (h/2, w/2, 9), centre-line cue (h/2, w/2).
    """
    prims, mats, light, deck, page, cam = _arrays(scene)
    w, h = scene.width, scene.height
    radiance = np.zeros((h, w, 3), np.float32)
    classes = np.zeros((h // 2, w // 2, 9), np.uint8)
    cue = np.zeros((h // 2, w // 2), np.float32)
    ptr = [
        a.ctypes.data_as(ctypes.c_void_p)
        for a in (prims, mats, light, deck, page, cam, radiance, classes, cue)
    ]
    p, m, li, d, pg, c, out, cl, cu = ptr
    n, ph, pw = len(prims), *page.shape
    _library().render(p, n, m, li, d, pg, pw, ph, c, w, h, samples, ctypes.c_uint(seed), out)
    _library().label(p, n, d, c, w // 2, h // 2, cl, cu)
    return radiance, classes, cue


@dataclass(frozen=True)
class Windows:
    """Small pictures of one scene: what each sees and from where.

    Attributes:
        prims: (k, 24) primitives of all windows, one window's after the other.
        spans: (n, 2) first primitive and number of primitives of each window.
        cams: (n, 20) view of each window.
    """

    prims: NDArray[np.float32]
    spans: NDArray[np.int32]
    cams: NDArray[np.float32]


def trace_windows_here(
    scene: Scene, windows: Windows, *, side: int, samples: int, seed: int
) -> tuple[NDArray[np.float32], NDArray[np.int16], NDArray[np.int16]]:
    """Render windows of a scene with the C compiler.

    Args:
        scene: The scene; of its arrays all but the primitives and the view are used.
        windows: The windows.
        side: Side of a window, px.
        samples: Rays a pixel.
        seed: Seed of the rays.

    Returns:
        Radiance (n, side, side, 3); number of the block seen, and of the block that would be seen if nothing else were
        there (n, side, side), 0 for none.
    """
    _, mats, light, deck, page, _ = _arrays(scene)
    n, (ph, pw) = len(windows.spans), page.shape
    radiance = np.zeros((n, side, side, 3), np.float32)
    seen, alone = np.zeros((2, n, side, side), np.int16)
    arrays = (windows.prims, windows.spans, mats, light, deck, page, windows.cams, radiance, seen, alone)
    p, s, m, li, d, pg, c, out, se, al = (a.ctypes.data_as(ctypes.c_void_p) for a in arrays)
    _library().render_windows(
        p, s, m, li, d, pg, pw, ph, c, side, n, samples, ctypes.c_uint(seed), out, se, al
    )
    return radiance, seen, alone


class DeviceTracer:
    """Render on a CUDA device. Needs CuPy."""

    def __init__(self) -> None:
        import cupy
        import torch

        # CuPy keeps a current device of its own.
        cupy.cuda.Device(torch.cuda.current_device()).use()
        self.cp = cupy
        module = cupy.RawModule(code=SOURCE.read_text(), options=("--use_fast_math", "-std=c++17"))
        self.render, self.label, self.render_windows = (
            module.get_function(name) for name in ("render", "label", "render_windows")
        )

    def trace(self, scene: Scene, *, samples: int = 9, seed: int = 1):
        """As ``trace_here``, with arrays that stay on the device."""
        cp = self.cp
        prims, mats, light, deck, page, cam = (cp.asarray(a) for a in _arrays(scene))
        w, h, n = scene.width, scene.height, len(scene.prims)
        radiance = cp.zeros((h, w, 3), cp.float32)
        classes = cp.zeros((h // 2, w // 2, 9), cp.uint8)
        cue = cp.zeros((h // 2, w // 2), cp.float32)
        i32, u32 = np.int32, np.uint32
        ph, pw = page.shape
        self.render(
            ((w * h + 127) // 128,),
            (128,),
            (
                prims,
                i32(n),
                mats,
                light,
                deck,
                page,
                i32(pw),
                i32(ph),
                cam,
                i32(w),
                i32(h),
                i32(samples),
                u32(seed),
                radiance,
            ),
        )
        self.label(
            ((w * h // 4 + 127) // 128,),
            (128,),
            (prims, i32(n), deck, cam, i32(w // 2), i32(h // 2), classes, cue),
        )
        return radiance, classes, cue

    def trace_windows(self, scene: Scene, windows: Windows, *, side: int, samples: int, seed: int):
        """As ``trace_windows_here``, with arrays that stay on the device."""
        cp, i32 = self.cp, np.int32
        _, *rest = _arrays(scene)
        mats, light, deck, page, _ = (cp.asarray(a) for a in rest)
        prims, spans, cams = (cp.asarray(a) for a in (windows.prims, windows.spans, windows.cams))
        n, (ph, pw) = len(windows.spans), page.shape
        radiance = cp.zeros((n, side, side, 3), cp.float32)
        seen, alone = cp.zeros((2, n, side, side), cp.int16)
        views = (prims, spans, mats, light, deck, page, i32(pw), i32(ph), cams)
        sizes = (i32(side), i32(n), i32(samples), np.uint32(seed))
        blocks = (n * side * side + 127) // 128
        self.render_windows((blocks,), (128,), (*views, *sizes, radiance, seen, alone))
        return radiance, seen, alone
