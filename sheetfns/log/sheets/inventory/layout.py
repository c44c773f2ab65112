"""Sheet Stock: what is on hand, how old it is, and what it earns."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COUNT, DATE, DAYS, DURATION, FACTOR, MONEY, RATIO, TEXT, CellType
from sheetfns.log.model.sheets import AnyFormula, EditionFormula, FormCell, FormRow, FormSheet, Formula, FunctionCall
from sheetfns.log.sheets.columns import stock_before
from sheetfns.log.sheets.form_rows import field, heading, result, words, working
from sheetfns.log.sheets.stale_inventory.layout import STALE_ROWS
from sheetfns.log.sheets.words import AGE_ROWS, CATEGORY_ROWS, DISCARDED, STOCK

PLACE_ROWS: Final = 12
FEWEST_SALES: Final = 10
"""Fewer sales say too little about times to sell. Rule of this log, no source."""

_AGES: Final = range(1, AGE_ROWS + 1)
_CATEGORIES: Final = range(1, CATEGORY_ROWS + 1)
_REST: Final = CATEGORY_ROWS + 1
_ALL: Final = CATEGORY_ROWS + 2
_PLACES: Final = range(1, PLACE_ROWS + 1)

_DAY_AFTER: Final = "INT(As_of_date)+1"
_ON_HAND: Final = "Log_on_hand,1"
_LISTED: Final = f"{_ON_HAND},Log_stage,2"
_FIGURES: Final = ("on_hand", "cost_now", "sold", "profit", "cost_over", "cost_days")
"""What is added up for each category and each place."""


def _cell(key: str, kind: CellType, formula: AnyFormula, cell_format: str = "") -> FormCell:
    return FormCell(key, kind, formula=formula, cell_format=cell_format)


def _step(key: str, kind: CellType, formula: AnyFormula) -> FormCell:
    return FormCell(key, kind, formula=formula, working=True)


def _in_days(amount: str, day: str, also: str = "") -> str:
    """A sum over the days that are counted."""
    return f'SUMIFS({amount},{day},">="&Pay_first_day,{day},"<"&{_DAY_AFTER}{also})'


# ---- on hand ---------------------------------------------------------------------------------


def _on_hand() -> tuple[FormRow, ...]:
    def both(name: str, label: str, condition: str, *more: FormCell) -> FormRow:
        return FormRow(
            label,
            (
                _cell(f"{name}_cost", MONEY, Formula(f"ROUND(SUMIFS(Log_cost_on_hand,{condition}),2)")),
                _cell(f"{name}_count", COUNT, Formula(f"COUNTIFS({condition})")),
                *more,
            ),
        )

    lots = f'Lots_bought_on,"<"&{_DAY_AFTER}'
    asked = Formula(f"ROUND(SUMIFS(Log_asking_price,{_LISTED}),2)")
    return (
        heading("On hand now", "at cost, money", "how many", "asked, money"),
        both("listed", "Listed pieces", _LISTED, _cell("listed_asked", MONEY, asked)),
        FormRow(
            "Pieces not listed yet",
            (
                _cell("unlisted_cost", MONEY, Formula("ROUND({pieces_cost}-{listed_cost},2)")),
                _cell("unlisted_count", COUNT, Formula("{pieces_count}-{listed_count}")),
            ),
        ),
        both("pieces", "All pieces", _ON_HAND),
        FormRow(
            "Lots not shared out yet",
            (
                _cell("lots_cost", MONEY, Formula(f"ROUND(SUMIFS(Lots_not_shared,{lots}),2)")),
                _cell("lots_count", COUNT, Formula(f'COUNTIFS(Lots_not_shared,">0",{lots})')),
            ),
        ),
        result("stock_now", "Stock at cost in all", MONEY, Formula("ROUND({pieces_cost}+{lots_cost},2)")),
        result(
            "stock_on_money",
            "Stock by sheet Money",
            MONEY,
            Formula("INDEX(Money_closing_stock,COUNT(Money_month))", "COUNT(Money_month)=0"),
        ),
        result(
            "stock_tie",
            "Difference: 0.00 if all ties",
            MONEY,
            Formula("ROUND({stock_now}-{stock_on_money},2)", '{stock_on_money}=""'),
        ),
        both("stale", "Waiting too long", 'Log_stale_key,">0"'),
        field(
            "How many days are too long stands on Settings (Stale after). Sheet Stale stock lists "
            f"the first {STALE_ROWS} of those pieces."
        ),
    )


# ---- turning ---------------------------------------------------------------------------------

_THROWN_AWAY: Final = f',Log_left_how,"{DISCARDED}"'
_NO_TURN: Final = '{turn_note}<>""'


def _turning() -> tuple[FormRow, ...]:
    cost = (
        f"{_in_days('Log_landed_cost', 'Log_sold_on')}"
        f"-{_in_days('Log_landed_cost', 'Log_returned_on')}"
        f"+{_in_days('Log_landed_cost', 'Log_left_on', _THROWN_AWAY)}"
    )
    sales = f"{_in_days('Log_income', 'Log_sold_on')}-{_in_days('Log_refund', 'Log_refund_day')}"
    kept = f'COUNTIFS(Log_kept,1,Log_sold_on,">="&Pay_first_day,Log_sold_on,"<"&{_DAY_AFTER})'
    stocks = {"opening": "MAX(0,{stock_then})", "closing": "MAX(0,{stock_now})"}
    return (
        heading("How fast it turns"),
        result("first_day", "Counted from", DATE, Formula("Pay_first_day"), "to Figures as of"),
        result("days_counted", "Days counted", DAYS, Formula("Pay_days_counted")),
        result("stock_then", "Stock at cost then", MONEY, Formula(f"ROUND({stock_before('Pay_first_day')},2)")),
        result("cost_of_sold", "Cost of sold, discarded", MONEY, Formula(f"ROUND({cost},2)")),
        result("gross_margin", "Gross margin", MONEY, Formula(f"ROUND({sales}-{{cost_of_sold}},2)")),
        result(
            "turns",
            "Stock turns in a year",
            FACTOR,
            FunctionCall(
                "STOCK_TURN",
                {"cost_of_goods_sold": "{cost_of_sold}", **stocks},
                _NO_TURN,
                "{}*{year_days}/{days_counted}",
            ),
        ),
        result(
            "lasts",
            "Stock lasts at this pace",
            DURATION,
            FunctionCall(
                "DAYS_ON_HAND",
                {"stock": "MAX(0,{stock_now})", "cost_of_goods_sold": "{cost_of_sold}", "days": "{days_counted}"},
                _NO_TURN,
            ),
        ),
        result(
            "earns",
            "Margin per 1 in stock",
            FACTOR,
            FunctionCall(
                "STOCK_RETURN", {"gross_margin": "{gross_margin}", **stocks}, _NO_TURN, "{}*{year_days}/{days_counted}"
            ),
            "in a year",
        ),
        result("sold_count", "Pieces sold and kept", COUNT, Formula(kept)),
        result(
            "sell_through",
            "Sold of those offered",
            RATIO,
            FunctionCall(
                "SELL_THROUGH",
                {"sold": "{sold_count}", "offered": "({sold_count}+{listed_count})"},
                "{sold_count}+{listed_count}=0",
            ),
            "of sold and listed now",
        ),
        words(
            "turn_note",
            Formula(
                "IF({first_day}>As_of_date,"
                '"Figures as of is before the first month: see Settings.",'
                "IF({cost_of_sold}<=0,IF({cost_of_sold}<0,"
                '"More came back than was sold in these days.",'
                '"Nothing that cost money was sold in these days."),'
                'IF({stock_then}+{stock_now}<=0,"There is no stock at cost.","")))'
            ),
            lines=1,
        ),
    )


# ---- time to sell ----------------------------------------------------------------------------

_SHORT: Final = "{history_short}=1"
_HISTORY: Final = {"days": "Log_history_days", "sold_flags": "Log_kept"}


def _time_to_sell() -> tuple[FormRow, ...]:
    said = (
        f'IF({_SHORT},"History too short: fewer than {FEWEST_SALES} sales that were kept.",'
        'IF({median_days}="","Over half have not sold yet, not even those held longest.",'
        '"Pieces that have not sold yet are counted in."))'
    )
    return (
        heading("Time to sell"),
        result(
            "history_sales", "Sales that it rests on", COUNT, Formula('COUNTIFS(Log_kept,1,Log_history_days,">=0")')
        ),
        result(
            "median_days",
            "Half of all sell within",
            DURATION,
            EditionFormula(
                Formula('""'),
                FunctionCall(
                    "MEDIAN_DAYS_TO_SELL", dict(_HISTORY), f"OR({_SHORT},ROUND(2*SUM({{sold_in_the_end}})-1,9)<0)"
                ),
            ),
            "days from buying",
        ),
        words(
            "time_note",
            EditionFormula(
                Formula('"Times and chances to sell are worked out in the functions edition only."'), Formula(said)
            ),
            lines=1,
        ),
    )


# ---- age classes -----------------------------------------------------------------------------


def _ages() -> tuple[FormRow, ...]:
    return (
        heading("By age", "how many", "at cost, money", "share of cost", "chance to sell"),
        *(_age(i) for i in _AGES),
        field(
            "Age: days since a piece was bought. Chance to sell: how likely a piece sells before "
            "it is older than its class; blank where no piece was held that long yet."
        ),
    )


def _age(i: int) -> FormRow:
    none = f'{{from_{i}}}=""'

    def of_class(call: str) -> str:
        return f'{call},Log_days_held,">="&{{from_{i}}})-IF({{until_{i}}}="",0,{call},Log_days_held,">"&{{until_{i}}}))'

    label = (
        f'IF({{until_{i}}}<>"",{{from_{i}}}&" to "&{{until_{i}}}&" days",'
        f'IF({{from_{i}}}=0,"any age","over "&{{from_{i}}}-1&" days"))'
    )
    chance = FunctionCall(
        "SOLD_BY_CHANCE",
        {**_HISTORY, "horizon": f"{{until_{i}}}"},
        f'OR({_SHORT},{{until_{i}}}="",AND(SUM({{until_{i}}})>{{longest}},SUM({{sold_in_the_end}})<1))',
    )
    cost = of_class(f"SUMIFS(Log_cost_on_hand,{_ON_HAND}")
    return FormRow(
        cells=(
            _cell(f"label_{i}", TEXT, Formula(label, none)),
            _cell(f"pieces_{i}", COUNT, Formula(of_class(f"COUNTIFS({_ON_HAND}"), none)),
            _cell(f"cost_{i}", MONEY, Formula(f"ROUND({cost},2)", none)),
            _cell(
                f"share_{i}", RATIO, Formula(f"{{cost_{i}}}/{{pieces_cost}}", f'OR({{cost_{i}}}="",{{pieces_cost}}<=0)')
            ),
            _cell(f"chance_{i}", RATIO, EditionFormula(Formula('""'), chance)),
        ),
        heads_row=True,
    )


# ---- categories and places -------------------------------------------------------------------

_HEADERS: Final = ("on hand", "at cost, money", "sold", "profit, money", "profit per 1", "per 1 a month")


def _group_row(group: str, i: int, name: AnyFormula, sums: dict[str, str], none: str) -> FormRow:
    """A category or place: what is on hand, and what the whole log says of its earnings."""
    keys = {figure: f"{group}_{figure}_{i}" for figure in _FIGURES}
    profit, over, days = (f"{{{keys[key]}}}" for key in ("profit", "cost_over", "cost_days"))
    return FormRow(
        cells=(
            _cell(f"{group}_name_{i}", TEXT, name),
            _cell(keys["on_hand"], COUNT, Formula(sums["on_hand"], none)),
            _cell(keys["cost_now"], MONEY, Formula(f"ROUND({sums['cost_now']},2)", none)),
            _cell(keys["sold"], COUNT, Formula(sums["sold"], none)),
            _cell(keys["profit"], MONEY, Formula(f"ROUND({sums['profit']},2)", none)),
            _cell(f"{group}_return_{i}", FACTOR, Formula(f"{profit}/{over}", f"SUM({over})<=0")),
            _cell(f"{group}_monthly_{i}", FACTOR, Formula(f"{profit}/{days}*Month_days", f"SUM({days})<=0")),
        ),
        heads_row=True,
    )


def _sums(condition: str) -> dict[str, str]:
    """The figures of the pieces that a condition holds for."""
    return {
        "on_hand": f"COUNTIFS({_ON_HAND},{condition})",
        "cost_now": f"SUMIFS(Log_cost_on_hand,{_ON_HAND},{condition})",
        "sold": f"COUNTIFS(Log_kept,1,{condition})",
        "profit": f"SUMIFS(Log_history_profit,{condition})",
        "cost_over": f"SUMIFS(Log_history_cost,Log_history_over,1,{condition})",
        "cost_days": f"SUMIFS(Log_cost_days,{condition})",
    }


_WHOLE: Final = {
    "on_hand": f"COUNTIFS({_ON_HAND})",
    "cost_now": f"SUMIFS(Log_cost_on_hand,{_ON_HAND})",
    "sold": "COUNTIFS(Log_kept,1)",
    "profit": "SUM(Log_history_profit)",
    "cost_over": "SUMIFS(Log_history_cost,Log_history_over,1)",
    "cost_days": "SUM(Log_cost_days)",
}


def _rest(figure: str) -> str:
    """All pieces less those of the categories."""
    return f"{_WHOLE[figure]}-SUM({{category_{figure}_1}}:{{category_{figure}_{CATEGORY_ROWS}}})"


def _of_category(i: int) -> dict[str, str]:
    if i == _REST:
        return {figure: _rest(figure) for figure in _FIGURES}
    if i == _ALL:
        return _WHOLE
    return _sums(f'Log_category,"="&{{category_word_{i}}}')


def _category_none(i: int) -> str:
    return "" if i >= _REST else f'{{category_name_{i}}}=""'


def _place_none(i: int) -> str:
    return f'{{place_row_{i}}}=""'


def _categories() -> tuple[FormRow, ...]:
    def name(i: int) -> Formula:
        if i == _REST:
            return Formula('"Other words or none"')
        if i == _ALL:
            return Formula('"All together"')
        listed = f"INDEX(Category_name,{{category_no_{i}}})"
        return Formula(f'{listed}&""', f"{{category_first_{i}}}<>{{category_no_{i}}}")

    return (
        heading("By category", *_HEADERS),
        *(_group_row("category", i, name(i), _of_category(i), _category_none(i)) for i in (*_CATEGORIES, _REST, _ALL)),
    )


def _places() -> tuple[FormRow, ...]:
    more = f"(COUNT(Log_place_key)-{{place_no_{PLACE_ROWS}}})"
    return (
        heading("By place", *_HEADERS),
        *(
            _group_row(
                "place",
                i,
                Formula(f'INDEX(Log_place,{{place_row_{i}}})&""', _place_none(i)),
                _sums(f"Log_place_row,{{place_row_{i}}}"),
                _place_none(i),
            )
            for i in _PLACES
        ),
        words(
            "more_places",
            Formula(f'IF({more}>0,"Not shown: places that earned no more, "&{more}&" of them.","")'),
            lines=1,
        ),
        FormRow(
            note="Places where pieces or their lots were found, the best earner for your money "
            "first. Both tables: on hand now; sold (and kept) and net profit since the log begins, "
            "a discarded piece being a loss of its cost. Profit per 1: net profit for each 1 of "
            "cost of those pieces. Per 1 a month: net profit for each 1 of money and each month "
            "that it was tied up, pieces not sold yet counted in.",
            lines=4,
        ),
    )


# ---- workings --------------------------------------------------------------------------------


def _count_on(key: str, i: int) -> FormCell:
    """1, 2, 3 ... down the rows."""
    return _step(f"{key}_{i}", COUNT, Formula("1" if i == 1 else f"{{{key}_{i - 1}}}+1"))


def _age_steps(i: int) -> FormRow:
    listed = "INDEX(Age_from_day,{age_no_%d})"
    following = f"{{from_{i + 1}}}" if i < AGE_ROWS else '""'
    until = Formula(f'IF({following}="","",{following}-1)', f'{{from_{i}}}=""')
    return FormRow(
        f"Age class {i}",
        (
            _count_on("age_no", i),
            _step(f"from_{i}", DAYS, Formula(listed % i, f'{listed % i}=""')),
            _step(f"until_{i}", DAYS, until if i < AGE_ROWS else Formula('""')),
        ),
    )


def _sum_steps(group: str, i: int, sums: dict[str, str], none: str) -> tuple[FormCell, ...]:
    return tuple(
        _step(f"{group}_{figure}_{i}", MONEY, Formula(f"ROUND({sums[figure]},2)", none))
        for figure in ("cost_over", "cost_days")
    )


def _category_steps(i: int) -> FormRow:
    sums = _sum_steps("category", i, _of_category(i), _category_none(i))
    if i >= _REST:
        return FormRow("Other categories" if i == _REST else "All categories", sums)
    listed, word = f"INDEX(Category_name,{{category_no_{i}}})", f"{{category_word_{i}}}"
    plain = listed
    # A star or question mark in a word stands for itself.
    for sign in "~*?":
        plain = f'SUBSTITUTE({plain},"{sign}","~{sign}")'
    return FormRow(
        f"Category {i}",
        (
            *sums,
            _count_on("category_no", i),
            _step(f"category_word_{i}", TEXT, Formula(plain, f'{listed}=""')),
            _step(
                f"category_first_{i}",
                COUNT,
                Formula(f"IFERROR(MATCH({word},Category_name,0),{{category_no_{i}}})", f'{word}=""'),
            ),
        ),
    )


def _place_steps(i: int) -> FormRow:
    number = f"{{place_no_{i}}}"
    row = f"MATCH(LARGE(Log_place_key,{number}),Log_place_key,0)"
    return FormRow(
        f"Place {i}",
        (
            *_sum_steps("place", i, _sums(f"Log_place_row,{{place_row_{i}}}"), _place_none(i)),
            _count_on("place_no", i),
            _step(f"place_row_{i}", COUNT, Formula(row, f"{number}>COUNT(Log_place_key)")),
        ),
    )


def _workings() -> tuple[FormRow, ...]:
    in_the_end = FunctionCall("SOLD_BY_CHANCE", {**_HISTORY, "horizon": "{longest}"}, _SHORT)
    return (
        heading("Workings (do not type)"),
        working("year_days", "Days of a year", DURATION, Formula("Month_days*12")),
        working(
            "history_short", "History too short", COUNT, Formula(f"({{history_sales}}<{FEWEST_SALES})*1"), "1 = yes"
        ),
        working("longest", "Longest held", DAYS, Formula("MAX(0,Log_history_days)")),
        working("sold_in_the_end", "Sold by then", RATIO, EditionFormula(Formula('""'), in_the_end)),
        *(_age_steps(i) for i in _AGES),
        *(_category_steps(i) for i in (*_CATEGORIES, _REST, _ALL)),
        *(_place_steps(i) for i in _PLACES),
    )


def stock_form() -> FormSheet:
    """Sheet Stock: seven columns, the width of a letter page."""
    return FormSheet(
        STOCK,
        "Stock",
        "What is on hand, how old it is, and what it earns.",
        (*_on_hand(), *_turning(), *_time_to_sell(), *_ages(), *_categories(), *_places(), *_workings()),
        (26, 13, 14, 13, 13, 13, 13),
        first_row=4,
    )
