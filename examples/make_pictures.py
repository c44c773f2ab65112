"""Takes pictures of the main sheets of the invented shop's log, printed by LibreOffice.

python -m examples.make_pictures

It needs LibreOffice, poppler-utils, and Calibri or a font of its widths (fonts-crosextra-carlito).
"""

from __future__ import annotations

import hashlib
import io
import json
import re
import shutil
import subprocess
import tempfile
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from lxml import etree
from PIL import Image, ImageChops, ImageOps
from PIL.PngImagePlugin import PngInfo

from examples.make_shop import FILES, ROWS
from sheetfns.demo import example_inputs
from sheetfns.files.xlsx_file import XlsxFile, column_number
from sheetfns.log.model.sheets import Edition
from sheetfns.log.write.build import build_log
from sheetfns.yearend.pdf import print_pdf

EDITION: Final[Edition] = "functions"
"""The plain one leaves what no ordinary formula finds blank; all else looks the same in both."""
FOLDER: Final = Path(__file__).parent / "pictures"
LARGEST_BYTES: Final = 150_000
WIDEST: Final = 1_200
MARGIN: Final = 8
COLORS: Final = 64
LOOK_DPI: Final = 50
"""For the first look, which finds where the page is not white."""
NOTE: Final = "Cells"
"""Name of the text in a picture's file that tells which cells were on it."""
SECONDS: Final = 120

_MAIN: Final = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_RELATION: Final = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_PAGE: Final = {
    "paperSize": "8",  # A3
    "orientation": "portrait",
    "fitToWidth": "1",
    "fitToHeight": "1",
}


@dataclass(frozen=True)
class Picture:
    """A part of a sheet: columns such as A:B and S:Z beside each other, and rows."""

    name: str
    sheet: str
    columns: tuple[str, ...]
    rows: tuple[int, int]
    width: int = WIDEST
    """Of the picture, in pixels."""

    @property
    def file(self) -> str:
        """The name of its file."""
        return f"{self.name}.png"

    def spans(self) -> list[tuple[int, int]]:
        """First and last column of each part, counted from 1."""
        parts = [columns.split(":") for columns in self.columns]
        return [(column_number(first) + 1, column_number(last) + 1) for first, last in parts]

    def area(self) -> str:
        """The rectangle that holds all its parts."""
        first, last = self.columns[0].split(":")[0], self.columns[-1].split(":")[1]
        name = self.sheet.replace("'", "''")
        return f"'{name}'!${first}${self.rows[0]}:${last}${self.rows[1]}"


PICTURES: Final = (
    Picture("home", "Home", ("A:E",), (1, 39), 900),
    Picture("start", "Start", ("A:C",), (1, 31), 900),
    Picture("settings", "Settings", ("A:J",), (1, 83)),
    Picture("shelf_check", "Shelf check", ("A:C",), (1, 34), 560),
    Picture("buying_plan", "Buying plan", ("A:A", "C:I", "K:R"), (1, 21)),
    Picture("comparables", "Comparables", ("A:A", "C:J", "L:M", "O:X"), (1, 30)),
    Picture("sourcing_log", "Sourcing log", ("A:C", "E:G", "J:K", "M:M", "O:O", "R:R", "T:V"), (1, 30)),
    Picture("sourcing_log_results", "Sourcing log", ("A:C", "E:F", "AB:AD", "AF:AG", "AR:AY"), (1, 30)),
    Picture("listing_desk", "Listing desk", ("A:E",), (1, 69), 900),
    Picture("money", "Money", ("A:O",), (1, 21)),
    Picture("money_inventory_and_profit", "Money", ("A:A", "P:AC"), (1, 21)),
    Picture("charts", "Charts", ("A:E",), (1, 12), 720),
    Picture("charts_ahead", "Charts", ("A:E",), (13, 18), 720),
    Picture("pay", "Pay", ("A:F",), (1, 52), 900),
    Picture("partners", "Partners", ("A:F",), (1, 50), 900),
    Picture("year_end", "Year end", ("A:I",), (1, 57), 1_000),
    Picture("checks", "Data checks", ("A:F",), (1, 45), 1_000),
)


class NoPictureError(Exception):
    """A picture cannot be taken: why, in words."""


def make(folder: Path) -> list[Path]:
    """Build the shop's log and take all its pictures.

    Args:
        folder: where they go; ones of the same name are written over.

    Errors:
        NoPictureError: the font or pdftoppm is not there, or a picture is too large.
        NotPrinted: LibreOffice is not there or printed nothing.
    """
    _refuse_other_font()
    with tempfile.TemporaryDirectory(prefix="sheetfns-pictures-") as place:
        log = build_log(Path(place) / FILES[EDITION], EDITION, ROWS, example_inputs())
        return take(log, folder, PICTURES)


