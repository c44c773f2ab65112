"""Setting up Excel on Windows: what is there, what is missing, and what to click in which order.

Everything is found by reading files and settings; Excel is not started. Importing the VBA module
into a workbook is in importing.py, which has to start it.
"""

from __future__ import annotations

import importlib
import importlib.metadata
import importlib.util
import os
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from sheetfns.errors import LogFileError
from sheetfns.files.safe_files import atomic_write, make_folder
from sheetfns.programs.excel import vba
from sheetfns.programs.excel.project import module_sources, project_of, xlwings_version
from sheetfns.programs.excel.settings_file import Settings, read_settings, write_settings
from sheetfns.programs.findings import Finding, pip_install, version_numbers

LEAST_PYTHON: Final = (3, 11)
LEAST_XLWINGS: Final = (0, 33)
ADD_IN: Final = "xlwings.xlam"
INTERPRETER: Final = "INTERPRETER_WIN"
BESIDE: Final = "ADD_WORKBOOK_TO_PYTHONPATH"
PATH: Final = "PYTHONPATH"
PLAIN_PYTHONS: Final = ("python", "pythonw")
"""What xlwings takes if no Python is named: the first one on the path."""
_OFFICE_VERSION: Final = "16.0"
"""Of every Excel since 2016."""
ELSEWHERE: Final = (
    "This needs Excel on Windows. In Excel on other systems, and in a browser, use the add-in xlwings Lite: 'sheetfns "
    "install excel --lite FOLDER' says how; or the edition that has the functions as names: 'sheetfns new my_log.xlsx "
    "--edition lambda'. Run the commands of the menu in a terminal, see 'sheetfns --help'."
)
CLICKS: Final = (
    ("Unblock", "If the log was mailed or downloaded: right-click it, choose Properties, check Unblock, OK."),
    ("Enable", "Open the log in Excel; in the yellow bar click Enable Content (Enable Editing first, if asked)."),
    (
        "Trust access",
        "Once on each computer: File > Options > Trust Center > Trust Center Settings > Macro Settings, check 'Trust "
        "access to the VBA project object model', OK. Not needed if you "
        "import by hand.",
    ),
    (
        "Import",
        "Press Alt+F11, choose File > Import File..., and choose {module}; if an older "
        "sheetfns_functions or an xlwings_udfs is listed, first right-click it and choose Remove.",
    ),
    ("Help texts", "Close that window, press Alt+F8, run Describe_functions, and save the log as an .xlsm workbook."),
)


@dataclass(frozen=True)
class Machine:
    """What a machine has that Excel's functions depend on.

    Attributes:
        system: Windows, macOS or Linux.
        python: the program that runs this.
        python_version: its version.
        prefix: the folder of this Python, where xlwings puts its libraries.
        xlwings: the version of xlwings; "" if it is not installed.
        xlwings_folder: where it is.
        with_pywin32: whether Python can talk to Windows' programs.
        home: the user's folder.
        startup_folders: where Excel looks for add-ins.
        excel: the version of Excel; "" if none was found.
        trusts_access: whether programs may import VBA; None if that is not known.
    """

    system: str
    python: Path
    python_version: tuple[int, int, int]
    prefix: Path
    xlwings: str
    xlwings_folder: Path | None
    with_pywin32: bool
    home: Path
    startup_folders: tuple[Path, ...] = ()
    excel: str = ""
    trusts_access: bool | None = None

    @property
    def settings_file(self) -> Path:
        """Where xlwings keeps the user's settings (xlwings.USER_CONFIG_FILE on Windows)."""
        return self.home / ".xlwings" / "xlwings.conf"

    @property
    def module_file(self) -> Path:
        """Where the VBA module is written to."""
        return self.home / "sheetfns" / vba.FILE_NAME

    @property
    def safe_settings(self) -> dict[str, str]:
        """What keeps Python from looking for code beside a workbook that has no such settings of its own.

        Without a path xlwings puts the folder in which Excel is on it (`sheetfns.log.edit.macros.SAFE_SETTINGS`).
        """
        return {BESIDE: "false", PATH: str(self.module_file.parent)}


