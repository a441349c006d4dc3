"""Cover blocks and chairs: BS 7973-2:2001 and handbook practice."""

from __future__ import annotations

import pytest

from verifier.codes import load_code
from verifier.codes.supports import largest_pitch


@pytest.mark.source("BS 7973-2:2001, section 8 (R): 50 bar diameters, at most 1000 mm")
@pytest.mark.parametrize(("bar", "pitch"), [(8, 400), (10, 500), (16, 800), (25, 1000)])
def test_blocks_under_slab_bars(bar: float, pitch: float) -> None:
    supports = load_code("EN 1992-1-1:2004").supports
    assert supports is not None
    found = largest_pitch(supports.block_slab, bar_mm=bar)
    assert found.value == pitch
    assert found.edition == "BS 7973-2:2001"


@pytest.mark.source("BS 7973-2:2001, section 8 (R)")
def test_blocks_under_fabric() -> None:
    supports = load_code("EN 1992-1-1:2004").supports
    assert supports is not None
    assert supports.block_fabric is not None
    assert largest_pitch(supports.block_fabric, bar_mm=8).value == 500


@pytest.mark.source(
    "Indian handbook practice, not a code (R): chairs up to 1000 mm apart, of bars from 12 mm"
)
def test_chairs_in_india() -> None:
    supports = load_code("IS 456:2000").supports
    assert supports is not None
    assert supports.chair is not None
    assert supports.chair.least_bar_mm == 12
    assert largest_pitch(supports.chair, bar_mm=10).value == 1000


@pytest.mark.source("Australian housing provisions (R): bar chairs up to 800 mm apart")
def test_chairs_in_australia() -> None:
    supports = load_code("AS 3600:2018").supports
    assert supports is not None
    assert largest_pitch(supports.block_slab, bar_mm=12).value == 800