def take(log: Path, folder: Path, pictures: Sequence[Picture]) -> list[Path]:
    """Print parts of a log and write each as a PNG file.

    Args:
        log: a log with its results in it.
        folder: where the pictures go.
        pictures: what is to be seen on each.

    Errors:
        NoPictureError: there is no such sheet, a cell shows an error, or a picture is too large.
        NotPrinted: LibreOffice is not there or printed nothing.
    """
    contents = {}
    with tempfile.TemporaryDirectory(prefix="sheetfns-pictures-") as place:
        for number, together in enumerate(_each_sheet_once(pictures)):
            cut = Path(place) / f"cut_{number}.xlsx"
            order = _cut(log, cut, together)
            pdf = print_pdf(cut, Path(place))
            for page, picture in enumerate(order, 1):
                _refuse_errors(pdf, page, picture)
                image = _photo(pdf, page, picture.width)
                contents[picture.file] = _png(image, fingerprint(log, picture))
    for name, content in contents.items():
        if len(content) > LARGEST_BYTES:
            raise NoPictureError(f"{name}: {len(content):,} bytes are too many")
    folder.mkdir(exist_ok=True)
    for name, content in contents.items():
        (folder / name).write_bytes(content)
    return [folder / name for name in contents]


def fingerprint(log: Path, picture: Picture) -> str:
    """What tells one content of the cells in a picture from another.

    Args:
        log: a log with its results in it.
        picture: the part of it.
    """
    with XlsxFile(log) as file:
        file.hidden(picture.sheet)
        rows = file.cells(picture.sheet)[picture.rows[0] - 1 : picture.rows[1]]
    shown = [[_short(cell) for first, last in picture.spans() for cell in row[first - 1 : last]] for row in rows]
    return hashlib.sha256(json.dumps(shown).encode()).hexdigest()


def _short(cell: Any) -> str:
    # The last digits of a float are not to be seen on a picture.
    return f"{cell:.6g}" if isinstance(cell, float) else str(cell)


def _refuse_other_font() -> None:
    program = shutil.which("fc-match")
    if program is None:
        return
    asked = [program, "-f", "%{family}", "Calibri"]
    found = subprocess.run(asked, capture_output=True, text=True, timeout=SECONDS, check=False)  # noqa: S603  (a program found on this machine, no shell)
    if not any(name in found.stdout for name in ("Calibri", "Carlito")):
        raise NoPictureError(
            f"in place of Calibri there is {found.stdout or 'nothing'}, in which texts would be "
            "cut off; install the package fonts-crosextra-carlito"
        )


def _refuse_errors(pdf: Path, page: int, picture: Picture) -> None:
    """Neither a formula's error, nor a number that has no room, may be on a picture."""
    text = _run("pdftotext", "-f", str(page), "-l", str(page), str(pdf), "-").decode()
    found = re.search(r"#[A-Z/0]+[!?A]|Err:\d+|###", text)
    if found:
        raise NoPictureError(f"{picture.sheet}: a cell shows {found[0]}")


def _each_sheet_once(pictures: Sequence[Picture]) -> Iterator[list[Picture]]:
    """Groups in which no sheet is duplicated: a sheet is printed once in a run."""
    rest = list(pictures)
    while rest:
        group = list({picture.sheet: picture for picture in reversed(rest)}.values())
        yield group
        rest = [picture for picture in rest if picture not in group]


