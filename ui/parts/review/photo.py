"""One photo: choosing it, looking at it three ways, measuring in it, and what its file says."""

from __future__ import annotations

import re
from pathlib import Path

import streamlit as st

from ui import words
from ui.parts import lengths, linked, plain
from ui.parts.figures import photo_verdict
from ui.parts.pictures import Kind, picture_of
from ui.parts.pour import Open, moment
from ui.parts.review import review
from ui.parts.review.findings import verdict_of
from ui.parts.review.two_points import Points, one_point, two_points
from verifier.pipeline.decision.check import Check
from verifier.pipeline.measurement.distances import DistanceFound, distances_in
from verifier.pipeline.measurement.measuring import Settings
from verifier.pipeline.measurement.photos import PhotoEntry
from verifier.pipeline.measurement.settings import settings_of
from verifier.pipeline.review.said import About
from verifier.report.figures import Verdict
from verifier.vision.distance import Plane

PHOTO = "photo"
SHORT = 16
"""Letters of a hash that stand in the URL; enough to tell any photos of a pour apart."""

STATE_SHAPE: dict[str, Verdict] = {"refused": "inconclusive", "damaged": "non_conforming"}


def choose(check: Check) -> PhotoEntry:
    """Ask which photo to look at; the URL keeps it.

    Args:
        check: The check; it has at least one photo.

    Returns:
        The photo.
    """
    by_key = {p.original.sha256[:SHORT]: p for p in check.photos}
    keys = tuple(by_key)
    linked.start(PHOTO, keys, keys[0])
    now = keys.index(st.session_state[PHOTO])
    with st.container(horizontal=True, vertical_alignment="bottom", gap="small", wrap=False):
        st.button(
            "‹",
            help=words.PHOTOS_BACK,
            disabled=now == 0,
            on_click=_go,
            args=(keys, now - 1),
            key="photo-before",
            width=56,
            shortcut="Alt+Left",
        )
        st.selectbox(words.PHOTOS_PICK, keys, format_func=lambda k: _title(by_key[k]), key=PHOTO)
        st.button(
            "›",
            help=words.PHOTOS_ON,
            disabled=now == len(keys) - 1,
            on_click=_go,
            args=(keys, now + 1),
            key="photo-next",
            width=56,
            shortcut="Alt+Right",
        )
    return by_key[linked.keep(PHOTO, st.session_state[PHOTO], keys[0])]


def _go(keys: tuple[str, ...], number: int) -> None:
    if 0 <= number < len(keys):
        st.session_state[PHOTO] = keys[number]


def _title(entry: PhotoEntry) -> str:
    return f"{plain.shown(entry.original.name)} - {words.PHOTO_STATE[entry.state]}"


def picture(at: Open, entry: PhotoEntry) -> None:
    """Show the photo in one of three ways, or measure in it.

    Args:
        at: The pour.
        entry: The photo.
    """
    way = linked.choice(words.PHOTOS_WAY, words.PHOTOS_WAYS, key="way", default="measured")
    if way == "points":
        _measure(at, entry)
        return
    if way == "remarks":
        _remark(at, entry)
        return
    kind: Kind = "above" if way == "above" else "taken" if way == "taken" else "measured"
    data = picture_of(entry, kind)
    if data is None:
        plain.notice(
            "missing", words.PHOTOS_NO_PICTURE, "; ".join(words.said(r.say) for r in entry.seen.refusals)
        )
        return
    st.image(data, width="stretch", alt=f"{words.PHOTOS_WAYS[kind]}: {plain.shown(entry.original.name)}")


def _measure(at: Open, entry: PhotoEntry) -> None:
    """Two points, a plane, a distance."""
    data = picture_of(entry, "taken")
    if data is None:
        plain.notice(
            "missing", words.PHOTOS_NO_PICTURE, "; ".join(words.said(r.say) for r in entry.seen.refusals)
        )
        return
    plain.paragraph(words.POINTS_HOW)
    plane = linked.choice(words.POINTS_PLANE, words.POINTS_PLANES, key="plane", default="upper")
    size = entry.seen.photo.width_px, entry.seen.photo.height_px
    points = two_points(
        data, size, alt=plain.shown(entry.original.name), key=f"points-{entry.original.sha256[:SHORT]}"
    )
    if points is None:
        plain.paragraph(words.POINTS_NONE, quiet=True)
        return
    settings = settings_of(at.folder)
    with st.spinner(words.POINTS_WORKING):
        found = _distance(str(entry.original.path), points, plane, settings.mark, settings)
    a, b = points
    where = (
        f"({a[0]:.0f}, {a[1]:.0f}) - ({b[0]:.0f}, {b[1]:.0f}) px, {words.within(words.POINTS_PLANES[plane])}"
    )
    if found.distance_mm is None or found.expanded_uncertainty_mm is None:
        plain.notice(
            "inconclusive", words.POINTS_REFUSED, " ".join(words.said(r.say) for r in found.refusals), where
        )
    else:
        units = at.check.pour.pour.units
        value = lengths.length(found.distance_mm, found.expanded_uncertainty_mm, units)
        plain.notice(None, value, words.POINTS_SAYS, where)
        if found.caution is not None:
            plain.paragraph(words.said(found.caution), quiet=True)
        review.own_measurement(at, entry, points, plane)


