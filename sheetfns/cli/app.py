"""The commands: thin, each a few calls of the package and a table."""

from __future__ import annotations

import csv
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer
from rich import box
from rich.console import Console
from rich.progress import Progress

from sheetfns.cli import install as installing
from sheetfns.cli import maintain as keeping
from sheetfns.cli.console import BAD_FILE, PROBLEMS_SHOWN, out, say, steps
from sheetfns.cli.console import money as _money
from sheetfns.cli.console import table_of as _table
from sheetfns.cli.console import tell as _tell
from sheetfns.demo import example_inputs
from sheetfns.errors import LogFileError
from sheetfns.files.safe_files import make_folder
from sheetfns.functions.growth import LEAST_PATHS, MOST_PATHS
from sheetfns.hosts import engine
from sheetfns.log.compare import compare
from sheetfns.log.compute import LAST_TAX_YEAR, LogResults, compute_log, year_figures
from sheetfns.log.edit.patch import refresh_values
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import inputs_of_today
from sheetfns.log.model.sheets import EDITIONS
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.forecast.picture import save_fan
from sheetfns.log.sheets.forecast.report import PATHS, Outlook, look_ahead
from sheetfns.log.sheets.words import CAUTION, DEFAULT_ROWS
from sheetfns.log.write.build import build_log
from sheetfns.pages.generated import PAGES, write_pages
from sheetfns.pages.reference import by_category
from sheetfns.programs.excel.macro_log import build_macro_log
from sheetfns.registry import REGISTRY, FunctionSpec
from sheetfns.yearend.package import check_year, csv_cell, make_package, refuse_if_made
from sheetfns.yearend.reasons import in_groups

app = typer.Typer(
    help="Worksheet functions and a sourcing log for a small resale business.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
DEMO_ROWS = 250
PIECES_SHOWN = 5


def main() -> None:
    """Run a command; a file that cannot be used gives one line and exit code 2."""
    try:
        app()
    except LogFileError as error:
        _tell(str(error), style="bold")
        sys.exit(BAD_FILE)


@app.command()
def new(
    file: Annotated[Path, typer.Argument(help="The new file: .xlsx, or .xlsm with macros for Excel.")],
    edition: Annotated[
        keeping.EditionName,
        typer.Option(
            help="plain has ordinary formulas only; functions calls the named functions; lambda is "
            "plain with the functions as names, for any cell, in programs that have LAMBDA."
        ),
    ] = keeping.EditionName.plain,
    rows: Annotated[int, typer.Option(help="Ready rows on the sourcing log.")] = DEFAULT_ROWS,
) -> None:
    """Make an empty sourcing log; for one with the entries of another see refit."""
    ending = file.suffix.lower()
    if ending not in (".xlsx", ".xlsm"):
        raise LogFileError(f"{file}: give the new file a name that ends in .xlsx or .xlsm")
    if file.exists():
        raise LogFileError(f"{file}: is there already; choose another name")
    if ending == ".xlsm" and edition is not keeping.EditionName.functions:
        raise LogFileError(
            f"{file}: a workbook with macros calls the functions; add --edition functions, or "
            "give it a name that ends in .xlsx"
        )
    with steps(3) as step:
        if ending == ".xlsm":
            build_macro_log(file, rows, inputs_of_today(), step)
        else:
            build_log(file, edition.value, rows, inputs_of_today(), step)
    out.print(f"{file} is ready: open it and begin with sheet Start.", highlight=False)
    if edition == keeping.EditionName.with_lambda:
        out.print(
            "In a program with LAMBDA you can type the functions that sheet Functions lists into "
            "any cell of it, with nothing installed.",
            highlight=False,
        )


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(help="Where the example shop's log is written.")] = Path("sheetfns-demo"),
) -> None:
    """Build an invented shop's filled log, recalculate it and show what it earns."""
    make_folder(folder)
    entries = example_inputs()
    files = {edition: folder / f"sourcing_log_{edition}.xlsx" for edition in EDITIONS}
    with steps(3 * len(files) + 1) as step:
        for edition, file in files.items():
            build_log(file, edition, DEMO_ROWS, entries, step)
        step("Recalculating the functions edition")
        values = engine.recalculate(files["functions"])
    content = load_log(files["functions"])
    figures = compute_log(content)
    _print_months(figures["Money"])
    sold = figures["Log"].dropna(subset=["net_profit"]).sort_values("net_profit")
    _print_pieces("Best pieces", sold.iloc[::-1].head(PIECES_SHOWN))
    _print_pieces("Worst pieces", sold.head(PIECES_SHOWN))
    last = figures["Money"].iloc[-1]
    year = int(content.settings["Tax_year"])
    totals = year_figures(figures, year)
    cash, stock = _money(last["closing_cash"]), _money(last["closing_stock"])
    out.print(f"Cash {cash}, stock at cost {stock}.", highlight=False)
    net = _money(totals.amounts["net_profit"])
    out.print(f"Net profit of {year} so far, after miles and home office: {net}.", highlight=False)
    cells = sum(len(row) for rows in values.sheets.values() for row in rows)
    out.print(f"Functions edition recalculated headless: {cells} cells, {len(values.errors)} errors.", highlight=False)
    for edition, file in files.items():
        shown = load_log(file)
        result = compare(compute_log(shown))
        agree = "all agree" if not result.differences else f"{len(result.differences)} differ"
        out.print(
            f"{file} ({edition} edition): {result.compared} figures of the workbook against Python, {agree}.",
            highlight=False,
            soft_wrap=True,
        )


