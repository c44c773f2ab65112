"""Charts of a form's cells, readable in black and white."""

from __future__ import annotations

from typing import Any, Final

from xlsxwriter.worksheet import Worksheet

from sheetfns.errors import CellError
from sheetfns.files.cell_names import column_letters
from sheetfns.log.model.sheets import Chart, FormSheet, Series
from sheetfns.log.write.canvas import Canvas
from sheetfns.log.write.styles import FAINT, INK, LINE

HEIGHT: Final = 280
"""Points; the row of a chart is as high."""
_PIXELS_A_POINT: Final = 4 / 3
_PIXELS_A_LETTER: Final = 7
_DARK, _LIGHT = "#404040", "#D0D0D0"
_LOOKS: Final[dict[str, dict[str, Any]]] = {
    "dark": {"fill": {"color": _DARK}, "border": {"color": INK}},
    "light": {"fill": {"color": _LIGHT}, "border": {"color": INK}},
    "solid": {"line": {"color": INK, "width": 2.25}, "marker": {"type": "none"}},
    "dashed": {"line": {"color": INK, "width": 1.5, "dash_type": "dash"}, "marker": {"type": "none"}},
    "dash_dot": {"line": {"color": INK, "width": 1.5, "dash_type": "long_dash_dot"}, "marker": {"type": "none"}},
    "dotted": {"line": {"color": FAINT, "width": 1.5, "dash_type": "round_dot"}, "marker": {"type": "none"}},
    "ring": {
        "line": {"none": True},
        "marker": {"type": "circle", "size": 10, "fill": {"color": "#9A9A9A"}, "border": {"color": INK}},
    },
    "point": {
        "line": {"none": True},
        "marker": {"type": "diamond", "size": 11, "fill": {"color": INK}, "border": {"color": INK}},
    },
}
_KINDS: Final[dict[str, dict[str, str]]] = {
    "columns": {"type": "column"},
    "stacked": {"type": "column", "subtype": "stacked"},
    "lines": {"type": "line"},
    "points": {"type": "scatter", "subtype": "straight"},
}


def write_chart(canvas: Canvas, sheet: Worksheet, form: FormSheet, chart: Chart, row: int) -> None:
    """Put a chart over the whole width of a form, in a row of its own."""
    made = canvas.book.add_chart(dict(_KINDS[chart.kind]))
    for series in chart.series:
        if series.only in ("", canvas.edition):
            made.add_series(
                {
                    "name": series.name,
                    "categories": _cells(canvas, series, series.across),
                    "values": _cells(canvas, series, series.up),
                    "categories_data": _shown(canvas, series, series.across),
                    "values_data": _shown(canvas, series, series.up),
                    "gap": 60,
                    **_LOOKS[series.look],
                }
            )
    text = {"name": "Calibri", "size": 9, "color": INK}
    made.set_title({"name": chart.title, "name_font": {**text, "size": 12}, "overlay": False})
    across: dict[str, Any] = {
        "name": chart.across,
        "name_font": {**text, "bold": False},
        "num_font": {**text, "size": 8},
        "line": {"color": LINE},
        "label_position": "low",
    }
    up: dict[str, Any] = across | {
        "name": chart.up,
        "num_format": "#,##0",
        "major_gridlines": {"visible": True, "line": {"color": "#E0E0E0", "width": 0.75}},
    }
    if chart.kind in ("columns", "stacked"):
        across |= {"text_axis": True}
    if chart.by_month:
        across |= {"num_format": "yyyy-mm", "num_font": {**text, "size": 8, "rotation": -45}}
    if chart.kind == "lines":
        across |= {"num_format": "0"}
    if chart.kind == "points":
        across |= {"num_format": "#,##0", "min": 0}
    made.set_x_axis(across)
    made.set_y_axis(up)
    shown = sum(series.only in ("", canvas.edition) for series in chart.series)
    made.set_legend({"position": "bottom", "font": text} if shown > 1 else {"none": True})
    made.show_blanks_as("gap")
    width = sum(_PIXELS_A_LETTER * width + 5 for width in form.widths)
    made.set_size({"width": width - 12, "height": HEIGHT * _PIXELS_A_POINT - 12})
    sheet.set_row(row - 1, HEIGHT)
    place = {"x_offset": 6, "y_offset": 6, "object_position": 1, "description": chart.title}
    sheet.insert_chart(row - 1, 0, made, place)


def _shown(canvas: Canvas, series: Series, ends: tuple[str, str]) -> list[Any]:
    """What the cells show, for previews; blanks stay blanks."""
    if canvas.values is None:
        return []
    form = canvas.layout.form(series.of_form)
    cells = canvas.places.form_cells[form.key]
    (first, column), (last, _) = cells[ends[0]], cells[ends[1]]
    values = (canvas.values.value(form.name, row, column + 1) for row in range(first, last + 1))
    return [None if value == "" or isinstance(value, CellError) else value for value in values]


def _cells(canvas: Canvas, series: Series, ends: tuple[str, str]) -> str:
    form = canvas.layout.form(series.of_form)
    cells = canvas.places.form_cells[form.key]
    (first, column), (last, _) = cells[ends[0]], cells[ends[1]]
    letter = column_letters(column)
    return f"='{form.name}'!${letter}${first}:${letter}${last}"
