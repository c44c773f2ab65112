"""What `install excel --lite` writes: two short texts, and a package that needs nothing but what the add-in has."""

from __future__ import annotations

import csv
import hashlib
import io
import subprocess
import sys
import zipfile
from base64 import urlsafe_b64encode
from pathlib import Path

import pytest

import sheetfns
from sheetfns.errors import LogFileError
from sheetfns.programs.lite import install as lite

ADDRESS = "https://example.org/sheetfns-0.4.0-py3-none-any.whl"


def test_the_texts_are_short_and_the_clicks_in_order(tmp_path: Path) -> None:
    findings = lite.install(tmp_path, ADDRESS)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["main.py", "requirements.txt"]
    assert (tmp_path / "requirements.txt").read_text() == f"{ADDRESS}\n"
    assert (tmp_path / "main.py").read_text() == lite.MAIN
    assert len(lite.MAIN.splitlines()) == 2
    assert [one.label.split(". ")[0] for one in findings[1:]] == list("12345678")
    said = " ".join(one.next_step for one in findings)
    for place in (tmp_path / "main.py", tmp_path / "requirements.txt"):
        assert str(place) in said
    assert all(one.ok and len(one.next_step.split()) <= 35 for one in findings)


def test_without_an_address_the_package_is_written_too(tmp_path: Path) -> None:
    findings = lite.install(tmp_path / "new")
    assert (tmp_path / "new" / lite.WHEEL).read_bytes() == lite.wheel()
    assert (tmp_path / "new" / "requirements.txt").read_text() == f"https://YOUR-PAGE/{lite.WHEEL}\n"
    assert findings[1].label == "1. Web page"
    assert lite.WHEEL in findings[1].next_step
    assert len(findings) == 10


def test_a_second_run_changes_nothing_and_other_files_are_kept(tmp_path: Path) -> None:
    lite.install(tmp_path)
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in tmp_path.iterdir()}
    lite.install(tmp_path)
    assert {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in tmp_path.iterdir()} == before
    (tmp_path / "main.py").write_text("mine")
    with pytest.raises(LogFileError, match=r"main.py: already exists with another content; choose another folder"):
        lite.install(tmp_path)
    assert (tmp_path / "main.py").read_text() == "mine"


@pytest.mark.parametrize(
    "address", ["http://example.org/a.whl", "https://example.org/a.zip", "sheetfns", "https://a b.whl"]
)
def test_an_address_that_is_none_is_refused(tmp_path: Path, address: str) -> None:
    with pytest.raises(LogFileError, match="is not the address of a package"):
        lite.install(tmp_path / "new", address)
    assert not (tmp_path / "new").exists()


def test_the_values_that_are_named_are_the_functions_own() -> None:
    assert "=NET_PROFIT(25,4,3.5,4.25,0.75,8) in a cell; it shows 12.5" in dict(lite.CLICKS)["Try"]
    assert sheetfns.net_profit(25, 4, 3.5, 4.25, 0.75, 8) == 12.5


# The package


def contents() -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(lite.wheel())) as packed:
        assert packed.testzip() is None
        return {name: packed.read(name) for name in packed.namelist()}


def test_the_package_is_of_python_alone() -> None:
    files = contents()
    info = f"sheetfns-{sheetfns.__version__}.dist-info"
    assert b"Root-Is-Purelib: true\nTag: py3-none-any\n" in files[f"{info}/WHEEL"]
    endings = {Path(name).suffix for name in files if not name.startswith(info)}
    assert endings == {".py", ".pyi", ".csv", ".json", ".typed"}
    assert b"Permission is hereby granted" in files[f"{info}/LICENSE"]
    listed = {name: (mark, size) for name, mark, size in csv.reader(io.StringIO(files[f"{info}/RECORD"].decode()))}
    assert set(listed) == set(files)
    for name, content in files.items():
        mark = urlsafe_b64encode(hashlib.sha256(content).digest()).rstrip(b"=").decode()
        assert name.endswith("RECORD") or listed[name] == (f"sha256={mark}", str(len(content)))


def test_the_repository_has_no_part_that_is_built_for_a_machine() -> None:
    root = Path(sheetfns.__file__).parent
    built = {".so", ".pyd", ".dll", ".dylib", ".c", ".cpp", ".pyx", ".rs"}
    assert [path for path in root.rglob("*") if path.suffix in built] == []
    assert "ext_modules" not in (root.parent / "pyproject.toml").read_text()
    assert not (root.parent / "setup.py").exists()


def test_pip_installs_it_and_it_works_from_there(tmp_path: Path) -> None:
    lite.install(tmp_path)
    target = tmp_path / "installed"
    pip = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--no-index", "--target", target]
    subprocess.run([*pip, tmp_path / lite.WHEEL], check=True, timeout=300)
    code = (
        f"import sys; sys.path.insert(0, {str(target)!r}); import sheetfns; from sheetfns.hosts.excel_lite import *;"
        "from sheetfns.tables import table_rows; from sheetfns.programs.lite.scripts import *;"
        "print(sheetfns.__file__, NET_PROFIT(25, 4, 3.5, 4.25, 0.75, 8), len(table_rows('mileage')), check_log.__name__)"
    )
    done = subprocess.run(
        [sys.executable, "-I", "-c", code], capture_output=True, text=True, check=True, timeout=120, cwd=tmp_path
    )
    assert done.stdout.split() == [str(target / "sheetfns" / "__init__.py"), "12.5", "11", "check_log"]
