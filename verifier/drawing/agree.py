"""Values of a pour that must fit each other. Each function returns faults; none changes a value."""

from __future__ import annotations

import difflib
from collections import Counter
from collections.abc import Mapping, Sequence

from verifier.codes.code import Code
from verifier.codes.grades import concrete_names, concrete_strength_mpa, steel_grade
from verifier.codes.load import known_codes, load_code
from verifier.drawing.bars import CountedBars
from verifier.drawing.fault import Fault
from verifier.drawing.geometry import area_m2, boxes_overlap, crossing_edges, holds_box
from verifier.drawing.pour import Beam, Heading, Layer, People, Site, Slab, Spot
from verifier.errors import BadInput


def faults_of_pour(
    head: Heading | None,
    code: Code | None,
    slabs: Sequence[Slab],
    beams: Sequence[Beam],
    spots: Sequence[Spot],
    people: People | None,
    *,
    complete: bool,
) -> list[Fault]:
    """Check the parts of a pour against each other and against its code.

    Args:
        head: The table ``[pour]``, None if it could not be read.
        code: The pour's code, None where it is not known; then nothing of the code is checked.
        slabs: The slabs that could be read.
        beams: The beams that could be read.
        spots: The spots that could be read.
        people: The table ``[people]``, None if it could not be read.
        complete: Whether every part could be read; else nothing is said about what seems to be missing. Spots are
            checked last, against elements that are sound.

    Returns:
        All faults.
    """
    faults = [] if head is None else _heading(head)
    for slab in slabs:
        faults += faults_of_slab(slab, code)
    for beam in beams:
        faults += faults_of_beam(beam, code)
    if complete and not slabs and not beams:
        faults.append(Fault("slab", None, "is missing", "at least one [[slab]] or [[beam]]"))
    marks = [slab.mark for slab in slabs] + [beam.mark for beam in beams]
    for mark, times in Counter(marks).items():
        if times > 1:
            faults.append(
                Fault("mark", mark, f"is given {times} times", "one mark for each element of the pour")
            )
    if complete and not faults:
        faults += _spots(spots, slabs, beams)
    if people is not None:
        faults += _people(people)
    return faults


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
    for face, cover in (
        ("bottom", slab.cover_mm.bottom),
        ("top", slab.cover_mm.top),
        ("side", slab.cover_mm.side),
    ):
        if cover is not None and cover >= slab.thickness_mm:
            allowed = f"less than the thickness, {slab.thickness_mm:g} mm"
            faults.append(
                Fault(f"{key}.cover_mm.{face}", cover, "is as large as the slab or larger", allowed)
            )
    if not any(".cover_mm." in fault.key for fault in faults):
        faults += _stack(slab, key)
    if not shape:
        faults += _layers(slab, key)
    return faults + _by_code(key, slab.exposure, slab.steel.grade, code)


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
    return faults + _by_code(key, beam.exposure, None if beam.steel is None else beam.steel.grade, code)


def faults_of_code(head: Mapping[str, object]) -> tuple[Code | None, list[Fault]]:
    """Find the pour's code, and check what depends on it in the heading, whatever else of the heading is at fault.

    Args:
        head: The raw table ``[pour]``.

    Returns:
        The code where it is known, and faults of code, exposure and concrete grade.
    """
    title, exposure, concrete = head.get("code"), head.get("exposure"), head.get("concrete")
    if not isinstance(title, str):
        return None, []
    titles = known_codes()
    if title not in titles:
        near = difflib.get_close_matches(title, titles, n=1, cutoff=0.0)[0]
        allowed = f'{", ".join(titles)}; nearest is "{near}"'
        return None, [Fault("pour.code", title, "is no code with values here", allowed)]
    code = load_code(title, units="inch" if head.get("units") == "inch" else "mm")
    faults = _exposure("pour.exposure", exposure, code) if isinstance(exposure, str) else []
    grade = concrete.get("grade") if isinstance(concrete, dict) else None
    if isinstance(grade, str):
        try:
            concrete_strength_mpa(grade, code.concrete)
        except BadInput:
            wrong = f"is no concrete grade of {title}"
            faults.append(Fault("pour.concrete.grade", grade, wrong, concrete_names(code.concrete)))
    return code, faults


