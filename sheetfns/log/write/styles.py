"""What the workbooks of this package look like: colors, sizes, and formats that are made once."""

from __future__ import annotations

import datetime as dt
from typing import Any, Final

from xlsxwriter.format import Format
from xlsxwriter.workbook import Workbook
from xlsxwriter.worksheet import Worksheet

INK: Final = "#1A1A1A"
FAINT: Final = "#595959"
ACCENT: Final = "#1F4E79"
LINK: Final = ACCENT
LOSS: Final = "#A4161A"
"""For losses and errors alone, beside a minus or a word."""
LISTED_TINT, GONE_TINT = "#E8EFF6", "#F4F4F4"
TABS: Final = {"Decide": "#1F4E79", "Record": "#5B7A99", "See": "#8FA6BC", "Tax": "#3D3D3D", "Set up": "#C4C4C4"}
"""Tab colors by what a sheet is for; Home says it in words."""
LINE: Final = "#A6A6A6"
RESULT_FILL: Final = "#EFEFEF"
HEAD_FILL: Final = "#D9E1E8"
LINE_HEIGHT: Final = 13.5
LOUD_HEIGHT: Final = 27
"""Of what a sheet is there to say."""
LETTER: Final = 1
"""The paper that forms in US units are printed on; a program offers others."""
CREATED: Final = dt.datetime(2026, 1, 1, tzinfo=dt.UTC).replace(tzinfo=None)
"""A fixed date of creation: the same entries give the same file."""

HEAD: Final = {"bold": True, "bg_color": HEAD_FILL, "text_wrap": True, "border": 1, "valign": "vcenter"}
_USUAL: Final = {"font_name": "Calibri", "font_size": 10, "font_color": INK, "valign": "top"}


class Styles:
    """The formats of one workbook."""

    def __init__(self, book: Workbook) -> None:
        self._book = book
        self._made: dict[tuple[tuple[str, Any], ...], Format] = {}

    def format(self, **marks: Any) -> Format:
        """A format; fonts and colors that are not named are the usual ones."""
        marks = _USUAL | marks
        key = tuple(sorted(marks.items()))
        if key not in self._made:
            self._made[key] = self._book.add_format(marks)
        return self._made[key]

    def quoted(self, form: Format) -> Format:
        """A format that keeps a text from becoming a formula when its cell is edited."""
        return self.changed(form, quote_prefix=True)

    def changed(self, form: Format, **marks: Any) -> Format:
        """A format like another one but for some marks."""
        known = next(key for key, made in self._made.items() if made is form)
        return self.format(**(dict(known) | marks))


def write_value(sheet: Worksheet, row: int, column: int, value: Any, form: Format) -> None:
    """Write a date as a date and a text as a text, whatever it begins with; both are counted from 0."""
    if value is None:
        sheet.write_blank(row, column, None, form)
    elif isinstance(value, dt.date):
        sheet.write_datetime(row, column, value, form)
    elif isinstance(value, str):
        sheet.write_string(row, column, value, form)
    else:
        sheet.write(row, column, value, form)
