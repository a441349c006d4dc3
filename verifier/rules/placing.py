"""Which layer of the drawing a seen layer is, and which measurements of a spot still stand.

The layer is told by its position alone, never by the spacing nearest to the drawing: the one who measures doesn't know
the answer.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from pydantic import BaseModel

from verifier.metrology.measurement import Measurand, Measurement

Mat = Literal["bottom", "top"]

# Outermost first: seen from above, the outermost layer of the bottom mat lies lowest, that of the top mat highest.
OF_MAT: dict[Mat, dict[str, str]] = {
    "bottom": {"lower": "B1", "upper": "B2"},
    "top": {"upper": "T1", "lower": "T2"},
}
Place = tuple[str | None, str | None, str | None]
"""Element, layer, spot."""
SPACINGS = (Measurand.SINGLE_GAP, Measurand.MEAN_SPACING, Measurand.BAR_COUNT)


@dataclass(frozen=True, slots=True)
class SeenLayer:
    """A layer as a photo shows it: ``mat`` is only, near or far; ``position`` is upper or lower within the mat."""

    mat: str
    position: str


def trade_layers(
    seen: Sequence[SeenLayer], drawn: Collection[str], *, mat: Mat | None = None
) -> tuple[tuple[str | None, ...], tuple[str, ...]]:
    """Name the layers that a photo shows as the drawing names them, from their position.

    Args:
        seen: Layers in the order in which the photo gives them.
        drawn: Layers of this element on the drawing: B1, B2, T1, T2.
        mat: The mat the photographer says the picture shows, where only one mat is seen.

    Returns:
        A name or None for each seen layer, in the same order, and remarks for what could not be named.
    """
    mats = {layer.mat for layer in seen}
    names: list[str | None] = [None] * len(seen)
    remarks: list[str] = []
    for seen_mat in sorted(mats):
        which, why_not = _which_mat(seen_mat, drawn, mat)
        if which is None:
            remarks.append(why_not)
            continue
        here = [i for i, layer in enumerate(seen) if layer.mat == seen_mat]
        positions = [seen[i].position for i in here]
        drawn_here = sorted(name for name in OF_MAT[which].values() if name in drawn)
        if len(drawn_here) == 1 and len(here) == 1:
            names[here[0]] = drawn_here[0]
        elif len(set(positions)) < len(positions):
            remarks.append(
                f"Two layers of the {which} mat were both told as {positions[0]}: which is which stays open. Take another photo."
            )
        elif len(here) < len(drawn_here):
            remarks.append(
                f"Only one layer of the {which} mat was seen, the drawing has {' and '.join(drawn_here)}: from one layer "
                "alone its position can't be told. Take a photo that shows both."
            )
        else:
            for i in here:
                name = OF_MAT[which][seen[i].position]
                if name in drawn:
                    names[i] = name
                else:
                    remarks.append(f"A layer was seen where {name} would lie, but the drawing has no {name}.")
    return tuple(names), tuple(remarks)


def _which_mat(seen_mat: str, drawn: Collection[str], said: Mat | None) -> tuple[Mat | None, str]:
    has: dict[Mat, bool] = {m: any(name in drawn for name in OF_MAT[m].values()) for m in OF_MAT}
    if seen_mat == "near":
        return ("top", "") if has["top"] else (None, "Two mats were seen, the drawing has no top mat.")
    if seen_mat == "far":
        return (
            ("bottom", "") if has["bottom"] else (None, "Two mats were seen, the drawing has no bottom mat.")
        )
    if said is not None:
        return (
            (said, "")
            if has[said]
            else (None, f"The photo is said to show the {said} mat, which is not drawn.")
        )
    if has["bottom"] and has["top"]:
        return None, (
            "One mat was seen and the drawing has a bottom and a top mat: say which one the photo shows."
        )
    return ("bottom", "") if has["bottom"] else ("top", "")


class Superseded(BaseModel, frozen=True, extra="forbid"):
    """An older measurement of a spot that a newer one of the same spot has taken the place of; it stays visible."""

    measurement: Measurement
    by_name: str
    by_sha256: str


def _time(measurement: Measurement) -> datetime | None:
    if measurement.taken_at is None:
        return None
    moment = datetime.fromisoformat(measurement.taken_at)
    return moment if moment.tzinfo is not None else None


def still_standing(
    measurements: Sequence[Measurement], *, least_gaps: int
) -> tuple[tuple[Measurement, ...], tuple[Superseded, ...], tuple[str, ...]]:
    """Let the newest photo of a spot take the place of older ones, layer by layer.

    A newer photo that shows fewer gaps than the coverage rule counts as a spot replaces nothing: a glance at one good gap
    must not hide a wide zone. Where a photo has no time with a zone, nobody can say which is newer: all stand, and the worst one counts.
    A taped spacing older than the photo that replaced an earlier one belongs to the earlier state and goes with it.
    A reading in a later tape file takes the place of older readings of the same thing at the same place in earlier files;
    readings within one file all count, and gaps without a number can't be told to be the same.

    Args:
        measurements: All measurements, placed or not.
        least_gaps: Gaps that a photo must show of a layer before it can take the place of an older one.

    Returns:
        Those that stand, those superseded, and remarks.
    """
    newest: dict[Place, Measurement] = {}
    remarks: list[str] = []
    places = dict.fromkeys(_place(m) for m in measurements if m.by == "photo" and m.spot is not None)
    for place in places:
        photos = {m.trace.original_sha256: m for m in measurements if m.by == "photo" and _place(m) == place}
        if len(photos) == 1:
            continue
        timed = [(t, m) for m in photos.values() if (t := _time(m)) is not None]
        if len(timed) < len(photos):
            remarks.append(
                f"{_words(place)}: several photos, not all with a time and zone. Which is newest can't be told: all count."
            )
            continue
        newest_at = max(t for t, _ in timed)
        latest = next(m for t, m in timed if t == newest_at)
        if sum(t == newest_at for t, _ in timed) > 1:
            remarks.append(
                f"{_words(place)}: two photos of the same second. Which is newest can't be told: all count."
            )
            continue
        if _gaps_in(latest, measurements) < least_gaps:
            remarks.append(
                f"{_words(place)}: the newest photo {latest.trace.original_name} shows fewer than {least_gaps} gaps, "
                "so it does not replace the older ones: all count."
            )
            continue
        newest[place] = latest
    retaped = _retaped(measurements, least_gaps)
    standing: list[Measurement] = []
    gone: list[Superseded] = []
    for m in measurements:
        new = newest.get(_place(m))
        if new is None or not _older_state(m, new):
            new = retaped.get(id(m))
        if new is not None:
            gone.append(
                Superseded(
                    measurement=m, by_name=new.trace.original_name, by_sha256=new.trace.original_sha256
                )
            )
        else:
            standing.append(m)
    return tuple(standing), tuple(gone), tuple(remarks)


def _retaped(measurements: Sequence[Measurement], least_gaps: int) -> dict[int, Measurement]:
    """For each taped reading that a later file repeats: the reading that takes its place."""
    found: dict[int, Measurement] = {}
    taped = [(m, t) for m in measurements if m.by != "photo" and (t := _time(m)) is not None]
    for m, taken in taped:
        if m.measurand is Measurand.SINGLE_GAP and m.index is None:
            continue
        later = [
            (n, t)
            for n, t in taped
            if t > taken
            and n.trace.original_sha256 != m.trace.original_sha256
            and (_place(n), n.measurand, n.index) == (_place(m), m.measurand, m.index)
            and (m.measurand is not Measurand.MEAN_SPACING or (n.stretch_gaps or 0) >= least_gaps)
        ]
        if later:
            found[id(m)] = max(later, key=lambda pair: pair[1])[0]
    return found


def _gaps_in(photo: Measurement, measurements: Sequence[Measurement]) -> int:
    return sum(
        m.measurand is Measurand.SINGLE_GAP
        and m.trace.original_sha256 == photo.trace.original_sha256
        and _place(m) == _place(photo)
        for m in measurements
    )


def _older_state(m: Measurement, new: Measurement) -> bool:
    if m.by == "photo":
        return m.trace.original_sha256 != new.trace.original_sha256
    taken, replaced_at = _time(m), _time(new)
    return m.measurand in SPACINGS and taken is not None and replaced_at is not None and taken < replaced_at


def _place(m: Measurement) -> Place:
    return m.element, m.layer, m.spot


def _words(place: Place) -> str:
    element, layer, spot = place
    return f"{element} {layer}, spot {spot}"
