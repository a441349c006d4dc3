"""Each view run without a browser: what it says about the sample pour as found, about bad folders, and about nothing."""

from __future__ import annotations

import io
import shutil
from html import unescape
from pathlib import Path

import openpyxl
import pytest
from browser_page import ROOT
from streamlit.testing.v1 import AppTest

from ui import words
from ui.parts import drafts, plain, tables
from ui.parts.keypad import checked
from ui.parts.review.findings import bracket
from ui.parts.review.two_points import _checked
from ui.words import english, german
from verifier.pipeline.decision.check import check


def view(monkeypatch: pytest.MonkeyPatch, folder: Path | None, name: str = "missing") -> AppTest:
    monkeypatch.setattr("sys.argv", ["app.py"])
    if folder is None:
        monkeypatch.delenv("VERIFIER_FOLDER", raising=False)
    else:
        monkeypatch.setenv("VERIFIER_FOLDER", str(folder))
    test = AppTest.from_file(str(ROOT / "ui" / "app.py"), default_timeout=60)
    if name != "missing":
        test.switch_page(f"views/{name}.py")
    return test.run()


def said(test: AppTest) -> str:
    assert not test.exception
    return unescape("\n".join(element.proto.body for element in test.get("html")))


def test_the_page_speaks_the_language_that_is_chosen(monkeypatch: pytest.MonkeyPatch, as_found: Path) -> None:
    test = view(monkeypatch, as_found, "decision")
    assert english.DECISION_STANDS in [s.value for s in test.subheader]
    test.session_state[words.CHOSEN] = "de"
    test.run()
    assert german.DECISION_STANDS in [s.value for s in test.subheader]
    assert german.ANSWER_SAYS["no_go"] in said(test)


def test_what_is_to_do_comes_worst_first(monkeypatch: pytest.MonkeyPatch, as_found: Path) -> None:
    text = said(view(monkeypatch, as_found))
    assert words.ANSWER["no_go"] in text
    assert "S1 B1, spot 3" in text
    assert "2 of 4" in text
    assert "Tape gap" in text


def test_findings_show_limits_and_sources(monkeypatch: pytest.MonkeyPatch, as_found: Path) -> None:
    test = view(monkeypatch, as_found, "findings")
    assert "130 to 170 mm" in said(test)
    test.query_params["finding"] = "S1/B1/single-gap/3"
    text = said(test.run())
    assert "S1 B1, spot 3" in text
    assert "agreed for the project" in text
    assert "Steel area" in text


def test_a_photo_shows_its_hash_and_what_rests_on_it(monkeypatch: pytest.MonkeyPatch, as_found: Path) -> None:
    text = said(view(monkeypatch, as_found, "photos"))
    assert words.PHOTOS_FINGERPRINT in text
    assert "s1-spot1.jpg" in text


def test_the_decision_says_who_clears_what_and_what_it_is_not(
    monkeypatch: pytest.MonkeyPatch, as_found: Path
) -> None:
    text = said(view(monkeypatch, as_found, "decision"))
    assert "does not replace the engineer of record" in text
    assert "eor-1" in text
    assert words.DECISION_CLEARS in text


def test_the_record_is_told_in_order(monkeypatch: pytest.MonkeyPatch, as_found: Path) -> None:
    test = view(monkeypatch, as_found, "timeline")
    assert "s1-spot1.jpg" in said(test)  # the originals come first, each with its bracket
    assert words.BOUND_TO["clock"] in said(test)
    test.query_params["part"] = "story"
    test.session_state["part"] = "story"
    text = said(test.run())
    assert (
        text.index("a device joined")
        < text.index("a photo was received")
        < text.index("a tape reading was received")
    )


def test_without_a_folder_it_says_how_to_start(monkeypatch: pytest.MonkeyPatch) -> None:
    assert words.NO_FOLDER_TITLE in said(view(monkeypatch, None))


@pytest.mark.parametrize("name", ["missing", "findings", "photos", "decision", "timeline"])
def test_an_empty_folder_and_a_bad_drawing_file_are_told(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, as_found: Path, name: str
) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    assert words.CANT_READ in said(view(monkeypatch, empty, name))
    bad = tmp_path / "bad"
    bad.mkdir()
    text = (as_found / "pour.toml").read_text(encoding="utf-8")
    (bad / "pour.toml").write_text(text.replace("thickness_mm = 150", "thickness_mm = 15"), encoding="utf-8")
    told = said(view(monkeypatch, bad, name))
    assert words.CANT_READ in told
    assert "thickness_mm" in told


@pytest.mark.parametrize("name", ["missing", "findings", "photos", "decision", "timeline"])
def test_a_pour_without_any_evidence_has_every_view(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, as_found: Path, name: str
) -> None:
    shutil.copy(as_found / "pour.toml", tmp_path)
    text = said(view(monkeypatch, tmp_path, name))
    assert words.CANT_READ not in text
    assert words.BROKE not in text
    if name in ("missing", "decision"):
        assert words.ANSWER["no_go"] in text


