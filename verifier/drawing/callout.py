"""Bar call-outs, read and written. What is not understood is refused, with the place and the nearest readable form."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from typing import Literal, cast

from verifier.codes.bars import BarSize, bar_sizes
from verifier.drawing import notation
from verifier.drawing.bars import Bar, BarGroup, CountedBars, LayerName, Prefix, SpacedBars
from verifier.errors import BadInput

Units = Literal["mm", "inch"]

SPACING_RANGE_MM = (50.0, 1000.0)
"""Below it a bare figure is centimetres or inches with their unit left out: ``Ø12/25``, ``#4@12``."""
COUNT_RANGE = (1, 999)
LEGS_RANGE = (1, 12)
LONGEST = 80
FORMS = "T10-150, Ø12@200, 10T12-03-200 B1, 8 dia @ 200 c/c, #4@8in, 3-T16, 2-T16 + 1-T12, R8-200 2L"


class UnreadableCallout(BadInput):
    """A call-out that can't be read without guessing.

    Args:
        text: The call-out as given.
        position: Index of the first character that is not understood.
        wrong: What stands there, and what was needed.
        nearest: A readable call-out close to it, or an example of the form.
    """

    def __init__(self, text: str, position: int, wrong: str, nearest: str) -> None:
        self.text = text
        self.position = position
        self.nearest = nearest
        super().__init__(
            wrong,
            where=f'call-out "{text}", character {position + 1}',
            todo=f'Nearest readable form: "{nearest}". Forms: {FORMS}.',
        )


class _StopError(Exception):
    """Reading stopped at ``position``; ``instead`` is a repair to offer, never to apply."""

    def __init__(self, position: int, wrong: str, instead: str = "") -> None:
        self.position = position
        self.wrong = wrong
        self.instead = instead
        super().__init__(wrong)


def parse(text: str, *, units: Units | None = None) -> SpacedBars | CountedBars:
    """Read a bar call-out.

    Args:
        text: The call-out as the drawing writes it. Case, spaces and the Unicode kind of a sign don't matter.
        units: Unit that the drawing is in, where known. With ``inch`` a bare spacing beside an ASTM size is in inches;
            with ``mm`` a bare ``#10`` is refused, since it may be a soft-metric name. Metric bars are spaced in mm.

    Returns:
        Bars at a spacing, or a number of bars.

    Raises:
        UnreadableCallout: If any part is not understood, not in a size list, or open to two readings.

    Source:
        Notations: BS 8666:2005 and common practice in Britain, India and Australia; ACI 315 for ``#`` sizes.

    Example:
        >>> parse("Y16 @ 125 c/c").text
        'Y16-125'
    """
    plain = notation.plain_text(text)
    try:
        if not plain.strip():
            raise _StopError(0, "The call-out is empty; a bar and its spacing or number were needed.")
        if len(plain) > LONGEST:
            raise _StopError(LONGEST, f"It has {len(plain)} characters; at most {LONGEST} are read.")
        return _callout(notation.Scanner(plain, len(plain) - len(plain.lstrip())), units)
    except _StopError as stop:
        nearest = _nearest(plain, stop, units)
        raise UnreadableCallout(text, stop.position, stop.wrong, nearest) from None


def parse_spaced(text: str, *, units: Units | None = None) -> SpacedBars:
    """Read a call-out that must give a spacing.

    Args:
        text: The call-out.
        units: As for ``parse``.

    Returns:
        Bars at a spacing.

    Raises:
        UnreadableCallout: If it is not readable or gives a number of bars only.
    """
    read = parse(text, units=units)
    if isinstance(read, SpacedBars):
        return read
    bar = read.groups[0].bar.text
    raise UnreadableCallout(
        text, len(text), "It gives a number of bars; a spacing was needed here.", f"{bar}-150"
    )


def parse_counted(text: str, *, units: Units | None = None) -> CountedBars:
    """Read a call-out that must give a number of bars.

    Args:
        text: The call-out.
        units: As for ``parse``.

    Returns:
        Groups of equal bars.

    Raises:
        UnreadableCallout: If it is not readable or gives a spacing.
    """
    read = parse(text, units=units)
    if isinstance(read, CountedBars):
        return read
    raise UnreadableCallout(
        text, 0, "It gives a spacing; a number of bars was needed here.", f"{read.count or 3}-{read.bar.text}"
    )


def write(callout: SpacedBars | CountedBars) -> str:
    """Write a call-out in canonical form.

    Args:
        callout: What was read.

    Returns:
        Text that ``parse`` reads back to the same call-out.
    """
    return callout.text


def _callout(scan: notation.Scanner, units: Units | None) -> SpacedBars | CountedBars:
    first_legs = scan.take(notation.LEGS_FIRST)
    group_at = scan.at
    count, bar = _group(scan, units)
    mark, spaced = _mark(scan, count)
    if spaced:
        read: SpacedBars | CountedBars = _spaced(scan, units, count, bar, mark)
    else:
        if count is None:
            raise _StopError(scan.at, "A spacing is missing, or a number before the bar.", f"{bar.text}-150")
        read = _counted(scan, units, BarGroup(count, bar, mark))
    read = _tail(scan, read, None if first_legs is None else int(first_legs[1]))
    _refuse_two_readings(read, units, group_at)
    return read


