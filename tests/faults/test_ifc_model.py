"""Drawing values from an IFC model, written here by an open IFC library: what fits is read, what does not is told."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from verifier.drawing import ifc as ifc_room
from verifier.drawing import pour_from_text
from verifier.drawing.ifc import read_model, slab_text
from verifier.errors import BadInput

ifcopenshell = pytest.importorskip("ifcopenshell")
pytest.importorskip("ifcopenshell.geom")

HEAD = """
[pour]
id = "L2-east"
title = "Level 2"
code = "EN 1992-1-1:2004"
planned_start = 2026-11-26T06:30:00+01:00
exposure = "XC1"
[pour.concrete]
grade = "C25/30"
[people]
site_engineer = ["engineer-1"]
reviewer = ["reviewer-1"]
engineer_of_record = ["eor-1"]
"""


class Model:
    """A model with one storey; lengths in mm unless said otherwise."""

    def __init__(self, schema: str = "IFC4", *, turn_deg: float = 0.0, metres: bool = False) -> None:
        self.file = ifcopenshell.file(schema=schema)
        self.turn = math.radians(turn_deg)
        self.scale = 0.001 if metres else 1.0
        make = self.file.create_entity
        prefix = None if metres else "MILLI"
        units = make("IfcUnitAssignment", [make("IfcSIUnit", None, "LENGTHUNIT", prefix, "METRE")])
        origin = make("IfcAxis2Placement3D", self.point(0, 0, 0))
        self.context = make("IfcGeometricRepresentationContext", None, "Model", 3, 1e-5, origin)
        self.project = make(
            "IfcProject", self.guid(), None, "P", None, None, None, None, [self.context], units
        )
        self.storey = make("IfcBuildingStorey", self.guid(), None, "Level 2")
        self.slabs: list[Any] = []

    def guid(self) -> str:
        return str(ifcopenshell.guid.new())

    def point(self, *xyz: float) -> Any:
        return self.file.create_entity("IfcCartesianPoint", [float(v) * self.scale for v in xyz])

    def flat(self) -> Any:
        return self.file.create_entity(
            "IfcAxis2Placement2D", self.file.create_entity("IfcCartesianPoint", [0.0, 0.0])
        )

    def direction(self, *xyz: float) -> Any:
        return self.file.create_entity("IfcDirection", [float(v) for v in xyz])

    def turned(self, x: float, y: float) -> tuple[float, float]:
        c, s = math.cos(self.turn), math.sin(self.turn)
        return c * x - s * y, s * x + c * y

    def placed(self, x: float, y: float, z: float, axis: tuple[float, float, float] = (0, 0, 1)) -> Any:
        make = self.file.create_entity
        tx, ty = self.turned(x, y)
        ax, ay = self.turned(axis[0], axis[1])
        reference = self.turned(1, 0) if axis[2] else (0.0, 0.0)
        other = self.direction(*reference, 0) if axis[2] else self.direction(0, 0, 1)
        place = make("IfcAxis2Placement3D", self.point(tx, ty, z), self.direction(ax, ay, axis[2]), other)
        return make("IfcLocalPlacement", None, place)

    def body(self, profile: Any, length: float) -> Any:
        make = self.file.create_entity
        up = self.direction(0, 0, 1)
        solid = make(
            "IfcExtrudedAreaSolid",
            profile,
            make("IfcAxis2Placement3D", self.point(0, 0, 0)),
            up,
            length * self.scale,
        )
        shape = make("IfcShapeRepresentation", self.context, "Body", "SweptSolid", [solid])
        return make("IfcProductDefinitionShape", None, None, [shape])

    def polygon(self, corners: list[tuple[float, float]]) -> Any:
        make = self.file.create_entity
        line = make("IfcPolyline", [self.point(*corner) for corner in (*corners, corners[0])])
        return make("IfcArbitraryClosedProfileDef", "AREA", None, line)

    def slab(self, name: str | None, corners: list[tuple[float, float]], thickness: float, at: tuple[float, float, float] = (0, 0, 0)) -> Any:  # fmt: skip
        entity = self.file.create_entity(
            "IfcSlab", self.guid(), None, name, None, None, self.placed(*at), self.body(self.polygon(corners), thickness), "TAG-1"
        )  # fmt: skip
        self.slabs.append(entity)
        return entity

    def opening(self, slab: Any, profile: Any, at: tuple[float, float, float], depth: float) -> None:
        make = self.file.create_entity
        entity = make(
            "IfcOpeningElement",
            self.guid(),
            None,
            "O",
            None,
            None,
            self.placed(*at),
            self.body(profile, depth),
        )
        make("IfcRelVoidsElement", self.guid(), None, None, None, slab, entity)

    def bar(self, diameter: float, start: tuple[float, float, float], along: tuple[float, float, float], length: float, **said: Any) -> None:  # fmt: skip
        make = self.file.create_entity
        circle = make("IfcCircleProfileDef", "AREA", None, self.flat(), diameter / 2 * self.scale)
        entity = make(
            "IfcReinforcingBar", self.guid(), None, "R", None, None, self.placed(*start, axis=along), self.body(circle, length)
        )  # fmt: skip
        entity.NominalDiameter = diameter * self.scale
        entity.SteelGrade = said.get("grade", "B500B")
        if "surface" in said:
            entity.BarSurface = said["surface"]

    def mat(
        self,
        diameter: float,
        spacing: float,
        count: int,
        z: float,
        *,
        along: str,
        first: float,
        length: float,
    ) -> None:
        for i in range(count):
            offset = first + i * spacing
            start = (20.0, offset, z) if along == "x" else (offset, 20.0, z)
            self.bar(diameter, start, (1, 0, 0) if along == "x" else (0, 1, 0), length)

    def save(self, folder: Path) -> Path:
        make = self.file.create_entity
        make("IfcRelContainedInSpatialStructure", self.guid(), None, None, None, self.slabs, self.storey)
        self.file.write(str(folder / "model.ifc"))
        return folder / "model.ifc"


def simple(**how: Any) -> Model:
    """S1: 5.2 x 4.1 m, 150 thick, cover 20; B1 T10-150 along y, B2 T8-200 along x."""
    model = Model(**how)
    model.slab("S1", [(0, 0), (5200, 0), (5200, 4100), (0, 4100)], 150, at=(1000, 2000, 3000))
    for i in range(34):
        model.bar(10, (1000 + 125 + 150 * i, 2020, 3025), (0, 1, 0), 4060)
    for i in range(20):
        model.bar(8, (1020, 2000 + 150 + 200 * i, 3034), (1, 0, 0), 5160)
    return model


@pytest.mark.parametrize(
    "how", [{}, {"turn_deg": 30.0}, {"metres": True}, {"schema": "IFC2X3"}, {"schema": "IFC4X3"}], ids=str
)
def test_a_slab_with_two_layers(tmp_path: Path, how: dict[str, Any]) -> None:
    reading = read_model(simple(**how).save(tmp_path))
    (slab,) = reading.slabs
    assert slab["mark"] == "S1"
    assert slab["size_m"] == pytest.approx((5.2, 4.1), abs=2e-4)
    assert slab["position_m"] == pytest.approx((1.0, 2.0), abs=2e-4)
    assert slab["thickness_mm"] == pytest.approx(150)
    assert slab["cover_mm"] == {"bottom": pytest.approx(20, abs=0.2)}
    assert slab["layers"] == [
        {"layer": "B1", "callout": "34Ø10@150", "along": "y"},
        {"layer": "B2", "callout": "20Ø8@200", "along": "x"},
    ]
    assert slab["steel"] == {"grade": "B500B"}
    assert any("no bars at the top" in note for note in reading.notes)


def test_what_is_read_becomes_a_pour_once_the_drawing_fills_the_gaps(tmp_path: Path) -> None:
    text = slab_text(read_model(simple().save(tmp_path)))
    assert "# Not read: S1: no bars at the top" in text
    filled = text.replace("cover_mm = { bottom = 20 }", "cover_mm = { bottom = 20, top = 20 }")
    assert filled != text
    pour = pour_from_text((HEAD + filled).encode(), where="model")
    slab = pour.slabs[0]
    assert slab.bars_across(slab.layers[0]) == 34
    assert slab.net_area_m2 == pytest.approx(21.32)


def test_a_top_mat_counts_its_layers_from_the_top(tmp_path: Path) -> None:
    model = Model()
    model.slab("S1", [(0, 0), (3000, 0), (3000, 2000), (0, 2000)], 200)
    model.mat(12, 150, 10, 200 - 25 - 6, along="x", first=100, length=2960)
    model.mat(10, 200, 14, 200 - 25 - 12 - 5, along="y", first=100, length=1960)
    (slab,) = read_model(model.save(tmp_path)).slabs
    assert slab["cover_mm"] == {"top": pytest.approx(25, abs=0.2)}
    assert [(layer["layer"], layer["callout"], layer["along"]) for layer in slab["layers"]] == [
        ("T1", "10Ø12@150", "x"),
        ("T2", "14Ø10@200", "y"),
    ]


def test_openings_recesses_and_an_outline_with_a_step(tmp_path: Path) -> None:
    model = Model()
    slab = model.slab("S1", [(0, 0), (5200, 0), (5200, 4100), (2000, 4100), (2000, 3000), (0, 3000)], 200)
    rectangle = model.file.create_entity("IfcRectangleProfileDef", "AREA", None, None, 600.0, 400.0)
    circle = model.file.create_entity("IfcCircleProfileDef", "AREA", None, None, 50.0)
    model.opening(slab, rectangle, (1300, 1200, -10), 250)
    model.opening(slab, circle, (4000, 1000, -10), 250)
    model.opening(slab, rectangle, (4000, 3000, 150), 60)
    reading = read_model(model.save(tmp_path))
    (table,) = reading.slabs
    assert len(table["outline_m"]) == 6
    assert table["openings_m"] == [pytest.approx((1.0, 1.0, 0.6, 0.4), abs=2e-4)]
    told = " ".join(reading.notes)
    assert "no upright rectangle; left out" in told
    assert "recesses, steps or drops" in told
    assert "no layer could be read" in told


def test_bars_that_do_not_make_a_layer_are_told_not_averaged(tmp_path: Path) -> None:
    model = simple()
    model.bar(10, (1000 + 125 + 150 * 33 + 60, 2020, 3025), (0, 1, 0), 4060)
    reading = read_model(model.save(tmp_path))
    assert [layer["layer"] for layer in reading.slabs[0]["layers"]] == ["B2"]
    assert any("B1: gaps along y are 60 to 150 mm" in note for note in reading.notes)


def test_two_bars_on_one_line_are_one_line(tmp_path: Path) -> None:
    model = Model()
    model.slab("S1", [(0, 0), (9000, 0), (9000, 2000), (0, 2000)], 200)
    model.mat(12, 150, 10, 31, along="x", first=100, length=5000)
    for i in range(10):
        model.bar(12, (4400, 100 + 150 * i, 31), (1, 0, 0), 4500)
    assert read_model(model.save(tmp_path)).slabs[0]["layers"][0]["callout"] == "10Ø12@150"


def test_plain_bars_inch_sizes_and_no_size(tmp_path: Path) -> None:
    for diameter, surface, expected in ((8, "PLAIN", "10R8-150"), (12.7, None, "10#4@150"), (13, None, None)):
        model = Model()
        model.slab("S1", [(0, 0), (3000, 0), (3000, 2000), (0, 2000)], 200)
        for i in range(10):
            said = {"surface": surface} if surface else {}
            model.bar(diameter, (20, 100 + 150 * i, 31), (1, 0, 0), 2900, **said)
        reading = read_model(model.save(tmp_path))
        layers = reading.slabs[0]["layers"]
        assert [layer["callout"] for layer in layers] == ([expected] if expected else [])
        assert any("no size list holds 13 mm" in note for note in reading.notes) is (expected is None)


def test_skew_bars_and_starter_bars_are_told(tmp_path: Path) -> None:
    model = simple()
    model.bar(10, (2000, 3000, 3060), (1, 1, 0), 1000)
    model.bar(16, (2000, 3000, 3010), (0, 0, 1), 120)
    reading = read_model(model.save(tmp_path))
    assert any("Bars that run neither along x nor along y: 2" in note for note in reading.notes)


def test_bars_outside_every_slab_are_told(tmp_path: Path) -> None:
    model = simple()
    model.bar(10, (90_000, 0, 0), (1, 0, 0), 4000)
    assert any("1 bar lies in no slab" in note for note in read_model(model.save(tmp_path)).notes)


def test_a_tilted_slab_is_told(tmp_path: Path) -> None:
    model = Model()
    slab = model.slab("S1", [(0, 0), (5200, 0), (5200, 4100), (0, 4100)], 150)
    slab.ObjectPlacement.RelativePlacement.Axis.DirectionRatios = [0.1, 0.0, 0.995]
    reading = read_model(model.save(tmp_path))
    assert reading.slabs == ()
    assert any("no level underside" in note for note in reading.notes)


def test_a_name_that_is_no_mark_gives_way_to_the_tag(tmp_path: Path) -> None:
    model = Model()
    model.slab(
        "Floor: in-situ concrete 150 mm with a long name", [(0, 0), (5200, 0), (5200, 4100), (0, 4100)], 150
    )
    reading = read_model(model.save(tmp_path))
    assert reading.slabs[0]["mark"] == "TAG-1"
    assert any("is marked TAG-1" in note for note in reading.notes)


def test_one_storey_of_the_model(tmp_path: Path) -> None:
    file = simple().save(tmp_path)
    assert len(read_model(file, storey="Level 2").slabs) == 1
    with pytest.raises(BadInput, match="Storeys of the model: Level 2"):
        read_model(file, storey="Level 3")


@pytest.mark.parametrize(
    "raw", [b"", b"not a model", b"ISO-10303-21;\nHEADER;\n"], ids=["empty", "text", "cut off"]
)
def test_no_model(tmp_path: Path, raw: bytes) -> None:
    (tmp_path / "model.ifc").write_bytes(raw)
    with pytest.raises(BadInput, match=r"no IFC model|can't be read"):
        read_model(tmp_path / "model.ifc")


def test_without_the_package_the_person_is_told_what_to_install(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def missing(name: str) -> Any:
        raise ModuleNotFoundError(name)

    monkeypatch.setattr(ifc_room, "import_module", missing)
    with pytest.raises(BadInput, match="pip install ifcopenshell"):
        read_model(tmp_path / "model.ifc")
