"""LibreOffice without a window: each run has a profile of its own that is thrown away after it."""

from __future__ import annotations

import functools
import json
import shutil
import tempfile
from pathlib import Path

from sheetfns.hosts.libreoffice import (
    START_AGAIN,
    STARTS,
    NotAnsweredError,
    find_libreoffice,
    find_python,
    run_for,
    version_of,
)

TIMEOUT = 180


class LibreOfficeError(Exception):
    """soffice did not give what it was asked for."""


def find_soffice() -> str | None:
    """The program's path, or None where LibreOffice is not installed."""
    return find_libreoffice()


def recalculate(source: Path, out_dir: Path, timeout: float = TIMEOUT) -> Path:
    """Load an .xlsx, calculate every cell anew, and save it under the same name in `out_dir`."""
    return _convert(source, out_dir, "xlsx", timeout)


def print_pdf(source: Path, out_dir: Path, timeout: float = TIMEOUT) -> Path:
    """Load a workbook, calculate every cell anew, and print all its sheets into one PDF."""
    return _convert(source, out_dir, "pdf", timeout)


def save_as_ods(sources: list[Path], out_dir: Path, timeout: float = TIMEOUT) -> list[Path]:
    """Load workbooks as they are, with no cell calculated anew, and save them all as .ods."""
    paths = [str(path.resolve()) for path in sources]
    made = [out_dir.resolve() / f"{path.stem}.ods" for path in sources]
    arguments = ["--convert-to", "ods", "--outdir", str(out_dir.resolve()), *paths]
    words = _run(arguments, timeout, recalculates=False)
    missing = [path.name for path in made if not path.is_file()]
    if missing:
        raise LibreOfficeError(f"soffice made no {', '.join(missing)}: {words}")
    return made


def type_into(source: Path, target: Path, inputs: list[tuple[str, str, object]], timeout: float = TIMEOUT) -> Path:
    """Type values into cells of an open workbook, one after the other, and save it as .xlsx.

    Args:
        inputs: sheet, cell such as B7, and number or text.
    """
    code, words = _driven("typing_in_libreoffice.py", (source, target), inputs, timeout)
    if code or not target.is_file():
        raise LibreOfficeError(f"nothing was saved ({code}): {words}")
    return target


def hands_on(
    source: Path,
    folder: Path,
    habits: dict[str, list[list[object]]],
    profile: Path | None = None,
    timeout: float = 4 * TIMEOUT,
    *,
    keys: bool = False,
) -> str:
    """Do each list of steps in an open workbook of its own, and save it as FOLDER/NAME.xlsx.

    Args:
        profile: the program's, with what is installed there; it stays as it is.
        keys: the steps are keys pressed in a window (Xvfb, xdotool), and not what a program does on them.

    Returns:
        a line of JSON: what the log said of itself after each.
    """
    if keys and not (shutil.which("Xvfb") and shutil.which("xdotool")):
        raise LibreOfficeError("the packages xvfb and xdotool are not installed; keys need a screen")
    script = f"programs/{'keys' if keys else 'hands'}_in_libreoffice.py"
    code, words = _driven(script, (source, folder), habits, timeout, profile)
    if code:
        raise LibreOfficeError(f"the hands stopped ({code}): {words}")
    return words.strip().splitlines()[-1]


def edits_timed(source: Path, columns: dict[str, object], timeout: float = 5 * TIMEOUT) -> dict[str, float]:
    """Seconds of an edit in each of these columns of sheet Sourcing log, of reading, and of calculating everything."""
    code, words = _driven("benchmarks/editing_in_libreoffice.py", (source,), columns, timeout)
    if code:
        raise LibreOfficeError(f"the edits stopped ({code}): {words}")
    times: dict[str, float] = json.loads(words.strip().splitlines()[-1])
    return times


