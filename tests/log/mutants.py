"""Mutants: declared formulas of the log with one random change, and who finds them.

Each change is made to a formula as the layout declares it, and stands in the cells that the formula
is for, as in a log that was written by the changed layout; the engine that is not ours works them
out. `python -m tests.log.mutants` prints the table of examples/benchmarks.md.
"""

from __future__ import annotations

import datetime as dt
import functools
import itertools
import random
import re
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from unittest import mock

import formualizer

from sheetfns.errors import CellError, LogFileError
from sheetfns.files.sheet_xml import FormulaText
from sheetfns.hosts import engine
from sheetfns.log.check.formulas import formula_faults
from sheetfns.log.compare import compare
from sheetfns.log.compute import LogResults, compute_log
from sheetfns.log.edit.patch import CellEdit
from sheetfns.log.load import load_log
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import EDITIONS, FIRST_ROW, Edition, FormSheet, Layout, TableSheet
from sheetfns.log.sheets.registry import layout_of, log_layout
from sheetfns.log.sheets.tax_rules.layout import EXPENSE_LINES
from sheetfns.log.sheets.words import AGE_ROWS, CATEGORY_ROWS, CHANNEL_ROWS, CHECKS, HEADING_ROWS, TRIPS_LISTED
from sheetfns.log.write.build import build_log
from tests.log import filled_logs
from tests.log.filled_logs import MISTAKES, few_rows, full_entries
from tests.log.quick_logs import changed_log, unworked_log
from tests.log.random_logs import random_entries

ITEMS = 70
ROWS = 124
OTHER_ROWS = 70
SEED = 11
PER_SHEET = 10
"""Mutants of each sheet in the whole table."""
_BOOTHS = {"Booth", "First site"}
"""Channels of both sources of entries."""
_UNREADABLE = {
    *("not_a_number", "negative", "not_a_date", "only_spaces", "not_whole", "error_cell"),
    *("item_twice", "read_as_pattern", "no_lot"),
}
"""Of rows with these, the sheet makes what it likes."""


def entries_for_mutants() -> Inputs:
    """Six years, every small table full, random items, and a row for most of what checks find."""
    inputs, others = full_entries(), random_entries(5, ITEMS)
    draw = random.Random(SEED)
    for name in ("As_of_date", "Tax_year"):
        inputs.settings[name] = others.settings[name]
    # Sixty months, which touch six calendar years.
    inputs.settings |= {"First_month": dt.date(2021, 12, 1), "Opening_cash": 2_000.0}
    # Enough of them for averages, an forecast, and fees on sheet Listing desk.
    inputs.settings |= {"Average_days": 400, "Weekly_limit": None}
    inputs.forms["Desk"]["channel"] = "First site"
    inputs.forms["Shelf"]["price_tag"] = 9
    for key, rows in others.rows.items():
        inputs.rows[key] += rows
    _fill_tables(inputs, others)
    _spread_items(inputs, draw)
    _spend_and_move(inputs, draw)
    _come_to_the_edges(inputs)
    for mistake in MISTAKES:
        rows = inputs.rows[mistake.sheet]
        said = {key for key, _ in mistake.said.values()}
        unnumbered = mistake.sheet in {"Log", "Lots"} and "no_item" in said
        if said and not said & _UNREADABLE and not unnumbered:
            number = {"item_no": f"M{len(rows)}"} if mistake.numbered else {}
            rows.append(number | mistake.row)
    return inputs


