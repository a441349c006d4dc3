"""Bar schedules as spreadsheets: what is written reads back, no cell can act as a formula, bad cells are named."""

from __future__ import annotations

import zipfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook

from verifier.drawing import DrawingFaults, Pour, pour_from_table, pour_from_text, template_text
from verifier.drawing.schedule import read_schedule
from verifier.drawing.schedule_write import write_schedule
from verifier.drawing.toml_text import pour_text
from verifier.errors import BadInput

FULL = """
[pour]
id = "L2-east"
title = "Niveau 2, travée est"
code = "EN 1992-1-1:2004"
planned_start = 2026-11-26T06:30:00+01:00
exposure = "XC3"
drawing = "S-201 C"
structural_class = "S3"
[pour.tolerance]
single_gap_mm = 20
agreed = "meeting 4"
[pour.site]
fence = [[47.0, 8.0], [47.0, 8.1], [47.1, 8.1]]
[pour.concrete]
grade = "C25/30"
slump_mm = [75, 125.5]
[pour.coverage]
m2_per_spot = 8
[[slab]]
mark = "=S1"
outline_m = [[0, 0], [5.2, 0], [5.2, 4.1], [2, 4.1], [2, 3], [0, 3]]
openings_m = [[1.0, 1.0, 0.6, 0.4], [3.0, 1.0, 0.6, 0.4]]
position_m = [0.5, 10.25]
thickness_mm = 180
cover_mm = { bottom = 35, top = 30, side = 40 }
exposure = "XC1"
layers = [
  { layer = "B1", callout = "10T12-03-200 B1", along = "x", bent_up = { every = 2, at_span_fraction = 0.2, angle_deg = 30 } },
  { layer = "B2", callout = "Ø8@200", zone = "middle" },
  { layer = "B2", callout = "Ø8@150", zone = "edge" },
]
steel = { grade = "B500B", lap = 600 }
span_m = 5
supports = { block_pitch_mm = 500, chair_pitch_mm = 1000, chair_height_mm = 90 }
[[slab]]
mark = "S2"
size_m = [4.6, 4.1]
thickness_mm = 150
cover_mm = { bottom = 35, top = 35 }
layers = [{ layer = "B1", callout = "T12-150" }]
steel = { grade = "B500B" }
[[beam]]
mark = "B3"
width_mm = 230
depth_mm = 450
cover_mm = { bottom = 25, top = 25, side = 25 }
bottom = "2-T16 + 1-T12"
top = "2-T12"
top_rows = 2
stirrups = "R8-150 2L"
length_m = 5.2
direction_deg = 90
slab_thickness_mm = 150
steel = { grade = "B500B" }
[[spot]]
element = "S2"
spot = "1"
layers = ["B1"]
at_m = [1.2, 2.0]
[people]
site_engineer = ["engineer-1", "engineer-2"]
reviewer = ["reviewer-1"]
engineer_of_record = ["eor-1"]
reader = ["+reader"]
"""


@pytest.fixture
def pour() -> Pour:
    return pour_from_text(FULL.encode(), where="full")


def test_a_pour_written_as_toml_reads_back_equal(pour: Pour) -> None:
    assert pour_from_text(pour_text(pour).encode(), where="written") == pour
    template = pour_from_text(template_text().encode(), where="template")
    assert pour_from_text(pour_text(template).encode(), where="written") == template


NAMES = st.text(min_size=1, max_size=20).filter(lambda t: t == t.strip() and t.isprintable())


@settings(deadline=None)
@given(title=NAMES, mark=NAMES, thickness=st.floats(60, 5000), x=st.floats(1, 1000), y=st.floats(1, 1000))
def test_any_name_and_number_survives_toml(
    title: str, mark: str, thickness: float, x: float, y: float
) -> None:
    base: dict[str, Any] = {
        "pour": pour_from_text(FULL.encode(), where="full").pour.model_dump(exclude_defaults=True)
        | {"title": title},
        "slab": [
            {
                "mark": mark,
                "size_m": [x, y],
                "thickness_mm": thickness,
                "cover_mm": {"bottom": 20, "top": 20},
                "layers": [{"layer": "B1", "callout": "T10-150"}],
                "steel": {"grade": "B500B"},
            }
        ],
        "people": {"site_engineer": ["a"], "reviewer": ["b"], "engineer_of_record": ["c"]},
    }
    pour = pour_from_table(base, where="made")
    assert pour_from_text(pour_text(pour).encode(), where="written") == pour


def test_a_schedule_reads_back_equal(pour: Pour, tmp_path: Path) -> None:
    write_schedule(pour, tmp_path / "bars.xlsx")
    assert read_schedule(tmp_path / "bars.xlsx") == pour


@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(start=st.sampled_from("=+-@"), rest=NAMES)
def test_no_text_becomes_a_formula(start: str, rest: str, pour: Pour, tmp_path: Path) -> None:
    text = start + rest
    titled = pour.model_copy(update={"pour": pour.pour.model_copy(update={"title": text})})
    file = tmp_path / "bars.xlsx"
    file.unlink(missing_ok=True)
    write_schedule(titled, file)
    with zipfile.ZipFile(file) as packed:
        sheets = [packed.read(name) for name in packed.namelist() if name.startswith("xl/worksheets/")]
    assert not any(b"<f>" in sheet or b"<f " in sheet for sheet in sheets)
    assert load_workbook(file)["pour"]["B3"].quotePrefix
    assert read_schedule(file).pour.title == text


