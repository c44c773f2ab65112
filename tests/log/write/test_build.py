"""The built workbook keeps the rules of good spreadsheets, in both editions."""

from __future__ import annotations

import re
import zipfile
from functools import cache
from pathlib import Path

import openpyxl
import pytest
from openpyxl.utils import get_column_letter

from sheetfns.errors import LogFileError
from sheetfns.hosts.engine import recalculate
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import EDITIONS, FIRST_ROW, HEADER_ROW, LEFT_EDGE, RIGHT_EDGE, UNIT_ROW
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import TEXT_ROWS
from sheetfns.log.write.build import build_log
from sheetfns.log.write.printing import ON_SCREEN
from sheetfns.registry import REGISTRY
from tests.log.random_logs import random_entries

ROWS = 30
KNOWN_TO_EVERY_PROGRAM = frozenset(
    [
        "ABS",
        "AND",
        "AVERAGE",
        "AVERAGEIFS",
        "CHAR",
        "COLUMN",
        "COLUMNS",
        "COUNT",
        "COUNTA",
        "COUNTIF",
        "COUNTIFS",
        "DATE",
        "DAY",
        "EOMONTH",
        "FALSE",
        "FIND",
        "FIXED",
        "HYPERLINK",
        "IF",
        "IFERROR",
        "INDEX",
        "INT",
        "_xlfn.ISFORMULA",
        "ISERROR",
        "ISNUMBER",
        "ISTEXT",
        "LARGE",
        "LEFT",
        "LEN",
        "LOWER",
        "MATCH",
        "MAX",
        "MEDIAN",
        "MID",
        "MIN",
        "MOD",
        "MONTH",
        "N",
        "NA",
        "NORMSINV",
        "OR",
        "PERCENTILE",
        "RANK",
        "REPT",
        "RIGHT",
        "ROUND",
        "ROUNDUP",
        "ROW",
        "ROWS",
        "SEARCH",
        "SIGN",
        "SMALL",
        "SQRT",
        "SUBSTITUTE",
        "SUM",
        "SUMIFS",
        "SUMPRODUCT",
        "TRIM",
        "TRUE",
        "YEAR",
    ]
)
"""Functions of Excel 2007 and LibreOffice 7.4, none of them volatile, none that needs a prefix."""


@pytest.fixture(scope="module", params=EDITIONS)
def built(request, tmp_path_factory):
    path = tmp_path_factory.mktemp("built") / f"{request.param}.xlsx"
    build_log(path, request.param, ROWS, random_entries(3, ROWS))
    return request.param, path


@cache
def opened(path: Path) -> openpyxl.Workbook:
    return openpyxl.load_workbook(path)


def formulas(path: Path):
    for sheet in opened(path):
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, str) and cell.value.startswith("="):
                    yield sheet.title, cell.coordinate, cell.value


def bare(formula: str) -> str:
    """A formula without its texts, so that words in quotes are not taken for functions."""
    return re.sub(r'"[^"]*"', '""', formula)


def test_functions_are_known_everywhere(built):
    edition, path = built
    allowed = KNOWN_TO_EVERY_PROGRAM | (set(REGISTRY) if edition == "functions" else set())
    used = {name for _, _, f in formulas(path) for name in re.findall(r"((?:_xlfn\.)?[A-Z_.]+)\(", bare(f))}
    assert used <= allowed
    if edition == "functions":
        assert {"NET_PROFIT", "SELLING_FEE", "BREAK_EVEN_PRICE"} <= used


def nested_ifs(formula: str) -> int:
    depth = deepest = 0
    stack = []
    for word in re.findall(r"[A-Z_.]*\(|\)", bare(formula)):
        if word == ")":
            depth -= stack.pop()
        else:
            stack.append(word == "IF(")
            depth += stack[-1]
            deepest = max(deepest, depth)
    return deepest


def test_ifs_are_not_nested_deeply(built):
    _, path = built
    for sheet, cell, formula in formulas(path):
        assert nested_ifs(formula) <= 3, f"{sheet}!{cell}: a guard for blank rows and two more"


def test_one_formula_per_column(built):
    _, path = built
    for table in log_layout(ROWS).tables:
        sheet = opened(path)[table.name]
        for place, column in enumerate(table.columns, 1):
            if column.formula is None:
                continue
            texts = set()
            for row in range(FIRST_ROW, table.last_row + 1):
                own = re.sub(rf"(?<=[A-Z]){row}\b", "{row}", sheet.cell(row, place).value)
                texts.add(re.sub(rf"(?<=[A-Z]){row - 1}\b", "{before}", own))
            assert len(texts) == 1, (table.name, column.key)


