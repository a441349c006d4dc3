"""Requirements on single lengths: bar size, cover, lap, bend, supports of the bars, section."""

from __future__ import annotations

from collections.abc import Sequence

from verifier.codes.bars import BarSize, bar_sizes
from verifier.codes.limit import Limit
from verifier.codes.tolerance import Range
from verifier.drawing.bars import Bar
from verifier.drawing.pour import Supports, Tolerance
from verifier.metrology.measurement import Measurand
from verifier.rules.requirement import Requirement, Source
from verifier.rules.spacing import agreed, by_code, drawn

CHAIR_HEIGHT_BAND_MM = 5.0
"""How much a chair may differ in height. Common practice, no source."""
CHAIR_HEIGHT_SOURCE = Source(
    kind="project",
    document="common practice",
    clause=f"chairs within {CHAIR_HEIGHT_BAND_MM:g} mm",
    status="no source",
)

SIZE_STEP = Source(
    kind="drawing",
    document="size list of the bar's standard",
    clause="half way to the neighbouring sizes",
    status="calculated",
)


def size_requirement(element: str, layer: str, bar: Bar, callout: str) -> Requirement:
    """Ask for the bar size: the measured diameter must lie nearer to it than to any other size of its list.

    Args:
        element: Mark of the element.
        layer: Layer in trade notation.
        bar: The bar called for.
        callout: The call-out, as the source.

    Returns:
        The requirement.
    """
    smaller, larger = _neighbours(bar.size)
    return Requirement(
        key=f"{element}/{layer}/diameter",
        element=element,
        layer=layer,
        rule="diameter",
        measurand=Measurand.BAR_DIAMETER,
        asks=f"bars of {layer} are {bar.text}",
        lower=(smaller + bar.diameter_mm) / 2 if smaller is not None else None,
        upper=(larger + bar.diameter_mm) / 2 if larger is not None else None,
        nominal=bar.diameter_mm,
        sources=(drawn(callout), SIZE_STEP),
    )


def _neighbours(size: BarSize) -> tuple[float | None, float | None]:
    diameters = sorted(s.diameter_mm for s in bar_sizes() if s.system == size.system)
    smaller = [d for d in diameters if d < size.diameter_mm]
    larger = [d for d in diameters if d > size.diameter_mm]
    return (smaller[-1] if smaller else None), (larger[0] if larger else None)


def cover_requirement(
    element: str, face: str, nominal_mm: float, tolerance: Tolerance, code: Range
) -> Requirement:
    """Ask for the cover of one face.

    Args:
        element: Mark of the element.
        face: ``bottom``, ``top`` or ``side``.
        nominal_mm: Nominal cover on the drawing. [mm]
        tolerance: Tolerances agreed for the project; they override the code's.
        code: Least and largest cover in place, by the code.

    Returns:
        The requirement. Without any tolerance nothing less than nominal is allowed, and nothing is said about more.
    """
    minus, plus = tolerance.cover_minus_mm, tolerance.cover_plus_mm
    lower, low_source = _side(
        None if minus is None else nominal_mm - minus, "cover_minus_mm", tolerance, code.least
    )
    upper, high_source = _side(
        None if plus is None else nominal_mm + plus, "cover_plus_mm", tolerance, code.most
    )
    sources = dict.fromkeys((drawn(f"{face} cover {nominal_mm:g} mm"), *low_source, *high_source))
    return Requirement(
        key=f"{element}/{face}/cover",
        element=element,
        layer=face,
        rule="cover",
        measurand=Measurand.COVER,
        asks=f"{face} cover {nominal_mm:g} mm",
        lower=nominal_mm if lower is None else lower,
        upper=upper,
        nominal=nominal_mm,
        sources=tuple(sources),
        by_tape=True,
    )


def _side(
    agreed_mm: float | None, key: str, tolerance: Tolerance, limit: Limit | None
) -> tuple[float | None, tuple[Source, ...]]:
    if agreed_mm is not None:
        words = f"{limit.source}: {limit.value:g} mm" if limit is not None else ""
        return agreed_mm, (agreed(tolerance, key, instead_of=words),)
    return (limit.value, (by_code(limit),)) if limit is not None else (None, ())


def length_requirement(
    element: str,
    layer: str | None,
    rule: str,
    measurand: Measurand,
    nominal_mm: float,
    sources: Sequence[Source],
    *,
    band_mm: tuple[float | None, float | None],
) -> Requirement:
    """Ask for a length that is taped.

    Args:
        element: Mark of the element.
        layer: Layer in trade notation, or None for the element itself.
        rule: Kind of requirement.
        measurand: What is taped.
        nominal_mm: Length asked for. [mm]
        sources: Where length and band come from.
        band_mm: How much less and how much more is allowed; None leaves a side open. [mm]

    Returns:
        The requirement.
    """
    less, more = band_mm
    what = rule.replace("-", " ")
    return Requirement(
        key="/".join(filter(None, (element, layer, rule))),
        element=element,
        layer=layer,
        rule=rule,
        measurand=measurand,
        asks=f"{what} {nominal_mm:.4g} mm",
        lower=nominal_mm - less if less is not None else None,
        upper=nominal_mm + more if more is not None else None,
        nominal=nominal_mm,
        sources=tuple(sources),
        by_tape=True,
    )


def support_requirements(element: str, given: Supports) -> list[Requirement]:
    """Ask for pitch of blocks and chairs and height of chairs, where the drawing gives them.

    Args:
        element: Mark of the element.
        given: What the drawing gives; pitches are the largest allowed.

    Returns:
        The requirements.
    """
    found = []
    for rule, measurand, value, band in (
        ("block-pitch", Measurand.BLOCK_PITCH, given.block_pitch_mm, (None, 0.0)),
        ("chair-pitch", Measurand.CHAIR_PITCH, given.chair_pitch_mm, (None, 0.0)),
        (
            "chair-height",
            Measurand.CHAIR_HEIGHT,
            given.chair_height_mm,
            (CHAIR_HEIGHT_BAND_MM, CHAIR_HEIGHT_BAND_MM),
        ),
    ):
        if value is None:
            continue
        sources = [drawn(f"{rule.replace('-', ' ')} {value:g} mm")]
        if rule == "chair-height":
            sources.append(CHAIR_HEIGHT_SOURCE)
        found.append(length_requirement(element, None, rule, measurand, value, sources, band_mm=band))
    return found
