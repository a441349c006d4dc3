"""What is asked for: the pour's drawing values, bar call-outs and their readers."""

from verifier.drawing.bars import Bar, BarGroup, CountedBars, LayerName, SpacedBars
from verifier.drawing.callout import UnreadableCallout, parse, parse_counted, parse_spaced, write
from verifier.drawing.fault import Fault
from verifier.drawing.pour import (
    Beam,
    Layer,
    People,
    Pour,
    Role,
    Slab,
    Spot,
    Tolerance,
)
from verifier.drawing.read import DrawingFaults, pour_from_table, pour_from_text, read_pour
from verifier.drawing.template import template_text, write_template

__all__ = [
    "Bar",
    "BarGroup",
    "Beam",
    "CountedBars",
    "DrawingFaults",
    "Fault",
    "Layer",
    "LayerName",
    "People",
    "Pour",
    "Role",
    "Slab",
    "SpacedBars",
    "Spot",
    "Tolerance",
    "UnreadableCallout",
    "parse",
    "parse_counted",
    "parse_spaced",
    "pour_from_table",
    "pour_from_text",
    "read_pour",
    "template_text",
    "write",
    "write_template",
]
