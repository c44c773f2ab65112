"""The menu's commands that enter one row: a purchase, a sale, a refund or return, another disposition."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterable
from typing import Any, Final

from sheetfns.cell_types import COST, DATE, numbers_in_text
from sheetfns.errors import LogFileError
from sheetfns.log.compute import LogResults
from sheetfns.log.edit.patch import CellEdit
from sheetfns.log.edit.record import Item, Recorder
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import BUSINESS, PERSONAL_USE, SHELF_PRICES
from sheetfns.programs.forms import Answers, Field, Form

_ITEM: Final = "item"
_FEE_NOTE: Final = "blank: by the channel's terms on Settings"
_NOTHING_ON_HAND: Final = "No item is on hand: nothing can be sold or disposed of. 'Add an item' enters one"
_NOTHING_SOLD: Final = "No item is sold yet, so nothing can come back. 'Mark as sold' enters a sale"
_SOLD_FOR: Final = "sold_for"

Ask = Callable[[Form], Answers | None]
Edits = list[CellEdit]


def add_item(log: Recorder, ask: Ask, chosen: Item | None = None) -> Edits:
    """The cells of a new row, after the form for a purchase; none if it is left.

    Args:
        log: the log.
        ask: shows the form.
        chosen: the item in whose row the cursor stands; a purchase has none.
    """
    del chosen
    row = log.free_row()
    column = {one.key: one for one in log_layout().table("Log").columns}
    names = {key: log.choices(key) for key in ("category", "condition", "paid_from")}
    fields = (
        Field("item_no", "Item no.", default=log.next_number(), needed=True),
        Field("description", "Description", needed=True),
        _choice("category", "Category", [*names["category"], *log.used("category")]),
        Field("bought_on", "Bought on", DATE, default=log.today.isoformat(), needed=True),
        _choice("found_at", "Found at", log.used("found_at")),
        Field("paid", "Paid", COST, note="without tax; 0 if it was free", needed=True),
        Field("purchase_tax", "Purchase tax", COST, note=f"blank if none; usually {_tax(log)}"),
        Field("paid_from", "Paid from", choices=tuple(names["paid_from"]), note=f"blank: {BUSINESS}"),
        _choice("condition", "Condition", [*names["condition"], *log.used("condition")]),
        Field(_SOLD_FOR, "Others sold for", note="up to five prices: 35, 28.99, 31"),
        Field("expected_price", "Expected price", COST, note=column["expected_price"].help.split(";")[0].split(".")[0]),
    )
    answers = ask(Form("Add an item", fields, says=lambda found: _on_purchase(log, row, found), today=log.today))
    if answers is None:
        return []
    if log.is_taken(answers["item_no"]):
        raise LogFileError(
            f"Item no. {answers['item_no']} is in the log already; choose this command again, with another"
        )
    answers.pop(_SOLD_FOR)
    return log.edits(row, answers)


def mark_sold(log: Recorder, ask: Ask, chosen: Item | None = None) -> Edits:
    """The cells of a sale, after its form; none if it is left. The arguments are those of `add_item`."""
    items = _some_items(log.on_hand(), _NOTHING_ON_HAND)
    fields = (
        _which(items, chosen),
        Field("sold_on", "Sold on", DATE, default=log.today.isoformat(), needed=True),
        Field("sale_price", "Sale price", COST, note="without sales tax", needed=True),
        Field("shipping_charged", "Shipping charged", COST, note="what the buyer paid for postage; blank if 0"),
        Field("channel", "Channel", choices=tuple(log.choices("channel")), note="blank: as it was listed"),
        Field("fee_charged", "Fee charged", COST, note=_FEE_NOTE),
        Field("postage_paid", "Postage paid", COST, note="what the label cost; blank if not known yet"),
        Field("packaging", "Packaging", COST, note="blank if none"),
    )
    return _of_item(log, ask, Form("Mark as sold", fields, says=None, today=log.today), items, _on_sale)


def mark_returned(log: Recorder, ask: Ask, chosen: Item | None = None) -> Edits:
    """The cells of a refund or of a sold item that came back. The arguments are those of `add_item`."""
    items = _some_items(log.sold(), _NOTHING_SOLD)
    fields = (
        _which(items, chosen),
        Field("refund", "Refund", COST, note="price and shipping together, without sales tax", needed=True),
        Field("refunded_on", "Refunded on", DATE, default=log.today.isoformat()),
        Field("returned_on", "Came back on", DATE, note="blank: the buyer kept it, or it is not back yet"),
        Field("postage_paid", "Postage paid in all", COST, note="with the return label; blank: as it stands"),
        Field("fee_charged", "Fee kept by the channel", COST, note="after what it gave back; blank: as it stands"),
    )
    return _of_item(log, ask, Form("Mark as returned or refunded", fields, today=log.today), items, _on_sale)


def other_disposition(log: Recorder, ask: Ask, chosen: Item | None = None) -> Edits:
    """The cells of an item that is used, donated or discarded. The arguments are those of `add_item`."""
    came_back = [
        one for one in log.sold() if log.typed(one.row, "returned_on") and not log.typed(one.row, "disposition")
    ]
    items = _some_items([*log.on_hand(), *came_back], _NOTHING_ON_HAND)
    fields = (
        _which(items, chosen),
        Field("disposition", "Disposition", choices=tuple(log.choices("disposition")), needed=True),
        Field("disposition_date", "Disposition date", DATE, default=log.today.isoformat(), needed=True),
        Field("taken_by", "Taken by", choices=tuple(log.choices("taken_by")), note=f"who took it, for {PERSONAL_USE}"),
    )
    return _of_item(log, ask, Form("Other disposition", fields, today=log.today), items, _on_disposition)


def _of_item(
    log: Recorder, ask: Ask, form: Form, items: list[Item], follows: Callable[[Recorder, int, Answers], str]
) -> Edits:
    """The cells of a form for one item, whose row takes the other answers."""

    def says(found: Answers) -> str:
        if not found[_ITEM]:
            return "Choose an item: its number, or a word of its description."
        entries = {key: found[key] for key in found if key != _ITEM}
        return "\n".join([follows(log, log.find(items, found[_ITEM]).row, entries), *_late(log, entries)])

    answers = ask(dataclasses.replace(form, says=says))
    if answers is None:
        return []
    row = log.find(items, answers.pop(_ITEM)).row
    return log.edits(row, answers)


def _some_items(items: list[Item], none: str) -> list[Item]:
    if not items:
        raise LogFileError(none)
    return items


def _which(items: list[Item], chosen: Item | None) -> Field:
    default = str(chosen) if chosen in items else ""
    names = tuple(str(one) for one in items)
    return Field(_ITEM, "Item", choices=names, by_word=True, default=default, note="number or word", needed=True)


def _choice(key: str, label: str, words: Iterable[str]) -> Field:
    return Field(key, label, choices=tuple(dict.fromkeys(words)), only_choices=False)


def _tax(log: Recorder) -> str:
    return f"{100 * (log.content.settings.get('Buying_tax_rate') or 0):.4g}% of it"


# ---- what follows --------------------------------------------------------------------------------


def _on_purchase(log: Recorder, row: int, answers: Answers) -> str:
    """What the item costs in all, and the verdict of Shelf check on that price."""
    lines = []
    number = answers["item_no"]
    if number and log.is_taken(number):
        lines.append(f"Item no. {number} is in the log already; choose another.")
    entries = {key: value for key, value in answers.items() if key != _SOLD_FOR}
    landed = log.with_entries(row, entries)["landed_cost"] if answers["paid"] is not None else math.nan
    if not math.isnan(landed):
        lines.append(f"Landed cost: {landed:.2f}")
    lines += _verdict(log, answers)
    return "\n".join([*lines, *_late(log, answers)])


def _late(log: Recorder, answers: Answers) -> list[str]:
    late = "A date is after As of on sheet Settings: no figure counts it until you set As of later, or leave it blank."
    return [late] if log.after_as_of(answers) else []


def _verdict(log: Recorder, answers: Answers) -> list[str]:
    prices = _prices(answers[_SOLD_FOR] or "")
    if not prices:
        return ["Enter what others sold for, and Shelf check's verdict stands here."]
    typed = log.content.forms["Shelf"]
    typed = {key: None if isinstance(value, float) else value for key, value in typed.items()}
    typed |= {f"sold_{place}": price for place, price in enumerate(prices[:SHELF_PRICES], 1)}
    typed |= {"comps_of": "", "price_tag": answers["paid"], "category": answers["category"] or ""}
    content = dataclasses.replace(log.content, forms=log.content.forms | {"Shelf": typed}, unread=_without_shelf(log))
    found = LogResults(content)["Shelf"].iloc[0]
    said = [f"Shelf check: {found['verdict']}", str(found["reason"] or "")]
    if not math.isnan(found["profit"]):
        said.append(f"Expected net profit: {found['profit']:.2f}; break-even price: {found['break_even']:.2f}")
    return [one for one in said if one]


def _without_shelf(log: Recorder) -> dict[str, Any]:
    return {key: cells for key, cells in log.content.unread.items() if key != "Shelf"}


def _prices(text: str) -> list[float]:
    """Prices that are typed side by side, parted by commas, semicolons or blanks."""
    parts = text.replace(";", " ").replace(", ", " ").replace(",", " ").split()
    found = [numbers_in_text(part) for part in parts]
    return [one[0] for one in found if len(one) == 1 and one[0] > 0]


def _on_sale(log: Recorder, row: int, answers: Answers) -> str:
    """The net profit of the sale with these entries, or what is missing for it."""
    found = log.with_entries(row, answers)
    if answers.get("sale_price", 0.0) is None:
        return "Enter the sale price, and the net profit stands here."
    if math.isnan(found["net_profit"]):
        return _still_missing(found) or "The net profit can't be worked out yet: cost, channel or fee is missing."
    lines = [f"Net profit: {found['net_profit']:.2f}"]
    if not math.isnan(found["break_even_price"]):
        lines.append(f"Break-even price: {found['break_even_price']:.2f}; margin of safety: {_safety(found)}")
    lines.append(f"Landed cost {found['landed_cost']:.2f}, fee {found['fee']:.2f}")
    return "\n".join([*lines, *_still_missing(found).splitlines()])


def _safety(found: Any) -> str:
    safety = found["margin_of_safety"]
    return "not known" if math.isnan(safety) else f"{100 * safety:.1f}%"


def _on_disposition(log: Recorder, row: int, answers: Answers) -> str:
    found = log.with_entries(row, answers)
    cost = "" if math.isnan(found["landed_cost"]) else f"Landed cost: {found['landed_cost']:.2f}"
    return "\n".join(one for one in (cost, _still_missing(found)) if one)


def _still_missing(found: Any) -> str:
    check = str(found["row_check"] or "")
    return "" if check in {"", "ok"} else f"Row check: {check}"
