"""Short forms of forms and props: a grid of props, what a side may carry, a reading; typed values stay until they are written."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final, Literal

import streamlit as st

from ui import words
from ui.parts import forms, plain
from verifier.drawing.pour import Pour
from verifier.errors import BadInput
from verifier.formwork.figures import formwork_figures
from verifier.pipeline.concreting.falsework import write_falsework
from verifier.pipeline.concreting.falsework_file import read_falsework

Table = Literal["grid", "side", "found"]
Form = Callable[[Path, Pour], tuple[dict[str, Any], str] | None]
_OF_ELEMENT: Final = ("width", "depth", "thickness")


def edit(folder: Path, drawing: Pour) -> None:
    """Show the short forms; each writes one entry of falsework.toml.

    Args:
        folder: The pour folder.
        drawing: Drawing values, for the marks.
    """
    for table, form in _FORMS.items():
        with st.expander(words.FALSEWORK_FORM[table], key=f"falsework-{table}", on_change="rerun"):
            filled = form(folder, drawing)
            whole = filled is not None
            if forms.button(words.FALSEWORK_WRITE, whole=whole, key=f"falsework-write-{table}"):
                _write(folder, table, *(filled or ({}, "")))


def _write(folder: Path, table: Table, entry: Mapping[str, Any], loads: str) -> None:
    try:
        write_falsework(folder, table, entry, loads)
    except BadInput as error:
        plain.fault(words.FALSEWORK_NOT_WRITTEN, error, where=False)
    else:
        forms.forget(folder, f"falsework-{table}")
        st.rerun()


def _grid(folder: Path, drawing: Pour) -> tuple[dict[str, Any], str] | None:
    form, names = "falsework-grid", words.FALSEWORK_FIELD
    rules = {rule.name: words.said(rule.name) for rule in formwork_figures().load_rule}
    loads = forms.choice(folder, form, "loads", names["loads"], rules, start=_loads(folder))
    slabs = {slab.mark: slab.mark for slab in drawing.slabs}
    if not slabs:
        plain.paragraph(words.FALSEWORK_NO_SLAB, quiet=True)
        return None
    slab = forms.choice(folder, form, "slab", names["slab"], slabs)
    numbers = _numbers(folder, "spacing_x_m", "spacing_y_m")
    prop = forms.text(folder, form, "prop", names["prop"])
    numbers |= _numbers(folder, "extension_m", "safe_load_kn")
    source = forms.text(folder, form, "safe_load_source", names["safe_load_source"])
    numbers |= _numbers(folder, "service_load_kn_m2", "on_it_kn_m2")
    entry = {"slab": slab, "prop": prop or None, "safe_load_source": source or None} | numbers
    by_class = bool(prop) and numbers["extension_m"] is not None
    by_table = numbers["safe_load_kn"] is not None and bool(source)
    spaced = numbers["spacing_x_m"] is not None and numbers["spacing_y_m"] is not None
    return (entry, loads) if spaced and (by_class or by_table) else None


def _numbers(folder: Path, *names: str) -> dict[str, float | None]:
    labels = words.FALSEWORK_FIELD
    return {name: forms.number(folder, "falsework-grid", name, labels[name]) for name in names}


def _loads(folder: Path) -> str:
    """The standard that the file names already; a broken file is told above and not here."""
    try:
        file = read_falsework(folder)
    except BadInput:
        return ""
    return file.loads if file is not None else ""


def _side(folder: Path, drawing: Pour) -> tuple[dict[str, Any], str] | None:
    form, names = "falsework-side", words.FALSEWORK_FIELD
    blocks = (*drawing.drops, *drawing.upstands)
    marks = {mark: mark for mark in (*drawing.marks, *(b.mark for b in blocks))}
    element = forms.choice(folder, form, "element", names["element"], marks)
    may = forms.number(folder, form, "may_carry_kpa", names["may_carry_kpa"])
    source = forms.text(folder, form, "may_carry_source", names["may_carry_source"])
    height = forms.number(folder, form, "height_m", names["height_m"])
    entry = {"element": element, "may_carry_kpa": may, "may_carry_source": source, "height_m": height}
    return (entry, "") if may is not None and source else None


def _found(folder: Path, drawing: Pour) -> tuple[dict[str, Any], str] | None:
    form, names = "falsework-found", words.FALSEWORK_FIELD
    what = forms.choice(folder, form, "what", names["what"], words.FALSEWORK_LOOKED)
    marks = {mark: mark for mark in drawing.marks}
    element = forms.choice(folder, form, "element", names["element"], marks) if what in _OF_ELEMENT else None
    place = forms.text(folder, form, "place", words.LOG_FIELD["place"])
    planned = None
    if what in ("soffit level", "plan position"):
        planned = forms.number(folder, form, "planned_mm", names["planned_mm"])
    found = forms.number(folder, form, "found_mm", names["found_mm"])
    doubt = forms.number(folder, form, "uncertainty_mm", words.LEVEL_DOUBT)
    entry = {
        "what": what,
        "element": element,
        "place": place,
        "planned_mm": planned,
        "found_mm": found,
        "uncertainty_mm": doubt,
    }
    return (entry, "") if place and found is not None and doubt is not None else None


_FORMS: Final[Mapping[Table, Form]] = {"grid": _grid, "side": _side, "found": _found}
