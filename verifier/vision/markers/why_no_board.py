"""Why a photo shows no usable board, said so that the person on the deck knows what to do."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np

from verifier.board.definition import BoardDefinition
from verifier.board.standing import standing_number_of
from verifier.errors import Refusal
from verifier.vision.markers.corners import Grey
from verifier.vision.markers.marker_quads import Quad, find_quads, sure_ones

OTHER_DICTIONARIES = (
    "DICT_5X5_1000",
    "DICT_4X4_1000",
    "DICT_6X6_1000",
    "DICT_7X7_1000",
    "DICT_APRILTAG_36h11",
    "DICT_APRILTAG_25h9",
    "DICT_ARUCO_ORIGINAL",
)
"""Dictionaries in common use; each larger one contains the smaller ones of its kind."""

MANY_BOARDS = 4
"""More boards than this are not named one by one."""

MANY_MARKERS = 5
"""With so many of its markers read, a board that is not found is not the board that is meant."""


def why_no_board(grey: Grey, definitions: Sequence[BoardDefinition]) -> Refusal:
    """Name the likeliest reason why no known board was found.

    Args:
        grey: (h, w) full-size photo.
        definitions: Boards that were looked for; empty for the built-in ones.

    Returns:
        One refusal.
    """
    scale = min(1.0, 2400 / max(grey.shape))
    small = (
        grey
        if scale == 1.0
        else cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA).astype(
            np.uint8, copy=False
        )
    )
    expected = {d.dictionary for d in definitions} or {"DICT_5X5_1000"}
    # With many boards looked for, nearly every id is wanted: that one was read says nothing then.
    wanted = {i for d in definitions for i in d.ids} if len(definitions) <= MANY_BOARDS else set()
    for name in sorted(expected):
        flipped = _sure_ids(small, cv2.flip(small, 1).astype(np.uint8, copy=False), name, wanted)
        if len(flipped) > len(_sure_ids(small, small, name, set())):
            return Refusal(
                "marker-mirrored",
                "The board is mirrored in this photo. Send the photo as the camera took it, not flipped.",
            )
    for name in sorted(expected):
        twice = _ids_apart(small, name, wanted)
        if len(twice) >= 2:  # one may be a reflection or a scrap; two mean a second board
            return board_twice(twice[0])
    strange = [i for name in sorted(expected) for i in _sure_ids(small, small, name, set())]
    for name in (n for n in OTHER_DICTIONARIES if n not in expected and len(strange) < MANY_MARKERS):
        ids = _sure_ids(small, small, name, set())
        # One stray pattern may read as a marker of a small dictionary: the dictionary that reads more is the one.
        if len(ids) >= 2 and len(ids) > len(strange):
            return Refusal(
                "unknown-dictionary",
                f"The photo shows markers of the dictionary {name} (ids {_listed(ids)}), which is not that of the board looked for ({', '.join(sorted(expected))}). Give the definition of that board, or use one of ours.",
            )
    if strange:
        return _other_board(strange, definitions)
    return Refusal(
        "no-board",
        "No scale board was found. Lay the board flat on the upper bars, whole in the picture and in even light, and step closer.",
    )


def board_twice(marker_id: int) -> Refusal:
    """Refuse a photo with two boards of the same number.

    Args:
        marker_id: A marker that was seen in two places.

    Returns:
        The refusal.
    """
    return Refusal(
        "marker-twice",
        f"Marker {marker_id} is in the photo twice, so it is not clear which one is the board. Leave only one board with this number in view and take the photo again.",
    )


def _ids_apart(picture: Grey, dictionary: str, wanted: set[int]) -> list[int]:
    """Ids that are read without doubt in two places, so far apart that they can't be one marker."""
    places: dict[int, list[Quad]] = {}
    for quad in sure_ones(picture, find_quads(picture, 1.0, dictionary), dictionary):
        if quad.id is not None and (not wanted or quad.id in wanted):
            places.setdefault(quad.id, []).append(quad)
    return sorted(
        marker_id
        for marker_id, quads in places.items()
        if any(
            np.linalg.norm(quad.px.mean(axis=0) - quads[0].px.mean(axis=0)) > 1.5 * quads[0].side_px
            for quad in quads[1:]
        )
    )


def _other_board(ids: list[int], definitions: Sequence[BoardDefinition]) -> Refusal:
    number = standing_number_of(tuple(ids))
    seen = f"standing board {number}" if number is not None else f"markers {_listed(ids)}"
    several = len(definitions) > MANY_BOARDS
    meant = "one of the boards of this pour" if several else ", ".join(d.name for d in definitions)
    meant = meant or "one of the built-in boards"
    wanted = {i for d in definitions for i in d.ids}
    known = [i for i in ids if i in wanted] if definitions else ids
    if not known:
        return Refusal(
            "wrong-board",
            f"The photo shows {seen}, the board looked for is {meant}. Use that board, or give the number of the one that is in the photo.",
        )
    if len(known) >= MANY_MARKERS:
        return Refusal(
            "markers-do-not-fit",
            f"Markers {_listed(known)} can be read, but they do not lie as on {meant}. It may be another board, one issued for another pour, say: use one of this pour, flat and in one piece, and check its definition.",
        )
    return Refusal(
        "board-partly-hidden",
        f"Only a few markers of the board can be read ({_listed(known)}). Clear the board, keep it whole in the picture and out of half shade, and step closer.",
    )


def _sure_ids(original: Grey, picture: Grey, dictionary: str, wanted: set[int]) -> list[int]:
    """Ids read without doubt in a picture; in a flipped one only if they are not there unflipped too."""
    sure = sure_ones(picture, find_quads(picture, 1.0, dictionary), dictionary)
    ids = {q.id for q in sure if q.id is not None and (not wanted or q.id in wanted)}
    if picture is not original and len(ids) < 2 and not (wanted and ids):
        return []
    return sorted(ids)


def _listed(ids: list[int]) -> str:
    return ", ".join(map(str, ids[:6])) + (", ..." if len(ids) > 6 else "")
