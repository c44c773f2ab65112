"""A first map of a file of sales, guessed from what stands in its columns and what they are called.

What the cells hold decides what a column can be; names decide between what it can be.
"""

from __future__ import annotations

import difflib
import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from sheetfns.log.edit.csv_import.csv_file import CsvFile, FileFacts
from sheetfns.log.edit.csv_import.log_columns import LogColumn, LogRows, log_columns
from sheetfns.log.edit.csv_import.map_file import ImportMap, Orders, RowKinds, Source
from sheetfns.log.edit.csv_import.number_formats import (
    EPOCH_UNITS,
    date_text,
    epoch_day,
    is_amount,
    number_of,
    number_text,
)
from sheetfns.log.read.content import LogContent
from sheetfns.log.read.sheet_reader import plain
from sheetfns.log.sheets.registry import log_layout

_BLANK_WORDS: Final = frozenset({"-", "--", "---", "\u2013", "\u2014", "n/a", "na", "none", "null", "nil", "."})
"""Texts that stand for a blank cell in a column of numbers or dates."""
SAMPLE: Final = 1_000
"""Rows that are looked at."""
MOST_WORDS: Final = 10
"""A column with more different texts says nothing of the kind of its rows."""
_MOSTLY: Final = 0.8
_HALF: Final = 0.5
_PARTLY: Final = 0.3
_ENOUGH: Final = 1.5
"""So much has to speak for a pair of columns."""
_SPELLED_ALIKE: Final = 0.9
_EPOCH_YEARS: Final = range(2000, 2038)
_HALF_A_CENT: Final = 0.005

_SAME_WORDS: Final = {
    **dict.fromkeys(("number", "num", "nr", "id", "code", "numbers"), "no"),
    **dict.fromkeys(("dates", "day", "time", "timestamp", "datetime", "when"), "date"),
    **dict.fromkeys(("sold", "sales", "selling", "sell"), "sale"),
    **dict.fromkeys(("shipping", "delivery", "shipment", "freight", "carriage", "ship", "shipped"), "postage"),
    **dict.fromkeys(("fees", "commission", "commissions"), "fee"),
    **dict.fromkeys(("vat", "gst"), "tax"),
    **dict.fromkeys(("refunded", "refunds", "reimbursed"), "refund"),
    **dict.fromkeys(("returned", "returns"), "return"),
    **dict.fromkeys(("labels",), "label"),
    **dict.fromkeys(("costs",), "cost"),
    **dict.fromkeys(("amt", "sum"), "amount"),
    **dict.fromkeys(("title", "product", "name", "article", "goods"), "title"),
    **dict.fromkeys(("buyers", "customer", "purchaser"), "buyer"),
    **dict.fromkeys(("packing",), "packaging"),
    **dict.fromkeys(("marketplace", "platform", "site", "venue", "shop"), "channel"),
    **dict.fromkeys(("canceled", "cancelled", "cancellation"), "cancel"),
}
_LITTLE_WORDS: Final = frozenset({"of", "the", "a", "an", "and", "in", "for", "by", "was", "to", "at", "from", "on"})

