"""What can be wrong with sheet Settings: each check once, with its label, its formula and Python's verdict.

The verdict of a check is a function of `CheckedSettings` that reports the cells at fault. It returns true where the
check fails for what another verdict or the reader of the file reports. A check without one fails only for cells that
cannot be read.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

import numpy as np

from sheetfns.cell_types import shown_cell
from sheetfns.functions.growth import LEAST_PATHS, MOST_PATHS
from sheetfns.log.model.sheets import Check, Layout
from sheetfns.log.model.typed_rows import USUAL_YEARS, Issue, ReadRows
from sheetfns.log.sheets.checked_rows import CheckedRows
from sheetfns.log.sheets.reference_lists import Names, ReferenceLists, Rows
from sheetfns.log.sheets.tax_rules.layout import EXPENSE_LINES
from sheetfns.log.sheets.words import (
    BOX_ROWS,
    BUSINESS,
    BY_YEAR_ROWS,
    CHANNEL_ROWS,
    CONDITION_ROWS,
    DUE_ROWS,
    FROM_THE_LOG,
    HEADING_ROWS,
    PARTNER_ROWS,
    PAYMENTS,
    POSTAGE_COLUMNS,
    RETURNED_ITEM,
    RULE_ROWS,
    SETTINGS,
    TAXES_ROWS,
    YES,
)
from sheetfns.tables import table_rows


class CheckedSettings:
    """Sheet Settings while its checks judge it.

    Attributes:
        settings: value by name.
        lists: the names that small tables take from each other.
        starts: the row in which each small table begins.
        header_of_words: the cell over the words that say what the log adds to a heading.
        found: what is wrong.
    """

    def __init__(
        self,
        layout: Layout,
        settings: Mapping[str, Any],
        blocks: Mapping[str, ReadRows],
        cells: Mapping[str, str],
        starts: Mapping[str, int],
        header_of_words: str,
        lists: ReferenceLists,
    ) -> None:
        self.settings = settings
        self.lists = lists
        self.starts = starts
        self.header_of_words = header_of_words
        self.found: list[Issue] = []
        self._cells = cells
        self._tables = {block.key: CheckedRows(block, blocks, lists, self.found) for block in layout.blocks}

    def __getitem__(self, block: str) -> CheckedRows:
        return self._tables[block]

    def __iter__(self) -> Iterator[CheckedRows]:
        return iter(self._tables.values())

    def say(self, name: str, shown: str, message: str, key: str) -> None:
        """Report a problem with a single figure, date or word."""
        if name in self._cells:
            self.found.append(Issue(SETTINGS, self._cells[name], shown, message, key))

    def blank(self, *names: str) -> bool:
        """Whether one of these is blank."""
        return any(self.settings.get(name) is None for name in names)


Judge = Callable[[CheckedSettings], bool | None]


def judged_settings(settings: CheckedSettings) -> set[str]:
    """The keys of the checks that fail; what is wrong is in `found`."""
    failing = set()
    for check in CHECKS_OF_SETTINGS:
        so_far = len(settings.found)
        if check.validate is not None and (check.validate(settings) or len(settings.found) > so_far):
            failing.add(check.key)
    for validate in (_names, _choices, _mileage, _figures_twice):
        validate(settings)
    return failing


def _says(
    block: str, column: str, wrong: Callable[[CheckedRows], Rows], words: str, key: str, *, whole: bool = False
) -> Judge:
    """The verdict that reports rows of one small table: the cell and words after it, or a whole sentence."""

    def validate(settings: CheckedSettings) -> None:
        rows = settings[block]
        (rows.say if whole else rows.cell_says)(wrong(rows), column, words, key)

    return validate


# ---- single figures ------------------------------------------------------------------------------

_FIGURES: Final = (
    *("Usual_packaging", "Trip_reserve", "Target_profit", "Target_return", "Comp_half_life", "Comp_low_share"),
    *("Filling_rate", "Weight_allowance", "Cover_share", "Pay_target", "Bills_due", "Open_refunds"),
    *("Tax_share", "Restock_days", "Average_days", "Stale_days", "Forecast_paths"),
)
_NOT_BELOW_0: Final = (
    *("Trip_cash", "Trip_reserve", "Target_profit", "Target_return", "Buying_tax_rate"),
    *("Comp_low_share", "Filling_rate", "Weight_allowance", "Cover_share", "Pay_target"),
    *("Bills_due", "Open_refunds", "Tax_reserve", "Restock_reserve", "Fixed_costs"),
    *("Weekly_limit", "Tax_share"),
)
_OPTIONAL: Final = (
    *("As_of_date", "First_month", "Fixed_costs", "Weekly_limit", "Opening_cash", "Buying_tax_rate"),
    *("Tax_reserve", "Restock_reserve", "Trip_cash"),
)


def _year(settings: CheckedSettings) -> None:
    year = settings.settings.get("Tax_year")
    earliest, latest = USUAL_YEARS
    if year is not None and not earliest <= year <= latest:
        settings.say("Tax_year", f"{year:g}", f"Tax year: {year:g} {_NO_YEAR}", "year_far_off")


def _first(settings: CheckedSettings) -> None:
    first = settings.settings.get("First_month")
    if first is not None and first.day != 1:
        words = f"First month of this log: {first} is not the first day of a month; enter {first.replace(day=1)}"
        settings.say("First_month", str(first), words, "not_first_day")


def _order(settings: CheckedSettings) -> None:
    first, as_of = settings.settings.get("First_month"), settings.settings.get("As_of_date")
    if first is not None and as_of is not None and first > as_of:
        words = f"First month of this log: {first} is after the as-of date, {as_of}; fix the one that is wrong"
        settings.say("First_month", str(first), words, "first_after_as_of")


# ---- names ---------------------------------------------------------------------------------------

_WHY_NOT_TWICE: Final = {
    "Partner": "the log cannot tell them apart, so clear or rename one",
    "Channel": "only the terms of the first count, so clear or rename one",
    "Heading": "its expenses would count twice; delete one",
    "Condition": "only the worth of the first counts, so clear or rename one",
    "Box": "only the sides of the first count, so clear or rename one",
    "Service": "only the prices of the first count, so clear or rename one",
}


def _twice(names: str, rows: int) -> str:
    """How many of the names in a small table stand there more than once."""
    cells = (f"INDEX({names},{row})" for row in range(1, rows + 1))
    return "+".join(f'IF({cell}="",0,(COUNTIF({names},{cell})>1)*1)' for cell in cells)


def _names_twice(settings: CheckedSettings) -> None:
    for block, why in _WHY_NOT_TWICE.items():
        settings[block].twice(settings[block].table.columns[0].key, why, "name_twice")


def _names(settings: CheckedSettings) -> None:
    """Names that are blank, or that a spreadsheet takes as patterns."""
    for block in _WHY_NOT_TWICE:
        rows = settings[block]
        name = rows.table.columns[0].key
        nameless = ~rows.filled(name)
        if block == "Heading":
            counts = nameless & rows.worded("from_log")
            rows.blank(
                counts, name, "Year end leaves such a row out, and {from_log} with it; enter its name", "no_name"
            )
            nameless &= ~counts
        rows.blank(nameless, name, "the row counts only with a name", "no_name")
        rows.patterns(name, "read_as_pattern")
    rules = settings["Rule"]
    rules.blank(~rules.worded("name"), "name", "the row counts only with a name", "no_name")


def _unknown_choices(rows: CheckedRows, column: str) -> None:
    names = rows.lists.listed(rows.table.column(column))
    if names is not None:
        rows.unknown(rows.all, column, names, "unknown_choice")


def _choices(settings: CheckedSettings) -> None:
    """Words that are not in the fixed list of their column; those of tax lines have a check."""
    for rows in settings:
        for column in rows.table.columns:
            if column.choices and column.key != "tax_line":
                _unknown_choices(rows, column.key)


# ---- partners, channels, headings, conditions ----------------------------------------------------


def _shares(settings: CheckedSettings) -> bool:
    partners = settings["Partner"]
    total = float(np.nansum(partners.read.amounts("share")))
    if round(total - 1, 9):
        first = np.arange(len(partners.read.rows)) == 0
        words = f"the partners' shares add up to {total * 100:.10g}%; change them so they add up to 100%"
        partners.say(first, "share", words, "shares")
    return round(total - 1, 9) != 0


_TERMS: Final = ("rate", "per_order", "tax_rate", "band_limit", "rate_above", "minimum", "maximum", "ad_rate")
_RATES: Final = ("rate", "tax_rate", "rate_above", "ad_rate")
_WRONG_TERMS: Final = "+".join(
    (
        *(f"COUNTA(Channel_{term})-COUNT(Channel_{term})" for term in _TERMS),
        *(f'COUNTIF(Channel_{term},"<0")' for term in _TERMS),
        *(f'COUNTIF(Channel_{term},">1")' for term in _RATES),
    )
)


def _whole_sale(settings: CheckedSettings) -> None:
    channels = settings["Channel"]
    rate, tax, ads = (np.nan_to_num(channels.read.amounts(key)) for key in ("rate", "tax_rate", "ad_rate"))
    whole = rate * (1 + tax) + ads
    channels.say(
        whole >= 1,
        "rate",
        lambda i: (
            f"Fee rate: the rates of channel {channels.shown('name', i)} add up to {whole[i]:.2%} of a sale; enter "
            "what its terms say"
        ),
        "whole_sale",
    )


def _words(settings: CheckedSettings) -> None:
    """Each word of the log stands beside one named heading."""
    headings = settings["Heading"]
    column = headings.table.column("from_log")
    names, words = headings.read.words("heading"), headings.read.words("from_log")
    first: dict[str, int] = {}
    again = [bool(names[i] and word) and first.setdefault(word.casefold(), i) != i for i, word in enumerate(words)]
    headings.cell_says(
        np.array(again, dtype=bool),
        "from_log",
        lambda i: (
            f"is beside {headings.shown('heading', i)} and "
            f"{headings.shown('heading', first[words[i].casefold()])}, so it counts twice; clear one"
        ),
        "word_twice",
    )
    missing = ", ".join(f"'{word}'" for word in column.choices if word.casefold() not in first)
    if missing:
        listed = ", ".join(f"'{shown_cell(name)}'" for name in names if name) or "none yet"
        words_missing = (
            f"{column.header}: no named heading has {missing} beside it, so Year end leaves that out; choose each "
            f"beside one heading (there are {listed})"
        )
        settings.found.append(Issue(SETTINGS, settings.header_of_words, column.header, words_missing, "word_missing"))


def _tax_lines(settings: CheckedSettings) -> None:
    """Under rules that know lines, each heading needs one."""
    headings = settings["Heading"]
    _unknown_choices(headings, "tax_line")
    rules = str(settings.settings.get("Year_rules") or "").casefold()
    if any(row["rules"].casefold() == rules for row in table_rows("tax_rules") if row["lines_needed"] == YES):
        headings.say(
            headings.worded("heading") & ~headings.filled("tax_line"),
            "tax_line",
            "Tax line of {heading} is blank, so no line of Year end counts its expenses; choose one from the list",
            "no_tax_line",
        )


def _default_channel(settings: CheckedSettings) -> None:
    named = str(settings.settings.get("Default_channel") or "")
    names = Names(settings["Channel"].read.words("name"), "the table of channels")
    if named and named not in names:
        settings.say("Default_channel", named, names.refusal("Default channel", named), "unknown_choice")


# ---- parcels and postage -------------------------------------------------------------------------


def _rule_rows_in_order() -> str:
    """How many rows of parcel rules stand apart from their rule or before an older date."""
    parts = []
    for row in range(2, RULE_ROWS + 1):
        here, above = f"INDEX(Rule_name,{row})", f"INDEX(Rule_name,{row - 1})"
        later = f"INDEX(Rule_from,{row})>INDEX(Rule_from,{row - 1})"
        first = f"MATCH({here},Rule_name,0)={row}"
        parts.append(f'IF({here}="",0,IF({here}={above},({later})=FALSE(),({first})=FALSE())*1)')
    return "+".join(parts)


def _rules(settings: CheckedSettings) -> None:
    """Rows are looked up by name and then by date, so they stand together, and their dates rise."""
    rules = settings["Rule"]
    begins, at = rules.read.dates("from"), rules.read.rows
    last: dict[str, int] = {}
    above = np.full(len(at), -1)
    for place, name in enumerate(rules.read.words("name")):
        above[place] = last.get(name.casefold(), -1)
        last[name.casefold()] = place
    named, dated = rules.worded("name"), ~np.isnat(begins)
    rules.blank(named & ~dated, "from", "the row counts only with a date", "not_recorded")
    later = named & dated & (above >= 0)
    apart = later & (at[above] != at - 1)
    rules.cell_says(
        apart,
        "name",
        lambda i: f"is not next to row {at[above[i]]} of the same rule; put the rows of a rule together",
        "not_in_order",
    )
    rules.cell_says(
        later & ~apart & (begins <= begins[above]),
        "from",
        lambda i: f"is not after {rules.shown('from', above[i])} above it; sort the rows of the rule by date",
        "not_in_order",
    )


def _rules_in_other_units() -> str:
    """How many rows of parcel rules that a service uses are for other units than this log."""
    units = 'Weight_unit&" and "&Length_unit'
    parts = (
        f'IF(OR(INDEX(Rule_units,{row})="",INDEX(Rule_units,{row})={units}),0,'
        f"(COUNTIF(Service_rule,INDEX(Rule_name,{row}))>0)*1)"
        for row in range(1, RULE_ROWS + 1)
    )
    return "+".join(parts)


# ---- small tables that rise ----------------------------------------------------------------------


def _does_not_rise(block: str) -> str:
    """How many rows of a small table's first column do not come after the one above, or a gap."""
    return (
        f'SUMPRODUCT(({block}_later<>"")*({block}_later<={block}_earlier))'
        f'+SUMPRODUCT(({block}_later<>"")*({block}_earlier=""))'
    )


