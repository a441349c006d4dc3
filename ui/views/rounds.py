"""Inspection rounds: item by item, hold points, signatures."""

from __future__ import annotations

from ui.parts import pour
from ui.parts.inspection import rounds

rounds.show(pour.entered())