_WORDS: Final[dict[str, dict[str, float]]] = {
    "item_no": {"sku": 2, "item no": 1.5, "own no": 2, "stock no": 2, "inventory no": 2, "my no": 2, "tag": 1.2,
                "reference": 1.2, "ref": 1.2, "custom": 1, "title no": 1, "bin": 0.5, "lot no": 0.2},
    "description": {"title": 2, "description": 2, "item": 1, "what": 1.5},
    "sold_on": {"sale date": 2.5, "order date": 2.3, "date": 1.6, "paid date": 2, "purchase date": 1.8,
                "created": 1.6, "sale": 1.5, "paid": 1.2, "order": 1, "transaction date": 2, "checkout": 1.5,
                "ordered": 1.8},
    "sale_price": {"sale price": 2.5, "item price": 2.4, "price": 2, "sale": 1.6, "item total": 1.9,
                   "subtotal": 1.8, "gross": 1.5, "amount": 1.5, "item amount": 1.9, "total": 1.1,
                   "proceeds": 1, "value": 1.2},
    "shipping_charged": {"postage": 1.7, "postage buyer": 2.6, "postage charged": 2.5, "postage received": 2.5,
                         "postage income": 2.5, "postage collected": 2.5, "postage price": 2,
                         "postage paid buyer": 2.8,
                         "postage charge": 2.3, "postage amount": 1.9},
    "tax_collected": {"tax": 2, "tax collected": 2.5},
    "fee_charged": {"fee": 2.2, "charge": 1.2, "deduction": 1.6, "deductions": 1.6, "fee charged": 2.5},
    "postage_paid": {"label": 2.2, "postage cost": 2.4, "postage paid": 2.2, "label cost": 2.5,
                     "postage label": 2.5, "postage spent": 2.4, "postage expense": 2.4},
    "packaging": {"packaging": 2.2, "packaging cost": 2.4},
    "refund": {"refund": 2.4, "refund amount": 2.5},
    "refunded_on": {"refund date": 2.6, "refund": 1.6},
    "returned_on": {"return date": 2.4, "back date": 2},
    "listed_on": {"listed": 2, "listed date": 2.4, "listing date": 2.2},
    "asking_price": {"asking price": 2.5, "list price": 2.2, "listed price": 2.2},
    "channel": {"channel": 2},
    "scale_weight": {"weight scale": 2.5, "actual weight": 2},
}  # fmt: skip
"""Words of headers that speak for a column of the log, all of which must be there, and how much they do."""
_NAMES: Final = {
    key: [(frozenset(words.split()), weight) for words, weight in names.items()] for key, names in _WORDS.items()
}
_NOT: Final[Mapping[str, frozenset[str]]] = {
    key: frozenset(words.split())
    for key, words in {
        "item_no": "order transaction buyer tracking price amount total qty quantity fee tax phone zip postal invoice",
        "description": "buyer user full first last seller no channel type note status payment postage",
        "sold_on": "postage dispatch refund return payout listed listing delivered due update updated deposit buyer no",
        "sale_price": "postage tax fee net payout refund label cost date list listed asking start reserve packaging",
        "shipping_charged": "cost label fee tax refund date service carrier method own address name discount expense",
        "tax_collected": "no rate date",
        "fee_charged": "postage label date rate net",
        "postage_paid": "buyer charged received income collected fee tax refund date",
        "packaging": "date",
        "refund": "date fee tax postage reason no status",
        "refunded_on": "reason",
        "returned_on": "reason",
        "listed_on": "price",
        "asking_price": "date",
        "channel": "no fee date",
        "scale_weight": "date",
    }.items()
}
"""Words of headers that speak against it."""
_ADDS_UP: Final = {"fee_charged"}
"""Columns of the log that may come from several of the file."""
COSTS: Final = ("fee_charged", "postage_paid", "packaging", "refund")
_LEFT_TO_THE_SELLER: Final = {"paid", "purchase_tax", "bought_on", "bought_by", "expected_price", "expected_postage"}
"""What an item cost stands in no list of sales; a column that is called so there means what the buyer paid."""

_KIND_NAMES: Final = frozenset(
    {"type", "kind", "entry", "event", "row", "line", "record", "what", "category", "activity", "reason"}
)
_STATE_NAMES: Final = frozenset({"status", "state", "outcome", "stage"})
_NO_SALE: Final = re.compile(
    r"cancel|void|unpaid|not paid|declin|reject|expired|abandon|payout|transfer|withdraw|deposit|reserve|hold\b",
    re.IGNORECASE,
)
_TO_BE_ASKED: Final = re.compile(r"refund|return|reimburs|dispute|partial|lost", re.IGNORECASE)
"""Words of a state that may mean that the sale did not last; the seller knows."""
_KIND_OF: Final[tuple[tuple[re.Pattern[str], str], ...]] = (
    (re.compile(r"refund|reimburs|money back", re.IGNORECASE), "refund"),
    (re.compile(r"label|postage|shipping cost|carriage", re.IGNORECASE), "postage_paid"),
    (re.compile(r"fee|commission|\bads?\b|advert|promot", re.IGNORECASE), "fee_charged"),
    (re.compile(r"\btax\b|vat", re.IGNORECASE), "tax_collected"),
    (re.compile(r"packag|packing|box", re.IGNORECASE), "packaging"),
)


