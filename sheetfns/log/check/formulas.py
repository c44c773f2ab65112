"""The formulas of a log against those of the layout, wherever its columns and rows stand now."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Final

from sheetfns import former_names
from sheetfns.cell_types import shown_cell
from sheetfns.files.cell_names import column_letters
from sheetfns.files.sheet_cells import with_errors
from sheetfns.files.sheet_xml import FormulaText
from sheetfns.files.workbook_file import WorkbookFile, formulas_of, open_workbook
from sheetfns.log.check.formula_text import CellName, same_for_all_rows, with_cells_of
from sheetfns.log.check.formula_tree import ComparedFormula
from sheetfns.log.edit.patch import CellEdit
from sheetfns.log.lambdas.names import lambda_specs, named_lambdas
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.earlier_words import address_in_words
from sheetfns.log.model.sheets import (
    FIRST_ROW,
    LIST_HEADER_ROW,
    NUMBER_ROW,
    PURPOSE_ROW,
    UNIT_ROW,
    Edition,
    FormSheet,
    Layout,
    TableSheet,
)
from sheetfns.log.read.cells import shown_of
from sheetfns.log.read.content import LogContent
from sheetfns.log.read.sheet_reader import plain
from sheetfns.log.sheets.data_checks.layout import CHECK_COLUMNS
from sheetfns.log.sheets.words import CHECKS, FUNCTIONS, SETTINGS, START
from sheetfns.log.write.formulas import written_formulas

FORMULA_SHOWN: Final = 50
_TYPED_OVER, CHANGED, _GONE = "formula_typed_over", "formula_changed", "formula_gone"
_WORDS: Final = {
    _TYPED_OVER: "the formula was overwritten with a value",
    CHANGED: "the formula is no longer the log's own",
    _GONE: "the formula is missing",
}


@dataclass(frozen=True)
class FormulaFault:
    """A formula that is not as it was, in one cell or in several of a column.

    Attributes:
        sheet: the sheet's name in the file.
        cells: the cells, from top to bottom.
        found: what stands in the first of them.
        message: what is wrong with it.
        key: a stable word for the sort of fault.
        repairs: what puts the formulas back; none where that is not certain.
    """

    sheet: str
    cells: tuple[str, ...]
    found: str
    message: str
    key: str
    repairs: tuple[CellEdit, ...]


def formula_faults(content: LogContent, edition: Edition, layout: Layout) -> list[FormulaFault]:
    """Every formula of a log that is not the one of the layout.

    Args:
        content: the log as it was read; it lacks nothing of the current layout.
        edition: which formulas it ought to have.
        layout: the layout of today with as many ready rows as the log has.
    """
    with open_workbook(content.path) as book:
        faults = list(_Comparison(book, content, edition, layout).faults())
    # Today's formulas use names that a log in other words does not have, and find entries between edges.
    certain = not content.words and content.names_with_headers
    return faults if certain else [replace(fault, repairs=()) for fault in faults]


class _OneSheet:
    """A sheet of the file: its formulas and what stands in the other cells."""

    def __init__(self, book: WorkbookFile, name: str) -> None:
        self.name = name
        self._book = book
        self.formulas = formulas_of(book, name)

    @cached_property
    def cells(self) -> list[list[Any]]:
        hidden = self._book.hidden(self.name)
        return with_errors(self._book.cells(self.name), hidden)

    def formula(self, row: int, column: int) -> str | None:
        """The formula of a cell; row from 1, column from 0."""
        return self.formulas.get((row, column + 1))

    def value(self, row: int, column: int) -> Any:
        """What stands in a cell; row from 1, column from 0."""
        if row > len(self.cells) or column >= len(self.cells[row - 1]):
            return ""
        return self.cells[row - 1][column]


@dataclass(frozen=True)
class _Wanted:
    """A cell of the file, the label to name it by, and the formula that it ought to have."""

    row: int
    column: int
    label: str
    formula: ComparedFormula


class _Comparison:
    """One log against its layout."""

    def __init__(self, book: WorkbookFile, content: LogContent, edition: Edition, layout: Layout) -> None:
        self.book = book
        self.content = content
        self.layout = layout
        self.words = content.words
        self.edition = edition
        self.places = AddressMap(layout)
        self.expected = written_formulas(layout, edition)
        self.checks = _OneSheet(book, self._actual(CHECKS))
        self.before_edges = not content.names_with_headers
        """Whether its entries have no edges: then rows, names and checks are of another form than today's."""

    def faults(self) -> Iterator[FormulaFault]:
        for table in self.layout.tables:
            yield from self._table(table)
        for form in self.layout.forms:
            if self.content.layout >= form.since:
                yield from self._form(form)
        # Lines come and go with the layout, and with a line every formula below it says another cell.
        for name in (START,) if self.content.older else (START, SETTINGS, CHECKS):
            yield from self._fixed(name)
        yield from self._names()

    def _actual(self, name: str) -> str:
        found = {plain(one): one for one in self.content.sheet_names}
        title = self.content.words.sheet(name)
        return found.get(plain(title), title)

    # ---- sheets with rows --------------------------------------------------------------------

    def _table(self, table: TableSheet) -> Iterator[FormulaFault]:
        place = self.content.places[table.key]
        sheet = _OneSheet(self.book, place.sheet)
        expected = self.expected[table.name]
        keys = [column.key for column in table.columns]
        file_keys = {position: key for key, position in place.columns.items()}

        def of_layout(row: int) -> Callable[[CellName], str]:
            return self._named(lambda cell: keys[cell.column], row, FIRST_ROW)

        def of_file(row: int) -> Callable[[CellName], str]:
            return self._named(lambda cell: file_keys.get(cell.column, f"own:{cell.column}"), row, place.first)

        yield from self._rows_moved(sheet, place.first)
        for column in table.columns:
            text = expected.get((FIRST_ROW, table.position(column.key)))
            if text is None or column.key not in place.columns:
                continue
            wanted = ComparedFormula(text, of_layout(FIRST_ROW))
            position = place.columns[column.key]
            rows = range(place.first, place.last + 1)
            for sort, bad in _bad_rows(sheet, position, rows, wanted, of_file).items():
                repairs = self._repairs(table, text, bad, position)
                header = self.words.of("header", table.name, column.key, column.header)
                yield _fault(sheet, (position, header), sort, bad, repairs)
        yield from self._heads(table, sheet)

    def _rows_moved(self, sheet: _OneSheet, first: int) -> Iterator[FormulaFault]:
        moved = first - FIRST_ROW
        if moved:
            rows = "1 row was" if abs(moved) == 1 else f"{abs(moved)} rows were"
            what = "inserted" if moved > 0 else "deleted"
            yield _other(
                sheet.name,
                f"A{first}",
                f"{rows} {what} above the first ready row, so formulas that count rows are off by as many; undo that, "
                "or run 'sheetfns upgrade' on the log",
                "rows_moved",
            )

    def _repairs(self, table: TableSheet, text: str, rows: Iterable[int], position: int) -> tuple[CellEdit, ...]:
        """The layout's formula with the letters and rows that the file has."""
        place = self.content.places[table.key]
        keys = [column.key for column in table.columns]
        used = [keys[cell.column] for cell in _cells_of(text)]
        if self.before_edges or place.first != FIRST_ROW or any(key not in place.columns for key in used):
            return ()
        edits = []
        for row in rows:

            def named(cell: CellName, row: int = row) -> str:
                letter = column_letters(place.columns[keys[cell.column]])
                number = cell.row if cell.row_fixed else row + cell.row - FIRST_ROW
                return f"${letter}{'$' if cell.row_fixed else ''}{number}"

            formula = FormulaText(with_cells_of(text, named))
            edits.append(CellEdit(place.sheet, row, position + 1, formula))
        return tuple(edits)

    def _heads(self, table: TableSheet, sheet: _OneSheet) -> Iterator[FormulaFault]:
        place = self.content.places[table.key]
        if self.before_edges or place.first != FIRST_ROW:
            return
        expected = self.expected[table.name]
        wanted = [(NUMBER_ROW, 0, "what is to fix", expected[NUMBER_ROW, 0])]
        for column in table.columns:
            # Beside the numbers of the entries stand cells that say how far the sheet prints: the file's own.
            numbers = [(NUMBER_ROW, "number")] if column.role == "input" else []
            for row, what in ((UNIT_ROW, "unit"), *numbers):
                text = expected.get((row, table.position(column.key)))
                if text is not None and column.key in place.columns and table.position(column.key):
                    label = f"{what} of {self.words.of('header', table.name, column.key, column.header)}"
                    wanted.append((row, place.columns[column.key], label, text))
        for row, position, label, text in wanted:
            literal = self._literal(row)
            cell = _Wanted(row, position, label, ComparedFormula(text, literal))
            yield from self._single(sheet, cell, literal)

    # ---- forms and other sheets --------------------------------------------------------------

    def _form(self, form: FormSheet) -> Iterator[FormulaFault]:
        places = self.content.form_places[form.key]
        sheet = _OneSheet(self.book, places.sheet)
        layout_cells = self.places.form_cells[form.key]
        layout_keys = {place: key for key, place in layout_cells.items()}
        file_keys = {place: key for key, place in places.cells.items()}

        def by(keys: Mapping[tuple[int, int], str]) -> Callable[[CellName], str]:
            return self._named(lambda cell: keys.get((cell.row, cell.column), f"{cell.column},{cell.row}"), 0, 0)

        moved = places.cells != layout_cells
        worded = self.content.worded(self.layout).form(form.key)
        later = form.later_than(self.content.layout)
        for (row, column), text in self.expected[form.name].items():
            key = layout_keys.get((row, column))
            # What stands under the title says how far the sheet prints, and that is the file's own.
            if key in later or row == PURPOSE_ROW:
                continue
            if key is None:
                if not moved:
                    literal = self._literal(row)
                    cell = _Wanted(row, column, "unit", ComparedFormula(text, literal))
                    yield from self._single(sheet, cell, literal)
                continue
            actual_row, actual_column = places.cells[key]
            wanted = ComparedFormula(text, by(layout_keys))
            cell = _Wanted(actual_row, actual_column, worded.label_of(key), wanted)
            yield from self._single(sheet, cell, by(file_keys), certain=not moved)

    def _fixed(self, name: str) -> Iterator[FormulaFault]:
        """A sheet whose cells have not moved; where they have, that alone is said."""
        sheet = self.checks if name == CHECKS else _OneSheet(self.book, self._actual(name))
        if self._has_moved(name):
            yield _other(
                sheet.name,
                f"A{LIST_HEADER_ROW}",
                "rows were inserted, deleted or sorted on this sheet, so its formulas cannot be compared; undo that, "
                "or "
                "run 'sheetfns upgrade' on the log",
                "rows_moved",
            )
            return
        for (row, column), text in self.expected[name].items():
            literal = self._literal(row)
            label = "" if name == START else str(sheet.value(row, 0 if name == SETTINGS else 2))
            cell = _Wanted(row, column, label, ComparedFormula(text, literal))
            yield from self._single(sheet, cell, literal)

    def _has_moved(self, name: str) -> bool:
        if name == SETTINGS:
            rows = {key: row for key, (row, _) in self.content.setting_places.cells.items()}
            starts = {key: self.places.block_rows[key] for key in self.content.block_starts}
            found = {key: row for key, row in rows.items() if key in self.places.setting_rows}
            return starts != self.content.block_starts or any(
                row != self.places.setting_rows[key] for key, row in found.items()
            )
        if name == CHECKS:
            return any(
                plain(self.checks.value(self.places.check_rows[check.key], CHECK_COLUMNS["label"]))
                != plain(self.words.of("check", check.sheet, check.key, check.label))
                for check in self.layout.checks
            )
        return False

    def _single(
        self, sheet: _OneSheet, cell: _Wanted, named: Callable[[CellName], str], *, certain: bool = True
    ) -> Iterator[FormulaFault]:
        actual = sheet.formula(cell.row, cell.column)
        if actual is None:
            sort = _GONE if sheet.value(cell.row, cell.column) == "" else _TYPED_OVER
        elif ComparedFormula(actual, named).same_as(cell.formula):
            return
        else:
            sort = CHANGED
        edit = CellEdit(sheet.name, cell.row, cell.column + 1, FormulaText(cell.formula.text))
        repairs = (edit,) if certain else ()
        yield _fault(sheet, (cell.column, cell.label), sort, [cell.row], repairs)

    # ---- defined names -----------------------------------------------------------------------

    def _names(self) -> Iterator[FormulaFault]:
        """Names that point to another column than the one with their header, or are gone."""
        actual = {name.casefold(): text for name, text in self.book.defined_names.items()}
        for table in self.layout.tables:
            place = self.content.places[table.key]
            for column in table.columns:
                name = self.words.name(table.defined_name(column.key))
                if column.key not in place.columns:
                    continue
                letter = column_letters(place.columns[column.key])
                first = place.first - (0 if self.before_edges else FIRST_ROW - table.names_from)
                last = place.last + (0 if self.before_edges else table.names_to - table.last_row)
                wanted = f"'{place.sheet}'!${letter}${first}:${letter}${last}"
                found = actual.get(name.casefold(), "")
                if _plain_address(found) != _plain_address(wanted):
                    yield self._name_fault(place.sheet, name, found, f"{letter}{place.first}")
        for name, wanted in self._fixed_names():
            if self.before_edges and name.startswith("Check_"):
                continue
            found = actual.get(name.casefold(), "")
            if _plain_address(found) != _plain_address(wanted):
                sheet, _, cells = wanted.rpartition("!")
                cell = cells.replace("$", "").partition(":")[0]
                yield self._name_fault(sheet.strip("'"), name, found, cell)

        # In other words, functions too may have had other names.
        if self.edition == "lambda" and not self.words:
            yield from self._lambda_names()

    def _lambda_names(self) -> Iterator[FormulaFault]:
        """Functions whose names are gone: a program that does not know them may drop them."""
        there = named_lambdas(self.book.defined_names)
        if self.content.older:
            # Its formulas call the functions by the names that they had then.
            there |= {former_names.FUNCTIONS.get(name, name) for name in there}
        gone = sorted({spec.name for spec in lambda_specs()} - there)
        if gone:
            many = "1 function is" if len(gone) == 1 else f"{len(gone)} functions are"
            yield _other(
                FUNCTIONS if FUNCTIONS in self.content.sheet_names else START,
                "A1",
                f"{many} missing from this file's names (the first: {gone[0]}), so cells that use them show #NAME?; "
                "run 'sheetfns upgrade' on the log",
                "name_changed",
            )

    def _fixed_names(self) -> Iterator[tuple[str, str]]:
        """Names of cells that stand where the layout has them."""
        if self._has_moved(SETTINGS):
            return
        with_rows = {table.defined_name(column.key) for table in self.layout.tables for column in table.columns} | {
            f"{table.key}_all" for table in self.layout.tables
        }
        moved = {
            form.key
            for form in self.layout.forms
            if self.content.form_places[form.key].cells != self.places.form_cells[form.key]
        }
        for name, wanted in self.places.names.items():
            if name not in with_rows and name.partition("_")[0] not in moved:
                yield self.words.name(name), address_in_words(wanted, self.words)

    def _name_fault(self, sheet: str, name: str, found: str, cell: str) -> FormulaFault:
        what = f"points to {found}" if found else "is missing"
        return _other(
            sheet,
            cell,
            f"the defined name {name}, which formulas use to find these cells, {what}; undo that, or run 'sheetfns "
            "upgrade' on the log",
            "name_changed",
        )

    # ---- words -------------------------------------------------------------------------------

    def _named(self, own: Callable[[CellName], str], row: int, first: int) -> Callable[[CellName], str]:
        """How cells are told apart: those of the own sheet by what they hold."""

        def name(cell: CellName) -> str:
            if cell.sheet:
                return _elsewhere(cell)
            offset = f"${cell.row - first}" if cell.row_fixed else str(cell.row - row)
            return f"{{{own(cell)}@{offset if first else ''}}}"

        return name

    def _literal(self, row: int) -> Callable[[CellName], str]:
        def name(cell: CellName) -> str:
            if cell.sheet:
                return _elsewhere(cell)
            return f"{{{cell.column}@{cell.row - row}}}"

        return name


