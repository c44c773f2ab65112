"""Importing a file of sales by a form: what each of its columns is, and what would change.

The menu and the terminal ask the same form. Its fields come from a map, guessed or kept from the last
such file, and its answers are a map again.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final, Protocol

from sheetfns.cell_types import counted, shown_cell
from sheetfns.errors import LogFileError
from sheetfns.log.edit.csv_import.applying import save_left_rows
from sheetfns.log.edit.csv_import.csv_file import SEPARATORS, CsvFile, FileFacts, read_csv
from sheetfns.log.edit.csv_import.facts import near
from sheetfns.log.edit.csv_import.guess import (
    COSTS,
    Look,
    guess_map,
    is_order,
    looks_of,
    negative_share,
    tells_rows_apart,
)
from sheetfns.log.edit.csv_import.import_plan import ImportDesk, ImportLog, ImportPlan
from sheetfns.log.edit.csv_import.log_columns import log_columns
from sheetfns.log.edit.csv_import.map_file import ImportMap, Orders, RowKinds, Source, bind
from sheetfns.log.edit.csv_import.number_formats import offset_of
from sheetfns.log.edit.csv_import.row_reader import find_formats
from sheetfns.log.edit.csv_import.saved_maps import keep_map, kept_map
from sheetfns.log.edit.values import shown
from sheetfns.log.read.sheet_reader import plain
from sheetfns.log.sheets.registry import log_layout
from sheetfns.programs.forms import Answers, Field, Form
from sheetfns.programs.screens import Screen
from sheetfns.programs.shown_rows import Cell, Rows

LEAVE_OUT: Final = "(leave out)"
NONE: Final = "(none)"
ORDINARY: Final = "(an ordinary row)"
YES: Final = "Yes"
NO: Final = "No"
MINUS: Final = "with a minus"
NO_MINUS: Final = "without a minus"
PREVIEW_ROWS: Final = 300
"""Rows that the preview looks at: what a change of an answer does is shown at once."""
_MOSTLY: Final = 0.8
_HALF: Final = 0.5
_REASONS: Final = 3
_KIND_WORDS: Final = 12
_FIRST_DAY: Final = {"dmy": "day first", "mdy": "month first", "ymd": "year first"}
_MARKS: Final = {".": "point", ",": "comma"}


class Asks(Protocol):
    """What a form is asked with: a spreadsheet program, or a terminal."""

    def ask_form(self, form: Form) -> Answers | None:
        """The answers to a form, all of them readable; None if the user leaves it."""

    def show_message(self, text: str) -> None:
        """A message that waits until it is read."""


@dataclass(frozen=True)
class Agreed:
    """What the user has agreed to: the map, and what it would change."""

    desk: ImportDesk
    import_map: ImportMap
    plan: ImportPlan

    def keep(self) -> Path:
        """Keep the map for the next file with these headers.

        Errors:
            LogFileError: the user's folder cannot be written.
        """
        return keep_map(self.import_map, self.desk.file.headers)

    def kept_where(self) -> str:
        """Keep the map, and say where; what goes wrong there is said, as the log has been filled."""
        try:
            return f"Your answers are kept for the next file with these headers: {self.keep()}"
        except LogFileError as error:
            return f"Your answers could not be kept for the next file: {error}"


def import_sales(screen: Screen, file: Path, log: Path, words: Callable[[str], str]) -> None:
    """Ask what a file's columns are, show what would change, then type it into the log on the screen.

    Args:
        screen: the program that asks and shows.
        file: the file.
        log: a copy of the log on the screen.
        words: makes a message of the commands fit where it is shown.

    Errors:
        LogFileError: the file or the log cannot be used.
    """
    agreed = ask_import(screen, file, ImportLog(log), words)
    if agreed is None:
        return
    plan = agreed.plan
    screen.show_table("What would change", _plan_rows(plan), (8, 8, 16, 20, 30, 60))
    if not plan.edits:
        _tell_of_left(screen, plan, save_left_rows(plan), "Nothing to change in the log.")
        return
    cells, new = len(plan.edits), len(plan.new_rows)
    left_out = f" {counted(len(plan.left_out), 'row')} would be left out, as you said." if plan.left_out else ""
    question = (
        f"{cells} cells of sheet {plan.sheet} would be filled ({new} new rows), "
        f"{len(plan.left)} rows of the file would not be imported; the new workbook lists them.{left_out}"
        "\n\nFill them? Undo takes it back."
    )
    if screen.ask_yes(question):
        # What is left out is safe before anything is typed.
        left = save_left_rows(plan)
        screen.set_cells(plan.edits)
        _tell_of_left(screen, plan, left, f"{cells} cells were filled. Check them, then save.", agreed.kept_where())


def _plan_rows(plan: ImportPlan) -> Rows:
    rows: Rows = [["Line", "Row", "Item or row", "Column", "New value", "Why it is not imported"]]
    for change in plan.changes:
        place: list[Cell] = [float(change.csv_row), float(change.row), change.item]
        rows.append([*place, change.header, shown(change.new), None])
    for row in plan.new_rows:
        place = [float(row.csv_row), float(row.row), row.item]
        rows += [[*place, header, shown(value), None] for header, value in row.values.items()]
    rows += [[float(left.csv_row), None, None, None, None, left.reason] for left in plan.left]
    rows += [
        [float(one.csv_row), None, None, None, None, f"left out, as you said: {one.reason}"] for one in plan.left_out
    ]
    return rows


def _tell_of_left(screen: Asks, plan: ImportPlan, path: Path | None, words: str, more: str = "") -> None:
    left = f" {len(plan.left)} rows were not imported; {path} lists them with the reasons." if path else ""
    end = f"\n{more}" if more else ""
    screen.show_message(f"{words}{left}{end}")


def ask_import(asks: Asks, csv_path: Path, log: ImportLog, words: Callable[[str], str] = str) -> Agreed | None:
    """Ask what a file's columns are until the answers can be followed; None if the user leaves it.

    Args:
        asks: what the form is asked with.
        csv_path: the file.
        log: the log that it is to be imported into; nothing is written.
        words: makes a message of the commands fit where it is shown.

    Errors:
        LogFileError: the file cannot be used.
    """
    file, facts = _read(asks, csv_path)
    if file is None:
        return None
    questions = Questions(ImportDesk(log, file), facts)
    texts: dict[str, str] | None = None
    while True:
        answers = asks.ask_form(questions.form(texts))
        if answers is None:
            return None
        texts = {key: _as_typed(value) for key, value in answers.items()}
        try:
            import_map = questions.map_of(answers)
            return Agreed(questions.desk, import_map, questions.plan(import_map))
        except LogFileError as error:
            asks.show_message(words(str(error)))


def _as_typed(value: object) -> str:
    return "" if value is None else str(value)


def _read(asks: Asks, path: Path) -> tuple[CsvFile | None, FileFacts]:
    """The file; where it does not say how it is written, the user does."""
    file = read_csv(path, FileFacts(), doubtful=True)
    doubts = {key: one for key, one in zip(("encoding", "separator"), file.found[:2], strict=True) if one.doubt}
    if not doubts:
        return file, FileFacts()
    names = tuple(SEPARATORS.values())
    known = {
        "encoding": ("utf-8", "cp1252", "cp1250", "cp1251", "utf-16-le", "utf-16-be", "shift_jis"),
        "separator": names,
    }
    fields = tuple(
        Field(
            key,
            found.label,
            choices=known[key],
            only_choices=key == "separator",
            default=SEPARATORS.get(found.value, found.value),
            note=found.doubt.partition("; under [file]")[0].partition(": encoding")[0],
            needed=True,
        )
        for key, found in doubts.items()
    )
    asked = "The file doesn't say how it is written; choose what fits."
    answers = asks.ask_form(Form(f"How {path.name} is written", fields, asked, "Continue"))
    if answers is None:
        return None, FileFacts()
    marks = {name: mark for mark, name in SEPARATORS.items()}
    facts = FileFacts(answers.get("encoding") or "", marks.get(str(answers.get("separator")), ""))
    return read_csv(path, facts), facts


class Questions:
    """The form of one file: its fields, what follows from them, and the map that they make.

    Args:
        desk: the file and the log.
        facts: what is known of how the file is written.

    Attributes:
        kept: whether the first answers are those of the last file with these headers.
    """

    def __init__(self, desk: ImportDesk, facts: FileFacts | None = None) -> None:
        self.desk = desk
        self.file = desk.file
        content = desk.log.content
        table = log_layout().table("Log")
        self.columns = log_columns(content, table)
        self.by_header = {plain(column.header): column for column in self.columns}
        self.by_key = {column.key: column for column in self.columns if column.key}
        self.sheet = content.places[table.key].sheet
        self.looks = looks_of(self.file, content, desk.log.rows(table))
        twice = self.file.twice()
        self.asked = [look for look in self.looks if look.header and plain(look.header) not in twice]
        self.twice = [look.header for look in self.looks if plain(look.header) in twice]
        kept = self._kept()
        self.kept = kept is not None
        guess = guess_map(self.file, content, self.looks)
        first = _with_new_words(kept, guess) if kept else guess
        self.map = replace(first, path=Path("your answers"), file=self._facts(first.file, facts or FileFacts()))
        self.doubts = self._doubts()
        self.kind_columns = self._kind_columns()
        self._said: dict[str, str] = {}
        self._blanks: dict[str, bool] = {}

    def _kept(self) -> ImportMap | None:
        """The map of the last file with these headers, if it fits this log."""
        found = kept_map(self.file.headers)
        if found is None or plain(found.sheet) != plain(self.sheet):
            return None
        try:
            bind(found, self.desk.log.content, self.file)
        except LogFileError:
            return None
        return found

    @staticmethod
    def _facts(of_map: FileFacts, known: FileFacts) -> FileFacts:
        return replace(of_map, encoding=known.encoding, separator=known.separator, header_row=0)

    def _doubts(self) -> tuple[str, ...]:
        """What of numbers and dates the file leaves open: it is asked."""
        numbers = [look.place for look in self.asked if look.number >= _MOSTLY and look.date < _MOSTLY]
        dates = [look.place for look in self.asked if look.date >= _MOSTLY]
        formats = find_formats(self.desk.cells(), FileFacts(), numbers, dates)
        facts = self.map.file
        found = {
            "decimal_mark": formats.decimal.doubt or facts.decimal_mark,
            "date_order": formats.order.doubt or facts.date_order,
        }
        return tuple(key for key, open_ in found.items() if open_)

    def _kind_columns(self) -> list[Look]:
        """Columns whose words may say that a row is none of the sales, or of which kind it is."""
        named = {plain(header) for header in self.map.leave_out}
        if self.map.kinds:
            named.add(plain(self.map.kinds.column))
        return [look for look in self.asked if look.words and (plain(look.header) in named or tells_rows_apart(look))]

    # ---- the form --------------------------------------------------------------------------------

    def form(self, texts: Mapping[str, str] | None = None) -> Form:
        """The form, with the texts that were there before."""
        fields = self._fields()
        if texts is not None:
            fields = [replace(field, default=texts.get(field.key, field.default)) for field in fields]
        words = f"What is each column of {self.file.path.name}? Right: a column of sheet {self.sheet}."
        if self.kept:
            words += " These are your answers for the last file with the same headers."
        if self.twice:
            listed = ", ".join(dict.fromkeys(self.twice))
            words += f" Left out, as the header is duplicated: {listed}."
        return Form("Import sales", tuple(fields), words, "Show what would change", self.says)

    def _fields(self) -> list[Field]:
        headers = tuple(column.header for column in self.columns)
        fields = [
            Field(
                _column_key(look),
                look.header,
                choices=(LEAVE_OUT, *headers),
                default=self._target(look),
                note=_samples(look),
                needed=True,
            )
            for look in self.asked
        ]
        fields.append(
            Field(
                "match",
                "Find items by",
                choices=tuple(self._matching()),
                default=self.map.match or self.by_key["item_no"].header,
                note="one of the columns on the right",
                needed=True,
            )
        )
        fields += self._kind_fields()
        fields += self._further_fields()
        return fields

    def _matching(self) -> list[str]:
        """The log's columns by which an item can be found."""
        own = [column.header for column in self.columns if not column.key]
        return [self.by_key["item_no"].header, self.by_key["description"].header, *own]

    def _target(self, look: Look) -> str:
        """The log's header that the map gives a column of the file."""
        for header, source in self.map.columns.items():
            named = (source,) if isinstance(source, str) else source
            if plain(look.header) in map(plain, named):
                column = self.by_header.get(plain(header))
                return column.header if column else LEAVE_OUT
        return LEAVE_OUT

    def _kind_fields(self) -> list[Field]:
        kinds = self.map.kinds
        targets = tuple(column.header for column in self.columns if column.key and column.money)
        fields = []
        for look in self.kind_columns:
            gone = {plain(word) for one, words in self.map.leave_out.items() if plain(one) == plain(look.header)
                    for word in words}  # fmt: skip
            into = {}
            if kinds is not None and plain(kinds.column) == plain(look.header):
                into = {plain(word): header for word, header in kinds.amounts.items()}
            for number, (word, times) in enumerate(look.words[:_KIND_WORDS]):
                default = LEAVE_OUT if plain(word) in gone else into.get(plain(word), ORDINARY)
                fields.append(
                    Field(
                        f"kind {look.place} {number}",
                        f"{look.header} is {shown_cell(word)}",
                        choices=(ORDINARY, LEAVE_OUT, *targets),
                        default=default,
                        note=f"{counted(times, 'row')}; a column of the log takes its amount",
                        needed=True,
                    )
                )
        numbers = tuple(look.header for look in self.asked if look.number)
        if self.kind_columns and numbers:
            price = self.map.columns.get(self.by_key["sale_price"].header)
            amounts = [look.header for look in self.asked if look.amount]
            default = kinds.amount if kinds else price if price in numbers else (*amounts, *numbers)[0]
            note = "the column with their amounts"
            fields.append(Field("kind_amount", "Rows that are added", choices=numbers, default=default, note=note))
        orders = tuple(look.header for look in self.asked if is_order(look))
        order = self.map.orders
        if order and order.column not in orders:
            orders = (order.column, *orders)
        if orders:
            fields.append(
                Field(
                    "order",
                    "Order number",
                    choices=(NONE, *orders),
                    default=order.column if order else NONE,
                    note="where rows of one order belong together",
                )
            )
            fields.append(
                Field(
                    "carry",
                    "Dates and channels only in an order's first row",
                    choices=(YES, NO),
                    default=YES if order and order.carry_down else NO,
                )
            )
        return fields

    def _further_fields(self) -> list[Field]:
        channel = self.by_key["channel"]
        channels = tuple(channel.names.words) if channel.names else ()
        fixed = self.map.fixed.get(channel.header)
        asked = {plain(look.header) for look in self.kind_columns}
        rest = {header: words for header, words in self.map.leave_out.items() if plain(header) not in asked}
        costs = {self.by_key[key].header for key in COSTS}
        minus = bool(costs & set(self.map.minus_as_plus)) or bool(self.map.kinds and self.map.kinds.minus_as_plus)
        fields = [
            Field(
                "leave_out",
                "Other rows to leave out",
                default="; ".join(f"{header}: {', '.join(words)}" for header, words in rest.items()),
                note="such as Status: Cancelled, Unpaid; Type: Payout",
            ),
            Field(
                "channel",
                "Channel of all rows",
                choices=(NONE, *channels),
                default=str(fixed) if fixed else NONE,
                note="if no column says it",
            ),
            Field("new_rows", "Add items that the log doesn't have", choices=(YES, NO),
                  default=YES if self.map.new_rows else NO, needed=True),
            Field("minus", "Fees and other costs are written", choices=(MINUS, NO_MINUS),
                  default=MINUS if minus else NO_MINUS, needed=True),
        ]  # fmt: skip
        facts = self.map.file
        if "date_order" in self.doubts:
            default = _FIRST_DAY.get(facts.date_order, "")
            note = "the file doesn't show it"
            fields.append(
                Field(
                    "date_order", "Dates", choices=tuple(_FIRST_DAY.values()), default=default, note=note, needed=True
                )
            )
        if "decimal_mark" in self.doubts:
            default = _MARKS.get(facts.decimal_mark, "")
            note = "the file doesn't show it"
            fields.append(
                Field(
                    "decimal_mark",
                    "Decimal mark",
                    choices=tuple(_MARKS.values()),
                    default=default,
                    note=note,
                    needed=True,
                )
            )
        if any(look.epoch for look in self.asked):
            note = "where a day begins, for times that are numbers: hours from UTC"
            fields.append(Field("utc_offset", "Time zone", default=facts.utc_offset or "+00:00", note=note))
        return fields

    # ---- the map ---------------------------------------------------------------------------------

    def map_of(self, answers: Answers) -> ImportMap:
        """The map that answers make.

        Errors:
            LogFileError: they contradict each other, or say too little; what, and what to do.
        """
        columns = self._columns_of(answers)
        match = self.by_header[plain(answers.get("match") or self.by_key["item_no"].header)]
        if match.header not in columns:
            raise LogFileError(
                f"Find items by: no column of the file is set to '{match.header}'; set one, or find items by another"
            )
        kinds = self._kinds_of(answers, columns)
        new_rows = answers.get("new_rows") == YES
        if not new_rows and len(columns) == 1 and kinds is None:
            raise LogFileError(f"Only '{match.header}' is set; set another column, such as the sale price")
        if new_rows and self.by_key["item_no"].header not in columns:
            raise LogFileError(
                f"Add items that the log doesn't have: a new item needs '{self.by_key['item_no'].header}', and no "
                f"column is set to it; set one, or choose {NO}"
            )
        channel = self.by_key["channel"].header
        chosen = answers.get("channel")
        fixed = {channel: chosen} if chosen and chosen != NONE else {}
        if fixed and channel in columns:
            raise LogFileError(
                f"Channel of all rows: a column is set to '{channel}' too; set that to {LEAVE_OUT}, or this to {NONE}"
            )
        return ImportMap(
            path=self.map.path,
            file=self._facts_of(answers),
            sheet=self.sheet,
            match=match.header,
            new_rows=new_rows,
            minus_as_plus=self._turned(answers, columns),
            columns=columns,
            fixed=fixed,
            leave_out=self._left_out_of(answers),
            orders=self._orders_of(answers, columns, kinds),
            kinds=kinds,
        )

    def _columns_of(self, answers: Answers) -> dict[str, Source]:
        found: dict[str, list[Look]] = {}
        for look in self.asked:
            header = answers.get(_column_key(look))
            if header and header != LEAVE_OUT:
                found.setdefault(header, []).append(look)
        if not found:
            raise LogFileError("No column is set to one of the log's; set at least the item number and what to fill")
        for header, looks in found.items():
            if len(looks) > 1 and self.by_header[plain(header)].kind.holds != "number":
                named = " and ".join(f"'{look.header}'" for look in looks)
                raise LogFileError(
                    f"{named} are both set to '{header}', and only amounts are added up; set one of them to {LEAVE_OUT}"
                )
        return {
            header: looks[0].header if len(looks) == 1 else tuple(look.header for look in looks)
            for header, looks in found.items()
        }

    def _turned(self, answers: Answers, columns: Mapping[str, Source]) -> tuple[str, ...]:
        """The log's headers whose amounts the file writes with a minus."""
        if answers.get("minus") != MINUS:
            return ()
        by_header = {plain(look.header): look for look in self.asked}
        turned = []
        for key in COSTS:
            source = columns.get(self.by_key[key].header, ())
            looks = [by_header[plain(one)] for one in ((source,) if isinstance(source, str) else source)]
            # Of several costs one may be written otherwise than the fee; without amounts that is not known.
            if looks and (key == "fee_charged" or any(look.negative for look in looks)):
                turned.append(self.by_key[key].header)
        return tuple(turned)

    def _facts_of(self, answers: Answers) -> FileFacts:
        facts = self.map.file
        orders = {words: order for order, words in _FIRST_DAY.items()}
        marks = {words: mark for mark, words in _MARKS.items()}
        offset = str(answers.get("utc_offset") or "")
        if offset and offset_of(offset) is None:
            raise LogFileError(
                f"Time zone: '{offset}' is no distance from UTC; enter hours and minutes, such as -05:00"
            )
        epochs = [look.epoch for look in self.asked if look.epoch]
        return replace(
            facts,
            date_order=orders.get(str(answers.get("date_order")), "") if "date_order" in self.doubts else "",
            decimal_mark=marks.get(str(answers.get("decimal_mark")), "") if "decimal_mark" in self.doubts else "",
            epoch=epochs[0] if epochs else "",
            utc_offset="" if offset == "+00:00" else offset,
        )

    def _chosen_kinds(self, answers: Answers) -> dict[tuple[str, str], str]:
        """What was chosen for each word of a column that tells rows apart."""
        return {
            (look.header, word): str(answers.get(f"kind {look.place} {number}") or ORDINARY)
            for look in self.kind_columns
            for number, (word, _) in enumerate(look.words[:_KIND_WORDS])
        }

    def _left_out_of(self, answers: Answers) -> dict[str, tuple[str, ...]]:
        found: dict[str, list[str]] = {}
        for (header, word), choice in self._chosen_kinds(answers).items():
            if choice == LEAVE_OUT:
                found.setdefault(header, []).append(word)
        for part in str(answers.get("leave_out") or "").split(";"):
            if part.strip():
                header, words = self._column_and_words(part)
                found.setdefault(header, []).extend(words)
        return {header: tuple(dict.fromkeys(words)) for header, words in found.items()}

    def _column_and_words(self, part: str) -> tuple[str, list[str]]:
        """One column and its words: Status: Cancelled, Unpaid."""
        headers = sorted((look.header for look in self.asked), key=len, reverse=True)
        bare = " ".join(part.split())
        header = next((one for one in headers if plain(bare).startswith(f"{plain(one)}:")), None)
        if header is None:
            name, colon, _ = bare.partition(":")
            if not colon:
                raise LogFileError(
                    f"Other rows to leave out: '{shown_cell(bare)}' has no colon; enter a column and the words in it, "
                    "such as Status: Cancelled"
                )
            raise LogFileError(
                f"Other rows to leave out: the file has no column '{shown_cell(name)}'{near(name, headers)}; enter one "
                "of its headers"
            )
        words = [" ".join(word.split()) for word in bare[len(header) + 1 :].split(",") if word.strip()]
        if not words:
            raise LogFileError(f"Other rows to leave out: there is no word after '{header}:'; enter one, or delete it")
        return header, words

    def _kinds_of(self, answers: Answers, columns: Mapping[str, Source]) -> RowKinds | None:
        chosen = {
            at: choice
            for at, choice in self._chosen_kinds(answers).items()
            if choice not in {ORDINARY, LEAVE_OUT}
        }  # fmt: skip
        if not chosen:
            return None
        headers = list(dict.fromkeys(header for header, _ in chosen))
        if len(headers) > 1:
            raise LogFileError(
                f"Both '{headers[0]}' and '{headers[1]}' say that rows are added to an item; choose {ORDINARY} for the "
                "words of one of them"
            )
        amount = answers.get("kind_amount")
        if not amount:
            raise LogFileError("Rows that are added: no column is set; choose the one with their amounts")
        amounts = {word: header for (_, word), header in chosen.items()}
        refund, refunded = self.by_key["refund"].header, self.by_key["refunded_on"].header
        day = columns.get(self.by_key["sold_on"].header, "")
        with_day = (
            [word for word, header in amounts.items() if header == refund] if isinstance(day, str) and day else []
        )
        by_header = {plain(look.header): look for look in self.asked}
        column, of_amount = by_header[plain(headers[0])], by_header[plain(amount)]
        turned = [word for word in amounts if negative_share(self.file, column, of_amount, word) > _HALF]
        return RowKinds(
            headers[0],
            amount,
            amounts,
            str(day) if with_day else "",
            dict.fromkeys(with_day, refunded),
            tuple(turned) if answers.get("minus") == MINUS else (),
        )

    def _orders_of(self, answers: Answers, columns: Mapping[str, Source], kinds: RowKinds | None) -> Orders | None:
        order = answers.get("order")
        if not order or order == NONE:
            return None
        carried: list[str] = []
        if answers.get("carry") == YES:
            carried = [order] if self._has_blanks(order) else []
            for key in ("sold_on", "channel"):
                source = columns.get(self.by_key[key].header)
                if isinstance(source, str):
                    carried.append(source)
        return Orders(order, tuple(carried)) if carried or kinds else None

    def _has_blanks(self, header: str) -> bool:
        """Whether a column of the file is blank in some of its rows."""
        if header not in self._blanks:
            place = next(look.place for look in self.asked if look.header == header)
            self._blanks[header] = any(
                place < len(row.cells) and not row.cells[place].strip() for row in self.file.rows
            )
        return self._blanks[header]

    # ---- what follows ----------------------------------------------------------------------------

    def plan(self, import_map: ImportMap, first_rows: int | None = None) -> ImportPlan:
        """What a map would do; its reasons say what to change in the form.

        Errors:
            LogFileError: the map cannot be followed.
        """
        plan = self.desk.plan(import_map, first_rows)
        return replace(
            plan,
            left=tuple(replace(row, reason=_on_form(row.reason)) for row in plan.left),
            unreadable=tuple(replace(row, reason=_on_form(row.reason)) for row in plan.unreadable),
        )

    def says(self, answers: Answers) -> str:
        """What the answers would do to the log, by the first rows of the file."""
        key = repr(sorted(answers.items()))
        if key not in self._said:
            try:
                self._said[key] = preview(self.plan(self.map_of(answers), PREVIEW_ROWS))
            except LogFileError as error:
                self._said[key] = str(error)
        return self._said[key]


