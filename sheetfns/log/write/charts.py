"""Charts of a form's cells, readable in black and white."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from xlsxwriter.worksheet import Worksheet

from sheetfns.errors import CellError
from sheetfns.files.cell_names import column_letters
from sheetfns.log.model.sheets import Chart, FormSheet, Series
from sheetfns.log.sheets.words import CHARTS
from sheetfns.log.write.canvas import Canvas
from sheetfns.log.write.styles import ACCENT, INK, LINE, LOSS

HEIGHT: Final = 280
SMALL_HEIGHT: Final = 210
"""Points; the row of a chart is as high. Two small ones stand side by side."""
BESIDE_WIDTH: Final = 430
"""Pixels."""
NEUTRAL: Final = "#6B7681"
PALE: Final = "#C9D3DE"
GRID: Final = "#E0E0E0"
"""Beside the accent and ink; in gray each differs from its neighbors in lightness, by dashes or by a mark."""
_PIXELS_A_POINT: Final = 4 / 3
_PIXELS_A_LETTER, _PIXELS_A_CELL = 7, 5
_AMOUNTS: Final = "#,##0"
_UNLESS_BLANK: Final = "#,##0;-#,##0;0;"
"""A blank text would be labeled in some programs."""
_NONE: Final = {"none": True}
LOOKS: Final[dict[str, dict[str, Any]]] = {
    "dark": {"fill": {"color": ACCENT}, "border": {"color": ACCENT}},
    "light": {"fill": {"color": PALE}, "border": {"color": ACCENT}},
    "loss": {"fill": {"color": LOSS}, "border": {"color": LOSS}},
    "solid": {"line": {"color": ACCENT, "width": 2.25}, "marker": {"type": "none"}},
    "dashed": {"line": {"color": INK, "width": 1.5, "dash_type": "dash"}, "marker": {"type": "none"}},
    "dash_dot": {"line": {"color": INK, "width": 1.5, "dash_type": "long_dash_dot"}, "marker": {"type": "none"}},
    "dotted": {"line": {"color": NEUTRAL, "width": 1.75, "dash_type": "round_dot"}, "marker": {"type": "none"}},
    "ring": {
        "line": _NONE,
        "marker": {"type": "circle", "size": 10, "fill": {"color": NEUTRAL}, "border": {"color": INK}},
    },
    "point": {
        "line": _NONE,
        "marker": {"type": "diamond", "size": 11, "fill": {"color": ACCENT}, "border": {"color": INK}},
    },
    "unseen": {"fill": _NONE, "border": _NONE},
    "unseen_line": {"line": _NONE, "marker": {"type": "none"}},
}
_KINDS: Final[dict[str, dict[str, str]]] = {
    "columns": {"type": "column"},
    "stacked": {"type": "column", "subtype": "stacked"},
    "lines": {"type": "line"},
    "points": {"type": "scatter", "subtype": "straight"},
}
_TEXT: Final = {"name": "Calibri", "size": 9, "color": INK}


@dataclass(frozen=True)
class ChartPlace:
    """Where in its row a chart stands: its number from 0, of how many, and the height of the row in points."""

    number: int
    of: int
    height: float


def write_chart(
    canvas: Canvas, sheet: Worksheet, form: FormSheet, chart: Chart, row: int, *, place: ChartPlace
) -> None:
    """Put a chart over the width of a form, or over its part of it, in a row of its own."""
    made = chart_of(canvas, chart)
    width = sum(_PIXELS_A_LETTER * width + _PIXELS_A_CELL for width in form.widths) / place.of
    made.set_size({"width": width - 12, "height": place.height * _PIXELS_A_POINT - 12})
    left = 6 + place.number * width
    offsets = {"x_offset": left, "y_offset": 6, "object_position": 1, "description": chart.title}
    sheet.insert_chart(row - 1, 0, made, offsets)


def write_charts_beside(canvas: Canvas, sheet: Worksheet, form: FormSheet) -> None:
    """Put small charts to the right of a form, one below the other."""
    for place, chart in enumerate(form.charts_beside):
        made = chart_of(canvas, chart)
        made.set_size({"width": BESIDE_WIDTH, "height": SMALL_HEIGHT * _PIXELS_A_POINT})
        offsets = {"y_offset": place * (SMALL_HEIGHT * _PIXELS_A_POINT + 12), "description": chart.title}
        sheet.insert_chart(form.first_row - 1, len(form.widths) + 1, made, offsets | {"object_position": 2})


def chart_of(canvas: Canvas, chart: Chart) -> Any:
    """A chart, without its place and size.

    Its title and the names of its axes are fixed words: LibreOffice shows what a cell held when the file was written.
    The words of the legend are those of cells in every program, and have the currency.
    """
    shown = [series for series in chart.series if series.only in ("", canvas.edition)]
    made = canvas.book.add_chart(dict(_KINDS[chart.kind]))
    for series in shown:
        if series.look == "unseen_line":
            labels = canvas.book.add_chart({"type": "line"})
            labels.add_series(_series(canvas, chart, series))
            made.combine(labels)
        else:
            made.add_series(_series(canvas, chart, series))
    made.set_title({"name": chart.title, "name_font": {**_TEXT, "size": 12}, "overlay": False})
    across: dict[str, Any] = {
        "name": chart.across,
        "name_font": {**_TEXT, "bold": False},
        "num_font": {**_TEXT, "size": 8},
        "line": {"color": LINE},
        "label_position": "low",
    }
    up: dict[str, Any] = across | {
        "name": chart.up,
        "num_format": _AMOUNTS,
        "major_gridlines": {"visible": True, "line": {"color": GRID, "width": 0.75}},
    }
    if chart.kind in ("columns", "stacked"):
        across |= {"text_axis": True}
    if chart.by_month:
        across |= {"num_format": "yyyy-mm", "num_font": {**_TEXT, "size": 8, "rotation": -45}}
    if chart.kind == "lines":
        across |= {"num_format": "0"}
    if chart.kind == "points":
        across |= {"num_format": _AMOUNTS, "min": 0}
    made.set_x_axis(across)
    made.set_y_axis(up)
    unseen = [place for place, series in enumerate(shown) if series.unseen]
    made.set_legend({"position": "bottom", "font": _TEXT, "delete_series": unseen})
    made.show_blanks_as("gap")
    return made


def _series(canvas: Canvas, chart: Chart, series: Series) -> dict[str, Any]:
    about: dict[str, Any] = {
        "name": series.name,
        "categories": _cells(canvas, series, series.across),
        "values": _cells(canvas, series, series.up),
        "categories_data": _shown(canvas, series, series.across),
        "values_data": _shown(canvas, series, series.up),
        "gap": 60,
        **LOOKS[series.look],
    }
    if series.named:
        words = Series("", (series.named,) * 2, (series.named,) * 2, CHARTS, series.look)
        about |= {
            "name": _cells(canvas, words, words.up).partition(":")[0],
            "name_data": _shown(canvas, words, words.up),
        }
    if chart.kind == "columns":
        # One month has a column of one of the series, in the same place.
        about["overlap"] = 100
    if series.labels:
        position = {"dark": "outside_end", "unseen": "outside_end"}.get(series.look, "above")
        label: dict[str, Any] = {"value": True, "position": position, "num_format": _UNLESS_BLANK, "font": _TEXT}
        if series.labels == "last":
            values = about["values"].rpartition("!")[2].replace("$", "").split(":")
            first, last = (int("".join(filter(str.isdigit, cell))) for cell in values)
            label["custom"] = [{"delete": True}] * (last - first)
        about["data_labels"] = label
    return about


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