@app.command()
def recalc(file: Annotated[Path, typer.Argument(help="A log of either edition.")]) -> None:
    """Recalculate a log with no spreadsheet program and store the results in it."""
    with steps(2) as step:
        values, copy = refresh_values(file, step)
    count = len(values.errors)
    if count:
        _say_errors(file, values)
    cells = "1 cell" if count == 1 else f"{count} cells"
    out.print(
        f"{file}: recalculated, {cells} with an error. The file as it was: {copy.name}", highlight=False, soft_wrap=True
    )
    if count:
        out.print("Totals may leave these cells out; mend them before you use the figures.")
        raise typer.Exit(1)


def _say_errors(file: Path, values: engine.Recalculated) -> None:
    """The cells to mend if the file is a log, else every cell that shows an error."""
    try:
        _say_problems(load_log(file), 0)
    except LogFileError:
        for error in values.errors[:PROBLEMS_SHOWN]:
            out.print(str(error), markup=False, highlight=False, soft_wrap=True)


@app.command()
def summary(
    file: Annotated[Path, typer.Argument(help="A filled log of either edition, .xlsx or .ods.")],
    year: Annotated[
        int | None, typer.Option(min=1, max=LAST_TAX_YEAR, help="The tax year; the one on Settings if left out.")
    ] = None,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print it as CSV.")] = False,
) -> None:
    """Show a tax year's figures of a log."""
    content = load_log(file)
    figures = compute_log(content)
    year = int(content.settings["Tax_year"]) if year is None else year
    found = year_figures(figures, year)
    if not found.lines:
        raise LogFileError(
            f"{file}: table tax_lines has no lines of '{found.rules}' for {year}; choose other "
            "rules on Settings or another year, or take a newer sheetfns"
        )
    if not (found.amounts["gross_receipts"] or found.amounts["purchases_in_all"]):
        _tell(f"{file}: nothing was bought or sold in {year}.")
    if as_csv:
        writer = csv.writer(sys.stdout)
        writer.writerow(["line", "line_no", "amount"])
        writer.writerows(
            [csv_cell(line.label), line.line.line, csv_cell(line.amount, "money")]
            for line in found.lines
            if line.amount is not None
        )
    else:
        table = _table(f"Year {year}, {_currency(content)}", "Line", "No.", "Amount", words=2)
        for line in found.lines:
            amount = "" if line.amount is None else _money(line.amount)
            style = None if line.line.part == "line" else "bold"
            table.add_row(line.label, line.line.line, amount, style=style)
        out.print(table)
        out.print(CAUTION, highlight=False)
    for name in found.missing:
        _tell(f"Settings, Tax figures by date: no single row of {name} covers {year}-12-31.")
    _say_problems(content, figures.left_out)


@app.command(name="year-end")
def year_end(
    file: Annotated[Path, typer.Argument(help="A filled log of either edition, .xlsx or .ods.")],
    folder: Annotated[Path, typer.Option("--out", help="The folder for the package.")],
    year: Annotated[
        int | None, typer.Option(min=1, max=LAST_TAX_YEAR, help="The tax year; the one on Settings if left out.")
    ] = None,
    draft: Annotated[bool, typer.Option("--draft", help="Make it though it is not complete, stamped DRAFT.")] = False,
) -> None:
    """Make the package of a tax year for the preparer: .xlsx, .pdf and .csv files."""
    with steps(3) as step:
        step(f"Reading {file}")
        content = load_log(file)
        figures = compute_log(content)
        year = int(content.settings["Tax_year"]) if year is None else year
        refuse_if_made(folder, year, draft=draft)
        step(f"Working out {year} in two ways")
        findings = check_year(figures, year)
        complete = not findings.reasons
        if complete or draft:
            step("Writing the package")
            made = make_package(figures, year, folder, findings, draft=draft)
    if not complete and not draft:
        _say_reasons(file, year, in_groups(findings.reasons))
        raise typer.Exit(1)
    for path in made.files:
        out.print(str(path), highlight=False, soft_wrap=True)
    if made.not_printed:
        _tell(
            f"Only the .xlsx and .csv files were made: {made.not_printed}. Print sheet Summary of "
            "the .xlsx if you want it on paper."
        )
    words = "is a draft: look at sheet Problems" if draft else "is complete"
    if findings.notices and not draft:
        words += "; sheet Problems says what else is worth a look"
    out.print(f"{year} {words}. {CAUTION}", highlight=False, soft_wrap=True)


