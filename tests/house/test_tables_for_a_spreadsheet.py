"""Tables of the page as a spreadsheet: numbers and times typed, units in the headings, and nothing that a spreadsheet would run.

Read back with openpyxl and as raw XML. What a spreadsheet runs is an element ``f`` of a cell: ISO/IEC 29500-1 (Office Open XML),
18.3.1.40; from memory.
"""

from __future__ import annotations

import io
import re
import zipfile
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from ui.parts import table_sheets
from ui.parts.tables import book_of, file_name
from ui.words import LANGUAGES, english
from verifier.concrete.order import OrderSheet
from verifier.concrete.pour_log import Cube, HourReading, SlumpTest, Truck, WaterAdded
from verifier.drawing.read import read_pour
from verifier.metrology.measurement import Measurand, Measurement, Trace
from verifier.pipeline.concreting.orders import order_of
from verifier.pipeline.inspection.rounds import Rounds, rounds_of
from verifier.rounds.answers import Answer, HoldReleased, Value, Word

SAMPLE = Path(__file__).parents[2] / "sample_images"
AT = datetime.fromisoformat("2026-05-14T04:40:00+00:00")
RUNS = ("=1+1", "+SUM(A1)", "-2+3", "@SUM(A1)", '=HYPERLINK("http://elsewhere.example")', "\t=1")


def read_back(sheets: Any) -> Any:
    data = book_of(sheets)
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        for name in parts.namelist():
            if name.startswith("xl/worksheets/sheet"):
                assert not re.search(rb"<f[ >]", parts.read(name)), name
    return load_workbook(io.BytesIO(data))


def truck(**more: Any) -> Truck:
    return Truck(
        ticket=RUNS[0], plant="plant-1", mix="M25-20-S", volume_m3=3.5, batch_at=AT, arrived_at=AT, taken_by="helper-1",
        slumps=(SlumpTest(slump_mm=105, at=AT),), water=(WaterAdded(litres=20, at=AT),), concrete_c=27.5, **more,
    )  # fmt: skip


def test_deliveries_and_specimens_are_typed_and_told_in_the_time_of_the_site() -> None:
    pour = read_pour(SAMPLE)
    entries = (
        truck(refused_because=RUNS[4]),
        Cube(sample="1", mark="1-A", ticket="7", made_at=AT, by="helper-2", age_to_test_days=28),
        HourReading(at=AT, by="helper-3", air_c=21.5, humidity_percent=60, wind_km_h=8),
    )
    book = read_back(table_sheets.log(entries, pour))
    sheet = book[english.TABLE["deliveries"]]
    head, row = ([c.value for c in r] for r in sheet.iter_rows())
    told = dict(zip(head, row, strict=True))
    assert (told["volume, m³"], told["concrete, °C"]) == (3.5, 27.5)
    assert told["arrived"] == datetime(2026, 5, 14, 6, 40)  # noqa: DTZ001 - a spreadsheet knows no zones
    assert told["ticket"] == "=1+1"
    assert sheet["A2"].data_type == "s"
    assert sheet["A2"].quotePrefix
    assert book[english.TABLE["slumps"]]["C2"].value == 105
    assert book[english.TABLE["water"]]["B2"].value == 20
    assert book[english.TABLE["specimens"]]["E2"].value == 28
    assert book[english.TABLE["hours"]]["B2"].value == 21.5


@pytest.mark.parametrize("text", RUNS)
def test_text_from_elsewhere_stays_text(text: str) -> None:
    trace = Trace(original_sha256="0" * 64, original_name=text)
    reading = Measurement(
        measurand=Measurand.COVER, value=22.5, standard_uncertainty=0.5, unit="mm", element="S1", layer=text, spot=text,
        by="tape", method="tape", method_version="1", person=text, trace=trace,
    )  # fmt: skip
    sheet = read_back(table_sheets.readings([reading])).worksheets[0]
    row = {h.value: c for h, c in zip(sheet[1], sheet[2], strict=True)}
    assert row["value, mm"].value == 22.5
    assert row["expanded uncertainty (95 %), mm"].value == pytest.approx(1.0, abs=0.05)
    for name in ("layer", "spot", "person", "file"):
        assert (row[name].data_type, row[name].quotePrefix) == ("s", True)


def test_answers_of_the_rounds_keep_value_limits_and_unit() -> None:
    found = rounds_of(SAMPLE)
    answers = (
        Answer(
            item="FW-03",
            round=1,
            word=Word.CONFORMING,
            by="engineer-1",
            at=AT,
            value=Value(value=-3.5, unit="mm", planned=0),
        ),
        Answer(item="FW-06", round=1, word=Word.NOT_CONFORMING, by="engineer-1", at=AT, remark="-loose"),
    )
    hold = HoldReleased(item="FW-17", by="engineer-1", at=AT)
    told = Rounds(found.pour, found.checklist, found.people, found.setting, found.revision, answers, (hold,))
    book = read_back(table_sheets.rounds(told, AT.astimezone(found.pour.pour.planned_start.tzinfo)))
    rows = list(book[english.TABLE["rounds"]].iter_rows(min_row=2, values_only=True))
    assert rows[0][5:8] == (-3.5, "mm", 0)
    assert rows[1][13] == "-loose"
    events = list(book[english.TABLE["round events"]].iter_rows(min_row=2, values_only=True))
    assert events[0][:2] == (english.TABLE_EVENT["hold"], "FW-17")


def test_the_order_gives_numbers_with_their_unit_beside_them() -> None:
    order = order_of(SAMPLE, AT)
    assert order is not None
    assert isinstance(order.sheet, OrderSheet)
    rows = list(
        read_back(table_sheets.order(order.sheet, AT.tzinfo)).worksheets[0].iter_rows(values_only=True)
    )
    assert ("volume", 6.5, "m³") in rows
    assert ("slump", 100, "mm") in rows
    assert ("rate", 7, "m³/h") in rows


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_column_has_a_heading(language: str) -> None:
    book = LANGUAGES[language]
    assert set(book.TABLE) == set(book.TABLE_COLUMNS)
    assert all(
        len(title) <= 31 for title in book.TABLE.values()
    )  # so many signs spreadsheet programs take; from memory
    widths = {s.title: len(s.columns) for s in table_sheets.log((truck(),), read_pour(SAMPLE))}
    for sheet in table_sheets.log((truck(),), read_pour(SAMPLE)):
        assert all(len(row) == widths[sheet.title] for row in sheet.rows), sheet.title


def test_a_file_is_named_by_letters_alone() -> None:
    assert file_name("../L2 east=1") == "L2-east-1"
