"""Bad input at every entrance of the command line: a clear message or a refusal, exit code 2, nothing lost."""

from __future__ import annotations

import io
import json
import shutil
import struct
import sys
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image
from typer.main import get_command

from verifier.board.printing import sheet_png, standing_sheet
from verifier.cli import main
from verifier.cli.commands import app
from verifier.cli.stages import STAGES

SAMPLE = Path(__file__).parents[2] / "sample_images"
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Run:
    """Run one command in this process: exit code, stdout, stderr."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))
    monkeypatch.setenv("COLUMNS", "200")

    def call(*arguments: str | Path) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["verifier", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        code = ended.value.code
        assert "Traceback" not in told.out + told.err
        return (code if isinstance(code, int) else 0 if code is None else 1), told.out, told.err

    return call


@pytest.fixture
def pour(tmp_path: Path) -> Path:
    """A pour folder with drawing values and nothing else."""
    folder = tmp_path / "pour"
    folder.mkdir()
    for name in ("pour.toml", "boards.toml"):
        shutil.copy(SAMPLE / name, folder / name)
    return folder


def png_of(width: int, height: int) -> bytes:
    """A PNG that claims a size in its header; its single line of pixels is never reached."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 99))
        + chunk(b"IEND", b"")
    )


def files_of(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_a_folder_that_is_not_there(run: Run, tmp_path: Path) -> None:
    code, _, err = run("check", tmp_path / "nowhere")
    assert code == 2
    assert "no such folder" in err
    assert "verifier new" in err


def test_an_empty_folder(run: Run, tmp_path: Path) -> None:
    code, _, err = run("check", tmp_path)
    assert code == 2
    assert "no pour.toml" in err
    assert list(tmp_path.iterdir()) == []


def test_half_a_schedule(run: Run, pour: Path) -> None:
    text = (pour / "pour.toml").read_text(encoding="utf-8")
    (pour / "pour.toml").write_text(
        text[: text.index("layers =")] + "layers = [\n  { layer =", encoding="utf-8"
    )
    code, _, err = run("check", pour)
    assert code == 2
    assert "pour.toml" in err
    assert "TOML" in err


def test_a_schedule_without_its_layers(run: Run, pour: Path) -> None:
    text = (pour / "pour.toml").read_text(encoding="utf-8")
    head, tail = text.index("[[slab]]"), text.index("[people]")
    (pour / "pour.toml").write_text(text[:head] + '[[slab]]\nmark = "S1"\n' + text[tail:], encoding="utf-8")
    code, _, err = run("check", pour)
    assert code == 2
    assert "layers" in err
    assert "thickness_mm" in err  # all faults at once


def test_a_pour_without_any_evidence_is_no_go(run: Run, pour: Path) -> None:
    code, out, _ = run("check", pour, "--json")
    assert code == 1
    checked = json.loads(out)
    assert checked["decision"]["answer"] == "no_go"
    assert any("Nothing has been measured" in r["says"] for r in checked["decision"]["reasons"])


@pytest.mark.parametrize(
    ("name", "data", "says"),
    [
        ("words.jpg", b"this is a text file, whatever its name says\n" * 50, "photo"),
        ("empty.jpg", b"", "empty"),
        ("huge.png", png_of(30_000, 30_000), "pixels"),
        ("Grundriß 東側.jpg", b"\xff\xd8\xff\xe0 not a picture", "Grundriß 東側.jpg"),
    ],
)
def test_a_file_that_is_no_photo_is_refused_and_the_others_go_on(
    run: Run, tmp_path: Path, name: str, data: bytes, says: str
) -> None:
    (tmp_path / name).write_bytes(data)
    code, out, err = run("measure", "--json", "--workers", "1", tmp_path / name, tmp_path / "missing.jpg")
    answers = [json.loads(line) for line in out.splitlines()]
    assert (code, "missing.jpg: There is no such file" in err) == (2, True)
    assert [a["usable"] for a in answers] == [False, False]
    assert [a["photo"]["name"] for a in answers] == [name, "missing.jpg"]
    assert says.casefold() in json.dumps(answers[0], ensure_ascii=False).casefold()
    assert all(a["refusals"][0]["say"] for a in answers)


def picture_of_boards(*numbers: int) -> bytes:
    """Printed boards on plain grey, seen from straight above: a photo with boards and no bars."""
    scene = Image.new("RGB", (1600, 1200), (120, 118, 112))
    for place, number in enumerate(numbers):
        with Image.open(io.BytesIO(sheet_png(standing_sheet("A4", number)))) as sheet:
            scene.paste(sheet.convert("RGB").resize((700, 495)), (50 + 760 * place, 350))
    out = io.BytesIO()
    exif = Image.Exif()
    exif.get_ifd(0x8769).update({41989: 26})  # focal length of the same view on 36 x 24 mm
    scene.save(out, "JPEG", quality=90, exif=exif)
    return out.getvalue()


@pytest.mark.parametrize(("numbers", "reason"), [((), "no-board"), ((3,), "no-bars"), ((1, 2), "no-bars")])
def test_photos_without_a_board_with_another_one_and_with_two(
    run: Run, tmp_path: Path, numbers: tuple[int, ...], reason: str
) -> None:
    (tmp_path / "boards.jpg").write_bytes(picture_of_boards(*numbers))
    code, out, _ = run("measure", "--json", "--workers", "1", tmp_path / "boards.jpg")
    answer = json.loads(out)
    assert code == 0
    assert not answer["usable"]
    assert (answer["board"] or {"number": None})["number"] in (numbers or (None,))
    assert answer["refusals"][0]["reason"] == reason
    assert answer["refusals"][0]["say"]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((), "No points"),
        (("--points", "1,2", "3"), "--points"),
        (("--points", "1,2", "3,nan"), "not finite"),
        (("--pairs", "absent.csv"), "absent.csv"),
        (("--points", "1,2", "3,4", "--plane", "roof"), "plane"),
    ],
)
def test_points_that_are_none(run: Run, arguments: tuple[str, ...], says: str) -> None:
    code, _, err = run("distance", SAMPLE / "photos" / "s1-spot1.jpg", *arguments)
    assert code == 2
    assert says in err


