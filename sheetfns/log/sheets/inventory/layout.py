"""Sheet Inventory: what is on hand, how old it is, and what it earns."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COUNT, DATE, DAYS, DURATION, FACTOR, MONEY, RATIO, TEXT
from sheetfns.log.model.sheets import EditionFormula, FormCell, FormRow, FormSheet, Formula, FunctionCall
from sheetfns.log.sheets.columns import inventory_before, rows_of
from sheetfns.log.sheets.form_rows import answer, cell, field, heading, in_functions_only, result, words, working
from sheetfns.log.sheets.stale_inventory.layout import STALE_ROWS
from sheetfns.log.sheets.words import AGE_ROWS, CATEGORY_ROWS, DISCARDED, INVENTORY

PLACE_ROWS: Final = 12
FEWEST_SALES: Final = 10
"""Fewer sales say too little about times to sell. Rule of this log, no source."""

_AGES: Final = range(1, AGE_ROWS + 1)
_REST: Final = CATEGORY_ROWS + 1
_ALL: Final = CATEGORY_ROWS + 2
_CATEGORIES: Final = range(1, _ALL + 1)
_PLACES: Final = range(1, PLACE_ROWS + 1)

_DAY_AFTER: Final = "INT(Figures_until)+1"
_ON_HAND: Final = "Log_on_hand,1"
_LISTED: Final = f"{_ON_HAND},Log_stage,2"
_STALE: Final = 'Log_stale_key,">0"'
_LOTS: Final = f'Lots_bought_on,"<"&{_DAY_AFTER}'
_THROWN_AWAY: Final = f',Log_disposition,"{DISCARDED}"'
_NO_TURN: Final = '{turn_note}<>""'
_SHORT: Final = "{history_short}=1"
_HISTORY: Final = {"days": rows_of("Log_history_days"), "sold_flags": rows_of("Log_kept")}
_INVENTORIES: Final = {"opening": "MAX(0,{inventory_then})", "closing": "MAX(0,{inventory_now})"}
_IN_A_YEAR: Final = "{}*{year_days}/{days_counted}"
_HEADERS: Final = ("on hand", "at cost, money", "sold", "profit, money", "profit per 1", "per 1 a month")


def _in_days(amount: str, day: str, also: str = "") -> str:
    """A sum over the days that are counted."""
    return f'SUMIFS({amount},{day},">="&Pay_first_day,{day},"<"&{_DAY_AFTER}{also})'


def _cost(name: str, condition: str) -> FormCell:
    return cell(f"{name}_cost", MONEY, f"ROUND(SUMIFS(Log_cost_on_hand,{condition}),2)")


def _count(name: str, condition: str) -> FormCell:
    return cell(f"{name}_count", COUNT, f"COUNTIFS({condition})")


# Tables: key, label, type, formula, unit; rows with several cells and words have their own order.
# fmt: off
_NOW: Final[tuple[FormRow, ...]] = (
    heading("On hand now", "at cost, money", "how many", "asked, money"),
    FormRow("Listed items", (
        _cost("listed", _LISTED), _count("listed", _LISTED),
        cell("listed_asked", MONEY, f"ROUND(SUMIFS(Log_asking_price,{_LISTED}),2)"))),
    FormRow("Items not listed yet", (
        cell("unlisted_cost", MONEY, "ROUND({items_cost}-{listed_cost},2)"),
        cell("unlisted_count", COUNT, "{items_count}-{listed_count}"))),
    FormRow("All items", (_cost("items", _ON_HAND), _count("items", _ON_HAND))),
    FormRow("Lots not split yet", (
        cell("lots_cost", MONEY, f"ROUND(SUMIFS(Lots_not_shared,{_LOTS}),2)"),
        cell("lots_count", COUNT, f'COUNTIFS(Lots_not_shared,">0",{_LOTS})'))),
    result("inventory_now", "Inventory at cost in all", MONEY, "ROUND({items_cost}+{lots_cost},2)"),
    result("inventory_on_money", "Inventory per sheet Money", MONEY,
           "INDEX(Money_closing_inventory,COUNT(Money_month))", blank_if="COUNT(Money_month)=0"),
    result("inventory_tie", "Difference: 0.00 if all ties", MONEY,
           "ROUND({inventory_now}-{inventory_on_money},2)", blank_if='{inventory_on_money}=""'),
    FormRow("Waiting too long", (_cost("stale", _STALE), _count("stale", _STALE))),
    field("Settings (Stale after) says how many days are too long. Sheet Stale inventory lists "
          f"the first {STALE_ROWS} of those items."),
)
_TURNING: Final[tuple[FormRow, ...]] = (
    heading("How fast it turns"),
    result("first_day", "Counted from", DATE, "Pay_first_day", "to As of"),
    result("days_counted", "Days counted", DAYS, "Pay_days_counted"),
    result("inventory_then", "Inventory at cost then", MONEY, f"ROUND({inventory_before('Pay_first_day')},2)"),
    result("cost_of_sold", "Cost of sold, discarded", MONEY,
           f"ROUND({_in_days('Log_landed_cost', 'Log_sold_on')}-{_in_days('Log_landed_cost', 'Log_returned_on')}"
           f"+{_in_days('Log_landed_cost', 'Log_disposition_date', _THROWN_AWAY)},2)"),
    result("gross_margin", "Gross margin", MONEY,
           f"ROUND({_in_days('Log_income', 'Log_sold_on')}-{_in_days('Log_refund', 'Log_refund_day')}"
           "-{cost_of_sold},2)"),
    result("turns", "Inventory turnover in a year", FACTOR, FunctionCall(
        "INVENTORY_TURNOVER", {"cost_of_goods_sold": "{cost_of_sold}", **_INVENTORIES}, _NO_TURN, _IN_A_YEAR)),
    result("lasts", "Inventory lasts at this pace", DURATION, FunctionCall("DAYS_ON_HAND", {
        "inventory": _INVENTORIES["closing"], "cost_of_goods_sold": "{cost_of_sold}", "days": "{days_counted}",
    }, _NO_TURN)),
    result("earns", "Gross margin return", FACTOR, FunctionCall(
        "GROSS_MARGIN_RETURN", {"gross_margin": "{gross_margin}", **_INVENTORIES}, _NO_TURN, _IN_A_YEAR), "in a year"),
    result("sold_count", "Items sold and kept", COUNT,
           f'COUNTIFS(Log_kept,1,Log_sold_on,">="&Pay_first_day,Log_sold_on,"<"&{_DAY_AFTER})'),
    result("sell_through", "Sell-through", RATIO, FunctionCall(
        "SELL_THROUGH", {"sold": "{sold_count}", "offered": "({sold_count}+{listed_count})"},
        "{sold_count}+{listed_count}=0"), "of sold and listed now"),
    words("turn_note", 'IF({first_day}>Figures_until,"As of is before the first month: see Settings.",'
          'IF({cost_of_sold}<=0,IF({cost_of_sold}<0,"More came back than was sold in these days.",'
          '"Nothing that cost money was sold in these days."),'
          'IF({inventory_then}+{inventory_now}<=0,"There is no inventory at cost.","")))'),
)
_TIME: Final[tuple[FormRow, ...]] = (
    heading("Time to sell"),
    result("history_sales", "Sales it is based on", COUNT, 'COUNTIFS(Log_kept,1,Log_history_days,">=0")'),
    result("median_days", "Half of all sell within", DURATION, in_functions_only(FunctionCall(
        "MEDIAN_DAYS_TO_SELL", _HISTORY, f"OR({_SHORT},ROUND(2*SUM({{sold_in_the_end}})-1,9)<0)")),
        "days from purchase"),
    words("time_note", EditionFormula(
        Formula('"Time and chances to sell need the functions edition."'),
        Formula(f'IF({_SHORT},"History too short: fewer than {FEWEST_SALES} sales that were kept.",'
                'IF({median_days}="","Over half are not sold yet, not even those held longest.",'
                '"Items not sold yet are included."))'))),
)
# fmt: on


# ---- age classes: a row for each of those on Settings ---------------------------------------------


def _of_class(i: int, call: str) -> str:
    """A call over the items of an age class, less those that are older."""
    older = f'IF({{until_{i}}}="",0,{call},Log_days_held,">"&{{until_{i}}}))'
    return f'{call},Log_days_held,">="&{{from_{i}}})-{older}'


def _age(i: int) -> FormRow:
    none = f'{{from_{i}}}=""'
    label = (
        f'IF({{until_{i}}}<>"",{{from_{i}}}&" to "&{{until_{i}}}&" days",'
        f'IF({{from_{i}}}=0,"any age","over "&{{from_{i}}}-1&" days"))'
    )
    unknown = f'OR({_SHORT},{{until_{i}}}="",AND(SUM({{until_{i}}})>{{longest}},SUM({{sold_in_the_end}})<1))'
    chance = FunctionCall("SOLD_BY_CHANCE", {**_HISTORY, "horizon": f"{{until_{i}}}"}, unknown)
    no_share = f'OR({{cost_{i}}}="",{{items_cost}}<=0)'
    cells = (
        cell(f"label_{i}", TEXT, label, none),
        cell(f"items_{i}", COUNT, _of_class(i, f"COUNTIFS({_ON_HAND}"), none),
        cell(f"cost_{i}", MONEY, f"ROUND({_of_class(i, f'SUMIFS(Log_cost_on_hand,{_ON_HAND}')},2)", none),
        cell(f"share_{i}", RATIO, f"{{cost_{i}}}/{{items_cost}}", no_share),
        cell(f"chance_{i}", RATIO, in_functions_only(chance)),
    )
    return FormRow(cells=cells, heads_row=True)


def _ages() -> tuple[FormRow, ...]:
    return (
        heading("By age", "how many", "at cost, money", "share of cost", "chance to sell"),
        *(_age(i) for i in _AGES),
        field(
            "Age: days since an item was bought. Chance to sell: how likely an item is to sell before it gets older "
            "than its class; blank if no item was held that long yet."
        ),
    )


def _age_steps(i: int) -> FormRow:
    listed = f"INDEX(Age_from_day,{{age_no_{i}}})"
    following = f"{{from_{i + 1}}}"
    until = f'IF({following}="","",{following}-1)'
    if i == AGE_ROWS:
        ends = cell(f"until_{i}", DAYS, '""', step=True)
    else:
        ends = cell(f"until_{i}", DAYS, until, f'{{from_{i}}}=""', step=True)
    begins = cell(f"from_{i}", DAYS, listed, f'{listed}=""', step=True)
    return FormRow(f"Age class {i}", (_count_on("age_no", i), begins, ends))


# ---- categories and places: a row for each group of items ----------------------------------------


def _sums(condition: str = "") -> dict[str, str]:
    """The figures of the items that a condition holds for; of all without one."""
    also = f",{condition}" if condition else ""
    return {
        "on_hand": f"COUNTIFS({_ON_HAND}{also})",
        "cost_now": f"SUMIFS(Log_cost_on_hand,{_ON_HAND}{also})",
        "sold": f"COUNTIFS(Log_kept,1{also})",
        "profit": f"SUMIFS(Log_history_profit{also})" if also else "SUM(Log_history_profit)",
        "cost_over": f"SUMIFS(Log_history_cost,Log_history_over,1{also})",
        "cost_days": f"SUMIFS(Log_cost_days{also})" if also else "SUM(Log_cost_days)",
    }


def _of_category(i: int) -> dict[str, str]:
    """The figures of a category; of the items in none of them; of all."""
    if i == _REST:
        return {
            figure: f"{whole}-SUM({{category_{figure}_1}}:{{category_{figure}_{CATEGORY_ROWS}}})"
            for figure, whole in _sums().items()
        }
    return _sums() if i == _ALL else _sums(f'Log_category,"="&{{category_word_{i}}}')


def _category_name(i: int) -> Formula:
    if i >= _REST:
        return Formula('"Other or blank"' if i == _REST else '"Total"')
    return Formula(f'INDEX(Category_name,{{category_no_{i}}})&""', f"{{category_first_{i}}}<>{{category_no_{i}}}")


def _no_category(i: int) -> str:
    return "" if i >= _REST else f'{{category_name_{i}}}=""'


def _of_place(i: int) -> dict[str, str]:
    return _sums(f"Log_place_row,{{place_row_{i}}}")


def _no_place(i: int) -> str:
    return f'{{place_row_{i}}}=""'


def _group_row(group: str, i: int, name: Formula, sums: dict[str, str], none: str) -> FormRow:
    """A category or place: what is on hand, and what the whole log says of its earnings."""
    profit, over, days = (f"{{{group}_{key}_{i}}}" for key in ("profit", "cost_over", "cost_days"))
    cells = (
        cell(f"{group}_name_{i}", TEXT, name),
        cell(f"{group}_on_hand_{i}", COUNT, sums["on_hand"], none),
        cell(f"{group}_cost_now_{i}", MONEY, f"ROUND({sums['cost_now']},2)", none),
        cell(f"{group}_sold_{i}", COUNT, sums["sold"], none),
        cell(f"{group}_profit_{i}", MONEY, f"ROUND({sums['profit']},2)", none),
        cell(f"{group}_return_{i}", FACTOR, f"{profit}/{over}", f"SUM({over})<=0"),
        cell(f"{group}_monthly_{i}", FACTOR, f"{profit}/{days}*Month_days", f"SUM({days})<=0"),
    )
    return FormRow(cells=cells, heads_row=True)


def _groups() -> tuple[FormRow, ...]:
    more = f"(COUNT(Log_place_key)-{{place_no_{PLACE_ROWS}}})"
    places = [Formula(f'INDEX(Log_place,{{place_row_{i}}})&""', _no_place(i)) for i in _PLACES]
    return (
        heading("By category", *_HEADERS),
        *(_group_row("category", i, _category_name(i), _of_category(i), _no_category(i)) for i in _CATEGORIES),
        heading("By place", *_HEADERS),
        *(_group_row("place", i, name, _of_place(i), _no_place(i)) for i, name in enumerate(places, 1)),
        words("more_places", f'IF({more}>0,"Not shown: places that earned no more; "&{more}&" of them.","")'),
        field(
            "Places where items or their lots were found, best earner for the money first. Both tables: on hand now; "
            "sold (and kept) and net profit since the log began; a discarded item is a loss of its cost. Profit per 1: "
            "net profit for each 1 of "
            "cost of those items. Per 1 a month: net profit for each 1 of money and month that it was tied up, unsold "
            "items included.",
            lines=4,
        ),
    )


def _count_on(key: str, i: int) -> FormCell:
    """1, 2, 3 ... down the rows."""
    return cell(f"{key}_{i}", COUNT, "1" if i == 1 else f"{{{key}_{i - 1}}}+1", step=True)


def _sum_steps(group: str, i: int, sums: dict[str, str], none: str) -> tuple[FormCell, ...]:
    keys = ("cost_over", "cost_days")
    return tuple(cell(f"{group}_{key}_{i}", MONEY, f"ROUND({sums[key]},2)", none, step=True) for key in keys)


def _category_steps(i: int) -> FormRow:
    sums = _sum_steps("category", i, _of_category(i), _no_category(i))
    if i >= _REST:
        return FormRow("Other categories" if i == _REST else "All categories", sums)
    listed, word = f"INDEX(Category_name,{{category_no_{i}}})", f"{{category_word_{i}}}"
    literal = listed
    # A star or question mark in a word stands for itself.
    for sign in "~*?":
        literal = f'SUBSTITUTE({literal},"{sign}","~{sign}")'
    first = f"IFERROR(MATCH({word},Category_name,0),{{category_no_{i}}})"
    steps = (
        _count_on("category_no", i),
        cell(f"category_word_{i}", TEXT, literal, f'{listed}=""', step=True),
        cell(f"category_first_{i}", COUNT, first, f'{word}=""', step=True),
    )
    return FormRow(f"Category {i}", (*sums, *steps))


def _place_steps(i: int) -> FormRow:
    number = f"{{place_no_{i}}}"
    row = f"MATCH(LARGE(Log_place_key,{number}),Log_place_key,0)"
    sums = _sum_steps("place", i, _of_place(i), _no_place(i))
    row_cell = cell(f"place_row_{i}", COUNT, row, f"{number}>COUNT(Log_place_key)", step=True)
    return FormRow(f"Place {i}", (*sums, _count_on("place_no", i), row_cell))


# fmt: off
def _workings() -> tuple[FormRow, ...]:
    return (
        heading("Calculations (don't edit)"),
        working("year_days", "Days per year", DURATION, "Month_days*12"),
        working("history_short", "History too short", COUNT, f"({{history_sales}}<{FEWEST_SALES})*1", "1 = yes"),
        working("longest", "Longest held", DAYS, "MAX(0,Log_history_days)"),
        working("sold_in_the_end", "Sold by then", RATIO, in_functions_only(
            FunctionCall("SOLD_BY_CHANCE", {**_HISTORY, "horizon": "{longest}"}, _SHORT))),
        *(_age_steps(i) for i in _AGES),
        *(_category_steps(i) for i in _CATEGORIES),
        *(_place_steps(i) for i in _PLACES),
    )
# fmt: on


_ANSWER: Final = answer(
    'FIXED({inventory_now},2)&" at cost in "&{items_count}&IF({items_count}=1," item"," items")', since=10
)


def form() -> FormSheet:
    """Sheet Inventory: seven columns, the width of a letter page."""
    rows = (_ANSWER, *_NOW, *_TURNING, *_TIME, *_ages(), *_groups(), *_workings())
    purpose = "What is on hand, how old it is, and what it earns."
    return FormSheet(INVENTORY, "Inventory", purpose, rows, (26, 13, 14, 13, 13, 13, 13), 4)
