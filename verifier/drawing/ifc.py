"""Building models in IFC: slabs, reinforcing bars and meshes read as drawing values. Needs the package ifcopenshell."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np

from verifier.drawing.from_model import ModelBar, ModelReading, ModelSlab, drawing_values
from verifier.drawing.solids import Solid, axis, bodies, soffit, welded, width_m
from verifier.drawing.toml_text import entry_text
from verifier.errors import BadInput

LARGEST_BYTES = 500_000_000
LONGEST_MARK = 32


def read_model(path: Path, *, storey: str | None = None) -> ModelReading:
    """Read slabs and their straight bars from an IFC model.

    Args:
        path: The .ifc file.
        storey: Name of the storey to read; None reads the whole model.

    Returns:
        Slab tables in the keys of pour.toml, and notes on everything that was not read.

    Raises:
        BadInput: If ifcopenshell is not installed, or the file is no IFC model, or has no such storey.

    Source:
        ISO 16739-1 (IFC 4.3): IfcSlab, IfcReinforcingBar, IfcReinforcingMesh.
    """
    ifcopenshell = _package()
    model = _open(ifcopenshell, path)
    slabs, notes = _slabs(ifcopenshell, _in_storey(model, storey, path))
    bars, told = _bars(ifcopenshell, model)
    reading = drawing_values(slabs, bars)
    return ModelReading(reading.slabs, (*notes, *told, *reading.notes))


def slab_text(reading: ModelReading) -> str:
    """Write what a model says as ``[[slab]]`` tables to put into pour.toml.

    Args:
        reading: What was read.

    Returns:
        TOML with the notes as comments; keys that the model does not hold are left for the drawing to fill.
    """
    notes = "".join(f"# Not read: {' '.join(note.split())}\n" for note in reading.notes)
    return f"# Read from a model; compare with the drawing, which governs.\n{notes}" + "".join(
        entry_text("slab", slab) for slab in reading.slabs
    )


def _package() -> Any:
    try:
        package = import_module("ifcopenshell")
        for part in ("geom", "util.element", "util.unit"):
            import_module(f"ifcopenshell.{part}")
    except ImportError as error:
        raise BadInput(
            "Reading a building model needs the package ifcopenshell, which is not installed.",
            where="model",
            todo="Install it with: pip install ifcopenshell. Or fill in pour.toml or a schedule.",
        ) from error
    return package


def _open(ifcopenshell: Any, path: Path) -> Any:
    if not path.is_file():
        raise BadInput("There is no such file.", where=str(path), todo="Check the name.")
    if path.stat().st_size > LARGEST_BYTES:
        raise BadInput(
            f"The file is larger than {LARGEST_BYTES // 1_000_000} MB.",
            where=str(path),
            todo="Export the storey of the pour alone.",
        )
    with path.open("rb") as file:
        if not file.read(200).lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"ISO-10303-21;"):
            raise BadInput("This is no IFC model.", where=str(path), todo="Export the model as .ifc (STEP).")
    try:
        return ifcopenshell.open(str(path))
    except (RuntimeError, OSError, ifcopenshell.Error) as error:
        raise BadInput(
            f"The model can't be read: {error}.", where=str(path), todo="Export the model as .ifc once more."
        ) from error


def _in_storey(model: Any, storey: str | None, path: Path) -> list[Any]:
    if storey is None:
        return list(model.by_type("IfcSlab"))
    storeys = {entity.Name: entity for entity in model.by_type("IfcBuildingStorey")}
    if storey not in storeys:
        named = ", ".join(str(name) for name in storeys) or "none"
        raise BadInput(
            f'There is no storey "{storey}".', where=str(path), todo=f"Storeys of the model: {named}."
        )
    element = import_module("ifcopenshell.util.element")
    return [slab for slab in model.by_type("IfcSlab") if element.get_container(slab) == storeys[storey]]


def _slabs(ifcopenshell: Any, entities: list[Any]) -> tuple[list[ModelSlab], list[str]]:
    slabs: list[ModelSlab] = []
    notes: list[str] = []
    for entity in entities:
        mark, told = _mark(entity, {slab.mark for slab in slabs})
        notes += told
        solid = _solid(ifcopenshell, entity)
        face = None if solid is None else soffit(solid)
        if solid is None or face is None:
            notes.append(f"{mark}: it has no shape, or no level underside; left out.")
            continue
        thickness_m = float(solid.vertices_m[:, 2].max()) - face.z_m
        slabs.append(ModelSlab(mark, face, thickness_m, solid.volume_m3))
    return slabs, notes


def _mark(entity: Any, taken: set[str]) -> tuple[str, list[str]]:
    """Name of a slab, or its tag or global id where the name can't serve as a mark."""
    for candidate in (entity.Name, entity.Tag, entity.GlobalId):
        mark = str(candidate or "").strip()
        if mark and len(mark) <= LONGEST_MARK and mark.isprintable() and mark not in taken:
            named = [] if candidate == entity.Name else [f'slab "{entity.Name}" is marked {mark}.']
            return mark, named
    raise BadInput("A slab has neither name, tag nor id.", where="model", todo="Name the slabs in the model.")