@dataclass(frozen=True)
class Look:
    """What the cells of one column look like.

    Attributes:
        place: of the column in the file, counted from 0.
        header: over it.
        samples: up to three different texts.
        filled: how many of the cells are filled; all other figures are shares of these.
        number, date, amount, negative: numbers, dates, amounts of money, numbers below zero.
        epoch: the unit if they are times that count from 1970; "" if not.
        words: how often each text stands there, if they are few.
        blank_words: texts that stand for a blank cell, such as --.
        items, titles, channels: known as item numbers, descriptions and channels of the log.
    """

    place: int
    header: str
    samples: tuple[str, ...]
    filled: int
    number: float = 0
    date: float = 0
    amount: float = 0
    negative: float = 0
    epoch: str = ""
    words: tuple[tuple[str, int], ...] = ()
    blank_words: tuple[str, ...] = ()
    items: float = 0
    titles: float = 0
    channels: float = 0


def looks_of(file: CsvFile, content: LogContent, rows: LogRows) -> list[Look]:
    """What the columns of a file look like, by its first rows and the sourcing log."""
    by_key = {column.key: column for column in log_columns(content, log_layout().table("Log"))}
    known = {
        key: {plain(str(value)) for value in rows.values(by_key[key]).values()} for key in ("item_no", "description")
    }
    names = by_key["channel"].names
    channels = {plain(word) for word in names.words} if names else set()
    cells = [row.cells for row in file.rows[:SAMPLE] if not file.misfit(row)]
    return [
        replace(
            _look(place, header, [row[place].strip() for row in cells if place < len(row)], known, channels),
            words=_few_words(file, place),
        )
        for place, header in enumerate(file.headers)
    ]


def _few_words(file: CsvFile, place: int) -> tuple[tuple[str, int], ...]:
    """How often each text stands in a column of the whole file, if they are few."""
    counts: dict[str, int] = {}
    spelled: dict[str, str] = {}
    for row in file.rows:
        text = row.cells[place].strip() if place < len(row.cells) else ""
        if text and not file.misfit(row):
            text = spelled.setdefault(plain(text), text)
            counts[text] = counts.get(text, 0) + 1
            if len(counts) > MOST_WORDS:
                return ()
    return tuple(counts.items())


def _look(place: int, header: str, cells: Sequence[str], known: Mapping[str, set[str]], channels: set[str]) -> Look:
    counts = Counter(cell for cell in cells if cell and plain(cell) not in _BLANK_WORDS)
    filled = sum(counts.values())
    if not filled:
        return Look(place, header, (), 0)

    def share(verdict: Callable[[str], bool]) -> float:
        return sum(times for text, times in counts.items() if verdict(text)) / filled

    numbers = {text: number for text in counts if (number := number_text(text)) is not None}
    return Look(
        place,
        header,
        tuple(list(counts)[:3]),
        filled,
        number=share(lambda text: text in numbers),
        date=share(lambda text: date_text(text) is not None),
        amount=share(is_amount),
        negative=share(lambda text: text in numbers and numbers[text].sign < 0),
        epoch=_epoch(header, counts),
        blank_words=tuple(dict.fromkeys(cell for cell in cells if plain(cell) in _BLANK_WORDS)),
        items=share(lambda text: plain(text) in known["item_no"]),
        titles=share(lambda text: plain(text) in known["description"]),
        channels=share(lambda text: plain(text) in channels),
    )


def _epoch(header: str, texts: Iterable[str]) -> str:
    """The unit in which a column counts times from 1970; its header has to speak of times."""
    words = words_of(header)
    if "no" in words or not words & {
        "date",
        "created",
        "paid",
        "sale",
        "order",
        "ordered",
        "checkout",
        "epoch",
        "refund",
    }:
        return ""
    listed = list(texts)
    for unit in EPOCH_UNITS:
        days = [epoch_day(text, unit) for text in listed]
        if sum(day is not None and day.year in _EPOCH_YEARS for day in days) >= _MOSTLY * len(listed):
            return unit
    return ""


def words_of(header: str) -> frozenset[str]:
    """The words of a header, with one word for those that mean the same there."""
    apart = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", header).replace("#", " no ")
    words = [_SAME_WORDS.get(word, word) for word in re.findall(r"[^\W_]+", apart.casefold())]
    return frozenset(words) - _LITTLE_WORDS


