"""Two copies of one log brought together: nothing that is typed into either is lost."""

from __future__ import annotations

import datetime as dt
import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from sheetfns.errors import LogFileError
from sheetfns.files.safe_files import sole_use
from sheetfns.files.sheet_xml import Cell
from sheetfns.files.workbook_file import formulas_of, open_workbook, refuse_ods
from sheetfns.log.edit.conflicts import Line, conflict_lines, listed_in
from sheetfns.log.edit.finds_taken import taken_of_both
from sheetfns.log.edit.macros import CONF_SHEET, right_ending, upgrade_command
from sheetfns.log.edit.merge_rows import (
    Cells,
    Difference,
    Merged,
    MergeOutcome,
    Row,
    Rules,
    custom_key,
    is_custom,
    merge_cells,
    merge_rows,
    same,
)
from sheetfns.log.edit.merges_made import merges_of_both
from sheetfns.log.edit.patch import CellEdit, NewSheet, Patched, patch
from sheetfns.log.edit.values import names_of_sheets, plain_value, shown, writable
from sheetfns.log.load import load_log
from sheetfns.log.model.sheets import SettingsBlock, TableSheet
from sheetfns.log.read.content import LogContent
from sheetfns.log.read.sheet_reader import CellPlaces, TablePlace, plain
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import CONFLICTS, FINDS_TAKEN, MERGES, SETTINGS

_KEYS: Final = {
    "Plan": ("item",),
    "Comps": ("item", "seen_on", "seen_at", "price"),
    "Expenses": ("spent_on", "heading", "description"),
    "Trips": ("driven_on", "purpose", "to_place"),
    "Personal": ("item",),
    "Owner": ("moved_on", "partner"),
    "Mileage": ("from",),
    "Taxes": ("year", "partner"),
    "Reported": ("year", "channel"),
    "TaxFigure": ("name", "from"),
    "Rule": ("name", "from"),
}
NUMBERED: Final = {
    "Lots": ("description", "bought_on", "paid", "found_at"),
    "Log": ("description", "bought_on", "paid", "found_at", "lot_no", "category"),
}
"""Sheets whose rows have a number, and what tells two rows apart that have the same one."""
_BY_PLACE: Final = frozenset({"Service", "Text"})
"""Small tables in which the place of a row counts."""
_AS_OF: Final = "As_of_date"
_MAY_BE_DECIDED: Final = (MergeOutcome.both_changed, MergeOutcome.differ)
_MADE_BY_MERGES: Final = tuple(map(plain, (CONFLICTS, FINDS_TAKEN, MERGES)))
_ENDING_NUMBER: Final = re.compile(r"(.*?)(\d+)(\D*)$", re.DOTALL)


@dataclass(frozen=True)
class MergeReport:
    """What came of a merge.

    Attributes:
        path: the result.
        differences: what the two copies differed on, the most urgent first.
        rows_added: rows of the other copy that were new, by sheet.
        cells_taken: how many cells of the first copy were filled or changed.
        extra_sheets: sheets of the other copy that are not taken over.
        patched: what came of writing; None if there was nothing to write.
    """

    path: Path
    differences: tuple[Difference, ...]
    rows_added: dict[str, int]
    cells_taken: int
    extra_sheets: tuple[str, ...]
    patched: Patched | None


@dataclass(frozen=True)
class Decision:
    """A difference that a person may decide otherwise.

    Attributes:
        difference: what the two copies differ on, and what is kept without a decision.
        edit: the cell with the other value.
    """

    difference: Difference
    edit: CellEdit


