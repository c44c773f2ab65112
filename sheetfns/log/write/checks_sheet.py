"""Sheet Checks."""

from __future__ import annotations

import re
from typing import Final

from sheetfns.cell_types import TEXT
from sheetfns.files.cell_names import column_letters
from sheetfns.log.model.sheets import FIRST_ROW, LIST_HEADER_ROW, LIST_UNIT_ROW, TITLE_ROW
from sheetfns.log.sheets.data_checks.layout import CHECK_COLUMNS, HOLDS, LINK_COLUMN, RESULTS, TOTAL_ROW
from sheetfns.log.sheets.home.ways import ways_beside_title
from sheetfns.log.sheets.links import link_to_row
from sheetfns.log.sheets.words import CHECKS, SETTINGS
from sheetfns.log.write.canvas import Canvas
from sheetfns.log.write.styles import FAINT, HEAD, LINK

_FAR_RIGHT = "AZ"
_WIDTHS: Final = (15, 9, 84, 9, 9, 12, 10)


def write_checks(canvas: Canvas) -> None:
    """Sheet Checks: every check, its count and the first row where it fails."""
    sheet = canvas.sheet(CHECKS)
    ways = ways_beside_title(canvas.others(CHECKS), _WIDTHS, 2)
    canvas.heads(sheet, CHECKS, "Automatic checks, with the first row that fails.", ways=ways)
    for place, width in enumerate(_WIDTHS):
        sheet.set_column(place, place, width)
    head = canvas.format(**HEAD)
    for place, header in enumerate(("Sheet", "Kind", "What is wrong", "Count", "First row", "Result", "Go there")):
        sheet.write_string(LIST_HEADER_ROW - 1, place, header, head)
    units = ("text", "what to do", "text", "times", "row", "text", "link")
    for place, unit in enumerate(units):
        sheet.write_string(LIST_UNIT_ROW - 1, place, unit, canvas.format(italic=True, font_size=8, font_color=FAINT))
    sheet.write_string(TOTAL_ROW - 1, 2, "Errors in all", canvas.format(bold=True))
    to_fix, waiting = (f'SUMIFS(Check_count,Check_kind,"{kind}")' for kind in ("fix", "wait"))
    canvas.formula(
        sheet,
        TOTAL_ROW,
        CHECK_COLUMNS["count"],
        f"IF({to_fix}=0,{waiting},{to_fix})",
        canvas.cell_format("result", "0"),
    )
    # What only follows from an error is no second one.
    form = canvas.cell_format("result", '"and "0" wait";;')
    canvas.formula(sheet, TOTAL_ROW, CHECK_COLUMNS["result"], f"IF({to_fix}=0,0,{waiting})", form)
    last = FIRST_ROW
    for check in canvas.layout.checks:
        last = row = canvas.places.check_rows[check.key]
        text = canvas.format(text_wrap=True, valign="vcenter")
        sheet.write_string(row - 1, CHECK_COLUMNS["sheet"], check.sheet, text)
        sheet.write_string(row - 1, CHECK_COLUMNS["kind"], check.kind, text)
        sheet.write_string(row - 1, CHECK_COLUMNS["label"], check.label, text)
        count = f"$D{row}"
        form = canvas.cell_format("result", "0")
        label = f"$C{row}"
        cells = {"label": label, "count": count} | _of_details(canvas, check.sheet)
        cells["moved"] = _moved(canvas, check.sheet)
        for column, formula in (("count", f"IFERROR({check.count},1)"), ("first", check.first)):
            canvas.formula(sheet, row, CHECK_COLUMNS[column], _filled(formula, cells), form)
        words = f'"{RESULTS[check.kind]}"'
        if check.kind == "wait":
            words = f'IF(Check_waits=0,{words},"waits")'
        link = canvas.format(font_color=LINK, underline=1, valign="vcenter", indent=1)
        to_row = link_to_row(check.sheet, "A", f"$E{row}", f'"row "&$E{row}')
        canvas.formula(sheet, row, LINK_COLUMN, f'IF(OR({count}=0,$E{row}=""),"",{to_row})', link)
        result = canvas.cell_format("result", TEXT.cell_format)
        canvas.formula(sheet, row, CHECK_COLUMNS["result"], f'IF({count}=0,"{HOLDS}",{words})', result)
    marked = canvas.book.add_format({"bold": True, "underline": 1, "border": 1})
    # What is only worth a look is no error, and not red.
    wrong = f"$D{FIRST_ROW}<>0"
    for criteria, form in ((f'=AND({wrong},$B{FIRST_ROW}<>"look")', canvas.alarm), (f"={wrong}", marked)):
        rule = {"type": "formula", "criteria": criteria, "format": form, "stop_if_true": True}
        place = CHECK_COLUMNS["result"]
        sheet.conditional_format(FIRST_ROW - 1, place, last - 1, place, rule)
    sheet.freeze_panes(FIRST_ROW - 1, 0)
    sheet.print_area(0, 0, last - 1, 5)
    sheet.repeat_rows(LIST_HEADER_ROW - 1)
    sheet.fit_to_pages(1, 0)
    canvas.finish(sheet, CHECKS)


def _of_details(canvas: Canvas, name: str) -> dict[str, str]:
    """The counts and first rows of the checks of a sheet that only tell more; they stand one below the other."""
    rows = [
        canvas.places.check_rows[one.key] for one in canvas.layout.checks if one.sheet == name and one.kind == "more"
    ]
    if not rows:
        return {}
    letters = {mark: column_letters(CHECK_COLUMNS[mark]) for mark in ("count", "first")}
    return {f"{mark}s": f"${letter}${min(rows)}:${letter}${max(rows)}" for mark, letter in letters.items()}


def _moved(canvas: Canvas, name: str) -> str:
    """How many of a sheet's cells to fill in have a defined name that went elsewhere."""
    if name == SETTINGS:
        keys = [setting.name for setting in canvas.layout.settings if not setting.formula]
        rows = canvas.places.setting_rows.values()
        around = f"'{name}'!$B${min(rows)}:$B${max(rows)}"
    else:
        forms = [form for form in canvas.layout.forms if form.name == name]
        keys = [form.defined_name(cell.key) for form in forms for cell in form.cells() if cell.role == "input"]
        around = "".join(f"{form.key}_all" for form in forms)
    # LibreOffice calculates a formula again when a cell goes that it sees, and not because its reference went along.
    terms = [f"0*COUNTA({around})"]
    for key in keys:
        _, letter, row = canvas.places.names[key].rsplit("$", 2)
        # Rows and columns that are inserted move both alike; nobody cuts a title, or a cell so far to the right.
        terms.append(f"(ROW({key})<>ROW('{name}'!${_FAR_RIGHT}${row}))")
        terms.append(f"(COLUMN({key})<>COLUMN('{name}'!${letter}${TITLE_ROW}))")
    return "+".join(terms)


def _filled(formula: str, cells: dict[str, str]) -> str:
    return re.sub(rf"\{{({'|'.join(cells)})\}}", lambda mark: cells[mark[1]], formula)