@pytest.mark.parametrize("text", ["", "x1,y1,x2\n1,2,3\n", "x1,y1,x2,y2\n1,2,three,4\n"])
def test_a_file_of_points_that_can_not_be_read(run: Run, tmp_path: Path, text: str) -> None:
    (tmp_path / "pairs.csv").write_text(text, encoding="utf-8")
    code, _, err = run("distance", SAMPLE / "photos" / "s1-spot1.jpg", "--pairs", tmp_path / "pairs.csv")
    assert code == 2
    assert "pairs.csv" in err


def test_a_truncated_jpeg_is_refused_with_what_to_do(run: Run, tmp_path: Path) -> None:
    whole = (SAMPLE / "photos" / "s1-spot1.jpg").read_bytes()
    (tmp_path / "cut.jpg").write_bytes(whole[: len(whole) // 2])
    _, out, _ = run("measure", "--json", "--workers", "1", tmp_path / "cut.jpg")
    answer = json.loads(out)
    assert not answer["usable"]
    assert answer["refusals"][0]["reason"] == "unreadable"
    assert "again" in answer["refusals"][0]["say"]


@pytest.mark.parametrize("data", [b"only words", png_of(30_000, 30_000)])
def test_adding_only_bad_files_says_so_and_leaves_them_where_they_are(
    run: Run, pour: Path, tmp_path: Path, data: bytes
) -> None:
    bad = tmp_path / "s1-spot1.jpg"
    bad.write_bytes(data)
    code, out, _ = run("add", pour, bad)
    assert code == 2
    assert "s1-spot1.jpg" in out
    assert bad.read_bytes() == data
    code, out, _ = run("check", pour, "--json")
    assert json.loads(out)["photos"] == []


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--element", "S9", "--spot", "1"), "not on the drawing"),
        (("--element", "S1"), "belong together"),
        (("--element", "S1", "--spot", "1", "--mat", "middle"), "mat"),
        (("--element", "S1", "--spot", " "), "no name"),
        (("--mat", "top"), "Give --element and --spot"),
        (("--person", "nobody"), "not among the people"),
    ],
)
def test_a_wrong_word_about_a_photo_adds_nothing(
    run: Run, pour: Path, arguments: tuple[str, ...], says: str
) -> None:
    code, _, err = run("add", pour, SAMPLE / "photos" / "s1-spot1.jpg", *arguments)
    assert code == 2
    assert says in err
    assert not (pour / "record").exists()


SEMICOLON = """element;layer;what;n_gaps;reading_mm;instrument;person;time;spot
S1;B1;mean_spacing;9;1354,5;tape-II;engineer-1;2026-05-13 16:40;1
"""


def test_a_semicolon_csv_with_decimal_commas_is_read(run: Run, pour: Path, tmp_path: Path) -> None:
    (tmp_path / "meßwerte.csv").write_text(SEMICOLON, encoding="utf-8")
    assert run("tape", pour, tmp_path / "meßwerte.csv")[0] == 0
    code, out, _ = run("check", pour, "--json")
    assert code == 1
    checked = json.loads(out)
    assert checked["tapes"][0]["original"]["name"] == "meßwerte.csv"
    assert checked["measurements"][0]["value"] == pytest.approx(1354.5 / 9)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "empty"),
        ("a;b;c\n1;2;3\n", "heading"),
        ("element,layer,what,reading_mm\nS1,B1,cover,22\n", "instrument"),
    ],
)
def test_a_tape_file_that_is_no_table_of_readings_is_not_recorded(
    run: Run, pour: Path, tmp_path: Path, text: str, says: str
) -> None:
    (tmp_path / "readings.csv").write_text(text, encoding="utf-8")
    code, _, err = run("tape", pour, tmp_path / "readings.csv")
    assert code == 2
    assert says in err
    assert not (pour / "record").exists()


