"""Rounds and pour log from the command line: what is typed wrongly is refused with a way on, and nothing is recorded."""

from __future__ import annotations

import ast
import json
import re
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from verifier.cli import main
from verifier.wording import counted

SAMPLE = Path(__file__).parents[2] / "sample_images"
Run = Callable[..., tuple[int, str, str]]
MORNING = "2026-05-14T06:31:00"
TRUCK = ("--plant", "P1", "--volume", "3", "--batched", "2026-05-14T06:00", "--arrived", "2026-05-14T06:30")
ORDERED = ("--rate", "6", "--interval", "30", "--ordered-slump", "100")


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Run:
    """Run one command in this process: exit code, stdout, stderr."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))

    def call(*arguments: str | Path) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["verifier", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        assert "Traceback" not in told.out + told.err
        code = ended.value.code
        return (code if isinstance(code, int) else 0 if code is None else 1), told.out, told.err

    return call


@pytest.fixture
def pour(tmp_path: Path) -> Path:
    """A pour folder with drawing values and nothing else."""
    folder = tmp_path / "pour"
    folder.mkdir()
    shutil.copy(SAMPLE / "pour.toml", folder / "pour.toml")
    return folder


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("CV-99", "--round", "2", "--yes"), "no item CV-99"),
        (("CL-01", "--round", "9", "--yes"), "not 9"),
        (("CL-01", "--round", "2"), "One word is needed"),
        (("CL-01", "--round", "2", "--yes", "--no"), "One word is needed"),
        (("CL-01", "--round", "2", "--no"), "needs a remark"),
        (("CL-01", "--round", "2", "--not-applicable"), "needs a remark"),
        (("CV-01", "--round", "2", "--value", "12.5"), "neither list nor answer has a limit"),
        (("CV-01", "--round", "2", "--value", "nan", "--yes"), "finite"),
        (("FW-03", "--round", "2", "--value", "30", "--planned", "0"), "over its limit"),
        (("CL-01", "--round", "2", "--yes", "--photo", "nowhere.jpg"), "no such file"),
    ],
)
def test_an_answer_that_can_not_stand_is_refused_and_not_recorded(
    run: Run, pour: Path, arguments: tuple[str, ...], told: str
) -> None:
    code, _, err = run("answer", pour, *arguments, "--person", "engineer-1")
    assert code == 2
    assert told in err
    assert not (pour / "record").exists()


def test_an_answer_tells_what_its_item_still_asks_for(run: Run, pour: Path) -> None:
    code, out, _ = run("answer", pour, "CL-01", "--round", "2", "--person", "engineer-1", "--yes")
    assert code == 0
    assert "a photo is asked for" in out
    code, out, _ = run("rounds", pour, "--round", "2", "--json")
    assert code == 1
    assert any(o["item"] == "CL-01" for o in json.loads(out)["open"])
    photo = pour / "deck.jpg"
    photo.write_bytes(b"bytes of a photo")
    run("answer", pour, "CL-01", "--round", "2", "--person", "engineer-1", "--yes", "--photo", photo)
    _, out, _ = run("rounds", pour, "--round", "2", "--json")
    assert not any(o["item"] == "CL-01" for o in json.loads(out)["open"])
    code, out, _ = run("event", pour, "rain", "--person", "engineer-1")
    _, out, _ = run("rounds", pour, "--round", "2", "--json")
    again = next(o for o in json.loads(out)["open"] if o["item"] == "CL-01")
    assert again["why"][0].startswith("opened again")


def test_an_event_nobody_knows_and_a_person_nobody_named(run: Run, pour: Path) -> None:
    code, _, err = run("event", pour, "earthquake", "--person", "engineer-1")
    assert (code, "prop-moved" in err) == (2, True)
    code, _, err = run("event", pour, "rain", "--person", "nobody-1")
    assert (code, "not named for the rounds" in err) == (2, True)
    assert not (pour / "record").exists()


def test_a_list_goes_out_and_comes_in_until_an_answer_is_given(run: Run, pour: Path, tmp_path: Path) -> None:
    from verifier.rounds.items import load_list
    from verifier.rounds.sheet import to_sheet

    sheet, own = tmp_path / "out.xlsx", tmp_path / "own.xlsx"
    assert run("rounds", pour, "--write-list", sheet)[0] == 0
    shipped = load_list()
    changed = shipped.model_copy(update={"title": "List of a firm"})
    own.write_bytes(to_sheet(changed))
    code, out, _ = run("rounds", pour, "--list", own)
    assert (code, changed.version[:12] in out) == (0, True)
    run("answer", pour, "CL-01", "--round", "2", "--person", "engineer-1", "--cannot-tell")
    code, _, err = run("rounds", pour, "--list", sheet)
    assert (code, "next pour" in err) == (2, True)


def test_a_ticket_is_written_on_and_raises_its_alarm(run: Run, pour: Path) -> None:
    """IS 4926:2003 as the data file gives it: 120 min from loading to the end of discharge."""
    assert run("log", pour, "truck", "--ticket", "1", *TRUCK, "--slump", "100", "--at", MORNING)[0] == 0
    emptied = ("--started", "2026-05-14T06:35", "--emptied", "2026-05-14T08:01")
    assert run("log", pour, "truck", "--ticket", "1", *emptied, "--at", "2026-05-14T08:02:00")[0] == 0
    code, out, _ = run("log", pour, *ORDERED, "--at", "2026-05-14T08:02:00", "--json")
    seen = json.loads(out)
    assert code == 1
    assert len(seen["entries"]) == 1
    assert seen["running"]["placed_m3"] == 3.0
    stops = [a["kind"] for a in seen["alarms"] if a["weight"] == "stop"]
    assert stops[:2] == ["release", "age"]  # nobody released this pour, and the load is too old


def test_a_log_line_with_gaps_is_refused(run: Run, pour: Path) -> None:
    code, _, err = run("log", pour, "truck", "--ticket", "1")
    assert (code, "volume_m3: is missing" in err) == (2, True)
    code, _, err = run("log", pour, "truck", "--ticket", "1", *TRUCK, "--emptied", "2026-05-14T05:00")
    assert (code, "must follow each other" in err) == (2, True)
    code, _, err = run("log", pour)
    assert (code, "--rate" in err) == (2, True)
    assert not (pour / "record").exists()


def test_a_folder_in_place_of_a_file_of_readings_is_told_as_a_folder(run: Run, pour: Path) -> None:
    """A folder of CSV files is what people have at hand; its files are to be named, none is picked for them."""
    code, out, err = run("tape", pour, SAMPLE / "tape", "--person", "engineer-1")
    assert code == 2
    assert "This is a folder" in out + err
    assert "*.csv" in (out + err).replace("\n", "")
    assert not (pour / "record").exists()


@pytest.mark.parametrize(
    ("count", "one", "many", "told"),
    [
        (0, "item", "", "0 items"),
        (1, "item", "", "1 item"),
        (200, "item", "", "200 items"),
        (1, "query", "queries", "1 query"),
        (2, "query", "queries", "2 queries"),
    ],
)
def test_singular_and_plural(count: int, one: str, many: str, told: str) -> None:
    assert counted(count, one, many) == told


def test_no_sentence_leaves_the_plural_to_the_reader() -> None:
    package = Path(__file__).parents[2]
    files = [p for room in ("verifier", "ui") for p in (package / room).rglob("*.py")]
    assert len(files) > 200
    word = re.compile(r"[a-z]\((?:s|es|ies)\)[ .,:;]")
    said = [
        (
            f"{p.name}, line {node.lineno}",
            re.sub("``[^`]*``", "", node.value),
        )  # what stands in code marks is no sentence
        for p in files
        for node in ast.walk(ast.parse(p.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    ]
    found = [(where, text) for where, text in said if word.search(text)]
    assert found == []


GOOD = "at,air_c,humidity_percent,wind_km_h,rain_mm,concrete_c\n2026-05-14T06:00+02:00,20,50,10,0,25\n"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "It is empty"),
        ("at,air_c,humidity_percent,wind_km_h\n", "no line below"),
        ("at,air_c,humidity_percent\n2026-05-14T06:00+02:00,20,50\n", "missing: wind_km_h"),
        ("at,air_f,humidity_percent,wind_m_s\n", "unknown: air_f, wind_m_s"),
        ("at,air_c,air_c,humidity_percent,wind_km_h\n", "there twice: air_c"),
        (
            GOOD + "2026-05-14T07:00+02:00,20,5,50,10,0,25\n",
            "line 3: it has 7 cells, the headings are 6; with a decimal comma",
        ),
        (GOOD + "\n\n2026-05-14T07:00+02:00,,50,10\n", "line 5: air_c is empty"),
        (GOOD + "2026-05-14 07:00,20,50,10\n", "no time zone, write for example 2026-05-14T07:00+02:00"),
        (GOOD + "7 in the morning,20,50,10\n", "is no time"),
        (GOOD + "2026-05-14T06:00+02:00,30,50,10\n", "line 3: 2026-05-14 06:00 +0200 stands in line 2, too"),
        (GOOD + "2026-05-14T04:00+00:00,30,50,10\n", "stands in line 2, too"),
        (GOOD + "2026-05-14T07:00+02:00,86,50,10\n", "may be 60 at most"),
        (GOOD + "2026-05-14T07:00+02:00,20,150,10\n", "may be 100 at most"),
        (GOOD + "2026-05-14T07:00+02:00,20,50,-3\n", "must be at least 0"),
        (GOOD + "2026-05-14T07:00+02:00,nan,50,3\n", "air_c"),
    ],
)
def test_a_forecast_that_can_not_be_read_is_told_line_by_line_and_the_old_one_stays(
    run: Run, pour: Path, tmp_path: Path, text: str, told: str
) -> None:
    (pour / "weather.csv").write_text(GOOD, encoding="utf-8")
    file = tmp_path / "forecast.csv"
    file.write_text(text, encoding="utf-8")
    code, out, err = run("weather", pour, "--csv", file)
    assert code == 2
    assert told in " ".join((out + err).split())
    assert (pour / "weather.csv").read_text(encoding="utf-8") == GOOD


@pytest.mark.parametrize(
    ("data", "told"),
    [
        ("at,air_c\n2026,20 \xb0C\n".encode("latin-1"), "Line 2 is not written in UTF-8"),
        (b"PK\x03\x04\x14\xff\xfe", "It is a workbook"),
    ],
)
def test_a_forecast_in_another_coding_is_not_bent_into_shape(
    run: Run, pour: Path, tmp_path: Path, data: bytes, told: str
) -> None:
    file = tmp_path / "forecast.csv"
    file.write_bytes(data)
    code, out, err = run("weather", pour, "--csv", file)
    assert (code, told in " ".join((out + err).split())) == (2, True)
    (pour / "weather.csv").write_bytes(data)
    code, out, err = run("weather", pour)
    assert (code, told in " ".join((out + err).split())) == (2, True)


@pytest.mark.parametrize("separator", [";", "\t"])
def test_decimal_commas_are_read_where_commas_do_not_part_cells(
    run: Run, pour: Path, tmp_path: Path, separator: str
) -> None:
    file = tmp_path / "forecast.csv"
    rows = [
        ("at", "air_c", "humidity_percent", "wind_km_h", "concrete_c"),
        ("2026-05-14T06:00+02:00", "20,5", "50", "10,25", "25,5"),
    ]
    file.write_text("\n".join(separator.join(row) for row in rows) + "\n", encoding="utf-8")
    code, out, _ = run("weather", pour, "--csv", file)
    assert code == 0
    assert "air 20.5 C, 50 %, wind 10.25 km/h" in " ".join(out.split())


def test_a_forecast_without_concrete_says_that_no_evaporation_is_known(
    run: Run, pour: Path, tmp_path: Path
) -> None:
    file = tmp_path / "forecast.csv"
    file.write_text(
        "at,air_c,humidity_percent,wind_km_h\n2026-05-14T07:00+02:00,38,15,30\n", encoding="utf-8"
    )
    code, out, _ = run("weather", pour, "--csv", file)
    assert code == 0
    assert "no evaporation is worked out" in " ".join(out.split())


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--water-cement", "0.2"), "can't be"),
        (("--water-cement", "5"), "can't be"),
        (("--bags-on-site", "-4"), "greater than or equal to 0"),
        (("--batch-bags", "500"), "less than or equal to 20"),
        (("--bulking", "60"), "can't be"),
        (("--parts", "1:2"), "no proportion"),
        (("--sand-water", "40", "--stone-water", "30"), "Let them drain"),
    ],
)
def test_a_site_mix_that_can_not_be_is_refused_in_words(
    run: Run, pour: Path, arguments: tuple[str, ...], told: str
) -> None:
    text = (
        (pour / "pour.toml")
        .read_text(encoding="utf-8")
        .replace('grade = "M25"', 'grade = "M20"\nsupply = "site"')
    )
    (pour / "pour.toml").write_text(text, encoding="utf-8")
    code, out, err = run("mix", pour, *arguments)
    assert code == 2
    assert told in " ".join((out + err).split())
    assert "pydantic" not in out + err


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("log", "--rate", "7"), "belong together"),
        (("log", "--rate", "-1", "--interval", "30", "--ordered-slump", "100"), "above zero"),
        (
            ("log", "--rate", "7", "--interval", "30", "--ordered-slump", "100", "--rule", "foo"),
            "no age limit",
        ),
        (("rounds", "--write-list", "nowhere/list.xlsx"), "can't be written"),
        (
            ("close", "defect", "--number", "1", "--photo", "nowhere.jpg", "--person", "engineer-1"),
            "no such photo",
        ),
        (("close", "level", "--place", "A", "--off", "nan", "--person", "engineer-1"), "off_mm"),
        (("close", "moisture", "--person", "engineer-1"), "no entry of the closing"),
        (("log", "lorry", "--person", "engineer-1"), "no entry of the pour log"),
    ],
)
def test_figures_and_files_that_can_not_be_used_are_told_in_words(
    run: Run, pour: Path, arguments: tuple[str, ...], told: str
) -> None:
    code, out, err = run(arguments[0], pour, *arguments[1:])
    assert code == 2
    assert told in " ".join((out + err).split())
    assert "should not" not in out + err, "an error that nobody thought of"
    assert "pydantic" not in out + err