def _units(settings: CheckedSettings) -> None:
    rules, used = settings["Rule"], Names(settings["Service"].read.words("rule"), "")
    units = f"{settings.settings.get('Weight_unit')} and {settings.settings.get('Length_unit')}"
    others = rules.worded("units") & ~rules.holding("units", units)
    rules.cell_says(
        others & np.array([name in used for name in rules.read.words("name")], dtype=bool),
        "units",
        f"are not those of this log, {units}; enter the rule in those, or remove it from the services that use it",
        "other_units",
    )


def _rising(settings: CheckedSettings, block: str, kind: str = "day") -> None:
    """A small table whose rows are looked up by the figure in the first column."""
    rows = settings[block]
    key = rows.table.columns[0].key
    figures, at = rows.read.amounts(key), rows.read.rows
    highest = np.append(-np.inf, np.fmax.accumulate(figures))[:-1]
    falls = figures <= highest
    rows.blank(~rows.filled(key), key, f"the row counts only with a {kind}", "not_recorded")
    rows.cell_says(
        falls,
        key,
        lambda i: (
            f"is not above {highest[i]:g} in the rows before it; sort the rows by {kind} and remove any duplicate"
        ),
        "not_in_order",
    )
    rows.say(
        ~np.isnan(figures) & ~falls & (at != np.append(settings.starts[block] - 1, at)[:-1] + 1),
        key,
        lambda i: (
            f"{rows.header(key)}: the row above {figures[i]:g} is blank; close the gap, or nothing below it is found"
        ),
        "not_in_order",
    )


