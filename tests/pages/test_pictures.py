"""The pictures of the sheets in examples/pictures: there, readable, current, and of real sheets."""

from __future__ import annotations

import os
import re
import shutil
from pathlib import Path

import pytest
from PIL import Image

from examples import make_pictures
from examples.make_pictures import FOLDER, NOTE, PICTURES, NoPictureError, Picture, fingerprint, take
from examples.make_shop import FILES, ROWS
from sheetfns.log.model.sheets import FIRST_ROW
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import CHECKS, SETTINGS, START
from tests import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")
HANDBOOK = (ROOT / "examples" / "handbook.md").read_text(encoding="utf-8")
LOG = ROOT / "examples" / FILES[make_pictures.EDITION]
AGAIN = "run: .venv/bin/python -m examples.make_pictures"
MOST_BYTES = 2_000_000
MAIN_SHEETS = {
    *("Home", "Start", "Settings", "Shelf check", "Buying plan", "Comparables", "Sourcing log"),
    *("Listing desk", "Money", "Charts", "Pay", "Partners", "Year end", "Data checks"),
}

each_picture = pytest.mark.parametrize("picture", PICTURES, ids=lambda picture: picture.name)


def gallery(text: str) -> list[tuple[str, str]]:
    """Words and file of each picture in a page."""
    plain = re.findall(r"!\[([^\]]*)\]\(([^)]*\.png)\)", text)
    sized = re.findall(r'<img src="([^"]*\.png)"[^>]* alt="([^"]*)"', text)
    return [*((words, file) for file, words in sized), *plain]


def looked_at(image: Image.Image) -> tuple[float, int]:
    """The part of a picture that is not white, and how many shades of gray it has."""
    shades = image.convert("L").histogram()
    return 1 - sum(shades[250:]) / sum(shades), sum(count > 0 for count in shades)


def test_the_list_names_sheets_of_the_layout() -> None:
    layout = log_layout(ROWS)
    sheets = {START, SETTINGS, CHECKS, *(one.name for one in (*layout.tables, *layout.forms))}
    shown = {picture.sheet for picture in PICTURES}
    assert shown <= sheets
    assert shown >= MAIN_SHEETS
    assert len({picture.name for picture in PICTURES}) == len(PICTURES)


def test_columns_of_tables_are_those_that_a_seller_sees() -> None:
    """No working column is on a picture, and no part of a table without its headers."""
    tables = {table.name: table for table in log_layout(ROWS).tables}
    for picture in PICTURES:
        table = tables.get(picture.sheet)
        if table is None:
            continue
        assert picture.rows[0] == 1 and picture.rows[1] > FIRST_ROW
        for first, last in picture.spans():
            columns = table.columns[first - 1 : last]
            assert len(columns) == last - first + 1, f"{picture.name}: no such columns"
            assert all(column.role != "working" for column in columns), picture.name


@each_picture
def test_a_picture_is_there_and_can_be_read(picture: Picture) -> None:
    path = FOLDER / picture.file
    assert path.is_file(), AGAIN
    with Image.open(path) as image:
        image.verify()
    with Image.open(path) as image:
        assert (image.format, image.mode) == ("PNG", "P")
        width, height = image.size
        assert abs(width - picture.width) <= 8 and width <= make_pictures.WIDEST
        assert 200 <= height <= 2_000
        filled, shades = looked_at(image)
    assert filled > 0.02, "hardly anything is on it"
    assert shades > 8
    assert path.stat().st_size <= make_pictures.LARGEST_BYTES


def test_they_are_small_and_no_other_is_left_over() -> None:
    files = [path for path in FOLDER.iterdir() if path.is_file()]
    assert {path.name for path in files} == {picture.file for picture in PICTURES}
    assert sum(path.stat().st_size for path in files) < MOST_BYTES


def test_before_and_after_are_small_and_all_on_their_page() -> None:
    files = sorted((FOLDER / "looks").iterdir())
    shown = [file for _, file in gallery((ROOT / "examples" / "looks.md").read_text(encoding="utf-8"))]
    assert sorted(f"pictures/looks/{path.name}" for path in files) == sorted(shown)
    assert sum(path.stat().st_size for path in files) < MOST_BYTES
    for path in files:
        assert path.stat().st_size <= make_pictures.LARGEST_BYTES, path.name
        with Image.open(path) as image:
            assert (image.format, image.mode) == ("PNG", "P")
            filled, shades = looked_at(image)
        assert filled > 0.02 and shades > 8, path.name


