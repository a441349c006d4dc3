"""Whether a photo and a tape of the same spot agree. Where they don't, one of the two is wrong and nothing may rest on them."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence

from pydantic import BaseModel

from verifier.metrology.agreement import agreement
from verifier.metrology.budget import result_text
from verifier.metrology.measurement import COVERAGE_FACTOR_95, Measurand, Measurement


class Agreement(BaseModel, frozen=True, extra="forbid"):
    """Photo and tape compared at one spot by E_n; ``agrees`` for a magnitude of at most 1."""

    element: str
    layer: str
    spot: str
    measurand: Measurand
    photo: Measurement
    tape: Measurement
    e_n: float
    agrees: bool
    words: str


def agreements(measurements: Sequence[Measurement]) -> tuple[Agreement, ...]:
    """Compare photo with tape wherever both gave the same quantity at the same spot.

    Mean spacings are compared, and single gaps that carry the same number; bar sizes are not, because a photo only
    indicates them. If the two did not cover the same number of
    gaps, the natural scatter of the gaps is added to the doubt: s * sqrt(1/n_small - 1/n_large), with s from the photo.

    Args:
        measurements: Measurements that stand (not superseded).

    Returns:
        One agreement for each tape reading that has a photo to compare with.

    Source:
        ISO 13528:2015, 9.7 (E_n with expanded uncertainties); the scatter term is sampling without replacement.
    """
    found = []
    for tape in measurements:
        if tape.by != "tape" or tape.element is None or tape.layer is None or tape.spot is None:
            continue
        for photo in measurements:
            if photo.by == "photo" and _same_quantity(photo, tape):
                found.append(_compare(photo, tape, _scatter(photo, tape, measurements)))
    return tuple(found)


def _same_quantity(photo: Measurement, tape: Measurement) -> bool:
    same_place = (photo.element, photo.layer, photo.spot) == (tape.element, tape.layer, tape.spot)
    if not same_place or photo.measurand is not tape.measurand:
        return False
    if photo.measurand is Measurand.SINGLE_GAP:
        return photo.index is not None and photo.index == tape.index
    return photo.measurand is Measurand.MEAN_SPACING


def _scatter(photo: Measurement, tape: Measurement, measurements: Sequence[Measurement]) -> float:
    """Standard uncertainty for not having covered the same gaps, mm."""
    a, b = photo.stretch_gaps, tape.stretch_gaps
    if photo.measurand is not Measurand.MEAN_SPACING or a is None or b is None or a == b:
        return 0.0
    gaps = [
        m.value
        for m in measurements
        if m.measurand is Measurand.SINGLE_GAP
        and m.trace.original_sha256 == photo.trace.original_sha256
        and m.layer == photo.layer
    ]
    if len(gaps) < 2:
        return 0.0
    return statistics.stdev(gaps) * math.sqrt(1 / min(a, b) - 1 / max(a, b))


def _compare(photo: Measurement, tape: Measurement, scatter: float) -> Agreement:
    doubt = math.hypot(photo.expanded_uncertainty, COVERAGE_FACTOR_95 * scatter)
    compared = agreement(photo.value, doubt, tape.value, tape.expanded_uncertainty)
    what = photo.measurand.value.replace("_", " ")
    told = "they agree" if compared.agrees else "one of the two is wrong"
    words = (
        f"{photo.element} {photo.layer}, spot {photo.spot}: {what} by photo {result_text(photo.value, doubt)}, "
        f"by tape {result_text(tape.value, tape.expanded_uncertainty)}, E_n {compared.e_n:+.2f}: {told}."
    )
    return Agreement(
        element=photo.element or "",
        layer=photo.layer or "",
        spot=photo.spot or "",
        measurand=photo.measurand,
        photo=photo,
        tape=tape,
        e_n=compared.e_n,
        agrees=compared.agrees,
        words=words,
    )