# ---- pairs ---------------------------------------------------------------------------------------


def _named(key: str, look: Look) -> float:
    """How much a header speaks for a column of the log."""
    words = words_of(look.header)
    against = words & _NOT[key]
    if key == "item_no" and "sku" in words:
        against = frozenset()
    if against:
        return -1
    found = [weight - 0.1 * len(words - needed) for needed, weight in _NAMES[key] if needed <= words]
    return max(found, default=0)


def _holds(column: LogColumn, look: Look) -> bool:
    """Whether a column of the file can be one of the log, by what stands in it."""
    if not look.filled:
        return False
    if column.kind.holds == "number":
        return look.number >= _MOSTLY and not look.epoch and look.date < _MOSTLY
    if column.kind.holds == "date":
        return look.date >= _MOSTLY or bool(look.epoch)
    return look.amount < _PARTLY and (look.date < _MOSTLY or look.items >= _MOSTLY) and not look.epoch


def likeness(column: LogColumn, look: Look) -> float:
    """How much speaks for a column of the file being one of the log; 0 or less if nothing does."""
    if not _holds(column, look):
        return 0
    named = _named(column.key, look) if column.key in _NAMES else 0
    if column.key == "item_no":
        # A third of a column of texts cannot be the log's numbers by chance; of prices it can.
        more = 0.6 if look.items >= _PARTLY and look.number < _MOSTLY else 0
        return named + 3 * look.items + more if named >= 0 or look.items >= _MOSTLY else 0
    if column.key == "description":
        return max(named, 0) + 2 * look.titles if look.number < _MOSTLY or look.titles >= _PARTLY else 0
    if column.key == "channel":
        return max(named, 0) + 2 * look.channels if look.channels >= _MOSTLY else 0
    if column.key == "shipping_charged" and named > 0 and look.negative > _PARTLY:
        return 0
    if column.key == "postage_paid" and words_of(look.header) == {"postage"} and look.negative > _PARTLY:
        return 2
    if column.key in _NAMES:
        return named
    if column.names is not None and look.words:
        allowed = sum(times for word, times in look.words if word in column.names) / look.filled
        if allowed < _MOSTLY:
            return 0
    return 0 if column.key in _LEFT_TO_THE_SELLER else _spelled_alike(column.header, look.header)


def _spelled_alike(one: str, other: str) -> float:
    if plain(one) == plain(other):
        return 3
    alike = difflib.SequenceMatcher(None, plain(one), plain(other)).ratio()
    return 2 * alike if alike >= _SPELLED_ALIKE or words_of(one) == words_of(other) else 0


Pairs = dict[str, list[Look]]
"""Columns of the file by the key of the log's column, or by its header where the seller has added it."""


def _name(column: LogColumn) -> str:
    return column.key or column.header


def _pairs(columns: Sequence[LogColumn], looks: Sequence[Look], twice: set[str]) -> Pairs:
    """What may be what; the most likely first, each column of the file once."""
    scored = sorted(
        (-score, at, place)
        for at, column in enumerate(columns)
        for place, look in enumerate(looks)
        if look.header and plain(look.header) not in twice and (score := likeness(column, look)) >= _ENOUGH
    )
    used: set[int] = set()
    found: Pairs = {}
    for _, at, place in scored:
        name = _name(columns[at])
        if place not in used and (name not in found or name in _ADDS_UP):
            found.setdefault(name, []).append(looks[place])
            used.add(place)
    return found


# ---- the map -------------------------------------------------------------------------------------


