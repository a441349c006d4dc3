"""Files of readings as they really arrive: read right, or refused with row and column; never misread."""

from __future__ import annotations

import contextlib
import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from verifier.errors import BadInput
from verifier.metrology.measurement import Measurand
from verifier.tape.csv_file import COLUMNS, csv_of, template
from verifier.tape.instruments import Instrument, Register
from verifier.tape.reading import Expectation, TapeFile
from verifier.tape.rows import read_tape_csv

HEADING = "element,layer,what,n_gaps,reading_mm,instrument,person,time,spot,remark"
GOOD = "S1,B1,mean_spacing,5,752.5,tape-II,engineer-1,2026-05-13 16:30,1,beside the board"


def read(text: str | bytes, **given: object) -> TapeFile:
    data = text if isinstance(text, bytes) else text.encode()
    return read_tape_csv(data, "tape.csv", **given)  # type: ignore[arg-type]


def with_semicolons(text: str) -> str:
    return text.replace(",", ";")


SAME_FILE = {
    "plain": f"{HEADING}\n{GOOD}\n",
    "windows line ends": f"{HEADING}\r\n{GOOD}\r\n",
    "old line ends": f"{HEADING}\r{GOOD}\r",
    "no last line end": f"{HEADING}\n{GOOD}",
    "byte-order mark": f"\ufeff{HEADING}\n{GOOD}\n",
    "utf-16": f"{HEADING}\n{GOOD}\n".encode("utf-16"),
    "semicolons": with_semicolons(f"{HEADING}\n{GOOD}\n"),
    "semicolons and decimal comma": with_semicolons(f"{HEADING}\n{GOOD}\n").replace("752.5", "752,5"),
    "tabs and decimal comma": f"{HEADING}\n{GOOD}\n".replace(",", "\t").replace("752.5", "752,5"),
    "declared separator": "sep=;\n" + with_semicolons(f"{HEADING}\n{GOOD}\n"),
    "empty rows": f"\n{HEADING}\n\n{GOOD}\n,,,,,,,,,\n\n".replace("\n\n", "\n", 1),
    "separators at the end": f"{HEADING},,,\n{GOOD},,,\n",
    "spelled as in a spreadsheet": f"{HEADING}\n{GOOD}\n".replace("reading_mm", "Reading [mm]").replace("n_gaps", "N gaps"),
    "quoted": f'{HEADING}\n"S1","B1","mean_spacing","5","752.5","tape-II","engineer-1","2026-05-13 16:30","1","beside the board"\n',
    "unit written": f"{HEADING}\n{GOOD}\n".replace("752.5", "752.5 mm"),
    "dotted date": f"{HEADING}\n{GOOD}\n".replace("2026-05-13 16:30", "13.05.2026 16:30"),
    "small letters": f"{HEADING}\n{GOOD}\n".replace("B1", "b1").replace("tape-II", "TAPE-ii"),
    "spacing by number of gaps": f"{HEADING}\n{GOOD}\n".replace("mean_spacing", "Spacing"),
}  # fmt: skip


@pytest.mark.parametrize("way", SAME_FILE)
def test_one_reading_written_in_many_ways_is_one_reading(way: str) -> None:
    found = read(SAME_FILE[way])
    assert found.faults == ()
    assert found.questions == ()
    (reading,) = found.readings
    assert (reading.element, reading.layer, reading.spot) == ("S1", "B1", "1")
    assert (reading.what, reading.n_gaps, reading.readings) == (Measurand.MEAN_SPACING, 5, (752.5,))
    assert (reading.instrument, reading.person) == ("tape-II", "engineer-1")
    assert reading.taken_at == "2026-05-13T16:30:00"
    assert reading.per_gap == pytest.approx(150.5)


def test_the_file_is_named_by_the_hash_of_its_bytes() -> None:
    data = f"{HEADING}\n{GOOD}\n".encode()
    assert read(data).sha256 == hashlib.sha256(data).hexdigest()


WHOLE = {
    "empty": (b"", "empty"),
    "blank": (b"  \n \n", "empty"),
    "spreadsheet": (b"PK\x03\x04" + bytes(60), "spreadsheet file"),
    "old spreadsheet": (b"\xd0\xcf\x11\xe0" + bytes(60), "spreadsheet file"),
    "photo": (b"\xff\xd8\xff\xe0" + bytes(60), "picture or a PDF"),
    "binary": (b"element\0\0\0", "zero bytes"),
    "older encoding": (
        f"{HEADING}\n{GOOD}\n".replace("engineer-1", "Müller").encode("latin-1"),
        "Line 2 holds a letter",
    ),
    "no rows": (HEADING.encode(), "heading and no rows"),
    "only separators": (b",,,;;\n", "no heading"),
    "no heading": (GOOD.encode() + b"\n" + GOOD.encode(), "unknown column"),
    "missing column": (
        f"{HEADING}\n{GOOD}\n".replace("instrument,", "spot2,").encode(),
        "missing column instrument",
    ),
    "unknown column": (f"{HEADING},colour\n{GOOD},red\n".encode(), "'colour'"),
    "same column twice": (f"{HEADING},spot\n{GOOD},2\n".encode(), "spot given twice"),
    "open quotation mark": (
        f"{HEADING}\n{GOOD.replace('beside', chr(34) + 'beside')}\n".encode(),
        "quotation mark",
    ),
    "too large": (b"a" * 5_000_001, "at most 5 MB"),
}