def _heading(head: Heading) -> list[Fault]:
    faults = [] if head.site is None else _site(head.site)
    slump = head.concrete.slump_mm
    if slump is not None and slump[0] > slump[1]:
        allowed = "least slump first, then the largest"
        faults.append(Fault("pour.concrete.slump_mm", list(slump), "runs backwards", allowed))
    return faults


def _site(site: Site) -> list[Fault]:
    centre = {"latitude": site.latitude, "longitude": site.longitude, "fence_radius_m": site.fence_radius_m}
    given = [name for name, value in centre.items() if value is not None]
    both = "latitude, longitude and fence_radius_m, or fence = [[lat, lon], ...]"
    if site.fence is None:
        return [Fault(f"pour.site.{name}", None, "is missing", both) for name in centre if name not in given]
    if given:
        return [Fault("pour.site", given, "is given beside a fence", f"one of the two: {both}")]
    crossed = crossing_edges(site.fence)
    if crossed:
        wrong = f"crosses itself: its sides {crossed[0]} and {crossed[1]} meet"
        return [
            Fault("pour.site.fence", None, wrong, "corners in the order in which one walks round the site")
        ]
    return []


def _exposure(key: str, exposure: str, code: Code) -> list[Fault]:
    known = code.code.exposures
    if exposure in known:
        return []
    near = difflib.get_close_matches(exposure, known, n=1, cutoff=0.0)[0]
    wrong = f"is no exposure of {code.code.title}"
    return [Fault(key, exposure, wrong, f'{", ".join(known)}; nearest is "{near}"')]


def _by_code(key: str, exposure: str | None, grade: str | None, code: Code | None) -> list[Fault]:
    if code is None:
        return []
    faults = [] if exposure is None else _exposure(f"{key}.exposure", exposure, code)
    if grade is not None:
        try:
            steel_grade(grade, code.steel)
        except BadInput as error:
            faults.append(
                Fault(
                    f"{key}.steel.grade",
                    grade,
                    f"is no steel grade of {code.code.title}",
                    error.todo.rstrip("."),
                )
            )
    return faults


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
        faults.append(Fault(f"{at}.callout", bars.text, wrong, f"at most {most} bars at this spacing"))
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
    for mat in ("B", "T"):
        runs = {layer.layer: slab.runs_along(layer) for layer in slab.layers if layer.layer.startswith(mat)}
        if len(runs) == 2 and len(set(runs.values())) == 1:
            along = next(iter(runs.values()))
            wrong = f"is the same for {mat}1 and {mat}2"
            faults.append(
                Fault(f"{key}.layers.along", along, wrong, "x for one layer of a mat and y for the other")
            )
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


def _spots(spots: Sequence[Spot], slabs: Sequence[Slab], beams: Sequence[Beam]) -> list[Fault]:
    faults: list[Fault] = []
    elements: dict[str, Slab | Beam] = {slab.mark: slab for slab in slabs}
    elements |= {beam.mark: beam for beam in beams}
    seen: set[tuple[str, str]] = set()
    for number, spot in enumerate(spots, 1):
        at = f"spot[{number}]"
        element = elements.get(spot.element)
        if element is None:
            faults.append(
                Fault(f"{at}.element", spot.element, "is no mark of this pour", ", ".join(elements))
            )
            continue
        if (spot.element, spot.spot) in seen:
            faults.append(
                Fault(f"{at}.spot", spot.spot, f"is named twice on {spot.element}", "one name a spot")
            )
        seen.add((spot.element, spot.spot))
        if isinstance(element, Slab):
            known = [layer.layer for layer in element.layers]
            unknown = [layer for layer in spot.layers if layer not in known]
            if unknown:
                faults.append(
                    Fault(f"{at}.layers", unknown, f"are not layers of {spot.element}", ", ".join(known))
                )
            if spot.at_m is not None and not holds_box(element.outline, (*spot.at_m, 0.0, 0.0)):
                faults.append(
                    Fault(f"{at}.at_m", list(spot.at_m), "is not on the slab", "a point inside its outline")
                )
    return faults


def _people(people: People) -> list[Fault]:
    faults = []
    for role, names in people.model_dump().items():
        for name, times in Counter[str](names).items():
            if times > 1:
                faults.append(
                    Fault(f"people.{role}", name, f"is named {times} times", "each person once a role")
                )
    return faults
