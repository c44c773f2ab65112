"""The package for the preparer: every row by its line, all files or none, a draft that says so."""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from pypdf import PdfReader

from sheetfns.errors import LogFileError
from sheetfns.hosts import engine
from sheetfns.log.compute import LogResults, compute_log, year_figures
from sheetfns.log.load import load_log
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import CAUTION, SUMMARY_ROWS
from sheetfns.money import round_money
from sheetfns.tables import table_rows
from sheetfns.yearend import package, pdf, reasons
from sheetfns.yearend.package import check_year, make_package
from sheetfns.yearend.pages import PAGE_KEYS, ROWS_PAGE, SOLE_PROPRIETOR, SUMMARY_PAGE, Page, all_pages
from sheetfns.yearend.reasons import Findings, Reason, in_groups
from sheetfns.yearend.rows import rows_by_line, sums_that_differ
from sheetfns.yearend.workbook import write_package
from tests.libreoffice import print_pdf
from tests.log.filled_logs import small_log
from tests.log.libreoffice_in_turn import recalculate_all
from tests.log.quick_logs import quick_log
from tests.log.random_logs import random_entries

RULES = ("US sole proprietor", "Receipts and payments")
HARMFUL = ("=1+1", "+1", "-1", "@SUM(1)", "\tx")


def day(month: int, number: int, year: int = 2026) -> dt.date:
    return dt.date(year, month, number)


def shop(**settings: Any) -> Inputs:
    """A small shop whose year 2026 is over, with nothing to fix."""
    log: list[Row] = [
        {"item_no": "P1", "description": HARMFUL[0], "bought_on": day(1, 5), "paid": 10.25,
         "prep_cost": 1, "channel": "Booth", "sold_on": day(2, 1), "sale_price": 30.5,
         "postage_paid": 4},
        {"item_no": "P2", "description": HARMFUL[3], "bought_on": day(12, 5), "paid": 8},
        {"item_no": "P3", "description": "Jar", "bought_on": day(3, 5), "paid": 2,
         "disposition": "Personal use", "disposition_date": day(4, 1)},
    ]  # fmt: skip
    return Inputs(
        settings={
            "Shop_name": "Jam & Jars",
            "First_month": day(1, 1),
            "As_of_date": day(1, 15, 2027),
            "Tax_year": 2026,
        }
        | settings,
        blocks={
            "Partner": [{"name": "Ada", "share": 1}],
            "Channel": [{"name": "Booth"}],
            "ByYear": [{"year": 2026, "area": 2, "months": 12}],
        },
        rows={
            "Log": log,
            "Expenses": [
                {"spent_on": day(5, 5), "heading": "Advertising", "description": HARMFUL[1],
                 "amount": 1.25},
            ],
            "Trips": [
                {"driven_on": day(6, 6), "purpose": HARMFUL[2], "to_place": "Town", "miles": 2},
            ],
            "Personal": [
                {"item": HARMFUL[4], "cost": 5, "sold_on": day(7, 7), "sale_price": 9},
            ],
        },
    )  # fmt: skip


def figures_of(path: Path, inputs: Inputs) -> LogResults:
    return compute_log(load_log(quick_log(path, inputs=inputs)))


@pytest.fixture(scope="module", autouse=True)
def _small_second_log() -> Iterator[None]:
    """The log built anew has few rows too; a test of the command builds it in full."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(reasons, "build_log", lambda path, edition, _, inputs: quick_log(path, edition, inputs))
        yield


@pytest.fixture(scope="module")
def figures(tmp_path_factory: pytest.TempPathFactory) -> LogResults:
    return figures_of(tmp_path_factory.mktemp("shop") / "log.xlsx", shop())


@pytest.fixture(scope="module")
def draft(figures: LogResults, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A draft of the shop's year, without a PDF."""
    folder = tmp_path_factory.mktemp("draft") / "package"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pdf, "find_libreoffice", lambda: None)
        made = make_package(figures, 2026, folder, check_year(figures, 2026), draft=True)
    assert made.not_printed == "LibreOffice is not installed"
    return folder


