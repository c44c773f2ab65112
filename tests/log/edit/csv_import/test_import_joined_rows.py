"""Rows that are left out, added up, carried down, or join the row of their item: what a map may say of them."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import pytest

from sheetfns.errors import LogFileError
from sheetfns.log.edit.csv_import import apply_import
from tests.log.edit.csv_import.importing import SALES_MAP, changes, planned
from tests.log.filled_logs import full_entries, small_log

HEAD = "Order,Type,SKU,Sold at,Site,Price,Fee,Amount\n"
KINDS_MAP = SALES_MAP + (
    '[orders]\ncolumn = "Order"\n[kinds]\ncolumn = "Type"\namount = "Amount"\nday = "Sold at"\n'
    'amounts = { "Refund" = "Refund", "Label" = "Postage paid", "Ad fee" = "Fee charged" }\n'
    'days = { "Refund" = "Refunded on" }\nminus_as_plus = ["refund", "Label", "AD FEE"]\n'
)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_log(tmp_path_factory.mktemp("log") / "log.xlsx", inputs=full_entries())


@pytest.fixture
def log(made: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(made, tmp_path / "log.xlsx"))


def reasons(plan):
    return [(row.csv_row, row.reason) for row in plan.left]


def test_rows_of_other_kinds_join_their_item_by_number_or_order(log):
    text = HEAD + (
        "7,Label,,2026-03-04,,,,-5.31\n"  # before its sale
        "7,Sale,P2,2026-03-03,Booth,20.50,1.20,\n"
        "7,LABEL,,2026-03-05,,,,-0.69\n"
        ",Ad fee,p2,2026-03-05,,,,-0.1\n"
        "7,Ad fee,,2026-03-05,,,,-0.2\n"
        "7,Refund,P2,2026-03-08,,,,-4.00\n"
        "7,Refund,P2,2026-03-06,,,,-1.00\n"
    )
    plan = planned(log, text, KINDS_MAP)
    assert changes(plan) == {
        ("P2", "Channel"): "Booth",
        ("P2", "Sold on"): dt.date(2026, 3, 3),
        ("P2", "Sale price"): 20.5,
        ("P2", "Fee charged"): 1.5,  # 1.20 + 0.10 + 0.20, without noise
        ("P2", "Postage paid"): 6.0,
        ("P2", "Refund"): 5.0,
        ("P2", "Refunded on"): dt.date(2026, 3, 8),
    }
    assert plan.left == ()
    apply_import(plan)
    again = planned(log, text, KINDS_MAP)
    assert again.edits == ()
    assert len(again.already_there) == 7


def test_a_row_that_joins_nothing_is_named(log):
    text = HEAD + (
        "7,Sale,P2,2026-03-03,Booth,20.50,1.20,\n"
        "7,Sale,5,2026-03-03,Booth,10,,\n"
        "7,Label,,2026-03-05,,,,-0.69\n"
        "8,Label,,2026-03-05,,,,-0.69\n"
        ",Label,,2026-03-05,,,,-0.69\n"
        "9,Label,P99,2026-03-05,,,,-0.69\n"
        "9,Label,P3,2026-03-05,,,,\n"
    )
    plan = planned(log, text, KINDS_MAP)
    assert reasons(plan) == [
        (4, "Item no. is blank, and order '7' has 2 items, so it isn't clear which one this row is about"),
        (5, "Item no. is blank, and order '8' has no item in the file"),
        (6, "Item no. is blank"),
        (7, "Item no. 'P99' is not on sheet Sourcing log"),
        (8, "Amount is blank, and a row of this kind needs it"),
    ]
    # Nothing is added for an item that only a label is about.
    plan = planned(log, text, KINDS_MAP.replace("[columns]", "new_rows = true\n[columns]"))
    assert plan.new_rows == ()


def test_what_is_taken_back_leaves_nothing_and_what_is_below_zero_is_refused(log):
    text = HEAD + (
        "7,Sale,P2,2026-03-03,Booth,20.50,1.20,\n7,Refund,,2026-03-05,,,,-4\n7,Refund,,2026-03-06,,,,4\n"
        "8,Sale,5,2026-03-03,Booth,10,,\n8,Label,,2026-03-05,,,,4.00\n"
    )
    plan = planned(log, text, KINDS_MAP)
    assert {header for item, header in changes(plan) if item == "P2"} == {
        "Channel", "Sold on", "Sale price", "Fee charged",
    }  # fmt: skip
    assert reasons(plan) == [
        (row, "'5', its rows added up: Postage paid: -4 is below 0; write 0 or more") for row in (5, 6)
    ]


def test_what_contradicts_or_cannot_be_read_keeps_all_rows_of_its_item_out(log):
    text = HEAD + (
        "7,Sale,P2,2026-03-03,Booth,20.50,,\n7,Sale,P2,2026-03-03,Booth,21.50,,\n7,Label,,2026-03-05,,,,-4\n"
        "8,Sale,5,2026-03-03,Booth,10,,\n8,Label,5,2026-03-05,,,,much\n"
    )
    plan = planned(log, text, KINDS_MAP)
    assert plan.edits == ()
    assert [row for row, _ in reasons(plan)] == [2, 3, 4, 5, 6]
    assert reasons(plan)[2][1] == "rows of the file about 'P2' contradict each other"
    assert reasons(plan)[4][1] == "Amount: 'much' is not a number"


def test_columns_are_added_up(log):
    map_text = SALES_MAP.replace('"Fee charged" = "Fee"', '"Fee charged" = ["Fee", "Ads", "Credit"]')
    text = (
        "SKU,Sold at,Site,Price,Fee,Ads,Credit\n"
        "P2,2026-03-03,Booth,20.50,0.1,0.2,\n5,2026-03-03,Booth,10,2.00,,-0.50\nP4,2026-03-03,Booth,1,,,\n"
        "P3,2026-02-10,Booth,20,x,1,\n"
    )
    plan = planned(log, text, map_text)
    assert changes(plan)["P2", "Fee charged"] == 0.3
    assert changes(plan)["5", "Fee charged"] == 1.5
    assert ("P4", "Fee charged") not in changes(plan)
    assert reasons(plan) == [(5, "Fee charged: 'x' is not a number")]
    turned = map_text.replace("[columns]", 'minus_as_plus = ["Fee charged"]\n[columns]')
    text = "SKU,Sold at,Site,Price,Fee,Ads,Credit\nP2,2026-03-03,Booth,20,-1.5,-0.3,0.2\n"
    assert changes(planned(log, text, turned))["P2", "Fee charged"] == 1.6
    assert "Columns not used" not in {one.label for one in plan.detected}


def test_rows_are_left_out_by_words(log):
    map_text = SALES_MAP + '[leave_out]\n"State" = ["cancelled", "not  paid"]\n"Type" = "Payout"\n'
    text = (
        "SKU,Sold at,Site,Price,Fee,State,Type\nP2,2026-03-03,Booth,20,, Cancelled ,Sale\n"
        "5,2026-03-03,Booth,10,,Not paid,Sale\n,nonsense,,much,,,PAYOUT\nP4,2026-03-03,Booth,1,,Cancelled later,Sale\n"
    )
    plan = planned(log, text, map_text)
    assert {item for item, _ in changes(plan)} == {"P4"}
    assert [(one.csv_row, one.reason) for one in plan.left_out] == [
        (2, "State is 'Cancelled'"),
        (3, "State is 'Not paid'"),
        (4, "Type is 'PAYOUT'"),
    ]
    assert plan.left == ()
    assert plan.counts["Left out by the map"] == 3


def test_what_stands_in_an_orders_first_row_is_carried_down(log):
    map_text = SALES_MAP + '[orders]\ncolumn = "Order"\ncarry_down = ["Order", "Sold at", "Site"]\n'
    text = (
        "Order,SKU,Sold at,Site,Price,Fee\n1,P2,2026-03-03,Booth,20.50,\n,5,,,10,\n2,P4,2026-03-05,First site,1,\n"
        "1,P3,,,20,\n3,P1,,,20,\n"
    )
    plan = planned(log, text, map_text)
    assert changes(plan)["5", "Sold on"] == dt.date(2026, 3, 3)
    assert changes(plan)["5", "Channel"] == "Booth"
    assert changes(plan)["P4", "Sold on"] == dt.date(2026, 3, 5)
    # The row of order 1 that stands after order 2 says March 3, and the log February 10.
    assert [(one.item, one.header) for one in plan.conflicts] == [("P3", "Sold on")]
    assert ("P1", "Sold on") not in changes(plan)
    # The file of what was not imported has the row as it was.
    assert plan.left[0].cells == ["1", "P3", "", "", "20", ""]


@pytest.mark.parametrize(
    ("unit", "offset", "text", "day"),
    [
        ("seconds", "", "1772546700", dt.date(2026, 3, 3)),
        ("seconds", "", "1772546700.5", dt.date(2026, 3, 3)),
        ("milliseconds", "", "1772546700123", dt.date(2026, 3, 3)),
        ("seconds", "-05:00", "1772496300", dt.date(2026, 3, 2)),
        ("seconds", "+5:30", "1772564400", dt.date(2026, 3, 4)),
        ("seconds", "", "3 March 2026", dt.date(2026, 3, 3)),
    ],
)
def test_times_that_count_from_1970(log, unit, offset, text, day):
    map_text = f'[file]\nepoch = "{unit}"\nutc_offset = "{offset}"\n' + SALES_MAP
    plan = planned(log, f"SKU,Sold at,Site,Price,Fee\nP2,{text},Booth,20,\n", map_text)
    assert changes(plan)["P2", "Sold on"] == day
    shown = {one.label: one.value for one in plan.detected}["Times that are numbers"]
    assert shown == f"{unit} from 1970, days as in {offset or 'UTC'}"


def test_times_that_count_from_1970_are_read_only_if_the_map_says_so(log):
    plan = planned(log, "SKU,Sold at,Site,Price,Fee\nP2,1772546700,Booth,20,\n5,99,Booth,20,\n")
    first, second = plan.unreadable
    assert first.reason.startswith("Sold on: '1772546700' is not a date; if it counts seconds from 1970, write epoch =")
    assert second.reason == "Sold on: '99' is not a date"


def test_items_are_found_by_their_description(log):
    map_text = SALES_MAP.replace('match = "Item no."', 'match = "Description"').replace(
        '"Item no." = "SKU"', '"Description" = "Title"'
    )
    plan = planned(log, "Title,Sold at,Site,Price,Fee\nFIRST of the lot,2026-02-10,Booth,20,\nVase,,,1,\n", map_text)
    assert [one.item for one in plan.already_there] == ["P3"]
    assert reasons(plan) == [(3, "Description 'Vase' is not on sheet Sourcing log")]


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        (
            '[columns]\n"Fee charged" = []',
            "[columns]: 'Fee charged' names no column; write the file's header as a text",
        ),
        ('[columns]\n"Fee charged" = ["Fee", "Feee"]', "'Fee charged' is set to 'Feee', but row 1 of sales.csv has no"),
        (
            '[columns]\n"Fee charged" = ["Fee", "fee"]',
            "'Fee charged' has a column of the file twice; delete one of them",
        ),
        (
            '[columns]\n"Description" = ["Fee", "Type"]',
            "'Description' holds no numbers, so 'Fee', 'Type' cannot be added",
        ),
        (
            '[leave_out]\n"Typ" = ["x"]',
            "[leave_out]: 'Typ', but row 1 of sales.csv has no such header (did you mean 'Type'?)",
        ),
        ('[leave_out]\n"Type" = [1]', "[leave_out]: 'Type' is not a list of words; write it as"),
        ('[orders]\ncarry_down = ["Type"]', "[orders]: column is missing; write which column of the file has the"),
        ('[orders]\ncolumn = "Ordr"', "[orders]: column 'Ordr', but row 1 of sales.csv has no such header"),
        (
            '[kinds]\ncolumn = "Type"',
            "[kinds]: amount is missing; write which column of the file has the amount of such",
        ),
        ('[kinds]\namount = "Amount"', "[kinds]: column is missing; write which column of the file says of which kind"),
        ('[kinds]\ncolumn = "Type"\namount = "Amount"', "[kinds]: amounts is missing; write which column of the log"),
        (
            '[kinds]\ncolumn = "Type"\namount = "Amount"\namounts = { "a" = "Refund" }\ndays = { "a" = "Refunded on" }',
            "[kinds]: day is missing; write which column of the file has the day of such rows",
        ),
        (
            '[kinds]\ncolumn = "Type"\namount = "Amount"\namounts = { "a" = "Refund" }\nminus_as_plus = ["b"]',
            "[kinds]: minus_as_plus names 'b', which is not under amounts; write it there too",
        ),
        (
            '[kinds]\ncolumn = "Type"\namount = "Amount"\namounts = { "a" = "Description" }',
            "[kinds]: 'Description' takes no amounts; name a column that does",
        ),
        (
            '[kinds]\ncolumn = "Type"\namount = "Amount"\namounts = { "a" = "Net profit" }',
            "[kinds]: 'Net profit' is calculated by the log and cannot be imported",
        ),
        ('[kinds]\ncolumn = "Type"\namount = "Amount"\namounts = ["a"]', "[kinds]: amounts is not a list of kinds"),
        ('[file]\nepoch = "hours"', '[file]: epoch is \'hours\'; write one of "seconds", "milliseconds"'),
        ('[file]\nutc_offset = "noon"', '[file]: utc_offset is "noon"; write hours and minutes, such as "-05:00"'),
    ],
)
def test_a_map_that_cannot_be_followed_says_where_and_what_to_do(log, lines, words):
    part, _, rest = lines.partition("\n")
    map_text = SALES_MAP.replace('"Fee charged" = "Fee"\n', "")
    map_text = map_text.replace(part, lines) if part in map_text else f"{map_text}{part}\n{rest}\n"
    with pytest.raises(LogFileError) as error:
        planned(log, HEAD + "7,Sale,P2,2026-03-03,Booth,20.50,1.20,\n", map_text)
    assert words in str(error.value)
    assert str(error.value).startswith("map.toml, ")


def test_kinds_need_a_column_to_find_items_by(log):
    map_text = KINDS_MAP.replace('match = "Item no."', "new_rows = true")
    with pytest.raises(LogFileError, match=r"write under \[log\] by which column it is found \(match\)"):
        planned(log, HEAD + "7,Sale,P2,2026-03-03,Booth,20.50,1.20,\n", map_text)