def guess_map(file: CsvFile, content: LogContent, looks: Sequence[Look]) -> ImportMap:
    """A map for a file of sales; it may lack a column to match by.

    Args:
        file: the file.
        content: the log.
        looks: what the file's columns look like.
    """
    table = log_layout().table("Log")
    columns = {_name(column): column for column in log_columns(content, table)}
    pairs = _pairs(list(columns.values()), looks, file.twice())
    match = _match(pairs)
    # A title beside a number would contradict the log's own words for the item, and the other way round.
    pairs = {name: found for name, found in pairs.items() if name not in {"item_no", "description"} or name == match}
    kinds_at = _kind_column(looks, {one.place for found in pairs.values() for one in found})
    kinds = _kinds(file, looks, kinds_at, pairs, columns)
    if kinds is not None and "sale_price" not in pairs:
        # Where refunds and labels have their amount, sales have theirs.
        taken = {one.place for found in pairs.values() for one in found}
        free = [look for look in looks if look.header == kinds.amount and look.place not in taken]
        pairs |= {"sale_price": free} if free else {}
    sources: dict[str, Source] = {}
    turned = []
    for name, found in pairs.items():
        used, header = _without_total(file, found), columns[name].header
        sources[header] = used[0].header if len(used) == 1 else tuple(one.header for one in used)
        if name in COSTS and all(one.negative > _HALF for one in used):
            turned.append(header)
    read = [look for found in pairs.values() for look in found if look.number or look.date or look.epoch]
    blank_words = tuple(dict.fromkeys(word for look in read for word in look.blank_words))
    epochs = [look.epoch for found in pairs.values() for look in found if look.epoch]
    return ImportMap(
        path=Path("the map"),
        file=FileFacts(epoch=epochs[0] if epochs else "", blank_words=blank_words),
        sheet=content.places[table.key].sheet,
        match=columns[match].header if match else "",
        new_rows=False,
        minus_as_plus=tuple(turned),
        columns=sources,
        leave_out=_leave_out(looks),
        orders=_orders(file, looks, pairs, with_kinds=kinds is not None),
        kinds=kinds,
    )


def _match(pairs: Pairs) -> str:
    """The key of the log's column by which rows are found; "" if the file has neither numbers nor titles."""
    numbers = pairs["item_no"][0].items if "item_no" in pairs else -1.0
    titles = pairs["description"][0].titles if "description" in pairs else -1.0
    if max(numbers, titles) < 0:
        return ""
    return "description" if titles > numbers else "item_no"


def _without_total(file: CsvFile, looks: Sequence[Look]) -> list[Look]:
    """Columns to be added up, without those that are the sum of the others already."""
    if len(looks) < 2:
        return list(looks)
    rows = [row for row in file.rows[:SAMPLE] if not file.misfit(row)]
    for total in looks:
        rest = [look for look in looks if look is not total]
        sums = [(_amount(row.cells, total), sum(_amount(row.cells, look) for look in rest)) for row in rows]
        filled = [(one, other) for one, other in sums if one]
        if filled and all(abs(one - other) < _HALF_A_CENT for one, other in filled):
            # One of two that are the same is as good as the other; of more the one column is the total.
            return [total]
    return list(looks)


def _amount(cells: Sequence[str], look: Look) -> float:
    number = number_text(cells[look.place]) if look.place < len(cells) else None
    if number is None:
        return 0
    values = [value for mark in ".," if (value := number_of(number.digits, mark)) is not None]
    return number.sign * values[0] if values else 0


def _kind_column(looks: Sequence[Look], used: set[int]) -> Look | None:
    """The column that says of which kind a row is."""
    for look in looks:
        if look.place in used or not len(look.words) >= 2 or not words_of(look.header) & _KIND_NAMES:
            continue
        if any(kind_of(word) for word, _ in look.words):
            return look
    return None


def tells_rows_apart(look: Look) -> bool:
    """Whether the seller has to say what some words of a column mean for their rows."""
    named = words_of(look.header) & (_KIND_NAMES | _STATE_NAMES)
    return bool(named) and len(look.words) > 1 and any(_TO_BE_ASKED.search(word) for word, _ in look.words)


def kind_of(word: str) -> str:
    """The key of the log's column that a row of a kind adds to; "" for an ordinary row, or none."""
    if _NO_SALE.search(word):
        return ""
    return next((key for pattern, key in _KIND_OF if pattern.search(word)), "")


