"""Comments of a workbook are found, whichever program wrote them; a file without them has none."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import xlsxwriter
from openpyxl.comments import Comment as Written

from sheetfns.files.comments import Comment, comments_of


def test_comments_of_two_programs(tmp_path: Path) -> None:
    one, other = tmp_path / "one.xlsx", tmp_path / "other.xlsx"
    book = xlsxwriter.Workbook(str(one))
    book.add_worksheet("First")
    book.add_worksheet("A & B").write_comment("C5", "Ask  Bo\nfirst")
    book.close()
    second = openpyxl.Workbook()
    second.active.title = "Pay"
    second.active["B2"].comment = Written("sure?", "Ada")
    second.save(other)
    assert comments_of(one) == [Comment("A & B", "C5", "Ask Bo first")]
    assert comments_of(other) == [Comment("Pay", "B2", "sure?")]


def test_what_has_none(tmp_path: Path) -> None:
    plain = tmp_path / "plain.xlsx"
    openpyxl.Workbook().save(plain)
    text = tmp_path / "text.xlsx"
    text.write_text("no workbook")
    assert comments_of(plain) == comments_of(text) == comments_of(tmp_path / "none.xlsx") == []