def _fill_tables(inputs: Inputs, others: Inputs) -> None:
    blocks = inputs.blocks
    named = [row["name"] for row in (*blocks["Channel"], *others.blocks["Channel"])]
    blocks["Channel"] += [row for row in others.blocks["Channel"] if row["name"] not in _BOOTHS]
    more = range(len(blocks["Channel"]) + 1, CHANNEL_ROWS + 1)
    blocks["Channel"] += [
        {"name": f"Market {i}", "rate": i / 100, "per_order": i / 10, "ad_rate": i / 200} for i in more
    ]
    assert len({*named}) <= CHANNEL_ROWS
    blocks["Partner"] = [
        {"name": name, "share": share} for name, share in (("Ada", 0.4), ("Bo", 0.3), ("Cy", 0.2), ("Di", 0.1))
    ]
    lines = [label for _, label in EXPENSE_LINES]
    places = range(len(blocks["Heading"]) + 1, HEADING_ROWS + 1)
    blocks["Heading"] += [{"heading": f"Heading {i}", "tax_line": lines[i % len(lines)]} for i in places]
    blocks["Heading"][-2]["heading"] = "Advertising"
    blocks["Heading"][-1] |= {"heading": "Other expenses", "tax_line": lines[0]}
    blocks["Category"] += [{"name": f"Kind {i}"} for i in range(len(blocks["Category"]) + 1, CATEGORY_ROWS + 1)]
    blocks["Age"] = [{"from_day": 40 * i} for i in range(AGE_ROWS)]
    quarters = [dt.date(2026, month, 1) for month in (1, 4, 7, 10)]
    blocks["Mileage"] = [
        {"from": dt.date(2021, 1, 1), "until": dt.date(2025, 12, 31), "rate": 0.6},
        *(
            {
                "from": first,
                "until": dt.date(2026, first.month + 2, 30 + (first.month in {1, 10})),
                "rate": 0.7 + first.month / 100,
            }
            for first in quarters
        ),
    ]
    blocks |= {key: others.blocks[key] for key in ("ByYear", "Taxes", "Reported")}
    blocks["ByYear"][0]["filed_inventory"] = 123.45
    blocks["Taxes"].append({"year": 2026, "partner": "Cy", "wages": 100, "rate": 0.1, "paid": 2})
    for place, channel in enumerate(blocks["Channel"][4:], 1):
        gross = {"year": 2026, "channel": channel["name"], "gross": 100.0 * place}
        blocks["Reported"].append(gross)


def _spread_items(inputs: Inputs, draw: random.Random) -> None:
    """Items of every year, channel, category and place."""
    channels = [row["name"] for row in inputs.blocks["Channel"]]
    categories = [row["name"] for row in inputs.blocks["Category"]]
    for number, item in enumerate(inputs.rows["Log"]):
        if str(item["item_no"]).startswith("P0"):
            item |= {"category": categories[number % len(categories)], "condition": "Good"}
            if "lot_no" not in item:
                item["found_at"] = f"Place {number % 14}"
                _earlier(item, 365 * (number % 5))
            if "channel" in item and "fee_charged" not in item:
                item["channel"] = channels[number % len(channels)]
            if item.get("disposition") == "Personal use":
                item["taken_by"] = draw.choice(("Ada", "Bo", "Cy", "Di"))
            if "sold_on" in item:
                estimate = round(item["postage_paid"] + draw.uniform(-1, 1), 2)
                item |= {"expected_postage": estimate, "packed_weight": 1.5, "scale_weight": 1.6}


def _earlier(row: Row, days: int) -> None:
    for key, value in row.items():
        if isinstance(value, dt.date):
            row[key] = max(value - dt.timedelta(days=days), dt.date(2021, 12, 1))


