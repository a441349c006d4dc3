"""Outlines on plan: area, extent, crossing edges, containment."""

from __future__ import annotations

from collections.abc import Sequence

Point = tuple[float, float]
Box = tuple[float, float, float, float]

TOUCH_M = 1e-9
"""Rounding of decimal metres in binary; far below anything that can be set out."""


def area_m2(outline: Sequence[Point]) -> float:
    """Area inside a simple outline.

    Args:
        outline: Corners in order, either way round, not closed. [m]

    Returns:
        Area. [m2]

    Source:
        Shoelace formula.
    """
    return abs(_doubled_area(outline)) / 2


def extent_m(outline: Sequence[Point]) -> Box:
    """Smallest upright rectangle around an outline.

    Args:
        outline: Corners. [m]

    Returns:
        x, y of the lower corner, width, height. [m]
    """
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    return min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)


def crossing_edges(outline: Sequence[Point]) -> tuple[int, int] | None:
    """Find two edges of an outline that cross or touch where they should not.

    Args:
        outline: Corners in order, not closed. [m]

    Returns:
        Numbers of the two edges counted from 1, or None for a simple outline.
    """
    n = len(outline)
    edges = [(outline[i], outline[(i + 1) % n]) for i in range(n)]
    for i in range(n):
        for j in range(i + 1, n):
            neighbours = j == i + 1 or (i == 0 and j == n - 1)
            if neighbours and not _folds_back(edges[i], edges[j]):
                continue
            if neighbours or _meet(*edges[i], *edges[j]):
                return i + 1, j + 1
    return None


def holds_box(outline: Sequence[Point], box: Box) -> bool:
    """Whether an upright rectangle lies inside an outline; touching the edge counts as inside.

    Args:
        outline: Corners of a simple outline. [m]
        box: x, y of the lower corner, width, height. [m]

    Returns:
        True if no part of the rectangle is outside.
    """
    x, y, w, h = box
    corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
    if not all(_inside(outline, corner) for corner in corners):
        return False
    # A re-entrant corner of the outline inside the rectangle, or an edge that cuts through, leaves a part outside.
    inner = (x + TOUCH_M, y + TOUCH_M, w - 2 * TOUCH_M, h - 2 * TOUCH_M)
    n = len(outline)
    return not any(_edge_enters(outline[i], outline[(i + 1) % n], inner) for i in range(n))


def boxes_overlap(first: Box, second: Box) -> bool:
    """Whether two upright rectangles share area.

    Args:
        first: x, y of the lower corner, width, height. [m]
        second: The other one. [m]

    Returns:
        True if they share more than an edge.
    """
    (ax, ay, aw, ah), (bx, by, bw, bh) = first, second
    across = min(ax + aw, bx + bw) - max(ax, bx)
    along = min(ay + ah, by + bh) - max(ay, by)
    return across > TOUCH_M and along > TOUCH_M


def _doubled_area(outline: Sequence[Point]) -> float:
    n = len(outline)
    return sum(
        outline[i][0] * outline[(i + 1) % n][1] - outline[(i + 1) % n][0] * outline[i][1] for i in range(n)
    )


def _turn(a: Point, b: Point, c: Point) -> int:
    """1 for left, -1 for right, 0 for straight on, judged by the distance of c from the line ab."""
    doubled = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    length = ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5
    if abs(doubled) <= TOUCH_M * max(length, TOUCH_M):
        return 0
    return 1 if doubled > 0 else -1


def _between(a: Point, b: Point, c: Point) -> bool:
    return (
        min(a[0], b[0]) - TOUCH_M <= c[0] <= max(a[0], b[0]) + TOUCH_M
        and min(a[1], b[1]) - TOUCH_M <= c[1] <= max(a[1], b[1]) + TOUCH_M
    )


def _meet(a: Point, b: Point, c: Point, d: Point) -> bool:
    turns = _turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b)
    if turns[0] * turns[1] < 0 and turns[2] * turns[3] < 0:
        return True
    on_line = zip(turns, ((a, b, c), (a, b, d), (c, d, a), (c, d, b)), strict=True)
    return any(turn == 0 and _between(*points) for turn, points in on_line)


def _folds_back(first: tuple[Point, Point], second: tuple[Point, Point]) -> bool:
    """Two edges with a common corner overlap when the second runs back over the first, or when one has no length."""
    if first[0] == first[1] or second[0] == second[1]:
        return True
    shared = first[1] if first[1] in second else first[0]
    a = first[0] if shared == first[1] else first[1]
    b = second[1] if shared == second[0] else second[0]
    ahead = (a[0] - shared[0]) * (b[0] - shared[0]) + (a[1] - shared[1]) * (b[1] - shared[1])
    return _turn(shared, a, b) == 0 and ahead > 0


def _inside(outline: Sequence[Point], point: Point) -> bool:
    n, inside = len(outline), False
    for i in range(n):
        a, b = outline[i], outline[(i + 1) % n]
        if _turn(a, b, point) == 0 and _between(a, b, point):
            return True
        if (a[1] > point[1]) != (b[1] > point[1]):
            inside ^= point[0] < a[0] + (point[1] - a[1]) * (b[0] - a[0]) / (b[1] - a[1])
    return inside


def _edge_enters(a: Point, b: Point, box: Box) -> bool:
    """Whether a segment has a part strictly inside a rectangle (clipped against its four sides)."""
    x, y, w, h = box
    low, high = 0.0, 1.0
    for start, step, least, most in ((a[0], b[0] - a[0], x, x + w), (a[1], b[1] - a[1], y, y + h)):
        if step == 0:
            if not least < start < most:
                return False
            continue
        ends = sorted(((least - start) / step, (most - start) / step))
        low, high = max(low, ends[0]), min(high, ends[1])
    return high - low > TOUCH_M
