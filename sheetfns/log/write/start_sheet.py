"""Sheet Start."""

from __future__ import annotations

from typing import Final

from sheetfns.log.model.sheets import LIST_TITLE_ROW, Edition
from sheetfns.log.model.version import LAYOUT
from sheetfns.log.sheets.home.ways import ways_beside_title
from sheetfns.log.sheets.words import CAUTION, EDITION_LABEL, LAYOUT_VERSION, READY_ROWS_LABEL, SETTINGS, START
from sheetfns.log.write.canvas import Canvas

_WIDTHS: Final = (4, 24, 70)
_LETTERS_A_LINE: Final = 78


def write_start(canvas: Canvas) -> None:
    """Sheet Start: five steps, legend, cautions, and what file this is."""
    sheet = canvas.sheet(START)
    canvas.heads(
        sheet,
        START,
        "A log for buying and reselling used goods, and what they earn.",
        ways=ways_beside_title(canvas.others(START), _WIDTHS, 2),
    )
    for place, width in enumerate(_WIDTHS):
        sheet.set_column(place, place, width)
    head = canvas.format(bold=True, font_size=12)
    text = canvas.format(text_wrap=True)
    row = LIST_TITLE_ROW + 1
    sheet.write_string(row - 1, 0, "Five steps", head)
    for number, (what, how) in enumerate(_STEPS, 1):
        row += 1
        sheet.write_number(row - 1, 0, number, text)
        sheet.write_string(row - 1, 1, what, canvas.format(bold=True))
        sheet.write_string(row - 1, 2, how, text)
        sheet.set_row(row - 1, 15 * (1 + len(how) // _LETTERS_A_LINE))
    row += 2
    sheet.write_string(row - 1, 0, "Cell styles", head)
    legend = (
        ("input", "enter here", "Upright in a plain box: fill these in."),
        ("result", "result", "Bold on gray: a result; don't edit it."),
        ("working", "working", "Italic, dashed box: a calculation step; don't edit it."),
    )
    for role, word, meaning in legend:
        row += 1
        sheet.write_string(row - 1, 1, word, canvas.cell_format(role, "@"))
        sheet.write_string(row - 1, 2, meaning, canvas.format(valign="vcenter"))
    row += 2
    sheet.write_string(row - 1, 0, "Take care", head)
    for caution in _CAUTIONS:
        row += 1
        sheet.write_string(row - 1, 1, caution[0], canvas.format(bold=True))
        sheet.write_string(row - 1, 2, caution[1], text)
        sheet.set_row(row - 1, 15 * (1 + len(caution[1]) // _LETTERS_A_LINE))
    row += 2
    sheet.write_string(row - 1, 0, "This file", head)
    facts = (
        (EDITION_LABEL, EDITION_WORDS[canvas.edition]),
        (LAYOUT_VERSION, str(LAYOUT)),
        (READY_ROWS_LABEL, f"{canvas.layout.table('Log').ready_rows} on {canvas.layout.table('Log').name}"),
        (
            "Printing",
            "Sheets to record in and to see results print down to the last filled row and to the end of its page. "
            "Where a sheet's head says that rows don't print, set its print range to more rows (LibreOffice: Format, "
            "Print Ranges, Edit; Excel: Formulas, Name Manager, Print_Area). Then enter its last row two cells "
            "above [. The commands of sheetfns do both. To print any other sheet, clear its print range "
            "(LibreOffice: Format, Print Ranges, Clear; Excel: Page Layout, Print Area).",
        ),
        (
            "Rows",
            "On sheets to fill in you may sort, filter, copy, move, insert and delete rows. Cells outside of [ and ] "
            "hold formulas; Data checks says if one was overwritten, or if an inserted row has none.",
        ),
    )
    for label, fact in facts:
        row += 1
        sheet.write_string(row - 1, 1, label, canvas.format(bold=True))
        sheet.write_string(row - 1, 2, fact, text)
        sheet.set_row(row - 1, 15 * (1 + len(fact) // _LETTERS_A_LINE))
    sheet.print_area(0, 0, row - 1, 2)
    sheet.fit_to_pages(1, 0)
    canvas.finish(sheet, START, landscape=False)


_STEPS: Final = (
    (
        SETTINGS,
        "Fill in the lines under First day: the shop, its partners, its channels with their fees, the opening cash. "
        "Everything else there has a default.",
    ),
    (
        "Buy",
        "At the shelf, Shelf check says what an item may cost; Buying plan compares several. Then fill in Sourcing "
        "log, one row for each item that can be sold on its own: number, day, place, price. Several items for one "
        "price: enter the lot on Lots and its number in each row.",
    ),
    (
        "List",
        "Enter what others sold for on Comparables. Listing desk puts title, price, parcel and "
        "description together; fill in channel, asking price and expected postage in the log.",
    ),
    (
        "Sell",
        "Fill in day, price, shipping charged, postage paid; net profit appears. Refunds, personal use, "
        "donated and discarded items have their own columns.",
    ),
    (
        "Review",
        "Money and Charts show cash, inventory and profit by month, Pay what you may take out, Inventory "
        "what waits too long, Partners who is owed what, Year end the tax year, Data checks what to fix. Costs, trips "
        "and owners' money have their own sheets.",
    ),
)
_CAUTIONS: Final = (
    ("Tax", CAUTION),
    (
        "Two owners",
        "Two people who share the profit are usually a partnership, which files its own return; the line numbers on "
        "Year end may not apply to you. Ask before the first year ends.",
    ),
    (
        "Own belongings",
        "Things from your own household aren't inventory: a loss on them usually isn't deductible, a "
        "gain may be taxable. They have their own sheet, Personal items; ask your preparer.",
    ),
    (
        "Sales tax",
        "Sales tax that a channel collects and remits isn't your income. Sales tax that you collect "
        "yourself must be remitted: keep it separate; this log doesn't track it.",
    ),
    (
        "Statements",
        "What a channel reports for the year is before fees and refunds; enter it on Settings, and Year end compares "
        "it with the log. Don't compare it with your bank deposits.",
    ),
    (
        "Recalls, safety",
        "Check each item against recall lists and local rules before you buy and before you list; "
        "sheet Cautions says where to look.",
    ),
    (
        "Lithium batteries",
        "Check your carrier's rules before shipping anything with a lithium battery; loose or damaged ones may be "
        "prohibited.",
    ),
)
EDITION_WORDS: Final[dict[Edition, str]] = {
    "plain": "Plain: standard formulas only, so nothing has to be installed. Best buying plan, best title, remarks on "
    "titles, odds of the weeks ahead and time to sell are "
    "in the functions edition only.",
    "functions": "Functions: calls the named functions of sheetfns, which must be installed in your program; or run "
    "its command recalc. The plain edition gives the same figures, but no "
    "best buying plan, best title, remarks on titles, odds of the weeks ahead and time to sell.",
    "lambda": "Lambda: like the plain edition, and sheet Functions lists the functions that you can enter in any cell, "
    "with nothing installed, in spreadsheet programs that have LAMBDA; all "
    "sheets of the log work without it.",
}