def test_what_breaks_is_one_sentence(monkeypatch: pytest.MonkeyPatch, as_found: Path) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("secret detail")

    monkeypatch.setattr("ui.parts.answer.heading", broken)
    text = said(view(monkeypatch, as_found))
    assert words.BROKE in text
    assert "secret detail" not in text


def test_the_workbook_has_numbers_as_numbers_and_no_formula(as_found: Path, tmp_path: Path) -> None:
    place = Path(shutil.copytree(as_found, tmp_path / "pour"))
    toml = (place / "pour.toml").read_text(encoding="utf-8")
    evil = "=HYPERLINK(1)"
    (place / "pour.toml").write_text(toml.replace('"pre-pour meeting', f'"{evil} meeting'), encoding="utf-8")
    from datetime import datetime

    found = check(place, at=datetime.now().astimezone())
    evil_finding = found.findings[0].model_copy(update={"next_step": evil})
    found = found.model_copy(update={"findings": (evil_finding, *found.findings[1:])})
    book = openpyxl.load_workbook(io.BytesIO(tables.workbook(found)))
    cells = [cell for sheet in book for row in sheet.iter_rows(min_row=2) for cell in row]
    assert not [cell for cell in cells if cell.data_type == "f"]
    assert [cell for cell in cells if cell.value == evil and cell.data_type == "s" and cell.quotePrefix]
    heading = [cell.value for cell in book["Findings"][1]]
    worst = book["Findings"].cell(2, heading.index("worst value") + 1)
    assert isinstance(worst.value, float)


def test_readings_typed_stay_on_disk(tmp_path: Path) -> None:
    row = {"element": "S1", "layer": "B1", "what": "mean_spacing", "n_gaps": "5", "reading_mm": "748"}
    other = {**row, "reading_mm": "751"}
    drafts.add(tmp_path, row)
    drafts.add(tmp_path, other)  # from a second tab, which knows nothing of the first
    first, second = drafts.typed(tmp_path)
    assert (first.row, second.row) == (row, other)
    drafts.drop(tmp_path, [first.id])
    drafts.drop(tmp_path, [first.id])  # the other tab undoes the same one
    assert [typed.row for typed in drafts.typed(tmp_path)] == [other]


def test_a_form_not_finished_and_its_photo_stay_on_disk(tmp_path: Path) -> None:
    drafts.keep_note(tmp_path, "engineer-1/FW-02/../x", {"remark": "Strut loose", "value": ""})
    assert drafts.note(tmp_path, "engineer-1/FW-02/../x")["remark"] == "Strut loose"
    assert drafts.note(tmp_path, "engineer-2/FW-02/../x") == {}
    drafts.keep_note(tmp_path, "engineer-1/FW-02/../x", {"remark": ""})
    assert drafts.note(tmp_path, "engineer-1/FW-02/../x") == {}
    path = drafts.keep_file(tmp_path, "a.jpg", b"bytes")
    assert drafts.file_of(tmp_path, path.parent.name) == path
    drafts.drop_file(tmp_path, path.parent.name)
    assert drafts.file_of(tmp_path, path.parent.name) is None


@pytest.mark.parametrize(
    ("sent", "read"),
    [(["748", ""], (748.0, None)), (["74.8", "75"], (74.8, 75.0)), (["", "75"], None), (["-3", ""], None), (["x", ""], None),
     (["1e9", ""], None), (["nan", ""], None), ("748", None), (None, None), ([1, 2], None), (["1"], None)],
)  # fmt: skip
def test_numbers_from_a_browser_are_input_like_any_other(sent: object, read: object) -> None:
    assert checked(sent, 2, sign=False) == read


def test_a_difference_may_be_negative() -> None:
    assert checked(["-12.5"], 1, sign=True) == (-12.5,)


def test_signs_that_turn_the_writing_are_shown_by_number() -> None:
    assert plain.shown("a\u202egpj.exe") == "a[U+202E]gpj.exe"
    assert plain.safe("<b>&'\"") == "&lt;b&gt;&amp;&#x27;&quot;"


@pytest.mark.parametrize(
    "sent",
    [None, [], [[1, 2]], [[1, 2], [3]], [[1, 2], ["x", 3]], [[-1, 2], [3, 4]], [[1, 2], [400, 4]], "ab", [[1, 2], 7],
     [[float("nan"), 2], [3, 4]], [[True, 2], [3, 4], [5, 6]]],
)  # fmt: skip
def test_points_from_a_browser_are_input_like_any_other(sent: object) -> None:
    assert _checked(sent, (400, 300), 2) is None


def test_two_points_inside_the_photo_are_taken() -> None:
    assert _checked([[0, 0], [399.5, 299.5]], (400, 300), 2) == [(0, 0), (399.5, 299.5)]
    assert _checked([[12, 7]], (400, 300), 1) == [(12, 7)]


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [(0.0, 0.0, "under 0.1 %"), (1.0, 1.0, "over 99.9 %"), (0.648, 0.652, "65 %"), (0.874, 0.906, "87 to 91 %"),
     (0.9954, 0.9999, "99.5 to over 99.9 %")],
)  # fmt: skip
def test_a_probability_never_claims_to_be_certain(low: float, high: float, said: str) -> None:
    assert bracket(low, high) == said