def _ages(settings: CheckedSettings) -> bool:
    _rising(settings, "Age")
    ages = settings["Age"]
    late = (ages.read.amounts("from_day") > 0) & (np.arange(len(ages.read.rows)) == 0)
    ages.cell_says(late, "from_day", "is the first; enter 0 there, or newer inventory is left out", "not_from_0")
    return not len(ages.read.rows)


def _steps(settings: CheckedSettings) -> None:
    _rising(settings, "Markdown")
    steps = settings["Markdown"]
    steps.blank(~steps.filled("share"), "share", "enter a share such as 10%", "no_share")


# ---- tax tables ----------------------------------------------------------------------------------

_NO_YEAR: Final = f"is not a year from {USUAL_YEARS[0]} to {USUAL_YEARS[1]}; enter it in full"
_TAX_TABLES: Final = {"ByYear": "", "Due": "", "Taxes": "partner", "Reported": "channel"}
"""The tables with a row for a tax year, and the column that tells apart the rows of one year."""


def _by_year_wrong() -> str:
    """Rows of the tax tables whose year or name is blank, unknown, or there already."""
    parts = [_twice("ByYear_year", BY_YEAR_ROWS), _twice("Due_year", DUE_ROWS)]
    parts += [
        f'COUNTA({key}_year)-COUNTIFS({key}_year,">=2000",{key}_year,"<=2199")'
        for key in ("ByYear", "Taxes", "Reported", "Due")
    ]
    filled = "ByYear_area&ByYear_months&ByYear_filed_inventory&ByYear_note"
    parts.append(f'SUMPRODUCT((ByYear_year="")*({filled}<>""))')
    parts.append('SUMPRODUCT((Taxes_year="")*(Taxes_partner="")*(Taxes_wages&Taxes_rate&Taxes_paid<>""))')
    for key, column, names, number in (
        ("Taxes", "partner", "Partner_name", PARTNER_ROWS),
        ("Reported", "channel", "Channel_name", CHANNEL_ROWS),
    ):
        known = "".join(
            f'-IF({name}="",0,IFERROR((MATCH({name},{names},0)={place})'
            f'*COUNTIFS({key}_{column},{name},{key}_year,">0"),0))'
            for place, name in ((place, f"INDEX({names},{place})") for place in range(1, number + 1))
        )
        parts.append(f'SUMPRODUCT(({key}_year&{key}_{column}<>"")*1){known}')
    for row in range(1, TAXES_ROWS + 1):
        year, partner = f"INDEX(Taxes_year,{row})", f"INDEX(Taxes_partner,{row})"
        parts.append(f'IF({partner}="",0,(COUNTIFS(Taxes_year,{year},Taxes_partner,{partner})>1)*1)')
    return "+".join(parts)


