"""The edition with the functions as names: in everything else it is the plain one."""

from __future__ import annotations

import copy
import math
import re
import zipfile

import openpyxl
import pytest
import python_calamine
from openpyxl.workbook.defined_name import DefinedName

from sheetfns import former_names
from sheetfns.cell_types import date_number
from sheetfns.files.xlsx_file import XlsxFile
from sheetfns.hosts import engine
from sheetfns.log.check.report import FORMULAS, LOOK, check_log, fix_log
from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.edit.merge import merge_logs
from sheetfns.log.edit.patch import refresh_values
from sheetfns.log.edit.upgrade import upgrade_log
from sheetfns.log.lambdas.bodies import NO_LAMBDA
from sheetfns.log.lambdas.names import lambda_formula, lambda_specs, named_lambdas
from sheetfns.log.load import load_log
from sheetfns.log.model.version import LAYOUT
from sheetfns.log.sheets.words import FUNCTIONS, LAYOUT_VERSION, START
from sheetfns.registry import REGISTRY
from tests import libreoffice
from tests.log.earlier_wording import with_stored
from tests.log.filled_logs import build_small_log, few_rows, full_entries, small_log

LOG, HEADERS, FIRST = "Sourcing log", 6, 7
NAMES = {spec.name: lambda_formula(spec) for spec in lambda_specs()}


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    return small_log(tmp_path_factory.mktemp("plain") / "log.xlsx", "plain", full_entries())


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return small_log(tmp_path_factory.mktemp("lambda") / "log.xlsx", "lambda", full_entries())


@pytest.fixture
def changed(whole, tmp_path):
    """Gives a function that saves a copy of the log after changing it."""

    def save(change, path=whole):
        book = openpyxl.load_workbook(path)
        change(book)
        book.save(tmp_path / "changed.xlsx")
        return tmp_path / "changed.xlsx"

    return save


def names_in(path):
    """The names with a LAMBDA as they stand in the file."""
    with XlsxFile(path) as book:
        there = named_lambdas(book.defined_names)
        return {name: book.defined_names[name] for name in there}


def cells_of(path, *, values=False):
    book = openpyxl.load_workbook(path, data_only=values)
    return {
        sheet.title: {cell.coordinate: cell.value for row in sheet.iter_rows() for cell in row}
        for sheet in book.worksheets
    }


# ---- what is in it -------------------------------------------------------------------------------


def test_its_cells_are_those_of_the_plain_edition(whole, plain):
    ours, others = cells_of(whole), cells_of(plain)
    assert list(ours) == [*others, FUNCTIONS]
    differ = [
        (sheet, cell, value)
        for sheet, cells in others.items()
        for cell, value in cells.items()
        if ours[sheet].get(cell) != value
    ]
    ((sheet, _, words),) = differ
    assert sheet == START and words.startswith("Plain:")
    assert names_in(whole) == NAMES and not names_in(plain)


def test_the_same_entries_give_the_same_file(whole, tmp_path):
    again = build_small_log(tmp_path / "again.xlsx", "lambda", full_entries())
    assert again.read_bytes() == whole.read_bytes()


def test_names_of_the_file_are_cells_but_for_the_functions(whole):
    """The list of ranges in the file's properties holds no function: #NUM! is no sheet."""
    with zipfile.ZipFile(whole) as book:
        properties = book.read("docProps/app.xml").decode()
        workbook = book.read("xl/workbook.xml").decode()
    assert "Log_sale_price" in properties
    assert not [name for name in NAMES if name in properties]
    stated = re.findall(r'<definedName name="(\w+)" comment="([^"]{1,255})">', workbook)
    assert [name for name, _ in stated] == sorted(NAMES, key=str.casefold)


def _typed(cell):
    text = cell.strip()
    if text == "(blank)":
        return None
    if text.endswith("%"):
        return float(text[:-1]) / 100
    return float(text) if re.fullmatch(r"-?[\d.]+", text) else text.removeprefix("'")


def test_sheet_functions_lists_each_with_an_example_that_holds(whole, tmp_path):
    sheet = openpyxl.load_workbook(whole)[FUNCTIONS]
    rows = [row for row in sheet.iter_rows(min_row=2, values_only=True) if row[2]]
    assert rows.pop(0)[:4] == ("About", "What it answers", "How it is called", "For example")
    here = {row[2].partition("(")[0]: row for row in rows if "(" in row[2]}
    assert set(here) == set(NAMES)
    assert {row[2]: row[3] for row in rows if "(" not in row[2]} == NO_LAMBDA
    book = openpyxl.Workbook()
    for name, (_, answer, called, example, _) in here.items():
        assert (answer, called) == (REGISTRY[name].help, REGISTRY[name].usage())
        formula, *lines = example.split("\n")
        page = book.create_sheet(name)
        page["Z1"] = formula
        # The engine's rows end with the last cell of the file; results may run on.
        page["AF1"] = "end"
        for line in lines:
            cells, _, typed = line.partition(": ")
            area = page[cells] if ":" in cells else ((page[cells],),)
            places = [cell for row in area for cell in row]
            for place, cell in zip(places, typed.split(","), strict=True):
                place.value = _typed(cell)
    book.save(tmp_path / "examples.xlsx")
    found = engine.recalculate(tmp_path / "examples.xlsx")
    for name, (*_, shown) in here.items():
        for right, line in enumerate(shown.split("\n")):
            _holds(name, line, found.value(name, 1, 26 + right))


