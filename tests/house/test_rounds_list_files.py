"""The list of items as a file: round trip through a spreadsheet, formulas, damage, and the hash that names a list."""

from __future__ import annotations

import io
import zipfile
from datetime import datetime

import pytest
from openpyxl import Workbook, load_workbook

from verifier.errors import BadInput
from verifier.rounds.items import CheckList, load_list, read_list
from verifier.rounds.reopening import reopening_table
from verifier.rounds.setting import read_setting
from verifier.rounds.sheet import COLUMNS, from_sheet, to_sheet

LIST = load_list()


def changed(**fields) -> CheckList:
    first = LIST.item[0].model_copy(update=fields)
    return LIST.model_copy(update={"item": (first, *LIST.item[1:])})


def rewritten(edit) -> bytes:
    book = load_workbook(io.BytesIO(to_sheet(LIST)))
    edit(book.worksheets[0])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_a_list_comes_back_from_its_spreadsheet_unchanged():
    back = from_sheet(to_sheet(LIST), where="items.xlsx")
    assert back == LIST
    assert back.version == LIST.version


@pytest.mark.parametrize(
    "text", ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", '=HYPERLINK("x")', "'quoted"]
)
def test_words_that_look_like_formulas_stay_words(text):
    data = to_sheet(changed(item=text))
    cell = load_workbook(io.BytesIO(data)).worksheets[0].cell(5, COLUMNS.index("item") + 1)
    assert (cell.value, cell.data_type, cell.quotePrefix) == (text, "s", True)
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        assert b"<f>" not in packed.read("xl/worksheets/sheet1.xml")
    assert from_sheet(data, where="items.xlsx").item[0].item == text


def test_every_cell_is_text():
    sheet = load_workbook(io.BytesIO(to_sheet(LIST))).worksheets[0]
    kinds = {cell.data_type for row in sheet.iter_rows() for cell in row if cell.value is not None}
    assert kinds == {"s"}


def test_a_formula_written_by_hand_is_refused_with_its_cell():
    def edit(sheet):
        sheet["D7"] = "=1+1"

    with pytest.raises(BadInput, match=r"items!D7: holds a formula"):
        from_sheet(rewritten(edit), where="items.xlsx")


def _merge(sheet):
    sheet.merge_cells("A6:A7")


def _date(sheet):
    sheet["C6"] = datetime(2026, 5, 4, tzinfo=None)  # noqa: DTZ001 - a cell of a spreadsheet has no zone


def _broken(sheet):
    sheet["C6"] = "#REF!"
    sheet["C6"].data_type = "e"


def _beside(sheet):
    sheet.cell(6, len(COLUMNS) + 1).value = "look here"


def _other_sheet(sheet):
    sheet.parent.create_sheet("more").append(["FW-90"])


def _twice(sheet):
    sheet["A6"] = sheet["A5"].value


@pytest.mark.parametrize(
    ("edit", "told"),
    [
        (_merge, r"items!A6:A7: cells are merged"),
        (_date, r"items!C6: holds a date"),
        (_broken, r"items!C6: holds a spreadsheet error"),
        (_beside, r"items!\w+6: has no heading above it"),
        (_other_sheet, r"Only the sheet items is read, and more is filled, too"),
        (_twice, r"written more than once: FW-01"),
    ],
)
def test_what_would_be_passed_over_or_bent_is_named(edit, told):
    with pytest.raises(BadInput, match=told):
        from_sheet(rewritten(edit), where="items.xlsx")


def test_rows_left_empty_between_items_do_no_harm():
    assert from_sheet(rewritten(lambda sheet: sheet.insert_rows(8)), where="items.xlsx").item == LIST.item


def test_numbers_written_by_hand_are_read():
    def edit(sheet):
        sheet.cell(5 + 2, COLUMNS.index("high") + 1).value = 15
        sheet.cell(5 + 2, COLUMNS.index("low") + 1).value = -15

    item = from_sheet(rewritten(edit), where="items.xlsx").item[2]
    assert (item.low, item.high) == (-15.0, 15.0)


def test_all_faulty_rows_are_named_at_once():
    def edit(sheet):
        sheet.cell(5, COLUMNS.index("point") + 1).value = "stop"
        sheet.cell(9, COLUMNS.index("rounds") + 1).value = "second"

    with pytest.raises(BadInput, match=r"row 5: point.*row 9: rounds"):
        from_sheet(rewritten(edit), where="items.xlsx")


def test_a_missing_heading_is_named():
    def edit(sheet):
        sheet.cell(4, COLUMNS.index("why") + 1).value = "reason"

    with pytest.raises(BadInput, match="missing: why; unknown: reason"):
        from_sheet(rewritten(edit), where="items.xlsx")


@pytest.mark.parametrize("data", [b"", b"not a workbook", to_sheet(LIST)[:2000]])
def test_a_file_that_is_no_workbook_is_refused(data):
    with pytest.raises(BadInput, match=r"items.xlsx: It is not a workbook"):
        from_sheet(data, where="items.xlsx")


def test_an_empty_workbook_and_an_oversized_one_are_refused():
    out = io.BytesIO()
    Workbook().save(out)
    with pytest.raises(BadInput, match="missing"):
        from_sheet(out.getvalue(), where="items.xlsx")
    with pytest.raises(BadInput, match="most is"):
        from_sheet(b"x" * 5_000_000, where="items.xlsx")


def test_a_workbook_that_unpacks_to_far_more_than_it_weighs_is_refused():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b"0" * 50_000_000)
    with pytest.raises(BadInput, match="unpacks to 50000000 bytes"):
        from_sheet(out.getvalue(), where="items.xlsx")


def test_any_change_of_a_list_changes_its_version():
    assert changed(limit="as drawn, else").version != LIST.version
    assert changed(low=None).version == LIST.version


def test_a_list_with_a_repeated_item_or_an_unknown_key_is_refused_by_name():
    with pytest.raises(ValueError, match="written more than once: FW-01"):
        CheckList(title="t", edition="1", item=(LIST.item[0], LIST.item[0]))
    text = 'title = "t"\nedition = "1"\n[[item]]\nid = "FW-01"\nwhom = "x"\n'
    with pytest.raises(BadInput, match=r"firm.toml: .*item.0.whom"):
        read_list(text, where="firm.toml")


def test_every_pattern_of_the_reopening_table_meets_an_item():
    ids = [i.id for i in LIST.item]
    for rule in reopening_table().values():
        for pattern in (*rule.reopens, *rule.if_unnamed):
            ends = pattern.split("..")
            assert all(any(i.startswith(end.rstrip("*")) for i in ids) for end in ends), pattern


def test_settings_number_their_rounds_from_one():
    text = '[[round]]\nnumber = 2\ntitle = "t"\nroles = ["foreman"]\nnot_the_fixer = false\nsigns = "s"\n'
    with pytest.raises(BadInput, match=r"rounds are numbered 1, 2, 3"):
        read_setting(text, where="rounds.toml")