def preview(plan: ImportPlan) -> str:
    """What a plan would do, in a few lines."""
    rows = len({change.row for change in plan.changes})
    head = f"Of {counted(plan.csv_rows, 'row')} of the file"
    if plan.csv_rows == PREVIEW_ROWS:
        head = f"Of the first {PREVIEW_ROWS} rows of the file"
    parts = [f"{counted(rows, 'item')} filled", f"{len(plan.new_rows)} new"]
    parts += [f"{len(plan.already_there)} in the log already", f"{len(plan.left)} not imported"]
    if plan.left_out:
        parts.append(f"{len(plan.left_out)} left out as you say")
    reasons: dict[str, list[int]] = {}
    for row in plan.left:
        reasons.setdefault(row.reason, []).append(row.csv_row)
    lines = [f"Row {rows[0]}: {reason}" for reason, rows in list(reasons.items())[:_REASONS]]
    if len(reasons) > _REASONS:
        lines.append(f"... and {counted(len(reasons) - _REASONS, 'more reason')}")
    return "\n".join([f"{head}: {', '.join(parts)}.", *lines])


def _with_new_words(kept: ImportMap, guess: ImportMap) -> ImportMap:
    """The map of the last file, with what is guessed of words that it does not name: the last file had none."""
    known = {(plain(header), plain(word)) for header, words in kept.leave_out.items() for word in words}
    known |= {(plain(kept.kinds.column), plain(word)) for word in kept.kinds.amounts} if kept.kinds else set()
    leave_out = {plain(header): (header, list(words)) for header, words in kept.leave_out.items()}
    for header, words in guess.leave_out.items():
        new = [word for word in words if (plain(header), plain(word)) not in known]
        if new:
            leave_out.setdefault(plain(header), (header, []))[1].extend(new)
    kinds = kept.kinds or guess.kinds
    if kept.kinds and guess.kinds and plain(kept.kinds.column) == plain(guess.kinds.column):
        at = plain(kept.kinds.column)
        new = [word for word in guess.kinds.amounts if (at, plain(word)) not in known]
        kinds = replace(kept.kinds, amounts={**kept.kinds.amounts, **{word: guess.kinds.amounts[word] for word in new}})
    return replace(kept, leave_out={header: tuple(words) for header, words in leave_out.values()}, kinds=kinds)


def _on_form(message: str) -> str:
    """A message whose advice is followed in the form, and not in a file."""
    for pattern, words in _ADVICE.items():
        message = re.sub(pattern, words, message)
    return message


_ADVICE: Final = {
    r"if all its amounts in the file have a minus, write minus_as_plus = \[[^\]]*\] under \[log\] in the map": (
        f"if it is a cost, choose that costs are written {MINUS}; if not, leave such rows out"
    ),
    r"; if it counts (\w+) from 1970, write epoch = [^;]* under \[file\] in the map": "",
}
"""What the map in a file is called in the form."""


def _column_key(look: Look) -> str:
    return f"column {look.place}"


def _samples(look: Look) -> str:
    shown = [shown_cell(text, 24) for text in look.samples]
    return ", ".join(shown) if shown else "blank in this file"
