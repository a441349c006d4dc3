"""An open library for EN 1992-1-1:2004 as an oracle: structuralcodes, where it is installed."""

from __future__ import annotations

import pytest

from verifier.codes import load_code
from verifier.codes.lap_en1992 import DesignBondLap, characteristic_tensile_mpa
from verifier.codes.minimum_steel import mean_tensile_strength_mpa

ec2_2004 = pytest.importorskip("structuralcodes.codes.ec2_2004")
GRADES = sorted(load_code("EN 1992-1-1:2004").concrete.grades.values())


@pytest.mark.source("structuralcodes, EN 1992-1-1:2004 table 3.1")
@pytest.mark.parametrize("fck", GRADES)
def test_mean_tensile_strength(fck: float) -> None:
    rule = load_code("EN 1992-1-1:2004").lap
    assert isinstance(rule, DesignBondLap)
    found = mean_tensile_strength_mpa(rule.tension, strength_mpa=fck)
    assert found == pytest.approx(ec2_2004.fctm(fck), rel=1e-9)


@pytest.mark.source("structuralcodes, EN 1992-1-1:2004 table 3.1 before rounding to the printed decimal")
@pytest.mark.parametrize("fck", [grade for grade in GRADES if grade <= 60])
def test_characteristic_tensile_strength(fck: float) -> None:
    rule = load_code("EN 1992-1-1:2004").lap
    assert isinstance(rule, DesignBondLap)
    assert characteristic_tensile_mpa(rule, strength_mpa=fck) == pytest.approx(
        ec2_2004.fctk_5(ec2_2004.fctm(fck)), abs=0.0501
    )