def _spend_and_move(inputs: Inputs, draw: random.Random) -> None:
    """Money of every year and partner, an expense under every heading, trips under every rate."""
    for number, heading in enumerate(inputs.blocks["Heading"]):
        day = dt.date(2022 + number % 5, 1 + number % 11, 3)
        inputs.rows["Expenses"] += [
            {"spent_on": when, "heading": heading["heading"], "amount": draw.randint(100, 900) / 100}
            for when in (day, dt.date(2026, 1 + number % 11, 5))
        ]
    for number, row in enumerate(inputs.rows["Expenses"]):
        row["paid_from"] = ("Business", "Ada", "Bo", "Cy", "Di")[number % 5]
    for year in range(2021, 2027):
        for number, partner in enumerate(("Ada", "Bo", "Cy", "Di")):
            month = 12 if year == 2021 else 2 + number
            inputs.rows["Owner"] += [
                {"moved_on": dt.date(year, month, 9), "partner": partner, "put_in": 10.0 + number},
                {"moved_on": dt.date(year, month, 19), "partner": partner, "took_out": 5.5},
            ]
        inputs.rows["Owner"].append({"moved_on": dt.date(year, 12, 31), "cash_counted": 100.0})
    inputs.rows["Owner"][-1]["moved_on"] = dt.date(2026, 11, 2)
    for month in range(1, 12):
        inputs.rows["Trips"].append(
            {"driven_on": dt.date(2026, month, 8), "purpose": "Buying", "from_place": "Home",
             "to_place": "Town", "miles": 10.5 + month}
        )  # fmt: skip
    for month in range(1, TRIPS_LISTED):
        inputs.rows["Trips"].append({"driven_on": dt.date(2026, month, 18), "miles": 3})


def _come_to_the_edges(inputs: Inputs) -> None:
    """Rows of the very first and last day, and of a day before and after them."""
    first, last = inputs.settings["First_month"], inputs.settings["As_of_date"]
    for day in (first - _DAY, first, last, last + _DAY):
        name = f"{day:%m%d}"
        bought = {"item_no": f"E{name}", "bought_on": day, "paid": 3, "found_at": "Attic"}
        inputs.rows["Log"] += [
            bought,
            bought | {"item_no": f"S{name}", "channel": "Booth", "sold_on": day, "sale_price": 9},
            bought | {"item_no": f"L{name}", "disposition": "Discarded", "disposition_date": day},
        ]
        inputs.rows["Lots"].append({"lot_no": f"L{name}", "bought_on": day, "paid": 4})
        inputs.rows["Expenses"].append({"spent_on": day, "heading": "Other", "amount": 1.25})
        trip = {"driven_on": day, "purpose": "Buying", "to_place": "Town", "miles": 2}
        inputs.rows["Trips"].append(trip)
        thing = {"item": f"Vase {name}", "cost": 2, "sold_on": day, "sale_price": 3}
        inputs.rows["Personal"].append(thing)
        inputs.rows["Owner"].append({"moved_on": day, "partner": "Ada", "put_in": 1})
        sold = {"item": "vase", "kind": "Sold", "price": 7, "seen_on": day}
        inputs.rows["Comps"].append(sold)


_DAY = dt.timedelta(days=1)


def entries_in_other_states() -> Inputs:
    """One quarter; the forms ask for what is not typed, or take it from elsewhere."""
    inputs = full_entries()
    inputs.settings |= {"Fixed_costs": None, "Weekly_limit": None, "Pay_target": 0}
    inputs.rows["Expenses"].append(
        {"spent_on": dt.date(2026, 3, 3), "heading": "Other", "amount": 7, "paid_from": "Bo"}
    )
    shelf = {"comps_of": "P1", "missing_value": 1.5, "postage": 4, "category": "Books"}
    inputs.forms["Shelf"] = shelf | {"channel": "First site", "postage_in": "No"}
    inputs.forms["Desk"] = {"item_no": "P3", "service": "Letter", "asking": 12, "box": "Tube",
                             "item_weight": 0.3, "title": "First"}  # fmt: skip
    return inputs


def entries_to_fix() -> Inputs:
    """Next to nothing, and that is wrong."""
    return Inputs(
        settings={"Fixed_costs": "some", "Weekly_limit": "much", "Tax_reserve": -5},
        forms={"Shelf": {"sold_1": 20, "postage_in": "Perhaps"}},
    )


