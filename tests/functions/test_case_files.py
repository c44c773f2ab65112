"""A slip in a file of cases is named by file and line, and stops no other case."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from sheetfns import REGISTRY
from tests import case_files
from tests.case_files import CASES, faults_of_case_files, load_cases

FILE = "net_profit.csv"
HEADER = "price,shipping,fee,postage,packaging,landed_cost,refund,expected,source,why"
GOOD = "25,4,3.50,4.25,0.75,8,,12.50,definition,ordinary: 29.00 less 16.50"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of all files of cases, which is read in their place."""
    copy = tmp_path / "cases"
    shutil.copytree(CASES, copy)
    monkeypatch.setattr(case_files, "CASES", copy)
    return copy


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("x" + GOOD[2:], "price: x is not a number; write 'x for a text"),
        ("1;x" + GOOD[2:], "price: x is not a number; write 'x for a text"),
        ("nan" + GOOD[2:], "price: nan is not a number; write 'nan for a text"),
        ("1_000" + GOOD[2:], "price: 1_000 is not a number; write '1_000 for a text"),
        ("1e999" + GOOD[2:], "price: 1e999 is not a number; write '1e999 for a text"),
        ("2026-03-31" + GOOD[2:], "price: 2026-03-31 is not a number; write 46112, its date number"),
        (GOOD.replace("12.50", "lots"), "expected: lots is not a number; write 'lots for a text"),
        (GOOD.replace("12.50", "5/0"), "expected: 5/0 divides by 0; write another quotient"),
        (
            GOOD.replace("12.50", "#NO!"),
            "expected: #NO! is no error code; write one of #NULL! #DIV/0! #VALUE! #REF! #NAME? #NUM! #N/A",
        ),
        (GOOD.replace("definition", ""), "source: is blank; write where the figures are from, or definition"),
        (
            GOOD.replace("ordinary", "usual"),
            "why: begins with none of ordinary, edge, blank or error; write 'ordinary: ...', say",
        ),
        (GOOD.replace("12.50", "#NUM!"), "why: an error is expected, so it begins with error"),
        (
            GOOD.replace("ordinary", "error"),
            "expected: is no error code, as why says; write one of #NULL! #DIV/0! #VALUE! #REF! #NAME? #NUM! #N/A",
        ),
        (GOOD.replace("ordinary", "blank"), "expected: is not blank, as why says; leave it out"),
        (
            f"{GOOD}, and more",
            "has 11 cells, not 10; write each cell, a blank one too, and put one with a comma in quotes",
        ),
        ("25,4", "has 2 cells, not 10; write each cell, a blank one too, and put one with a comma in quotes"),
    ],
)
def test_a_line_that_breaks_a_rule(folder: Path, line: str, said: str) -> None:
    before = load_cases()
    text = (folder / FILE).read_text()
    number = text.count("\n") + 1
    (folder / FILE).write_text(f"{text}{line}\n")
    assert faults_of_case_files() == [f"tests/cases/{FILE}, line {number}: {said}"]
    assert load_cases() == before, "the other cases are as they were"


def test_each_slip_of_a_line_is_named(folder: Path) -> None:
    (folder / FILE).write_text(f"{HEADER}\n{GOOD}\n\nx,y,3.50,4.25,0.75,8,,z,,none\n")
    assert [fault.partition(", line 4: ")[2].partition(":")[0] for fault in faults_of_case_files()] == [
        *("price", "shipping", "expected", "source", "why")
    ]


@pytest.mark.parametrize(
    ("header", "said"),
    [
        (HEADER.replace(",why", ""), f"lacks why; the columns are {HEADER}"),
        (
            HEADER.replace("price,shipping", "prize"),
            f"lacks price and shipping; has 'prize', which is no argument; the columns are {HEADER}",
        ),
        (
            HEADER.replace("price,shipping", "shipping,price"),
            f"its columns are not in the order {HEADER}; put them so, once each",
        ),
        (HEADER.replace("price", "price,price"), f"its columns are not in the order {HEADER}; put them so, once each"),
    ],
)
def test_a_header_that_is_not_the_functions(folder: Path, header: str, said: str) -> None:
    (folder / FILE).write_text(f"{header}\n{GOOD}\n")
    assert faults_of_case_files() == [f"tests/cases/{FILE}, line 1: {said}"]
    assert load_cases(["NET_PROFIT"]) == []
    assert {case.function for case in load_cases()} == set(REGISTRY) - {"NET_PROFIT"}


def test_a_file_as_a_whole(folder: Path) -> None:
    edge = GOOD.replace("ordinary", "edge").replace("25", "26").replace("12.50", "13.50")
    (folder / FILE).write_text(f"{HEADER}\n{GOOD}\n{edge}\n{GOOD}\n")
    here = f"tests/cases/{FILE}: "
    assert faults_of_case_files() == [
        f"{here}line 4 is the same case as line 2; change it or take it out",
        f"{here}lacks a case whose why begins with blank; add one",
        f"{here}lacks a case whose why begins with error; add one",
        f"{here}has 3 cases; write at least 6",
    ]


def test_files_that_cannot_be_read(folder: Path) -> None:
    (folder / FILE).unlink()
    (folder / "lot_share.csv").write_bytes(b"\xff" + (CASES / "lot_share.csv").read_bytes())
    (folder / "net_margin.csv").write_text(
        (CASES / "net_margin.csv").read_text() + '12,46,4,,0.24,definition,"ordinary: 12 / 50\n'
    )
    (folder / "no_such.csv").write_text("a,b\n")
    lot_share, net_margin, net_profit, no_such = faults_of_case_files()
    assert lot_share.startswith("tests/cases/lot_share.csv: is not UTF-8 (")
    assert net_margin.startswith("tests/cases/net_margin.csv, line ")
    assert net_margin.endswith("fix the quotes, a quote in a cell is written twice")
    assert net_profit == f"tests/cases/{FILE}: is missing; write NET_PROFIT's cases into it"
    assert no_such == ("tests/cases/no_such.csv: is not named after a function; name it as in Python, ending in .csv")


def test_a_file_that_a_spreadsheet_program_saved(folder: Path) -> None:
    """With a byte order mark and its own ends of lines."""
    before = load_cases()
    text = (folder / FILE).read_text()
    (folder / FILE).write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert faults_of_case_files() == []
    assert load_cases() == before
