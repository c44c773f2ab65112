"""The parts that the log's layout is made of: columns, formulas, checks, settings, sheets."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Final, Literal

from sheetfns.cell_types import CellType
from sheetfns.log.model.cells import NamedRange
from sheetfns.registry import REGISTRY

Edition = Literal["plain", "functions", "lambda"]
EDITIONS: Final[tuple[Edition, ...]] = ("plain", "functions")
"""Those whose cells differ; "lambda" has the cells of "plain", and the functions as names."""
Role = Literal["input", "result", "working"]
ChartStyle = Literal[
    "dark", "light", "loss", "solid", "dashed", "dash_dot", "dotted", "ring", "point", "unseen", "unseen_line"
]
"""How columns, lines and marks of a chart are told apart in black and white; what is unseen only bears a label."""

TITLE_ROW: Final = 1
PURPOSE_ROW: Final = 2
CHECK_ROW: Final = 3
LIST_TITLE_ROW: Final = 4
LIST_HEADER_ROW: Final = 5
LIST_UNIT_ROW: Final = 6
"""On sheets that hold settings, rules or checks."""
FIRST_ROW: Final = 7
"""The first row for entries, the same on every sheet that holds a table."""
_TITLE_WIDTH: Final = 1.7
"""The width of a letter of a sheet's title, in those of its cells."""
NUMBER_ROW: Final = 2
GROUP_ROW: Final = 3
UNIT_ROW: Final = 4
HEADER_ROW: Final = 6
"""On sheets with rows: a blank row parts the headers from what stands over them, so that programs find the list."""
LEFT_EDGE, MIDDLE_EDGE, RIGHT_EDGE = "left_edge", "middle_edge", "right_edge"
"""The keys of the narrow columns between which the entries of a row stand.

A formula refers to an entry as the n-th cell between them: such a reference does not follow a cell that is cut and
pasted, because only the move of a whole range takes a reference along, and nobody cuts these columns. Any edit between
two edges calculates the formula again. So a formula looks no further than the edges around an entry.
"""


@dataclass(frozen=True)
class Formula:
    """An ordinary formula, the same in every edition; {key} is the cell of that column."""

    text: str
    blank_if: str = ""

    def formula(self, _edition: Edition) -> str:
        """The formula with its {key} places, without the leading equals sign."""
        return _guarded(self.text, self.blank_if)


@dataclass(frozen=True)
class FunctionCall:
    """A named function; in the other editions its ordinary formula stands instead."""

    function: str
    arguments: dict[str, str]
    blank_if: str = ""
    around: str = "{}"

    def formula(self, edition: Edition) -> str:
        """The formula with its {key} places, without the leading equals sign."""
        spec = REGISTRY[self.function]
        if edition == "functions":
            text = spec.call_formula(self.arguments)
        else:
            marks = {name: f"<{name}>" for name in self.arguments}
            text = spec.filled_formula(marks)
            for name, cells in self.arguments.items():
                simple = re.fullmatch(r"\{\w+\}", cells)
                text = text.replace(f"(<{name}>)", cells if simple else f"({cells})")
        return _guarded(self.around.replace("{}", text), self.blank_if)


@dataclass(frozen=True)
class EditionFormula:
    """A rule with an ordinary formula of its own where the function has none in one cell."""

    plain: Formula
    functions: FunctionCall | Formula

    def formula(self, edition: Edition) -> str:
        """The formula with its {key} places, without the leading equals sign."""
        return (self.functions if edition == "functions" else self.plain).formula(edition)


AnyFormula = Formula | FunctionCall | EditionFormula


def _guarded(text: str, blank_if: str) -> str:
    return f'IF({blank_if},"",{text})' if blank_if else text


@dataclass(frozen=True)
class Column:
    """One column of a sheet with rows.

    `names` is the defined name of the list that an input is chosen from.
    """

    key: str
    header: str
    kind: CellType
    help: str
    width: float = 11
    group: str = ""
    formula: AnyFormula | None = None
    working: bool = False
    names: str = ""
    choices: tuple[str, ...] = ()
    unit: str = ""
    cell_format: str = ""
    link: bool = False
    """Whether its formula leads to a cell."""
    runs_over: bool = False
    """The text may run over the cells to the right, which stay empty."""
    not_compared: str = ""
    """Why Python's figures have no counterpart; with one, workbook and Python are compared."""
    edge: bool = False
    """Whether it is one of the narrow columns beside the entries."""
    watches: bool = False
    """Whether it holds no figure and only guards or sums up those of the row; earlier logs have none such."""

    @property
    def role(self) -> Role:
        """Who fills the column: the seller, or the workbook."""
        if self.formula is None:
            return "input"
        return "working" if self.working else "result"


