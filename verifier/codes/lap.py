"""Development and lap length by whichever rule the code has."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from verifier.codes.lap_aci318 import RootLap, development_by_root, lap_by_root
from verifier.codes.lap_as3600 import FactorLap, development_by_factors, lap_by_factors
from verifier.codes.lap_case import LapCase
from verifier.codes.lap_en1992 import DesignBondLap, anchorage_by_bond, lap_by_bond
from verifier.codes.lap_is456 import BondStressLap, development_by_bond_stress, lap_by_bond_stress
from verifier.codes.limit import Limit

LapRule = Annotated[BondStressLap | RootLap | DesignBondLap | FactorLap, Field(discriminator="form")]


def development_length(rule: BondStressLap | RootLap | DesignBondLap | FactorLap, case: LapCase) -> Limit:
    """Return the length that develops the yield strength of a straight bar.

    Args:
        rule: The code's values.
        case: The bar in its place.

    Returns:
        Development (anchorage) length. [mm]

    Raises:
        BadInput: If the code's rule does not cover the case.

    Source:
        IS 456:2000 26.2.1; ACI 318-19 25.4.2.3; EN 1992-1-1:2004 8.4.4; AS 3600:2018 13.1.2.
    """
    match rule:
        case BondStressLap():
            return development_by_bond_stress(rule, case)
        case RootLap():
            return development_by_root(rule, case)
        case DesignBondLap():
            return anchorage_by_bond(rule, case)
        case FactorLap():
            return development_by_factors(rule, case)


def lap_length(rule: BondStressLap | RootLap | DesignBondLap | FactorLap, case: LapCase) -> Limit:
    """Return the lap length of straight bars.

    Args:
        rule: The code's values.
        case: The bar in its place.

    Returns:
        Lap length. [mm]

    Raises:
        BadInput: If the code's rule does not cover the case.

    Source:
        IS 456:2000 26.2.5.1; ACI 318-19 25.5; EN 1992-1-1:2004 8.7.3; AS 3600:2018 13.2.2.
    """
    match rule:
        case BondStressLap():
            return lap_by_bond_stress(rule, case)
        case RootLap():
            return lap_by_root(rule, case)
        case DesignBondLap():
            return lap_by_bond(rule, case)
        case FactorLap():
            return lap_by_factors(rule, case)
