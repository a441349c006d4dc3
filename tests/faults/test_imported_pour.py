"""A pour folder from a schedule or a model: what was read is a pour, what was not is said, and nothing half-made is left."""

from __future__ import annotations

from pathlib import Path

import pytest

from verifier.drawing.read import read_pour
from verifier.errors import BadInput
from verifier.pipeline.intake.importing import new_from, write_schedule_of, write_template_schedule


def test_a_schedule_becomes_a_pour_and_a_pour_a_schedule(tmp_path: Path) -> None:
    write_template_schedule(tmp_path / "first.xlsx")
    done = new_from(tmp_path / "pour", tmp_path / "first.xlsx")
    assert done.still_asked == ()
    write_schedule_of(tmp_path / "pour", tmp_path / "second.xlsx")
    new_from(tmp_path / "again", tmp_path / "second.xlsx")
    assert read_pour(tmp_path / "again") == read_pour(tmp_path / "pour")


def test_rounds_drops_and_upstands_survive_the_schedule(tmp_path: Path) -> None:
    write_template_schedule(tmp_path / "first.xlsx")
    new_from(tmp_path / "pour", tmp_path / "first.xlsx")
    path = tmp_path / "pour" / "pour.toml"
    more = '\n[[drop]]\nmark = "D1"\nlength_m = 2.0\nwidth_m = 2.0\nadded_mm = 100.0\n\n[[upstand]]\nmark = "U1"\nlength_m = 4.0\nwidth_m = 0.15\nadded_mm = 300.0\ncount = 2\n'
    text = path.read_text(encoding="utf-8")
    for walk in ("[]", "[2, 3]"):
        rounds = f'\n[pour.rounds]\nwalk = {walk}\nbecause = "small"\n\n[pour.concrete]\n'
        path.write_text(text.replace("\n[pour.concrete]\n", rounds) + more, encoding="utf-8")
        out = tmp_path / f"walk{len(walk)}.xlsx"
        write_schedule_of(tmp_path / "pour", out)
        new_from(tmp_path / f"again{len(walk)}", out)
        assert read_pour(tmp_path / f"again{len(walk)}") == read_pour(tmp_path / "pour")


def test_a_model_fills_the_slabs_and_says_what_is_still_asked(tmp_path: Path) -> None:
    pytest.importorskip("ifcopenshell.geom")
    from test_ifc_model import simple

    done = new_from(tmp_path / "pour", simple().save(tmp_path))
    text = (tmp_path / "pour" / "pour.toml").read_text(encoding="utf-8")
    assert text.count("\n[[slab]]\n") == 1
    assert done.read.startswith("1 slab with 2 layers")
    assert done.not_read
    assert any("cover_mm.top" in asked for asked in done.still_asked)
    assert all(f"# Not read: {' '.join(note.split())}" in text for note in done.not_read)


@pytest.mark.parametrize("name", ["drawing.pdf", "drawing", "model.ifc", "bars.xlsx"])
def test_a_file_that_can_not_be_read_leaves_no_folder(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_bytes(b"neither sheet nor model")
    with pytest.raises(BadInput):
        new_from(tmp_path / "pour", tmp_path / name)
    assert not (tmp_path / "pour").exists()


def test_a_pour_that_is_there_is_left_alone(tmp_path: Path) -> None:
    write_template_schedule(tmp_path / "first.xlsx")
    (tmp_path / "pour").mkdir()
    (tmp_path / "pour" / "pour.toml").write_text("mine", encoding="utf-8")
    with pytest.raises(BadInput, match="already"):
        new_from(tmp_path / "pour", tmp_path / "first.xlsx")
    assert (tmp_path / "pour" / "pour.toml").read_text(encoding="utf-8") == "mine"
