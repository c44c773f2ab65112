"""How long edits of an open log take; run by a Python that has uno.

Usage: editing_in_libreoffice.py SOFFICE PROFILE_URI SOURCE_URI COLUMNS_JSON, where the columns are headers of sheet
Sourcing log with the numbers to type. A line of JSON gives the best time in seconds of an edit in each of them with
reading the top of every sheet, of reading alone, and of calculating everything. It stands apart from the package: it is
the program's own Python.
"""

import json
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from typing_in_libreoffice import option, running

TIMES = 4
HEAD_ROWS, FIRST = 10, 50
ROWS_READ, COLUMNS_READ = 30, 40


def timed(action):
    """The best of several times."""
    best = float("inf")
    for number in range(TIMES):
        start = time.perf_counter()
        action(number)
        best = min(best, time.perf_counter() - start)
    return best


def main(soffice, profile, source, columns):
    """Open, type, read."""
    told = {}
    columns = json.loads(Path(columns).read_text(encoding="utf-8"))
    with running(soffice, profile) as desktop:
        book = desktop.loadComponentFromURL(source, "_blank", 0, (option("Hidden", True),))
        book.calculateAll()
        log = book.Sheets.getByName("Sourcing log")
        # The head of a log of an earlier layout has fewer rows.
        heads = log.getCellRangeByPosition(0, 0, 80, HEAD_ROWS).getDataArray()
        headers = next(list(row) for row in heads if next(iter(columns)) in row)

        def read(_=0):
            for sheet in book.Sheets:
                sheet.getCellRangeByPosition(0, 0, COLUMNS_READ, ROWS_READ).getDataArray()

        read()
        told["reading"] = timed(read)
        for header, value in columns.items():
            place = headers.index(header)

            def edit(number, place=place, value=value):
                cell = log.getCellByPosition(place, FIRST + number)
                if isinstance(value, str):
                    cell.String = f"{value} {number}"
                else:
                    cell.Value = value + number
                read()

            told[header] = timed(edit)
        told["everything"] = timed(lambda _: book.calculateAll())
        book.close(True)
    print(json.dumps(told))


if __name__ == "__main__":
    main(*sys.argv[1:])