def _group(scan: notation.Scanner, units: Units | None) -> tuple[int | None, Bar]:
    start = scan.at
    bar = _bar(scan, units)
    if bar is not None:
        return None, bar
    counted = scan.take(notation.COUNT)
    if counted is None:
        raise _StopError(
            start, f'"{_word(scan.rest)}" is no bar: a letter T, Y, H, N, D, R, the sign Ø or # was needed.'
        )
    bar = _bar(scan, units)
    bare, after = counted[1] or counted[2], scan.text[counted.end() :]
    if bar is None:
        wrong = f'"{bare}" is not followed by a bar: it may be a size or a number of bars.'
        raise _StopError(counted.end(), wrong, f"Ø{bare}@{after}" if counted[3] else f"Ø{bare}{after}")
    if counted[2] and not counted[3] and after[:1].isdigit():
        raise _StopError(
            counted.end(), f'"{bare}" and the size after it may be one figure or two.', f"{bare}-{after}"
        )
    count = int(counted[1] or counted[2])
    if not COUNT_RANGE[0] <= count <= COUNT_RANGE[1]:
        wrong = f"{count} bars: {COUNT_RANGE[0]} to {COUNT_RANGE[1]} are allowed."
        raise _StopError(start, wrong, after)
    return count, bar


def _bar(scan: notation.Scanner, units: Units | None) -> Bar | None:
    start = scan.at
    if found := scan.take(notation.LETTER_BAR):
        return Bar(cast("Prefix", found[1].upper()), _size(found[2], "metric", start))
    if found := scan.take(notation.SIGN_BAR) or scan.take(notation.AFTER_BAR):
        return Bar("Ø", _size(found[1], "metric", start))
    if found := scan.take(notation.HASH_BAR):
        return Bar("#", _size(f"#{found[1]}", "astm", start))
    if found := scan.take(notation.CANADIAN_BAR):
        return Bar("M", _size(f"{found[1]}M", "csa", start))
    return None


def _size(name: str, system: str, position: int) -> BarSize:
    sizes = [size for size in bar_sizes() if size.system == system]
    bare = name.strip("#M").lstrip("0") or "0"
    wanted = {"astm": f"#{bare}", "csa": f"{bare}M"}.get(system, bare)
    # The inch names come first: #10 is the inch size here, and refused later where it may be the metric name.
    for size in (*sizes, *(replace(size, name=size.metric_name) for size in sizes)):
        if size.name == wanted:
            return next(s for s in sizes if s.diameter_mm == size.diameter_mm)
    listed = ", ".join(size.name for size in sizes)
    near = min(sizes, key=lambda size: abs(float(size.name.strip("#M")) - float(bare)))
    raise _StopError(
        position, f"No {notation.LISTS[system]} list holds a bar {name}; listed are {listed}.", near.name
    )


def _mark(scan: notation.Scanner, count: int | None) -> tuple[str | None, bool]:
    """Read a bar mark, and say whether a spacing follows."""
    before = scan.at
    between = scan.take(notation.BETWEEN)
    if between is None:
        return None, False
    if between[1] == "-":
        if found := scan.take(notation.MARK_THEN_SPACING):
            return found[1].upper(), True
        if count is not None and (found := scan.take(notation.MARK_ALONE)):
            return found[1].upper(), False
    if not scan.rest[:1].isdigit():
        raise _StopError(scan.at, "A spacing is missing after the bar.", f"{scan.text[:before].strip()}-150")
    return None, True


def _spaced(
    scan: notation.Scanner, units: Units | None, count: int | None, bar: Bar, mark: str | None
) -> SpacedBars:
    start = scan.at
    spacing, unit = _spacing(scan, units, bar)
    read = SpacedBars(bar, spacing, unit, count, mark)
    low, high = SPACING_RANGE_MM
    if read.spacing_mm <= bar.diameter_mm:
        swapped = (
            f"{bar.prefix}{spacing:g}-{bar.size.name}"
            if bar.prefix not in ("#", "M")
            else f"{bar.text}@{spacing:g}in"
        )
        raise _StopError(
            start,
            f"The spacing {spacing:g} {unit} is not larger than the bar, {bar.diameter_mm:g} mm.",
            swapped,
        )
    if not low <= read.spacing_mm <= high:
        if unit == "mm" and read.spacing_mm < low:
            nearest = f"{bar.text}@{spacing:g}in" if bar.prefix == "#" else f"{bar.text}@{spacing * 10:g}"
        else:
            nearest = f"{bar.text}@{spacing:g}mm"
        raise _StopError(
            start, f"The spacing is {read.spacing_mm:g} mm; {low:g} to {high:g} mm are allowed.", nearest
        )
    return read


