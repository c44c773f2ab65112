"""What a file's columns are taken for, and maps that are kept as files."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from sheetfns.log.edit.csv_import import ImportMap, keep_map, kept_map, map_text, read_map, save_map
from sheetfns.log.edit.csv_import.csv_file import FileFacts, read_csv
from sheetfns.log.edit.csv_import.guess import guess_map, kind_of, looks_of
from sheetfns.log.edit.csv_import.log_columns import LogRows
from sheetfns.log.edit.csv_import.map_file import Orders, RowKinds
from sheetfns.log.edit.csv_import.saved_maps import FOLDER_VARIABLE, kept_path, maps_folder
from sheetfns.log.load import load_log
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.registry import log_layout
from tests import EXAMPLES
from tests.log.filled_logs import full_entries, small_log


@pytest.fixture(scope="module")
def content(tmp_path_factory: pytest.TempPathFactory) -> LogContent:
    return load_log(small_log(tmp_path_factory.mktemp("log") / "log.xlsx", inputs=full_entries()))


@pytest.fixture(scope="module")
def example() -> LogContent:
    return load_log(EXAMPLES / "sourcing_log_example.xlsx")


def guessed(content: LogContent, path: Path) -> ImportMap:
    file = read_csv(path, FileFacts(), doubtful=True)
    return guess_map(file, content, looks_of(file, content, LogRows(content, log_layout().table("Log"))))


def of_text(content: LogContent, tmp_path: Path, text: str) -> ImportMap:
    (tmp_path / "sales.csv").write_text(text, encoding="utf-8")
    return guessed(content, tmp_path / "sales.csv")


def test_the_guess_of_a_usual_file(content, tmp_path):
    found = of_text(
        content,
        tmp_path,
        "Order date,SKU,Title,Item price,Postage paid by buyer,Fee,Buyer\n"
        "2026-03-03,P2,Lamp,20.50,4.00,2.10,A. Nyone\n2026-03-04,P90,Vase,12.50,3.00,1.10,12\n",
    )
    assert found.columns == {
        "Item no.": "SKU",
        "Sold on": "Order date",
        "Sale price": "Item price",
        "Shipping charged": "Postage paid by buyer",
        "Fee charged": "Fee",
    }
    assert (found.match, found.new_rows, found.minus_as_plus) == ("Item no.", False, ())


def test_the_guess_of_the_examples_export_is_its_map(example):
    found, written = guessed(example, EXAMPLES / "sales_export.csv"), read_map(EXAMPLES / "sales_export_map.toml")
    assert found.columns == written.columns
    assert found.minus_as_plus == written.minus_as_plus
    assert found.file.blank_words == written.file.blank_words
    assert found.match == written.match


@pytest.mark.parametrize(
    ("header", "cells", "expected"),
    [
        ("Buyer", "12.50,9.99", None),  # an amount, whatever it is called
        ("Description", "12.50,9.99", None),
        ("Seller", "$5,$6", None),
        ("Price", "P2,P3", "Item no."),  # numbers of the log, whatever they are called
        ("Anything", "p2,5", "Item no."),
        ("Anything", "p2,X7,X8", "Item no."),
        ("Anything", "Booth,booth", "Channel"),
        ("Channel", "elsewhere,there", None),  # no channel of the log
        ("Price", "5,1", "Sale price"),  # 5 is an item's number too
        ("Order date", "soon,later", None),
        ("Ship date", "2026-03-03,2026-03-04", None),
        ("Payout date", "2026-03-03,2026-03-04", None),
        ("Order date", "1772546700,1772546800", "Sold on"),
        ("Order number", "1772546700,1772546800", None),
        ("Shipping label cost", "5.10,4.20", "Postage paid"),
        ("Shipping", "5.10,4.20", "Shipping charged"),
        ("Shipping", "-5.10,-4.20", "Postage paid"),
        ("Sales tax", "1.10,0.20", "Tax collected"),
        ("Tax rate", "0.10,0.20", None),
        ("Quantity", "1,2", None),
        ("Refund amount", "0.00,2.50", "Refund"),
        ("Total", "20.00,30.00", None),  # of what, only the seller knows
        ("Paid", "20.00,30.00", None),  # by the buyer: not what the item cost
    ],
)
def test_what_one_column_is_taken_for(content, tmp_path, header, cells, expected):
    rows = "".join(f"{number},{cell}\n" for number, cell in enumerate(cells.split(","), 900))
    found = of_text(content, tmp_path, f"Nothing known,{header}\n{rows}")
    assert {source: log for log, source in found.columns.items()}.get(header) == expected


def test_of_a_number_and_a_title_the_one_that_the_log_knows_finds_items(content, tmp_path):
    text = "SKU,Title,Price\nX1,First of the lot,5\nX2,Vase,6\n"
    found = of_text(content, tmp_path, text)
    assert (found.match, found.columns) == ("Description", {"Description": "Title", "Sale price": "Price"})
    found = of_text(content, tmp_path, text.replace("X1", "P3"))
    assert found.match == "Item no."
    assert "Description" not in found.columns


@pytest.mark.parametrize(
    ("word", "key"),
    [
        ("Refund", "refund"),
        ("Partial refund", "refund"),
        ("Shipping label", "postage_paid"),
        ("Ad fee", "fee_charged"),
        ("Sale", ""),
        ("Payout", ""),
        ("Refund cancelled", ""),
        ("Radio", ""),
    ],
)
def test_what_a_kind_of_row_adds_to(word, key):
    assert kind_of(word) == key


# ---- maps as files ---------------------------------------------------------------------------

FULL = ImportMap(
    Path("map"),
    FileFacts("utf-8", ";", ",", ".", "dmy", 3, ("--", 'a "b"'), "seconds", "-05:00"),
    "Sourcing log",
    "Item no.",
    True,
    ("Fee charged",),
    {"Item no.": "Own \\ number", "Fee charged": ("Fee", "Ads\u007f")},
    {"Channel": "Booth", "Sold on": dt.date(2026, 3, 3), "Packaging": 0.5},
    {"State": ("Cancelled", "Not paid")},
    Orders("Order", ("Date",)),
    RowKinds(
        "Type", "Amount", {"Refund": "Refund", "Label": "Postage paid"}, "Date", {"Refund": "Refunded on"}, ("Label",)
    ),
)
SMALL = ImportMap(Path("map"), FileFacts(), "Sourcing log", "", True, (), {"Item no.": "SKU"})


@pytest.mark.parametrize("one", [FULL, SMALL])
def test_a_map_is_read_as_it_was_saved(tmp_path, one):
    path = save_map(one, tmp_path / "map.toml")
    read = read_map(path)
    assert read == type(one)(path, *(getattr(one, name) for name in list(one.__dataclass_fields__)[1:]))
    assert map_text(read) == map_text(one)


def test_a_map_is_kept_for_the_same_headers_in_any_order(tmp_path, monkeypatch):
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "kept"))
    headers = ("SKU", "Sale date", "", "Price")
    assert kept_map(headers) is None
    path = keep_map(SMALL, headers)
    assert path.parent == tmp_path / "kept"
    assert kept_map(("price", "SKU", " sale  DATE"[1:])) is not None
    assert kept_map(("price", "SKU")) is None
    assert keep_map(SMALL, headers) == path
    assert len(list(path.parent.iterdir())) == 1
    assert keep_map(FULL, ("Price", "Sale date", "SKU")) == path
    (copy,) = (one for one in path.parent.iterdir() if one != path)
    assert map_text(read_map(copy)) == map_text(SMALL)
    found = kept_map(headers)
    assert found is not None
    assert found.match == "Item no."
    path.write_text("[nonsense")
    assert kept_map(headers) is None


def test_maps_are_kept_in_the_users_own_folder(monkeypatch, tmp_path):
    monkeypatch.delenv(FOLDER_VARIABLE, raising=False)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.setattr("sys.platform", "linux")
    assert maps_folder() == tmp_path / "sheetfns" / "import maps"
    monkeypatch.setenv("APPDATA", str(tmp_path / "roaming"))
    monkeypatch.setattr("sys.platform", "win32")
    assert maps_folder() == tmp_path / "roaming" / "sheetfns" / "import maps"
    monkeypatch.setattr("sys.platform", "darwin")
    assert maps_folder() == Path.home() / "Library" / "Application Support" / "sheetfns" / "import maps"
    assert kept_path(["\u4e2d"]).name.startswith("map_")