def _holds(name, shown, found):
    if not re.fullmatch(r"-?[\d,.]+%?", shown):
        assert found == shown, name
        return
    figure = float(shown.replace(",", "").removesuffix("%")) / (100 if "%" in shown else 1)
    decimals = len(shown.removesuffix("%").partition(".")[2]) + (2 if "%" in shown else 0)
    assert math.isclose(found, figure, abs_tol=0.6 / 10**decimals), name


def test_sheet_functions_says_where_the_names_work(whole):
    words = " ".join(str(cell.value) for row in openpyxl.load_workbook(whole)[FUNCTIONS]["A1:A9"] for cell in row)
    for said in ("Windows, macOS and the web", "also on phones, show #NAME?", "sheetfns upgrade"):
        assert said in words


# ---- readers and programs ------------------------------------------------------------------------


def test_readers_take_it(whole):
    book = python_calamine.CalamineWorkbook.from_path(whole)
    assert book.sheet_names[-1] == FUNCTIONS
    assert any("NET_PROFIT(" in str(row) for row in book.get_sheet_by_name(FUNCTIONS).to_python())
    assert openpyxl.load_workbook(whole).defined_names["NET_PROFIT"].comment.startswith(REGISTRY["NET_PROFIT"].help)


@pytest.mark.libreoffice
def test_a_program_without_lambda_works_it_out_alike(whole, tmp_path):
    made = libreoffice.recalculate(whole, tmp_path / "out")
    stored, found = cells_of(whole, values=True), cells_of(made, values=True)
    formulas = cells_of(whole)
    compared = 0
    for sheet, cells in formulas.items():
        for cell, formula in cells.items():
            if not (isinstance(formula, str) and formula.startswith("=")):
                continue
            one, other = stored[sheet][cell], found[sheet].get(cell)
            if hasattr(one, "toordinal"):
                one, other = date_number(one), other and date_number(other)
            if isinstance(one, (int, float)) and not isinstance(one, bool):
                assert math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-7), (sheet, cell)
                compared += 1
            else:
                assert (one or None) == (other or None), (sheet, cell)
    assert compared > 1000
    assert load_log(made).edition == "lambda"


def test_it_is_read_as_the_plain_edition_is(whole, plain):
    ours, others = load_log(whole), load_log(plain)
    assert (ours.edition, others.edition) == ("lambda", "plain")
    assert ours.problems == others.problems
    assert ours.inputs() == others.inputs()
    assert not compare(compute_log(ours)).differences


# ---- check, fix, recalc -------------------------------------------------------------------------


def test_check_finds_what_it_finds_in_the_plain_edition(whole, plain):
    ours, others = check_log(whole), check_log(plain)
    assert ours.findings == others.findings
    assert {finding.group for finding in ours.findings} == {LOOK}
    assert fix_log(ours) is None


def _own_column(book):
    sheet = book[LOG]
    place = sheet.max_column + 2
    sheet.cell(HEADERS, place, "Mine")
    sheet.cell(FIRST, place, "=NET_PROFIT(25,4,3.5,4.25,0.75,8)")


def test_a_function_in_a_column_of_ones_own_is_no_fault(changed):
    report = check_log(changed(_own_column))
    assert report.content.edition == "lambda"
    assert not [one for one in report.findings if one.group == FORMULAS]
    assert "edition_unclear" not in {one.key for one in report.content.problems}


def _drop_names(book):
    for name in ("NET_PROFIT", "SAFE_DRAW"):
        del book.defined_names[name]


def test_names_that_a_program_dropped_are_missed_and_come_back(changed, tmp_path):
    path = changed(_drop_names)
    (missed,) = [one for one in check_log(path).findings if one.group == FORMULAS]
    assert missed.message.startswith("2 functions are missing from this file's names")
    assert "NET_PROFIT" in missed.message and "sheetfns upgrade" in missed.message
    assert (missed.sheet, missed.key) == (FUNCTIONS, "name_changed")
    with few_rows():
        report = upgrade_log(path, tmp_path / "new.xlsx")
    assert names_in(report.path) == NAMES
    assert (report.left_over, report.own_sheets) == ((), ())


def _with_former_names(book):
    """The names that functions had in the version before."""
    for old, new in former_names.FUNCTIONS.items():
        if new in NAMES:
            text = book.defined_names.pop(new).attr_text
            book.defined_names[old] = DefinedName(old, attr_text=text)


def _of_the_layout_before(book):
    _with_former_names(book)
    (cell,) = (one for row in book[START].iter_rows() for one in row if one.value == LAYOUT_VERSION)
    cell.offset(0, 1).value = str(LAYOUT - 1)


