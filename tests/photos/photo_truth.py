"""Exact truth of rendered photos, and how far a measurement is from it.

World z = 0 is the deck, z up, in mm. Pixels of the truth are those of the stored frame; ``stored_to_upright`` is the map
that the Exif orientation asks for.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

REACH_MM, SEEN_MM = 800.0, 300.0
RENDERED = Path(__file__).parent / "rendered"


@dataclass
class Score:
    """Counts of one or more photos, and of each gap: error, stated expanded uncertainty, true value, drawn value."""

    wanted: int = 0
    found: int = 0
    reported: int = 0
    right: int = 0
    layer_right: int = 0
    sizes: int = 0
    size_right: int = 0
    gaps: list[tuple[float, float, float, float]] = field(default_factory=list)
    blocks_wanted: int = 0
    blocks_found: int = 0

    def add(self, other: Score) -> None:
        for name in (
            "wanted",
            "found",
            "reported",
            "right",
            "layer_right",
            "sizes",
            "size_right",
            "blocks_wanted",
            "blocks_found",
        ):
            setattr(self, name, getattr(self, name) + getattr(other, name))
        self.gaps += other.gaps

    @property
    def errors_mm(self):
        return np.array([abs(g[0]) for g in self.gaps])

    @property
    def inside(self):
        return float(np.mean([abs(g[0]) <= g[1] for g in self.gaps]))


class Truth:
    """The truth of one photo."""

    def __init__(self, name: str) -> None:
        self.photo = RENDERED / f"{name}.jpg"
        self.doc = json.loads((RENDERED / f"{name}.json").read_text())
        cam = self.doc["camera"]
        self.matrix, self.rotation, self.shift = (
            np.array(cam[k], float) for k in ("K", "R_world_to_camera", "t_world_to_camera")
        )
        self.k1, self.k2 = cam["dist"][:2]
        self.eye = -self.rotation.T @ self.shift
        self.board_centre = np.mean(np.array(self.doc["board"]["corners_mm"], float), 0)[:2]
        self.lines = {}
        for bar in self.doc["bars"]:
            self.lines.setdefault((bar["family"], bar["line"]), []).append(bar)
        self.axes = {}
        for family, f in self.doc["families"].items():
            a = math.radians(f["direction_deg"])
            along, across = np.array([math.cos(a), math.sin(a)]), np.array([-math.sin(a), math.cos(a)])
            self.axes[family] = (along, across, f["axis_level_mm"])

    def stored(self, upright_px):
        turn = np.array(self.doc["stored_to_upright"], float)
        return (np.asarray(upright_px, float).reshape(-1, 2) - turn[:, 2]) @ np.linalg.inv(turn[:, :2]).T

    def on_plane(self, stored_px, z):
        """World points (n, 2) where the rays of stored pixels meet the height z."""
        seen = (np.asarray(stored_px, float).reshape(-1, 2) - self.matrix[:2, 2]) / self.matrix[
            [0, 1], [0, 1]
        ]
        far = np.hypot(*seen.T)
        r = far.copy()
        for _ in range(10):
            r2 = r * r
            r -= (r * (1 + self.k1 * r2 + self.k2 * r2 * r2) - far) / (
                1 + 3 * self.k1 * r2 + 5 * self.k2 * r2 * r2
            )
        seen = seen * np.where(far > 1e-12, r / np.maximum(far, 1e-12), 1)[:, None]
        ray = np.c_[seen, np.ones(len(seen))] @ self.rotation
        return (self.eye + ray * ((z - self.eye[2]) / ray[:, 2])[:, None])[:, :2]

    def wanted(self):
        """Lines with 300 mm or more in sight within 800 mm of the board, and half of what lies there."""
        out = set()
        width, height = self.doc["camera"]["width"], self.doc["camera"]["height"]
        for key, bars in self.lines.items():
            seen = total = 0.0
            for bar in bars:
                p, px = np.array(bar["axis_mm"], float), np.array(bar["axis_px"], float)
                near = np.hypot(*(p[:, :2] - self.board_centre).T) <= REACH_MM
                near &= (px >= 0).all(axis=1) & (px[:, 0] < width) & (px[:, 1] < height)
                step = np.r_[np.linalg.norm(np.diff(p, axis=0), axis=1), 0]
                total += float((step * near).sum())
                seen += float((step * near * np.array(bar["axis_visible"], float)).sum())
            if seen >= SEEN_MM and seen >= 0.5 * total:
                out.add(key)
        return out

    def offsets(self, key, station):
        """Offsets across the family at a station, one for each piece that reaches it."""
        along, across, _ = self.axes[key[0]]
        out = []
        for bar in self.lines[key]:
            p = np.array(bar["axis_mm"], float)[:, :2]
            s = p @ along
            if s.min() - 30 <= station <= s.max() + 30:
                order = np.argsort(s)
                out.append(float(np.interp(station, s[order], (p @ across)[order])))
        return out

    def line_of(self, line_px):
        """The true bar line that an image line lies on, or None."""
        a, b = self.stored(line_px)
        points = a + np.linspace(0.02, 0.98, 15)[:, None] * (b - a)
        best = None
        for family, (along, across, z) in self.axes.items():
            world = self.on_plane(points, z)
            run = world[-1] - world[0]
            if np.linalg.norm(run) < 40 or abs(float(run @ along)) < 0.985 * np.linalg.norm(run):
                continue
            for key in (k for k in self.lines if k[0] == family):
                tolerance = max(0.75 * max(bar["diameter_mm"] for bar in self.lines[key]), 6.0)
                away = [
                    min((abs(n - v) for v in self.offsets(key, s)), default=1e9)
                    for s, n in zip(world @ along, world @ across, strict=True)
                ]
                if np.mean(np.array(away) < tolerance) >= 0.7 and (best is None or np.median(away) < best[0]):
                    best = (float(np.median(away)), key)
        return None if best is None else best[1]


def score(truth: Truth, measurement) -> Score:
    """Compare a measurement with the truth of its photo."""
    out = Score()
    wanted, hits = truth.wanted(), {}
    out.wanted = len(wanted)
    for layer in measurement.layers:
        keys = [truth.line_of(bar.line_px) for bar in layer.bars]
        for bar, key in zip(layer.bars, keys, strict=True):
            out.reported += 1
            if key is None:
                continue
            hits[key] = hits.get(key, 0) + 1
            lapped = any(b["lapped"] for b in truth.lines[key])
            out.right += hits[key] == 1 or (lapped and hits[key] == 2)
            out.layer_right += layer.position == ("upper" if key[0].endswith("upper") else "lower")
            if bar.nominal_mm is not None:
                out.sizes += 1
                out.size_right += any(abs(bar.nominal_mm - b["diameter_mm"]) < 0.6 for b in truth.lines[key])
        out.gaps += _gaps(truth, layer, keys)
    out.found = len(wanted & set(hits))
    _blocks(truth, measurement, out)
    return out


def _gaps(truth, layer, keys):
    out = []
    for gap in layer.gaps:
        first, second = (keys[i] for i in gap.bars)
        if first is None or second is None or first[0] != second[0] or first == second:
            continue
        along, _, z = truth.axes[first[0]]
        middles = np.array([truth.stored(layer.bars[i].line_px).mean(axis=0) for i in gap.bars])
        station = float((truth.on_plane(middles, z) @ along).mean())
        a, b = truth.offsets(first, station), truth.offsets(second, station)
        if len(a) == 1 and len(b) == 1:
            true = abs(a[0] - b[0])
            drawn = truth.doc["families"][first[0]]["nominal_spacing_mm"]
            out.append((gap.value_mm - true, gap.expanded_uncertainty_mm, true, drawn))
    return out


def _blocks(truth, measurement, out):
    wanted = [b for b in truth.doc["blocks"] if b["visible_fraction"] >= 0.5 and b["in_frame_share"] >= 0.7]
    out.blocks_wanted = len(wanted)
    for block in wanted:
        x0, y0, x1, y1 = block["box_px"]
        pad = 0.25 * max(x1 - x0, y1 - y0)
        for seen in measurement.cover_blocks:
            x, y, w, h = seen.box_px
            cx, cy = truth.stored([[x + w / 2, y + h / 2]])[0]
            if x0 - pad <= cx <= x1 + pad and y0 - pad <= cy <= y1 + pad:
                out.blocks_found += 1
                break
