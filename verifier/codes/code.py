"""The shape of a code of practice: what its data file must hold. No rule is applied here."""

from __future__ import annotations

from pydantic import BaseModel

from verifier.codes.bent_up import BentUpPractice
from verifier.codes.cover import CoverRule, Durability, FireCover
from verifier.codes.grades import ConcreteGrades, SteelGrades
from verifier.codes.lap import LapRule
from verifier.codes.minimum_steel import MinimumSteel
from verifier.codes.spacing import Spacings
from verifier.codes.supports import SupportRules
from verifier.codes.tolerance_shapes import Tolerances


class Head(BaseModel, frozen=True, extra="forbid"):
    """Title and scope of a document; ``exposures`` in its own words, ``title_metric`` that of its metric edition."""

    title: str
    title_metric: str = ""
    name: str
    note: str = ""
    exposures: tuple[str, ...] = ()
    companions: tuple[str, ...] = ()


class Code(BaseModel, frozen=True, extra="forbid"):
    """One code of practice with its tolerances."""

    code: Head
    concrete: ConcreteGrades
    steel: SteelGrades
    cover: CoverRule
    durability: Durability | None = None
    fire: FireCover | None = None
    tolerance: Tolerances
    spacing: Spacings
    minimum: MinimumSteel
    lap: LapRule
    supports: SupportRules | None = None
    bent_up: BentUpPractice | None = None