def _kinds(
    file: CsvFile, looks: Sequence[Look], column: Look | None, pairs: Pairs, columns: Mapping[str, LogColumn]
) -> RowKinds | None:
    if column is None:
        return None
    amounts = {word: key for word, _ in column.words if (key := kind_of(word))}
    amount = amount_column(file, looks, column, list(amounts))
    if amount is None:
        return None
    day = pairs["sold_on"][0] if "sold_on" in pairs else None
    with_day = [word for word, key in amounts.items() if key == "refund"] if day else []
    return RowKinds(
        column.header,
        amount.header,
        {word: columns[key].header for word, key in amounts.items()},
        day.header if day and with_day else "",
        dict.fromkeys(with_day, columns["refunded_on"].header),
        tuple(word for word in amounts if negative_share(file, column, amount, word) > _HALF),
    )


def amount_column(file: CsvFile, looks: Sequence[Look], column: Look, kinds: Sequence[str]) -> Look | None:
    """The column with the amounts of rows of some kinds: the one that is filled there, named for it if several are."""
    wanted = {plain(word) for word in kinds}
    rows = [row.cells for row in file.rows[:SAMPLE] if not file.misfit(row)]
    rows = [cells for cells in rows if column.place < len(cells) and plain(cells[column.place]) in wanted]
    best: tuple[float, Look] | None = None
    for look in looks:
        if look.number < _MOSTLY or look.epoch or not rows:
            continue
        names = words_of(look.header)
        filled = sum(_amount(cells, look) != 0 for cells in rows) / len(rows)
        score = 2 * filled + bool(names & {"amount", "value", "net", "total"}) + 0.5 * bool(look.amount)
        score -= 3 * bool(names & {"no", "qty", "quantity", "balance"})
        if filled >= _MOSTLY and (best is None or score > best[0]):
            best = score, look
    return best[1] if best else None


def negative_share(file: CsvFile, column: Look, amount: Look, word: str) -> float:
    """How many of the rows of a kind have an amount below zero."""
    found = [
        _amount(row.cells, amount)
        for row in file.rows[:SAMPLE]
        if not file.misfit(row) and column.place < len(row.cells) and plain(row.cells[column.place]) == plain(word)
    ]
    filled = [one for one in found if one]
    return sum(one < 0 for one in filled) / len(filled) if filled else 0


def _leave_out(looks: Sequence[Look]) -> dict[str, tuple[str, ...]]:
    """Words that say that a row is no sale, such as a payout."""
    found = {}
    for look in looks:
        if not words_of(look.header) & (_KIND_NAMES | _STATE_NAMES):
            continue
        words = tuple(word for word, _ in look.words if _NO_SALE.search(word))
        if words and len(words) < len(look.words):
            found[look.header] = words
    return found


def _orders(file: CsvFile, looks: Sequence[Look], pairs: Pairs, *, with_kinds: bool) -> Orders | None:
    """The column of the order's number, where rows share it and need it."""
    used = {one.place for found in pairs.values() for one in found}
    order = next((look for look in looks if look.place not in used and is_order(look)), None)
    if order is None:
        return None
    rows = [row.cells for row in file.rows[:SAMPLE] if not file.misfit(row)]
    numbers = [cells[order.place].strip() if order.place < len(cells) else "" for cells in rows]
    carried = []
    if any(numbers) and numbers[0] and "" in numbers:
        carried.append(order.header)
    for name in ("sold_on", "channel"):
        if name not in pairs:
            continue
        place = pairs[name][0].place
        blank = [place >= len(cells) or not cells[place].strip() for cells in rows]
        if any(blank) and not all(blank) and _first_only(numbers, blank):
            carried.append(pairs[name][0].header)
    shared = len(set(numbers)) < len(numbers)
    return Orders(order.header, tuple(carried)) if carried or (with_kinds and shared) else None


def is_order(look: Look) -> bool:
    """Whether a column holds the numbers of orders."""
    words = words_of(look.header)
    named = bool(words & {"order", "transaction", "invoice", "receipt", "sale"}) and ("no" in words or len(words) == 1)
    return named and look.date < _MOSTLY and look.amount < _PARTLY and not look.epoch and look.filled > 0


def _first_only(numbers: Sequence[str], blank: Sequence[bool]) -> bool:
    """Whether cells are blank only in rows whose order has given them before."""
    given: set[str] = set()
    last = ""
    for number, is_blank in zip(numbers, blank, strict=True):
        last = number or last
        if not is_blank:
            given.add(last)
        elif last not in given:
            return False
    return True
