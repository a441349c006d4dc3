"""What a terminal shows of a check: findings worst first, coverage, the decision with its reasons."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console, Group, RenderableType
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

from verifier.metrology.budget import result_text
from verifier.pipeline.concreting.ordering import Quantities
from verifier.pipeline.decision.check import Check
from verifier.pipeline.measurement.photos import PhotoEntry
from verifier.release.decision import Decision
from verifier.release.reason import Reason
from verifier.rules.coverage import Coverage
from verifier.rules.finding import Finding
from verifier.vision.photo_measurement import PhotoMeasurement
from verifier.wording import counted

# Shape and word tell a verdict; colour only helps (Okabe-Ito: blue, vermilion, reddish purple, grey).
MARKS = {
    "conforming": ("●", "conforming", "#56B4E9"),
    "non_conforming": ("■", "not conforming", "#D55E00"),
    "inconclusive": ("◐", "not decided", "#CC79A7"),
    "open": ("○", "not measured", "grey62"),
}
ROOMY_COLUMNS = 110
ANSWERS = {"go": ("●", "#56B4E9"), "go_with_conditions": ("◐", "#CC79A7"), "no_go": ("■", "#D55E00")}


def verdict_text(finding: Finding) -> Text:
    """The verdict as shape and word.

    Args:
        finding: A finding.

    Returns:
        Text with its colour.
    """
    shape, word, colour = MARKS[finding.verdict if finding.measured else "open"]
    return Text(f"{shape} {word}", style=colour)


def findings_table(findings: Sequence[Finding], *, every: bool, width: int) -> Table:
    """Findings, worst first.

    Args:
        findings: In the order to show.
        every: Whether to show those that conform, too.
        width: Columns of the terminal; a narrow one shows no sources.

    Returns:
        A table.
    """
    table = Table(title="Findings, worst first", title_justify="left", expand=False)
    headings = ["verdict", "where", "what", "measured", "asked", "probability"]
    roomy = width >= ROOMY_COLUMNS
    for heading in [*headings[: 6 if roomy else 5], *(["source"] if roomy else [])]:
        table.add_column(heading, overflow="fold", no_wrap=heading in ("verdict", "where"))
    for f in findings:
        if not every and (f.verdict == "conforming" or _fits(f)):
            continue
        cells = [
            verdict_text(f),
            Text(f.place),
            Text(f.requirement.rule_words),
            Text(_measured(f)),
            Text(f.requirement.limits_words),
        ]
        table.add_row(*cells, *((Text(_probability(f)), Text(_source(f))) if roomy else ()))
    return table


def _fits(f: Finding) -> bool:
    """A bar size that a photo indicates and that fits: nothing to look at first."""
    return f.indication and (f.probability_low or 0.0) >= f.rule.conforming_at


def _measured(f: Finding) -> str:
    worst = f.worst
    if worst is None:
        return "-"
    m = worst.measurement
    number = f" (worst of {len(f.judged)})" if len(f.judged) > 1 else ""
    return f"{result_text(m.value, m.expanded_uncertainty, m.unit)}{number}"


def _probability(f: Finding) -> str:
    """Probability that all values conform, between its bounds."""
    low, high = f.probability_low, f.probability_high
    if low is None or high is None:
        return "-"
    if f.blocked_by:
        return "blocked"
    return f"{low:.3f}" if round(low, 3) == round(high, 3) else f"{low:.3f} to {high:.3f}"


def _source(f: Finding) -> str:
    """The governing source, short: an agreement goes before the code, the code before the drawing."""
    by_kind = {s.kind: s for s in reversed(f.requirement.sources)}
    if "project" in by_kind:
        return "agreed for the project"
    source = by_kind.get("code")
    return f"{source.document}, {source.clause} ({source.status})" if source is not None else "drawing"


def coverage_table(coverage: Sequence[Coverage]) -> Table:
    """Spots of each layer.

    Args:
        coverage: All layers and faces.

    Returns:
        A table.
    """
    table = Table(title="Coverage", title_justify="left")
    for heading in ("element", "layer", "what", "there", "asked", "missing"):
        table.add_column(heading)
    for c in coverage:
        missing = Text(", ".join(c.missing) or "-", style="" if c.complete else MARKS["non_conforming"][2])
        table.add_row(
            Text(c.element), Text(c.layer), c.what, ", ".join(c.there) or "-", str(c.asked), missing
        )
    return table


def decision_panel(decision: Decision) -> RenderableType:
    """The answer with every reason and condition.

    Args:
        decision: A decision.

    Returns:
        A panel.
    """
    shape, colour = ANSWERS[decision.answer]
    parts: list[RenderableType] = [Text(f"{shape} {decision.words.upper()}", style=f"bold {colour}")]
    for title, reasons in (("Reasons, worst first", decision.reasons), ("Conditions", decision.conditions)):
        if reasons:
            parts += [Text(), Text(title, style="bold"), _reasons(reasons)]
    if decision.cautions:
        parts += [Text(), Text("Cautions", style="bold")]
        parts += [Text(f"- {c.says}") for c in decision.cautions]
    named = ", ".join(decision.engineer_of_record) or "nobody named"
    parts += [
        Text(),
        Text(
            f"Engineer of record: {named}. Valid until {decision.valid_until:%Y-%m-%d %H:%M %z}, "
            f"and not once {'; '.join(decision.lapses_when)}."
        ),
        Text(decision.statement, style="italic"),
    ]
    return Panel(Group(*parts), border_style=colour)


def _reasons(reasons: Sequence[Reason]) -> Table:
    table = Table(show_header=True, show_edge=False, box=None, pad_edge=False)
    for heading, share in (("what is so", 5), ("what clears it", 4), ("who", 1)):
        table.add_column(heading, overflow="fold", ratio=share)
    for r in reasons:
        table.add_row(Text(r.says), Text(" ".join(filter(None, (r.clears, r.command)))), Text(r.owner))
    return table


def photos_table(photos: Sequence[PhotoEntry]) -> Table:
    """Photos and what became of each.

    Args:
        photos: All photos of a pour.

    Returns:
        A table.
    """
    table = Table(title="Photos", title_justify="left")
    for heading in ("photo", "element", "spot", "state", "gaps", "remarks"):
        table.add_column(heading, overflow="fold")
    for p in photos:
        placement = p.original.placement
        gaps = ", ".join(
            f"{name or '?'} {len(layer.gaps)}" for name, layer in zip(p.layers, p.seen.layers, strict=False)
        )
        says = [s.say for s in p.seen.refusals] or list(p.remarks)
        table.add_row(
            Text(p.original.name),
            Text(placement.element or "-"),
            Text(placement.spot or "-"),
            p.state,
            gaps or "-",
            Text(" ".join(says)),
        )
    return table


def measured_table(seen: PhotoMeasurement) -> RenderableType:
    """One photo, measured alone.

    Args:
        seen: What it gave.

    Returns:
        A table of its layers, or its refusals.
    """
    lines: list[RenderableType] = [Text(seen.photo.name, style="bold")]
    lines += [Text(f"  refused ({s.reason}): {s.say}") for s in seen.refusals]
    if "camera" in seen.method.parameters:
        lines.append(Text(f"  {seen.method.parameters['camera']}"))
    if seen.layers:
        table = Table(box=None, pad_edge=True)
        for heading in ("mat", "layer", "bars", "size", "mean spacing", "gaps"):
            table.add_column(heading, overflow="fold")
        for layer in seen.layers:
            mean, u = layer.mean_spacing_mm, layer.mean_spacing_expanded_uncertainty_mm
            sizes = sorted({b.nominal_mm for b in layer.bars if b.nominal_mm is not None})
            table.add_row(
                layer.mat,
                layer.position,
                str(len(layer.bars)),
                ", ".join(f"{s:g}" for s in sizes) or "-",
                result_text(mean, u) if mean is not None and u is not None else "-",
                ", ".join(f"{g.value_mm:.0f}±{g.expanded_uncertainty_mm:.0f}" for g in layer.gaps) or "-",
            )
        lines.append(table)
    lines += [Text(f"  {caution}") for caution in seen.cautions]
    return Group(*lines)


def quantities_table(found: Quantities) -> RenderableType:
    """The take-off of a pour and what to order.

    Args:
        found: Quantities of a pour.

    Returns:
        A table with its sums and notes.
    """
    table = Table(title=f"Concrete of {found.pour_id}, {found.concrete.grade}", title_justify="left")
    for heading in ("element", "arithmetic", "m³"):
        table.add_column(heading, overflow="fold", justify="right" if heading == "m³" else "left")
    for line in found.take_off.lines:
        table.add_row(Text(line.mark), Text(line.what), f"{line.volume_m3:.2f}")
    table.add_row("net", "", f"{found.take_off.net_m3:.2f}")
    volume = found.order
    table.add_row("to order", f"with {volume.waste_percent:g} % waste, rounded up", f"{volume.order_m3:.1f}")
    loads = f"{volume.loads} {'load' if volume.loads == 1 else 'loads'} of {found.truck_m3:g} m³, the last one {volume.last_load_m3:.1f} m³."
    told = [Text(loads), *(Text(f"Missing: {m}") for m in found.missing), *(Text(n) for n in found.notes)]
    return Group(table, *told)


def print_check(console: Console, checked: Check, *, every: bool) -> None:
    """Print a check.

    Args:
        console: Where to.
        checked: The check.
        every: Whether to list conforming findings, too.
    """
    console.print(Text(f"{checked.pour.pour.title} ({checked.pour.pour.id}), {checked.pour.pour.code}"))
    if checked.photos:
        console.print(photos_table(checked.photos))
    console.print(findings_table(checked.findings, every=every, width=console.width))
    conforming = sum(f.verdict == "conforming" for f in checked.findings)
    if conforming and not every:
        console.print(Text(f"and {counted(conforming, 'conforming finding')} (listed by --all)"))
    for a in checked.agreements:
        console.print(Text(a.words, style="" if a.agrees else MARKS["non_conforming"][2]))
    console.print(coverage_table(checked.coverage))
    console.print(decision_panel(checked.decision))
    if checked.release.state != "none":
        console.print(Text(checked.release.words))