def installed_xlwings() -> tuple[str, Path | None]:
    """The version of xlwings and its folder; "" and None if it is not installed."""
    found = importlib.util.find_spec("xlwings")
    places = list(found.submodule_search_locations or ()) if found else []
    return (importlib.metadata.version("xlwings"), Path(places[0])) if places else ("", None)


def this_machine() -> Machine:
    """What this machine has."""
    version, folder = installed_xlwings()
    excel, trusts = _from_registry()
    return Machine(
        system={"win32": "Windows", "darwin": "macOS"}.get(sys.platform, "Linux"),
        python=Path(sys.executable),
        python_version=sys.version_info[:3],
        prefix=Path(sys.prefix),
        xlwings=version,
        xlwings_folder=folder,
        with_pywin32=importlib.util.find_spec("win32com") is not None,
        home=Path.home(),
        startup_folders=tuple(_startup_folders(os.environ)),
        excel=excel,
        trusts_access=trusts,
    )


def install(machine: Machine | None = None, may_replace: Callable[[str], bool] = lambda _: False) -> list[Finding]:
    """Write what Excel needs and say what is left to click, in order.

    Args:
        machine: this machine, if left out.
        may_replace: is asked, with a question, before a value that another program has written into
            the settings is replaced.

    Errors:
        LogFileError: a file cannot be written.
    """
    machine = machine or this_machine()
    if machine.system != "Windows":
        return [Finding("System", machine.system, False, ELSEWHERE)]
    findings = list(_programs(machine))
    if all(one.ok for one in findings):
        findings.append(_write_settings(machine, may_replace))
        findings.append(_write_module(machine))
        findings += _add_in(machine)
        findings += clicks(machine)
    return findings


def uninstall(machine: Machine | None = None) -> list[Finding]:
    """Take away what `install` wrote; what others wrote into the settings stays.

    Errors:
        LogFileError: a file cannot be written.
    """
    machine = machine or this_machine()
    if machine.system != "Windows":
        return [Finding("System", machine.system, True, "")]
    findings = []
    module = machine.module_file
    found = "was not installed"
    if module.exists():
        try:
            module.unlink()
        except OSError as error:
            raise LogFileError(f"{module}: cannot be deleted ({error.strerror}); delete it by hand") from error
        found = "deleted"
    findings.append(Finding("VBA module", f"{module} {found}"))
    settings = read_settings(machine.settings_file)
    if settings.trouble:
        findings.append(Finding("Settings", settings.trouble, False, settings.next_step))
    elif settings.value(INTERPRETER) == str(machine.python):
        left = settings.without(INTERPRETER)
        for key, value in machine.safe_settings.items():
            left = left.without(key) if left.value(key) == value else left
        copy = write_settings(left)
        findings.append(Finding("Settings", f"{INTERPRETER} removed; backup: {copy}"))
    else:
        findings.append(Finding("Settings", "nothing of sheetfns in them"))
    findings.append(
        Finding(
            "Workbooks",
            "stay as they are",
            True,
            f"In a workbook that no longer needs the functions: Alt+F11, right-click {vba.MODULE_NAME}, Remove",
        )
    )
    return findings


def look_over(machine: Machine | None = None) -> list[Finding]:
    """What is there and what to do next, without changing anything."""
    machine = machine or this_machine()
    if machine.system != "Windows":
        return [Finding("System", machine.system, False, ELSEWHERE)]
    findings = list(_programs(machine))
    findings.append(_settings(machine))
    findings.append(_module(machine))
    findings += _add_in(machine)
    if machine.trusts_access is False:
        words = dict(CLICKS)["Trust access"]
        findings.append(Finding("Trust access", "is off", True, words))
    return findings


