"""Whether a slab or a beam can be built as drawn: covers, layers and bars within the concrete."""

from __future__ import annotations

from collections.abc import Mapping

from verifier.codes.code import Code
from verifier.drawing.bars import CountedBars
from verifier.drawing.by_code import faults_by_code
from verifier.drawing.elements import Beam, Layer, Slab, crosses
from verifier.drawing.fault import Fault
from verifier.drawing.geometry import area_m2, boxes_overlap, crossing_edges, holds_box
from verifier.wording import counted


def faults_of_slab(slab: Slab, code: Code | None) -> list[Fault]:
    """Check one slab.

    Args:
        slab: The slab.
        code: The pour's code, None where it is not known; then nothing of the code is checked.

    Returns:
        All faults.
    """
    key = f'slab "{slab.mark}"'
    shape = _shape(slab, key)
    faults = list(shape)
    covers = {"bottom": slab.cover_mm.bottom, "top": slab.cover_mm.top, "side": slab.cover_mm.side}
    faults += faults_of_cover(key, slab.thickness_mm, covers)
    if not any(".cover_mm." in fault.key for fault in faults):
        faults += _stack(slab, key)
    if not shape:
        faults += _layers(slab, key)
    return faults + faults_by_code(key, slab.exposure, slab.steel.grade, code)


def faults_of_cover(key: str, thickness_mm: object, covers_mm: Mapping[str, object]) -> list[Fault]:
    """Check each cover of a slab against its thickness, also where other values of the slab can't be read.

    Args:
        key: Where the slab stands.
        thickness_mm: Thickness as found; nothing is checked unless it is a number. [mm]
        covers_mm: Covers by face as found. [mm]

    Returns:
        A fault for each cover that is as large as the slab.
    """
    if not isinstance(thickness_mm, int | float):
        return []
    return [
        Fault(
            f"{key}.cover_mm.{face}",
            cover,
            "is as large as the slab or larger",
            f"less than the thickness, {thickness_mm:g} mm",
        )
        for face, cover in covers_mm.items()
        if isinstance(cover, int | float) and cover >= thickness_mm > 0
    ]


def faults_of_beam(beam: Beam, code: Code | None) -> list[Fault]:
    """Check one beam.

    Args:
        beam: The beam.
        code: The pour's code, None where it is not known.

    Returns:
        All faults.
    """
    key = f'beam "{beam.mark}"'
    faults: list[Fault] = []
    cover = beam.cover_mm
    if cover.bottom + cover.top + 2 * beam.link_mm + beam.bottom.largest_mm >= beam.depth_mm:
        allowed = f"cover, links and bars within the depth, {beam.depth_mm:g} mm"
        faults.append(
            Fault(f"{key}.cover_mm", cover.bottom + cover.top, "leaves no room in the depth", allowed)
        )
    if beam.room_for_bars_mm <= 0:
        allowed = f"covers and links within the width, {beam.width_mm:g} mm"
        faults.append(
            Fault(f"{key}.cover_mm.side", beam.side_cover_mm, "leaves no room in the width", allowed)
        )
    else:
        faults += _row(beam, f"{key}.bottom", beam.bottom, beam.bottom_rows)
        if beam.top is not None:
            faults += _row(beam, f"{key}.top", beam.top, beam.top_rows)
    if beam.slab_thickness_mm is not None and beam.slab_thickness_mm >= beam.depth_mm:
        allowed = f"less than the depth of the beam, {beam.depth_mm:g} mm"
        faults.append(Fault(f"{key}.slab_thickness_mm", beam.slab_thickness_mm, "is too large", allowed))
    if beam.stirrups is not None and beam.stirrups.layer is not None:
        faults.append(
            Fault(f"{key}.stirrups", beam.stirrups.text, "names a layer", "links without a layer name")
        )
    return faults + faults_by_code(key, beam.exposure, None if beam.steel is None else beam.steel.grade, code)


def _shape(slab: Slab, key: str) -> list[Fault]:
    if (slab.size_m is None) == (slab.outline_m is None):
        found = "is missing" if slab.size_m is None else "is given beside outline_m"
        return [
            Fault(
                f"{key}.size_m",
                slab.size_m,
                found,
                "size_m = [x, y] or outline_m = [[x, y], ...], one of the two",
            )
        ]
    if crossed := crossing_edges(slab.outline):
        wrong = f"crosses itself: its edges {crossed[0]} and {crossed[1]} meet"
        return [
            Fault(f"{key}.outline_m", None, wrong, "corners in the order in which one walks round the slab")
        ]
    if area_m2(slab.outline) <= 0:
        return [
            Fault(
                f"{key}.outline_m",
                None,
                "encloses no area",
                "at least three corners that are not on one line",
            )
        ]
    faults = []
    for number, box in enumerate(slab.openings, 1):
        if not holds_box(slab.outline, box):
            w, h = slab.extent_m
            allowed = f"[x, y, width, height] inside the outline, which is {w:g} x {h:g} m at its widest"
            faults.append(Fault(f"{key}.openings_m[{number}]", list(box), "is not inside the slab", allowed))
        for earlier, other in enumerate(slab.openings[: number - 1], 1):
            if boxes_overlap(box, other):
                allowed = "openings that share no area"
                faults.append(
                    Fault(f"{key}.openings_m[{number}]", list(box), f"overlaps opening {earlier}", allowed)
                )
    if not faults and slab.net_area_m2 <= 0:
        faults.append(
            Fault(f"{key}.openings_m", None, "leave no slab", "openings smaller than the slab together")
        )
    return faults


