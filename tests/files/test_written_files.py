"""Every kind of file that the project writes, looked through by others and for Excel's limits.

There is no Excel here. `openxml-audit` judges each file by Microsoft's schemas and rules as its
authors have gathered them; the limits that no schema holds are looked through by the project.
"""

from __future__ import annotations

import re
import shutil
import zipfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest
from openxml_audit import FileFormat, OpenXmlValidator

from sheetfns.files import excel_limits
from sheetfns.log.check.report import check_log, fix_log
from sheetfns.log.compute import compute_log
from sheetfns.log.edit.csv_import import apply_import, plan_import
from sheetfns.log.edit.merge import merge_logs
from sheetfns.log.edit.merge_finds import merge_finds
from sheetfns.log.edit.patch import CellEdit, patch, refresh_values
from sheetfns.log.edit.upgrade import upgrade_log
from sheetfns.log.load import load_log
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import EDITIONS
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import MOST_ROWS
from sheetfns.log.write.build import build_log
from sheetfns.programs.excel.macro_log import build_macro_log, macro_writer
from sheetfns.yearend.package import check_year, make_package
from tests import ROOT, libreoffice
from tests.limits_of_files import limits_of_file
from tests.log.edit.merged_copies import edited
from tests.log.edit.pocket_copies import LAMP, pocket_of, with_finds
from tests.log.filled_logs import few_rows, full_entries

EXAMPLES = ROOT / "examples"
COMMITTED = sorted(path for folder in (EXAMPLES, ROOT / "workbook_templates") for path in folder.rglob("*.xlsx"))