def get_xlwings(machine: Machine) -> str:
    """The command that installs xlwings for a machine's Python."""
    return pip_install(f"xlwings>={'.'.join(map(str, LEAST_XLWINGS))}", machine.python)


def clicks(machine: Machine) -> list[Finding]:
    """What nobody but the user can do, in order."""
    return [
        Finding(f"{number}. {label}", "", True, words.format(module=machine.module_file))
        for number, (label, words) in enumerate(CLICKS, 1)
    ]


def _programs(machine: Machine) -> Iterator[Finding]:
    yield Finding("System", machine.system)
    version = ".".join(map(str, machine.python_version))
    enough = machine.python_version >= LEAST_PYTHON
    words = "" if enough else "Install Python 3.11 or newer, and sheetfns in it"
    yield Finding("Python", f"{version}, {machine.python}", enough, words)
    if machine.excel:
        yield Finding("Excel", machine.excel)
    else:
        yield Finding("Excel", "not found", True, "If Excel is installed, continue anyway")
    if not machine.xlwings:
        yield Finding("xlwings", "not installed", False, f"Run: {get_xlwings(machine)}")
        return
    enough = version_numbers(machine.xlwings) >= LEAST_XLWINGS
    needed = ".".join(map(str, LEAST_XLWINGS))
    words = f"{needed} or newer is needed. Run: {get_xlwings(machine)}"
    yield Finding("xlwings", machine.xlwings, enough, "" if enough else words)
    if not machine.with_pywin32:
        yield Finding("pywin32", "not installed", False, f"Run: {pip_install('pywin32', machine.python)}")
    if enough:
        yield _library(machine)


def _library(machine: Machine) -> Finding:
    names = [f"xlwings{bits}-{machine.xlwings}.dll" for bits in (64, 32)]
    missing = [name for name in names if not (machine.prefix / name).is_file()]
    if missing:
        return Finding(
            "xlwings' libraries",
            f"{', '.join(missing)} not in {machine.prefix}",
            False,
            f"Run: {pip_install(f'xlwings=={machine.xlwings}', machine.python)} --force-reinstall --no-deps",
        )
    return Finding("xlwings' libraries", f"in {machine.prefix}")


def _settings(machine: Machine) -> Finding:
    settings = read_settings(machine.settings_file)
    if settings.trouble:
        return Finding("Settings", settings.trouble, False, settings.next_step)
    value = settings.value(INTERPRETER)
    if value == str(machine.python):
        beside = "" if settings.value(BESIDE) else "; code beside a workbook may run, unless the workbook forbids it"
        return Finding("Settings", f"{INTERPRETER} is this Python{beside}")
    found = f"{INTERPRETER} is {value or 'not set'}"
    return Finding("Settings", found, False, "Run: sheetfns install excel")


def _write_settings(machine: Machine, may_replace: Callable[[str], bool]) -> Finding:
    settings = read_settings(machine.settings_file)
    if settings.trouble:
        return Finding("Settings", settings.trouble, False, settings.next_step)
    own = str(machine.python)
    value = settings.value(INTERPRETER)
    if value and value != own and value.lower() not in PLAIN_PYTHONS:
        question = f"{settings.path} names another Python, {value}, which other workbooks may use. Change it to {own}?"
        if not may_replace(question):
            return Finding(
                "Settings",
                f"{INTERPRETER} is still {value}",
                False,
                f"Install sheetfns in that Python; or add a row Interpreter_Win, {own}, on sheet "
                "xlwings.conf of your log",
            )
    wanted = settings if value == own else settings.with_value(INTERPRETER, own)
    wanted = _folders_kept_off(wanted, machine, may_replace)
    if wanted == settings:
        return Finding("Settings", f"{INTERPRETER} is this Python already")
    copy = write_settings(wanted)
    kept = f"; backup: {copy.name}" if copy else ""
    return Finding("Settings", f"{INTERPRETER} is this Python, in {settings.path}{kept}")