def test_nothing_is_hidden(built):
    """But calculation steps, which are folded (test_looks.py)."""
    _, path = built
    with_rows = {table.name for table in log_layout(ROWS).tables}
    for sheet in opened(path):
        assert sheet.sheet_state == "visible"
        assert sheet.title in with_rows or not [key for key, size in sheet.column_dimensions.items() if size.hidden]
        assert not [key for key, size in sheet.row_dimensions.items() if size.hidden]


def test_headers_have_units_and_stay_in_sight(built):
    _, path = built
    for table in log_layout(ROWS).tables:
        sheet = opened(path)[table.name]
        assert sheet.freeze_panes == f"{get_column_letter(table.frozen_columns + 1)}{FIRST_ROW}"
        headers = [sheet.cell(HEADER_ROW, i).value for i in range(1, len(table.columns) + 1)]
        assert headers == [column.header for column in table.columns]
        assert len(set(headers)) == len(headers)
        for place, column in enumerate(table.columns, 1):
            assert sheet.cell(UNIT_ROW, place).value or column.edge
            assert sheet.cell(HEADER_ROW - 1, place).value is None, "programs find the list below a blank row"
        assert sheet.print_title_rows == f"$1:${HEADER_ROW}"


def test_a_sheet_to_fill_in_is_open_and_typing_over_its_formulas_is_refused_with_a_sentence(built):
    _, path = built
    for table in log_layout(ROWS).tables:
        sheet = opened(path)[table.name]
        assert sheet.protection.sheet != table.holds_entries
        assert sheet.protection.password is None
        rules = [rule for rule in sheet.data_validations.dataValidation if rule.type == "custom"]
        for place, column in enumerate(table.columns, 1):
            cell = sheet.cell(table.last_row, place).coordinate
            refused = [rule for rule in rules if cell in rule.sqref]
            assert bool(refused) == (table.holds_entries and column.role != "input"), (table.name, column.key)
            for rule in refused:
                assert (rule.formula1, rule.errorStyle or "stop") == ("FALSE", "stop")
                assert "holds a formula" in rule.error


def test_entries_of_a_row_are_in_one_block_and_referred_to_within_it(built):
    _, path = built
    for table in log_layout(ROWS).tables:
        if not table.holds_entries:
            continue
        roles = [column.role for column in table.columns]
        first, last = roles.index("input"), len(roles) - 1 - roles[::-1].index("input")
        between = table.columns[first : last + 1]
        assert all(column.role == "input" or column.edge for column in between)
        assert (table.columns[first - 1].key, table.columns[last + 1].key) == (LEFT_EDGE, RIGHT_EDGE)
        letters = {get_column_letter(place) for place, one in enumerate(between, first + 1) if one.role == "input"}
        for cell in opened(path)[table.name][FIRST_ROW]:
            if isinstance(cell.value, str) and cell.value.startswith("="):
                alone = re.findall(rf"\$([A-Z]+)\$?{FIRST_ROW}\b", bare(cell.value))
                assert not letters.intersection(alone), f"{table.name}!{cell.coordinate}"


def test_every_input_has_a_message_in_the_limits_of_the_programs(built):
    _, path = built
    for table in log_layout(ROWS).tables:
        sheet = opened(path)[table.name]
        rules = sheet.data_validations.dataValidation
        for place, column in enumerate(table.columns, 1):
            if column.role != "input":
                continue
            cell = sheet.cell(table.last_row, place).coordinate
            (rule,) = [rule for rule in rules if cell in rule.sqref]
            assert rule.prompt and len(rule.prompt) <= 255
            assert len(rule.promptTitle) <= 32
            if rule.type not in (None, "none"):
                assert rule.error


def test_every_defined_name_is_used_or_stands_for_a_column(built):
    _, path = built
    layout = log_layout(ROWS)
    assert set(opened(path).defined_names) == set(AddressMap(layout).names)
    for name, place in AddressMap(layout).names.items():
        assert re.fullmatch(r"([A-Z][a-z]+)+(_[a-z]+|_\d{1,3})*", name)
        assert opened(path).defined_names[name].attr_text == place
        assert "_" in name or name == "Currency", "a name must not look like a cell"


def test_every_formula_cell_carries_its_result(built):
    _, path = built
    shown = openpyxl.load_workbook(path, data_only=True)
    values = recalculate(path)
    assert values.errors == []
    for sheet, coordinate, _ in formulas(path):
        cell = shown[sheet][coordinate]
        expected = values.value(sheet, cell.row, cell.column)
        if isinstance(cell.value, (int, float)):
            assert cell.value == pytest.approx(expected, abs=1e-9)
        elif hasattr(cell.value, "year"):
            assert isinstance(expected, float)
        else:
            assert (cell.value or "") == (expected or "")