def _say_reasons(file: Path, year: int, reasons: list[str]) -> None:
    number = "1 thing keeps" if len(reasons) == 1 else f"{len(reasons)} things keep"
    _tell(f"{file}: {number} {year} from being complete; nothing was written.")
    for reason in reasons[:PROBLEMS_SHOWN]:
        _tell(reason)
    more = len(reasons) - PROBLEMS_SHOWN
    if more > 0:
        _tell(f"... and {more} more.")
    _tell("Mend them and run this again, or add --draft for a package stamped DRAFT.")


@app.command()
def outlook(
    file: Annotated[Path, typer.Argument(help="A filled log of either edition, .xlsx or .ods.")],
    png: Annotated[Path | None, typer.Option(help="Save the outlook as a picture, ending in .png.")] = None,
    pay: Annotated[
        float | None, typer.Option(min=0, help="The pay wanted a month; that on Settings if left out.")
    ] = None,
    paths: Annotated[int, typer.Option(min=LEAST_PATHS, max=MOST_PATHS, help="How many courses are drawn.")] = PATHS,
    seed: Annotated[int, typer.Option(min=0, help="The same seed gives the same figures.")] = 1,
) -> None:
    """Show how far a log's money may go, and the chance that it carries a pay."""
    if png is not None:
        _refuse_picture(png)
    content = load_log(file)
    if pay is not None:
        content.settings["Pay_wanted"] = pay
    figures = compute_log(content)
    try:
        ahead = _look_ahead(figures, paths, seed)
    except LogFileError:
        _say_problems(content, figures.left_out)
        raise
    _print_averages(content, ahead.averages)
    _print_outlook(ahead)
    for words in ahead.words:
        out.print(words, highlight=False, soft_wrap=True)
    out.print("This tells of the past of this log, not of what the market will do.")
    if png is not None:
        save_fan(png, ahead.weeks, [row[:5] for row in ahead.odds], _currency(content))
        out.print(f"{png}: the outlook as a picture.", highlight=False, soft_wrap=True)
    _say_problems(content, figures.left_out)


def _refuse_picture(png: Path) -> None:
    if png.suffix.lower() != ".png":
        raise LogFileError(f"{png}: give the picture a name that ends in .png")
    if png.exists():
        raise LogFileError(f"{png}: is there already; choose another name")


