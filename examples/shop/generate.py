"""Plays the invented shop and writes what its partners typed into the demo data of the package.

python -m examples.shop.generate
"""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any, Final

from examples.shop.goods import GIVEN, GOODS, LOTS
from examples.shop.play import Shop
from examples.shop.rng import Rng
from examples.shop.script import FEE_TERMS, FIRST_DAY, LAST_DAY, MARTIN, OPENING_CASH, OPENING_PARTS, PARTNERS, RUTH
from examples.shop.shelf import Parcel, add_shelf
from examples.shop.year import add_year
from sheetfns import demo
from sheetfns.log.model.inputs import Inputs, Row

DATA: Final = Path(demo.__file__).with_name(demo.DATA)


def generate_inputs(seed: int = 7) -> Inputs:
    """What the two partners of the invented shop have typed into their log by 2026-09-30."""
    shop = Shop(Rng(seed))
    shop.play()
    entries = Inputs(
        settings={
            "Shop_name": "Two Baskets (invented)",
            "Currency": "USD",
            "As_of_date": LAST_DAY,
            "First_month": FIRST_DAY,
            "Opening_cash": OPENING_CASH / 100,
            "Pay_target": 300,
            "Bills_due": 46.5,
            "Open_refunds": 18,
            "Tax_reserve": 240,
            "Restock_reserve": 200,
            "Usual_packaging": 0.65,
            "Weight_unit": "lb",
            "Length_unit": "in",
            "Tax_year": 2026,
        },
        blocks={
            "Partner": [
                {"name": name, "share": 0.5, "opening": opening}
                for name, opening in zip(PARTNERS, OPENING_PARTS, strict=True)
            ],
            "Channel": [{"name": name, **terms} for name, terms in FEE_TERMS.items()],
        },
        rows={"Log": shop.log, "Lots": shop.lots, "Expenses": shop.expenses, "Trips": shop.trips, "Owner": shop.owner},
    )
    add_year(entries, RUTH, MARTIN)
    # From a seed of its own: the draws of the log stay as they are.
    add_shelf(entries, seed + 1000, _parcels())
    return entries


def _parcels() -> dict[str, Parcel]:
    goods = (*GOODS, *GIVEN.values(), *(good for lot in LOTS for good in lot.items))
    return {good.description: Parcel(good.pounds, good.sides) for good in goods}


def as_text(inputs: Inputs) -> str:
    """The inputs as JSON with a line for each row, so that a difference names the rows that differ."""
    parts = {
        "settings": _cells(inputs.settings, 1),
        "blocks": _block({key: _rows(rows) for key, rows in inputs.blocks.items()}, 1),
        "rows": _block({key: _rows(rows) for key, rows in inputs.rows.items()}, 1),
        "forms": _block({key: _cells(cells, 2) for key, cells in inputs.forms.items()}, 1),
    }
    return _block(parts, 0) + "\n"


def _cells(cells: Row, depth: int) -> str:
    return _block({key: _dumped(value) for key, value in cells.items()}, depth)


def _rows(rows: list[Row]) -> str:
    return "[\n" + ",\n".join(f"      {_dumped(row)}" for row in rows) + "\n    ]"


def _block(texts: dict[str, str], depth: int) -> str:
    inner, outer = "  " * (depth + 1), "  " * depth
    return "{\n" + ",\n".join(f"{inner}{_dumped(key)}: {text}" for key, text in texts.items()) + f"\n{outer}}}"


def _dumped(value: Any) -> str:
    texts = value.values() if isinstance(value, dict) else (value,)
    for text in texts:
        if isinstance(text, str) and demo.LOOKS_LIKE_A_DATE.fullmatch(text):
            raise ValueError(f"{text}: would be read as a date; store a date or another text")
    return json.dumps(value, ensure_ascii=False, allow_nan=False, default=dt.date.isoformat)


if __name__ == "__main__":
    DATA.write_text(as_text(generate_inputs()), encoding="utf-8")
    print(DATA)
