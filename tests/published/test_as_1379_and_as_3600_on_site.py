"""Sampling, acceptance, curing, striking and order limits of the Australian standards; all from memory and marked so."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from verifier.concrete.cubes import as1379_acceptance
from verifier.concrete.curing import as3600_curing
from verifier.concrete.sampling import as1379_samples, samples_by_code
from verifier.concrete.supply import age_limit, slump_off_by_mm
from verifier.errors import BadInput, Refusal
from verifier.formwork.striking_days import as3600_dates
from verifier.formwork.tolerances import section_bounds

END = datetime(2026, 6, 1, 14, 0, tzinfo=UTC)


@pytest.mark.source("AS 1379:2007, project assessment, batches a day, from memory")
@pytest.mark.parametrize(
    ("batches", "samples"),
    [(1, 1), (2, 2), (5, 2), (6, 3), (10, 3), (11, 4), (20, 4), (21, 5), (30, 5), (31, 6)],
)
def test_samples_by_batches(batches: int, samples: int) -> None:
    asked = as1379_samples(batches)
    assert (asked.samples, asked.specimens) == (samples, 2 * samples)
    assert "from memory" in asked.source


@pytest.mark.source("AS 1379:2007, project assessment, from memory (48 m3 in loads of 6 m3 are 8 batches)")
def test_a_pour_counts_its_truck_loads() -> None:
    assert samples_by_code("AS 3600:2018", 48.0, 320.0).samples == 3
    assert samples_by_code("AS 3600:2018", 48.0, 320.0, truck_m3=4.0).samples == 4
    assert samples_by_code("AS 3600:2018", 0.4, 3.0).because == "1 batch"
    with pytest.raises(BadInput):
        as1379_samples(0)


@pytest.mark.source(
    "AS 1379:2007, project assessment, from memory: mean of three at f'c, none below 0.85 f'c"
)
def test_acceptance_of_three_consecutive_results() -> None:
    assert as1379_acceptance(32, [33, 31, 32]).verdict == "met"
    low = as1379_acceptance(32, [40, 27.1, 40])
    assert (low.verdict, low.why) == ("not met", ("result 27.1 MPa is below 27.2 MPa",))
    assert as1379_acceptance(32, [32, 32, 31]).why == ("results 1 to 3: mean 31.67 MPa is below 32 MPa",)
    assert as1379_acceptance(32, [40, 40]).verdict == "not yet judged"
    assert as1379_acceptance(32, []).verdict == "not yet judged"


@pytest.mark.source("AS 3600:2018, table 4.4, from memory")
@pytest.mark.parametrize(
    ("exposures", "days", "strength"),
    [
        (["A1"], 3, "15 MPa"),
        (["A1", "B1"], 7, "20 MPa"),
        (["C2"], 7, "32 MPa"),
        ([], 7, "32 MPa"),
        (["U"], 7, "32 MPa"),
    ],
)
def test_curing_by_exposure(exposures: list[str], days: int, strength: str) -> None:
    need = as3600_curing(exposures)
    assert need.days == days
    assert strength in need.note
    assert "from memory" in need.source


@pytest.mark.source("AS 3610-1995, table 5.4.1, and AS 3600, from memory")
@pytest.mark.parametrize(
    ("mean_c", "sides", "soffit", "props"),
    [(20.5, 1, 4, 12), (20.0, 2, 6, 18), (12.0, 3, 8, 24), (5.1, 3, 8, 24)],
)
def test_striking_by_mean_air_temperature(mean_c: float, sides: int, soffit: int, props: int) -> None:
    found = as3600_dates(END, slab=True, beams=True, mean_temperature_c=mean_c)
    assert not isinstance(found, Refusal)
    days = {d.part: (d.earliest - END).days for d in found}
    assert days == {
        "sides": sides,
        "slab soffit, props stay": soffit,
        "slab props": props,
        "beam soffit, props stay": soffit,
        "beam props": props,
    }
    assert "from memory" in found[0].source


@pytest.mark.source("AS 3610-1995, table 5.4.1, from memory: no row at 5 C and below")
def test_no_days_in_the_cold() -> None:
    found = as3600_dates(END, slab=True, beams=False, mean_temperature_c=5.0)
    assert isinstance(found, Refusal)
    assert "5 C" in found.say


@pytest.mark.source(
    "AS 1379:2007, from memory: 90 min; slump 60 +-10, 80 +-15, 110 +-20, 150 +-30, above +-40"
)
def test_limits_of_the_order() -> None:
    assert age_limit("AS 1379").minutes == 90
    steps = [(60, 10), (80, 15), (100, 20), (150, 30), (180, 40)]
    assert [slump_off_by_mm("AS 1379", s) for s, _ in steps] == [m for _, m in steps]


@pytest.mark.source("AS 3600:2018, 17.5.2, from memory: the larger of 5 mm and 1/200")
@pytest.mark.parametrize(("size", "off"), [(200, 5), (1000, 5), (1600, 8)])
def test_section(size: float, off: float) -> None:
    bounds = section_bounds("AS 3600:2018", size)
    assert (bounds.low_mm, bounds.high_mm, bounds.status) == (-off, off, "from memory")