LOGS: dict[str, tuple[Callable[[], Inputs], int, int]] = {
    "six years": (entries_for_mutants, ROWS, OTHER_ROWS),
    "a quarter": (entries_in_other_states, filled_logs.FEW_ROWS, filled_logs.FEW_ROWS),
    "to fix": (entries_to_fix, filled_logs.FEW_ROWS, filled_logs.FEW_ROWS),
}
"""Entries, and ready rows of the sourcing log and of other sheets."""


@dataclass(frozen=True)
class Log:
    """A filled log of which mutants are made."""

    path: Path
    edition: Edition
    layout: Layout
    figures: LogResults
    values: engine.Recalculated


_folder = tempfile.TemporaryDirectory(prefix="sheetfns-mutants-", ignore_cleanup_errors=True)


@functools.cache
def filled_log(edition: Edition, name: str = "six years") -> Log:
    """A log of which mutants are made; workbook and Python agree on it."""
    path = Path(_folder.name) / f"{edition} {name}.xlsx"
    inputs, rows, other_rows = LOGS[name]
    with mock.patch.object(filled_logs, "FEW_ROWS", other_rows), few_rows():
        build_log(path, edition, rows, inputs())
    content = load_log(path)
    figures = compute_log(content)
    assert compare(figures).differences == []
    values = engine.recalculate(path, messages=False)
    return Log(path, edition, layout_of(content.ready_rows), figures, values)


# ---- changes -------------------------------------------------------------------------------------

_TOKEN = re.compile(
    r"""(?P<string>"(?:[^"]|"")*")
    |(?P<key>\{\w+(?:@-1|@above)?\}(?!\}))
    |(?P<message>\[\w+\])
    |(?P<name>[A-Z]\w*_\w+)(?![\w(])
    |(?P<function>[A-Z][A-Z0-9_.]*\()
    |(?P<number>\d+(?:\.\d+)?)
    |(?P<compared><=|>=|<>|[<>=])
    |(?P<sign>[-+*/])
    |(?P<other>.)""",
    re.DOTALL | re.VERBOSE,
)
_OTHER_SIGN = {"+": "-", "-": "+", "*": "/", "/": "*"}
_OTHER_COMPARISON = {"<": "<=", "<=": "<", ">": ">=", ">=": ">", "=": "<>", "<>": "="}
_IN_WHATEVER_ORDER = {"MAX(", "MIN(", "SUM(", "AND(", "OR(", "COUNT(", "COUNTA(", "MEDIAN("}
_NOTHING = {"0", "1"}
"""Beside such a number a sign may stand for another one with the same result."""


@dataclass(frozen=True)
class Change:
    """One change in the text of a formula."""

    sort: str
    start: int
    end: int
    text: str

    def of(self, formula: str) -> str:
        """The formula with the change."""
        return formula[: self.start] + self.text + formula[self.end :]


def changes_of(formula: str, neighbors: Sequence[str]) -> list[Change]:
    """Every change in a formula; what must give the same result is none of them.

    Args:
        formula: as the layout declares it.
        neighbors: the keys of the formula's sheet, in order.
    """
    tokens = [token for token in _TOKEN.finditer(formula) if token[0].strip()]
    found: list[Change] = []
    for place, token in enumerate(tokens):
        text, sort = token[0], str(token.lastgroup)
        before = tokens[place - 1][0] if place else "("
        after = tokens[place + 1][0] if place + 1 < len(tokens) else ")"
        other: str | None = None
        if sort == "sign" and _is_between(before) and not {before, after} & _NOTHING:
            other = _OTHER_SIGN[text]
        elif sort == "compared":
            other = _OTHER_COMPARISON[text]
        elif sort == "number" and not _only_rounds(tokens, place):
            other = str(float(text) + 1) if "." in text else str(int(text) + 1)
        elif sort == "key":
            other = _neighbor(text, neighbors)
        elif sort == "name":
            other = _other_name(text)
        elif sort == "function" and text not in _IN_WHATEVER_ORDER:
            found += _swapped(formula, tokens, place)
        if other is not None:
            found.append(Change(sort, *token.span(), other))
    return found


