"""The photo that a finding rests on: in three ways, or with one of its gaps pointed at."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import lengths, linked, plain
from ui.parts.figures import label_of
from ui.parts.pictures import Kind, picture_of, pointed_at
from ui.parts.pour import Open
from verifier.pipeline.measurement.photos import PhotoEntry
from verifier.rules.finding import Finding, Judged

GAP = "gap"
"""Name in the URL of the value that is pointed at on the photo."""

WAYS = ("measured", "taken", "above")
MOST_GAPS = 60


def show(at: Open, finding: Finding) -> None:
    """Show the photo of a finding, and let each of its values be pointed at.

    Args:
        at: The pour.
        finding: The finding; if no photo bears on it, that is said.
    """
    by_photo = [(n, j) for n, j in enumerate(finding.judged, start=1) if j.measurement.by == "photo"]
    if not by_photo:
        plain.notice("missing", words.FINDINGS_NO_PHOTO, words.FINDINGS_NO_PHOTO_SAYS)
        return
    chosen = _pointed(at, by_photo)
    basis = chosen or finding.worst or by_photo[0][1]
    basis = basis if basis.measurement.by == "photo" else by_photo[0][1]
    entry = _entry(at, basis)
    if entry is None:
        plain.notice("missing", words.PHOTOS_NO_PICTURE, basis.measurement.trace.original_name)
        return
    if chosen is not None:
        data = pointed_at(entry, chosen.measurement)
    else:
        way = linked.choice(
            words.PHOTOS_WAY, {w: words.PHOTOS_WAYS[w] for w in WAYS}, key="picture", default="measured"
        )
        kind: Kind = "above" if way == "above" else "taken" if way == "taken" else "measured"
        data = picture_of(entry, kind)
    if data is None:
        plain.notice(
            "missing", words.PHOTOS_NO_PICTURE, "; ".join(words.said(r.say) for r in entry.seen.refusals)
        )
    else:
        st.image(
            data, width="stretch", alt=plain.shown(f"{words.said(finding.place)}: {entry.original.name}")
        )
    short = entry.original.sha256[:16]
    with st.container(horizontal=True, gap="small"):
        st.page_link("views/photos.py", label=words.SEE_PHOTO, query_params={"photo": short})
        measure = {"photo": short, "way": "points"}
        st.page_link("views/photos.py", label=words.MEASURE_THERE, query_params=measure)


def _pointed(at: Open, by_photo: list[tuple[int, Judged]]) -> Judged | None:
    """Which value to point at: a button each, in the order of the chart."""
    lined = {str(n): j for n, j in by_photo if j.measurement.trace.line_px}
    if not lined or len(lined) > MOST_GAPS:
        return None
    units = at.check.pour.pour.units
    said = {"": words.GAP_NONE} | {
        n: f"{label_of(j, int(n))}: {lengths.measured(j.measurement, units)}" for n, j in lined.items()
    }
    options = tuple(said)
    linked.start(GAP, options, "")
    st.selectbox(words.GAP_POINT, options, format_func=lambda n: said[n], key=GAP)
    return lined.get(linked.keep(GAP, st.session_state[GAP], ""))


def _entry(at: Open, judged: Judged) -> PhotoEntry | None:
    sha256 = judged.measurement.trace.original_sha256
    return next((p for p in at.check.photos if p.original.sha256 == sha256), None)
