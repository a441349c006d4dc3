"""Drawing values that can't be used: each is named with file, key, value and what is allowed; nothing is repaired."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from verifier.drawing import (
    DrawingFaults,
    Pour,
    pour_from_table,
    pour_from_text,
    read_pour,
    template_text,
    write_template,
)
from verifier.errors import BadInput

POUR = """
[pour]
id = "L2-east"
title = "Level 2, east bay"
code = "IS 456:2000"
planned_start = 2026-11-26T06:30:00+01:00
exposure = "mild"
[pour.tolerance]
single_gap_mm = 20
mean_spacing_percent = 5
[pour.site]
latitude = 47.0512
longitude = 8.3093
fence_radius_m = 80
[pour.concrete]
grade = "M25"
slump_mm = [75, 125]
max_aggregate_mm = 20
[[slab]]
mark = "S1"
size_m = [5.2, 4.1]
openings_m = [[1.0, 1.0, 0.6, 0.4]]
thickness_mm = 150
cover_mm = { bottom = 20, top = 20 }
layers = [
  { layer = "B1", callout = "T10-150", bent_up = { every = 2, at_span_fraction = 0.2, angle_deg = 45 } },
  { layer = "B2", callout = "T8-200" },
  { layer = "T1", callout = "T10-200", length_mm = 1300, zone = "support" },
]
steel = { grade = "Fe500", lap = "auto" }
[[beam]]
mark = "B3"
width_mm = 230
depth_mm = 450
cover_mm = { bottom = 25, top = 25, side = 25 }
bottom = "3-T16"
top = "2-T12"
stirrups = "T8-150"
[[spot]]
element = "S1"
spot = "1"
layers = ["B1", "B2"]
at_m = [1.2, 2.0]
[people]
site_engineer = ["engineer-1"]
reviewer = ["reviewer-1"]
engineer_of_record = ["eor-1"]
"""

Table = dict[str, Any]


def good() -> Table:
    return tomllib.loads(POUR)


def read(table: Table) -> Pour:
    return pour_from_table(table, where="pour.toml")


def put(path: str, value: object) -> Callable[[Table], None]:
    """Set one value; a path is keys and list numbers (from 0) joined by points."""

    def change(table: Table) -> None:
        node: Any = table
        *steps, last = path.split(".")
        for step in steps:
            node = node[int(step)] if step.isdigit() else node.setdefault(step, {})
        node[int(last) if last.isdigit() else last] = value

    return change


def drop(path: str) -> Callable[[Table], None]:
    def change(table: Table) -> None:
        node: Any = table
        *steps, last = path.split(".")
        for step in steps:
            node = node[int(step)] if step.isdigit() else node[step]
        del node[last]

    return change


def both(*changes: Callable[[Table], None]) -> Callable[[Table], None]:
    def change(table: Table) -> None:
        for one in changes:
            one(table)

    return change


BAD: list[tuple[str, Callable[[Table], None], str, list[str]]] = [
    # name, change, key, words that the fault must hold
    ("unknown key", put("pour.titel", "x"), "pour.titel", ["not a key", '"title"']),
    ("unknown key in a slab", put("slab.0.thicknes_mm", 150), "slab[1] \"S1\".thicknes_mm", ['"thickness_mm"']),
    ("unknown key in a layer", put("slab.0.layers.0.cover", 1), "slab[1] \"S1\".layers[1].cover", ["not a key"]),
    ("unknown key in a bent-up bar", put("slab.0.layers.0.bent_up.angle", 1), "layers[1].bent_up.angle", ['"angle_deg"']),
    ("unknown table", put("slabs", []), "slabs", ['"slab"']),
    ("unit in the key wrong", put("pour.tolerance.single_gap_cm", 2), "pour.tolerance.single_gap_cm", ['"single_gap_mm"']),
    ("unit in the value", put("slab.0.thickness_mm", "150 mm"), "slab[1] \"S1\".thickness_mm", ["'150 mm'", "a number"]),
    ("true for a number", put("slab.0.thickness_mm", True), "slab[1] \"S1\".thickness_mm", ["True", "a number"]),
    ("metres for millimetres", put("slab.0.thickness_mm", 0.15), "slab[1] \"S1\".thickness_mm", ["0.15", "40 or more"]),
    ("millimetres for metres", put("slab.0.size_m", [5200, 4100]), "slab[1] \"S1\".size_m[1]", ["5200", "1000 or less"]),
    ("not a number", put("slab.0.thickness_mm", float("nan")), "slab[1] \"S1\".thickness_mm", ["nan"]),
    ("infinite", put("slab.0.thickness_mm", float("inf")), "slab[1] \"S1\".thickness_mm", ["inf"]),
    ("negative size", put("slab.0.size_m", [5.2, -4.1]), "slab[1] \"S1\".size_m[2]", ["-4.1", "more than 0"]),
    ("three sizes", put("slab.0.size_m", [5.2, 4.1, 1.0]), "slab[1] \"S1\".size_m", ["5.2"]),
    ("missing key", drop("pour.exposure"), "pour.exposure", ["is missing"]),
    ("missing table", drop("people"), "[people]", ["is missing"]),
    ("missing concrete", drop("pour.concrete"), "pour.concrete", ["is missing"]),
    ("no element", both(drop("slab"), drop("beam"), drop("spot")), "slab", ["at least one"]),
    ("single brackets", put("slab", {"mark": "S1"}), "slab", ["[[slab]]"]),
    ("pour is text", put("pour", "L2"), "pour", ["a table of keys"]),
    ("start without zone", put("pour.planned_start", tomllib.loads("t = 2026-11-26T06:30:00")["t"]), "pour.planned_start", ["2026-11-26T06:30:00", "zone"]),
    ("start is text", put("pour.planned_start", "tomorrow"), "pour.planned_start", ["'tomorrow'", "date and time with its zone"]),
    ("start is a day", put("pour.planned_start", tomllib.loads("t = 2026-11-26")["t"]), "pour.planned_start", ["2026-11-26", "zone"]),
    ("id with a slash", put("pour.id", "../L2"), "pour.id", ["'../L2'", "letters"]),
    ("unknown code", put("pour.code", "IS 456"), "pour.code", ["'IS 456'", "ACI 318-19", 'nearest is "IS 456:2000"']),
    ("exposure of another code", put("pour.exposure", "XC3"), "pour.exposure", ["'XC3'", "moderate", "very severe"]),
    ("exposure of a slab", put("slab.0.exposure", "sever"), 'slab "S1".exposure', ['nearest is "severe"']),
    ("concrete of another code", put("pour.concrete.grade", "C25/30"), "pour.concrete.grade", ["'C25/30'", "M25"]),
    ("steel of another code", put("slab.0.steel.grade", "B500B"), 'slab "S1".steel.grade', ["'B500B'", "Fe500"]),
    ("lap in words", put("slab.0.steel.lap", "50d"), "slab[1] \"S1\".steel.lap", ["'50d'", "'auto' or a number"]),
    ("slump backwards", put("pour.concrete.slump_mm", [125, 75]), "pour.concrete.slump_mm", ["runs backwards"]),
    ("aggregate in metres", put("pour.concrete.max_aggregate_mm", 0.02), "pour.concrete.max_aggregate_mm", ["4 or more"]),
    ("latitude", put("pour.site.latitude", 97.0), "pour.site.latitude", ["97", "90 or less"]),
    ("centre without radius", drop("pour.site.fence_radius_m"), "pour.site.fence_radius_m", ["is missing", "fence"]),
    ("fence of two points", put("pour.site", {"fence": [[47.0, 8.0], [47.1, 8.0]]}), "pour.site.fence", ["3 or more"]),
    ("fence and centre", put("pour.site.fence", [[47.0, 8.0], [47.1, 8.0], [47.1, 8.1]]), "pour.site", ["beside a fence"]),
    ("fence that crosses itself", put("pour.site", {"fence": [[0.0, 0.0], [1.0, 1.0], [1.0, 0.0], [0.0, 1.0]]}), "pour.site.fence", ["crosses itself"]),
    ("tolerance of nothing", put("pour.tolerance.single_gap_mm", 0), "pour.tolerance.single_gap_mm", ["more than 0"]),
    ("tolerance beyond sense", put("pour.tolerance.mean_spacing_percent", 60), "pour.tolerance.mean_spacing_percent", ["25 or less"]),
    ("cover larger than the slab", put("slab.0.cover_mm.bottom", 150), 'slab "S1".cover_mm.bottom', ["150", "less than the thickness"]),
    ("covers and layers too thick", both(put("slab.0.thickness_mm", 60), put("slab.0.cover_mm", {"bottom": 20, "top": 20})), 'slab "S1".thickness_mm', ["60", "68"]),
    ("cover below zero", put("slab.0.cover_mm.top", -5), "slab[1] \"S1\".cover_mm.top", ["-5", "0 or more"]),
    ("size and outline", put("slab.0.outline_m", [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]]), 'slab "S1".size_m', ["beside outline_m"]),
    ("neither size nor outline", drop("slab.0.size_m"), 'slab "S1".size_m', ["is missing", "outline_m"]),
    ("outline of two points", both(drop("slab.0.size_m"), put("slab.0.outline_m", [[0.0, 0.0], [1.0, 0.0]])), "slab[1] \"S1\".outline_m", ["3 or more"]),
    ("outline that crosses itself", both(drop("slab.0.size_m"), put("slab.0.outline_m", [[0.0, 0.0], [5.0, 4.0], [5.0, 0.0], [0.0, 4.0]])), 'slab "S1".outline_m', ["edges 1 and 3"]),
    ("outline that folds back", both(drop("slab.0.size_m"), put("slab.0.outline_m", [[0.0, 0.0], [5.0, 0.0], [2.0, 0.0], [2.0, 4.0]])), 'slab "S1".outline_m', ["crosses itself"]),
    ("outline with a point twice", both(drop("slab.0.size_m"), put("slab.0.outline_m", [[0.0, 0.0], [5.0, 0.0], [5.0, 0.0], [2.0, 4.0]])), 'slab "S1".outline_m', ["crosses itself"]),
    ("opening outside", put("slab.0.openings_m", [[4.9, 1.0, 0.6, 0.4]]), 'slab "S1".openings_m[1]', ["not inside the slab"]),
    ("openings that overlap", put("slab.0.openings_m", [[1.0, 1.0, 1.0, 1.0], [1.5, 1.5, 1.0, 1.0]]), 'slab "S1".openings_m[2]', ["overlaps opening 1"]),
    ("opening over all", put("slab.0.openings_m", [[0.0, 0.0, 5.2, 4.1]]), 'slab "S1".openings_m', ["leave no slab"]),
    ("opening of no width", put("slab.0.openings_m", [[1.0, 1.0, 0.0, 1.0]]), "slab[1] \"S1\".openings_m[1][3]", ["more than 0"]),
    ("no layers", put("slab.0.layers", []), "slab[1] \"S1\".layers", ["1 or more"]),
    ("unknown layer", put("slab.0.layers.0.layer", "B3"), "slab[1] \"S1\".layers[1].layer", ["'B3'", "'B1'"]),
    ("layer named twice", put("slab.0.layers.1.layer", "B1"), 'slab "S1".layers[2].layer', ["named twice"]),
    ("layer once with and once without zone", put("slab.0.layers.1", {"layer": "B1", "callout": "T8-200", "zone": "middle"}), 'slab "S1".layers[2].layer', ["named twice"]),
    ("layers the same way", both(put("slab.0.layers.0.along", "x"), put("slab.0.layers.1.along", "x")), 'slab "S1".layers[2].along', ["B1 too"]),
    ("call-out of no list", put("slab.0.layers.0.callout", "T13-150"), "layers[1].callout", ["'T13-150'", '"T12-150"']),
    ("call-out swapped", put("slab.0.layers.0.callout", "T150-10"), "layers[1].callout", ["'T150-10'", '"T10-150"']),
    ("call-out that counts only", put("slab.0.layers.0.callout", "3-T16"), "layers[1].callout", ["spacing was needed"]),
    ("call-out that is a number", put("slab.0.layers.0.callout", 150), "layers[1].callout", ["a call-out in quotes"]),
    ("call-out of another layer", put("slab.0.layers.0.callout", "T10-150 B2"), "layers[1].callout", ["names layer B2"]),
    ("bars that do not fit the width", put("slab.0.layers.0.callout", "60T10-150"), "layers[1].callout", ["8850 mm", "at most 35 bars"]),
    ("spacing wider than the slab", both(put("slab.0.size_m", [9.0, 0.19]), put("slab.0.openings_m", [])), "layers[2].callout", []),
    ("legs on a layer", put("slab.0.layers.1.callout", "R8-200 2L"), "layers[2].callout", ["legs"]),
    ("bent up from the top", put("slab.0.layers.2.bent_up", {"every": 2, "at_span_fraction": 0.2}), "layers[3].bent_up", ["top layer"]),
    ("bent up past midspan", put("slab.0.layers.0.bent_up.at_span_fraction", 0.6), "bent_up.at_span_fraction", ["less than 0.5"]),
    ("bars longer than the slab", put("slab.0.layers.2.length_mm", 13000), "layers[3].length_mm", ["13000"]),
    ("beam bars too wide", put("beam.0.bottom", "6-T25"), 'beam "B3".bottom', ["275 mm", "164 mm", "bottom_rows = 2"]),
    ("beam covers too wide", put("beam.0.cover_mm.side", 110), 'beam "B3".cover_mm.side', ["no room in the width"]),
    ("beam covers too deep", put("beam.0.cover_mm", {"bottom": 225, "top": 225}), 'beam "B3".cover_mm', ["no room in the depth"]),
    ("beam bars at a spacing", put("beam.0.bottom", "T16-150"), 'beam[1] "B3".bottom', ["number of bars was needed"]),
    ("slab thicker than its beam", put("beam.0.slab_thickness_mm", 450), 'beam "B3".slab_thickness_mm', ["less than the depth"]),
    ("mark twice", put("beam.0.mark", "S1"), "mark", ["'S1'", "2 times"]),
    ("mark with a control character", put("slab.0.mark", "S1\u202e"), "mark", ["reading direction"]),
    ("mark with a blank end", put("slab.0.mark", " S1"), "mark", ["blanks"]),
    ("empty mark", put("slab.0.mark", ""), "mark", ["not empty"]),
    ("spot on no element", put("spot.0.element", "S9"), "spot[1].element", ["'S9'", "S1, B3"]),
    ("spot on no layer", put("spot.0.layers", ["T2"]), "spot[1].layers", ["T2"]),
    ("spot off the slab", put("spot.0.at_m", [9.0, 1.0]), "spot[1].at_m", ["not on the slab"]),
    ("nobody reviews", put("people.reviewer", []), "people.reviewer", ["1 or more"]),
    ("person twice", put("people.reviewer", ["a", "a"]), "people.reviewer", ["2 times"]),
    ("unknown role", put("people.inspector", ["a"]), "people.inspector", ["not a key"]),
    ("structural class", put("pour.structural_class", "S7"), "pour.structural_class", ["'S6'"]),
    ("units", put("pour.units", "cm"), "pour.units", ["'mm' or 'inch'"]),
]  # fmt: skip


@pytest.mark.parametrize(("change", "key", "words"), [row[1:] for row in BAD], ids=[row[0] for row in BAD])
def test_a_bad_value_is_named_with_file_key_and_what_is_allowed(
    change: Callable[[Table], None], key: str, words: list[str]
) -> None:
    table = good()
    change(table)
    with pytest.raises(DrawingFaults) as raised:
        read(table)
    assert raised.value.where == "pour.toml"
    named = [fault for fault in raised.value.faults if key in fault.key]
    assert named, [fault.text for fault in raised.value.faults]
    told = " ".join(fault.text for fault in named)
    for word in words:
        assert word in told
    assert all(fault.allowed for fault in raised.value.faults)


@pytest.mark.parametrize("change", [row[1] for row in BAD], ids=[row[0] for row in BAD])
def test_one_fault_does_not_breed_others_of_another_key(change: Callable[[Table], None]) -> None:
    table = good()
    change(table)
    with pytest.raises(DrawingFaults) as raised:
        read(table)
    tables = {fault.key.split(".")[0].split('"')[0].split("[")[0].strip() for fault in raised.value.faults}
    assert len(tables) == 1


def test_the_good_pour_reads() -> None:
    pour = read(good())
    assert pour.marks == ("S1", "B3")
    slab = pour.slabs[0]
    assert slab.gross_area_m2 == pytest.approx(21.32)
    assert slab.net_area_m2 == pytest.approx(21.08)
    assert slab.layers[0].callout.spacing_mm == 150
    assert pour.beams[0].bottom.count == 3


def test_all_faults_of_a_file_are_reported_at_once() -> None:
    table = good()
    for change in (
        put("pour.titel", "x"),
        put("pour.code", "BS 8110"),
        put("slab.0.thicknes_mm", 1),
        put("slab.0.cover_mm.bottom", 200),
        put("beam.0.width_mm", -1),
        put("people.reviewer", []),
    ):
        change(table)
    with pytest.raises(DrawingFaults) as raised:
        read(table)
    told = str(raised.value)
    for key in ("pour.titel", "pour.code", "thicknes_mm", "cover_mm.bottom", "width_mm", "people.reviewer"):
        assert key in told
    assert len(raised.value.faults) == 6


def test_a_slab_that_cannot_be_read_is_still_checked_for_its_cover() -> None:
    table = good()
    put("slab.0.layers.0.callout", "T13-150")(table)
    put("slab.0.cover_mm.bottom", 160)(table)
    with pytest.raises(DrawingFaults) as raised:
        read(table)
    assert [fault.key for fault in raised.value.faults] == [
        'slab[1] "S1".layers[1].callout',
        'slab[1] "S1".cover_mm.bottom',
    ]


def test_two_marks_of_two_zones_of_one_layer_are_fine() -> None:
    table = good()
    del table["spot"]
    table["slab"][0]["layers"] = [
        {"layer": "T1", "callout": "T10-200", "zone": "left support", "length_mm": 1300},
        {"layer": "T1", "callout": "T12-150", "zone": "right support", "length_mm": 1300},
    ]
    assert len(read(table).slabs[0].layers_of("T1")) == 2


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"\xff\xfe[pour]", "UTF-8"),
        (b"[pour\nid = 1", "not TOML"),
        (b"[pour]\nid = 'a'\nid = 'b'\n", "not TOML"),
        (b"a = " + b"[" * 5000, "not TOML"),
        (b"", "is missing"),
    ],
    ids=["utf-16", "half a table", "key twice", "deep nesting", "empty"],
)
def test_bytes_that_are_no_pour(raw: bytes, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        pour_from_text(raw, where="pour.toml")


def test_a_byte_order_mark_is_no_fault() -> None:
    assert pour_from_text(b"\xef\xbb\xbf" + POUR.encode(), where="pour.toml").pour.id == "L2-east"


def test_a_folder_without_a_pour_says_how_to_start_one(tmp_path: Path) -> None:
    with pytest.raises(BadInput) as met:
        read_pour(tmp_path)
    assert met.value.command == "verifier new FOLDER"


def test_an_oversized_file_is_not_read(tmp_path: Path) -> None:
    (tmp_path / "pour.toml").write_bytes(b"#" * 2_000_001)
    with pytest.raises(BadInput, match="larger than 2 MB"):
        read_pour(tmp_path)


def test_the_template_is_itself_a_pour(tmp_path: Path) -> None:
    write_template(tmp_path / "pour.toml")
    pour = read_pour(tmp_path)
    assert pour.marks == ("S1",)
    assert (tmp_path / "pour.toml").read_text(encoding="utf-8") == template_text()


def test_every_commented_key_of_the_template_is_a_key() -> None:
    """Taking the comment sign off the whole examples must give a readable pour too."""
    lines = []
    for line in template_text().splitlines():
        bare = line.removeprefix("# ").strip()
        example = line.startswith("# ") and (bare.startswith("[") or " = " in bare.split("#")[0])
        lines.append(bare if example else line)
    text = "\n".join(lines)
    for either in ("latitude = 0.0", "longitude = 0.0", "fence_radius_m = 80"):
        text = text.replace(either, "")
    text = text.replace('structural_class = "S4"', "").replace(
        "size_m = [5.2, 4.1] ", "size_m = [5.2, 4.1] #"
    )
    pour = pour_from_text(text.encode(), where="template")
    assert pour.pour.tolerance.agreed == "site meeting 4, item 2"
    assert pour.beams[0].mark == "B3"
    assert pour.spots[0].element == "S1"
    assert pour.slabs[0].supports.block_pitch_mm == 500
    assert len(pour.slabs[0].openings) == 1


def test_the_template_never_overwrites(tmp_path: Path) -> None:
    file = tmp_path / "pour.toml"
    file.write_text("mine", encoding="utf-8")
    with pytest.raises(BadInput, match="left as it is"):
        write_template(file)
    assert file.read_text(encoding="utf-8") == "mine"


def test_zones_may_turn_the_layers() -> None:
    table = good()
    del table["spot"]
    table["slab"][0]["layers"] = [
        {"layer": "T1", "callout": "T10-200", "zone": "left edge", "along": "x"},
        {"layer": "T1", "callout": "T10-200", "zone": "top edge", "along": "y"},
        {"layer": "T2", "callout": "T8-200", "zone": "left edge"},
        {"layer": "T2", "callout": "T8-200", "zone": "top edge"},
    ]
    slab = read(table).slabs[0]
    assert [slab.runs_along(layer) for layer in slab.layers] == ["x", "y", "y", "x"]


def test_without_a_direction_the_outermost_layer_runs_along_the_short_side() -> None:
    slab = read(good()).slabs[0]
    assert [slab.runs_along(layer) for layer in slab.layers] == ["y", "x", "y"]
    assert [slab.bars_across(layer) for layer in slab.layers] == [35, 21, 26]


def test_inches_give_a_bare_spacing_its_unit() -> None:
    table = good()
    table["pour"] |= {"code": "ACI 318-19", "units": "inch", "exposure": "interior"}
    table["pour"]["concrete"]["grade"] = "4000 psi"
    table["slab"][0]["steel"]["grade"] = "Grade 60"
    table["slab"][0]["layers"] = [{"layer": "B1", "callout": "#4@8"}]
    del table["spot"]
    assert read(table).slabs[0].layers[0].callout.spacing_mm == pytest.approx(203.2)
    table["pour"]["units"] = "mm"
    with pytest.raises(DrawingFaults, match="#4@8in"):
        read(table)


@settings(deadline=None)
@given(data=st.data())
def test_no_value_of_any_key_ends_in_anything_but_a_named_fault(data: st.DataObject) -> None:
    """Whatever stands at any one key, the file is read or refused with faults; nothing else is raised."""
    table = copy.deepcopy(good())
    node: Any = table
    while True:
        keys = list(node) if isinstance(node, dict) else list(range(len(node)))
        key = data.draw(st.sampled_from(keys))
        inner = node[key]
        if not isinstance(inner, dict | list) or not inner or data.draw(st.booleans()):
            break
        node = inner
    odd = st.one_of(
        st.none(),
        st.booleans(),
        st.integers(),
        st.floats(),
        st.text(max_size=8),
        st.just([]),
        st.just({}),
        st.just([[1]]),
    )
    node[key] = data.draw(odd)
    try:
        read(table)
    except DrawingFaults as error:
        assert error.faults  # noqa: PT017 - either outcome is right; a third one is not