def _no_year_or_name(rows: CheckedRows, name: str) -> None:
    rows.blank(~rows.filled("year"), "year", "the row counts only for a year, such as 2026", "no_year")
    if name:
        rows.blank(~rows.worded(name), name, "the row counts only with one of Settings", "no_name")


def _by_year(settings: CheckedSettings) -> bool:
    for block, name in _TAX_TABLES.items():
        rows = settings[block]
        years = rows.read.amounts("year")
        rows.cell_says((years < USUAL_YEARS[0]) | (years > USUAL_YEARS[1]), "year", _NO_YEAR, "year_far_off")
        if name:
            known = settings.lists.partners if block == "Taxes" else settings.lists.channels
            rows.unknown(rows.all, name, known, "unknown_choice")
        if block in ("ByYear", "Taxes"):
            _no_year_or_name(rows, name)
        if block != "Reported":
            _year_twice(rows, name)
    reported = settings["Reported"]
    return bool((reported.filled("year") != reported.worded("channel")).any())


def _year_twice(rows: CheckedRows, name: str) -> None:
    words = rows.read.words(name) if name else [""] * len(rows.read.rows)
    pairs = [(year, word.casefold()) for year, word in zip(rows.read.amounts("year").tolist(), words, strict=True)]
    first: dict[tuple[float, str], int] = {}
    rows.cell_says(
        np.array([first.setdefault(pair, place) != place for place, pair in enumerate(pairs)], dtype=bool),
        "year",
        lambda i: (
            f"is in row {rows.read.rows[first[pairs[i]]]} already"
            + (f" for {rows.shown(name, i)}" if words[i] else "")
            + "; put both into one row"
        ),
        "year_twice",
    )


