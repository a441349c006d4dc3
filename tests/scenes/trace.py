"""Run the tracer on a scene: with the C compiler here, or on a CUDA device through CuPy."""

from __future__ import annotations

import ctypes
import subprocess
import tempfile
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


class DeviceTracer:
    """Render on a CUDA device. Needs CuPy."""

    def __init__(self) -> None:
        import cupy

        self.cp = cupy
        module = cupy.RawModule(code=SOURCE.read_text(), options=("--use_fast_math", "-std=c++17"))
        self.render, self.label = module.get_function("render"), module.get_function("label")

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