@dataclass(frozen=True)
class MergePlan:
    """What a merge would do to the first copy; nothing is written yet.

    Attributes:
        ours, theirs: the two copies.
        edits: the cells that are filled or changed.
        differences: what the two copies differ on.
        decisions: those of them that stand in one cell each and may be decided otherwise.
        rows_added: rows of the other copy that are new, by sheet.
        extra_sheets: sheets of the other copy that are not taken over.
    """

    ours: LogContent
    theirs: LogContent
    edits: tuple[CellEdit, ...]
    differences: tuple[Difference, ...]
    decisions: tuple[Decision, ...]
    rows_added: dict[str, int]
    extra_sheets: tuple[str, ...]

    def decided(self, otherwise: Iterable[Decision]) -> MergePlan:
        """The plan with the other value where a person wants it."""
        changed = {id(one.difference): one for one in otherwise}
        turned = [_turned(one) if id(one) in changed else one for one in self.differences]
        edits = (*self.edits, *(one.edit for one in changed.values()))
        return replace(self, edits=edits, differences=tuple(turned), decisions=())

    def writes(self, remembered: Line | None = None) -> tuple[list[CellEdit], list[NewSheet]]:
        """All cells and sheets to write, those among them that list the differences.

        Args:
            remembered: the line of sheet Merges for this merge; none if it leaves no common copy.
        """
        lines = conflict_lines(self.differences, self.ours, self.theirs)
        taken = taken_of_both(self.ours, self.theirs)
        made = merges_of_both(self.ours, self.theirs, remembered)
        listed = (lines, taken, made)
        edits = [*self.edits, *(edit for one in listed for edit in one.edits)]
        return edits, [one.new_sheet for one in listed if one.new_sheet is not None]


def _turned(one: Difference) -> Difference:
    return replace(one, kept=one.other, other=one.kept, kept_ours=not one.kept_ours)


def plan_merge(
    ours: Path | str,
    theirs: Path | str,
    base: Path | str | None = None,
    *,
    renumber: bool = False,
    step: Callable[[str], None] = lambda _: None,
) -> MergePlan:
    """Work out what a merge would do; nothing is written. For arguments and errors see `merge_logs`."""
    ours, theirs = Path(ours), Path(theirs)
    base = None if base is None else Path(base)
    step("Reading the first copy")
    first = load_log(ours)
    refuse_older(first)
    refuse_other_words(first)
    step("Reading the other copy")
    second = load_log(theirs)
    refuse_older(second)
    refuse_other_words(second)
    step("Reading the last common copy" if base else "Comparing")
    third = None if base is None else _common(base, first, second)
    merge = _Merge(first, second, third, renumber=renumber)
    merge.everything()
    order = list(MergeOutcome)
    differences = sorted(merge.differences, key=lambda one: order.index(one.outcome))
    return MergePlan(
        first,
        second,
        tuple(merge.edits),
        tuple(differences),
        tuple(merge.decisions(differences)),
        merge.rows_added,
        merge.extra_sheets,
    )


def merge_logs(
    ours: Path | str,
    theirs: Path | str,
    out: Path | str,
    base: Path | str | None = None,
    *,
    renumber: bool = False,
    step: Callable[[str], None] = lambda _: None,
) -> MergeReport:
    """Bring two copies of a log together.

    The result is the first copy with the cells and rows of the other that are new or changed. What
    both have changed stays as it is in the first, and is listed on a sheet with both values.

    Args:
        ours: the copy that the result begins with, an .xlsx workbook; its macros, and sheets and
            columns of one's own, stay in it.
        theirs: the other copy, which may be an .ods workbook; only what is typed into it is taken.
        out: the result; it may be `ours`, of which a dated copy is kept then.
        base: the last copy that both had in common; it may be `ours` or `theirs` itself, where
            nothing has changed since.
        renumber: whether a different item under the same number gets a free number; else it is
            listed.
        step: is told what is being done.

    Errors:
        LogFileError: a file is no log, is open or cannot be written, both copies are the same file,
            the result's ending is not that of the first copy, or the rows do not fit. Then nothing
            is written.
    """
    ours, theirs, out = Path(ours), Path(theirs), Path(out)
    base = None if base is None else Path(base)
    _refuse_names(ours, theirs, out, base)
    with sole_use(out):
        plan = plan_merge(ours, theirs, base, renumber=renumber, step=step)
        step("Writing the result")
        edits, new_sheets = plan.writes()
        patched = write_result(ours, out, edits, new_sheets)
    return MergeReport(out, plan.differences, plan.rows_added, len(plan.edits), plan.extra_sheets, patched)


def _common(base: Path, first: LogContent, second: LogContent) -> LogContent:
    """The last common copy, which may be one of the two, where nothing has changed since."""
    read = (one for one in (first, second) if _same_file(base, one.path))
    common = next(read, None) or load_log(base)
    refuse_older(common)
    return common


def write_result(ours: Path, out: Path, edits: list[CellEdit], new_sheets: Sequence[NewSheet]) -> Patched | None:
    """Write the first copy with what changes in it; None if nothing does and it is the result itself.

    Errors:
        LogFileError: see `patch`, whose caller has the sole use of the result.
    """
    if not edits and not new_sheets and ours.resolve() == out.resolve():
        return None
    return patch(ours, edits, out=out, new_sheets=new_sheets, locked=True)