def _layers(slab: Slab, key: str) -> list[Fault]:
    faults: list[Fault] = []
    seen: set[tuple[str, str | None]] = set()
    for number, layer in enumerate(slab.layers, 1):
        at = f"{key}.layers[{number}]"
        named = (layer.layer, layer.zone)
        bare = (layer.layer, None) in seen or (
            layer.zone is None and any(name == layer.layer for name, _ in seen)
        )
        if named in seen or bare:
            allowed = "each layer once, or once a zone with a zone name for each"
            faults.append(Fault(f"{at}.layer", layer.layer, "is named twice", allowed))
        seen.add(named)
        faults += _layer(slab, layer, at)
    return faults + _directions(slab, key)


def _layer(slab: Slab, layer: Layer, at: str) -> list[Fault]:
    bars, faults = layer.callout, []
    if bars.layer is not None and bars.layer != layer.layer:
        faults.append(
            Fault(f"{at}.callout", bars.text, f"names layer {bars.layer}", f"{layer.layer}, or no layer name")
        )
    if bars.legs is not None:
        faults.append(Fault(f"{at}.callout", bars.text, "has legs", "bars of a layer; legs belong to links"))
    side_mm = slab.cover_mm.bottom if slab.cover_mm.side is None else slab.cover_mm.side
    room_mm = slab.width_across_mm(layer) - 2 * side_mm - bars.diameter_mm
    if room_mm < bars.spacing_mm:
        allowed = f"at least two bars: a spacing up to {max(room_mm, 0):.0f} mm in this width"
        faults.append(Fault(f"{at}.callout", bars.text, "does not fit the width of the slab", allowed))
    elif bars.count is not None and (bars.count - 1) * bars.spacing_mm > room_mm + 0.5:
        most = int(room_mm // bars.spacing_mm) + 1
        wrong = f"needs {(bars.count - 1) * bars.spacing_mm:.0f} mm, and {room_mm:.0f} mm are there"
        faults.append(
            Fault(f"{at}.callout", bars.text, wrong, f"at most {counted(most, 'bar')} at this spacing")
        )
    w, h = slab.extent_m
    longest_mm = 1000 * (w if slab.runs_along(layer) == "x" else h)
    if layer.bent_up is not None and layer.layer.startswith("T"):
        faults.append(
            Fault(f"{at}.bent_up", layer.layer, "is on a top layer", "bent-up bars start in B1 or B2")
        )
    if layer.length_mm is not None and layer.length_mm > 2 * longest_mm:
        allowed = f"a length up to twice the slab along these bars, {2 * longest_mm:.0f} mm"
        faults.append(Fault(f"{at}.length_mm", layer.length_mm, "is longer than the slab can take", allowed))
    return faults


def _directions(slab: Slab, key: str) -> list[Fault]:
    faults = []
    for number, layer in enumerate(slab.layers, 1):
        for other in slab.layers[: number - 1]:
            if crosses(layer, other) and slab.runs_along(layer) == slab.runs_along(other):
                wrong = f"is that of {other.layer} too"
                allowed = "x for one layer of a mat and y for the other"
                faults.append(Fault(f"{key}.layers[{number}].along", slab.runs_along(layer), wrong, allowed))
    return faults


def _stack(slab: Slab, key: str) -> list[Fault]:
    """Covers and the thickest bars of all layers, one on the other."""
    thickest: dict[str, float] = {}
    for layer in slab.layers:
        thickest[layer.layer] = max(thickest.get(layer.layer, 0.0), layer.callout.diameter_mm)
    total = slab.cover_mm.bottom + slab.cover_mm.top + sum(thickest.values())
    if total <= slab.thickness_mm:
        return []
    wrong = f"is less than covers and layers together, {total:g} mm"
    return [
        Fault(
            f"{key}.thickness_mm",
            slab.thickness_mm,
            wrong,
            f"{total:g} or more, or less cover, or thinner bars",
        )
    ]


def _row(beam: Beam, key: str, bars: CountedBars, rows: int) -> list[Fault]:
    """The bars of the fullest row side by side, with gaps of one bar between: less than any code asks for."""
    in_row = sorted(bars.diameters_mm, reverse=True)[: -(-bars.count // rows)]
    needed = sum(in_row) + (len(in_row) - 1) * in_row[0]
    if needed <= beam.room_for_bars_mm:
        return []
    wrong = f"needs {needed:g} mm in a row, and {beam.room_for_bars_mm:g} mm are between the links"
    return [
        Fault(
            key,
            bars.text,
            wrong,
            f"fewer or thinner bars, or more rows ({key.rsplit('.', 1)[1]}_rows = {rows + 1})",
        )
    ]
