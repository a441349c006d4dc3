"""The command about forms and falsework: props, sides, sections, readings, floors below, and the order of taking away."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from verifier.cli.options import NO_GO, AsJson, Folder, answer, app
from verifier.errors import BadInput

if TYPE_CHECKING:
    from verifier.formwork.removal import RemovalPlan
    from verifier.pipeline.concreting.falsework import FalseworkChecked


@app.command()
def falsework(folder: Folder, as_json: AsJson = False) -> None:
    """Props of falsework.toml against their load, sides against pressure, sections, floors below; ends with 1 where one does not hold."""
    from verifier.pipeline.concreting.falsework import falsework_of, reasons_of_falsework

    found, stops = falsework_of(folder), reasons_of_falsework(folder)
    if as_json:
        answer(found.model_dump_json(indent=1))
    else:
        _tell(found)
        for reason in stops:
            word = "STOP" if reason.weight == "stops" else "condition"
            answer(f"{word} {reason.says} {reason.clears} (for: {reason.owner})")
    if not found.grids:
        raise BadInput(
            "Props are not checked: no grid of props is written.",
            where=str(folder / "falsework.toml"),
            todo='Write one: loads = "IS 14687", then for each slab [[grid]] with slab, spacing_x_m, spacing_y_m, prop and extension_m.',
        )
    raise typer.Exit(NO_GO if any(r.weight == "stops" for r in stops) else 0)


def _tell(found: FalseworkChecked) -> None:
    from verifier.pipeline.concreting.falsework import bounds_text

    _tell_grids(found)
    for s in found.sides:
        may = f" of {s.may_carry_kpa:g} kPa ({s.may_carry_source})" if s.may_carry_kpa is not None else ""
        answer(
            f"{s.element}, {s.what} of {s.height_m:g} m: {s.pressure.value:.1f} kPa at its foot{may}, {s.force_kn_m:.2f} kN on each "
            f"metre ({s.pressure.governed_by}: {s.pressure.why}; {s.pressure.source})."
        )
    for section in found.sections:
        answer(
            f"{section.element}, {section.what} {section.drawn_mm:g} mm: may be off {bounds_text(section.bounds)}."
        )
    for look in found.looks:
        for point in look.points:
            answer(
                f"{look.what}, {point.place}: {point.off_mm:+g} mm, {point.verdict} ({bounds_text(look.bounds)})."
            )
    for share in found.below.floors if found.below is not None else ():
        grid = (
            f", back-props at most {share.largest_square_grid_m:.2f} m apart"
            if share.largest_square_grid_m
            else ""
        )
        answer(
            f"{share.name}: {share.carried_kn_m2:.2f} of {share.capacity_kn_m2:.2f} kN/m2, {share.passed_down_kn_m2:.2f} go on{grid}."
        )
    for plan in found.removal:
        tell_removal(plan)
    for caution in found.cautions:
        answer(caution)


def _tell_grids(found: FalseworkChecked) -> None:
    for g in found.grids:
        answer(
            f"{g.slab}: {g.load.total_kn_m2:.2f} kN/m2 ({g.load.source}), {g.check.load_kn:.2f} kN on a prop of "
            f"{g.check.capacity_kn:.2f} kN ({g.capacity.source}); largest square grid {g.check.largest_square_grid_m:.2f} m; "
            f"bracing {g.check.horizontal_kn:.2f} kN a prop."
        )
        if g.plate is not None:
            answer(f"  sole plate {g.plate.pressure_kpa:.0f} kPa of {g.plate.allowed_kpa:.0f} kPa.")


def tell_removal(plan: RemovalPlan) -> None:
    """Tell the order of taking props away, step by step.

    Args:
        plan: The plan.
    """
    answer(f"Order of taking props away ({plan.source}):")
    for step in plan.steps:
        done = f" Taken away {step.done_at:%Y-%m-%d %H:%M}." if step.done_at is not None else ""
        answer(f"  {step.number}. {step.says}{done}")