def _is_between(before: str) -> bool:
    """Whether a sign stands between two figures, and not before one."""
    return before not in {"(", ",", "&", "=", "<", ">", "<=", ">=", "<>", "+", "-", "*", "/"} and (
        not before.endswith("(")
    )


def _only_rounds(tokens: list[re.Match[str]], place: int) -> bool:
    """Whether a number is how a function looks, rounds or cuts, or the last word for a blank."""
    after = tokens[place + 1][0] if place + 1 < len(tokens) else ""
    before = tokens[place - 1][0] if place else ""
    return after == ")" and before == ","


def _neighbor(text: str, keys: Sequence[str]) -> str | None:
    key, at, offset = text[1:-1].partition("@")
    if key not in keys:  # an edge
        return None
    place = keys.index(key)
    other = keys[place - 1] if place else keys[place + 1]
    return f"{{{other}{at}{offset}}}"


def _other_name(text: str) -> str | None:
    """The name of the column, or cell, that stands before one on its sheet."""
    prefix, _, key = text.partition("_")
    layout = log_layout()
    part: Any
    for part in (*layout.tables, *layout.blocks, *layout.forms):
        keys = [
            one.key
            for one in (part.cells() if isinstance(part, FormSheet) else part.columns)
            if not getattr(one, "watches", False)
        ]
        if part.key == prefix and key in keys and len(keys) > 1:
            place = keys.index(key)
            return f"{prefix}_{keys[place - 1] if place else keys[place + 1]}"
    return None


def _swapped(formula: str, tokens: list[re.Match[str]], place: int) -> Iterator[Change]:
    """The last two arguments of a function the other way round."""
    depth, starts = 0, [tokens[place].end()]
    for token in tokens[place:]:
        depth += token[0].endswith("(") - (token[0] == ")")
        if depth == 1 and token[0] == ",":
            starts.append(token.end())
        if depth == 0:
            starts.append(token.end())
            break
    arguments = [formula[a : b - 1] for a, b in itertools.pairwise(starts)]
    if len(arguments) > 1 and arguments[-1] != arguments[-2]:
        swapped = f"{arguments[-1]},{arguments[-2]}"
        yield Change("order", starts[-3], starts[-1] - 1, swapped)


# ---- mutants -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Mutant:
    """A declared formula with one change."""

    sheet: TableSheet | FormSheet
    key: str
    formula: str
    change: Change

    def __str__(self) -> str:
        change = f"{self.formula[self.change.start : self.change.end]} -> {self.change.text}"
        return f"{self.sheet.name}, {self.key} ({self.change.sort}): {change}"

    def edits(self, layout: Layout, places: AddressMap) -> Iterator[CellEdit]:
        """The cells in which a log of the changed layout differs."""
        text = self.change.of(self.formula)
        if isinstance(self.sheet, FormSheet):
            row, place = places.form_cells[self.sheet.key][self.key]
            formula = places.form_formula(self.sheet, text)
            yield CellEdit(self.sheet.name, row, place + 1, FormulaText(formula))
            return
        template = places.template(self.sheet, text)
        place = self.sheet.position(self.key)
        for row in range(FIRST_ROW, layout.table(self.sheet.key).last_row + 1):
            formula = template.format(row=row, before=row - 1)
            yield CellEdit(self.sheet.name, row, place + 1, FormulaText(formula))


def drawn_mutants(log: Log, number: int, seed: int) -> dict[str, list[Mutant]]:
    """So many mutants of each sheet, by its key."""
    return {
        sheet.key: _of_sheet(sheet, log.edition, number, random.Random(f"{seed} {sheet.key}"))
        for sheet in (*log.layout.tables, *log.layout.forms)
    }


