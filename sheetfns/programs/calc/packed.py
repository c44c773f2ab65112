"""The add-in with all that it needs, as one file to double-click; and the same packages as a folder."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

import sheetfns
from sheetfns.errors import LogFileError
from sheetfns.extras import BASE, LOG, Package
from sheetfns.files.safe_files import atomic_write, make_folder
from sheetfns.programs.calc import names
from sheetfns.programs.calc.extension import package_version, write_extension
from sheetfns.programs.wheels import Target, Wheel, contents, fetch, listing

SIZES: Final[dict[str, tuple[Package, ...]]] = {"functions": BASE, "whole": (*BASE, *LOG)}
"""What each size brings; the menu's commands need all of the log's packages, and none of a terminal's."""
_PLATFORMS: Final = {"linux": "linux", "windows": "windows", "macos": "macosx"}
_LONGEST_PATH: Final = 140
"""Windows takes 260 characters, of which the folder of the account's add-ins takes up to 120."""


def file_name(target: Target, size: str) -> str:
    """What the file is called if nobody says otherwise."""
    return f"sheetfns-{package_version()}-{size}-{target.platform}-{target.architecture}-python{target.minor}.oxt"


def write_packed(path: Path, target: Target, size: str, step: Callable[[str], None] = lambda _: None) -> list[Wheel]:
    """Write the add-in with this package and the packages that it needs.

    Args:
        path: the new file.
        target: the LibreOffice that it is for.
        size: `functions` or `whole`.
        step: is told what is being done, three times.

    Returns:
        the wheels that are in it.

    Errors:
        LogFileError: the file is there, cannot be written, or the packages cannot be had.
    """
    if path.suffix.lower() != ".oxt":
        raise LogFileError(f"{path}: give the file a name that ends in .oxt")
    if path.exists():
        raise LogFileError(f"{path}: already exists; choose another name with --out")
    with tempfile.TemporaryDirectory(prefix="sheetfns-", ignore_cleanup_errors=True) as folder:
        wheels = fetch(target, SIZES[size], Path(folder), step)
        step("Packing")
        inside = {f"{names.PACKAGES}/{place}": content for place, content in own_files()}
        for wheel in wheels:
            for place, content in contents(wheel):
                _put(inside, f"{names.PACKAGES}/{place}", content, wheel)
        too_long = [place for place in inside if len(place) > _LONGEST_PATH and target.platform == "windows"]
        if too_long:
            raise LogFileError(f"{too_long[0]}: the path is too long for Windows; nothing was made")
        inside[names.LISTING] = (_head(size) + listing(target, wheels)).encode()
        inside[names.ADVICE] = (
            f"This extension is for {target}; if LibreOffice has another Python, install the one that is made for it."
        ).encode()
        if size == "functions":
            inside[names.ONLY_FUNCTIONS] = (
                f"needs the whole extension, and this one has the functions only: install {file_name(target, 'whole')} "
                "in its place."
            ).encode()
        architecture = {"arm64": "aarch64"}.get(target.architecture, target.architecture)
        with atomic_write(path) as beside:
            write_extension(
                beside, [Path(names.PACKAGES)], platform=f"{_PLATFORMS[target.platform]}_{architecture}", more=inside
            )
    return wheels


def fill_folder(folder: Path, target: Target, size: str, step: Callable[[str], None] = lambda _: None) -> list[Wheel]:
    """Make a folder of this package and the packages that it needs; an older one goes once the new one is whole.

    Args:
        folder: the folder.
        target: the LibreOffice that it is for.
        size: `functions` or `whole`.
        step: is told what is being done, three times.

    Errors:
        LogFileError: the packages cannot be had, or the folder cannot be written.
    """
    make_folder(folder.parent)
    try:
        with tempfile.TemporaryDirectory(prefix=f".{folder.name}-", dir=folder.parent) as beside:
            wheels = fetch(target, SIZES[size], Path(beside), step)
            step("Unpacking")
            draft = Path(beside) / "packages"
            written: dict[str, bytes] = dict(own_files())
            for wheel in wheels:
                for place, content in contents(wheel):
                    _put(written, place, content, wheel)
            written[names.LISTING] = (_head(size) + listing(target, wheels)).encode()
            for place, content in written.items():
                file = draft / place
                file.parent.mkdir(parents=True, exist_ok=True)
                file.write_bytes(content)
            old = Path(beside) / "old"
            if folder.exists():
                folder.rename(old)
            draft.rename(folder)
    except OSError as error:
        raise LogFileError(
            f"{folder}: cannot be written ({error.strerror or error}); free up space or allow writing there, then run "
            "this again"
        ) from error
    return wheels


def remove_folder(folder: Path) -> None:
    """Take a folder of packages away, if it is there."""
    shutil.rmtree(folder, ignore_errors=True)


def own_files() -> Iterator[tuple[str, bytes]]:
    """The files of this package: path with /, and content."""
    package = Path(sheetfns.__file__).parent
    for file in sorted(package.rglob("*")):
        if file.is_file() and "__pycache__" not in file.parts:
            yield f"sheetfns/{file.relative_to(package).as_posix()}", file.read_bytes()


def _put(inside: dict[str, bytes], place: str, content: bytes, wheel: Wheel) -> None:
    if inside.setdefault(place, content) != content:
        raise LogFileError(f"{wheel.file.name}: {place} is in another package too; nothing was made")


def _head(size: str) -> str:
    what = "functions" if size == "functions" else "functions and all commands of the menu"
    return f"sheetfns {package_version()}, MIT license: {what}.\n\n"