ALLOWED_NUMBERS = {
    # 0, 1: nothing, one; 2, 6, 9: digits; 3, 300: cut from a text; 100: cents; 5: rows above names; 7: first row.
    *("0", "1", "2", "3", "5", "6", "7", "9", "100", "300", "0.01")
}
OWN_NUMBERS = {
    # The last day that a spreadsheet knows, where As of is blank; times the price that was asked.
    "on_hand": {"2958465"},
    "findings": {"2958465", "12", "31", "4"},
    # Whole numbers that put items in order by lot.
    **{key: {"100000"} for key in ("lot_order", "lot_before")},
    # Whole numbers that put rows in order; what is far too small for a float; the middle sale.
    "distance_key": {"100000", "1000"},
    "key": {"100000", "10000", "1000"},
    "day": {"10000000"},
    "latest": {"10000000", "9999999"},
    "weight": {"0.5", "1000"},
    "middle_part": {"0.5"},
    "middle": {"0.5"},
    # A guess from so few sales is a wide one: the words of COMP_SPREAD.
    "remark": {"4"},
    "typed_remark": {"4"},
    # The rows of the description text, a line feed, and more letters than they can have; texts are
    # taken apart by blanks, and labels named where the text begins.
    "template": {*map(str, range(1, TEXT_ROWS + 1)), "10", "6000"},
    "filled": {"10"},
    "label_check": {"30"},
    # To the nearest whole unit, half up.
    **{key: {"0.5"} for key in ("length_counted", "width_counted", "height_counted")},
    "stale_key": {"100000"},
    "place_key": {"9999", "1000000", "100000"},
    "count_key": {"100000"},
    **{key: {"100000"} for key in ("last_count", "count_row")},
    # More weeks than any path has; a ten-thousandth of a cent; places among cells.
    "weeks_to_turn": {"520"},
    "short_week": {"0.000001"},
    # The longest history that GROWTH_ODDS draws from; from ten sales on there is no remark.
    "odds_ready": {"20000"},
    "few_words": {"10"},
    # Less than half a cent is no difference.
    "settle": {"0.004"},
    # The last months that a chart shows; the cells of GROWTH_ODDS.
    "month_row": {"24"},
    **{key: {"4", "5"} for key in ("high", "chance")},
    # The fourth cell of ESTIMATE_BIAS.
    "postage_bias_allowance": {"4"},
    "weight_bias_allowance": {"4"},
    # Months of a year; sales that are too few.
    "year_days": {"12"},
    "history_short": {"10"},
    # The rest of a text from its second or third letter on.
    "basis": {"99"},
    **{key: {"200"} for key in ("taxes_words", "reports_words")},
    # Months of a year; the fourth and fifth cells of TAX_SET_ASIDE, the fourth of RECEIPTS_GAP.
    "office_months": {"12"},
    **{key: {"4", "5"} for key in ("payment_3", "payment_4")},
    "explained": {"4"},
}


def test_no_constants_stand_in_formulas():
    """Money, rates and dates that a seller may want to change stand on Settings."""
    layout = log_layout(ROWS)
    cells = [(c.key, c.formula) for table in layout.tables for c in table.columns]
    cells += [(c.key, c.formula) for form in layout.forms for c in form.cells()]
    for key, formula in cells:
        if formula is None or key in ("lot_key", "stage") or key.startswith("line_"):
            continue
        if key == "overwritten":  # the number of formulas that a row has
            continue
        text = bare(re.sub(r"\{[^}]*\}|\[\w+\]", "X", formula.formula("functions")))
        numbers = set(re.findall(r"(?<![\w.])\d+(?:\.\d+)?", text))
        # A cell of a form may have the number of its own row in its key.
        own_row = set(re.findall(r"\d+", key))
        known = OWN_NUMBERS.get(key, set()) | OWN_NUMBERS.get(re.sub(r"_\d+$", "", key), set())
        assert numbers <= ALLOWED_NUMBERS | known | own_row, key


def test_shelf_check_fits_a_phone(built):
    _, path = built
    form = log_layout(ROWS).form("Shelf")
    sheet = opened(path)[form.name]
    widths = [sheet.column_dimensions[letter].width for letter in "ABC"]
    assert sum(widths) <= 43, "40 characters, and the border that the file adds to each column"
    assert len([cell for cell in form.cells() if cell.role == "input"]) <= 12
    assert [cell.key for cell in form.cells()][:3] == ["verdict", "reason", "check_first"]
    assert sheet.freeze_panes == f"A{form.first_row + 3}"
    assert sheet.page_setup.fitToHeight == 0