def test_a_log_of_the_layout_before_has_the_names_of_then(changed):
    assert set(former_names.FUNCTIONS.values()) & set(NAMES)
    # Its other words are tested elsewhere; here only the names of functions are others.
    with with_stored(()):
        report = check_log(changed(_of_the_layout_before))
    assert report.content.older
    assert report.content.edition == "lambda"
    assert not [one for one in report.findings if one.key == "name_changed"]
    # In a log of now, formulas call the new names.
    (missed,) = [one for one in check_log(changed(_with_former_names)).findings if one.key == "name_changed"]
    assert "missing from this file's names (the first: GROSS_MARGIN_RETURN)" in missed.message


def _drop_all_names(book):
    for name in NAMES:
        del book.defined_names[name]


def test_without_any_name_it_is_still_known_by_its_start(changed):
    content = load_log(changed(_drop_all_names))
    assert content.edition == "lambda"
    assert "edition_unclear" not in {one.key for one in content.problems}


def test_recalc_works_out_what_is_typed_with_a_function(changed):
    def own_sheet(book):
        book.create_sheet("Mine")["B2"] = "=NET_PROFIT(25,4,3.5,4.25,0.75,8)"

    path = changed(own_sheet)
    values, _ = refresh_values(path)
    assert values.errors == []
    assert openpyxl.load_workbook(path, data_only=True)["Mine"]["B2"].value == 12.5
    assert names_in(path) == NAMES


# ---- merge and upgrade ---------------------------------------------------------------------------


def later_entries():
    inputs = copy.deepcopy(full_entries())
    inputs.rows["Log"].append({"item_no": "P900", "description": "Blue vase", "paid": 4})
    return inputs


@pytest.fixture(scope="module")
def later(tmp_path_factory):
    """The partner's copy, in the plain edition, with one item more."""
    return small_log(tmp_path_factory.mktemp("later") / "later.xlsx", "plain", later_entries())


@pytest.mark.parametrize("first", ["lambda", "plain"])
def test_it_merges_with_a_plain_log(first, whole, later, tmp_path):
    mine, theirs = (whole, later) if first == "lambda" else (later, whole)
    report = merge_logs(mine, theirs, tmp_path / "both.xlsx")
    assert report.extra_sheets == ()
    assert names_in(report.path) == (NAMES if first == "lambda" else {})
    content = load_log(report.path)
    assert content.edition == first
    assert "P900" in list(content.sheets["Log"]["item_no"])
    assert not [one for one in check_log(report.path).findings if one.group == FORMULAS]
    if first == "lambda":
        assert report.rows_added == {LOG: 1}
        comments = openpyxl.load_workbook(report.path).defined_names
        assert comments["NET_PROFIT"].comment.startswith(REGISTRY["NET_PROFIT"].help)


def test_upgrade_makes_it_a_plain_log(whole, tmp_path):
    with few_rows():
        report = upgrade_log(whole, tmp_path / "new.xlsx", edition="plain")
    assert (report.left_over, report.own_sheets, report.own_columns) == ((), (), ())
    content = load_log(report.path)
    assert content.edition == "plain"
    assert content.inputs() == load_log(whole).inputs()
    assert names_in(report.path) == {}
    assert FUNCTIONS not in content.sheet_names


def test_upgrade_makes_it_of_a_plain_log(run, changed, plain, tmp_path):
    """A sheet of one's own that has the name of the new one stays from a job."""

    def own_sheet(book):
        book.create_sheet(FUNCTIONS)["A1"] = "What I do on Sundays"

    path = changed(own_sheet, plain)
    with few_rows():
        code, out, _ = run("upgrade", path, "--out", "new.xlsx", "--edition", "lambda")
    assert code == 0
    assert "as values: Functions (old)" in out
    content = load_log(tmp_path / "new.xlsx")
    assert content.edition == "lambda"
    assert content.inputs() == load_log(plain).inputs()
    assert content.sheet_names[-2:] == (FUNCTIONS, "Functions (old)")
    assert names_in(tmp_path / "new.xlsx") == NAMES
    book = openpyxl.load_workbook(tmp_path / "new.xlsx")
    assert book["Functions (old)"]["A1"].value == "What I do on Sundays"
    assert book[FUNCTIONS]["A1"].value == FUNCTIONS


# ---- the command line ----------------------------------------------------------------------------


def test_new_makes_it_and_says_what_it_is_for(run, tmp_path):
    with few_rows():
        code, out, _ = run("new", "log.xlsx", "--edition", "lambda", "--rows", 5)
    assert code == 0
    said = " ".join(out.split())
    assert "any cell of it can use the functions that sheet Functions lists" in said
    assert names_in(tmp_path / "log.xlsx") == NAMES


@pytest.mark.parametrize("command", ["new", "upgrade"])
def test_help_names_it(command, run):
    code, out, _ = run(command, "--help")
    assert code == 0
    assert "lambda" in out