def _folders_kept_off(settings: Settings, machine: Machine, may_replace: Callable[[str], bool]) -> Settings:
    """The settings with those that keep the folders of workbooks off Python's path, as far as there are none."""
    missing = {key: value for key, value in machine.safe_settings.items() if not settings.value(key)}
    others = [key for key, _ in settings.pairs if key.upper() not in {INTERPRETER, *machine.safe_settings}]
    others += [PATH] if settings.value(PATH) and PATH not in missing else []
    question = (
        f"{settings.path} has settings of other workbooks. Keep Python from looking for code beside any workbook? Then "
        f"one with code beside it needs a row {BESIDE}, TRUE on its sheet xlwings.conf."
    )
    if not missing or (others and not may_replace(question)):
        return settings
    for key, value in missing.items():
        settings = settings.with_value(key, value)
    return settings


def _write_module(machine: Machine) -> Finding:
    path, content = machine.module_file, vba.file_content()
    if path.is_file() and path.read_bytes() == content:
        return Finding("VBA module", f"{path} is up to date")
    make_folder(path.parent)
    with atomic_write(path) as beside:
        beside.write_bytes(content)
    return Finding("VBA module", f"written to {path}")


def _module(machine: Machine) -> Finding:
    path = machine.module_file
    if not path.is_file():
        return Finding("VBA module", "not written yet", False, "Run: sheetfns install excel")
    if path.read_bytes() != vba.file_content():
        words = "Run: sheetfns install excel, and import it into your log again"
        return Finding("VBA module", f"{path} is a different version", False, words)
    return Finding("VBA module", str(path))


def _add_in(machine: Machine) -> Iterator[Finding]:
    """The add-in is not needed for an .xlsm log; one of another version does harm."""
    places = [folder / ADD_IN for folder in machine.startup_folders]
    found = [place for place in places if place.is_file()]
    if not found:
        yield Finding("xlwings' add-in", "not installed; a log that ends in .xlsm needs none")
    for place in found:
        try:
            project = project_of(place)
            version = xlwings_version(module_sources(project)) if project else ""
        except LogFileError as error:
            yield Finding("xlwings' add-in", str(error), False, "Run: xlwings addin install")
            continue
        if version == machine.xlwings:
            yield Finding("xlwings' add-in", f"{version}, {place}")
        else:
            yield Finding(
                "xlwings' add-in",
                f"{version or 'no version'}, {place}; installed is {machine.xlwings or 'none'}",
                False,
                "Quit Excel and run: xlwings addin install",
            )


def _startup_folders(environment: Any) -> Iterator[Path]:
    """Where Excel looks for add-ins: the user's folder, then that of the program.

    These are the places that `xlwings addin install` writes to; Excel gives them as StartupPath
    and Path (xlwings.cli, get_addin_dir). The folders of the program are from memory.
    """
    if "APPDATA" in environment:
        yield Path(environment["APPDATA"]) / "Microsoft" / "Excel" / "XLSTART"
    for name in ("PROGRAMFILES", "PROGRAMFILES(X86)"):
        if name in environment:
            office = Path(environment[name]) / "Microsoft Office"
            yield office / "root" / "Office16" / "XLSTART"
            yield office / "Office16" / "XLSTART"


def _from_registry() -> tuple[str, bool | None]:
    """Excel's version, and whether programs may import VBA. The keys are from memory."""
    if not sys.platform.startswith("win"):
        return "", None
    registry = importlib.import_module("winreg")
    try:
        excel = registry.QueryValue(registry.HKEY_CLASSES_ROOT, r"Excel.Application\CurVer")
    except OSError:
        return "", None
    place = rf"Software\Microsoft\Office\{_OFFICE_VERSION}\Excel\Security"
    try:
        with registry.OpenKey(registry.HKEY_CURRENT_USER, place) as key:
            trusts = registry.QueryValueEx(key, "AccessVBOM")[0] == 1
    except OSError:
        trusts = False  # it is off until somebody turns it on
    return str(excel).removeprefix("Excel.Application."), trusts
