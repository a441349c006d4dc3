"""Requirements on bars side by side: each gap, the mean of a stretch, the code's largest spacing, clear distance, least steel."""

from __future__ import annotations

from dataclasses import dataclass

from verifier.codes.limit import Limit
from verifier.drawing.bars import SpacedBars
from verifier.drawing.pour import Tolerance
from verifier.metrology.measurement import Measurand
from verifier.rules.requirement import Requirement, Source


@dataclass(frozen=True, slots=True)
class SpacingLimits:
    """What the code says about one layer; None where it says nothing.

    Attributes:
        gap_minus: How much smaller a single gap may be. [mm]
        gap_plus: How much larger a single gap may be. [mm]
        largest: Largest spacing allowed. [mm]
        least_clear: Least clear distance between bars. [mm]
        least_steel: Least steel area. [mm2/m]
    """

    gap_minus: Limit | None = None
    gap_plus: Limit | None = None
    largest: Limit | None = None
    least_clear: Limit | None = None
    least_steel: Limit | None = None


@dataclass(frozen=True, slots=True)
class OpenPoint:
    """Something that neither the drawing nor the code nor the project settles, so that nothing can be judged by it."""

    element: str
    layer: str | None
    says: str
    clears: str


def drawn(callout: str) -> Source:
    """Source of a value that stands on the drawing.

    Args:
        callout: The call-out, or what the drawing says.

    Returns:
        The source.
    """
    return Source(kind="drawing", document="drawing", clause=callout, status="as drawn")


def agreed(tolerance: Tolerance, what: str, *, instead_of: str = "") -> Source:
    """Source of a tolerance agreed for the project.

    Args:
        tolerance: The project's tolerances.
        what: The key and its value.
        instead_of: What the code says, which the agreement overrides.

    Returns:
        The source; it says openly that it overrides the code.
    """
    note = f"overrides {instead_of}" if instead_of else "the code gives none"
    return Source(
        kind="project",
        document="tolerance agreed for the project",
        clause=f"{what}, {tolerance.agreed}" if tolerance.agreed else what,
        status="agreed for the project",
        note=note,
    )


def by_code(limit: Limit) -> Source:
    """Source of a value of a code of practice.

    Args:
        limit: The value with its provenance.

    Returns:
        The source with edition, clause and status.
    """
    return Source(
        kind="code", document=limit.edition, clause=limit.clause, status=limit.status, note=limit.note
    )


def spacing_requirements(
    element: str, layer: str, bars: SpacedBars, tolerance: Tolerance, limits: SpacingLimits
) -> tuple[tuple[Requirement, ...], tuple[OpenPoint, ...]]:
    """Ask for the spacing of one layer.

    Args:
        element: Mark of the element.
        layer: Layer in trade notation, or ``links``.
        bars: Call-out of the layer.
        tolerance: Tolerances agreed for the project.
        limits: What the code says.

    Returns:
        The requirements, and what stays open because nobody gives a tolerance.
    """
    asked: list[Requirement] = []
    spacing, callout = bars.spacing_mm, drawn(bars.text)

    def ask(
        rule: str, measurand: Measurand, words: str, sources: tuple[Source, ...], **limit: float | None
    ) -> None:
        asked.append(
            Requirement.model_validate(
                {
                    "key": f"{element}/{layer}/{rule}",
                    "element": element,
                    "layer": layer,
                    "rule": rule,
                    "measurand": measurand,
                    "asks": words,
                    "nominal": spacing,
                    "sources": sources,
                }
                | limit
            )
        )

    gap = _gap_tolerance(tolerance, limits)
    if gap is not None:
        minus, plus, source = gap
        words = f"each gap of {layer} within {spacing - minus:.4g} and {spacing + plus:.4g} mm"
        ask(
            "single-gap",
            Measurand.SINGLE_GAP,
            words,
            (callout, *source),
            lower=spacing - minus,
            upper=spacing + plus,
        )
    if tolerance.mean_spacing_percent is not None:
        share = tolerance.mean_spacing_percent / 100
        source = (agreed(tolerance, f"mean_spacing_percent = {tolerance.mean_spacing_percent:g}"),)
        words = f"mean spacing of {layer} over a stretch within {tolerance.mean_spacing_percent:g} % of {spacing:.4g} mm"
        ask(
            "mean-spacing",
            Measurand.MEAN_SPACING,
            words,
            (callout, *source),
            lower=spacing * (1 - share),
            upper=spacing * (1 + share),
        )
    if limits.largest is not None:
        words = f"no gap of {layer} above the largest spacing allowed"
        ask(
            "largest-spacing",
            Measurand.SINGLE_GAP,
            words,
            (by_code(limits.largest),),
            upper=limits.largest.value,
        )
    if limits.least_clear is not None:
        least = limits.least_clear.value + bars.diameter_mm
        words = f"at least {limits.least_clear.value:.4g} mm clear between bars of {layer}"
        ask(
            "clear-distance",
            Measurand.SINGLE_GAP,
            words,
            (by_code(limits.least_clear), callout),
            lower=least,
        )
    if limits.least_steel is not None:
        widest = 1000 * bars.bar.area_mm2 * (bars.legs or 1) / limits.least_steel.value
        words = f"at least {limits.least_steel.value:.4g} mm²/m of steel in {layer}, so a mean spacing of at most {widest:.4g} mm"
        ask(
            "least-steel",
            Measurand.MEAN_SPACING,
            words,
            (by_code(limits.least_steel), callout),
            upper=widest,
        )
    if gap is None and tolerance.mean_spacing_percent is None:
        return tuple(asked), (_no_tolerance(element, layer),)
    return tuple(asked), ()


def _gap_tolerance(
    tolerance: Tolerance, limits: SpacingLimits
) -> tuple[float, float, tuple[Source, ...]] | None:
    """Minus, plus and sources of a single gap: the project's where agreed, else the code's, else none."""
    if tolerance.single_gap_mm is not None:
        code = limits.gap_plus or limits.gap_minus
        words = f"{code.source}: {code.value:g} mm" if code is not None else ""
        source = agreed(tolerance, f"single_gap_mm = {tolerance.single_gap_mm:g}", instead_of=words)
        return tolerance.single_gap_mm, tolerance.single_gap_mm, (source,)
    if limits.gap_minus is None or limits.gap_plus is None:
        return None
    sources = dict.fromkeys(by_code(limit) for limit in (limits.gap_minus, limits.gap_plus))
    return limits.gap_minus.value, limits.gap_plus.value, tuple(sources)


def _no_tolerance(element: str, layer: str) -> OpenPoint:
    return OpenPoint(
        element,
        layer,
        f"{element} {layer}: neither the code nor the project gives a tolerance on spacing, so measured gaps can't be judged.",
        "Agree single_gap_mm or mean_spacing_percent with the engineer of record and enter it under [pour.tolerance].",
    )


def count_requirement(element: str, layer: str, number: int, words: str, callout: str) -> Requirement:
    """Ask for at least the number of bars drawn.

    Args:
        element: Mark of the element.
        layer: Layer in trade notation; ``bottom`` or ``top`` of a beam.
        number: Number of bars.
        words: What is asked, in words.
        callout: The call-out, as the source.

    Returns:
        The requirement.
    """
    return Requirement(
        key=f"{element}/{layer}/count",
        element=element,
        layer=layer,
        rule="count",
        measurand=Measurand.BAR_COUNT,
        asks=words,
        lower=number,
        nominal=number,
        unit="count",
        sources=(drawn(callout),),
        by_tape=True,
    )
