"""Find scale boards in a photo: by their markers, in hard light, small, dirty, partly hidden, blurred.

The search guesses and then checks. A guess is a quadrilateral whose cells look like a marker of a known board; the
check projects the whole board through it and asks whether the other markers are where they should be. So one readable
marker is enough to find a board, and one that merely looks like a marker finds nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from verifier.board.definition import BoardDefinition
from verifier.board.standing import PAPERS, STANDING_NUMBERS, standing_board, standing_number_of
from verifier.errors import Refusal
from verifier.vision.markers.corners import Floats, Grey, mapped, marker_matches
from verifier.vision.markers.grow_board import GrownBoard, grow
from verifier.vision.markers.marker_quads import Quad, pattern_of, read_softly, sure_ones
from verifier.vision.markers.search_pictures import Box, pictures
from verifier.vision.markers.why_no_board import board_twice, why_no_board

ENOUGH_SEEN = 0.5
"""Share of a board's markers from which on no harder search is made for the others."""

GUESSES_TRIED = 12
"""Unread quadrilaterals that are followed up for one board, best first."""


@dataclass(frozen=True, slots=True)
class FoundBoard:
    """A board as found in a photo.

    Attributes:
        definition: Which board.
        number: Number printed on it, None for a board without one.
        points_mm: (n, 2) inner corners of the checkered field and middles of markers that were found, in board axes.
        points_px: (n, 2) where they are.
        marker_ids: Markers of a board without checkered field whose outline is clear.
        outer_mm: (m, 4, 2) corners of these markers.
        outer_px: (m, 4, 2) where they are.
        to_px: (3, 3) homography from board mm to pixels.
        seen_ids: Markers of the board that were seen.
        seen_share: The same as a share of all its markers.
        blur_px: Standard deviation of the blur on the board.
    """

    definition: BoardDefinition
    number: int | None
    points_mm: Floats
    points_px: Floats
    marker_ids: tuple[int, ...]
    outer_mm: Floats
    outer_px: Floats
    to_px: Floats
    seen_ids: tuple[int, ...]
    seen_share: float
    blur_px: float

    @property
    def centre_mm(self) -> Floats:
        """Middle of the board, in board axes."""
        corners = self.outline_mm()
        return np.asarray((corners[0] + corners[2]) / 2)

    @property
    def marker_side_px(self) -> float:
        """Median side of the board's markers in the photo."""
        corners = mapped(self.to_px, self.definition.corners_mm().reshape(-1, 2)).reshape(-1, 4, 2)
        return float(np.median(np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2)))

    def outline_mm(self) -> Floats:
        """Corners (4, 2) of the rectangle around all markers and squares, clockwise from top left, in board axes."""
        corners = self.definition.corners_mm().reshape(-1, 2)
        field = self.definition.chessboard
        if field:
            corners = np.r_[corners, [[0.0, 0.0], np.array(field.squares) * field.square_mm]]
        (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
        return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], float)

    def outline_px(self) -> Floats:
        """The same rectangle in the photo (4, 2)."""
        return mapped(self.to_px, self.outline_mm())


@dataclass(frozen=True, slots=True)
class BoardSearch:
    """Result of a search.

    Attributes:
        boards: Boards to measure with.
        refusals: Why there are none.
        recognised: Boards that are in the picture, also where something about them forbids measuring.
    """

    boards: tuple[FoundBoard, ...]
    refusals: tuple[Refusal, ...]
    recognised: tuple[FoundBoard, ...] = ()


def find_boards(
    grey: Grey, definitions: Sequence[BoardDefinition] = (), places: Sequence[Box] = ()
) -> BoardSearch:
    """Find every known board in a photo.

    Args:
        grey: (h, w) upright full-size photo.
        definitions: Boards to look for; the built-in standing boards of all sizes and numbers when empty.
        places: Where boards are presumed to lie. They are searched first, and the whole photo only where they do not show
            a board clearly.

    Returns:
        The boards found, largest in the picture first, or the reasons why there are none. A marker that is there twice,
        mirrored or out of its place on the board is a reason to refuse, even where the others would do.
    """
    names = sorted({d.dictionary for d in definitions}) or ["DICT_5X5_1000"]
    best: list[GrownBoard] = []
    for seen_in, soft in pictures(grey, places):
        hits: list[GrownBoard] = []
        read: list[Quad] = []
        for name in names:
            quads = [quad for view in seen_in for quad in view.quads(name)]
            hits += _hits(grey, quads, name, [d for d in definitions if d.dictionary == name], soft=soft)
            read += [q for q in quads if q.id is not None]
        if hits:
            refusals = _contradictions(grey, hits, read)
            if refusals:
                return BoardSearch((), refusals, tuple(map(_found, hits)))
        best = _fuller(best, hits)
        if best and all(hit.seen.mean() >= ENOUGH_SEEN for hit in best):
            break
    if not best:
        return BoardSearch((), (why_no_board(grey, definitions),))
    found = tuple(sorted((_found(hit) for hit in best), key=lambda b: -b.marker_side_px))
    return BoardSearch(found, (), found)


def _fuller(first: list[GrownBoard], second: list[GrownBoard]) -> list[GrownBoard]:
    """Each board once, in the state that shows more of it."""
    kept = {hit.definition.ids: hit for hit in first}
    for hit in second:
        if hit.definition.ids not in kept or hit.seen.sum() > kept[hit.definition.ids].seen.sum():
            kept[hit.definition.ids] = hit
    return list(kept.values())