def _refuse_names(ours: Path, theirs: Path, out: Path, base: Path | None) -> None:
    refuse_ods(ours)
    if _same_file(theirs, ours):
        raise LogFileError(f"{theirs}: is named twice; name two different copies")
    # The result may be the first copy, which is kept; so it may be a base that is the same file.
    if any(_same_file(path, out) and not _same_file(path, ours) for path in (theirs, base) if path):
        raise LogFileError(f"{out}: would be overwritten; give the result another name")
    refuse_ending(ours, out)


def _same_file(one: Path, other: Path) -> bool:
    return one.exists() and other.exists() and one.samefile(other)


def refuse_ending(ours: Path, out: Path) -> None:
    """Refuse a name that says another kind of workbook: not every program opens such a file.

    Errors:
        LogFileError: the result's ending is not that of the first copy.
    """
    ending = right_ending(ours)
    if ending is None and ours.suffix.lower() == ".ods":
        return  # it is no workbook at all, which reading it says
    if out.suffix.lower() == (ending or ours.suffix.lower()):
        return
    if ending is None or ours.suffix.lower() == ending:
        raise LogFileError(
            f"{out}: give the result a name that ends in {ours.suffix}, as {ours.name} does; with another ending it "
            "may not open"
        )
    raise LogFileError(
        f"{ours.name}: is an {ending} workbook, whatever its name says; give the result a name that ends in {ending}, "
        "or it may not open"
    )


def refuse_older(content: LogContent) -> None:
    """Refuse a log that is missing something that today's has.

    Errors:
        LogFileError: it is; the message says how to upgrade it.
    """
    if content.lacks:
        raise LogFileError(
            f"{content.path}: has layout {content.layout} and is missing what was added since; run "
            f"{upgrade_command(content.path)} and merge the new log"
        )


def refuse_other_words(content: LogContent) -> None:
    """Refuse a log in the words of its time.

    Errors:
        LogFileError: it is; the message says how to upgrade it.
    """
    if content.words:
        raise LogFileError(
            f"{content.path}: has layout {content.layout}, whose words have changed since; run "
            f"{upgrade_command(content.path)} and merge the new log"
        )


def free_rows(log: LogContent, table: TableSheet, occupied: set[int], count: int, source: str) -> list[int]:
    """The free ready rows of a sheet: those behind the last one filled, then those between.

    Errors:
        LogFileError: there are fewer than `count`, which come from the file of that name.
    """
    place = log.places[table.key]
    occupied = occupied | {row for row, _ in log.own_cells.get(table.key, {})}
    ready = range(place.first, place.last + 1)
    last = max(occupied, default=place.first - 1)
    free = [row for row in ready if row > last]
    free += [row for row in ready if row <= last and row not in occupied]
    if count > len(free):
        needed = count - len(free) + len(ready)
        raise LogFileError(
            f"{log.path}: {count} rows of {source} need to be added to {table.name}, but only {len(free)} ready rows "
            f"are free; run {upgrade_command(log.path, 'N')} with more rows ({table.name} needs {needed}), then merge "
            "the new log"
        )
    return free