def test_a_reading_in_cm_is_asked_about_and_stops_the_pour(run: Run, pour: Path) -> None:
    (pour / "tape").mkdir()
    (pour / "tape" / "readings.csv").write_text(SEMICOLON.replace("1354,5", "135,4"), encoding="utf-8")
    code, out, _ = run("check", pour, "--json")
    decision = json.loads(out)["decision"]
    assert code == 1
    assert any("cm" in r["says"] for r in decision["reasons"])
    assert any("not yet in the record" in c["says"] for c in decision["conditions"])


def test_files_that_are_not_read_are_told(run: Run, pour: Path) -> None:
    (pour / "photos").mkdir()
    (pour / "photos" / "notes.docx").write_bytes(b"PK")
    _, out, _ = run("check", pour, "--json")
    assert any("notes.docx is not read" in c["says"] for c in json.loads(out)["decision"]["cautions"])


def test_a_check_writes_nothing(run: Run, pour: Path) -> None:
    (pour / "tape").mkdir()
    shutil.copy(SAMPLE / "tape" / "as-found.csv", pour / "tape")
    before = files_of(pour)
    run("check", pour)
    assert files_of(pour) == before


def test_a_new_folder_never_overwrites_a_schedule(run: Run, pour: Path) -> None:
    before = (pour / "pour.toml").read_bytes()
    code, _, err = run("new", pour)
    assert code == 2
    assert "already" in err
    assert (pour / "pour.toml").read_bytes() == before


def test_a_new_folder_can_be_checked_at_once(run: Run, tmp_path: Path) -> None:
    assert run("new", tmp_path / "fresh")[0] == 0
    code, out, _ = run("check", tmp_path / "fresh")
    assert code == 1
    assert "NO-GO" in out


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("board", "--paper", "A7"), "A7"),
        (("board", "--measured", "188"), "pour folder"),
        (("measure",), "PHOTO"),
        (("measure", "nothing-here/*.jpg", "--board-scale", "2"), "board-scale"),
        (("unheard",), "unheard"),
    ],
)
def test_wrong_arguments_end_with_2(run: Run, tmp_path: Path, arguments: tuple[str, ...], says: str) -> None:
    code, _, err = run(*arguments)
    assert code == 2
    assert says in err


def test_an_impossible_check_length_is_asked_about(run: Run, pour: Path) -> None:
    before = (pour / "boards.toml").read_bytes()
    code, _, err = run("board", "--pour", pour, "--measured", "19.9")
    assert code == 2
    assert "mm" in err
    assert (pour / "boards.toml").read_bytes() == before
    code, out, _ = run("board", "--pour", pour, "--measured", "199.4")
    assert code == 0
    assert "0.9970" in out


def test_a_check_length_that_can_not_be_kept_loses_none_entered_before(run: Run, pour: Path) -> None:
    before = (pour / "boards.toml").read_bytes()
    (
        pour / "boards.toml.new"
    ).mkdir()  # whoever runs the tests may write into any folder: block the file itself
    code, _, err = run("board", "--pour", pour, "--measured", "199.4")
    assert code == 2
    assert "can't be kept" in err
    assert (pour / "boards.toml").read_bytes() == before


def test_a_photo_on_no_element_is_told_at_once(run: Run, pour: Path, tmp_path: Path) -> None:
    shutil.copy(SAMPLE / "photos" / "s1-spot1.jpg", tmp_path / "IMG_7.jpg")
    code, out, _ = run("add", pour, tmp_path / "IMG_7.jpg")
    assert code == 0
    assert "counts for no spot yet" in out


def test_a_demo_never_writes_into_a_folder_that_holds_something(run: Run, pour: Path) -> None:
    before = files_of(pour)
    code, _, err = run("demo", "--no-page", "--folder", pour)
    assert code == 2
    assert "already" in err
    assert files_of(pour) == before


def test_every_command_stands_at_one_stage_of_the_job(run: Run):
    staged = [name for names in STAGES.values() for name in names]
    assert len(staged) == len(set(staged))
    assert set(staged) == set(get_command(app).commands)
    code, listed, _ = run("--help")
    assert code == 0
    assert all(f"\n  {name} " in listed for name in staged)
