"""Columns and formulas that several sheets of the log are made of."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

from sheetfns.cell_types import COST, COUNT, MONEY, RATE, TEXT, CellType
from sheetfns.log.model.sheets import (
    LEFT_EDGE,
    MIDDLE_EDGE,
    RIGHT_EDGE,
    AnyFormula,
    Column,
    Formula,
    FunctionCall,
    RowCheck,
)
from sheetfns.log.sheets.words import NO_ENTRY, ROW_ONE

DOWN_TO_THE_CENT: Final = "INT(ROUND(100*{},6))/100"
UP_TO_THE_CENT: Final = "-INT(-ROUND(100*{},6))/100"
"""Around a function's result; past the noise of dividing."""
_UNITS: Final = {"text": "text", "date": "date"}


def as_formula(formula: AnyFormula | str, blank_if: str) -> AnyFormula:
    """A formula from its text; one that is a formula already stays as it is."""
    return Formula(formula, blank_if) if isinstance(formula, str) else formula


def entry(key: str, header: str, kind: CellType, width: float, help_text: str, **rest: Any) -> Column:
    """A column that the seller fills in."""
    unit = rest.pop("unit", _UNITS.get(kind.holds, kind.unit))
    return Column(key, header, kind, help_text, width, unit=unit, **rest)


def result(
    key: str,
    header: str,
    kind: CellType,
    width: float,
    formula: AnyFormula | str,
    help_text: str,
    *,
    blank_if: str = "",
    **rest: Any,
) -> Column:
    """A column that the workbook works out and the seller reads."""
    unit = rest.pop("unit", _UNITS.get(kind.holds, kind.unit))
    return Column(key, header, kind, help_text, width, formula=as_formula(formula, blank_if), unit=unit, **rest)


def step(
    key: str,
    header: str,
    kind: CellType,
    formula: AnyFormula | str,
    help_text: str,
    *,
    blank_if: str = "",
    not_compared: str = "",
    watches: bool = False,
) -> Column:
    """A column on the way to a result, among the workings."""
    made = as_formula(formula, blank_if)
    return working_column(key, header, kind, made, help_text, not_compared=not_compared, watches=watches)


def call(function: str, *, blank_if: str = "", around: str = "{}", **arguments: str) -> FunctionCall:
    """A function of the row's cells.

    Args:
        function: its name.
        blank_if: when the cell stays blank.
        around: a formula around the call.
        arguments: for each argument the key of a column, or a formula; a defined name, with its capital, is one.
    """
    keys = {name for name, cell in arguments.items() if cell.isidentifier() and cell.islower()}
    cells = {name: f"{{{cell}}}" if name in keys else cell for name, cell in arguments.items()}
    return FunctionCall(function, cells, blank_if, around)


def text_column(key: str, header: str, help_text: str, width: float = 14, **rest: Any) -> Column:
    """A column of words."""
    return Column(key, header, TEXT, help_text, width, unit="text", **rest)


def working_column(key: str, header: str, kind: CellType, formula: AnyFormula, help_text: str, **rest: Any) -> Column:
    """A step on the way to a result."""
    unit = {"Money": "money", "Cost": "money", "Date": "date", "Text": "text", "Rate": "%"}
    return Column(
        key,
        header,
        kind,
        help_text,
        11.5,
        group="Calculations (don't edit)",
        formula=formula,
        working=True,
        unit=unit.get(kind.name, "number"),
        **rest,
    )


def text_among_numbers(spans: tuple[tuple[str, str], ...]) -> str:
    """True where cells meant for numbers and dates hold something else."""
    cells = ",".join(f"{{{first}}}:{{{last}}}" for first, last in spans)
    return f"COUNTA({cells})>COUNT({cells})"


def below_zero(spans: tuple[tuple[str, str], ...]) -> str:
    """True where one of the cells is below 0."""
    return f"MIN({','.join(f'{{{first}}}:{{{last}}}' for first, last in spans)})<0"


def _findings(checks: tuple[RowCheck, ...]) -> Formula:
    """Every message whose check fails, one after the other; the words stand on sheet Data checks."""
    return Formula("&".join(f'IF({check.formula},"; "&[{check.key}],"")' for check in checks))


def findings_column(checks: tuple[RowCheck, ...]) -> Column:
    """The working column with all that is wrong with a row."""
    return working_column("findings", "Findings", TEXT, _findings(checks), "What is wrong with the row.")


