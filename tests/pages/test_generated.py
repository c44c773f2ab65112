"""The pages made from the functions: written in place, whole or not at all."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from sheetfns.errors import LogFileError
from sheetfns.pages.generated import LIST, PAGES
from tests import ROOT

PATHS = [page.path for page in PAGES]
FLAGS = dict(zip(("--markdown", "--reference", "--stub"), PATHS, strict=True))
PROFIT = "sheetfns/functions/profit.py"


@pytest.fixture(scope="module")
def whole_clone(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("whole")
    # Other tests may just be writing these.
    unfinished = shutil.ignore_patterns("*.pyc.*")
    shutil.copytree(ROOT / "sheetfns", folder / "sheetfns", ignore=unfinished)
    (folder / "examples").mkdir()
    for path in PATHS:
        shutil.copyfile(ROOT / path, folder / path)
    return folder


@pytest.fixture
def clone(whole_clone: Path, tmp_path: Path) -> Path:
    """A clone's package and pages; nothing of it is installed."""
    return Path(shutil.copytree(whole_clone, tmp_path / "clone", dirs_exist_ok=True))


def functions_in(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    # A folder on the path is looked through after the one in which -m runs.
    return subprocess.run(
        [sys.executable, "-m", "sheetfns", "functions", *words],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )


def bytes_of(folder: Path) -> dict[str, bytes]:
    return {path: (folder / path).read_bytes() for path in PATHS if (folder / path).exists()}


def other_files(folder: Path) -> set[str]:
    files = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    return {path for path in files if "__pycache__" not in path} - set(PATHS)


def change(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count(old) >= 1
    path.write_text(text.replace(old, new), encoding="utf-8")


def test_all_pages_are_made_from_the_functions_of_the_clone(clone: Path) -> None:
    """The clone has another help text and another name than the package that is installed."""
    old = "What one sale earns after all its costs, including the item."
    new = "What one sale leaves, all costs off."
    change(clone / PROFIT, old, new)
    change(clone / PROFIT, "markup_rate", "markup_ratio")

    def changed(text: str) -> str:
        text = text.replace(old, new).replace("markup_rate", "markup_ratio")
        return text.replace("MARKUP_RATE", "MARKUP_RATIO")

    before = {path: (clone / path).read_text(encoding="utf-8") for path in PATHS}
    files = other_files(clone)
    done = functions_in(clone, "--write")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.splitlines() == [f"{path}: written" for path in PATHS]
    for path in PATHS:
        assert old in before[path] or path == LIST.path, path
        assert "markup_rate" in before[path].lower(), path
        assert (clone / path).read_text(encoding="utf-8") == changed(before[path]), path
    stamps = [(clone / path).stat().st_mtime_ns for path in PATHS]
    again = functions_in(clone, "--write")
    assert again.stdout.splitlines() == [f"{path}: was up to date" for path in PATHS]
    assert [(clone / path).stat().st_mtime_ns for path in PATHS] == stamps
    assert other_files(clone) == files, "nothing is left beside them"


@pytest.mark.parametrize("flags", [("--reference",), ("--markdown", "--stub")])
def test_pages_that_are_named_and_no_other(clone: Path, flags: tuple[str, ...]) -> None:
    good = bytes_of(clone)
    for path in PATHS:
        with (clone / path).open("r+b") as page:
            text = page.read()
            page.seek(0)
            page.write(text.replace(b"MARKUP_RATE", b"MARKUP_RATA").replace(b"float:", b"int:"))
            page.truncate()
    stale = bytes_of(clone)
    assert all(good[path] != stale[path] for path in PATHS)
    done = functions_in(clone, *flags, "--write")
    named = [FLAGS[flag] for flag in flags]
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.splitlines() == [f"{path}: written" for path in named]
    assert bytes_of(clone) == {path: (good if path in named else stale)[path] for path in PATHS}


def test_what_cannot_be_made_leaves_every_page_as_it_was(clone: Path) -> None:
    """The example of a docstring has no cell formula; the table and the types could be made."""
    change(clone / PROFIT, ">>> markup_rate(100, 118)", ">>> markup_rate(abs(100), 118)")
    change(clone / PROFIT, "How far the price is above the cost", "How far the price is over")
    before = bytes_of(clone)
    files = other_files(clone)
    done = functions_in(clone, "--write")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        "examples/functions.md: stays as it was (MARKUP_RATE: abs(100) in an example has no cell "
        "formula); fix the function and run this again\n"
    )
    assert bytes_of(clone) == before
    assert other_files(clone) == files


@pytest.mark.parametrize("flag", FLAGS)
def test_a_page_that_is_missing(run, tmp_path: Path, flag: str) -> None:  # type: ignore[no-untyped-def]
    code, out, err = run("functions", flag, "--write")
    assert (code, out) == (2, "")
    assert err == (
        f"{FLAGS[flag]}: there is no such file in {tmp_path}; run this in the folder of a clone of sheetfns\n"
    )
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "readme",
    ["# No marks\n", f"{LIST.marks[1]}\n{LIST.marks[0]}\n", f"{LIST.marks[0]}\n{LIST.marks[0]}\n{LIST.marks[1]}\n"],
    ids=["none", "wrong way round", "twice"],
)
def test_a_readme_without_a_place_for_the_list(readme: str) -> None:
    with pytest.raises(LogFileError, match=r"README.md: needs the lines '<!-- functions: made by"):
        LIST.text(readme)


def test_pages_of_another_copy(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """An installed package must not make a clone's pages: it may know fewer functions."""
    (tmp_path / "sheetfns").mkdir()
    (tmp_path / "README.md").write_text("# Another\n")
    code, out, err = run("functions", "--markdown", "--write")
    assert (code, out) == (2, "")
    assert err.startswith(f"README.md: would be made from {ROOT / 'sheetfns'}, not from the ")
    assert err.endswith(f'as "{sys.executable}" -m sheetfns functions --write\n')
    assert err.count("\n") == 1
    assert (tmp_path / "README.md").read_text() == "# Another\n"


def test_a_page_that_is_no_text(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    (tmp_path / "README.md").write_bytes(b"\xff\xfe")
    code, _, err = run("functions", "--markdown", "--write")
    assert code == 2
    assert err.startswith("README.md: cannot be read (")
    assert err.count("\n") == 1


@pytest.mark.parametrize("words", [("--write",), ("--markdown",)])
def test_a_name_and_a_page(run, words: tuple[str, ...]) -> None:  # type: ignore[no-untyped-def]
    code, out, err = run("functions", "NET_PROFIT", *words)
    assert (code, out) == (2, "")
    assert err == "NET_PROFIT: leave out the name; a page lists all functions\n"
