"""The pages that people read: links and pictures that exist, commands that run, sheets in order."""

from __future__ import annotations

import re
import shutil
import tomllib
from pathlib import Path

import openpyxl
import pytest

from sheetfns.cli.app import COMMANDS
from tests import EXAMPLES, ROOT

PAGES = sorted([*ROOT.glob("*.md"), *EXAMPLES.glob("*.md")])
README = (ROOT / "README.md").read_text(encoding="utf-8")
HANDBOOK = (EXAMPLES / "handbook.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
LARGEST_README = 8_000
LONGEST_SENTENCE = 35
"""Words of a sentence that a seller reads once."""

each_page = pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)


def without_code(text: str) -> str:
    return re.sub(r"```.*?```", "", text, flags=re.DOTALL)


def links(page: Path) -> list[str]:
    """Where each link and picture of a page leads."""
    text = without_code(page.read_text(encoding="utf-8"))
    return re.findall(r"\]\(([^)]*)\)", text) + re.findall(r'(?:src|href)="([^"]*)"', text)


def anchors(page: Path) -> set[str]:
    """The headings of a page, as links name them."""
    headings = re.findall(r"^#+ (.*)$", without_code(page.read_text(encoding="utf-8")), re.MULTILINE)
    return {re.sub(r"[^\w -]", "", heading.lower()).replace(" ", "-") for heading in headings}


def broken(page: Path) -> list[str]:
    """The relative links of a page that lead nowhere."""
    found = []
    for link in links(page):
        if re.match(r"[a-z]+:", link):
            continue
        path, _, anchor = link.partition("#")
        target = page.parent / path if path else page
        if not target.exists() or (anchor and anchor not in anchors(target)):
            found.append(link)
    return found


@each_page
def test_every_link_and_picture_leads_somewhere(page: Path) -> None:
    assert broken(page) == []


def test_a_link_that_leads_nowhere_is_found(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    (tmp_path / "there.md").write_text("# A heading, here\n")
    page.write_text(
        '[a](there.md) [b](there.md#a-heading-here) [c](#none) ![d](none.png) <img src="no.png">\n'
        "[e](https://example.org/none) [f](there.md#none)\n```\n[g](code.md)\n```\n"
    )
    assert broken(page) == ["#none", "none.png", "there.md#none", "no.png"]


def test_every_page_is_linked_from_the_readme() -> None:
    linked = {(ROOT / link.partition("#")[0]).resolve() for link in links(ROOT / "README.md")}
    assert {page.resolve() for page in PAGES if page.name != "README.md"} <= linked


def test_the_readme_is_read_in_three_minutes() -> None:
    assert len(README.encode()) < LARGEST_README
    first, second = README.index("<img "), README.index("\n## ")
    assert first < second, "a picture stands before the first heading"
    assert README.index(".xlsx") < README.index("```"), "the ready file comes before any terminal"


@pytest.mark.parametrize("name", ["README.md", "handbook.md", "sharing.md", "changes.md", "looks.md"])
def test_no_sentence_is_long(name: str) -> None:
    page = next(page for page in PAGES if page.name == name)
    text = without_code(page.read_text(encoding="utf-8"))
    text = re.sub(r"<!--.*<!-- end of functions -->", "", text, flags=re.DOTALL)
    lines = [line for line in text.splitlines() if not line.startswith(("|", "#", "<", "["))]
    text = re.sub(r"\]\([^)]*\)", "]", "\n".join(lines))
    sentences = re.split(r"(?<=[.?!:])[*)]*\s|\n\n|\n\s*\* ", text)
    assert len(sentences) > 20
    assert [sentence for sentence in sentences if len(sentence.split()) > LONGEST_SENTENCE] == []


def commands_in(text: str) -> set[str]:
    """The commands in the first column of a table of commands."""
    table = text.partition("| command | what it does |\n")[2].partition("\n\n")[0]
    cells = [line.split("|")[1] for line in table.splitlines()]
    return {word for cell in cells for word in re.findall(r"`([a-z-]+)", cell)}


@pytest.mark.parametrize("name", ["README.md", "programs.md"])
def test_every_command_has_its_line(name: str) -> None:
    page = next(page for page in PAGES if page.name == name)
    assert commands_in(page.read_text(encoding="utf-8")) == set(COMMANDS)


def test_the_handbook_has_a_heading_for_each_sheet_in_the_order_of_the_workbook() -> None:
    book = openpyxl.load_workbook(ROOT / "workbook_templates" / "sourcing_log.xlsx", read_only=True)
    sheets = book.sheetnames
    book.close()
    assert re.findall(r"^## (.*)$", HANDBOOK, re.MULTILINE) == [*sheets, "How the log counts"]


def test_each_sheet_of_the_handbook_asks_a_question_or_says_what_it_shows() -> None:
    for section in HANDBOOK.split("\n## ")[1:-1]:
        heading, _, text = section.partition("\n")
        words = re.sub(r"!\[.*?\]\(.*?\)", "", text).split()
        assert len(words) >= 10, heading


def test_developers_begins_with_clone_run_test_and_lint() -> None:
    first = "\n".join(DEVELOPERS.splitlines()[:10])
    block = re.search(r"```sh\n(.*?)```", first, re.DOTALL)
    assert block, "the first ten lines hold the commands"
    commands = [part.partition(" #")[0].split() for line in block[1].splitlines() for part in line.split("&&")]
    assert commands[0][:2] == ["git", "clone"]
    assert ["sh", "examples/demo.sh"] in commands
    assert ["sh", "tests/run.sh"] in commands
    assert [".venv/bin/ruff", "check", "."] in commands
    wanted = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["optional-dependencies"]["test"]
    tools = {re.match(r"[\w-]+", one)[0] for one in wanted}  # type: ignore[index]
    for program, *words in commands:
        if program == "sh":
            assert all((ROOT / word).is_file() for word in words), words
        elif program.startswith(".venv/bin/"):
            assert program.removeprefix(".venv/bin/") in tools
        else:
            assert program == "cd" or shutil.which(program), program


def folded(path: str) -> list[Path]:
    """Where a path in the words of a page may be: pages leave out the name of the package."""
    return [base / path for base in (ROOT, ROOT / "sheetfns", ROOT / "sheetfns" / "tables")]


@pytest.mark.parametrize("name", ["DEVELOPERS.md", "decisions.md", "benchmarks.md", "checks_by_hand.md"])
def test_every_file_that_is_named_is_there(name: str) -> None:
    page = next(page for page in PAGES if page.name == name)
    text = page.read_text(encoding="utf-8")
    named = set(re.findall(r"\b(?:[\w-]+/)+[\w-]+\.(?:py|csv|md|sh|xlsx|toml)\b", text))
    assert len(named) > 2
    assert [path for path in sorted(named) if not any(one.exists() for one in folded(path))] == []


def test_decisions_have_each_number_once() -> None:
    text = (EXAMPLES / "decisions.md").read_text(encoding="utf-8")
    numbers = sorted(map(int, re.findall(r"^\*\*(\d+)\. ", text, re.MULTILINE)))
    assert numbers == list(range(1, len(numbers) + 1))
    assert f"the next free number, {len(numbers) + 1}." in text