def _hits(
    grey: Grey, quads: list[Quad], dictionary: str, definitions: list[BoardDefinition], *, soft: bool
) -> list[GrownBoard]:
    """Boards that the quadrilaterals lead to, each once."""
    hits = []
    for sizes in _families(quads, definitions):
        ids = set(sizes[0].ids)
        marks = [q for q in quads if q.id in ids]
        if len(marks) == 1 and not sure_ones(grey, marks, dictionary):
            continue
        grown = grow(grey, sizes, marks, least_seen=2 if sizes[0].chessboard else 1)
        if grown is not None and not _of_another(grey, grown, quads):
            hits.append(grown)
    if hits or not soft:
        return hits
    wanted = sorted({i for d in definitions for i in d.ids} or range(17 * STANDING_NUMBERS))
    for guess in read_softly(grey, quads, dictionary, wanted)[:GUESSES_TRIED]:
        for sizes in _families([guess], definitions):
            grown = grow(grey, sizes, [guess], least_seen=3)
            if grown is not None and grown.seen.mean() >= 0.4:
                return [grown]
    return hits


def _of_another(grey: Grey, hit: GrownBoard, quads: list[Quad]) -> bool:
    """Whether most markers that can be read on a presumed board are not its own: all boards share one checkered field."""
    own = hit.definition.ids
    outline = mapped(hit.to_px, hit.definition.corners_mm().reshape(-1, 2)).astype(np.float32)
    hull = cv2.convexHull(outline)
    on_it = [
        q
        for q in quads
        if q.id is not None and cv2.pointPolygonTest(hull, [float(v) for v in q.px.mean(axis=0)], False) > 0
    ]
    sure = sure_ones(grey, on_it, hit.definition.dictionary)
    return 2 * sum(q.id in own for q in sure) < len(sure)


def _families(quads: list[Quad], definitions: list[BoardDefinition]) -> list[tuple[BoardDefinition, ...]]:
    """Boards that may be meant by the ids read; boards with the same ids in other sizes stand together."""
    read = [q.id for q in quads if q.id is not None]
    if definitions:
        groups: dict[tuple[int, ...], list[BoardDefinition]] = {}
        for definition in definitions:
            if set(definition.ids) & set(read):
                groups.setdefault(definition.ids, []).append(definition)
        return [tuple(group) for group in groups.values()]
    numbers = sorted({n for i in read if (n := standing_number_of((i,))) is not None})
    return [tuple(standing_board(paper, n) for paper in PAPERS) for n in numbers]


def _contradictions(grey: Grey, hits: list[GrownBoard], read: list[Quad]) -> tuple[Refusal, ...]:
    """Markers that can't be where they are if the board is one flat thing."""
    refusals = []
    for hit in hits:
        ids = hit.definition.ids
        corners = mapped(hit.to_px, hit.definition.corners_mm().reshape(-1, 2)).reshape(-1, 4, 2)
        side = np.linalg.norm(corners[:, 1] - corners[:, 0], axis=1)
        others = [other for other in hits if other.definition.ids != ids]
        for quad in sure_ones(grey, [q for q in read if q.id in ids], hit.definition.dictionary):
            if any(_is_its_own(other, quad) for other in others):
                continue
            k = ids.index(quad.id)
            away = float(np.abs(quad.px - corners[k]).max())
            if away < max(0.2 * side[k], 3.0) or not 0.4 < quad.side_px / side[k] < 2.5:
                continue
            refusals.append(board_twice(ids[k]) if hit.seen[k] else _out_of_place(ids[k]))
        refusals += [
            _mirrored(ids[k]) for k in np.flatnonzero(~hit.seen) if _looks_mirrored(grey, hit, int(k))
        ]
    return tuple({r.say: r for r in refusals}.values())


def _is_its_own(hit: GrownBoard, quad: Quad) -> bool:
    """Whether a marker that was read stands where a board has it."""
    if quad.id not in hit.definition.ids:
        return False
    corners = mapped(hit.to_px, hit.definition.corners_mm()[hit.definition.ids.index(quad.id)])
    return float(np.abs(quad.px - corners).max()) < max(0.2 * quad.side_px, 3.0)


def _looks_mirrored(grey: Grey, hit: GrownBoard, k: int) -> bool:
    pattern = pattern_of(hit.definition.dictionary, hit.definition.ids[k])
    flipped = np.array([np.rot90(np.fliplr(pattern), turn) for turn in range(4)])
    corners = np.array([hit.definition.corners_mm()[k]] * len(flipped))
    return bool(marker_matches(grey, hit.to_px, flipped, corners).max() > 0.85)


def _out_of_place(marker_id: int) -> Refusal:
    return Refusal(
        "marker-out-of-plane",
        f"Marker {marker_id} is not where the board definition puts it: the board is bent, cut or another one. Use a flat board and its own definition.",
    )


def _mirrored(marker_id: int) -> Refusal:
    return Refusal(
        "marker-mirrored",
        f"Marker {marker_id} is mirrored. Use a board printed the right way round and a photo that is not flipped.",
    )


def _found(hit: GrownBoard) -> FoundBoard:
    definition = hit.definition
    number = standing_number_of(definition.ids)
    standing = number is not None and any(definition == standing_board(paper, number) for paper in PAPERS)
    return FoundBoard(
        definition=definition,
        number=number if standing else definition.number,
        points_mm=hit.points_mm,
        points_px=hit.points_px,
        marker_ids=tuple(definition.ids[k] for k in hit.outlined),
        outer_mm=definition.corners_mm()[hit.outlined],
        outer_px=hit.outer_px,
        to_px=hit.to_px,
        seen_ids=tuple(definition.ids[k] for k in np.flatnonzero(hit.seen)),
        seen_share=float(hit.seen.mean()),
        blur_px=hit.blur_px,
    )
