"""Sheet Cautions."""

from __future__ import annotations

from typing import Final

from sheetfns.functions.cautions import resale_caution
from sheetfns.log.model.sheets import FIRST_ROW, LIST_HEADER_ROW, LIST_TITLE_ROW
from sheetfns.log.sheets.cautions.layout import WORD_COLUMNS, caution_words
from sheetfns.log.sheets.home.ways import ways_beside_title
from sheetfns.log.sheets.words import CAUTIONS
from sheetfns.log.write.canvas import Canvas
from sheetfns.log.write.styles import HEAD, LINE, LINE_HEIGHT
from sheetfns.tables import table_rows

_WIDTHS: Final = (21, 33, 66, 42, 4, 24, 24)


def write_cautions(canvas: Canvas) -> None:
    """Sheet Cautions: what to check for a kind of goods, at which authority, and the source."""
    sheet = canvas.sheet(CAUTIONS)
    ways = ways_beside_title(canvas.others(CAUTIONS), _WIDTHS)
    purpose = "What to check before you buy or list. No entry doesn't mean that an item may be sold."
    canvas.heads(sheet, CAUTIONS, purpose, ways=ways)
    for place, width in enumerate(_WIDTHS):
        sheet.set_column(place, place, width)
    sheet.write_string(
        LIST_TITLE_ROW - 1,
        0,
        "Reminders in our own words, not advice; rules change. Local rules come first.",
        canvas.format(bold=True),
    )
    for place, header in enumerate(("Goods", "In brief", "What to check, and where", "Source")):
        sheet.write_string(LIST_HEADER_ROW - 1, place, header, canvas.format(**HEAD))
    text = canvas.format(text_wrap=True, border=1, border_color=LINE)
    rows = table_rows("cautions")
    for row, caution in enumerate(rows, FIRST_ROW):
        known = "read in a copy" if caution["status"] == "read" else "from memory, not checked"
        source = f"{caution['source']} ({known}; noted {caution['noted_on']})"
        whole = resale_caution(caution["category"])
        cells = (caution["category"], caution["brief"], whole, source)
        for place, cell in enumerate(cells):
            sheet.write_string(row - 1, place, cell, text)
        lines = max(-(-len(whole) // 66), -(-len(source) // 40), 1)
        sheet.set_row(row - 1, LINE_HEIGHT * lines + 2)
    for place, header in enumerate(("Word", "Entry"), WORD_COLUMNS["word"]):
        sheet.write_string(LIST_HEADER_ROW - 1, place, header, canvas.format(**HEAD))
    for row, words in enumerate(caution_words(), FIRST_ROW):
        for place, cell in enumerate(words, WORD_COLUMNS["word"]):
            sheet.write_string(row - 1, place, cell, canvas.format())
    sheet.freeze_panes(FIRST_ROW - 1, 1)
    sheet.print_area(0, 0, FIRST_ROW + len(rows) - 2, 3)
    sheet.repeat_rows(LIST_HEADER_ROW - 1)
    # The words by which an entry is found stand on a second page across.
    # The lists of words print too once a print range is cleared.
    sheet.fit_to_pages(2 if CAUTIONS in canvas.on_screen else 1, 0)
    canvas.finish(sheet, CAUTIONS)
