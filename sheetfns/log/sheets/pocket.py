"""A pocket copy: Shelf check, Buying plan and Finds, with what they read of a log as values, for a phone.

The formulas are those of the log. What they name and the pocket copy does not calculate stands on its sheet Settings
under the same defined names.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from sheetfns.cell_types import COST, DATE, TEXT
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.sheets import (
    AnyFormula,
    Column,
    FormRow,
    FormSheet,
    Formula,
    Layout,
    Setting,
    SettingsBlock,
    TableSheet,
)
from sheetfns.log.sheets.cautions import layout as cautions
from sheetfns.log.sheets.finds import layout as finds
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import LAYOUT_VERSION, SETTINGS

MADE_FROM, MADE_ON, MARK, KNOWN_BY = "Pocket_made_from", "Pocket_made_on", "Pocket_mark", "Pocket_known_by"
LAYOUT_NUMBER: Final = "Pocket_layout"
SHOP: Final = "Shop_name"
CASH: Final = "Pay_buying_cash"
_CASH: Final = Setting(CASH, "Cash for buying", COST, None, "As sheet Pay of the log has it.")
_UNITS: Final = {"money": "Currency", "weight": "Weight_unit", "length": "Length_unit"}
"""Units that are settings; a sheet names them without a formula of its layout."""
_WORKED_OUT: Final = frozenset({"overwritten"})
"""Columns that only sheet Data checks reads."""
_ROW_CHECK_WIDTH, _FIRST_WIDTH = 9, 14
"""So that two more columns are in sight on a phone, beside those that stay there."""
_NAME: Final = re.compile(r"(?<![\w{])[A-Za-z_]\w*(?![\w(}])")
_TEXT: Final = re.compile(r'"[^"]*"')


class NotInPocketError(LookupError):
    """A formula of a pocket copy names something that stands in the whole log alone."""


@dataclass(frozen=True)
class Needed:
    """What a pocket copy needs of a log.

    Attributes:
        settings: names of single settings.
        blocks: column keys of small tables by the key of the table.
        comparables: columns of sheet Comparables whose results are read.
    """

    settings: tuple[str, ...]
    blocks: dict[str, tuple[str, ...]]
    comparables: tuple[str, ...]


def needed() -> Needed:
    """What the sheets of a pocket copy read of a log.

    Errors:
        NotInPocketError: a formula names what no pocket copy holds.
    """
    whole = log_layout()
    used = set(_names_used())
    settings = [one.name for one in whole.settings if one.name in used | {SHOP}]
    blocks = {block.key: _used_columns(block, used) for block in whole.blocks}
    comparables = _used_columns(whole.table("Comps"), used)
    known = {*settings, CASH, *(one.name for one in cautions.named_ranges())}
    known |= {f"{key}_{column}" for key, columns in blocks.items() for column in columns}
    known |= {f"Comps_{column}" for column in comparables}
    known |= {f"{sheet.key}_{name}" for sheet in _sheets() for name in _own_names(sheet)}
    missing = sorted((used & AddressMap(whole).names.keys()) - known)
    if missing:
        raise NotInPocketError(f"a pocket copy has no {', '.join(missing)}; sheets/pocket.py says what it holds")
    return Needed(tuple(settings), {key: columns for key, columns in blocks.items() if columns}, comparables)


def pocket_layout(rows: dict[str, int], comparables_note: str, plan_note: str) -> Layout:
    """The layout of a pocket copy.

    Args:
        rows: how many rows each small table has, Comps among them, and ready rows of Plan.
        comparables_note: how many of the comparable items are there; blank if all.
        plan_note: what else there is to know of sheet Buying plan; blank if nothing.
    """
    whole, wanted = log_layout(), needed()
    shelf, plan, found = _sheets()
    if comparables_note:
        shelf = replace(shelf, purpose=comparables_note)
    plan = replace(plan, ready_rows=max(plan.ready_rows, rows.get("Plan", 0)))
    plan = replace(plan, purpose=plan_note or "What to buy with the cash on Settings.")
    settings = tuple(_as_value(whole.setting(name)) for name in wanted.settings)
    blocks = [_as_values(whole.block(key), columns, rows.get(key, 0)) for key, columns in wanted.blocks.items()]
    if wanted.comparables:
        blocks.append(_comparables(whole.table("Comps"), wanted.comparables, rows.get("Comps", 0), comparables_note))
    return Layout(
        (*_own_settings(), _CASH, *settings),
        tuple(blocks),
        (plan, found),
        (shelf,),
        (),
        (shelf.key, plan.key, found.key),
        cautions.named_ranges(),
        SETTINGS,
    )


def labels() -> dict[str, str]:
    """The labels by which a pocket copy says where it is from, by the name of the setting."""
    shop = log_layout().setting(SHOP)
    return {one.name: one.label for one in (*_own_settings(), shop)}


# ---- its sheets ------------------------------------------------------------------------------------


def _sheets() -> tuple[FormSheet, TableSheet, TableSheet]:
    whole = log_layout()
    shelf = whole.form("Shelf")
    shelf = replace(shelf, rows=tuple(map(_chosen_from_comparables, shelf.rows)))
    return shelf, _narrow(whole.table("Plan")), finds.sheet()


def _chosen_from_comparables(line: FormRow) -> FormRow:
    """On a phone an item is sooner chosen than typed."""
    cells = tuple(replace(cell, names="Comps_item") if cell.key == "comps_of" else cell for cell in line.cells)
    return replace(line, cells=cells)


def _narrow(table: TableSheet) -> TableSheet:
    """A sheet with rows whose first columns leave room on a phone, with the words of its checks in its formulas."""
    said = {check.key: check.message for check in table.checks}
    first = table.inputs()[0].key
    columns = []
    for column in table.columns:
        if column.key in _WORKED_OUT:
            continue
        if column.key == "findings" and isinstance(column.formula, Formula):
            text = re.sub(r"\[(\w+)\]", lambda mark: f'"{said[mark[1]]}"', column.formula.text)
            column = replace(column, formula=replace(column.formula, text=text))  # noqa: PLW2901
        widths = {"row_check": _ROW_CHECK_WIDTH, first: _FIRST_WIDTH}
        columns.append(replace(column, width=widths.get(column.key, column.width)))
    return replace(table, columns=tuple(columns))


# ---- what they read --------------------------------------------------------------------------------


def _own_settings() -> tuple[Setting, ...]:
    change = "To change what stands below, change it in that log and make a new pocket copy."
    return (
        Setting(MADE_FROM, "Made from the log", TEXT, "", change),
        Setting(MADE_ON, "Made on", DATE, None, ""),
        Setting(MARK, "Mark", TEXT, "", "The item numbers of this pocket copy begin with it."),
        Setting(KNOWN_BY, "Known by", TEXT, "", "By it merge knows the log again."),
        Setting(LAYOUT_NUMBER, LAYOUT_VERSION, TEXT, "", ""),
    )


def _as_value(setting: Setting) -> Setting:
    """A setting as a value, in one list; one that is a number by itself stays a formula."""
    setting = replace(setting, section="", leads_to="")
    return replace(setting, formula="", default=None) if _names_in(setting.formula) else setting


def _as_values(block: SettingsBlock, keys: tuple[str, ...], rows: int) -> SettingsBlock:
    columns = tuple(_value_column(block.column(key)) for key in keys)
    title = block.title.partition(" (")[0]
    return SettingsBlock(block.key, title, "", columns, max(1, rows))


def _comparables(table: TableSheet, keys: tuple[str, ...], rows: int, note: str) -> SettingsBlock:
    columns = [_value_column(table.column(key)) for key in keys]
    if columns[-1].kind is TEXT:
        columns[-1] = replace(columns[-1], runs_over=True)
    return SettingsBlock("Comps", table.name, note or "What items like yours sold for.", tuple(columns), max(1, rows))


def _value_column(column: Column) -> Column:
    return replace(column, formula=None, names="", choices=(), working=False, group="", runs_over=False)


def _names_used() -> Iterator[str]:
    """Every name that a formula, a list to choose from or a unit of the pocket copy's sheets reads."""
    for sheet in _sheets():
        parts = sheet.columns if isinstance(sheet, TableSheet) else sheet.cells()
        for part in parts:
            yield from _names_of(part.formula)
            if part.names:
                yield part.names
    yield from _UNITS.values()


def _names_of(formula: AnyFormula | None) -> Iterable[str]:
    return () if formula is None else _names_in(formula.formula("plain"))


def _names_in(text: str) -> list[str]:
    return [*_NAME.findall(_TEXT.sub('""', text))]


def _used_columns(part: SettingsBlock | TableSheet, used: set[str]) -> tuple[str, ...]:
    return tuple(column.key for column in part.columns if part.defined_name(column.key) in used)


def _own_names(sheet: FormSheet | TableSheet) -> list[str]:
    cells = sheet.columns if isinstance(sheet, TableSheet) else sheet.cells()
    return ["all", *(cell.key for cell in cells)]