# ---- rows and lines --------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(4))
def test_rows_add_up_to_each_line(seed: int, tmp_path: Path) -> None:
    """In Python, in the headless engine, and in LibreOffice (next test): the same lines."""
    inputs = random_entries(seed, 14)
    inputs.settings |= {"Tax_year": 2025 + seed % 2, "Year_rules": RULES[seed // 2]}
    content = load_log(quick_log(tmp_path / "log.xlsx", inputs=inputs))
    year = year_figures(compute_log(content), 2025 + seed % 2)
    rows = rows_by_line(year, content)
    assert sums_that_differ(year, rows) == []
    assert added_by_label(rows) == shown_lines(content.shown["Year"].iloc[0], rows)
    assert set(rows["sheet"]) <= {*("Sourcing log", "Lots", "Expenses", "Trips", "Year end")}


@pytest.mark.libreoffice
def test_rows_add_up_to_each_line_in_libreoffice(tmp_path: Path) -> None:
    paths = []
    for number, rules in enumerate(RULES):
        inputs = random_entries(17, 14)
        inputs.settings |= {"Tax_year": 2025, "Year_rules": rules}
        paths.append(small_log(tmp_path / f"rules_{number}.xlsx", inputs=inputs))
    for path in recalculate_all(paths, tmp_path / "saved"):
        content = load_log(path)
        rows = rows_by_line(year_figures(compute_log(content), 2025), content)
        assert added_by_label(rows) == shown_lines(content.shown["Year"].iloc[0], rows)


def added_by_label(rows: Any) -> dict[str, float]:
    added = rows.groupby("target").agg(label=("label", "first"), amount=("amount", "sum"))
    return {
        label: float(round_money(float(amount))) for label, amount in zip(added["label"], added["amount"], strict=True)
    }


def shown_lines(cells: Any, rows: Any) -> dict[str, float]:
    """What the sheet shows on the lines that have rows."""
    labels = set(rows["label"])
    return {
        cells[f"label_{n}"]: cells[f"amount_{n}"]
        for n in range(1, SUMMARY_ROWS + 1)
        if cells[f"label_{n}"] in labels and cells[f"amount_{n}"] == cells[f"amount_{n}"]
        if (cells[f"label_{n}"], cells[f"line_{n}"]) != ("Cost of goods sold", "4")
    }


def test_a_heading_without_a_line_is_told(tmp_path: Path) -> None:
    inputs = shop()
    inputs.blocks["Heading"] = [
        {"heading": "Advertising", "tax_line": ""},
        *({"heading": word, "tax_line": "Supplies", "from_log": word}
          for word in ("fees", "postage", "packaging", "miles")),
    ]  # fmt: skip
    reasons = reasons_of(tmp_path / "log.xlsx", inputs)
    assert any("Tax line of 'Advertising' is blank" in reason for reason in reasons)
    assert any("1 row without a line (the first: Expenses, row 7)" in reason for reason in reasons)


def test_cents_are_added_first_and_whole_amounts_rounded_once(tmp_path: Path) -> None:
    """Three times 0.50 is 1.50, whole 2; rounded one by one it would be 3."""
    inputs = shop()
    inputs.rows["Expenses"] = [{"spent_on": day(5, n), "heading": "Advertising", "amount": 0.5} for n in (1, 2, 3)]
    year = year_figures(figures_of(tmp_path / "log.xlsx", inputs), 2026)
    line = next(line for line in year.lines if line.label == "Advertising")
    assert (line.amount, line.whole) == (1.5, 2)
    receipts = next(line for line in year.lines if line.line.line == "1")
    assert (receipts.amount, receipts.whole) == (30.5, 31)


# ---- what is made ----------------------------------------------------------------------------


def test_a_year_that_is_complete(figures: LogResults, tmp_path: Path) -> None:
    assert check_year(figures, 2026) == Findings()


def summary_of(figures: LogResults, findings: Findings, *, draft: bool = False) -> Page:
    return all_pages(figures, year_figures(figures, 2026), findings, draft=draft)[0]


def test_the_summary_counts_what_was_found(figures: LogResults) -> None:
    """Complete says how many warnings there are: each row that a check finds is one of them."""
    found = Findings(notices=(Reason("Sourcing log", "row 7", "a fee, 4 times", 4), Reason("Money", "", "a count", 2)))
    assert summary_of(figures, Findings()).says[1] == "Complete: 0 errors; 0 warnings."
    assert summary_of(figures, found).says[1] == "Complete: 0 errors; 6 warnings to review (sheet Problems)."
    fix = Findings((Reason("Settings", "B9", "too early"),))
    assert summary_of(figures, fix, draft=True).says[1] == "Draft: 1 error; 0 warnings (sheet Problems)."


def test_rows_of_one_check_are_counted(tmp_path: Path) -> None:
    inputs = shop()
    for row in inputs.rows["Log"][:1]:
        row["fee_charged"] = 1
    inputs.rows["Log"].append(inputs.rows["Log"][0] | {"item_no": "P4", "description": "Lamp"})
    findings = check_year(figures_of(tmp_path / "log.xlsx", inputs), 2026)
    assert [(one.sheet, one.times) for one in findings.notices] == [("Sourcing log", 2)]
    assert findings.counts() == "0 errors; 2 warnings to review (sheet Problems)"


@pytest.mark.parametrize(
    ("rules", "partners", "told"), [(RULES[0], 2, True), (RULES[0], 1, False), (RULES[1], 2, False)]
)
def test_two_owners_under_the_rules_of_one(rules: str, partners: int, told: bool, tmp_path: Path) -> None:
    """It is said before all else, and again in the table, which is all that a .csv file has."""
    inputs = shop(Year_rules=rules)
    inputs.blocks["Partner"] = [{"name": name, "share": 1 / partners} for name in ("Ada", "Bo")[:partners]]
    figures = figures_of(tmp_path / "log.xlsx", inputs)
    page = summary_of(figures, Findings())
    assert ("usually a partnership" in page.caution) == told
    assert any("usually a partnership" in str(row[0]) for row in page.rows) == told
    assert page.says[1].startswith("Complete") != told
    write_package(tmp_path / "package.xlsx", [page], "Year end", draft=False)
    sheet = openpyxl.load_workbook(tmp_path / "package.xlsx")[SUMMARY_PAGE]
    assert (sheet["A3"].value == page.caution) == told
    assert (sheet["A3"].font.bold is True) == told


def test_the_rules_of_one_owner_are_in_the_table() -> None:
    assert SOLE_PROPRIETOR in [row["rules"] for row in table_rows("tax_rules")]


def test_the_pages_of_a_draft(draft: Path) -> None:
    book = openpyxl.load_workbook(draft / "year_end_2026_draft.xlsx")
    assert book.sheetnames == [
        *(SUMMARY_PAGE, ROWS_PAGE, "Miles record", "Inventory count", "Channels", "Personal items"),
        *("Problems", "Sources"),
    ]
    for sheet in book:
        assert "DRAFT" in str(sheet["A2"].value)
        assert "DRAFT" in sheet.oddHeader.center.text
        assert CAUTION in sheet.oddFooter.left.text
        # The sign & begins a code in a header.
        assert "Jam & Jars" in str(sheet["A3"].value)
        assert sheet.print_title_rows


def test_no_text_becomes_a_formula(draft: Path) -> None:
    book = openpyxl.load_workbook(draft / "year_end_2026_draft.xlsx")
    formulas = {
        (sheet.title, cell.column_letter)
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    }
    assert formulas == {(SUMMARY_PAGE, "E")}
    texts = {str(cell.value) for sheet in book for row in sheet.iter_rows() for cell in row}
    assert set(HARMFUL) <= texts
    for path in draft.glob("*.csv"):
        with path.open(encoding="utf-8-sig", newline="") as file:
            for row in csv.reader(file):
                assert not any(cell in HARMFUL for cell in row), path.name


def test_the_sum_of_rows_is_a_formula_that_gives_the_line(draft: Path) -> None:
    path = draft / "year_end_2026_draft.xlsx"
    values = engine.recalculate(path)
    assert values.errors == []
    sheet = openpyxl.load_workbook(path, data_only=True)[SUMMARY_PAGE]
    header = next(row for row in range(1, 20) if sheet.cell(row, 5).value == "Sum of rows")
    checked = 0
    for row in range(header + 1, sheet.max_row + 1):
        stored = sheet.cell(row, 5).value
        if stored is not None:
            assert stored == pytest.approx(sheet.cell(row, 3).value)
            assert values.value(SUMMARY_PAGE, row, 5) == pytest.approx(stored)
            checked += 1
    # Lines 1, 8, 9, 18, 30, 36, 38 and 41 have rows here.
    assert checked == 8


def test_the_csv_files_say_the_same(draft: Path, figures: LogResults) -> None:
    with (draft / "year_end_2026_draft_summary.csv").open(encoding="utf-8-sig", newline="") as file:
        lines = {row["Line no."]: row for row in csv.DictReader(file) if row["Line no."]}
    for line in year_figures(figures, 2026).lines:
        if line.amount is not None:
            assert lines[line.line.line]["Amount"] == f"{line.amount:.2f}"
    with (draft / "year_end_2026_draft_rows_by_line.csv").open(encoding="utf-8-sig", newline="") as f:
        rows = list(csv.DictReader(f))
    own = next(row for row in rows if row["What"] == "Jar" and row["Amount"].startswith("-"))
    assert (own["Line"], own["Sheet"], own["Row"]) == (
        "Purchases less cost of items withdrawn for personal use",
        "Sourcing log",
        "9",
    )
    assert own["Amount"] == "-2.00"


def test_the_files_of_a_package(draft: Path) -> None:
    names = {path.name.removeprefix("year_end_2026_draft") for path in draft.iterdir()}
    assert names == {".xlsx", *(f"_{key}.csv" for key in PAGE_KEYS)}


def test_a_long_name_leaves_the_stamp_in_the_header(tmp_path: Path) -> None:
    """A header holds 255 letters, and & counts twice."""
    long = figures_of(tmp_path / "log.xlsx", shop(Shop_name="&" * 200))
    write_package(
        tmp_path / "long.xlsx",
        all_pages(long, year_figures(long, 2026), Findings(), draft=True),
        f"Year end 2026, {'&' * 200}",
        draft=True,
    )
    for sheet in openpyxl.load_workbook(tmp_path / "long.xlsx"):
        assert "DRAFT" in sheet.oddHeader.center.text
        assert CAUTION in sheet.oddFooter.left.text


def test_headings_as_lines(tmp_path: Path) -> None:
    """Names that are criteria or patterns are to fix; in a draft they are only names."""
    inputs = shop(Year_rules=RULES[1])
    inputs.blocks["Heading"] = [
        {"heading": "*", "tax_line": "Advertising"},
        {"heading": ">0", "tax_line": "Supplies"},
        *({"heading": word, "tax_line": "Supplies", "from_log": word}
          for word in ("fees", "postage", "packaging", "miles")),
    ]  # fmt: skip
    inputs.rows["Expenses"] = [
        {"spent_on": day(5, 5), "heading": heading, "description": "x", "amount": amount}
        for heading, amount in (("*", 1.25), (">0", 7), ("*", 0.5), ("miles", 3))
    ]
    figures = figures_of(tmp_path / "log.xlsx", inputs)
    findings = check_year(figures, 2026)
    assert any("reads as a wildcard" in reason.words for reason in findings.reasons)
    made = make_package(figures, 2026, tmp_path / "out", findings, draft=True)
    values = engine.recalculate(made.files[0])
    sheet = openpyxl.load_workbook(made.files[0])[SUMMARY_PAGE]
    shown = {
        sheet.cell(row, 1).value: values.value(SUMMARY_PAGE, row, 5)
        for row in range(1, sheet.max_row + 1)
        if sheet.cell(row, 5).data_type == "f"
    }
    assert shown == {
        "Prices and shipping received": 30.5,
        # 20.25 bought, 1 of prep, a jar of 2 taken home.
        "Purchases less personal use": 19.25,
        "Change of inventory at cost": 8,
        "*": 1.75,
        ">0": 7,
        "postage": 4,
        # Miles count for nothing here; what was spent under their heading does.
        "miles": 3,
    }


@pytest.mark.libreoffice
def test_the_pdf_of_a_draft_and_of_a_complete_year(figures: LogResults, tmp_path: Path) -> None:
    findings = check_year(figures, 2026)
    for is_draft, folder in ((True, tmp_path / "draft"), (False, tmp_path / "whole")):
        made = make_package(figures, 2026, folder, findings, draft=is_draft)
        (path,) = (file for file in made.files if file.suffix == ".pdf")
        pages = [page.extract_text() for page in PdfReader(path).pages]
        assert pages
        for text in pages:
            words = " ".join(text.split())
            assert ("DRAFT" in words) == is_draft
            assert "not tax advice" in words
        assert "Net profit or loss" in " ".join(pages)
    printed = print_pdf(tmp_path / "draft" / "year_end_2026_draft.xlsx", tmp_path / "printed")
    texts = [" ".join(page.extract_text().split()) for page in PdfReader(printed).pages]
    assert len(texts) >= 8
    assert all("DRAFT" in text and "not tax advice" in text for text in texts)


def test_a_trip_that_lacks_something_stands_first(tmp_path: Path) -> None:
    inputs = shop()
    inputs.rows["Trips"].append({"driven_on": day(9, 9), "miles": 4})
    figures = figures_of(tmp_path / "log.xlsx", inputs)
    findings = check_year(figures, 2026)
    assert any("a trip needs day, purpose" in str(reason) for reason in findings.reasons)
    make_package(figures, 2026, tmp_path / "out", findings, draft=True)
    path = tmp_path / "out" / "year_end_2026_draft_miles.csv"
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows[0]["Date"] == "Trips with something missing"
    assert (rows[1]["Date"], rows[1]["What is missing"]) == ("2026-09-09", "purpose; place")
    assert (rows[-1]["Purpose"], rows[-1]["Miles"], rows[-1]["Deduction"]) == ("All", "6", "4.49")


# ---- what keeps a year from being complete ---------------------------------------------------


def reasons_of(path: Path, inputs: Inputs, year: int = 2026) -> list[str]:
    return [str(reason) for reason in check_year(figures_of(path, inputs), year).reasons]


def test_a_year_that_is_not_over(tmp_path: Path) -> None:
    (reason,) = reasons_of(tmp_path / "log.xlsx", shop(As_of_date=day(12, 30)))
    assert reason.startswith("Settings, B18: figures go up to 2026-12-30, but the year ends on 2026-12-31")


def test_rows_to_be_fixed(tmp_path: Path) -> None:
    inputs = shop()
    inputs.rows["Log"].append({"item_no": "P4", "bought_on": day(2, 2), "sold_on": day(2, 1)})
    reasons = reasons_of(tmp_path / "log.xlsx", inputs)
    assert any(reason.startswith("Sourcing log, ") and "10: Paid is blank" in reason for reason in reasons)
    assert any("1 row is missing entries that figures need" in reason for reason in reasons)


def test_a_missing_tax_figure(tmp_path: Path) -> None:
    inputs = shop()
    inputs.blocks["TaxFigure"] = [
        {"name": name, "from": day(1, 1), "until": day(12, 31), "value": value, "source": "a test"}
        for name, value in (
            ("Net earnings share", 0.9),
            ("Minimum net earnings", 400),
            ("Social security rate", 0.1),
            ("Medicare rate", 0.1),
            ("Deductible share", 0.5),
            ("Home office rate", 5),
            ("Home office limit", 300),
        )
    ]
    free = AddressMap(log_layout()).block_rows["TaxFigure"] + 7
    assert reasons_of(tmp_path / "log.xlsx", inputs) == [
        f"Settings, A{free}: Tax figures by date: Wage base needs one row (and only one) that covers 2026-12-31; "
        "add it when it is published"
    ]


def test_a_year_that_the_rules_do_not_know(figures: LogResults) -> None:
    with pytest.raises(LogFileError, match=r"table tax_lines .* 'US sole proprietor' for 2031"):
        check_year(figures, 2031)


def test_a_check_that_only_the_workbook_has(tmp_path: Path) -> None:
    inputs = shop()
    inputs.blocks["ByYear"].append({"year": 2025, "filed_inventory": 3})
    (reason,) = reasons_of(tmp_path / "log.xlsx", inputs)
    assert reason == (
        "Year end: opening inventory doesn't match last year's filed inventory: a row of a past year changed (sheet "
        "Data checks)"
    )


def test_a_formula_that_was_typed_over(tmp_path: Path) -> None:
    path = quick_log(tmp_path / "log.xlsx", inputs=shop())
    book = openpyxl.load_workbook(path)
    sheet = book["Sourcing log"]
    place = next(cell.column for cell in sheet[6] if cell.value == "Landed cost")
    sheet.cell(7, place).value = 1
    book.save(path)
    found = check_year(compute_log(load_log(path)), 2026)
    reasons = [str(reason) for reason in found.reasons]
    assert any(
        reason.startswith("Sourcing log, row 7: Landed cost: the workbook shows 1")
        and "a formula was overwritten" in reason
        for reason in reasons
    )


def test_rows_are_those_of_the_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The log built anew has no gaps; what is told of its rows is told of the file's."""
    inputs = shop()
    first, *others = inputs.rows["Log"]
    sold = {"channel": "Booth", "sold_on": day(12, 6), "sale_price": 9, "fee_charged": 1}
    inputs.rows["Log"] = [first, {}, {}, others[0] | sold, *others[1:]]
    figures = figures_of(tmp_path / "log.xlsx", inputs)
    assert check_year(figures, 2026) == Findings(
        notices=(Reason("Sourcing log", "row 10", "fee doesn't match the channel's terms (sheet Data checks)"),)
    )
    rebuilt = reasons._rebuilt

    def another(*args: Any) -> Any:
        content = rebuilt(*args)
        content.shown["Log"].loc[1, "net_profit"] = 99.0
        content.shown["Year"].loc[0, "net_profit"] += 1
        return content

    monkeypatch.setattr(reasons, "_rebuilt", another)
    of_row, of_year = (str(reason) for reason in check_year(figures, 2026).reasons)
    assert of_row == (
        "Sourcing log, row 10: Net profit: the workbook shows 99, Python calculates 0; the two "
        "calculations disagree: don't use this figure, and report it"
    )
    assert of_year.startswith(f"Year end, {cell_of_net_profit()}: net profit: the workbook")


def cell_of_net_profit() -> str:
    places = AddressMap(log_layout())
    (name,) = (place for key, place in places.names.items() if key == "Year_net_profit")
    return name.rpartition("!")[2].replace("$", "")


def test_what_the_reader_and_a_check_both_say_is_told_once(tmp_path: Path) -> None:
    inputs = shop()
    inputs.rows["Trips"].append({"driven_on": day(9, 9), "miles": 4})
    inputs.rows["Lots"] = [{"lot_no": "L1", "bought_on": day(3, 3), "paid": 5}]
    inputs.rows["Log"].append({"item_no": "P4", "lot_no": "L1"})
    found = check_year(figures_of(tmp_path / "log.xlsx", inputs), 2026)
    words = [reason.words for reason in found.reasons if reason.sheet == "Trips"]
    assert len(words) == 2
    assert all("a trip needs day, purpose, place and miles" in one for one in words)
    # Only a check sees this one, on a sheet of which the reader says something else.
    assert sum("shares don't add up" in reason.words for reason in found.reasons) == 1


def test_cells_of_which_the_same_is_said_share_a_line() -> None:
    said = [Reason("Trips", f"B{row}", "blank") for row in range(7, 14)]
    said[1:1] = [Reason("Lots", "A1", "x"), Reason("Year end", "", "y"), Reason("Trips", "B1", "z")]
    assert in_groups(said) == [
        "Trips, B7, B8, B9, B10, B11 and 2 more: blank",
        "Trips, B1: z",
        "Lots, A1: x",
        "Year end: y",
    ]


# ---- all or nothing --------------------------------------------------------------------------


def test_a_file_that_is_there_is_never_written_over(figures: LogResults, tmp_path: Path) -> None:
    there = tmp_path / "year_end_2026_draft_miles.csv"
    there.write_text("mine")
    with pytest.raises(LogFileError, match=r"year_end_2026_draft_miles.csv: already exists"):
        make_package(figures, 2026, tmp_path, Findings(), draft=True)
    assert [path.name for path in tmp_path.iterdir()] == [there.name]
    assert there.read_text() == "mine"


@pytest.mark.parametrize(("folder_there", "at"), [(True, 0), (True, 4), (False, 0)], ids=["first", "fifth", "new"])
@pytest.mark.parametrize("stop", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_a_move_that_fails_leaves_nothing(
    figures: LogResults,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    *,
    folder_there: bool,
    at: int,
    stop: BaseException,
) -> None:
    folder = tmp_path / "out"
    if folder_there:
        folder.mkdir()
    rename, done = Path.rename, []

    def failing(path: Path, target: Path) -> Path:
        if len(done) == at:
            raise stop
        done.append(path)
        return rename(path, target)

    monkeypatch.setattr(pdf, "find_libreoffice", lambda: None)
    monkeypatch.setattr(Path, "rename", failing)
    told = LogFileError if isinstance(stop, OSError) else KeyboardInterrupt
    with pytest.raises(told) as caught:
        make_package(figures, 2026, folder, Findings(), draft=False)
    if isinstance(stop, OSError):
        assert "cannot be written (No space left on device); nothing was written" in str(caught.value)
    assert len(done) == at
    assert [path.name for path in tmp_path.rglob("*")] == (["out"] if folder_there else [])


def test_a_write_that_fails_leaves_nothing(
    figures: LogResults, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(pdf, "find_libreoffice", lambda: None)
    monkeypatch.setattr(package, "write_csv", full)
    with pytest.raises(LogFileError, match="No space left on device"):
        make_package(figures, 2026, tmp_path / "out", Findings(), draft=False)
    assert list(tmp_path.iterdir()) == []


def test_only_a_draft_of_what_is_not_complete(figures: LogResults, tmp_path: Path) -> None:
    found = Findings(reasons=(Reason("a", "b", "c"),))
    with pytest.raises(LogFileError, match="only a draft can be made"):
        make_package(figures, 2026, tmp_path, found, draft=False)
    assert list(tmp_path.iterdir()) == []


def test_a_program_that_prints_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pdf, "find_libreoffice", lambda: "/bin/false")
    with pytest.raises(pdf.NotPrinted, match="didn't make the PDF"):
        pdf.print_pdf(tmp_path / "none.xlsx", tmp_path)


def test_a_program_that_hangs_is_ended(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    hanging = tmp_path / "hanging"
    hanging.write_text("#!/bin/sh\nsleep 60\n")
    hanging.chmod(0o755)
    monkeypatch.setattr(pdf, "find_libreoffice", lambda: str(hanging))
    monkeypatch.setattr(pdf, "TIMEOUT", 0.3)
    with pytest.raises(pdf.NotPrinted, match=r"did not finish within 0.3 seconds"):
        pdf.print_pdf(tmp_path / "none.xlsx", tmp_path)