def _remark(at: Open, entry: PhotoEntry) -> None:
    """One point, and what is to be said about it."""
    data = picture_of(entry, "taken")
    if data is None:
        plain.notice(
            "missing", words.PHOTOS_NO_PICTURE, "; ".join(words.said(r.say) for r in entry.seen.refusals)
        )
        return
    plain.paragraph(words.REMARK_HOW)
    size = entry.seen.photo.width_px, entry.seen.photo.height_px
    point = one_point(
        data,
        size,
        alt=plain.shown(entry.original.name),
        key=f"place-{entry.original.sha256[:SHORT]}",
        notes=review.places(at.check.review.on(entry.original.sha256)),
    )
    placed = entry.original.placement
    about = About(
        original_sha256=entry.original.sha256 if entry.original.in_record else None,
        point_px=point,
        element=placed.element if placed.element in at.check.pour.marks else None,
        spot=placed.spot,
    )
    review.form(at, about, key=f"photo-{entry.original.sha256[:SHORT]}")


@st.cache_data(show_spinner=False, max_entries=500)
def _distance(path: str, points: Points, plane: str, mark: str, _settings: Settings) -> DistanceFound:
    del mark  # part of the key: another print scale is another distance
    (x1, y1), (x2, y2) = points
    where: Plane = "board" if plane == "board" else "lower" if plane == "lower" else "upper"
    return distances_in(Path(path), [(x1, y1, x2, y2)], _settings, plane=where)[0]


def facts(at: Open, entry: PhotoEntry) -> None:
    """Say what became of the photo, what was found in it, what people said of it, and what its file says.

    Args:
        at: The pour.
        entry: The photo.
    """
    check = at.check
    verdict = STATE_SHAPE.get(entry.state) or photo_verdict(check, entry)
    plain.verdict_line(verdict, words.PHOTO_STATE[entry.state], entry.original.name)
    if entry.state == "superseded":
        plain.paragraph(words.PHOTOS_SUPERSEDED)
    for refusal in entry.seen.refusals:
        plain.paragraph(words.said(refusal.say), strong=True)
    plain.points(words.said(text) for text in (*entry.remarks, *entry.seen.cautions))
    review.told(at, check.review.on(entry.original.sha256), key=f"said-{entry.original.sha256[:SHORT]}")
    _place_and_file(check, entry)
    found = [
        f
        for f in check.findings
        if any(j.measurement.trace.original_sha256 == entry.original.sha256 for j in f.judged)
    ]
    if found:
        st.subheader(words.PHOTOS_FINDINGS)
    for finding in found:
        if finding.verdict != "conforming" or finding.requirement.rule in ("single-gap", "mean-spacing"):
            verdict, said = verdict_of(finding)
            plain.verdict_line(
                verdict,
                said,
                f"{words.said(finding.place)}: {words.within(words.RULE.get(finding.requirement.rule, ''))}",
            )
    _observations(entry)


def _place_and_file(check: Check, entry: PhotoEntry) -> None:
    original, seen = entry.original, entry.seen
    rows = []
    if original.placement.element is not None:
        basis = words.BASIS[original.placement.basis]
        rows.append(
            (
                words.PLACE_SAID,
                f"{original.placement.element}, {words.within(words.SPOT)} {original.placement.spot or '-'} ({basis})",
            )
        )
    for name, layer in zip(entry.layers, seen.layers, strict=False):
        if layer.mean_spacing_mm is not None:
            u = layer.mean_spacing_expanded_uncertainty_mm or 0.0
            said = words.MEAN_OF.format(
                value=lengths.length(layer.mean_spacing_mm, u, check.pour.pour.units), gaps=len(layer.gaps)
            )
            rows.append((name or words.LAYER_UNNAMED, said))
    if seen.board is not None:
        rows.append(
            (
                words.BOARD,
                words.BOARD_SAYS.format(
                    number=seen.board.number or "-", tilt=seen.board.tilt_deg, size=seen.board.mm_per_px
                ),
            )
        )
    if entry.taken_at is not None:
        rows.append((words.TAKEN, entry.taken_at.replace("T", " ")))
    if original.received_at is not None:
        who = f", {original.person}" if original.person else ""
        rows.append((words.RECEIVED, f"{moment(original.received_at, check.pour)}{who}"))
    rows.append((words.PHOTOS_FINGERPRINT, original.sha256))
    rows.append((words.CHAIN_METHOD, f"{seen.method.name} {seen.method.version}"))
    plain.pairs(rows)


def _observations(entry: PhotoEntry) -> None:
    observations = entry.intake.observations if entry.intake is not None else ()
    if not observations:
        return
    st.subheader(words.OBSERVED)
    plain.paragraph(words.OBSERVED_SAYS, quiet=True)
    for o in observations:
        limit = f", {words.LIMIT} {_figure(o.limit)} {words.said(o.unit)}" if o.limit is not None else ""
        said_already = _figure(o.value) in re.findall(r"[\w.-]*\w", o.says)
        found = "" if said_already else f"{_figure(o.value)} {words.said(o.unit)}{limit}. "
        shape: Verdict = "inconclusive" if o.weight == "warning" else "missing"
        plain.verdict_line(
            shape,
            f"{found}{words.said(o.todo)} ({words.said(o.source)})",
            words.said(o.says),
        )


def _figure(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:g}"
