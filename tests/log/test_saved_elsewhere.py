"""A log that another program opened and saved untouched has no more to fix than before."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from openpyxl.formula import Tokenizer

from examples.make_shop import make
from sheetfns.log.check.report import FORMULAS, SHOWN, UNREADABLE, Report, check_log
from sheetfns.log.compare import _same
from sheetfns.log.model.sheets import Edition
from tests import gnumeric, ironcalc_engine
from tests.log.libreoffice_in_turn import recalculate_all

Saver = Callable[[Iterable[Path], Path], dict[Path, Path]]


def in_libreoffice(*, recalculates: bool) -> Saver:
    def save(paths, folder):
        paths = list(paths)
        return dict(zip(paths, recalculate_all(paths, folder, recalculates=recalculates), strict=True))

    return save


def in_openpyxl(paths, folder):
    folder.mkdir()
    made = {path: folder / path.name for path in paths}
    for source, target in made.items():
        openpyxl.load_workbook(source).save(target)
    return made


NO_RESULTS = {"not_calculated"}
ERRORS = {"error_in_result", "errors_follow"}
"""Figures that the program has worked out as errors itself."""
PROGRAMS: dict[str, tuple[Saver, set[str]]] = {
    "libreoffice": (in_libreoffice(recalculates=False), set()),
    "libreoffice_recalculated": (in_libreoffice(recalculates=True), set()),
    "gnumeric": (gnumeric.open_and_save, set()),
    "gnumeric_recalculated": (gnumeric.recalculate, set()),
    "ironcalc": (ironcalc_engine.recalculate, set()),
    "openpyxl": (in_openpyxl, NO_RESULTS),
}
"""How each saves, and what `check` may say of results of the plain edition then."""


def marked(name: str) -> object:
    program = name.partition("_")[0]
    marks = () if program == "openpyxl" else (getattr(pytest.mark, program),)
    return pytest.param(name, marks=marks)


@pytest.fixture(scope="module")
def logs(tmp_path_factory) -> dict[Edition, Path]:
    return make(tmp_path_factory.mktemp("shop"))


@pytest.fixture(scope="module")
def before(logs) -> dict[Edition, Report]:
    return {edition: check_log(path) for edition, path in logs.items()}


@pytest.fixture(scope="module", params=[marked(name) for name in PROGRAMS])
def saved(request, logs, tmp_path_factory) -> tuple[str, dict[Edition, Report]]:
    """The name of a program, and what `check` says of what it saved."""
    save, _ = PROGRAMS[request.param]
    made = save(logs.values(), tmp_path_factory.mktemp(request.param) / "saved")
    return request.param, {edition: check_log(made[path]) for edition, path in logs.items()}


def lines(report: Report) -> set[tuple[str, str, str, str]]:
    return {(one.sheet, one.cell, one.key, one.message) for one in report.findings}


def test_the_log_has_nothing_to_fix_before(before):
    assert [report.count for report in before.values()] == [6, 6]
    assert not any(one.group == FORMULAS for report in before.values() for one in report.findings)


@pytest.mark.parametrize("edition", ["plain", "functions"])
def test_no_formula_is_said_to_be_changed(saved, edition):
    _, reports = saved
    assert reports[edition].content.edition == edition
    assert [one for one in reports[edition].findings if one.group == FORMULAS] == []
    assert [one for one in reports[edition].findings if one.repairs] == []


@pytest.mark.parametrize("edition", ["plain", "functions"])
def test_only_results_of_the_program_itself_are_said_to_be_wrong(saved, before, edition):
    name, reports = saved
    _, results = PROGRAMS[name]
    # The functions are unknown to all of them.
    allowed = results | (ERRORS if edition == "functions" else set())
    assert lines(before[edition]) <= lines(reports[edition])
    more = [
        one
        for one in reports[edition].findings
        if (one.sheet, one.cell, one.key, one.message) not in lines(before[edition])
    ]
    assert {one.key for one in more} <= allowed, more
    assert {one.group for one in more} <= {SHOWN, UNREADABLE}


# ---- blanks at the ends of texts -------------------------------------------------------------


def test_a_text_that_lost_blanks_at_its_ends_is_the_same():
    shown = np.array(["a", "a", "a b", "a", ""], dtype=object)
    ours = np.array([" a", "a ", "a  b", "b", " "], dtype=object)
    assert _same(shown, ours).tolist() == [True, True, False, False, True]


def whole_texts(formula: str) -> Iterator[str]:
    """The text constants that can be all that a cell shows."""
    tokens = [token for token in Tokenizer(formula).items if token.type != "WHITE-SPACE"]
    around: list[tuple[int, int]] = []  # the bracket that a token stands in, and which argument of it
    enclosing: list[tuple[int, int] | None] = []
    closers: dict[int, int] = {}
    for place, token in enumerate(tokens):
        if token.subtype == "CLOSE":
            closers[around.pop()[0]] = place
        enclosing.append(around[-1] if around else None)
        if token.type == "SEP":
            around[-1] = (around[-1][0], around[-1][1] + 1)
        if token.subtype == "OPEN":
            around.append((place, 0))

    def is_whole(first: int, last: int) -> bool:
        for neighbor in (first - 1, last + 1):
            if 0 <= neighbor < len(tokens) and tokens[neighbor].type.startswith("OPERATOR"):
                return False
        if enclosing[first] is None:
            return True
        opener, argument = enclosing[first]
        minimum = {"IF(": 1, "IFERROR(": 0, "IFNA(": 0, "CHOOSE(": 1, "(": 0}.get(tokens[opener].value)
        return minimum is not None and argument >= minimum and is_whole(opener, closers[opener])

    for place, token in enumerate(tokens):
        if token.subtype == "TEXT" and is_whole(place, place):
            yield token.value[1:-1].replace('""', '"')


@pytest.mark.parametrize(
    ("formula", "texts"),
    [
        ('=" a"', [" a"]),
        ('=IF(A1=" a"," b",IF(B1,(" c")," d"&A1))', [" b", " c"]),
        ('=IF(A1," a"," b")&"c"', []),
        ('=IFERROR(TRIM(" a")," b")', [" b"]),
        ('=A1&IF(B1,"; "&C1,"")', []),
    ],
)
def test_which_texts_can_be_all_that_a_cell_shows(formula, texts):
    assert list(whole_texts(formula)) == texts


@pytest.mark.parametrize("edition", ["plain", "functions"])
def test_no_text_of_a_log_begins_or_ends_with_a_blank(logs, edition):
    results = openpyxl.load_workbook(logs[edition], data_only=True)
    texts = 0
    for sheet in openpyxl.load_workbook(logs[edition]):
        for row in sheet.iter_rows():
            for cell in row:
                found = [results[sheet.title][cell.coordinate].value]
                if cell.data_type == "f":
                    found += whole_texts(cell.value)
                for text in found:
                    if isinstance(text, str) and text:
                        texts += 1
                        assert text == text.strip(), (sheet.title, cell.coordinate, text)
    assert texts > 10_000