@pytest.mark.parametrize("way", WHOLE)
def test_a_file_that_is_none_is_refused_with_what_to_do(way: str) -> None:
    data, says = WHOLE[way]
    with pytest.raises(BadInput) as refused:
        read(data)
    assert says in str(refused.value)
    assert refused.value.where.startswith("tape.csv")
    assert len(refused.value.todo) > 10


ROW = {
    "no number": ("752.5", "abc", "reading_mm", "no number"),
    "centimetres": ("752.5", "75 cm", "reading_mm", "Write 750"),
    "inches": ("752.5", '29 1/2"', "reading_mm", "no number"),
    "feet": ("752.5", "2 ft", "reading_mm", "Write 609.6"),
    "negative": ("752.5", "-5", "reading_mm", "no number"),
    "zero": ("752.5", "0", "reading_mm", "above zero"),
    "infinite": ("752.5", "inf", "reading_mm", "no number"),
    "exponent": ("752.5", "7e2", "reading_mm", "no number"),
    "other digits": ("752.5", "٧٥٢", "reading_mm", "no number"),
    "formula": ("752.5", "=150*5", "reading_mm", "no number"),
    "thousands or decimals": ("752.5", '"1,752"', "reading_mm", "decimal mark or separate thousands"),
    "quoted decimal comma": ("752.5", '"752,5"', "reading_mm", "Write 752.5"),
    "nothing read": ("752.5", "", "reading_mm", "nothing is entered"),
    "nobody": ("engineer-1", "", "person", "nothing is entered"),
    "no element": ("S1", "", "element", "nothing is entered"),
    "no layer": ("B1", "", "layer", "belongs to a layer"),
    "unknown quantity": ("mean_spacing", "spaceing", "what", "Nearest is spacing"),
    "no gaps": (",5,", ",,", "n_gaps", "over how many gaps"),
    "half a gap": (",5,", ",2.5,", "n_gaps", "whole number"),
    "single gap over five": ("mean_spacing", "single_gap", "n_gaps", "spans one gap"),
    "cover over five gaps": ("mean_spacing", "cover", "n_gaps", "not read over gaps"),
    "unknown instrument": ("tape-II", "tap-II", "instrument", "Nearest is tape-II"),
    "wrong instrument": ("tape-II", "cover-gauge", "instrument", "can't read mean_spacing"),
    "month or day first": ("2026-05-13 16:30", "5/6/2026 16:30", "time", "can't be told"),
    "no such day": ("2026-05-13", "2026-02-30", "time", "can't be told"),
    "no hour": ("2026-05-13 16:30", "2026-05-13", "time", "can't be told"),
    "decimal comma tears a cell": ("752.5", "752,5", "after the last column", "torn in two"),
}


@pytest.mark.parametrize("way", ROW)
def test_a_faulty_row_is_named_with_its_column_and_the_good_rows_are_kept(way: str) -> None:
    old, new, column, says = ROW[way]
    assert old in GOOD
    found = read(f"{HEADING}\n{GOOD}\n{GOOD.replace(old, new, 1)}\n{GOOD}\n")
    assert [r.row for r in found.readings] == [1, 3]
    assert {(f.row, f.line) for f in found.faults} == {(2, 3)}
    fault = next(f for f in found.faults if f.column == column)
    assert says in fault.text
    assert "row 2 (line 3)" in fault.text


def test_every_fault_of_a_row_is_listed_once() -> None:
    found = read(f"{HEADING}\nS1,B1,mean_spacing,x,abc,nothing,,yesterday,1,\n")
    assert [f.column for f in found.faults] == ["n_gaps", "person", "reading_mm", "instrument", "time"]


def test_a_fault_below_a_remark_of_two_lines_names_the_right_line() -> None:
    two_lines = GOOD.replace("beside the board", '"beside\nthe board"')
    found = read(f"{HEADING}\n{GOOD}\n{two_lines}\n{GOOD.replace('S1', '')}\n")
    assert [(f.row, f.line, f.column) for f in found.faults] == [(2, 3, "remark"), (3, 5, "element")]


def test_a_comma_file_with_decimal_commas_is_never_misread() -> None:
    """Without the optional cells at the end the number of cells can fit by chance; the figures must not."""
    found = read("element,layer,what,n_gaps,reading_mm,reading_2_mm,instrument,person,time,spot\n"
                 "S1,B1,mean_spacing,5,752,5,tape-II,engineer-1,2026-05-13 16:30,1\n")  # fmt: skip
    assert found.readings == ()
    assert [q.about for q in found.questions] == ["repeats"]


