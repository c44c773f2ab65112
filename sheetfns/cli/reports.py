"""The commands that show what a log says: summary, year-end, forecast."""

from __future__ import annotations

import csv
import sys
from pathlib import Path
from typing import Annotated, Any

import typer
from rich import box

from sheetfns.cli.console import bar, counted, echo, first_lines, money, out, steps, table_of, warn, warn_of
from sheetfns.cli.forecast_chart import save_fan
from sheetfns.errors import LogFileError
from sheetfns.functions.growth import LEAST_PATHS, MOST_PATHS
from sheetfns.log.compute import LAST_TAX_YEAR, compute_log, year_figures
from sheetfns.log.forecast import PATHS, Forecast, look_ahead
from sheetfns.log.load import load_log
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.words import CAUTION
from sheetfns.log.sheets.year_end.compute import YearFigures
from sheetfns.yearend.package import check_year, csv_cell, make_package, refuse_if_made
from sheetfns.yearend.reasons import in_groups

_Log = Annotated[Path, typer.Argument(help="A filled log of either edition, .xlsx or .ods.")]
_Year = Annotated[
    int | None, typer.Option(min=1, max=LAST_TAX_YEAR, help="The tax year; the one on Settings if left out.")
]


# ---- summary -------------------------------------------------------------------------------------


def summary(
    file: _Log, year: _Year = None, as_csv: Annotated[bool, typer.Option("--csv", help="Print it as CSV.")] = False
) -> None:
    """Show a tax year's figures of a log."""
    content = load_log(file)
    figures = compute_log(content)
    year = _tax_year(content) if year is None else year
    found = year_figures(figures, year)
    if not found.lines:
        raise LogFileError(
            f"{file}: table tax_lines has no lines of '{found.rules}' for {year}; choose other "
            "rules on Settings or another year, or take a newer sheetfns"
        )
    if not (found.amounts["gross_receipts"] or found.amounts["purchases_in_all"]):
        warn(f"{file}: nothing was bought or sold in {year}.")
    if as_csv:
        _write_lines(found)
    else:
        _echo_lines(found, f"Year {year}, {_currency(content)}")
    for name in found.missing:
        warn(f"Settings, Tax figures by date: no single row of {name} covers {year}-12-31.")
    _warn_of_gaps(content, figures.left_out)


def _write_lines(found: YearFigures) -> None:
    writer = csv.writer(sys.stdout)
    writer.writerow(["line", "line_no", "amount"])
    for line in found.lines:
        if line.amount is not None:
            writer.writerow([csv_cell(line.label), line.line.line, csv_cell(line.amount, "money")])


def _echo_lines(found: YearFigures, title: str) -> None:
    table = table_of(title, "Line", "No.", "Amount", words=2)
    for line in found.lines:
        amount = "" if line.amount is None else money(line.amount)
        table.add_row(line.label, line.line.line, amount, style=None if line.line.part == "line" else "bold")
    out.print(table)
    echo(CAUTION, wrap=True)


# ---- year-end ------------------------------------------------------------------------------------


def year_end(
    file: _Log,
    folder: Annotated[Path, typer.Option("--out", help="The folder for the package.")],
    year: _Year = None,
    draft: Annotated[bool, typer.Option("--draft", help="Make it though it is not complete, stamped DRAFT.")] = False,
) -> None:
    """Make the package of a tax year for the preparer: .xlsx, .pdf and .csv files."""
    with steps(3) as step:
        step(f"Reading {file}")
        content = load_log(file)
        figures = compute_log(content)
        year = _tax_year(content) if year is None else year
        refuse_if_made(folder, year, draft=draft)
        step(f"Working out {year} in two ways")
        findings = check_year(figures, year)
        made = None
        if draft or not findings.reasons:
            step("Writing the package")
            made = make_package(figures, year, folder, findings, draft=draft)
    if made is None:
        _warn_of_reasons(file, year, in_groups(findings.reasons))
        raise typer.Exit(1)
    for path in made.files:
        echo(str(path))
    if made.not_printed:
        warn(
            f"Only the .xlsx and .csv files were made: {made.not_printed}. Print sheet Summary of "
            "the .xlsx if you want it on paper."
        )
    words = "is a draft: look at sheet Problems" if draft else "is complete"
    if findings.notices and not draft:
        words += "; sheet Problems says what else is worth a look"
    echo(f"{year} {words}. {CAUTION}")


