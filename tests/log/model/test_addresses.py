"""A mistyped key in a formula of the layout says which sheet, which column and what was meant."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sheetfns.log.model.addresses import AddressMap, UnknownKeyError
from sheetfns.log.model.sheets import Formula
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.write import formulas

ADDRESSES = AddressMap(log_layout(20))
LOTS = log_layout(20).table("Lots")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("{padi}+1", "Lots, total: the formula names 'padi', which the sheet has not; did you mean 'paid'?"),
        ("[no_lott]", "Lots, total: the formula names 'no_lott', which the sheet has not"),
        ("{zzz@above}", "Lots, total: the formula names 'zzz', which the sheet has not"),
    ],
)
def test_a_column_or_check_that_is_not_there(text, message):
    with pytest.raises(UnknownKeyError) as error:
        ADDRESSES.template(LOTS, text, "total")
    assert str(error.value).startswith(message)


def test_a_cell_that_is_not_there():
    with pytest.raises(UnknownKeyError, match=r"Shelf check, verdict: the formula names 'ceilling'.*'ceiling'"):
        ADDRESSES.form_formula(log_layout(20).form("Shelf"), "{ceilling}*2", "verdict")


def test_a_key_that_is_there():
    letters = {column.key: ADDRESSES.template(LOTS, f"{{{column.key}}}") for column in LOTS.columns}
    assert letters["row_check"] == "$A{row}"
    assert letters["lot_no"] == "INDEX($B{row}:$K{row},1,$C$2)", "an entry does not follow a cell that is moved"
    assert len(set(letters.values())) == len(LOTS.columns)


def test_the_writer_says_which_column(monkeypatch):
    whole = log_layout(20)
    columns = [
        replace(column, formula=Formula("{padi}*1")) if column.key == "total" else column for column in LOTS.columns
    ]
    tables = tuple(replace(table, columns=tuple(columns)) if table.key == "Lots" else table for table in whole.tables)
    with pytest.raises(UnknownKeyError, match="Lots, total: the formula names 'padi'"):
        formulas.written_formulas(replace(whole, tables=tables), "plain")