def test_only_words_of_forms_are_merged(built):
    """A merged cell gets in the way of sorting, filtering and inserting on sheets with rows."""
    _, path = built
    layout = log_layout(ROWS)
    forms = {form.name: form for form in layout.forms}
    for table in layout.tables:
        assert not opened(path)[table.name].merged_cells.ranges
    for name, form in forms.items():
        last = len(form.widths)
        of_words = {
            (form.first_row + place, 2 if line.label else 1) for place, line in enumerate(form.rows) if line.lines
        }
        merged = opened(path)[name].merged_cells.ranges
        assert {(block.min_row, block.min_col) for block in merged} == of_words
        assert all((b.max_row, b.max_col) == (b.min_row, last) for b in merged)


def test_forms_print_without_their_workings(built):
    _, path = built
    for form in log_layout(ROWS).forms:
        sheet = opened(path)[form.name]
        cells = AddressMap(log_layout(ROWS)).form_cells[form.key]
        typed = [cells[cell.key][0] for cell in form.cells() if cell.role == "input"]
        steps = [cells[cell.key][0] for cell in form.cells() if cell.role == "working"]
        if form.name not in ON_SCREEN:
            last = int(sheet.print_area.rpartition("$")[2])
            assert max(typed, default=0) <= last < min(steps)
        # They are read on a phone too.
        assert sheet.page_setup.orientation != "landscape"


def test_inputs_of_forms_are_open_and_formulas_locked(built):
    _, path = built
    for form in log_layout(ROWS).forms:
        sheet = opened(path)[form.name]
        assert sheet.protection.sheet
        rules = sheet.data_validations.dataValidation
        for cell in form.cells():
            row, place = AddressMap(log_layout(ROWS)).form_cells[form.key][cell.key]
            found = sheet.cell(row, place + 1)
            assert found.protection.locked == (cell.role != "input"), cell.key
            if cell.role == "input":
                (rule,) = [rule for rule in rules if found.coordinate in rule.sqref]
                assert rule.prompt
                assert len(rule.prompt) <= 255
                assert len(rule.promptTitle) <= 32


def test_same_entries_give_the_same_bytes(tmp_path):
    one = build_log(tmp_path / "one.xlsx", rows=5).read_bytes()
    two = build_log(tmp_path / "two.xlsx", rows=5).read_bytes()
    assert one == two


def test_no_part_is_external_or_a_macro(built):
    _, path = built
    with zipfile.ZipFile(path) as book:
        names = book.namelist()
    assert not [name for name in names if "external" in name or "vba" in name.lower()]


@pytest.mark.parametrize("rows", [0, -1, 90_001])
def test_impossible_numbers_of_rows(tmp_path, rows):
    with pytest.raises(LogFileError, match=f"{rows} is not between 1 and 90000"):
        build_log(tmp_path / "log.xlsx", rows=rows)
    assert list(tmp_path.iterdir()) == []


def test_entries_that_do_not_fit(tmp_path):
    path = tmp_path / "log.xlsx"
    many = Inputs(rows={"Log": [{"item_no": str(i)} for i in range(6)]})
    with pytest.raises(LogFileError, match="Sourcing log: 6 rows don't fit in 5"):
        build_log(path, rows=5, inputs=many)
    with pytest.raises(LogFileError, match="no input column profit"):
        build_log(path, rows=5, inputs=Inputs(rows={"Log": [{"profit": 1}]}))
    channels = [{"name": f"C{i}"} for i in range(11)]
    with pytest.raises(LogFileError, match="11 rows don't fit in Channels and their fees"):
        build_log(path, rows=5, inputs=Inputs(blocks={"Channel": channels}))
    assert list(tmp_path.iterdir()) == []


def test_text_from_entries_never_becomes_a_formula(tmp_path):
    path = tmp_path / "log.xlsx"
    words = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "{=1}", "http://example.org"]
    rows = [{"item_no": f"{i}", "description": word} for i, word in enumerate(words)]
    build_log(path, rows=10, inputs=Inputs(rows={"Log": rows}))
    sheet = openpyxl.load_workbook(path)["Sourcing log"]
    place = log_layout(10).table("Log").position("description") + 1
    cells = [sheet.cell(FIRST_ROW + i, place) for i in range(len(words))]
    assert [cell.value for cell in cells] == words
    place = opened(path).sheetnames.index("Sourcing log") + 1
    with zipfile.ZipFile(path) as book:
        text = book.read(f"xl/worksheets/sheet{place}.xml").decode()
    assert not re.search(rf'<c r="{cells[0].column_letter}([7-9]|1\d)"[^>]*><f>', text)