class Files:
    """A filled log, and what commands make of it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.inputs = full_entries()

    def log(self, name: str = "log.xlsx", inputs: Inputs | None = None) -> Path:
        with few_rows():
            return build_log(self.folder / name, "plain", 16, inputs or self.inputs)

    def new(self, edition: str) -> Path:
        with few_rows():
            return build_log(self.folder / f"new_{edition}.xlsx", edition, 16)

    def new_with_macros(self) -> Path:
        with few_rows():
            return build_macro_log(self.folder / "new.xlsm", 16, self.inputs)

    def merged(self) -> Path:
        copies = [self.log(f"{who}.xlsx", edited(self.inputs, seed, who)) for seed, who in ((1, "ada"), (2, "bo"))]
        report = merge_logs(*copies, self.folder / "merged.xlsx", self.log("base.xlsx"))
        assert report.differences, "there ought to be lines on sheet Conflicts"
        return report.path

    def pocket(self) -> Path:
        return pocket_of(self.log("for_pocket.xlsx"), self.folder / "pocket.xlsx")

    def finds_merged(self) -> Path:
        log = self.log("home.xlsx")
        pocket = pocket_of(log, self.folder / "away.xlsx")
        for name, lamp in (("away_1.xlsx", LAMP), ("away_2.xlsx", LAMP | {"paid": 3})):
            merge_finds(log, with_finds(pocket, self.folder / name, lamp))
        return log

    def upgraded(self) -> Path:
        old = ROOT / "tests/log/earlier/sourcing_log_0.1.0.xlsx"
        return upgrade_log(old, self.folder / "upgraded.xlsx", None, 30, lambda _: None).path

    def upgraded_to_macros(self) -> Path:
        target = self.folder / "upgraded.xlsm"
        upgrade_log(self.log(), target, "functions", 16, lambda _: None, macro_writer=macro_writer)
        return target

    def imported(self) -> Path:
        # Rows that are not imported are saved beside the file that they are from.
        log, export, columns = (
            Path(shutil.copy(EXAMPLES / name, self.folder))
            for name in ("sourcing_log_example.xlsx", "sales_export.csv", "sales_export_map.toml")
        )
        assert apply_import(plan_import(export, log, columns)).cells
        return log

    def fixed(self) -> Path:
        path = self.log("fixed.xlsx")
        place = log_layout(16).table("Log").position("net_profit") + 1
        patch(path, [CellEdit("Sourcing log", 8, place, 5)])
        fixed = fix_log(check_log(path, lambda _: None))
        assert fixed is not None
        return path

    def recalculated(self) -> Path:
        path = self.log("recalculated.xlsx")
        refresh_values(path, lambda _: None)
        return path

    def year_end(self) -> Path:
        figures = compute_log(load_log(EXAMPLES / "sourcing_log_example.xlsx"))
        folder = self.folder / "package"
        findings = check_year(figures, 2026)
        made = make_package(figures, 2026, folder, findings, draft=True)
        return next(path for path in made.files if path.suffix == ".xlsx")

    def saved_by_libreoffice(self) -> Path:
        path = libreoffice.recalculate(self.log("from_us.xlsx"), self.folder / "saved")
        place = log_layout(16).table("Log").position("net_profit") + 1
        patch(path, [CellEdit("Sourcing log", 8, place, 5)])
        assert fix_log(check_log(path, lambda _: None)) is not None
        return path


WRITTEN: dict[str, Callable[[Files], Path]] = {
    "new, plain": lambda files: files.new("plain"),
    "new, functions": lambda files: files.new("functions"),
    "new, lambda": lambda files: files.new("lambda"),
    "new, with macros": Files.new_with_macros,
    "filled log": Files.log,
    "merge": Files.merged,
    "pocket": Files.pocket,
    "merge of a pocket copy": Files.finds_merged,
    "upgrade of 0.1.0": Files.upgraded,
    "upgrade to macros": Files.upgraded_to_macros,
    "import": Files.imported,
    "check --fix": Files.fixed,
    "recalc": Files.recalculated,
    "year-end, draft": Files.year_end,
    "check --fix of a log that LibreOffice saved": Files.saved_by_libreoffice,
}
OTHERS_FAULTS = {
    # LibreOffice 7.4 writes no theme, and the label of one point behind those of its series; it is its file, in which
    # only cells were changed.
    "check --fix of a log that LibreOffice saved": ("theme", "'dlbl'")
}
"""Faults that are LibreOffice's, not the project's: the words by which they are known."""


@pytest.fixture(scope="module")
def files(tmp_path_factory) -> Files:
    return Files(tmp_path_factory.mktemp("written"))


def faults_of(path: Path) -> list[str]:
    """What openxml-audit finds in a file: part, place and words."""
    result = OpenXmlValidator(file_format=FileFormat.MICROSOFT_365, max_errors=0).validate(str(path))
    return [f"{error.part_uri}: {error.description}" for error in result.errors]


def _marked(kind: str) -> object:
    return pytest.param(kind, marks=pytest.mark.libreoffice if "LibreOffice" in kind else ())


@pytest.mark.parametrize("kind", [_marked(kind) for kind in WRITTEN])
def test_written_file_is_valid_and_within_limits(kind, files):
    path = WRITTEN[kind](files)
    assert [f"{where}: {breach}" for where, breach in limits_of_file(path).breaches] == []
    faults = faults_of(path)
    excuses = OTHERS_FAULTS.get(kind, ())
    assert [fault for fault in faults if not any(word in fault.casefold() for word in excuses)] == []
    assert all(any(word in fault.casefold() for fault in faults) for word in excuses), "an excuse that nothing needs"


@pytest.mark.parametrize("path", COMMITTED, ids=lambda path: path.stem)
def test_committed_file_is_within_limits(path):
    assert [f"{where}: {breach}" for where, breach in limits_of_file(path).breaches] == []


@pytest.mark.parametrize("edition", EDITIONS)
def test_longest_formula_of_the_largest_log_is_within_limits(edition):
    layout = log_layout(MOST_ROWS)
    places = AddressMap(layout)
    found = {}
    for table in layout.tables:
        for column in table.columns:
            if column.formula is not None:
                template = places.template(table, column.formula.formula(edition))
                text = template.format(row=table.last_row, before=table.last_row - 1)
                found[table.name, column.key] = [*map(str, excel_limits.formula_breaches(text))]
    assert {place: breaches for place, breaches in found.items() if breaches} == {}


@pytest.mark.parametrize(
    ("attempt", "words"),
    [
        (
            lambda book, sheet: sheet.write_formula("B3", '=LEN("' + "a" * 256 + '")'),
            "Some sheet, B3: characters of a text in a formula: 256; Excel's limit is 255",
        ),
        (
            lambda book, sheet: sheet.write_formula(2, 1, "=" + "+".join(["A1"] * 3000)),
            "Some sheet, B3: characters of a formula: 8999; Excel's limit is 8192",
        ),
        (
            lambda book, sheet: sheet.write_formula(0, 0, "=" + "ABS(" * 65 + "1" + ")" * 65),
            "Some sheet, A1: levels of functions inside functions: 65; Excel's limit is 64",
        ),
        (
            lambda book, sheet: sheet.write_formula(0, 0, f"=SUM({','.join('1' * 256)})"),
            "Some sheet, A1: arguments of a function: 256; Excel's limit is 255",
        ),
        (
            lambda book, sheet: sheet.write_string(0, 0, "a" * 32768),
            "Some sheet, A1: characters of a cell: 32768; Excel's limit is 32767",
        ),
        (
            lambda book, sheet: sheet.data_validation(
                "C4:C9", {"validate": "any", "input_title": "a" * 33, "input_message": "b"}
            ),
            "Some sheet, C4:C9: characters of a validation's title: 33; Excel's limit is 32",
        ),
        (
            lambda book, sheet: sheet.data_validation(3, 2, 8, 2, {"validate": "list", "source": ["word " * 10] * 6}),
            "Some sheet, C4: characters of a validation's formula: 305; Excel's limit is 255",
        ),
        (
            lambda book, sheet: sheet.data_validation(0, 0, 0, 0, {"validate": "any", "input_message": "b" * 256}),
            "Some sheet, A1: characters of a validation's prompt: 256; Excel's limit is 255",
        ),
        (
            lambda book, sheet: sheet.set_header("a" * 256),
            "Some sheet: characters of the page header: 256; Excel's limit is 255",
        ),
        (
            lambda book, sheet: book.define_name("Total", "=1", "c" * 256),
            "defined name Total: characters of a name's comment: 256; Excel's limit is 255",
        ),
        (
            lambda book, sheet: book.define_name("AB12", "=1"),
            "defined name AB12: a defined name: AB12; Excel's limit is a word that does not look like a cell",
        ),
        (
            lambda book, sheet: [book.define_name(name, "=1") for name in ("Total", "TOTAL")],
            "defined name TOTAL: times that it is defined: 2; Excel's limit is 1",
        ),
        (
            lambda book, sheet: sheet.conditional_format(
                "A1:B2", {"type": "formula", "criteria": '="' + "a" * 300 + '"=A1'}
            ),
            "Some sheet, A1:B2: characters of a text in a formula: 300; Excel's limit is 255",
        ),
    ],
)
def test_what_breaks_a_limit_is_not_written(attempt, words, tmp_path):
    book = excel_limits.LimitedWorkbook(str(tmp_path / "book.xlsx"))
    sheet = book.add_worksheet("Some sheet")
    with pytest.raises(excel_limits.LimitError) as refused:
        attempt(book, sheet)
    assert str(refused.value) == words
    assert not (tmp_path / "book.xlsx").exists()


def test_a_link_too_many_is_not_written(tmp_path, monkeypatch):
    monkeypatch.setattr(excel_limits, "LINKS", 2)
    book = excel_limits.LimitedWorkbook(str(tmp_path / "book.xlsx"))
    sheet = book.add_worksheet("Links")
    for row in range(2):
        sheet.write_url(row, 0, "internal:'Links'!A1")
    with pytest.raises(excel_limits.LimitError, match="Links, A3: links of a sheet: 3"):
        sheet.write_url(2, 0, "internal:'Links'!A1")


def test_what_is_looked_for_in_files_is_found(tmp_path):
    """XlsxWriter alone writes what LimitedWorkbook refuses."""
    import xlsxwriter

    path = tmp_path / "bad.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("Bad")
        sheet.write_formula("B3", '=LEN("' + "a" * 256 + '")')
        sheet.write_formula("B4", "=" + "ABS(" * 65 + "1" + ")" * 65)
        book.define_name("Good", "=1")
    found = dict(limits_of_file(path).breaches)
    assert set(found) == {"Bad, B3", "Bad, B4"}
    assert found["Bad, B3"].found == 256


def test_numbers_are_written_as_they_are(tmp_path):
    path = tmp_path / "numbers.xlsx"
    numbers = (81.1, 0.1 + 0.2, 1 / 3, 5.0, -0.035, 1e15, 1e-9, 45_000, 12345678.9)
    book = excel_limits.LimitedWorkbook(str(path))
    sheet = book.add_worksheet("Numbers")
    for row, number in enumerate(numbers):
        sheet.write_number(row, 0, number)
    book.close()
    with zipfile.ZipFile(path) as file:
        written = re.findall(r"<v>([^<]*)</v>", file.read("xl/worksheets/sheet1.xml").decode())
    assert written[0] == "81.1"
    assert tuple(map(float, written)) == numbers


def largest_values() -> Counter[str]:
    """How near the committed workbooks come to each limit; examples/benchmarks.md shows it."""
    largest: Counter[str] = Counter()
    for path in COMMITTED:
        largest |= limits_of_file(path).largest
    return largest


if __name__ == "__main__":
    print(*sorted(largest_values().items()), sep="\n")
