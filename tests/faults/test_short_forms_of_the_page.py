"""Short forms of the page without a browser: nothing typed is lost, half a form is told, and a wrong value changes nothing."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from verifier.board.print_scale import read_print_checks

SAMPLE = Path(__file__).parents[2] / "sample_images"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copy(SAMPLE / "pour.toml", tmp_path / "pour.toml")
    return tmp_path


def board_form(folder: str) -> None:
    """The form as the page shows it where a photo rests on board 1, whose print nobody has checked."""
    from pathlib import Path
    from types import SimpleNamespace

    from ui.parts.site import board_check
    from verifier.drawing.read import read_pour

    reason = SimpleNamespace(key="board/unchecked", about=("a.jpg",))
    photo = SimpleNamespace(
        original=SimpleNamespace(name="a.jpg"), seen=SimpleNamespace(board=SimpleNamespace(number=1))
    )
    decision = SimpleNamespace(conditions=(reason,))
    check = SimpleNamespace(pour=read_pour(Path(folder)), decision=decision, photos=(photo,))
    board_check.show(SimpleNamespace(folder=Path(folder), check=check))


def opened(folder: Path) -> AppTest:
    return AppTest.from_function(board_form, kwargs={"folder": str(folder)}, default_timeout=30).run()


def told(page: AppTest) -> str:
    return " ".join(str(e.proto.body) for e in page.get("html"))


def test_the_check_length_of_a_board_is_entered_on_the_page(folder: Path) -> None:
    page = opened(folder)
    page.button(key="board-keep").click().run()
    assert "Something is still empty" in told(page)
    page.number_input[0].set_value(150.0)
    page.button(key="board-keep").click().run()
    assert not page.exception
    assert "Not entered" in told(page)  # a quarter off is a slip, not a print
    assert not (folder / "boards.toml").exists()
    assert opened(folder).number_input[0].value == 150.0  # after a reload it is still there to be corrected
    page.number_input[0].set_value(199.6)
    page.button(key="board-keep").click().run()
    assert not page.exception
    (check,) = read_print_checks(folder / "boards.toml").check
    assert (check.board, check.nominal_mm, check.measured_mm) == (1, 200, 199.6)
    assert opened(folder).number_input[0].value is None


def two_fields(folder: str) -> None:
    from pathlib import Path

    from ui.parts import forms

    forms.text(Path(folder), "defect", "place", "Place")
    forms.file(Path(folder), "defect", "photo", "Photo", (".jpg",))


def test_what_two_tabs_write_into_one_field_is_joined(folder: Path) -> None:
    one, other = (AppTest.from_function(two_fields, kwargs={"folder": str(folder)}).run() for _ in range(2))
    one.text_input[0].set_value("axis 4").run()
    other.text_input[0].set_value("axis 5").run()
    assert other.text_input[0].value == "axis 5; axis 4"
    other.text_input[0].set_value("axis 5 only").run()  # seen, and so the person's own word
    assert (
        AppTest.from_function(two_fields, kwargs={"folder": str(folder)}).run().text_input[0].value
        == "axis 5 only"
    )


def test_a_file_chosen_in_a_short_form_stays_until_the_form_is_done(folder: Path) -> None:
    from ui.parts import drafts, forms

    kept = drafts.keep_file(folder, "crack.jpg", b"bytes")
    key = "form-defect-photo-file"
    forms._write(folder, {key: kept.parent.name, "form-defect-place": "axis 4", "form-level-place": "axis 1"})
    page = AppTest.from_function(two_fields, kwargs={"folder": str(folder)}).run()
    assert "crack.jpg" in told(page)
    page.button[0].click().run()
    assert not kept.exists()
    assert "crack.jpg" not in told(page)
    kept = drafts.keep_file(folder, "crack.jpg", b"bytes")
    forms._write(folder, forms._kept(folder) | {key: kept.parent.name})
    forms.forget(folder, "defect")
    assert not kept.exists()
    assert forms._kept(folder) == {"form-level-place": "axis 1"}