def test_several_readings_in_a_row_are_of_one_thing() -> None:
    found = read(csv_of([{**EXAMPLE, "reading_2_mm": "751.5", "reading_3_mm": "752"}]))
    (reading,) = found.readings
    assert reading.readings == (752.5, 751.5, 752.0)


EXAMPLE = dict(zip(HEADING.split(","), GOOD.split(","), strict=True))


def test_rows_with_one_index_are_repeats_and_rows_without_are_not() -> None:
    gap = {**EXAMPLE, "what": "single_gap", "n_gaps": "1"}
    rows = [
        {**gap, "reading_mm": value, "index": index}
        for value, index in (("149", "2"), ("150", "2"), ("171", "3"))
    ]
    assert [r.readings for r in read(csv_of(rows)).readings] == [(149.0, 150.0), (171.0,)]
    without = [{**gap, "reading_mm": value} for value in ("149", "190")]
    assert [r.readings for r in read(csv_of(without)).readings] == [(149.0,), (190.0,)], (
        "two gaps must not be averaged"
    )


def test_repeats_by_another_person_stay_a_measurement_of_their_own() -> None:
    gap = {**EXAMPLE, "what": "single_gap", "n_gaps": "1", "reading_mm": "150", "index": "2"}
    found = read(csv_of([gap, {**gap, "person": "engineer-2"}]))
    assert [r.person for r in found.readings] == ["engineer-1", "engineer-2"]


def test_a_questioned_reading_is_held_back_until_it_is_confirmed() -> None:
    drawn = [Expectation(what=Measurand.MEAN_SPACING, element="S1", layer="B1", drawing_value=150)]
    slip = {**EXAMPLE, "reading_mm": "75"}
    found = read(csv_of([EXAMPLE, slip]), expected=drawn)
    assert [r.row for r in found.readings] == [1]
    assert [r.row for r in found.asked] == [2]
    assert found.asked[0].readings == (75.0,), "asked about, not corrected"
    assert "read in cm" in found.questions[0].asks
    confirmed = read(csv_of([{**slip, "confirmed": "yes"}]), expected=drawn)
    assert confirmed.readings[0].readings == (75.0,)
    assert confirmed.questions == ()


def test_counts_are_whole_and_agree() -> None:
    count = {**EXAMPLE, "what": "bar_count", "n_gaps": "", "reading_mm": "12", "instrument": ""}
    assert read(csv_of([count])).readings[0].readings == (12.0,)
    assert "whole number of bars" in read(csv_of([{**count, "reading_mm": "11.5"}])).faults[0].text
    assert "differ" in read(csv_of([{**count, "reading_2_mm": "13"}])).faults[0].text


@pytest.mark.parametrize(
    "name", ["Müller Žižek", "李工", "O'Brien, J.", "=cmd()", "**bold**", 'the "old" one']
)
def test_foreign_names_come_back_letter_by_letter(name: str) -> None:
    found = read(csv_of([{**EXAMPLE, "person": name, "element": name, "remark": name}]))
    (reading,) = found.readings
    assert (reading.person, reading.element, reading.remark) == (name, name, name)


def test_the_template_is_read_without_a_fault_and_shows_all_columns() -> None:
    found = read(template())
    assert (len(found.readings), found.faults, found.questions) == (2, (), ())
    assert template().decode("utf-8-sig").splitlines()[0].split(",") == list(COLUMNS)


def test_a_register_of_the_site_is_used() -> None:
    register = Register([Instrument(id="yellow 7", kind="tape", tape_class="I")])
    row = {**EXAMPLE, "instrument": "Yellow 7"}
    assert read(csv_of([row]), register=register).readings[0].instrument == "yellow 7"
    assert read(csv_of([row])).readings == ()


CELL = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=12)


@given(st.lists(st.fixed_dictionaries(dict.fromkeys(EXAMPLE, CELL)), min_size=1, max_size=5))
def test_whatever_is_written_every_row_ends_in_exactly_one_place(rows: list[dict[str, str]]) -> None:
    try:
        found = read(csv_of([EXAMPLE, *rows]))
    except BadInput:
        return
    faulty = {f.row for f in found.faults}
    read_rows = [r.row for r in (*found.readings, *found.asked)]
    assert 1 in read_rows
    assert not faulty & set(read_rows)
    filled = {
        i for i, row in enumerate([EXAMPLE, *rows], start=1) if any(cell.strip() for cell in row.values())
    }
    assert filled <= faulty | set(read_rows)


@given(st.binary(max_size=300))
def test_no_bytes_do_anything_but_be_read_or_refused(data: bytes) -> None:
    with contextlib.suppress(BadInput):
        found = read(data)
        assert found.readings or found.faults or found.asked