def _bars(ifcopenshell: Any, model: Any) -> tuple[list[ModelBar], list[str]]:
    bars: list[ModelBar] = []
    notes: list[str] = []
    bent = unsized = shapeless = 0
    for entity in (*model.by_type("IfcReinforcingBar"), *model.by_type("IfcReinforcingMesh")):
        solid = _solid(ifcopenshell, entity)
        if solid is None:
            shapeless += 1
            continue
        for body in bodies(solid):
            diameter_mm = _diameter_mm(entity, body)
            line = None if diameter_mm is None else axis(body, diameter_m=diameter_mm / 1000)
            if diameter_mm is None:
                unsized += 1
            elif line is None:
                bent += 1
            else:
                plain = _said(entity, "BarSurface") == "PLAIN"
                grade = _said(entity, "SteelGrade")
                bars.append(ModelBar(line, diameter_mm, plain, None if grade is None else str(grade)))
    for count, what in (
        (bent, "bent bars"),
        (unsized, "bars without a diameter"),
        (shapeless, "bars without a shape"),
    ):
        if count:
            notes.append(f"{count} {what}; left out.")
    return bars, notes


def _diameter_mm(entity: Any, body: Solid) -> float | None:
    """Nominal diameter as the element or its type states it; a mesh states one for each direction."""
    unit = import_module("ifcopenshell.util.unit")
    to_mm = 1000 * float(unit.calculate_unit_scale(entity.file))
    stated = [
        round(float(value) * to_mm, 3)
        for name in ("NominalDiameter", "LongitudinalBarNominalDiameter", "TransverseBarNominalDiameter")
        if (value := _said(entity, name)) is not None
    ]
    if len(set(stated)) <= 1:
        return stated[0] if stated else None
    drawn_mm = 1000 * width_m(body)
    return min(stated, key=lambda value: abs(value - drawn_mm))


def _said(entity: Any, name: str) -> Any:
    """An attribute of the element, or of its type where the element leaves it open."""
    element = import_module("ifcopenshell.util.element")
    value = getattr(entity, name, None)
    return getattr(element.get_type(entity), name, None) if value is None else value


def _solid(ifcopenshell: Any, entity: Any) -> Solid | None:
    """Triangles of an element in world coordinates, openings cut out."""
    if entity.Representation is None:
        return None
    settings = ifcopenshell.geom.settings()
    settings.set("use-world-coords", True)
    try:
        shape = ifcopenshell.geom.create_shape(settings, entity)
    except RuntimeError:
        return None
    vertices = np.array(shape.geometry.verts, dtype=np.float64).reshape(-1, 3)
    triangles = np.array(shape.geometry.faces, dtype=np.int64).reshape(-1, 3)
    return welded(Solid(vertices, triangles)) if len(triangles) else None