@dataclass(frozen=True)
class RowCheck:
    """Something that can be wrong with a row, said in two ways that are compared.

    Attributes:
        key: its word in code.
        message: what the sheet says.
        formula: true where it is wrong; blank for a check that no formula makes.
        validate: Python's verdict on typed rows: reports the cells at fault.
        of_results: Python's verdict on figures: the rows of the sheet's frame that fail.
        notice: whether it is worth a look and no error.
    """

    key: str
    message: str
    formula: str
    validate: Callable[[Any], None] | None = field(default=None, compare=False, repr=False)
    of_results: Callable[[Any], Any] | None = field(default=None, compare=False, repr=False)
    notice: bool = False


@dataclass(frozen=True)
class TableSheet:
    """A sheet whose rows are alike: entries by the seller, or months."""

    name: str
    key: str
    purpose: str
    columns: tuple[Column, ...]
    ready_rows: int
    checks: tuple[RowCheck, ...] = ()
    frozen_entries: int = 1
    """How many of the first columns to fill in stay in sight; of a sheet without such, how many columns."""
    landscape: bool = True
    print_parts: tuple[tuple[str, str], ...] = ()
    """The first and last column of each part that prints on pages of its own; what is in sight is one part if none."""
    print_repeats: tuple[str, str] | None = None
    """The first and last column that stand on the pages of every such part."""
    folds: bool = False
    """Whether sections of what is filled in can be folded away, all but their first column."""
    found_by: tuple[str, str] | None = None
    """The columns with a number and with words by which a cell in the sheet's head finds a row."""
    answer: str = ""
    """A formula for what the sheet is there to say, in large type."""
    tinted_by: str = ""
    """The column whose words color a row."""
    entry_checks: tuple[RowCheck, ...] = ()
    """What Python alone sees in an entry: a sheet may make anything of it."""

    def column(self, key: str) -> Column:
        """The column of that key."""
        return next(column for column in self.columns if column.key == key)

    def position(self, key: str) -> int:
        """The column's place, counted from 0."""
        return next(i for i, column in enumerate(self.columns) if column.key == key)

    def edges_around(self, key: str) -> tuple[int, int]:
        """The places of the edge before an entry and of the one behind it."""
        place = self.position(key)
        edges = [i for i, column in enumerate(self.columns) if column.edge]
        return max(edge for edge in edges if edge < place), min(edge for edge in edges if edge > place)

    @property
    def frozen_columns(self) -> int:
        """How many columns stay in sight while the others are scrolled."""
        return self.frozen_entries + (self.position(LEFT_EDGE) + 1 if self.holds_entries else 0)

    @property
    def home_place(self) -> int:
        """The column, from 0, with the way to sheet Home: in sight at every place, where the seller enters."""
        return self.position(LEFT_EDGE) + 1 if self.holds_entries else self.behind_title

    @property
    def behind_title(self) -> int:
        """The first column, from 0, that the sheet's title leaves free and that is scrolled."""
        place = self.frozen_columns
        while sum(column.width for column in self.columns[:place]) < _TITLE_WIDTH * len(self.name) + 2:
            place += 1
        return place

    @property
    def holds_entries(self) -> bool:
        """Whether the seller fills in its rows."""
        return any(column.role == "input" for column in self.columns)

    @property
    def names_from(self) -> int:
        """The first row that the defined names of its columns cover.

        Where the seller inserts rows it is that of the headers, and the last one is the closing row: a row inserted
        before the first or after the last one is then within the names.
        """
        return HEADER_ROW if self.holds_entries else FIRST_ROW

    @property
    def names_to(self) -> int:
        """The last row that the defined names of its columns cover."""
        return self.last_row + 1 if self.holds_entries else self.last_row

    def inputs(self) -> tuple[Column, ...]:
        """The columns that the seller fills in."""
        return tuple(column for column in self.columns if column.role == "input")

    @property
    def last_row(self) -> int:
        """The last ready row."""
        return FIRST_ROW + self.ready_rows - 1

    def defined_name(self, key: str) -> str:
        """The defined name of a whole column, such as Log_sale_price."""
        return f"{self.key}_{key}"