def changed(pour: Pour, folder: Path, sheet: str, cell: str, value: object) -> Path:
    write_schedule(pour, folder / "written.xlsx")
    book = load_workbook(folder / "written.xlsx")
    book[sheet][cell] = value
    book.save(folder / "bars.xlsx")
    return folder / "bars.xlsx"


@pytest.mark.parametrize(
    ("sheet", "cell", "value", "words"),
    [
        ("slab", "D3", "180 mm", ["slab!D3", "a number without a unit"]),
        ("slab", "D3", -180, ["slab!D3", "40 or more"]),
        ("layer", "C4", "T13-150", ["layer!C4", "T12-150"]),
        ("layer", "A4", "S9", ["layer!A4", "mark of no slab"]),
        ("layer", "C1", "call out", ["layer!C1", '"callout"']),
        ("outline", "B4", "x", ["outline!B4", "a number"]),
        ("pour", "B3", "=1+1", ["pour!B3", "holds a formula"]),
        ("pour", "A3", "titel", ["pour!A3", '"title"']),
        ("pour", "B5", "2026-11-26T06:30:00", ["pour!B5", "zone"]),
        ("pour", "B6", "mild", ["pour!B6", "XC3"]),
        ("beam", "D3", "9-T32", ["beam!D3", "rows"]),
        ("spot", "C3", "B1, T2", ["spot!C3", "T2"]),
        ("people", "A3", "boss", ["people.boss"]),
        ("slab", "Z3", 4, ["slab!Z3", "a heading in row 1"]),
        ("slab", "Z1", "thickness_mm", ["slab!Z1", "is there twice"]),
        ("pour", "D3", "and this", ["pour!D3", "a key in column A"]),
    ],
)
def test_a_bad_cell_is_named(
    pour: Pour, tmp_path: Path, sheet: str, cell: str, value: object, words: list[str]
) -> None:
    file = changed(pour, tmp_path, sheet, cell, value)
    with pytest.raises(DrawingFaults) as raised:
        read_schedule(file)
    for word in words:
        assert word in str(raised.value)


def test_merged_cells_are_named(pour: Pour, tmp_path: Path) -> None:
    file = changed(pour, tmp_path, "slab", "A3", "S1")
    book = load_workbook(file)
    book["slab"].merge_cells("A3:A4")
    book.save(file)
    with pytest.raises(DrawingFaults, match=r"slab!A3:A4.*merged cells"):
        read_schedule(file)


def test_a_deleted_row_of_explanations_hides_no_row_of_values(pour: Pour, tmp_path: Path) -> None:
    write_schedule(pour, tmp_path / "written.xlsx")
    book = load_workbook(tmp_path / "written.xlsx")
    for name in book.sheetnames[1:]:
        book[name].delete_rows(2)
    book.save(tmp_path / "bars.xlsx")
    assert read_schedule(tmp_path / "bars.xlsx") == pour


def test_an_unknown_sheet_is_named(pour: Pour, tmp_path: Path) -> None:
    write_schedule(pour, tmp_path / "written.xlsx")
    book = load_workbook(tmp_path / "written.xlsx")
    book.create_sheet("beams")
    book.save(tmp_path / "bars.xlsx")
    with pytest.raises(DrawingFaults, match='nearest is "beam"'):
        read_schedule(tmp_path / "bars.xlsx")


def test_half_a_schedule_says_what_is_missing(tmp_path: Path) -> None:
    book = Workbook()
    book.worksheets[0].title = "pour"
    book.save(tmp_path / "bars.xlsx")
    with pytest.raises(DrawingFaults, match="is missing") as raised:
        read_schedule(tmp_path / "bars.xlsx")
    assert {"pour.id", "pour.code", "[people]"} <= {fault.key for fault in raised.value.faults}


@pytest.mark.parametrize(
    "raw", [b"", b"mark;size\nS1;5", b"PK\x03\x04 cut off"], ids=["empty", "csv", "truncated"]
)
def test_no_spreadsheet(tmp_path: Path, raw: bytes) -> None:
    (tmp_path / "bars.xlsx").write_bytes(raw)
    with pytest.raises(BadInput, match=r"no \.xlsx spreadsheet"):
        read_schedule(tmp_path / "bars.xlsx")


def test_a_file_that_unpacks_without_end_is_not_unpacked(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "bars.xlsx", "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b"0" * 51_000_000)
    with pytest.raises(BadInput, match="unpacks to 51 MB"):
        read_schedule(tmp_path / "bars.xlsx")


def test_a_schedule_is_never_overwritten(pour: Pour, tmp_path: Path) -> None:
    (tmp_path / "bars.xlsx").write_bytes(b"mine")
    with pytest.raises(BadInput, match="left as it is"):
        write_schedule(pour, tmp_path / "bars.xlsx")
    assert (tmp_path / "bars.xlsx").read_bytes() == b"mine"
