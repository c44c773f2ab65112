"""What is wrong with sheet Settings beyond single cells: its checks, and its names."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sheetfns.cell_types import shown_cell
from sheetfns.log.model.sheets import Column, SettingsBlock
from sheetfns.log.model.typed_rows import USUAL_YEARS, Issue, ReadRows
from sheetfns.log.sheets.reference_lists import Names, pattern_refusal
from sheetfns.log.sheets.words import BUSINESS, RETURNED_ITEM, SETTINGS, YES
from sheetfns.tables import table_rows


def settings_problems(
    settings: Mapping[str, Any],
    blocks: Mapping[str, ReadRows],
    declared: Sequence[SettingsBlock],
    setting_cells: Mapping[str, str],
    header_of_words: str,
) -> list[Issue]:
    """What is wrong on Settings.

    Args:
        settings: value by name.
        blocks: the small tables by key.
        declared: the small tables of the layout.
        setting_cells: the cell of each setting.
        header_of_words: the cell over the words that say what the log adds to a heading.
    """
    found: list[Issue] = []
    columns = {block.key: block.columns for block in declared}

    def say(block: str, column: str, place: int, message: str, key: str) -> None:
        read = blocks[block]
        value = read.frame[column].iloc[place]
        shown = "blank" if value == "" or pd.isna(value) else shown_cell(value)
        found.append(Issue(read.sheet, read.cell(column, place), shown, message, key))

    for name, shown, message, key in _single_figures(settings):
        if name in setting_cells:
            found.append(Issue(SETTINGS, setting_cells[name], shown, message, key))
    for block in _WHY_NOT_TWICE:
        _names_of_block(blocks[block], columns[block][0], block, say)
    for block, read in blocks.items():
        _choices_of_block(read, columns[block], block, say)
    _partner_names(blocks["Partner"], say)
    _shares(blocks["Partner"].amounts("share"), say)
    _fee_terms(blocks["Channel"], say)
    missing = _words_of_headings(blocks["Heading"], columns["Heading"], say)
    if missing:
        header = next(c.header for c in columns["Heading"] if c.key == "from_log")
        found.append(Issue(SETTINGS, header_of_words, header, missing, "word_missing"))
    _mileage(blocks["Mileage"], say)
    _conditions(blocks["Condition"], say)
    _parcel_rules(blocks["Rule"], say)
    _units_of_rules(blocks["Rule"], blocks["Service"], settings, say)
    _services(blocks["Service"], blocks["Rule"], say)
    for rising in (block.key for block in declared if block.rises):
        _rising(blocks[rising], rising, columns[rising], say)
    _ages(blocks["Age"], say)
    _tax_lines(blocks["Heading"], str(settings.get("Year_rules") or ""), say)
    _tax_tables(blocks, columns, say)
    _tax_figures(blocks["TaxFigure"], say)
    _due_dates(blocks["Due"], columns["Due"], say)
    _steps(blocks["Markdown"], say)
    return found


SayOfBlock = Callable[[str, str, int, str, str], None]


def _single_figures(settings: Mapping[str, Any]) -> Iterator[tuple[str, str, str, str]]:
    """Name, what stands there, message and key of what is wrong with a figure or date."""
    first, as_of, year = (settings.get(key) for key in ("First_month", "As_of_date", "Tax_year"))
    if first is not None and first.day != 1:
        message = f"First month of this log: {first} is not the first day of a month; write {first.replace(day=1)}"
        yield "First_month", str(first), message, "not_first_day"
    if first is not None and as_of is not None and first > as_of:
        message = (
            f"First month of this log: {first} is after {as_of}, the day that figures are as of; "
            "fix the one that is wrong"
        )
        yield "First_month", str(first), message, "first_after_as_of"
    earliest, latest = USUAL_YEARS
    if year is not None and not earliest <= year <= latest:
        message = f"Tax year: {year:g} is not a year from {earliest} to {latest}; write it in full"
        yield "Tax_year", f"{year:g}", message, "year_far_off"


_WHY_NOT_TWICE: Final = {
    "Partner": "the log cannot tell them apart, so clear or rename one",
    "Channel": "only the terms of the first count, so clear or rename one",
    "Heading": "its expenses would count twice; delete one",
    "Condition": "only the worth of the first counts, so clear or rename one",
    "Box": "only the sides of the first count, so clear or rename one",
    "Service": "only the prices of the first count, so clear or rename one",
}


def _names_of_block(read: ReadRows, column: Column, block: str, say: SayOfBlock) -> None:
    first: dict[str, int] = {}
    for place, name in enumerate(read.words(column.key)):
        if not read.filled[column.key][place]:
            adds = read.words("from_log")[place] if block == "Heading" else ""
            message = f"{column.header} is blank; " + (
                f"Year end leaves such a row out, and '{shown_cell(adds)}' with it; write its name"
                if adds
                else "the row counts only with a name"
            )
            say(block, column.key, place, message, "no_name")
            continue
        refusal = pattern_refusal(column.header, name)
        if refusal:
            say(block, column.key, place, refusal, "read_as_pattern")
        if name and first.setdefault(name.casefold(), place) != place:
            row = read.rows[first[name.casefold()]]
            message = (
                f"{column.header}: '{shown_cell(name)}' stands in row {row} already and again in "
                f"row {read.rows[place]}; {_WHY_NOT_TWICE[block]}"
            )
            say(block, column.key, place, message, "name_twice")


def _choices_of_block(read: ReadRows, columns: Sequence[Column], block: str, say: SayOfBlock) -> None:
    for column in columns:
        if column.choices:
            names = Names(column.choices, "the list", own_words=False)
            words = read.words(column.key)
            for place in np.flatnonzero(names.unknown(words)).tolist():
                message = names.refusal(column.header, words[place])
                say(block, column.key, place, message, "unknown_choice")


def _partner_names(partners: ReadRows, say: SayOfBlock) -> None:
    reserved = {word.casefold() for word in (BUSINESS, RETURNED_ITEM)}
    for place, name in enumerate(partners.words("name")):
        if name.casefold() in reserved:
            message = (
                f"Partner: '{name}' means something else under Paid from, so that what this "
                "partner paid would not count; use another name, in the log too"
            )
            say("Partner", "name", place, message, "reserved_name")


def _words_of_headings(headings: ReadRows, columns: Sequence[Column], say: SayOfBlock) -> str:
    """Report words that are duplicated; the message about those that no heading has beside it."""
    column = next(column for column in columns if column.key == "from_log")
    names = headings.words("heading")
    first: dict[str, int] = {}
    for place, word in enumerate(headings.words("from_log")):
        if names[place] and word and first.setdefault(word.casefold(), place) != place:
            message = (
                f"{column.header}: '{word}' stands beside '{shown_cell(names[place])}' and "
                f"'{shown_cell(names[first[word.casefold()]])}', so that it counts twice; clear one"
            )
            say("Heading", "from_log", place, message, "word_twice")
    missing = ", ".join(f"'{word}'" for word in column.choices if word.casefold() not in first)
    if not missing:
        return ""
    listed = ", ".join(f"'{shown_cell(name)}'" for name in names if name) or "none yet"
    return (
        f"{column.header}: no named heading has {missing} beside it, so that Year end leaves that "
        f"out; write each beside one heading (there are {listed})"
    )


def _shares(shares: NDArray[np.float64], say: SayOfBlock) -> None:
    total = float(np.nansum(shares))
    if len(shares) and round(total - 1, 9):
        message = f"the partners' shares add up to {total * 100:.10g} %; change them so that they make 100 %"
        say("Partner", "share", 0, message, "shares")


def _fee_terms(channels: ReadRows, say: SayOfBlock) -> None:
    terms = {key: np.nan_to_num(channels.amounts(key)) for key in ("rate", "tax_rate", "ad_rate")}
    whole = terms["rate"] * (1 + terms["tax_rate"]) + terms["ad_rate"]
    minimum, maximum = channels.amounts("minimum"), channels.amounts("maximum")
    names = channels.words("name")
    for place in range(len(channels.rows)):
        if channels.filled["band_limit"][place] and not channels.filled["rate_above"][place]:
            message = f"Rate above is blank though channel '{names[place]}' has a band limit; "
            say("Channel", "rate_above", place, message + "write it, or clear the limit", "band")
        if minimum[place] > maximum[place]:
            message = (
                f"Minimum fee: {minimum[place]:.2f} of channel '{names[place]}' is over its maximum fee, "
                f"{maximum[place]:.2f}; fix the one that is wrong"
            )
            say("Channel", "minimum", place, message, "minimum_over_maximum")
        if whole[place] >= 1:
            message = (
                f"Fee rate: the rates of channel '{names[place]}' take {whole[place]:.2%} of a "
                "sale; write what its terms say"
            )
            say("Channel", "rate", place, message, "whole_sale")


def _mileage(mileage: ReadRows, say: SayOfBlock) -> None:
    begins, ends = mileage.dates("from"), mileage.dates("until")
    latest = np.datetime64("NaT")
    for place in range(len(mileage.rows)):
        for column, header in (("from", "From"), ("until", "Until"), ("rate", "Rate a mile")):
            if not mileage.filled[column][place]:
                message = f"{header} is blank; a rate per mile counts only with both days"
                say("Mileage", column, place, message, "not_recorded")
        if ends[place] < begins[place]:
            message = f"Until: {_day(ends[place])} is before {_day(begins[place])}; swap them"
            say("Mileage", "until", place, message, "until_early")
        if begins[place] <= latest:
            message = (
                f"From: {_day(begins[place])} does not come after {_day(latest)} above it; rates "
                "are looked up by date, so sort the rows and let none overlap"
            )
            say("Mileage", "from", place, message, "not_in_order")
        latest = np.fmax(latest, ends[place])


def _conditions(conditions: ReadRows, say: SayOfBlock) -> None:
    # Of what is no share, that is said already.
    nothing = ~conditions.filled["worth"] | (conditions.amounts("worth") == 0)
    for place, name in enumerate(conditions.words("name")):
        if name and nothing[place]:
            message = (
                f"Worth of '{shown_cell(name)}' is blank or 0; sales in this condition cannot be "
                "compared with others, so write a share such as 75%"
            )
            say("Condition", "worth", place, message, "no_worth")


def _parcel_rules(rules: ReadRows, say: SayOfBlock) -> None:
    """Rows are looked up by name and then by date, so they stand together, and their dates rise."""
    begins, divisors = rules.dates("from"), rules.amounts("divisor")
    for place in np.flatnonzero(divisors <= 0).tolist():
        message = (
            f"Divisor: {divisors[place]:g} is not above 0; write the volume that counts as one "
            "unit of weight, or clear it if only weight counts"
        )
        say("Rule", "divisor", place, message, "no_divisor")
    last: dict[str, int] = {}
    for place, name in enumerate(rules.words("name")):
        above = last.get(name.casefold())
        last[name.casefold()] = place
        if not name:
            say("Rule", "name", place, "Rule is blank; the row counts only with a name", "no_name")
        elif np.isnat(begins[place]):
            message = "From is blank; the row counts only from a date on"
            say("Rule", "from", place, message, "not_recorded")
        elif above is not None and rules.rows[above] != rules.rows[place] - 1:
            message = (
                f"Rule: '{shown_cell(name)}' stands apart from its row {rules.rows[above]}; put "
                "the rows of a rule one below the other"
            )
            say("Rule", "name", place, message, "not_in_order")
        elif above is not None and begins[place] <= begins[above]:
            message = (
                f"From: {_day(begins[place])} does not come after {_day(begins[above])} above it; "
                "sort the rows of the rule by date"
            )
            say("Rule", "from", place, message, "not_in_order")


def _units_of_rules(rules: ReadRows, services: ReadRows, settings: Mapping[str, Any], say: SayOfBlock) -> None:
    units = f"{settings.get('Weight_unit')} and {settings.get('Length_unit')}"
    used = Names(services.words("rule"), "")
    names = rules.words("name")
    for place, of_rule in enumerate(rules.words("units")):
        if of_rule and of_rule.casefold() != units.casefold() and names[place] in used:
            message = (
                f"Units: '{shown_cell(of_rule)}' are not those of this log, {units}; give the rule "
                "in those, or take it from the services that use it"
            )
            say("Rule", "units", place, message, "other_units")


def _services(services: ReadRows, rules: ReadRows, say: SayOfBlock) -> None:
    known = Names(rules.words("name"), "the parcel rules")
    words = services.words("rule")
    for place in np.flatnonzero(known.unknown(words)).tolist():
        say("Service", "rule", place, known.refusal("Parcel rule", words[place]), "unknown_choice")


def _rising(read: ReadRows, block: str, columns: Sequence[Column], say: SayOfBlock) -> None:
    """A small table whose rows are looked up by the figure in the first column."""
    key, header = columns[0].key, columns[0].header
    kind = "weight" if block == "Postage" else "day"
    highest = -np.inf
    for place, figure in enumerate(read.amounts(key)):
        if np.isnan(figure):
            if not read.filled[key][place]:
                message = f"{header} is blank; the row counts only with a {kind}"
                say(block, key, place, message, "not_recorded")
        elif figure <= highest:
            message = (
                f"{header}: {figure:g} does not come after {highest:g} above it; sort the rows by "
                f"{kind} and take out the one that is duplicated"
            )
            say(block, key, place, message, "not_in_order")
        elif place and read.rows[place] != read.rows[place - 1] + 1:
            message = f"{header}: over {figure:g} a row is blank; close the gap, or nothing below it is found"
            say(block, key, place, message, "not_in_order")
        highest = np.fmax(highest, figure)


def _ages(ages: ReadRows, say: SayOfBlock) -> None:
    days = ages.amounts("from_day")
    if len(days) and days[0] > 0:
        message = f"From day: {days[0]:g} is the first; write 0 there, or newer inventory is left out"
        say("Age", "from_day", 0, message, "not_from_0")


def _tax_lines(headings: ReadRows, rules: str, say: SayOfBlock) -> None:
    """Under rules that know lines, each heading needs one."""
    needed = {row["rules"].casefold() for row in table_rows("tax_rules") if row["lines_needed"] == YES}
    if rules.casefold() not in needed:
        return
    for place, name in enumerate(headings.words("heading")):
        if name and not headings.filled["tax_line"][place]:
            message = (
                f"Tax line of '{shown_cell(name)}' is blank, so that no line of Year end counts "
                "its expenses; choose one from the list"
            )
            say("Heading", "tax_line", place, message, "no_tax_line")


def _tax_tables(blocks: Mapping[str, ReadRows], columns: Mapping[str, Sequence[Column]], say: SayOfBlock) -> None:
    """Rows of one tax year: the year is there, names are known, and none is duplicated."""
    for block, names, home in (
        ("ByYear", "", ""),
        ("Due", "", ""),
        ("Taxes", "partner", "Partner"),
        ("Reported", "channel", "Channel"),
    ):
        read = blocks[block]
        headers = {column.key: column.header for column in columns[block]}
        years = read.amounts("year")
        words = read.words(names) if names else [""] * len(years)
        known = Names(blocks[home].words("name") if home else (), SETTINGS)
        first: dict[tuple[float, str], int] = {}
        for place, (year, word) in enumerate(zip(years.tolist(), words, strict=True)):
            if not read.filled["year"][place]:
                message = "Tax year is blank; the row counts only for a year, such as 2026"
                say(block, "year", place, message, "no_year")
            if year < USUAL_YEARS[0] or year > USUAL_YEARS[1]:
                message = f"Tax year: {year:g} is not a year from 2000 to 2199; write it in full"
                say(block, "year", place, message, "year_far_off")
            if names and not word:
                message = f"{headers[names]} is blank; the row counts only with one of Settings"
                say(block, names, place, message, "no_name")
            elif names and word not in known:
                message = known.refusal(headers[names], word)
                say(block, names, place, message, "unknown_choice")
            if block == "Reported" and not read.filled["gross"][place]:
                message = "Reported gross is blank; write what the report says, or 0"
                say(block, "gross", place, message, "not_recorded")
            above = first.setdefault((year, word.casefold()), place)
            if above != place and block != "Reported":
                message = (
                    f"Tax year: {year:g} stands in row {read.rows[above]} already"
                    + (f" for '{shown_cell(word)}'" if word else "")
                    + "; put both into one row"
                )
                say(block, "year", place, message, "year_twice")


def _tax_figures(figures: ReadRows, say: SayOfBlock) -> None:
    begins, ends = figures.dates("from"), figures.dates("until")
    names = figures.words("name")
    for place, name in enumerate(names):
        for column, header in (("name", "Figure"), ("from", "From"), ("until", "Until"), ("value", "Value")):
            if not figures.filled[column][place]:
                message = f"{header} is blank; a tax figure counts only with its word, days and value"
                say("TaxFigure", column, place, message, "not_recorded")
        if ends[place] < begins[place]:
            message = f"Until: {_day(ends[place])} is before {_day(begins[place])}; swap them"
            say("TaxFigure", "until", place, message, "until_early")
        for above in range(place):
            both = name and names[above].casefold() == name.casefold()
            if both and begins[place] <= ends[above] and begins[above] <= ends[place]:
                message = (
                    f"From: '{shown_cell(name)}' has a figure for {_day(begins[place])} in row "
                    f"{figures.rows[above]} already; let no days are duplicated, or neither counts"
                )
                say("TaxFigure", "from", place, message, "figure_twice")
                break


def _due_dates(due: ReadRows, columns: Sequence[Column], say: SayOfBlock) -> None:
    for column in columns:
        if column.kind.holds == "date":
            for place in np.flatnonzero(~due.filled[column.key]).tolist():
                message = f"{column.header} is blank; write the day by which it is due"
                say("Due", column.key, place, message, "not_recorded")


def _steps(steps: ReadRows, say: SayOfBlock) -> None:
    for place in np.flatnonzero(~steps.filled["share"]).tolist():
        say("Markdown", "share", place, "Comes off is blank; write a share such as 10%", "no_share")


def _day(day: np.datetime64) -> str:
    return str(day)[:10]