@dataclass(frozen=True)
class Setting:
    """One figure or word on Settings, with the defined name by which formulas use it."""

    name: str
    label: str
    kind: CellType
    default: Any
    help: str
    choices: tuple[str, ...] = ()
    formula: str = ""
    unit: str = ""
    optional: bool = False
    """Whether a blank means something of its own, which the help says."""
    since: int = 0
    """The layout that brought it; an earlier log does with what a new one has in its place."""
    names: str = ""
    """The defined name of the list that it is chosen from."""
    section: str = ""
    """The title over it, if a section begins with it."""
    leads_to: str = ""
    """The key of the small table to which a click on its label goes."""


@dataclass(frozen=True)
class SettingsBlock:
    """A small table on Settings; each column has the defined name KEY_column."""

    key: str
    title: str
    help: str
    columns: tuple[Column, ...]
    rows: int
    content: tuple[tuple[Any, ...], ...] = ()
    table_until: str = field(default="", repr=False)
    """The last column of the range KEY_table, for functions that take a table whole; blank if there is none."""
    table_with_headers: bool = field(default=False, repr=False)
    rises: bool = field(default=False, repr=False)
    """Whether it is looked up by the figure in its first column, which must rise."""

    def column(self, key: str) -> Column:
        """The column of that key."""
        return next(column for column in self.columns if column.key == key)

    def defined_name(self, column: str) -> str:
        """The defined name of one of its columns, such as Channel_rate."""
        return f"{self.key}_{column}"


CheckKind = Literal["fix", "look", "wait", "more"]
"""What a failing check asks for: an error, a warning, what fails because of an error and counts only where there is
none, or more about another check."""


@dataclass(frozen=True)
class Check:
    """A check of the whole workbook.

    `count` is a formula for how many times it fails; `first` is one for the first row that does. In both {label} is the
    cell with the words of the check, in the second {count} that of the count. {counts} and {firsts} are those of the
    checks of its sheet of the kind "more", {moved} is how many cells to fill in are not where the layout has them.
    """

    key: str
    sheet: str
    label: str
    count: str
    first: str = '""'
    kind: CheckKind = "fix"
    watches: bool = False
    """Whether it guards the rows of a sheet, and no figure; earlier logs have none such."""
    validate: Callable[[Any], Any] | None = field(default=None, compare=False, repr=False)
    """Python's verdict, where it is compared with the sheet's."""


@dataclass(frozen=True)
class FormCell:
    """One cell of a form: typed in, or with a formula; {key} is another cell of the same form."""

    key: str
    kind: CellType
    help: str = ""
    formula: AnyFormula | None = None
    default: Any = None
    names: str = ""
    choices: tuple[str, ...] = ()
    working: bool = False
    cell_format: str = ""
    emphasized: bool = False
    """Whether it is the first thing to be read."""
    look: Literal["", "label", "note", "link"] = ""
    """Words that a formula says in the place of a label or a note, or that lead to a cell: without a box."""
    since: int = 0
    """The layout that brought it; in an earlier log it is blank, and not compared."""
    bold_if: str = ""
    """When such a label is bold: a formula of the form's cells."""
    leads_if: str = ""
    """When a click on such a label leads to another sheet."""
    not_compared: str = ""
    """Why Python's figures have no counterpart; with one, workbook and Python are compared."""

    @property
    def role(self) -> Role:
        """Who fills the cell: the seller, or the workbook."""
        if self.formula is None:
            return "input"
        return "working" if self.working else "result"


@dataclass(frozen=True)
class Series:
    """What one line or one set of columns of a chart shows: cells of a form, first and last.

    `only` is the edition that has it, if one alone does. `named` is the cell of sheet Charts with its words in the
    legend, which know the currency; without one it is `name`. `labels` says which of its values stand beside it.
    """

    name: str
    across: tuple[str, str]
    up: tuple[str, str]
    of_form: str
    look: ChartStyle
    only: Edition | Literal[""] = ""
    named: str = ""
    labels: Literal["", "all", "last"] = ""

    @property
    def unseen(self) -> bool:
        """Whether it is there for its label alone, and not in the legend."""
        return self.look in ("unseen", "unseen_line")