def _bad_rows(
    sheet: _OneSheet,
    position: int,
    rows: Iterable[int],
    wanted: ComparedFormula,
    named_in: Callable[[int], Callable[[CellName], str]],
) -> dict[str, list[int]]:
    """The rows of a column whose formula is not as it ought to be, by the sort of fault."""
    bad: dict[str, list[int]] = {}
    good: dict[str, bool] = {}
    for row in rows:
        actual = sheet.formula(row, position)
        if actual is None:
            sort = _GONE if sheet.value(row, position) == "" else _TYPED_OVER
            bad.setdefault(sort, []).append(row)
            continue
        key = same_for_all_rows(actual, row)
        if key not in good:
            good[key] = ComparedFormula(actual, named_in(row)).same_as(wanted)
        if not good[key]:
            bad.setdefault(CHANGED, []).append(row)
    return bad


def _fault(
    sheet: _OneSheet, column: tuple[int, str], sort: str, rows: list[int], repairs: tuple[CellEdit, ...]
) -> FormulaFault:
    position, label = column
    letter = column_letters(position)
    formula = sheet.formula(rows[0], position)
    value = sheet.value(rows[0], position)
    shown = shown_of(value) if formula is None else shown_cell(f"={formula}", FORMULA_SHOWN)
    name = f"{label}: " if label else ""
    return FormulaFault(
        sheet.name, tuple(f"{letter}{row}" for row in rows), shown, f"{name}{_WORDS[sort]}", sort, repairs
    )


def _elsewhere(cell: CellName) -> str:
    return f"{cell.sheet}!{cell.column},{cell.row}"


def _other(sheet: str, cell: str, message: str, key: str) -> FormulaFault:
    return FormulaFault(sheet, (cell,), "", message, key, ())


def _cells_of(text: str) -> list[CellName]:
    found: list[CellName] = []

    def keep(cell: CellName) -> str:
        found.append(cell)
        return cell.text

    with_cells_of(text, keep)
    return found


def _plain_address(text: str) -> str:
    return text.replace("'", "").replace("$", "").casefold()