def _cut(log: Path, target: Path, pictures: Sequence[Picture]) -> list[Picture]:
    """Copy the log so that it prints these parts only, a page for each; gives their order.

    Args:
        log: a log with its results in it.
        target: the copy.
        pictures: at most one for each sheet.
    """
    by_sheet = {picture.sheet: picture for picture in pictures}
    with zipfile.ZipFile(log) as source, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as copy:
        book = etree.fromstring(source.read("xl/workbook.xml"))
        links = etree.fromstring(source.read("xl/_rels/workbook.xml.rels"))
        files = {link.get("Id"): f"xl/{link.get('Target')}" for link in links}
        sheets = list(book.find(f"{_MAIN}sheets"))
        names = [sheet.get("name") for sheet in sheets]
        unknown = set(by_sheet) - set(names)
        if unknown:
            raise NoPictureError(f"there is no sheet {', '.join(sorted(unknown))}")
        changed = {}
        for sheet in sheets:
            picture = by_sheet.get(sheet.get("name"))
            if picture is None:
                sheet.set("state", "hidden")
                continue
            file = files[sheet.get(_RELATION)]
            root = etree.fromstring(source.read(file))
            _set_page(root)
            _show_columns(root, picture.spans())
            changed[file] = etree.tostring(root)
        defined = book.find(f"{_MAIN}definedNames")
        for name in list(defined):
            if name.get("name", "").startswith("_xlnm.Print"):
                defined.remove(name)
        for place, title in enumerate(names):
            if title in by_sheet:
                area = etree.SubElement(
                    defined, f"{_MAIN}definedName", name="_xlnm.Print_Area", localSheetId=str(place)
                )
                area.text = by_sheet[title].area()
        for view in book.iter(f"{_MAIN}workbookView"):
            # The first sheet may be hidden now.
            view.set("activeTab", str(min(names.index(one) for one in by_sheet)))
        changed["xl/workbook.xml"] = etree.tostring(book)
        for entry in source.infolist():
            copy.writestr(entry.filename, changed.get(entry.filename) or source.read(entry))
    return [by_sheet[name] for name in names if name in by_sheet]


def _set_page(root: Any) -> None:
    """One page, whatever the size, with nothing around the cells."""
    for name in ("headerFooter", "rowBreaks", "colBreaks"):
        for element in root.findall(f"{_MAIN}{name}"):
            root.remove(element)
    page = root.find(f"{_MAIN}pageSetup")
    page.attrib.clear()
    for key, value in _PAGE.items():
        page.set(key, value)
    marks = root.find(f"{_MAIN}sheetPr")
    if marks is None:
        marks = etree.Element(f"{_MAIN}sheetPr")
        root.insert(0, marks)
    fits = marks.find(f"{_MAIN}pageSetUpPr")
    if fits is None:
        fits = etree.SubElement(marks, f"{_MAIN}pageSetUpPr")
    fits.set("fitToPage", "1")


def _show_columns(root: Any, spans: Sequence[tuple[int, int]]) -> None:
    """Hide every column that is in no part."""
    columns = root.find(f"{_MAIN}cols")
    widths = {}
    for element in columns:
        for column in range(int(element.get("min")), int(element.get("max")) + 1):
            widths[column] = dict(element.attrib)
    for element in list(columns):
        columns.remove(element)
    for column in range(1, spans[-1][1] + 1):
        settings = widths.get(column, {"width": "9.140625"})
        if not any(first <= column <= last for first, last in spans):
            settings["hidden"] = "1"
        settings.update(min=str(column), max=str(column))
        etree.SubElement(columns, f"{_MAIN}col", settings)


def _photo(pdf: Path, page: int, width: int) -> Image.Image:
    """A page without its white margins, drawn as wide as is wanted."""
    look = _drawn(pdf, page, LOOK_DPI)
    left, _, right, _ = _filled(look)
    drawn = _drawn(pdf, page, LOOK_DPI * (width - 2 * MARGIN) / (right - left))
    cropped = drawn.crop(_filled(drawn))
    return ImageOps.expand(cropped, MARGIN, "white")


def _filled(image: Image.Image) -> tuple[int, int, int, int]:
    box = ImageChops.invert(image.convert("L")).getbbox()
    if box is None:
        raise NoPictureError("a page is blank")
    return box


def _drawn(pdf: Path, page: int, dpi: float) -> Image.Image:
    numbers = ("-f", str(page), "-l", str(page), "-r", f"{dpi:.3f}")
    return Image.open(io.BytesIO(_run("pdftoppm", *numbers, "-singlefile", str(pdf)))).convert("RGB")


def _run(name: str, *arguments: str) -> bytes:
    program = shutil.which(name)
    if program is None:
        raise NoPictureError(f"{name} is not installed; it is in the package poppler-utils")
    done = subprocess.run(  # noqa: S603  (a program found on this machine, no shell)
        [program, *arguments], capture_output=True, timeout=SECONDS, check=False
    )
    if done.returncode:
        raise NoPictureError(f"{name}: {done.stderr.decode(errors='replace').strip()}")
    return done.stdout


def _png(image: Image.Image, of_cells: str) -> bytes:
    notes = PngInfo()
    notes.add_text(NOTE, of_cells)
    file = io.BytesIO()
    palette = image.quantize(COLORS, dither=Image.Dither.NONE)
    palette.save(file, "PNG", optimize=True, pnginfo=notes)
    return file.getvalue()


if __name__ == "__main__":
    for written in make(FOLDER):
        print(written)