def _look_ahead(figures: LogResults, paths: int, seed: int) -> Outlook:
    """The outlook, with a bar that shows how far it is."""
    with Progress(console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task(f"Drawing {paths} courses ...", total=paths)
        return look_ahead(figures, paths, seed, lambda done: progress.update(task, completed=done))


def _currency(content: LogContent) -> str:
    return str(content.settings.get("Currency") or "")


def _print_averages(content: LogContent, pay: dict[str, Any]) -> None:
    table = _table(f"Where it begins, {_currency(content)}", "What", "Figure")
    for label, figure in (
        ("Cash by the log", _money(pay["cash"])),
        ("Free of bills, refunds, taxes", _money(pay["left_taxes"])),
        ("Stock at cost", _money(pay["stock_now"])),
        ("Earned on each 1 of cost", f"{pay['return_rate']:.2f}"),
        ("Days until stock is sold", f"{pay['days_to_turn']:.0f}"),
        ("Fixed costs a week", _money(pay["fixed_week"])),
        ("Pay wanted a week", _money(pay["pay_week"])),
        ("Kept for the next purchases", _money(pay["restock_reserve"])),
        ("Most stock bought in a week", _money(pay["limit_week"])),
    ):
        table.add_row(label, figure)
    out.print(table)


def _print_outlook(ahead: Outlook) -> None:
    with_pay = ahead.with_pay
    names = ["Cash", "Stock", "Drawn", "Low", "Middle", "High", *(["Carried"] if with_pay else [])]
    table = _table("The weeks ahead, in whole money", "Week", *names, words=0)
    table.box = box.SIMPLE_HEAD
    for column in table.columns:
        column.overflow = "fold"
    for week, *averages, (_, low, middle, high, chance, _) in ahead.shown_weeks():
        figures = [f"{amount:,.0f}" for amount in (*averages, low, middle, high)]
        carried = [f"{chance:.0%}"] if with_pay else []
        table.add_row(str(week), *figures, *carried)
    out.print(table)
    lines = [
        "Cash free of bills, refunds and taxes, stock, drawn: if the averages go on.",
        "Low, middle, high: both, less what is owed, of courses drawn from all pieces;",
        "one of ten ends below low, nine of ten end below high.",
    ]
    if with_pay:
        lines.append("Carried: the chance that every week from this one on draws the whole pay.")
    out.print(*lines, sep="\n", highlight=False, soft_wrap=True)


@app.command()
def functions(
    name: Annotated[str | None, typer.Argument(help="A function, such as NET_PROFIT.")] = None,
    markdown: Annotated[bool, typer.Option("--markdown", help="List them as the README does.")] = False,
    as_reference: Annotated[
        bool, typer.Option("--reference", help="Explain all, with worked examples, as a Markdown page.")
    ] = False,
    as_stub: Annotated[bool, typer.Option("--stub", help="Give their types, as type checkers read them.")] = False,
    write: Annotated[
        bool,
        typer.Option(
            "--write",
            help="In a clone of sheetfns: write README.md (--markdown), examples/functions.md "
            "(--reference) and sheetfns/__init__.pyi (--stub) anew; all three if none is named.",
        ),
    ] = False,
) -> None:
    """List the worksheet functions, or explain one."""
    chosen = zip((markdown, as_reference, as_stub), PAGES, strict=True)
    pages = tuple(page for wanted, page in chosen if wanted)
    if name is not None:
        if pages or write:
            raise LogFileError(f"{name}: leave the name out; a page has all functions")
        _explain(name)
    elif write:
        for words in write_pages(pages or PAGES, Path.cwd()):
            say(words)
    elif pages:
        for page in pages:
            # As bytes: not every terminal's encoding has all characters of the examples.
            typer.echo(page.make().encode(), nl=False)
    else:
        table = _table("Worksheet functions", "Category", "Function", "What it answers", words=3)
        for spec in by_category():
            table.add_row(spec.category, spec.name, spec.help)
        out.print(table)


def _explain(name: str) -> None:
    spec: FunctionSpec | None = REGISTRY.get(name.upper())
    if spec is None:
        raise LogFileError(f"{name}: is not a worksheet function; run 'sheetfns functions'")
    explain: Callable[..., Any] = lambda text: out.print(text, markup=False, highlight=False)  # noqa: E731
    explain(f"{spec.usage()}\n{spec.help}\n")
    table = _table("Arguments", "Argument", "What it is", "Kind", "If left out", words=4)
    for argument in spec.arguments:
        limits = f"{argument.kind.name}, {argument.kind.in_words()}"
        table.add_row(argument.name, argument.help, limits, argument.default_in_words())
    out.print(table)
    for section in ("Returns", "Shape", "Errors", "Formula", "Source"):
        explain(f"{section}: {spec.sections[section]}")
    explain(f"Examples in Python:\n{spec.sections['Examples']}")


def _print_months(months: Any) -> None:
    table = _table("Profit by month", "Month", "Sales", "Cost of sold", "Net profit", "Cash", "Stock")
    for month in months.itertuples():
        table.add_row(
            f"{month.month:%Y-%m}",
            *(
                _money(amount)
                for amount in (month.sales, month.cost_of_sold, month.profit, month.closing_cash, month.closing_stock)
            ),
        )
    out.print(table)


def _print_pieces(title: str, pieces: Any) -> None:
    table = _table(title, "Item no.", "Description", "Landed cost", "Net profit", "Days", words=2)
    for piece in pieces.itertuples():
        table.add_row(
            piece.item_no,
            piece.description,
            _money(piece.landed_cost),
            _money(piece.net_profit),
            f"{piece.days_held:.0f}",
        )
    out.print(table)


def _say_problems(content: LogContent, left_out: int) -> None:
    for problem in content.problems[:PROBLEMS_SHOWN]:
        place = f"{problem.sheet}, {problem.cell}"
        _tell(f"{place}: {problem.message}")
    more = len(content.problems) - PROBLEMS_SHOWN
    if more > 0:
        _tell(f"... and {more} more.")
    if left_out:
        what = "1 row lacks what its" if left_out == 1 else f"{left_out} rows lack what their"
        _tell(f"{what} figures need, and the totals leave that out.")


keeping.add_to(app)
installing.add_to(app)

if __name__ == "__main__":
    main()
