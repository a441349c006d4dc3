"""What a development or lap length depends on, whatever the code."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LapCase:
    """One bar in its place. An unknown cover or clear distance counts as 0, which gives the longer length.

    The place (``top_cast``, ``corner``, ``direct_tension``) can't be guessed: its defaults are the favourable ones.

    Attributes:
        bar_mm: Nominal diameter; of two diameters the smaller for IS 456, the thicker else. [mm], > 0
        fy_mpa: Yield strength. [MPa], > 0
        strength_mpa: Concrete strength on the code's own specimen. [MPa], > 0
        cover_mm: Least cover to the bar, 0 where not known. [mm]
        clear_mm: Clear distance to the next bar, or between adjacent laps, 0 where not known. [mm]
        plain: Plain round bar.
        compression: Bar in compression.
        direct_tension: Section wholly in tension.
        top_cast: Horizontal bar with more fresh concrete under it than the code's limit.
        corner: Bar at the corner of a section.
        minimum_links: At least the code's minimum links along the length.
        share_lapped: Share of bars lapped in one section, 0 to 1.
        steel_ratio: Steel provided over steel required.
    """

    bar_mm: float
    fy_mpa: float
    strength_mpa: float
    cover_mm: float = 0.0
    clear_mm: float = 0.0
    plain: bool = False
    compression: bool = False
    direct_tension: bool = False
    top_cast: bool = False
    corner: bool = False
    minimum_links: bool = False
    share_lapped: float = 1.0
    steel_ratio: float = 1.0

    def __post_init__(self) -> None:
        for name in ("bar_mm", "fy_mpa", "strength_mpa"):
            if getattr(self, name) <= 0:
                raise ValueError(f"{name} is {getattr(self, name)}; it is above zero.")
        for name in ("cover_mm", "clear_mm", "steel_ratio"):
            if getattr(self, name) < 0:
                raise ValueError(f"{name} is {getattr(self, name)}; it is not negative.")
        if not 0 < self.share_lapped <= 1:
            raise ValueError(f"share_lapped is {self.share_lapped}; it lies above 0 and up to 1.")
