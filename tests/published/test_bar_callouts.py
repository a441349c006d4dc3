"""Bar call-outs as drawings write them.

Notations: BS 8666:2005 and British detailing practice (number, type, diameter, mark, spacing, layer); ACI detailing
practice for inch sizes; Indian, continental and Australian site practice (common practice, no source). Sizes: ASTM A615.
"""

from __future__ import annotations

import pytest

from verifier.drawing import CountedBars, SpacedBars, parse


def spaced(text: str, **how: str) -> SpacedBars:
    read = parse(text, **how)
    assert isinstance(read, SpacedBars)
    return read


def counted(text: str, **how: str) -> CountedBars:
    read = parse(text, **how)
    assert isinstance(read, CountedBars)
    return read


@pytest.mark.source(
    "Common practice, no source: notations of Britain, India, the continent, Australia, South Africa"
)
@pytest.mark.parametrize(
    ("text", "diameter", "spacing"),
    [
        ("T10-150", 10, 150),
        ("T10@150", 10, 150),
        ("t10 - 150", 10, 150),
        ("T10–150", 10, 150),
        ("T10—150", 10, 150),
        ("T10−150", 10, 150),
        ("T10＠150", 10, 150),
        ("Ø12@200", 12, 200),
        ("ø12@200", 12, 200),
        ("⌀12@200", 12, 200),
        ("∅12@200", 12, 200),
        ("Φ12/150", 12, 150),
        ("φ12/150", 12, 150),
        ("ϕ12/150", 12, 150),
        ("12Ø@200", 12, 200),
        ("Ø12 / 15cm", 12, 150),
        ("Ø12@150mm", 12, 150),
        ("Y16 @ 125 c/c", 16, 125),
        ("Y16 @ 125 C/C", 16, 125),
        ("Y16@125 crs", 16, 125),
        ("H16-150", 16, 150),
        ("N12-200", 12, 200),
        ("HD12-200", 12, 200),
        ("R10@250", 10, 250),
        ("8 dia @ 200 c/c", 8, 200),
        ("8 mm dia. @ 200 mm c/c", 8, 200),
        ("8 dia at 200 centres", 8, 200),
        ("\u00a0T10\u2009-\u200a150 ", 10, 150),
    ],
)
def test_bars_at_a_spacing(text: str, diameter: float, spacing: float) -> None:
    read = spaced(text)
    assert (read.diameter_mm, read.spacing_mm) == (diameter, spacing)
    assert (read.count, read.mark, read.layer, read.legs) == (None, None, None, None)


@pytest.mark.source(
    "BS 8666:2005 with British detailing practice: number, type and size, mark, spacing, layer"
)
def test_number_size_mark_spacing_layer() -> None:
    read = spaced("10T12-03-200 B1")
    assert (read.count, read.diameter_mm, read.mark, read.spacing_mm, read.layer) == (10, 12, "03", 200, "B1")
    assert spaced("25H16-01-150B2").layer == "B2"
    assert spaced("T12-03-200 T1").mark == "03"
    assert spaced("10T12-200").count == 10


@pytest.mark.source("ASTM A615 table 1, ACI detailing practice (inch sizes, inches on centre)")
@pytest.mark.parametrize(
    ("text", "diameter", "area", "inches"),
    [
        ("#4@8in o.c.", 12.7, 129, 8),
        ("#4 @ 8 in. O.C.", 12.7, 129, 8),
        ('#5 @ 12"', 15.9, 199, 12),
        ("#5 @ 12”", 15.9, 199, 12),
        ("#5 @ 12″ oc", 15.9, 199, 12),
        ("No. 6 @ 10 in", 19.1, 284, 10),
        ('#4 @ 7 1/2"', 12.7, 129, 7.5),
        ("#3@6.5in", 9.5, 71, 6.5),
        ("#4 @ 1'-6\"", 12.7, 129, 18),
        ("#11@18in", 35.8, 1006, 18),
        ("#10@12in", 32.3, 819, 12),
    ],
)
def test_inch_sizes(text: str, diameter: float, area: float, inches: float) -> None:
    read = spaced(text)
    assert read.diameter_mm == diameter
    assert read.bar.area_mm2 == area
    assert read.spacing_mm == pytest.approx(inches * 25.4)


@pytest.mark.source("ASTM A615M: soft-metric names of the inch sizes (M)")
@pytest.mark.parametrize(
    ("text", "inch_size"), [("#13@200", "#4"), ("#16@150", "#5"), ("#25@300", "#8"), ("#36@300", "#11")]
)
def test_soft_metric_names(text: str, inch_size: str) -> None:
    assert spaced(text).bar.size.name == inch_size


@pytest.mark.source("CSA G30.18 (M): Canadian sizes")
def test_canadian_sizes() -> None:
    assert spaced("15M@300").bar.area_mm2 == 200
    assert counted("4-20M").area_mm2 == 1200


@pytest.mark.source("Common practice, no source: bars by number")
@pytest.mark.parametrize(
    ("text", "bars"),
    [
        ("3-T16", [(3, 16)]),
        ("3T16", [(3, 16)]),
        ("3×T16", [(3, 16)]),
        ("3 x T16", [(3, 16)]),
        ("3 nos. T16", [(3, 16)]),
        ("3 No. 16 dia", [(3, 16)]),
        ("3-16Ø", [(3, 16)]),
        ("(3) #5", [(3, 15.9)]),
        ("3-#5", [(3, 15.9)]),
        ("2-T16 + 1-T12", [(2, 16), (1, 12)]),
        ("2T16+1T12", [(2, 16), (1, 12)]),
        ("2H20-01", [(2, 20)]),
    ],
)
def test_bars_by_number(text: str, bars: list[tuple[int, float]]) -> None:
    read = counted(text)
    assert [(group.count, group.bar.diameter_mm) for group in read.groups] == bars
    assert read.count == sum(number for number, _ in bars)


@pytest.mark.source("Common practice, no source: two-legged links")
@pytest.mark.parametrize(
    "text", ["R8-200 2L", "R8-200 2 legs", "R8@200 c/c 2-legged", "2L-R8-200", "2L R8 @ 200"]
)
def test_links_with_two_legs(text: str) -> None:
    read = spaced(text)
    assert (read.diameter_mm, read.spacing_mm, read.legs, read.bar.plain) == (8, 200, 2, True)
    assert read.area_mm2_per_m == pytest.approx(2 * 251.3, abs=0.1)


@pytest.mark.source("SP 16:1980, table 96 (R): the area of a call-out")
@pytest.mark.parametrize(
    ("text", "area"),
    [("T8-150", 335), ("T10-125", 628), ("T12-150", 754), ("T16-200", 1005), ("T20-300", 1047)],
)
def test_area_of_a_callout(text: str, area: float) -> None:
    assert spaced(text).area_mm2_per_m == pytest.approx(area, abs=1)