def _warn_of_reasons(file: Path, year: int, reasons: list[str]) -> None:
    keep = "keeps" if len(reasons) == 1 else "keep"
    warn(f"{file}: {counted(len(reasons), 'thing')} {keep} {year} from being complete. Nothing was written.")
    for line in first_lines(reasons):
        warn(line)
    warn("Fix them and run this again, or add --draft for a package stamped DRAFT.")


# ---- forecast ------------------------------------------------------------------------------------


def forecast(
    file: _Log,
    png: Annotated[Path | None, typer.Option(help="Save the forecast as a picture, ending in .png.")] = None,
    pay: Annotated[
        float | None, typer.Option(min=0, help="The pay wanted a month; that on Settings if left out.")
    ] = None,
    paths: Annotated[int, typer.Option(min=LEAST_PATHS, max=MOST_PATHS, help="How many runs are drawn.")] = PATHS,
    seed: Annotated[int, typer.Option(min=0, help="The same seed gives the same figures.")] = 1,
) -> None:
    """Show how far a log's money may go, and the chance that it carries a pay."""
    if png is not None:
        _refuse_picture(png)
    content = load_log(file)
    if pay is not None:
        content.settings["Pay_target"] = pay
    figures = compute_log(content)
    try:
        with bar(f"Drawing {paths} runs ...", paths) as done:
            ahead = look_ahead(figures, paths, seed, done)
    except LogFileError:
        _warn_of_gaps(content, figures.left_out)
        raise
    _echo_averages(ahead.averages, _currency(content))
    _echo_weeks(ahead)
    for words in ahead.words:
        echo(words)
    echo("This tells of the past of this log, not of what the market will do.", wrap=True)
    if png is not None:
        save_fan(png, ahead.weeks, [row[:5] for row in ahead.odds], _currency(content))
        echo(f"{png}: the forecast as a picture.")
    _warn_of_gaps(content, figures.left_out)


def _refuse_picture(png: Path) -> None:
    if png.suffix.lower() != ".png":
        raise LogFileError(f"{png}: give the picture a name that ends in .png")
    if png.exists():
        raise LogFileError(f"{png}: is there already; choose another name")


def _echo_averages(pay: dict[str, Any], currency: str) -> None:
    table = table_of(f"Where it begins, {currency}", "What", "Figure")
    for label, figure in (
        ("Cash per log", money(pay["cash"])),
        ("Free of bills, refunds, taxes", money(pay["left_taxes"])),
        ("Inventory at cost", money(pay["inventory_now"])),
        ("Earned on each 1 of cost", f"{pay['return_rate']:.2f}"),
        ("Days until inventory is sold", f"{pay['days_to_turn']:.0f}"),
        ("Fixed costs a week", money(pay["fixed_week"])),
        ("Weekly pay target", money(pay["pay_week"])),
        ("Kept for the next purchases", money(pay["restock_reserve"])),
        ("Weekly buying limit", money(pay["limit_week"])),
    ):
        table.add_row(label, figure)
    out.print(table)


def _echo_weeks(ahead: Forecast) -> None:
    names = ["Cash", "Inventory", "Drawn", "Low", "Middle", "High", *(["Covered"] if ahead.with_pay else [])]
    table = table_of("The weeks ahead, in whole units", "Week", *names, words=0)
    table.box = box.SIMPLE_HEAD
    for column in table.columns:
        column.overflow = "fold"
    for week, *averages, (_, low, middle, high, chance, _) in ahead.shown_weeks():
        amounts = [f"{amount:,.0f}" for amount in (*averages, low, middle, high)]
        table.add_row(str(week), *amounts, *([f"{chance:.0%}"] if ahead.with_pay else []))
    out.print(table)
    echo("Cash free of bills, refunds and taxes, inventory, drawn: if the averages go on.")
    echo("Low, middle, high: both, less what is owed, of simulated runs from all items;")
    echo("one of ten ends below low, nine of ten end below high.")
    if ahead.with_pay:
        echo("Covered: the chance that every week from this one on draws the whole pay.")


# ---- what they share -----------------------------------------------------------------------------


def _tax_year(content: LogContent) -> int:
    return int(content.settings["Tax_year"])


def _currency(content: LogContent) -> str:
    return str(content.settings.get("Currency") or "")


def _warn_of_gaps(content: LogContent, left_out: int) -> None:
    """What in a log cannot be used, and how many rows the totals leave out."""
    warn_of(content.problems)
    if left_out:
        what = "1 row lacks what its" if left_out == 1 else f"{left_out} rows lack what their"
        warn(f"{what} figures need, and the totals leave that out.")