class _Merge:
    """The merge of one log with another."""

    def __init__(self, ours: LogContent, theirs: LogContent, base: LogContent | None, *, renumber: bool) -> None:
        self.ours, self.theirs, self.base = ours, theirs, base
        self.renumber = renumber
        self.differences: list[Difference] = []
        self.edits: list[CellEdit] = []
        self.rows_added: dict[str, int] = {}
        self.layout = log_layout()
        self._first, self._second = _Typed(ours), _Typed(theirs)
        self._third = None if base is None else _Typed(base)
        self._lot_numbers: dict[str, str] = {}
        self._done = listed_in(ours)
        self._cells_of: dict[tuple[str, str, str], set[tuple[str, int, int]]] = defaultdict(set)
        names = names_of_sheets(self.layout, theirs.edition) | {plain(CONF_SHEET)}
        self.extra_sheets = tuple(
            name
            for name in theirs.sheet_names
            if plain(name) not in names and not plain(name).startswith(_MADE_BY_MERGES)
        )

    def everything(self) -> None:
        """Merge every sheet."""
        self._single_cells()
        for block in self.layout.blocks:
            if any(column.role == "input" for column in block.columns):
                self._block(block)
        # Lots before items: a lot that gets another number takes its items with it.
        for key in ("Lots", "Log"):
            self._table(self.layout.table(key))
        for table in self.layout.tables:
            if table.key not in NUMBERED and table.inputs():
                self._table(table)
        self.differences += [
            Difference(MergeOutcome.other_sheet, name, "", "", other=name) for name in self.extra_sheets
        ]

    def decisions(self, differences: Iterable[Difference]) -> Iterator[Decision]:
        """Those of the differences that stand in one cell each, whose row is known by its name alone."""
        for one in differences:
            cells = self._cells_of.get((one.sheet, one.named, one.column), set())
            if one.outcome in _MAY_BE_DECIDED and one.column and len(cells) == 1:
                yield Decision(one, CellEdit(*next(iter(cells)), writable(one.other)))

    # ---- cells that stand alone --------------------------------------------------------------

    def _single_cells(self) -> None:
        labels = {setting.name: setting.label for setting in self.layout.settings}
        rules = Rules(SETTINGS, (), headers=labels)
        ours, theirs = self._first.settings, self._second.settings
        base = None if self._third is None else self._third.settings
        self._cells(rules, ours, theirs, base, self.ours.setting_places)
        if not same(ours.get(_AS_OF), theirs.get(_AS_OF)):
            self._later_day(ours.get(_AS_OF), theirs.get(_AS_OF))
        for form in self.layout.forms:
            if not any(cell.role == "input" for cell in form.cells()):
                continue
            headers = {cell.key: form.label_of(cell.key) for cell in form.cells()}
            ours = self._first.forms.get(form.key, {})
            theirs = self._second.forms.get(form.key, {})
            base = None if self._third is None else self._third.forms.get(form.key, {})
            rules = Rules(form.name, (), headers=headers)
            self._cells(rules, ours, theirs, base, self.ours.form_places[form.key])

    def _cells(self, rules: Rules, ours: Cells, theirs: Cells, base: Cells | None, places: CellPlaces) -> None:
        cells, found = merge_cells(rules, ours, theirs, base, "", self._done)
        self.differences += found
        for key, (row, column) in places.cells.items():
            self._cells_of[rules.sheet, "", rules.header(key)].add((places.sheet, row, column + 1))
        for key in {*ours, *cells}:
            if cells.get(key) != ours.get(key) and key in places.cells:
                row, column = places.cells[key]
                self.edits.append(CellEdit(places.sheet, row, column + 1, writable(cells.get(key))))

    def _later_day(self, ours: Any, theirs: Any) -> None:
        """Entries of both copies count: the later of the days up to which they go holds."""
        if not isinstance(ours, dt.date) or not isinstance(theirs, dt.date):
            return
        label = self.layout.setting(_AS_OF).label
        self.differences = [one for one in self.differences if (one.sheet, one.column) != (SETTINGS, label)]
        is_ours = shown(ours) > shown(theirs)
        kept, other = (ours, theirs) if is_ours else (theirs, ours)
        self.differences.append(
            Difference(MergeOutcome.changed, SETTINGS, "", label, kept, other, None, kept_ours=is_ours)
        )
        row, column = self.ours.setting_places.cells[_AS_OF]
        cell = (self.ours.setting_places.sheet, row, column + 1)
        self.edits = [one for one in self.edits if (one.sheet, one.row, one.column) != cell]
        if not is_ours:
            self.edits.append(CellEdit(*cell, theirs))

    # ---- rows --------------------------------------------------------------------------------

    def _rules(self, part: TableSheet | SettingsBlock) -> Rules:
        key = part.key
        table = isinstance(part, TableSheet)
        return Rules(
            part.name if isinstance(part, TableSheet) else f"{SETTINGS}: {part.title}",
            _KEYS.get(key, ((part.inputs() if isinstance(part, TableSheet) else part.columns)[0].key,)),
            numbered=key in NUMBERED or not table,
            identity=NUMBERED.get(key, ()),
            by_place=key in _BY_PLACE,
            headers={column.key: column.header for column in part.columns},
        )

    def _merged(self, part: TableSheet | SettingsBlock) -> Merged:
        rules = self._rules(part)
        ours = self._first.rows(part.key)
        theirs = self._with_our_columns(part, rules, self._second.rows(part.key))
        base = None
        if self._third is not None:
            base = self._with_our_columns(part, rules, self._third.rows(part.key), silently=True)
        if part.key == "Log" and self._lot_numbers:
            in_both = {shown(row.cells.get("item_no")).casefold() for row in ours}
            theirs = [self._with_new_lot(row, in_both) for row in theirs]
        new_number = None
        if self.renumber and part.key in NUMBERED:
            new_number = self._numbering(part.key, ours, theirs)
        merged = merge_rows(rules, ours, theirs, base, new_number=new_number, done=self._done)
        self.differences += merged.differences
        self._know_cells(self.ours.places[part.key], rules, merged)
        return merged

    def _know_cells(self, place: TablePlace, rules: Rules, merged: Merged) -> None:
        """Where the cells stand on which the copies differ; small tables may still move."""
        if rules.sheet.startswith(f"{SETTINGS}: "):
            return
        wanted = {(one.named, one.column) for one in merged.differences}
        names = {named for named, _ in wanted}
        own = {custom_key(header): column for header, column in place.own.items()}
        for row in merged.rows:
            named = rules.named(row.cells)
            if named not in names:
                continue
            for key, column in (*place.columns.items(), *own.items()):
                if (named, rules.header(key)) in wanted:
                    self._cells_of[rules.sheet, named, rules.header(key)].add((place.sheet, row.sheet_row, column + 1))

    def _with_our_columns(
        self, part: TableSheet | SettingsBlock, rules: Rules, rows: Iterable[Row], *, silently: bool = False
    ) -> list[Row]:
        """The rows with those columns of their own that the first copy has too."""
        ours = self._first.own_columns(part.key)
        result = []
        for row in rows:
            cells: Cells = {}
            for key, value in row.cells.items():
                if not is_custom(key):
                    cells[key] = value
                elif key.casefold() in ours:
                    cells[ours[key.casefold()]] = value
                elif not silently:
                    self.differences.append(
                        Difference(
                            MergeOutcome.no_place, rules.sheet, rules.named(row.cells), rules.header(key), other=value
                        )
                    )
            if cells:
                result.append(Row(row.sheet_row, cells))
        return result

    def _with_new_lot(self, row: Row, in_both: set[str]) -> Row:
        lot = shown(row.cells.get("lot_no")).casefold()
        item = shown(row.cells.get("item_no")).casefold()
        if lot not in self._lot_numbers or item in in_both:
            return row
        return Row(row.sheet_row, row.cells | {"lot_no": self._lot_numbers[lot]})

    def _numbering(self, key: str, ours: Iterable[Row], theirs: Iterable[Row]) -> Callable[[str], str]:
        column = self.layout.table(key).inputs()[0].key
        taken = {shown(row.cells.get(column)).casefold() for row in (*ours, *theirs)}

        def number(old: str) -> str:
            found = _ENDING_NUMBER.match(old)
            before, digits, after = found.groups() if found else (f"{old}-", "1", "")
            last = int(digits)
            while (new := f"{before}{last:0{len(digits)}d}{after}").casefold() in taken:
                last += 1
            taken.add(new.casefold())
            if key == "Lots":
                self._lot_numbers[old.casefold()] = new
            return new

        return number

    def _table(self, table: TableSheet) -> None:
        merged = self._merged(table)
        place = self.ours.places[table.key]
        self._changed(place, merged)
        occupied = {row.sheet_row for row in merged.rows}
        free = free_rows(self.ours, table, occupied, len(merged.added), self.theirs.path.name)
        for row, cells in zip(free, merged.added, strict=False):
            self._write_row(place, row, {}, cells)
        if merged.added:
            self.rows_added[table.name] = len(merged.added)

    def _changed(self, place: TablePlace, merged: Merged) -> None:
        before = {row.sheet_row: row.cells for row in self._all_ours(place)}
        for row in merged.rows:
            self._write_row(place, row.sheet_row, before[row.sheet_row], row.cells)

    def _all_ours(self, place: TablePlace) -> list[Row]:
        return self._first.rows(next(key for key, one in self.ours.places.items() if one is place))

    def _write_row(self, place: TablePlace, row: int, before: Cells, cells: Cells) -> None:
        if before is cells:
            return
        own = {custom_key(header): column for header, column in place.own.items()}
        for key in dict.fromkeys((*before, *cells)):
            value = cells.get(key)
            if key in before and type(before[key]) is type(value) and before[key] == value:
                continue
            column = own[key] if is_custom(key) else place.columns[key]
            self.edits.append(CellEdit(place.sheet, row, column + 1, writable(value)))

    def _block(self, block: SettingsBlock) -> None:
        merged = self._merged(block)
        place = self.ours.places[block.key]
        if not merged.added:
            self._changed(place, merged)
            return
        rows = [row.cells for row in merged.rows]
        room = place.last - place.first + 1 - len(rows)
        for cells in merged.added[: max(0, room)]:
            rows.insert(_where(block, rows, cells), cells)
        rules = self._rules(block)
        for cells in merged.added[max(0, room) :]:
            self.differences += [
                Difference(MergeOutcome.no_place, rules.sheet, rules.named(cells), rules.header(key), other=value)
                for key, value in cells.items()
            ]
        before = {row.sheet_row: row.cells for row in self._all_ours(place)}
        used = sorted(before)
        free = [row for row in range(place.first, place.last + 1) if row not in before]
        for row, cells in zip(sorted(used + free[: len(rows) - len(used)]), rows, strict=True):
            self._write_row(place, row, before.get(row, {}), cells)
        if room > 0:
            self.rows_added[rules.sheet] = min(room, len(merged.added))


