"""Formulas of OpenDocument workbooks in the writing of .xlsx."""

from __future__ import annotations

import pytest

from sheetfns.files.open_formula import xlsx_cells, xlsx_formula


@pytest.mark.parametrize(
    ("open_formula", "wanted"),
    [
        ("of:=1+2", "1+2"),
        ("of:=[.A1]*[.$B$2]", "A1*$B$2"),
        ("of:=SUM([.A1:.B2];3)", "SUM(A1:B2,3)"),
        ("of:=[$Settings.$B$7]", "'Settings'!$B$7"),
        ("of:=[$'Sourcing log'.A1:.B2]", "'Sourcing log'!A1:B2"),
        ("of:=[$'Log'.A1:$'Log'.B2]", "'Log'!A1:B2"),
        ("of:=SUM([$A.A1:$C.A1])", "SUM('A:C'!A1:A1)"),
        ("of:=[$'It''s; [a.b]'.A1]", "'It''s; [a.b]'!A1"),
        ("of:=[$'It''s; a.b'.A1]", "'It''s; a.b'!A1"),
        ("of:=[.A:.A]+[.$1:.$3]", "A:A+$1:$3"),
        ('of:="a;b [.A1] ~!|"&[.A1]', '"a;b [.A1] ~!|"&A1'),
        ('of:="say ""a;b"";"&1', '"say ""a;b"";"&1'),
        ('of:=SUM({1;2|3;4};{"a;b"|"c"})', 'SUM({1,2;3,4},{"a;b";"c"})'),
        ("of:=SUM(([.A1:.A2]~[.C1]))", "SUM((A1:A2,C1))"),
        ("of:=SUM([.A1:.B2]![.B1:.C2])", "SUM(A1:B2 B1:C2)"),
        ("of:=IF(ISERROR(#N/A);#REF!;#DIV/0!)", "IF(ISERROR(#N/A),#REF!,#DIV/0!)"),
        ("of:=[.#REF!]+[#REF!]", "#REF!+#REF!"),
        ("of:=LEGACY.NORMSINV([.A1])", "NORMSINV(A1)"),
        ("of:=COM.MICROSOFT.CONCAT([.A1])", "CONCAT(A1)"),
        ("of:=ORG.GNUMERIC.SUMPRODUCT([.A1])", "SUMPRODUCT(A1)"),
        ("of:=sheetfns.NET_PROFIT([.A1];2)", "NET_PROFIT(A1,2)"),
        ("of:=net_profit([.A1];;2)", "net_profit(A1,,2)"),
        ("of:=Log_paid*Usual.rate", "Log_paid*Usual.rate"),
        ("of:=['file:///b.ods'#$S.A1]", "'[file:///b.ods]S'!A1"),
        ("msoxl:=SUM(A1:B2,3)", "SUM(A1:B2,3)"),
        ("=1", "1"),
        ("of:=[gone", "[gone"),
        ("", ""),
    ],
)
def test_formula(open_formula: str, wanted: str) -> None:
    assert xlsx_formula(open_formula) == wanted


@pytest.mark.parametrize(
    ("address", "wanted"),
    [
        ("$Log.$A$1", "'Log'!$A$1"),
        ("$'Year end'.$D$14:.$D$20", "'Year end'!$D$14:$D$20"),
        ("$'A'.$A$1:$'A'.$B$2", "'A'!$A$1:$B$2"),
        ("$Log.A", ""),
        ("nothing", ""),
        ("", ""),
    ],
)
def test_address(address: str, wanted: str) -> None:
    assert xlsx_cells(address) == wanted
