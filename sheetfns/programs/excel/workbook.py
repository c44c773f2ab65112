"""Looking over a workbook with macros: whether it fits what is installed on this machine."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from sheetfns.programs.excel import vba
from sheetfns.programs.excel.project import module_sources, project_of, xlwings_version
from sheetfns.programs.excel.setup import CLICKS, Machine, this_machine
from sheetfns.programs.findings import Finding, pip_install


def look_over_workbook(path: Path, machine: Machine | None = None) -> list[Finding]:
    """Whether a workbook with macros fits what is installed.

    Errors:
        LogFileError: the file cannot be read, or its macros are damaged.
    """
    machine = machine or this_machine()
    findings = []
    # Windows marks what came from elsewhere in a stream beside the file's own.
    if Path(f"{path}:Zone.Identifier").exists():
        findings.append(Finding("Blocked", f"{path.name} came from another computer", False, CLICKS[0][1]))
    project = project_of(path)
    if project is None:
        words = "Make one with macros: sheetfns new my_log.xlsm --edition functions"
        return [*findings, Finding("Macros", f"{path.name} has none", False, words)]
    sources = module_sources(project)
    held = xlwings_version(sources)
    if held and machine.xlwings and held != machine.xlwings:
        findings.append(
            Finding(
                "xlwings in the workbook",
                f"{held}, installed is {machine.xlwings}",
                False,
                f"Run: {pip_install(f'xlwings=={held}', machine.python)}; or make a new log: sheetfns upgrade old.xlsm "
                "--out my_log.xlsm",
            )
        )
    elif held:
        findings.append(Finding("xlwings in the workbook", held))
    else:
        findings.append(
            Finding(
                "xlwings in the workbook",
                "not in it, so it needs the add-in",
                True,
                "If functions show #NAME?: Alt+F11, Tools > References, tick xlwings",
            )
        )
    return [*findings, *_modules_of(sources, machine)]


def _modules_of(sources: dict[str, str], machine: Machine) -> Iterator[Finding]:
    by_hand = dict(CLICKS)["Import"].format(module=machine.module_file)
    ours = [name for name, text in sources.items() if vba.VERSION_LINE in text]
    if not ours:
        yield Finding("Functions", "not imported yet", False, by_hand)
    elif vba.version_line() not in sources[ours[0]]:
        yield Finding("Functions", f"{ours[0]} is a different version", False, by_hand)
    else:
        yield Finding("Functions", f"{ours[0]} is imported")
    twice = [name for name in sources if name == "xlwings_udfs" and ours]
    twice = [name for name in twice if "Function " in sources[name]] + ours[1:]
    if twice:
        words = f"Alt+F11, right-click {twice[0]}, Remove"
        yield Finding("Functions twice", f"in {', '.join([ours[0], *twice])}", False, words)
