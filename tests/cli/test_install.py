"""The commands install, uninstall and doctor, as a user reads them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from sheetfns.cli import install as installing
from sheetfns.errors import LogFileError
from sheetfns.programs import doctor
from sheetfns.programs.doctor import Part
from sheetfns.programs.findings import Finding


def test_install_calc(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(installing.calc, "find_office", lambda: "office")
    monkeypatch.setattr(installing.calc, "install", lambda office, step: [Finding("Tried", f"{office} answers")])
    code, out, _ = run("install", "calc")
    assert code == 0
    assert "Tried: office answers" in out
    assert "enter =NET_PROFIT(" in out


def test_no_libreoffice(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def missing() -> None:
        raise LogFileError("LibreOffice was not found on this computer; install it")

    monkeypatch.setattr(installing.calc, "find_office", missing)
    for command in ("install", "uninstall"):
        code, out, err = run(command, "calc")
        assert (code, out) == (2, "")
        assert err.strip() == "LibreOffice was not found on this computer; install it"


@pytest.mark.parametrize(("there", "words"), [(True, "removed"), (False, "was not installed")])
def test_uninstall_calc(run: Any, monkeypatch: pytest.MonkeyPatch, there: bool, words: str) -> None:
    monkeypatch.setattr(installing.calc, "find_office", lambda: "office")
    monkeypatch.setattr(installing.calc, "uninstall", lambda office, step: there)
    code, out, _ = run("uninstall", "calc")
    assert code == 0
    assert words in out


def test_install_excel_says_what_to_do_next(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    found = [Finding("xlwings", "not installed", False, "Run: pip install it")]
    monkeypatch.setattr(installing.excel, "install", lambda may_replace: found)
    code, out, _ = run("install", "excel", "--into", "log.xlsm")
    assert code == 1
    assert out.splitlines() == ["xlwings: not installed", "  Run: pip install it"]


def test_install_excel_imports_into_a_log(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(installing.excel, "install", lambda may_replace: [Finding("System", "ok")])
    monkeypatch.setattr(installing, "import_module", lambda path: [Finding("Functions", str(path))])
    code, out, _ = run("install", "excel", "--into", "log.xlsm")
    assert code == 0
    assert "Functions: log.xlsm" in out


def test_calc_needs_nothing_in_the_workbook(run: Any) -> None:
    code, _, err = run("install", "calc", "--into", "log.xlsm")
    assert code == 2
    assert err.startswith("--into is for Excel")


def test_another_program(run: Any) -> None:
    code, _, err = run("install", "other")
    assert code == 2
    assert "calc" in err
    assert "excel" in err


@pytest.mark.parametrize("ok", [True, False])
def test_doctor(run: Any, monkeypatch: pytest.MonkeyPatch, ok: bool) -> None:
    finding = Finding("numpy", "there", ok, "" if ok else "Run: this")
    monkeypatch.setattr(doctor, "look_over", lambda file: [Part("All", (finding,))])
    code, out, _ = run("doctor")
    assert code == (0 if ok else 1)
    lines = [line.strip() for line in out.splitlines()]
    expected = ["All:", "ok       numpy: there"]
    if not ok:
        expected = ["All:", "TO FIX  numpy: there", "Run: this"]
    assert lines == expected


def test_install_excel_lite(run: Any, tmp_path: Path) -> None:
    code, out, _ = run("install", "excel", "--lite", str(tmp_path), "--wheel", "https://example.org/a.whl")
    assert code == 0
    assert (tmp_path / "main.py").is_file()
    assert out.splitlines()[1] == "1. Add-in:"
    assert "it shows 12.5" in out


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("calc", "--lite", "x"), "--lite is for Excel"),
        (("excel", "--lite", "x", "--into", "log.xlsm"), "--lite is for Excel and goes without --into"),
        (("excel", "--wheel", "https://example.org/a.whl"), "--wheel goes with --lite FOLDER"),
    ],
)
def test_lite_goes_with_excel_alone(run: Any, asked: tuple[str, ...], said: str) -> None:
    code, out, err = run("install", *asked)
    assert (code, out) == (2, "")
    assert said in err