def _driven(
    script: str, paths: tuple[Path, ...], tasks: object, timeout: float, profile: Path | None = None
) -> tuple[int, str]:
    """Run one of our scripts by a Python that has uno, with tasks for it as JSON; its exit code and words."""
    soffice, python = find_soffice(), find_python_with_uno()
    if soffice is None or python is None:
        raise LibreOfficeError("soffice, or its Python (package python3-uno), is not installed")
    with tempfile.TemporaryDirectory(prefix="sheetfns-profile-", ignore_cleanup_errors=True) as place:
        if profile is None:
            _write_profile(Path(place), _version(soffice))
        else:
            shutil.copytree(profile, place, dirs_exist_ok=True)
        listed = Path(place) / "tasks.json"
        listed.write_text(json.dumps(tasks), encoding="utf-8")
        uris = [path.resolve().as_uri() for path in (Path(place), *paths)]
        return _run_once([python, str(Path(__file__).parent / script), soffice, *uris, str(listed)], timeout)


@functools.cache
def find_python_with_uno() -> str | None:
    """A Python that can talk to LibreOffice: the system's, or the program's own."""
    soffice = find_soffice()
    python = find_python(soffice) if soffice else None
    return python.program if python else None


def _convert(source: Path, out_dir: Path, file_type: str, timeout: float) -> Path:
    source, out_dir = source.resolve(), out_dir.resolve()
    if not source.is_file():
        raise LibreOfficeError(f"there is no file {source}")
    made = out_dir / f"{source.stem}.{file_type}"
    if made == source:
        raise LibreOfficeError("out_dir is where the source is; it would be written over")
    out_dir.mkdir(parents=True, exist_ok=True)
    made.unlink(missing_ok=True)
    words = _run(["--convert-to", file_type, "--outdir", str(out_dir), str(source)], timeout)
    if not made.is_file():
        raise LibreOfficeError(f"soffice made no {made.name}: {words}")
    return made


def _run(arguments: list[str], timeout: float, *, recalculates: bool = True) -> str:
    soffice = find_soffice()
    if soffice is None:
        raise LibreOfficeError("soffice is not installed")
    with tempfile.TemporaryDirectory(prefix="sheetfns-profile-", ignore_cleanup_errors=True) as place:
        _write_profile(Path(place), _version(soffice), recalculates=recalculates)
        command = [
            soffice,
            f"-env:UserInstallation={Path(place).as_uri()}",
            "--headless",
            "--norestore",
            "--nologo",
            "--nolockcheck",
            *arguments,
        ]
        for _ in range(STARTS):
            code, words = _run_once(command, timeout)
            if code != START_AGAIN:
                break
    if code:
        raise LibreOfficeError(f"soffice ended with code {code}: {words}")
    return words


def _run_once(command: list[str], timeout: float) -> tuple[int, str]:
    try:
        return run_for(command, timeout)
    except NotAnsweredError as error:
        raise LibreOfficeError(f"soffice was ended after {timeout:g} seconds ({error})") from error


@functools.cache
def _version(soffice: str) -> str:
    return ".".join(version_of(soffice).split(".")[:2])


def _write_profile(place: Path, version: str, *, recalculates: bool = True) -> None:
    # 0 is "always": a saved .xlsx keeps its old values otherwise, and shows no error; 1 "never".
    mode = "0" if recalculates else "1"
    settings = [
        ("/org.openoffice.Office.Calc/Formula/Load", "OOXMLRecalcMode", mode),
        ("/org.openoffice.Office.Calc/Formula/Load", "ODFRecalcMode", mode),
        # Without it each fresh profile costs half a second of first-start work.
        ("/org.openoffice.Setup/Product", "ooSetupLastVersion", version),
        ("/org.openoffice.Office.Common/Misc", "FirstRun", "false"),
    ]
    items = "".join(
        f'<item oor:path="{path}"><prop oor:name="{name}" oor:op="fuse"><value>{value}</value></prop></item>\n'
        for path, name, value in settings
        if value
    )
    user = place / "user"
    user.mkdir()
    (user / "registrymodifications.xcu").write_text(
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<oor:items xmlns:oor="http://openoffice.org/2001/registry"'
        ' xmlns:xs="http://www.w3.org/2001/XMLSchema"'
        ' xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">\n'
        f"{items}</oor:items>\n",
        encoding="utf-8",
    )