def row_check_column(key: str) -> Column:
    """The result column that says what to fix, or ok."""
    return text_column(
        "row_check",
        "Row check",
        "What to fix in this row; ok if nothing.",
        26,
        formula=Formula(f'IF({{findings}}="",IF({{{key}}}="","","ok"),MID({{findings}},3,300))'),
    )


def owner_paid_column(amount: str, blank_if: str = "") -> Column:
    """The part of an amount that a partner paid from their own pocket."""
    return working_column(
        "owner_paid",
        "Owner paid",
        MONEY,
        Formula(f'IF({{paid_from}}="",0,IF(COUNTIF(Partner_name,{{paid_from}})=0,0,{amount}))', blank_if),
        "Part that a partner paid from their own pocket.",
    )


def grouped(group: str, columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """The same columns under a group heading."""
    return tuple(replace(column, group=group) for column in columns)


def _edge(key: str, mark: str) -> Column:
    help_text = "The edge of what you enter; it stays as it is."
    return Column(
        key,
        mark,
        TEXT,
        help_text,
        1.7,
        formula=Formula(f'"{mark}"'),
        working=True,
        edge=True,
        watches=True,
        not_compared="it shows a mark alone",
    )


def around_entries(
    before: tuple[Column, ...], entries: tuple[Column, ...], after: tuple[Column, ...], *, parted_at: str = ""
) -> tuple[Column, ...]:
    """The columns of a sheet that the seller fills in.

    Args:
        before: results that are in sight while the seller enters.
        entries: the columns to fill in, with nothing else among them.
        after: results, then workings.
        parted_at: the entry before which a third edge stands, so that a change on one side of it leaves the formulas
            of the other side alone.
    """
    edges = [_edge(LEFT_EDGE, "["), *([_edge(MIDDLE_EDGE, "|")] if parted_at else []), _edge(RIGHT_EDGE, "]")]
    marks = ",".join(f"{{{edge.key}}}" for edge in edges)
    entered = working_column(
        "entered",
        "Entries",
        COUNT,
        Formula(f"COUNTA({{{LEFT_EDGE}}}:{{{RIGHT_EDGE}}})-COUNTA({marks})"),
        "How many entries the formulas of the row see.",
        not_compared="it tells whether the row has its formulas",
        watches=True,
    )
    left, right = before, (*after, entered)
    spans = [f"{{{part[0].key}}}:{{{part[-1].key}}}" for part in (left, right)]
    formulas = "-".join(f"SUMPRODUCT({_IS_FORMULA}({span})*1)" for span in spans)
    overwritten = working_column(
        "overwritten",
        "Overwritten",
        COUNT,
        # A program that knows the function of one cell alone tells nothing, instead of too much.
        Formula(f"IFERROR(IF({_IS_FORMULA}({{entered}}),MAX(0,{len(left) + len(right)}-{formulas}),0),0)"),
        "How many formulas of the row were overwritten.",
        not_compared="Python compares the formulas themselves",
        watches=True,
    )
    middle = [column.key for column in entries].index(parted_at) if parted_at else 0
    between = (edges[0], *entries[:middle], *edges[1:-1], *entries[middle:], edges[-1])
    return (*left, *between, *right, overwritten)


def rows_of(name: str) -> str:
    """The cells of a column of entries without its header and the closing row, for a function that takes them whole."""
    return f"INDEX({name},2):INDEX({name},ROWS({name})-1)"


_IS_FORMULA: Final = "_xlfn.ISFORMULA"
CASH_IN: Final = (
    ("Log_income", "Log_sold_on"),
    ("Owner_put_in", "Owner_moved_on"),
    ("Log_owner_paid", "Log_inventory_date"),
    ("Lots_owner_paid", "Lots_bought_on"),
    ("Expenses_owner_paid", "Expenses_spent_on"),
)
CASH_OUT: Final = (
    ("Log_refund", "Log_refund_day"),
    ("Log_fee", "Log_sold_on"),
    ("Log_postage_used", "Log_sold_on"),
    ("Log_packaging_used", "Log_sold_on"),
    ("Log_outlay", "Log_inventory_date"),
    ("Lots_total", "Lots_bought_on"),
    ("Expenses_amount", "Expenses_spent_on"),
    ("Owner_took_out", "Owner_moved_on"),
)


def cash_until(end: str, flows: tuple[tuple[str, str], ...]) -> Formula:
    """What came in, or went out, since the first month and before a day."""
    return Formula("+".join(f'SUMIFS({amount},{day},">="&Figures_from,{day},"<"&{end})' for amount, day in flows))


def before(amount: str, day: str, end: str) -> str:
    """A sum over the rows dated before a day."""
    return f'SUMIFS({amount},{day},"<"&{end})'


def inventory_before(end: str) -> str:
    """Inventory at cost at the start of a day, from the items themselves and lots not shared out."""
    landed = "Log_landed_cost"
    return (
        f"{before(landed, 'Log_inventory_date', end)}-{before(landed, 'Log_sold_on', end)}"
        f"+{before(landed, 'Log_returned_on', end)}-{before(landed, 'Log_disposition_date', end)}"
        f"+{before('Lots_not_shared', 'Lots_bought_on', end)}"
    )


def own_cell(name: str) -> str:
    """The cell of a named column in the row of the formula.

    Unlike the entries between two edges it is changed by that column alone, but then in every row.
    """
    return f"INDEX({name},ROW()-{ROW_ONE})"


def found_in(names: str, key: str) -> Formula:
    """The place of a row's word in a list; blank if it is not there."""
    return Formula(f'IF({{{key}}}="","",IFERROR(MATCH({{{key}}},{names},0),""))')


@dataclass(frozen=True)
class FeeTerm:
    """One of a channel's fee terms; some have no default, and blank means that there is none."""

    key: str
    header: str
    kind: CellType
    blank_means_none: bool = False


FEE_TERMS: Final = (
    FeeTerm("rate", "Fee rate", RATE),
    FeeTerm("per_order", "Per order", COST),
    FeeTerm("tax_rate", "Tax in base", RATE),
    FeeTerm("band_limit", "Band limit", COST, blank_means_none=True),
    FeeTerm("rate_above", "Rate above", RATE, blank_means_none=True),
    FeeTerm("minimum", "Minimum fee", COST),
    FeeTerm("maximum", "Maximum fee", COST, blank_means_none=True),
    FeeTerm("ad_rate", "Ad fee rate", RATE),
)


def channel_term(term: FeeTerm) -> Formula:
    """A term of the channel in {channel_row}."""
    cell = f"INDEX(Channel_{term.key},{{channel_row}})"
    text = f'IF({cell}="","",{cell})' if term.blank_means_none else f"{cell}+0"
    return Formula(text, blank_if='{channel_row}=""')


def fee_terms() -> dict[str, str]:
    """The terms as arguments of the functions that take a fee into account."""
    return {term.key: f"{{fee_{term.key}}}" for term in FEE_TERMS}


def channel_or_default(channel: str) -> str:
    """A channel that is chosen; if none is, the default one of Settings or the first."""
    return f'IF({channel}="",IF(Default_channel="",INDEX(Channel_name,1)&"",Default_channel),{channel}&"")'


def channel_columns(channel: str = "channel") -> tuple[Column, ...]:
    """The channel of a row among those on Settings, and its terms; `channel` is the column that names it."""
    return (
        working_column(
            "channel_row", "Channel row", COUNT, found_in("Channel_name", channel), "Its row in the table of channels."
        ),
        *(
            working_column(
                f"fee_{term.key}",
                term.header,
                term.kind,
                channel_term(term),
                "From the channel's terms" + ("; blank if it has none." if term.blank_means_none else "."),
            )
            for term in FEE_TERMS
        ),
    )


def topic_of(category: str) -> str:
    """The entry of sheet Cautions for a category: the one named on Settings, or its own name."""
    word = f"TRIM({category})"
    named = f'IFERROR(INDEX(Category_caution,MATCH({word},Category_name,0))&"","")'
    return f'IF({named}="",{word},{named})'


def caution_of(column: str, topic: str) -> Formula:
    """What sheet Cautions says of a topic, found by any of its words."""
    entry = f"INDEX(Caution_entry,MATCH({topic},Caution_word,0))"
    return Formula(
        f'IFERROR(INDEX(Caution_{column},MATCH({entry},Caution_category,0)),"{NO_ENTRY}")', blank_if=f'{topic}=""'
    )
