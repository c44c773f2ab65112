"""What a person needs to have the functions in xlwings Lite: two short texts, the package, and what to click.

Nothing is installed on the machine: the texts are pasted into the add-in, which fetches the package.
"""

from __future__ import annotations

import base64
import csv
import hashlib
import importlib.metadata
import io
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import sheetfns
from sheetfns.errors import LogFileError
from sheetfns.files.safe_files import atomic_write, make_folder
from sheetfns.programs.findings import Finding

MAIN: Final = "from sheetfns.hosts.excel_lite import *\nfrom sheetfns.programs.lite.scripts import *\n"
"""The add-in's main.py: the functions, then the commands."""
NEEDS: Final = ("numpy>=2", "pandas>=3", "regex>=2024.4.16", "scipy>=1.14")
"""What the functions and the commands need; the add-in has all of it."""
WHEEL: Final = f"sheetfns-{sheetfns.__version__}-py3-none-any.whl"
OWN_PAGE: Final = "https://YOUR-PAGE"
"""Stands for the place of the package until a person puts in the true one."""
CLICKS: Final = (
    (
        "Add-in",
        "In Excel choose Home > Add-ins (in some versions on Insert), search for xlwings, and add xlwings Lite.",
    ),
    ("Workbook", "Open your log, or any workbook, and click xlwings Lite at the right end of Home."),
    ("Package", "In its pane open requirements.txt and add the line of {requirements} below what is there."),
    ("Code", "Open main.py there and put what is in {main} in place of what is there."),
    ("Restart", "Choose Menu > Restart in the pane, and wait until it is ready; the first time takes longest."),
    ("Try", "Enter =NET_PROFIT(25,4,3.5,4.25,0.75,8) in a cell; it shows 12.5."),
    ("Commands", "In a log, choose Check log beside the pane's run button, and click it."),
    ("Save", "Save the workbook: the texts are in it, so whoever opens it needs only the add-in."),
)
_ENDINGS: Final = (".py", ".pyi", ".csv", ".json", ".typed")
_FIRST_DAY: Final = (1980, 1, 1, 0, 0, 0)
"""Of every file in the package, so that it is the same whenever it is made."""


def install(folder: Path, address: str | None = None) -> list[Finding]:
    """Write the two texts to paste, and say what is to be clicked, in order.

    Args:
        folder: where they go; made if it is missing.
        address: where the package can be fetched from. Left out, the package is written into the folder too, and a
            person has to put it on a web page.

    Errors:
        LogFileError: the address is none, the folder cannot be written, or holds other files of these names.
    """
    if address is not None:
        _refuse_address(address)
    texts = {"main.py": MAIN.encode(), "requirements.txt": f"{address or f'{OWN_PAGE}/{WHEEL}'}\n".encode()}
    if address is None:
        texts[WHEEL] = wheel()
    make_folder(folder)
    for name, content in texts.items():
        _write(folder / name, content)
    findings = [Finding("Written", ", ".join(str(folder / name) for name in texts))]
    steps = list(CLICKS)
    if address is None:
        steps.insert(
            0,
            (
                "Web page",
                f"Put {WHEEL} on a web page of yours that lets other pages read it (CORS), and put its address into "
                "requirements.txt in place of what is there.",
            ),
        )
    places = {"main": folder / "main.py", "requirements": folder / "requirements.txt"}
    return findings + [
        Finding(f"{number}. {label}", "", True, words.format(**places))
        for number, (label, words) in enumerate(steps, 1)
    ]


def wheel() -> bytes:
    """The package as a wheel of Python alone, which asks for what the add-in has and for nothing else."""
    info = f"sheetfns-{sheetfns.__version__}.dist-info"
    contents = dict(_package_files())
    needs = "".join(f"Requires-Dist: {one}\n" for one in NEEDS)
    head = f"Metadata-Version: 2.1\nName: sheetfns\nVersion: {sheetfns.__version__}\nLicense: MIT\n"
    contents[f"{info}/METADATA"] = f"{head}Requires-Python: >=3.11\n{needs}".encode()
    contents[f"{info}/WHEEL"] = b"Wheel-Version: 1.0\nGenerator: sheetfns\nRoot-Is-Purelib: true\nTag: py3-none-any\n"
    contents[f"{info}/LICENSE"] = _license()
    record = io.StringIO()
    lines = csv.writer(record, lineterminator="\n")
    for name, content in contents.items():
        mark = base64.urlsafe_b64encode(hashlib.sha256(content).digest()).rstrip(b"=").decode()
        lines.writerow([name, f"sha256={mark}", len(content)])
    lines.writerow([f"{info}/RECORD", "", ""])
    contents[f"{info}/RECORD"] = record.getvalue().encode()
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as file:
        for name, content in contents.items():
            file.writestr(zipfile.ZipInfo(name, _FIRST_DAY), content, zipfile.ZIP_DEFLATED)
    return packed.getvalue()


def _package_files() -> Iterator[tuple[str, bytes]]:
    root = Path(sheetfns.__file__).parent
    for path in sorted(root.rglob("*")):
        if path.is_file() and path.suffix in _ENDINGS and "__pycache__" not in path.parts:
            yield (Path("sheetfns") / path.relative_to(root)).as_posix(), path.read_bytes()


def _license() -> bytes:
    """The license's text, from beside the package or from what was installed with it."""
    beside = Path(sheetfns.__file__).parents[1] / "LICENSE"
    if beside.is_file():
        return beside.read_bytes()
    try:
        installed = importlib.metadata.distribution("sheetfns")
    except importlib.metadata.PackageNotFoundError:
        return b"MIT\n"
    return (installed.read_text("licenses/LICENSE") or installed.read_text("LICENSE") or "MIT\n").encode()


def _refuse_address(address: str) -> None:
    if not address.startswith("https://") or not address.endswith(".whl") or " " in address:
        raise LogFileError(
            f"{address}: is not the address of a package; give one that begins with https:// and ends with .whl"
        )


def _write(path: Path, content: bytes) -> None:
    if path.exists():
        if path.is_file() and path.read_bytes() == content:
            return
        raise LogFileError(f"{path}: already exists with another content; choose another folder")
    with atomic_write(path) as beside:
        beside.write_bytes(content)