_TAX_AMOUNTS: Final = (
    *("ByYear_area", "ByYear_months", "ByYear_filed_inventory"),
    *("Taxes_wages", "Taxes_rate", "Taxes_paid", "Reported_gross"),
)


def _incomplete(key: str, texts: tuple[str, ...], numbers: tuple[str, ...], others: tuple[str, ...] = ()) -> str:
    """How many rows of a small table are filled, but not in all of its texts and numbers."""
    columns = [f"{key}_{column}" for column in (*texts, *numbers, *others)]
    whole = [f'{key}_{column},"?*"' for column in texts]
    whole += [f'{key}_{column},">=0"' for column in numbers]
    return f'SUMPRODUCT(({"&".join(columns)}<>"")*1)-COUNTIFS({",".join(whole)})'


_PAYMENT_DAYS: Final = tuple(f"day_{number}" for number in range(1, PAYMENTS + 1))
_TAX_TABLES_WRONG: Final = "+".join(
    (
        _incomplete("TaxFigure", ("name",), ("from", "until", "value"), ("source",)),
        _incomplete("Due", (), ("year", *_PAYMENT_DAYS), ("source",)),
        _incomplete("Reported", ("channel",), ("year", "gross")),
        'SUMPRODUCT((TaxFigure_until<>"")*(TaxFigure_until<TaxFigure_from))',
        f"COUNTA({','.join(_TAX_AMOUNTS)})-COUNT({','.join(_TAX_AMOUNTS)})",
        *(f'COUNTIF({name},"<0")' for name in _TAX_AMOUNTS),
        'COUNTIF(Taxes_rate,">1")+COUNTIF(ByYear_months,">12")',
    )
)