def _of_sheet(sheet: TableSheet | FormSheet, edition: Edition, number: int, draw: random.Random) -> list[Mutant]:
    parts: Any = [one for one in sheet.columns if not one.edge] if isinstance(sheet, TableSheet) else sheet.cells()
    keys = [part.key for part in parts]
    formulas = {part.key: part.formula.formula(edition) for part in parts if part.formula}
    # Cells that differ by numbers alone are drawn as one.
    alike: dict[str, list[str]] = {}
    for key in formulas:
        alike.setdefault(re.sub(r"\d+", "", key), []).append(key)
    mutants: list[Mutant] = []
    while len(mutants) < number:
        key = draw.choice(alike[draw.choice(list(alike))])
        changes = changes_of(formulas[key], keys)
        sorts = sorted({change.sort for change in changes})
        if not sorts:
            continue
        sort = draw.choice(sorts)
        change = draw.choice([one for one in changes if one.sort == sort])
        mutant = Mutant(sheet, key, formulas[key], change)
        if mutant not in mutants:
            mutants.append(mutant)
    return mutants


# ---- who finds them ------------------------------------------------------------------------------


@dataclass(frozen=True)
class Verdict:
    """Who found a mutant, and whether any cell of its sheet shows something else."""

    mutant: Mutant
    by_compare: bool
    by_check: bool
    changed: int


def verdicts(edition: Edition, mutants: dict[str, list[Mutant]]) -> Iterator[Verdict]:
    """What comes of mutants, many in one file.

    Of the sheets in one file none looks at another one, however far, so that what is found on a
    sheet is found of its own mutant. One that its own sheet does not show is tried by itself. One
    without effect on a log is tried on the next one.
    """
    left = mutants
    for name in LOGS:
        log = filled_log(edition, name)
        without_effect: dict[str, list[Mutant]] = {}
        for verdict in _on_one_log(log, left):
            if verdict.changed or name == list(LOGS)[-1]:
                yield verdict
            else:
                mutant = verdict.mutant
                without_effect.setdefault(mutant.sheet.key, []).append(mutant)
        left = without_effect


def _on_one_log(log: Log, mutants: dict[str, list[Mutant]]) -> Iterator[Verdict]:
    for group in _groups(log):
        for number in range(max(len(mutants.get(key, ())) for key in group)):
            together = [mutants[key][number] for key in group if number < len(mutants.get(key, ()))]
            yield from _tried(log, together)


def _tried(log: Log, mutants: list[Mutant]) -> Iterator[Verdict]:
    places = AddressMap(log.layout)
    edits = tuple(edit for mutant in mutants for edit in mutant.edits(log.layout, places))
    path = Path(_folder.name) / "mutant.xlsx"
    try:
        values = changed_log(log.path, edits, path)
        content = load_log(path)
    except (formualizer.ExcelEvaluationError, LogFileError):
        # A formula that looks at itself: nothing is worked out of such a log, or it is not read.
        if len(mutants) > 1:
            for mutant in mutants:
                yield from _tried(log, [mutant])
        else:
            unworked_log(log.path, edits, path)
            yield Verdict(mutants[0], by_compare=True, by_check=bool(_faults(log, path)), changed=1)
        return
    # What was typed is the same, and so is what Python makes of it.
    differences = compare(log.figures, content.shown).differences
    # What sheet Data checks counts is said of the sheet whose rows it counts.
    differing = [one.column.partition(": ")[0] if one.sheet == CHECKS else one.sheet for one in differences]
    # A result that is an error is said by the reader, and keeps a year from being complete.
    before = log.figures.content.problems
    differing += [one.sheet for one in content.problems if one not in before]
    faults = _faults(log, path)
    for mutant in mutants:
        name = mutant.sheet.name
        changed = _changed(log.values.sheets[name], values.sheets[name])
        found = name in differing
        if changed and not found and len(mutants) > 1:
            yield from _tried(log, [mutant])
            continue
        found = found or (len(mutants) == 1 and bool(differing))
        yield Verdict(mutant, found, name in faults, changed)