def _spacing(scan: notation.Scanner, units: Units | None, bar: Bar) -> tuple[float, Literal["mm", "in"]]:
    if found := scan.take(notation.FEET):
        return int(found[1]) * 12 + float(found[2] or 0), "in"
    if found := scan.take(notation.INCHES):
        if found[4]:
            return float(found[4]), "in"
        if int(found[3]) == 0:
            raise _StopError(found.start(3), "A fraction of an inch can't be divided by zero.")
        return float(int(found[1] or 0) + Fraction(int(found[2]), int(found[3]))), "in"
    found = scan.take(notation.METRIC)
    if found is None:
        raise _StopError(scan.at, "A spacing was needed here.")
    value, unit = float(found[1]), (found[2] or "").lower()
    if unit == "" and units == "inch" and bar.prefix == "#":
        return value, "in"
    return (value * 10 if unit == "cm" else value), "mm"


def _counted(scan: notation.Scanner, units: Units | None, first: BarGroup) -> CountedBars:
    groups = [first]
    while scan.take(notation.PLUS):
        start = scan.at
        count, bar = _group(scan, units)
        if count is None:
            raise _StopError(
                start, "Each part of a sum needs its number of bars.", f"{first.text} + 1-{bar.text}"
            )
        mark, spaced = _mark(scan, count)
        if spaced:
            raise _StopError(
                scan.at,
                "A sum is of numbers of bars; it can't hold a spacing.",
                f"{first.text} + {count}-{bar.text}",
            )
        groups.append(BarGroup(count, bar, mark))
    return CountedBars(tuple(groups))


def _tail(
    scan: notation.Scanner, read: SpacedBars | CountedBars, legs: int | None
) -> SpacedBars | CountedBars:
    centres, layer = False, None
    while scan.rest.strip():
        start = scan.at
        if isinstance(read, SpacedBars) and not centres and scan.take(notation.CENTRES):
            centres = True
        elif layer is None and (found := scan.take(notation.LAYER)):
            layer = cast("LayerName", found[1].upper())
        elif isinstance(read, SpacedBars) and legs is None and (found := scan.take(notation.LEGS)):
            legs = int(found[1])
        else:
            start += len(scan.rest) - len(scan.rest.lstrip())
            raise _StopError(start, f'"{_word(scan.text[start:])}" is not understood after {read.text}.')
    if legs is None:
        return replace(read, layer=layer)
    if not LEGS_RANGE[0] <= legs <= LEGS_RANGE[1]:
        raise _StopError(0, f"{legs} legs: {LEGS_RANGE[0]} to {LEGS_RANGE[1]} are allowed.", read.text)
    if isinstance(read, CountedBars):
        raise _StopError(0, "Legs belong to links at a spacing, not to a number of bars.", read.text)
    return replace(read, layer=layer, legs=legs)


def _refuse_two_readings(read: SpacedBars | CountedBars, units: Units | None, position: int) -> None:
    """#10 is 32.3 mm in the inch series and 9.5 mm in the soft-metric one; a metric neighbourhood leaves it open."""
    if isinstance(read, SpacedBars):
        bars, metric = [read.bar], read.unit == "mm"
        if read.mark is not None and read.count is None and _looks_like_spacing(read.mark):
            raise _StopError(
                position,
                f"{read.mark} may be a bar mark or a spacing.",
                replace(read, mark=None, spacing=float(read.mark), unit="mm").text,
            )
    else:
        bars, metric = [group.bar for group in read.groups], units == "mm"
    if metric and any(bar.size.name == "#10" for bar in bars):
        raise _StopError(
            position,
            "#10 may mean the inch size (32.3 mm) or the metric name of #3 (9.5 mm).",
            read.text.replace("#10", "#3"),
        )


def _looks_like_spacing(mark: str) -> bool:
    return mark.isdigit() and mark[0] != "0" and int(mark) >= SPACING_RANGE_MM[0]


def _word(text: str) -> str:
    return (text.split() or [text])[0][:20]


def _nearest(plain: str, stop: _StopError, units: Units | None) -> str:
    """Find a readable call-out close to what was written; every offer is itself read before it is made."""
    figures = [figure.split(".")[0] for figure in re.findall(r"\d+(?:\.\d+)?", plain)]
    offers = [stop.instead, plain[: stop.position].rstrip(" -@/+")]
    if "list holds a bar" in stop.wrong:
        offers = [
            *([f"T{figures[1]}-{figures[0]}"] if len(figures) > 1 else []),
            _with_size(plain, stop),
            *offers,
        ]
    if len(figures) >= 2:
        first, last = figures[0], figures[-1]
        offers += [*(f"T{first}-{figure}" for figure in figures[1:]), f"T{last}-{first}", f"T{first}-{last}0"]
    for offer in offers:
        try:
            return _callout(notation.Scanner(offer.strip()), units).text
        except _StopError:
            continue
    return "T10-150"


def _with_size(plain: str, stop: _StopError) -> str:
    """The same call-out with the nearest listed size in place of the unlisted one."""
    head, tail = plain[: stop.position], plain[stop.position :]
    return head + re.sub(r"#?\d+M?", stop.instead, tail, count=1)