@dataclass(frozen=True)
class Chart:
    """A chart of a form's cells; the axes say what they count and in which unit."""

    kind: Literal["columns", "stacked", "lines", "points"]
    title: str
    across: str
    up: str
    series: tuple[Series, ...]
    by_month: bool = False


@dataclass(frozen=True)
class FormRow:
    """One row of a form: a label, its cells and a unit; or words over its whole width; or a chart.

    `headers` stand over the cells of the rows that follow. `lines` is the height of words, in
    lines of text. With `heads_row` the first cell stands in the place of the label.
    """

    label: str = ""
    cells: tuple[FormCell, ...] = ()
    unit: str = ""
    note: str = ""
    heading: bool = False
    headers: tuple[str, ...] = ()
    lines: int = 0
    heads_row: bool = False
    chart: Chart | None = None
    beside: Chart | None = None
    """A second chart in the same row."""
    new_page: bool = False
    """Whether a new page begins with it in print."""
    since: int = 0
    """The layout that brought it; in an earlier log its cells are blank, and not compared."""

    def words_for(self, cell: FormCell) -> str:
        """The label, if the cell is the only one but for words beside it; else its key."""
        alone = self.label and not cell.look and sum(not one.look for one in self.cells) == 1
        return self.label if alone else cell.key.capitalize().replace("_", " ")

    @property
    def first_place(self) -> int:
        """The column of its first cell, from 0."""
        return 0 if self.heads_row or (self.lines and not self.label) else 1


@dataclass(frozen=True)
class FormSheet:
    """A sheet that answers one question at a time: labels, and cells beside them."""

    name: str
    key: str
    purpose: str
    rows: tuple[FormRow, ...]
    widths: tuple[float, ...]
    first_row: int
    frozen_rows: int = 0
    landscape: bool = False
    since: int = 0
    """The layout since which it is what it is now; in an earlier log only its entries count."""
    printed_pages: int = 0
    """How many pages it prints on at most; as many as are filled in if 0."""
    charts_beside: tuple[Chart, ...] = ()
    """Small charts to the right of it: seen on a screen, and not printed."""

    def cells(self) -> tuple[FormCell, ...]:
        """Every cell, from top to bottom."""
        return tuple(cell for row in self.rows for cell in row.cells)

    def later_than(self, layout: int) -> frozenset[str]:
        """The keys of the cells that a log of some layout does not have yet."""
        return frozenset(cell.key for row in self.rows for cell in row.cells if max(row.since, cell.since) > layout)

    def label_of(self, key: str) -> str:
        """The words beside a cell; its key where it has none of its own."""
        for row in self.rows:
            for cell in row.cells:
                if cell.key == key:
                    return row.words_for(cell)
        raise KeyError(key)

    def defined_name(self, key: str) -> str:
        """The defined name of a cell, such as Shelf_price_tag."""
        return f"{self.key}_{key}"


@dataclass(frozen=True)
class Layout:
    """Everything that a log consists of, for a number of ready rows.

    `sheet_order` holds the keys of forms and sheets with rows in reading order; `named_ranges` are those that sheets
    of other kinds declare.
    """

    settings: tuple[Setting, ...]
    blocks: tuple[SettingsBlock, ...]
    tables: tuple[TableSheet, ...]
    forms: tuple[FormSheet, ...]
    checks: tuple[Check, ...]
    sheet_order: tuple[str, ...]
    named_ranges: tuple[NamedRange, ...] = ()
    settings_sheet: str = ""
    check_label: str = ""
    """The cell with the words of a check, with {row} left to fill in."""
    by_key: dict[str, TableSheet] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_key", {table.key: table for table in self.tables})

    def table(self, key: str) -> TableSheet:
        """The sheet with rows of that key, such as Log or Comps."""
        return self.by_key[key]

    def form(self, key: str) -> FormSheet:
        """The form of that key, such as Shelf or Year."""
        return next(form for form in self.forms if form.key == key)

    def block(self, key: str) -> SettingsBlock:
        """The small table on Settings of that key."""
        return next(block for block in self.blocks if block.key == key)

    def setting(self, name: str) -> Setting:
        """The setting of that name."""
        return next(setting for setting in self.settings if setting.name == name)