def _faults(log: Log, path: Path) -> set[str]:
    """The sheets with formulas that are not the log's own."""
    content = replace(log.figures.content, path=path)
    return {fault.sheet for fault in formula_faults(content, log.edition, log.layout)}


def _changed(before: list[list[Any]], after: list[list[Any]]) -> int:
    """In how many cells something else is shown, past the noise of binary sums."""
    return sum(
        not _alike(one, other)
        for cells, others in zip(before, after, strict=True)
        for one, other in zip(cells, others, strict=True)
    )


def _alike(one: Any, other: Any) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= 1e-7
    if isinstance(one, CellError) and isinstance(other, CellError):
        return one.code == other.code
    blank = (None, "")
    return bool(one == other) or (one in blank and other in blank)


def _groups(log: Log) -> list[list[str]]:
    """The sheets in groups in which none looks at another one."""
    sheets = {sheet.key: sheet for sheet in (*log.layout.tables, *log.layout.forms)}
    looks_at = {key: _looks_at(sheet, log.edition) for key, sheet in sheets.items()}
    for _ in sheets:
        for key, others in looks_at.items():
            looks_at[key] = others.union(*(looks_at[other] for other in others))
    groups: list[list[str]] = []
    for key in sorted(sheets, key=lambda key: -len(looks_at[key])):
        for group in groups:
            if not any(key in looks_at[other] or other in looks_at[key] for other in group):
                group.append(key)
                break
        else:
            groups.append([key])
    return groups


def _looks_at(sheet: TableSheet | FormSheet, edition: Edition) -> set[str]:
    parts: Any = [one for one in sheet.columns if not one.edge] if isinstance(sheet, TableSheet) else sheet.cells()
    texts = " ".join(part.formula.formula(edition) for part in parts if part.formula)
    names = set(re.findall(r"\b[A-Z][A-Za-z]+_\w+", texts))
    return {_names()[name] for name in names & set(_names())} - {sheet.key}


@functools.cache
def _names() -> dict[str, str]:
    """The defined names of columns and cells, with the keys of their sheets."""
    layout = log_layout()
    return {
        sheet.defined_name(part.key): sheet.key
        for sheet in (*layout.tables, *layout.forms)
        for part in ([one for one in sheet.columns if not one.edge] if isinstance(sheet, TableSheet) else sheet.cells())
    }


# ---- the table -----------------------------------------------------------------------------------


def table_of(found: Sequence[Verdict]) -> str:
    """Sheet by sheet how many mutants were found by whom."""
    lines = [
        "| sheet | mutants | comparison and check | comparison only | check only | of these without effect |",
        "|---|---|---|---|---|---|",
    ]
    names = list(dict.fromkeys(sheet.name for sheet in (*log_layout().tables, *log_layout().forms)))
    for name in (*names, "all"):
        of_sheet = [one for one in found if name in (one.mutant.sheet.name, "all")]
        counts = (
            len(of_sheet),
            sum(one.by_compare and one.by_check for one in of_sheet),
            sum(one.by_compare and not one.by_check for one in of_sheet),
            sum(one.by_check and not one.by_compare for one in of_sheet),
            sum(not one.changed for one in of_sheet),
        )
        lines.append(f"| {name} | {' | '.join(map(str, counts))} |")
    return "\n".join(lines)


def main() -> None:
    """Print the table, and each mutant that the comparison does not find."""
    number = int(sys.argv[1]) if len(sys.argv) > 1 else PER_SHEET
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else SEED
    for edition in EDITIONS:
        found = list(verdicts(edition, drawn_mutants(filled_log(edition), number, seed)))
        print(f"\n{edition} edition, {number} mutants of each sheet, seed {seed}\n")
        print(table_of(found))
        for one in found:
            if not one.by_compare:
                effect = f"{one.changed} cells differ" if one.changed else "no cell differs"
                print(f"- {one.mutant}; {effect}")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
