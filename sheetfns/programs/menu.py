"""The commands of menu "Sourcing log", the same in every spreadsheet program.

A host gives a `Screen`: what the program can ask, show and change. The commands work on a copy of
the log as it stands on the screen, so that nothing has to be saved or closed first, and what they
change is changed on the screen, where it can be undone.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Final

from sheetfns.cell_types import YEAR, counted
from sheetfns.errors import LogFileError
from sheetfns.former_names import MENU_KEYS
from sheetfns.log.check.report import Finding, check_log
from sheetfns.log.compute import LogResults, compute_log
from sheetfns.log.edit.pocket import make_pocket
from sheetfns.log.edit.record import Item, Recorder
from sheetfns.log.edit.upgrade import LEFT_OVER, upgrade_log
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import inputs_of_today
from sheetfns.log.sheets.words import CAUTION, DEFAULT_ROWS, FINDS, LOG
from sheetfns.log.write.build import build_log
from sheetfns.programs import jobs_import
from sheetfns.programs.findings import own_command
from sheetfns.programs.forms import Field, Form
from sheetfns.programs.jobs_help import about, explain_cell
from sheetfns.programs.jobs_merge import merge
from sheetfns.programs.jobs_record import Ask, Edits, add_item, mark_returned, mark_sold, other_disposition
from sheetfns.programs.menu_entries import COMMANDS
from sheetfns.programs.result_files import Place
from sheetfns.programs.screens import Screen, StoppedError, copy_of_log
from sheetfns.programs.shown_rows import Rows, forecast_rows, function_rows, gap_rows, year_rows
from sheetfns.yearend.package import check_year, make_package, refuse_if_made
from sheetfns.yearend.reasons import in_groups

REASONS_SHOWN: Final = 8


def run(key: str, screen: Screen) -> None:
    """Run a command; whatever goes wrong is told on the screen.

    Args:
        key: which command, see `COMMANDS`; macros and menus that are installed may give its former key.
        screen: the program that asks and shows.

    Errors:
        KeyError: there is no such command.
    """
    key = MENU_KEYS.get(key, key)
    command = {one.key: one for one in COMMANDS}[key]
    try:
        _RUN[key](screen)
    except StoppedError:
        screen.finish()
    except LogFileError as error:
        screen.show_message(_on_screen(str(error)))
    except Exception as fault:  # noqa: BLE001  (a program would swallow it or show a trace)
        screen.show_message(
            f"{command.title}: a fault in the program ({type(fault).__name__}: {fault}). "
            f"Your workbook is as it was. Run {own_command('doctor')} in a terminal, and report this."
        )
    finally:
        screen.finish()


def new_log(screen: Screen) -> None:
    """Make an empty log and open it."""
    path = screen.ask_new_file("Where should the new log be saved?", "my_log.xlsx")
    if path is None:
        return
    if path.suffix.lower() != ".xlsx":
        path = path.with_name(f"{path.name}.xlsx")
    if path.exists():
        raise LogFileError(f"{path}: already exists; choose another name")
    calls = screen.ask_yes(
        "Should its columns call the functions?\n\n"
        "Yes: it also calculates the best buying plan, the best title and the odds; it needs these functions wherever "
        "it is opened.\n"
        "No: formulas only; it needs nothing installed."
    )
    screen.step("Making the log")
    build_log(path, "functions" if calls else "plain", DEFAULT_ROWS, inputs_of_today())
    screen.open_file(path)


def check(screen: Screen) -> None:
    """List what is to fix in the log on the screen, and fix what can mean one thing only."""
    with copy_of_log(screen) as log:
        report = check_log(log, screen.step)
    if not report.findings:
        screen.show_message(f"{report.summary}.")
        return
    rows: Rows = [["Sheet", "Cell", "Cells", "What to do", "Found", "Kind", "Fixed for you"]]
    rows += [
        [
            *(one.sheet, Place(one.cell, one.sheet), float(one.times), _on_screen(one.message), one.found, one.group),
            "yes" if one.repairs else None,
        ]
        for one in report.findings
    ]
    screen.show_table("Findings", rows, (16, 8, 6, 90, 24, 24, 14))
    certain = [one for one in report.findings if one.repairs]
    if not certain:
        screen.show_message(f"{report.summary}; the new workbook lists them.")
        return
    edits = [edit for one in _chosen(screen, report.summary, certain) for edit in one.repairs]
    if edits:
        screen.set_cells(edits)
        screen.show_message(f"Fixed: {counted(len(edits), 'cell')}. Look at them, then save; Undo takes it back.")


def _records(job: Callable[[Recorder, Ask, Item | None], Edits]) -> Callable[[Screen], None]:
    """A command that enters one row."""

    def command(screen: Screen) -> None:
        with copy_of_log(screen) as log:
            recorder = Recorder(load_log(log))
        where = screen.selected()
        row = where[1] if where is not None and where[0] == LOG else 0
        chosen = next((one for one in (*recorder.on_hand(), *recorder.sold()) if one.row == row), None)
        edits = job(recorder, screen.ask_form, chosen)
        if edits:
            screen.set_cells(edits)

    return command


def summary(screen: Screen) -> None:
    """List the figures of a year that is asked for."""
    with copy_of_log(screen) as log:
        content = load_log(log)
        figures = compute_log(content)
    usual = f"{content.settings['Tax_year']:.0f}"
    answers = screen.ask_form(Form("Summary of a year", (Field("year", "Year", YEAR, default=usual, needed=True),)))
    if answers is not None:
        _show_year(screen, figures, int(answers["year"]))


def _show_year(screen: Screen, figures: LogResults, year: int) -> None:
    screen.show_table(f"Year {year}", year_rows(figures, year), (70, 8, 14))


def _chosen(screen: Screen, summary: str, certain: Sequence[Finding]) -> Sequence[Finding]:
    """What of it the user wants fixed: all, or each after its own question."""
    cells = counted(sum(len(one.repairs) for one in certain), "cell")
    lines = [f"{one.sheet}, {one.cell}: {_on_screen(one.message)}" for one in certain]
    if screen.ask_yes(
        f"{summary}; the new workbook lists them. {cells} can be fixed for you:\n{_listed(lines)}\n\nFix all?"
    ):
        return certain
    if len(certain) == 1 or not screen.ask_yes("Choose one by one?"):
        return ()
    return [one for one, line in zip(certain, lines, strict=True) if screen.ask_yes(f"{line}\n\nFix this one?")]


def _title(key: str) -> str:
    return next(command.title for command in COMMANDS if command.key == key)


def _on_screen(message: str) -> str:
    """A message whose advice is followed in the menu, and not in a terminal."""
    for pattern, words in _ADVICE.items():
        message = re.sub(pattern, words, message)
    return message


def pocket_copy(screen: Screen) -> None:
    """Make a pocket copy of the log on the screen."""
    with copy_of_log(screen) as log:
        path = screen.ask_new_file("Where should the pocket copy be saved?", f"{log.stem}_pocket.xlsx")
        if path is None:
            return
        if path.suffix.lower() != ".xlsx":
            path = path.with_name(f"{path.name}.xlsx")
        screen.step("Making the pocket copy")
        made = make_pocket(log, path)
        name = log.name
    words = [f"{path.name} is ready: send it to your phone, and open it there in any spreadsheet program."]
    words += made.notes
    words.append(f"Back home, '{_title('merge_copy')}' in this menu adds what is on its sheet {FINDS} to {name}.")
    screen.show_message("\n".join(words))


def upgrade(screen: Screen) -> None:
    """Make a new log with today's layout from the one on the screen."""
    with copy_of_log(screen) as log:
        path = screen.ask_new_file("Where should the new log be saved?", "my_log_new.xlsx")
        if path is None:
            return
        if path.suffix.lower() != ".xlsx":
            path = path.with_name(f"{path.name}.xlsx")
        report = upgrade_log(log, path)
    words = [f"{path.name} is ready: {report.typed} entries were carried over and compared with the old log."]
    if report.own_sheets:
        words.append(f"Your own sheets, as values: {', '.join(report.own_sheets)}.")
    if report.left_over:
        words.append(f"Values without a place in the new log: {len(report.left_over)}; see its sheet {LEFT_OVER}.")
    screen.open_file(path)
    screen.show_message("\n".join(words))