@each_picture
def test_a_picture_shows_the_cells_of_the_example(picture: Picture) -> None:
    """Each file says which cells were on it; pixels differ between machines."""
    with Image.open(FOLDER / picture.file) as image:
        assert image.info[NOTE] == fingerprint(LOG, picture), AGAIN


def test_other_cells_have_another_fingerprint() -> None:
    one = Picture("one", "Money", ("A:C",), (1, 8))
    same = Picture("same", "Money", ("A:A", "B:C"), (1, 8))
    others = [Picture("other", "Money", ("A:C",), (1, 9)), Picture("other", "Pay", ("A:C",), (1, 8))]
    assert fingerprint(LOG, same) == fingerprint(LOG, one)
    assert all(fingerprint(LOG, other) != fingerprint(LOG, one) for other in others)


def test_the_pictures_of_the_readme() -> None:
    assert len(gallery(README)) == 5
    by_file = {f"examples/pictures/{picture.file}": picture for picture in PICTURES}
    for words, file in gallery(README):
        assert (ROOT / file).is_file(), f"{words}: there is no {file}"
        assert by_file[file].sheet in words, f"{file} shows {by_file[file].sheet}, not {words}"


def test_the_handbook_shows_each_picture_under_its_sheet() -> None:
    by_file = {f"pictures/{picture.file}": picture for picture in PICTURES}
    shown = []
    for section in HANDBOOK.split("\n## ")[1:]:
        heading, _, text = section.partition("\n")
        for words, file in gallery(text):
            assert (ROOT / "examples" / file).is_file(), f"{words}: there is no {file}"
            assert by_file[file].sheet == words == heading, f"{file} shows {by_file[file].sheet}"
            shown.append(file)
    assert sorted(shown) == sorted(by_file)


# Taking pictures.


@pytest.fixture
def _with_pdftoppm() -> None:
    if shutil.which("pdftoppm") is None:
        words = "pdftoppm is not installed; it is in the package poppler-utils"
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)(words)


@pytest.mark.libreoffice
@pytest.mark.usefixtures("_with_pdftoppm")
def test_pictures_are_taken(tmp_path: Path) -> None:
    """Two parts of one sheet and one of another: each is what was asked for, and nothing else."""
    wanted = [
        Picture("left", "Partners", ("A:C",), (6, 12), 600),
        Picture("apart", "Partners", ("A:A", "F:F"), (6, 12), 300),
        Picture("whole", "Data checks", ("A:F",), (1, 10), 800),
    ]
    made = take(LOG, tmp_path / "pictures", wanted)
    assert {path.name for path in made} == {"left.png", "apart.png", "whole.png"}
    assert set(made) == set((tmp_path / "pictures").iterdir())
    for picture in wanted:
        with Image.open(tmp_path / "pictures" / picture.file) as image:
            assert abs(image.width - picture.width) <= 8
            assert looked_at(image)[0] > 0.02
            assert image.info[NOTE] == fingerprint(LOG, picture)
            # A column that is not asked for takes no room: lines of seven rows stay flat.
            assert image.height < image.width


def test_a_sheet_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(NoPictureError, match="there is no sheet Attic"):
        take(LOG, tmp_path / "pictures", [Picture("none", "Attic", ("A:B",), (1, 2))])
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("text", ["Total #NAME? 3", "#DIV/0!", "#N/A", "Err:502", "a ### b"])
def test_an_error_on_a_page_is_refused(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    monkeypatch.setattr(make_pictures, "_run", lambda *_: text.encode())
    with pytest.raises(NoPictureError, match="Home: a cell shows"):
        make_pictures._refuse_errors(Path("none.pdf"), 1, PICTURES[0])


def test_a_page_without_errors_is_not_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(make_pictures, "_run", lambda *_: b"Error is actual less estimate. No. #1")
    make_pictures._refuse_errors(Path("none.pdf"), 1, PICTURES[0])


def test_a_blank_page_is_refused() -> None:
    with pytest.raises(NoPictureError, match="blank"):
        make_pictures._filled(Image.new("RGB", (40, 40), "white"))


def test_without_pdftoppm(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shutil, "which", lambda _: None)
    with pytest.raises(NoPictureError, match=r"pdftoppm is not installed; .* poppler-utils"):
        make_pictures._drawn(Path("none.pdf"), 1, 50)


def test_soffice_is_asked_for_once_for_all_sheets() -> None:
    groups = list(make_pictures._each_sheet_once(PICTURES))
    assert [len({picture.sheet for picture in group}) for group in groups] == list(map(len, groups))
    assert sorted(picture.name for group in groups for picture in group) == sorted(picture.name for picture in PICTURES)
    assert len(groups) == 2