def _where(block: SettingsBlock, rows: list[Cells], cells: Cells) -> int:
    """Where a new row goes: among rising ones by its figure, else behind those of its name."""
    first = block.columns[0].key
    if block.rises:
        for place, row in enumerate(rows):
            if _rises(cells.get(first), row.get(first)):
                return place
        return len(rows)
    if block.key == "Rule":
        of_name = [place for place, row in enumerate(rows) if row.get(first) == cells.get(first)]
        later = [place for place in of_name if _rises(cells.get("from"), rows[place].get("from"))]
        if later:
            return later[0]
        if of_name:
            return of_name[-1] + 1
    return len(rows)


def _rises(one: Any, other: Any) -> bool:
    try:
        return bool(one < other)
    except TypeError:
        return False


class _Typed:
    """What is typed into a log, with what stands in columns of the sellers' own."""

    def __init__(self, content: LogContent) -> None:
        self.content = content
        inputs = content.inputs()
        self.settings = _filled(inputs.settings)
        self.forms = {key: _filled(cells) for key, cells in inputs.forms.items()}
        self._rows: dict[str, list[Row]] = {}
        self._computed = _computed_columns(content)
        for key, rows in inputs.rows.items():
            self._keep(key, rows, content.sheets[key]["sheet_row"].tolist())
        for key, rows in inputs.blocks.items():
            self._keep(key, rows, content.block_rows[key])

    def rows(self, key: str) -> list[Row]:
        """The rows of a sheet or small table, in their order."""
        return self._rows.get(key, [])

    def own_columns(self, key: str) -> dict[str, str]:
        """The keys of columns of one's own, by the key without capitals."""
        headers = self.content.places[key].own
        keys = [custom_key(one) for one in headers if one not in self._computed.get(key, set())]
        return {one.casefold(): one for one in keys}

    def _keep(self, key: str, rows: list[Cells], sheet_rows: list[int]) -> None:
        typed = {row: _filled(cells) for row, cells in zip(sheet_rows, rows, strict=True)}
        place = self.content.places[key]
        for (row, header), value in self.content.own_cells.get(key, {}).items():
            if header in self._computed.get(key, set()) or row < place.first:
                continue
            typed.setdefault(row, {})[custom_key(header)] = plain_value(value)
        self._rows[key] = [Row(row, typed[row]) for row in sorted(typed)]


def _computed_columns(content: LogContent) -> dict[str, set[str]]:
    """Columns of one's own that hold formulas: nobody types there."""
    computed: dict[str, set[str]] = {}
    with_own = {key: place for key, place in content.places.items() if place.own}
    if not with_own:
        return {}
    with open_workbook(content.path) as book:
        found: dict[str, dict[Cell, str]] = {}
        for key, place in with_own.items():
            if place.sheet not in found:
                found[place.sheet] = formulas_of(book, place.sheet)
            columns = {column - 1 for row, column in found[place.sheet] if row >= place.first}
            computed[key] = {one for one, column in place.own.items() if column in columns}
    return computed


def _filled(cells: Mapping[str, Any]) -> Cells:
    return {key: plain_value(value) for key, value in cells.items() if value not in (None, "")}