def year_end(screen: Screen) -> None:
    """Show the tax year's figures; make the package for the preparer if it is wanted."""
    with copy_of_log(screen) as log:
        content = load_log(log)
        figures = compute_log(content)
    year = int(content.settings["Tax_year"])
    _show_year(screen, figures, year)
    findings = check_year(figures, year)
    draft = bool(findings.reasons)
    reasons = [_on_screen(reason) for reason in in_groups(findings.reasons)]
    state = f"{year}: {findings.counts()}." if not draft else f"{year} isn't complete:\n{_listed(reasons)}"
    what = "a draft of the package" if draft else "the package"
    if not screen.ask_yes(f"{state}\n\nCreate {what} for the tax preparer?"):
        return
    folder = screen.ask_folder("Which folder should the package go into?")
    if folder is None:
        return
    refuse_if_made(folder, year, draft=draft)
    screen.step("Making the package")
    made = make_package(figures, year, folder, findings, draft=draft)
    not_printed = f"\nNo PDF was made: {made.not_printed}." if made.not_printed else ""
    screen.show_message(f"{len(made.files)} files are in {folder}.{not_printed}\n{CAUTION}")


def forecast(screen: Screen) -> None:
    """Show the weeks ahead: the averages going on, and the odds drawn from the log's items."""
    with copy_of_log(screen) as log:
        content = load_log(log)
    figures = compute_log(content)
    screen.step("Drawing the odds")
    rows = [*forecast_rows(figures), *gap_rows(figures, _title("check_log"))]
    screen.show_table("Forecast", rows, (8, 12, 12, 12, 12, 12, 12, 30))