def _tax_figures(settings: CheckedSettings) -> None:
    figures, due, reported = settings["TaxFigure"], settings["Due"], settings["Reported"]
    for rows, columns, advice in (
        (figures, ("name", "from", "until", "value"), "a tax figure counts only with its word, days and value"),
        (due, _PAYMENT_DAYS, "enter the day by which it is due"),
        (reported, ("gross",), "enter what the report says, or 0"),
    ):
        for column in columns:
            rows.blank(~rows.filled(column), column, advice, "not_recorded")
    _no_year_or_name(due, "")
    _no_year_or_name(reported, "channel")
    _until_early(figures)


def _until_early(rows: CheckedRows) -> None:
    early = rows.later_than("until", "from")
    rows.cell_says(early, "until", "is before {from}; swap them", "until_early")


def _figures_twice(settings: CheckedSettings) -> None:
    """Two figures of one word for the same days."""
    rows = settings["TaxFigure"]
    begins, ends = rows.read.dates("from"), rows.read.dates("until")
    words = np.array([name.casefold() for name in rows.read.words("name")], dtype=object)
    above = [
        np.flatnonzero((words[:i] == words[i]) & (begins[i] <= ends[:i]) & (begins[:i] <= ends[i]))
        for i in range(len(words))
    ]
    rows.say(
        np.array([len(found) > 0 for found in above], dtype=bool) & rows.worded("name"),
        "from",
        lambda i: (
            f"From: {rows.shown('name', i)} has a figure for {rows.shown('from', i)} in row "
            f"{rows.read.rows[above[i][0]]} already; let no days overlap, or neither counts"
        ),
        "figure_twice",
    )


def _mileage(settings: CheckedSettings) -> None:
    rows = settings["Mileage"]
    for column in ("from", "until", "rate"):
        rows.blank(~rows.filled(column), column, "a rate per mile counts only with both days", "not_recorded")
    _until_early(rows)
    latest = np.append(np.datetime64("NaT"), np.fmax.accumulate(rows.read.dates("until")))[:-1]
    rows.cell_says(
        rows.read.dates("from") <= latest,
        "from",
        lambda i: (
            f"is not after {str(latest[i])[:10]} above it; rates are looked up by date, so sort the rows by "
            "date and let none overlap"
        ),
        "not_in_order",
    )


