"""Time and memory of one measurement as a multiple of decoding the same 12-megapixel JPEG, and the stock recipe beside it.

    python tests/benchmarks/bench_measure.py [PHOTO ...]

Without arguments a photo of 4000 x 3000 pixels of the tests is taken; any other is measured in the size that it has. Ratios are
taken in one process and one run, best of five. On a busy machine the ratio of wall times means little; the one of processor
times, which counts both threads of the networks, holds then, too.
"""

from __future__ import annotations

import resource
import sys
import time
from pathlib import Path

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "photos"))

import stock_recipe
from photo_truth import RENDERED, Truth, score

from verifier.vision.measure import measure_file

LARGE = RENDERED.parent / "large" / "site_0312.jpg"


def best_of(times, work):
    """Shortest wall time and shortest processor time of several runs, in s."""
    wall, processor = [], []
    for _ in range(times):
        start, used = time.perf_counter(), time.process_time()
        work()
        wall.append(time.perf_counter() - start)
        processor.append(time.process_time() - used)
    return min(wall), min(processor)


def timing(path):
    data = path.read_bytes()
    raw = np.frombuffer(data, np.uint8)
    decode, decode_cpu = best_of(5, lambda: cv2.imdecode(raw, cv2.IMREAD_COLOR))
    measure_file(data, path.name)
    ours, ours_cpu = best_of(5, lambda: measure_file(data, path.name))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    photo = cv2.imdecode(raw, cv2.IMREAD_COLOR)
    stock, stock_cpu = best_of(1, lambda: stock_recipe.measure(photo))
    print(
        f"{path.name}, {photo.size / 3e6:.1f} megapixels: decode {decode * 1e3:.0f} ms, measure {ours / decode:.1f} x decode ({ours_cpu / decode_cpu:.1f} x by processor "
        f"time), stock recipe {stock / decode:.1f} x ({stock_cpu / decode_cpu:.1f} x), peak {peak:.0f} MB, {cv2.getNumThreads()} threads"
    )


def accuracy():
    """Recall, precision and gap error of both ways on the photos of the tests."""
    found = wanted = right = reported = 0
    errors = []
    ours_found = ours_right = ours_reported = 0
    ours_errors = []
    for path in sorted(RENDERED.glob("*.jpg")):
        truth = Truth(path.stem)
        measured = measure_file(path.read_bytes(), path.name)
        got = score(truth, measured)
        ours_found, ours_right, ours_reported = (
            ours_found + got.found,
            ours_right + got.right,
            ours_reported + got.reported,
        )
        ours_errors += [abs(g[0]) for g in got.gaps]
        wanted += got.wanted
        photo = cv2.imread(str(path))
        hits = set()
        for layer in stock_recipe.measure(photo) or []:
            keys = [truth.line_of(bar["line_px"]) for bar in layer]
            reported += len(keys)
            right += len({k for k in keys if k is not None})
            hits |= {k for k in keys if k is not None}
            for a, b, ka, kb in zip(layer, layer[1:], keys, keys[1:], strict=False):
                if ka and kb and ka != kb and ka[0] == kb[0] and abs(ka[1] - kb[1]) == 1:
                    along, _, z = truth.axes[ka[0]]
                    middles = [truth.stored(bar["line_px"]).mean(axis=0) for bar in (a, b)]
                    station = float((truth.on_plane(np.array(middles), z) @ along).mean())
                    one, other = truth.offsets(ka, station), truth.offsets(kb, station)
                    if len(one) == len(other) == 1:
                        errors.append(abs(abs(b["offset_mm"] - a["offset_mm"]) - abs(one[0] - other[0])))
        found += len(hits & truth.wanted())
    print(
        f"ours:  recall {ours_found / wanted:.3f} precision {ours_right / max(ours_reported, 1):.3f} gap error {np.mean(ours_errors):.2f} mm"
    )
    print(
        f"stock: recall {found / wanted:.3f} precision {right / max(reported, 1):.3f} gap error {np.mean(errors):.2f} mm"
    )


if __name__ == "__main__":
    for photo in [Path(a) for a in sys.argv[1:]] or [LARGE]:
        timing(photo)
    accuracy()