def import_sales(screen: Screen) -> None:
    """Fill the log on the screen from a CSV file: show what would change, then type it in."""
    file = screen.ask_file("Which file has the sales?", ".csv")
    if file is None:
        return
    with copy_of_log(screen) as log:
        jobs_import.import_sales(screen, file, log, _on_screen)


def show_help(screen: Screen) -> None:
    """Show what the menu's commands do, and every function."""
    head, *functions = function_rows()
    rows: Rows = [head]
    rows += [[command.title, command.help, None] for command in COMMANDS]
    rows += [[None, None, None], *functions]
    rows += [[None, None, None], ["Blank cells", _BLANK_CELLS, None], ["Caution", CAUTION, None]]
    screen.show_table("Help", rows, (24, 90, 90))


_BLANK_CELLS: Final = (
    "A blank optional argument takes its default. In LibreOffice a single blank cell arrives as 0: "
    'write IF(A2="";"";NET_PROFIT(A2;...)) where a row may be blank, as the log does.'
)
_ADVICE: Final = {
    r"'sheetfns upgrade[^']*'": f"'{_title('upgrade_log')}' in this menu",
    r"'sheetfns check[^']*'": f"'{_title('check_log')}' in this menu",
    r"'sheetfns recalc[^']*'": "a full recalculation",
    r"--fix (restores|replaces)": rf"'{_title('check_log')}' \1",
}
"""What a command in a terminal is called here."""
_RUN: Final = {
    "add_item": _records(add_item),
    "mark_sold": _records(mark_sold),
    "mark_returned": _records(mark_returned),
    "other_disposition": _records(other_disposition),
    "new_log": new_log,
    "check_log": check,
    "merge_copy": merge,
    "year_summary": summary,
    "explain_cell": explain_cell,
    "about": about,
    "year_end": year_end,
    "forecast": forecast,
    "import_sales": import_sales,
    "pocket_copy": pocket_copy,
    "upgrade_log": upgrade,
    "show_help": show_help,
}


def _listed(reasons: Sequence[str]) -> str:
    more = len(reasons) - REASONS_SHOWN
    shown = [f"- {reason}" for reason in reasons[:REASONS_SHOWN]]
    return "\n".join(shown + ([f"... and {more} more."] if more > 0 else []))
