"""What a sheet says in inches beside millimetres, against exact factors and values printed in guides."""

from __future__ import annotations

import pytest

from verifier.pipeline.papers.inches import beside

NIST = "NIST SP 811 (2008), appendix B: 1 in = 25.4 mm, 1 ft = 0.3048 m, 1 yd = 0.9144 m exactly"


@pytest.mark.source(NIST)
@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            "gap 180.9 ± 3.3 mm of 180 to 220 mm",
            "gap 180.9 ± 3.3 mm (7.12 ± 0.13 in) of 180 to 220 mm (7.09 to 8.66 in)",
        ),
        ("6.5 m³", "6.5 m³ (8.5 yd³)"),
        ("7 m3 per hour", "7 m3 per hour (9.2 yd³/h)"),
        ("hose 30 m, line 100 mm", "hose 30 m (98.4 ft), line 100 mm (3.94 in)"),
        ("-6 to +12 mm", "-6 to +12 mm (-0.24 to 0.47 in)"),
        (
            "at least 335 mm²/m, 26 kN/m3, 350 kg/m3, 30 min",
            "at least 335 mm²/m, 26 kN/m3, 350 kg/m3, 30 min",
        ),
    ],
)
def test_lengths_and_volumes(text: str, told: str) -> None:
    assert beside(text) == told


@pytest.mark.source("ACI 301-20 and ACI 305.1-14: 95 F (35 C); EN 206: 5 C is 41 F")
def test_temperatures() -> None:
    assert beside("5 to 35 C") == "5 to 35 C (41 to 95 F)"