# ---- the checks, in the order of sheet Data checks ----------------------------------------------------


def _check(key: str, label: str, count: str, validate: Judge | None = None) -> Check:
    return Check(f"Settings_{key}", SETTINGS, label, count, validate=validate)


# fmt: off
CHECKS_OF_SETTINGS: Final = (
    _check("year", "tax year is not a year from 2000 to 2199", "(MAX(Tax_year)<2000)+(MAX(Tax_year)>2199)", _year),
    _check("first", "first month of this log is not the first day of a month",
           "IF(COUNT(First_month)=0,0,(DAY(First_month)<>1)*1)", _first),
    _check("order", "first month of this log is after the as-of date",
           "IF(COUNT(First_month,As_of_date)<2,0,(First_month>As_of_date)*1)", _order),
    _check("numbers", "an amount or date among the settings is blank or text",
           f"{len(_FIGURES)}-COUNT({','.join(_FIGURES)})+" + "+".join(f"ISTEXT({name})" for name in _OPTIONAL),
           lambda settings: settings.blank(*_FIGURES)),
    _check("targets", "an amount, rate or number of days above is below its minimum or over its maximum",
           f"(MIN({','.join(_NOT_BELOW_0)})<0)+(MAX(Comp_half_life)<1)+(MAX(Average_days)<1)"
           "+(MAX(Stale_days)<1)+(MAX(Restock_days)<1)+(MAX(Comp_low_share)>0.5)"
           "+(MAX(Cover_share,Filling_rate,Buying_tax_rate,Tax_share)>1)"
           f"+(MAX(Forecast_paths)<{LEAST_PATHS})+(MAX(Forecast_paths)>{MOST_PATHS})",
           lambda settings: settings.blank("Comp_half_life", "Average_days", "Stale_days", "Restock_days",
                                           "Forecast_paths")),
    _check("worth", "a condition has no worth from 1% to 100%, so its sales can't be compared",
           'COUNTIF(Condition_name,"?*")-COUNTIFS(Condition_name,"?*",Condition_worth,">0",Condition_worth,"<=1")',
           _says("Condition", "worth",
                 lambda rows: rows.worded("name") & (~rows.filled("worth") | (rows.read.amounts("worth") == 0)),
                 "Worth of {name} is blank or 0; sales in this condition can't be compared with others, so enter a "
                 "share such as 75%", "no_worth", whole=True)),
    _check("rules", "rows of a parcel rule are not together, by date",
           _rule_rows_in_order() + '+COUNTIF(Rule_name,"?*")-COUNTIFS(Rule_name,"?*",Rule_from,">0")', _rules),
    _check("divisor", "a parcel rule's divisor is not above 0; clear it if only weight counts",
           'COUNTIF(Rule_divisor,"<=0")',
           _says("Rule", "divisor", lambda rows: rows.read.amounts("divisor") <= 0,
                 "is not above 0; enter the volume that counts as one unit of weight, or clear it if only weight "
                 "counts",
                 "no_divisor")),
    _check("services", "a postage service's parcel rule is not among the rules",
           "+".join(
               f'IF(INDEX(Service_rule,{row})="",0,(COUNTIF(Rule_name,INDEX(Service_rule,{row}))=0)*1)'
               for row in range(1, POSTAGE_COLUMNS + 1)
           ),
           lambda settings: settings["Service"].unknown(
               settings["Service"].all, "rule", Names(settings["Rule"].read.words("name"), "the parcel rules"),
               "unknown_choice"
           )),
    _check("units", "a service's parcel rule is for other units than those above", _rules_in_other_units(),
           _units),
    _check("postage", "the postage table has prices without a weight, gaps, or weights that do not rise",
           _does_not_rise("Postage")
           + "".join(
               f'+SUMPRODUCT((Postage_up_to="")*(Postage_no_{column}<>""))' for column in range(1, POSTAGE_COLUMNS + 1)
           ), lambda settings: _rising(settings, "Postage", "weight")),
    _check("ages", "the age classes do not begin with 0, do not rise, or have gaps",
           f"(SUM(INDEX(Age_from_day,1))<>0)+(COUNT(Age_from_day)=0)+{_does_not_rise('Age')}", _ages),
    _check("steps", "the markdown steps do not rise, have gaps, or have no share from 0 to 100%",
           _does_not_rise("Markdown") + "+COUNTA(Markdown_from_day,Markdown_share)"
           '-2*COUNTIFS(Markdown_from_day,">=0",Markdown_share,">=0",Markdown_share,"<=1")', _steps),
    _check("tax_lines", "a heading has no tax line, or one that is not in the list",
           'IF(Year_lines_needed=1,COUNTIFS(Heading_heading,"?*",Heading_tax_line,""),0)'
           "+COUNTA(Heading_tax_line)"
           + "".join(f'-COUNTIF(Heading_tax_line,"{label}")' for _, label in EXPENSE_LINES), _tax_lines),
    _check("by_year", "a tax year, partner or channel of the tax tables is blank, unknown or duplicated",
           _by_year_wrong(), _by_year),
    _check("tax_figures", "a tax figure, due date or report is incomplete, or an amount of a year is wrong",
           _TAX_TABLES_WRONG, _tax_figures),
    _check("shares", "the partners' shares do not add up to 100%", "(ROUND(SUM(Partner_share)-1,9)<>0)*1", _shares),
    _check("owner_names", f"a partner is called {BUSINESS} or {RETURNED_ITEM}; use another name",
           f'COUNTIF(Partner_name,"{BUSINESS}")+COUNTIF(Partner_name,"{RETURNED_ITEM}")',
           _says("Partner", "name", lambda rows: rows.holding("name", BUSINESS) | rows.holding("name", RETURNED_ITEM),
                 "means something else under Paid from, so what this partner paid would not count; use another "
                 "name, in the log too", "reserved_name")),
    _check("twice", "a partner, channel, heading, condition, box or service is duplicated; rename one",
           "+".join((_twice("Partner_name", PARTNER_ROWS), _twice("Channel_name", CHANNEL_ROWS),
                     _twice("Heading_heading", HEADING_ROWS), _twice("Condition_name", CONDITION_ROWS),
                     _twice("Box_name", BOX_ROWS), _twice("Service_name", POSTAGE_COLUMNS))), _names_twice),
    _check("words", "fees, postage, packaging and miles must each be beside one heading",
           "+".join(f'(COUNTIFS(Heading_from_log,"{word}",Heading_heading,"?*")<>1)' for word in FROM_THE_LOG),
           _words),
    Check("Settings_default_channel", SETTINGS, "the default channel is not in the table of channels",
          'IF(Default_channel="",0,(COUNTIF(Channel_name,Default_channel)=0)*1)', watches=True,
          validate=_default_channel),
    _check("terms", "a channel's terms contain text, an amount below 0 or a rate over 100%", _WRONG_TERMS),
    _check("minimum", "a channel's minimum fee is over its maximum fee",
           'SUMPRODUCT((Channel_maximum<>"")*(Channel_minimum>Channel_maximum))',
           _says("Channel", "minimum", lambda rows: rows.read.amounts("minimum") > rows.read.amounts("maximum"),
                 "of channel {name} is over its maximum fee, {maximum}; fix the one that is wrong",
                 "minimum_over_maximum")),
    _check("band", "a channel has a band limit and no rate above it",
           'COUNTIF(Channel_band_limit,">=0")-COUNTIFS(Channel_band_limit,">=0",Channel_rate_above,">=0")',
           _says("Channel", "rate_above", lambda rows: rows.filled("band_limit") & ~rows.filled("rate_above"),
                 "Rate above is blank though channel {name} has a band limit; enter it, or clear the limit", "band",
                 whole=True)),
    _check("rate", "a channel's fee and ad rates take the whole sale",
           "SUMPRODUCT((Channel_rate*(1+Channel_tax_rate)+Channel_ad_rate>=1)*1)", _whole_sale),
)
# fmt: on
