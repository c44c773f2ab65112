"""Whatever goes wrong while a file is written: the old one stays whole and nothing half is left."""

from __future__ import annotations

import contextlib
import errno
import gc
import os
import re
import resource
import shutil
import signal
import stat
import subprocess
import sys
import tempfile
import textwrap
import warnings
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import xlsxwriter

from sheetfns.errors import LogFileError
from sheetfns.files.safe_files import sole_use
from sheetfns.hosts import engine
from sheetfns.log.edit import merge, merge_finds, pocket
from sheetfns.log.edit.patch import CellEdit, NewSheet, patch, refresh_values
from sheetfns.log.load import load_log
from sheetfns.log.read.content import LogContent
from sheetfns.log.write import build
from tests import ROOT
from tests.log.edit.pocket_copies import LAMP, pocket_of, with_finds
from tests.log.filled_logs import ITEM, build_small_log, full_entries, small_log

EDITS = (CellEdit("Data", 1, 1, 5.0), CellEdit("Data", 4, 2, "typed"))
MORE = NewSheet("More", (("Head",), ("line",)), (20.0,))
POCKET = "build of a pocket copy"


def tiny_workbook(path: Path, stored: float = 999) -> Path:
    """With a chart, and a formula that has an old result."""
    book = xlsxwriter.Workbook(str(path))
    sheet = book.add_worksheet("Data")
    sheet.write_column("A1", [1, 2, 3])
    sheet.write_formula("B1", "=SUM(A1:A3)", None, stored)
    chart = book.add_chart({"type": "line"})
    chart.add_series({"values": "=Data!$A$1:$A$3"})
    sheet.insert_chart("D2", chart)
    book.close()
    return path


# ---- what writes a file --------------------------------------------------------------------------


@dataclass(frozen=True)
class Job:
    """Something that writes `out` in a folder, and what has to stand there before."""

    name: str
    prepare: Callable[[Path], None]
    run: Callable[[Path], Any]
    out: str


@pytest.fixture(scope="module")
def logs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Two copies of a log; the other one has an item more and another name of the shop."""
    folder = tmp_path_factory.mktemp("copies")
    inputs = full_entries()
    mine = small_log(folder / "mine.xlsx", inputs=inputs)
    inputs.rows["Log"].append(ITEM | {"item_no": "P9"})
    inputs.settings["Shop_name"] = "Another name"
    return {"mine": mine, "theirs": small_log(folder / "theirs.xlsx", inputs=inputs)}


@pytest.fixture(scope="module")
def read_before(logs: dict[str, Path]) -> dict[str, LogContent]:
    """What stands in the copies, which each merge would read again."""
    return {path.name: load_log(path) for path in logs.values()}


@pytest.fixture(scope="module")
def calculated() -> dict[str, engine.Recalculated]:
    """What the engine gave for a job, which each of its runs would ask for again."""
    return {}


@pytest.fixture
def job(
    request: pytest.FixtureRequest,
    logs: dict[str, Path],
    read_before: dict[str, LogContent],
    calculated: dict[str, engine.Recalculated],
    monkeypatch: pytest.MonkeyPatch,
) -> Job:
    """A job by its name; the reader and the engine, which write nothing, are asked once."""
    name = request.param
    recalculate = engine.recalculate

    def recalculated_once(path: Path, **how: bool) -> engine.Recalculated:
        if name not in calculated:
            calculated[name] = recalculate(path, **how)
        return calculated[name]

    monkeypatch.setattr(engine, "recalculate", recalculated_once)
    if name.startswith("merge"):
        for module in (merge, merge_finds):
            monkeypatch.setattr(module, "load_log", lambda path: read_before[Path(path).name])
    if name == POCKET:
        monkeypatch.setattr(pocket, "load_log", lambda path: read_before[Path(path).name])
    if name.startswith("build"):
        # The same library writes it, with less in it.
        monkeypatch.setattr(build, "write_workbook", lambda path, *_, **__: tiny_workbook(path, 6))
    return _jobs(logs)[name]


def _jobs(logs: dict[str, Path]) -> dict[str, Job]:
    def tiny(folder: Path) -> None:
        tiny_workbook(folder / "log.xlsx")

    def copies(folder: Path) -> None:
        for path in logs.values():
            shutil.copy2(path, folder / path.name)

    def copies_and_result(folder: Path) -> None:
        copies(folder)
        tiny_workbook(folder / "merged.xlsx")

    def merged(out: str) -> Callable[[Path], Any]:
        return lambda folder: merge.merge_logs(folder / "mine.xlsx", folder / "theirs.xlsx", folder / out)

    def patched(folder: Path) -> Any:
        return patch(folder / "log.xlsx", EDITS, new_sheets=[MORE])

    def patched_to_new(folder: Path) -> Any:
        return patch(folder / "log.xlsx", EDITS, out=folder / "new.xlsx")

    def built(out: str) -> Callable[[Path], Any]:
        return lambda folder: build.build_log(folder / out, rows=5)

    def finds(folder: Path) -> None:
        copies(folder)
        with_finds(pocket_of(folder / "mine.xlsx", folder / "made.xlsx"), folder / "finds.xlsx", LAMP)

    def taken(folder: Path) -> Any:
        return merge_finds.merge_finds(folder / "mine.xlsx", folder / "finds.xlsx")

    def pocket_made(folder: Path) -> Any:
        return pocket.make_pocket(folder / "mine.xlsx", folder / "new.xlsx", mark="TSTM")

    refresh = Job("refresh", tiny, lambda folder: refresh_values(folder / "log.xlsx"), "log.xlsx")
    jobs = (
        Job("patch", tiny, patched, "log.xlsx"),
        Job("patch to another", tiny, patched_to_new, "new.xlsx"),
        refresh,
        Job("build", lambda folder: None, built("new.xlsx"), "new.xlsx"),
        Job("build over another", tiny, built("log.xlsx"), "log.xlsx"),
        Job("merge", copies, merged("merged.xlsx"), "merged.xlsx"),
        Job("merge into the first", copies, merged("mine.xlsx"), "mine.xlsx"),
        Job("merge over another", copies_and_result, merged("merged.xlsx"), "merged.xlsx"),
        Job("merge of a pocket copy", finds, taken, "mine.xlsx"),
        Job(POCKET, copies, pocket_made, "new.xlsx"),
    )
    return {job.name: job for job in jobs}


JOBS = tuple(_jobs({}))
KEEPS_A_COPY = {"patch", "refresh", "merge into the first", "merge over another", "merge of a pocket copy"}


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def is_dated_copy(name: str, out: str) -> bool:
    stem = Path(out).stem
    return re.fullmatch(rf"{stem} \d{{4}}-\d\d-\d\d \d{{6}}( \(\d+\))?\.xlsx", name) is not None


def assert_untouched(folder: Path, before: dict[str, bytes], out: str) -> None:
    """Every file is as it was; a dated copy, if one is left, is whole."""
    after = contents(folder)
    extra = {name: content for name, content in after.items() if name not in before}
    assert {name: after.get(name) for name in before} == before
    assert all(is_dated_copy(name, out) and extra[name] == before[out] for name in extra), set(extra)


# ---- an error at every step ----------------------------------------------------------------------

Strike = Callable[[], None]
"""Told at each call of a step; may raise, or end the process."""


def _before(owner: Any, name: str, mode: str = "") -> Callable[[pytest.MonkeyPatch, Strike], None]:
    def inject(patcher: pytest.MonkeyPatch, strike: Strike) -> None:
        real = getattr(owner, name)

        def wrapped(*args: Any, **named: Any) -> Any:
            if not mode or mode in {*args[2:], named.get("mode")}:
                strike()
            return real(*args, **named)

        patcher.setattr(owner, name, wrapped)

    return inject


def _after(owner: Any, name: str) -> Callable[[pytest.MonkeyPatch, Strike], None]:
    def inject(patcher: pytest.MonkeyPatch, strike: Strike) -> None:
        real = getattr(owner, name)

        def wrapped(*args: Any, **named: Any) -> Any:
            result = real(*args, **named)
            strike()
            return result

        patcher.setattr(owner, name, wrapped)

    return inject


def _half_a_copy(patcher: pytest.MonkeyPatch, strike: Strike) -> None:
    real = shutil.copy2

    def wrapped(source: Path, target: Path, **named: Any) -> Any:
        whole = Path(source).read_bytes()
        Path(target).write_bytes(whole[: len(whole) // 2])
        strike()
        return real(source, target, **named)

    patcher.setattr(shutil, "copy2", wrapped)


STEPS: dict[str, Callable[[pytest.MonkeyPatch, Strike], None]] = {
    "mkstemp": _before(tempfile, "mkstemp"),
    "mkdtemp": _before(tempfile, "mkdtemp"),
    "writestr": _before(zipfile.ZipFile, "writestr"),
    "write": _before(zipfile.ZipFile, "write"),
    "open to write": _before(zipfile.ZipFile, "open", "w"),
    "end of zip": _before(zipfile.ZipFile, "_write_end_record"),
    "fsync": _before(os, "fsync"),
    "chmod": _before(Path, "chmod"),
    "replace": _before(Path, "replace"),
    "half a copy": _half_a_copy,
}
AFTER: dict[str, Callable[[pytest.MonkeyPatch, Strike], None]] = {
    "after mkstemp": _after(tempfile, "mkstemp"),
    "after fsync": _after(os, "fsync"),
    "after replace": _after(Path, "replace"),
}
ERRORS: dict[str, Callable[[], BaseException]] = {
    "full disk": lambda: OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)),
    "no rights": lambda: PermissionError(errno.EACCES, os.strerror(errno.EACCES)),
    "interrupted": KeyboardInterrupt,
}
BUILDS = {"build", "build over another", POCKET}
NOT_IN: dict[str, set[str]] = {
    # What a job does not do, so that there is nothing to fail.
    "mkdtemp": {"refresh"},
    "writestr": BUILDS,
    "write": {*JOBS} - BUILDS,
    "half a copy": {*JOBS} - KEEPS_A_COPY,
}


def strike_at(number: int, error: BaseException) -> Strike:
    calls = 0

    def strike() -> None:
        nonlocal calls
        calls += 1
        if calls == number:
            raise error

    return strike


@pytest.fixture(scope="module")
def counts() -> dict[str, Counter[str]]:
    return {}


def calls_in(job: Job, name: str, folder: Path, counts: dict[str, Counter[str]]) -> Counter[str]:
    """How often each step is taken in a job, counted once."""
    if name not in counts:
        counted: Counter[str] = Counter()
        with pytest.MonkeyPatch.context() as patcher:
            for step, inject in STEPS.items():
                inject(patcher, lambda step=step: counted.update([step]))
            job.run(folder)
        counts[name] = counted
    return counts[name]


def assert_clear(raised: BaseException, cause: OSError) -> None:
    """A message of the project: which file, what is wrong with it, what to do."""
    assert isinstance(raised, LogFileError), repr(raised)
    message = str(raised)
    assert cause.strerror in message
    assert ".xlsx: " in message
    assert re.search(r"(free up space|choose another folder)", message)
    assert not re.search(r"unfinished|Errno|Error\(|draft\.xlsx", message)


@pytest.mark.parametrize("error", ERRORS)
@pytest.mark.parametrize(
    ("job", "step"),
    [
        pytest.param(job, step, id=f"{job}-{step}")
        for job in JOBS
        for step in STEPS
        if job not in NOT_IN.get(step, set())
    ],
    indirect=["job"],
)
def test_an_error_at_each_call(
    job: Job, step: str, error: str, tmp_path: Path, counts: dict[str, Counter[str]]
) -> None:
    folder, apart = tmp_path / "here", tmp_path / "apart"
    for one in (folder, apart):
        one.mkdir()
        job.prepare(one)
    before = contents(folder)
    calls = calls_in(job, job.name, apart, counts)[step]
    assert calls
    for number in _tried(job, calls, error):
        cause = ERRORS[error]()
        with pytest.MonkeyPatch.context() as patcher:
            STEPS[step](patcher, strike_at(number, cause))
            _fails(job, folder, cause)
        if job.name.startswith("build"):
            _collect()
        assert_untouched(folder, before, job.out)
        for name in set(os.listdir(folder)) - set(before):
            (folder / name).unlink()


def _tried(job: Job, calls: int, error: str) -> set[int]:
    """Every call, of the jobs that take longer some."""
    if job.name.startswith("merge"):
        return {1, calls} if error == "full disk" else {calls}
    if job.name.startswith("build"):
        return {1, calls // 2 + 1, calls}
    return {*range(1, calls + 1)}


def _fails(job: Job, folder: Path, cause: BaseException) -> None:
    with pytest.raises((LogFileError, OSError, KeyboardInterrupt)) as raised:
        job.run(folder)
    if isinstance(cause, OSError):
        assert_clear(raised.value, cause)
    else:
        assert raised.value is cause


def _collect() -> None:
    """Let go of the zip that XlsxWriter leaves open when it fails; it goes on to end it."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)
        gc.collect()


@pytest.mark.parametrize("job", JOBS, indirect=True)
def test_without_an_error_it_is_written(job: Job, tmp_path: Path) -> None:
    job.prepare(tmp_path)
    before = contents(tmp_path)
    job.run(tmp_path)
    after = contents(tmp_path)
    assert after[job.out] != before.get(job.out)
    openpyxl.load_workbook(tmp_path / job.out)
    copies = {name for name in after if name not in before} - {job.out}
    assert len(copies) == (job.name in KEEPS_A_COPY)
    assert all(is_dated_copy(name, job.out) and after[name] == before[job.out] for name in copies)


# ---- a full disk, as the system has it -----------------------------------------------------------


@contextlib.contextmanager
def room_for(size: int) -> Iterator[None]:
    """No file can become larger: writing on gives an error, as on a full disk."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


SHARES = (0.0, 0.5, 0.999)


@pytest.mark.parametrize("share", SHARES)
@pytest.mark.parametrize("job", ["patch", "patch to another", "refresh", "build", "merge"], indirect=True)
def test_the_disk_is_full_while_it_is_written(job: Job, share: float, tmp_path: Path) -> None:
    """From the beginning, and once the figures are worked out."""
    apart, folder = tmp_path / "apart", tmp_path / "here"
    for one in (apart, folder):
        one.mkdir()
        job.prepare(one)
    job.run(apart)
    size = int((apart / job.out).stat().st_size * share)
    before = contents(folder)
    with room_for(size), pytest.raises(LogFileError, match=r"\.xlsx: .*; free up space"):
        job.run(folder)
    _collect()
    assert_untouched(folder, before, job.out)
    recalculate = engine.recalculate
    with pytest.MonkeyPatch.context() as patcher, contextlib.ExitStack() as stack:

        def and_now_it_is_full(path: Path, **how: bool) -> engine.Recalculated:
            result = recalculate(path, **how)
            stack.enter_context(room_for(size))
            return result

        patcher.setattr(engine, "recalculate", and_now_it_is_full)
        with pytest.raises(LogFileError, match=r"\.xlsx: cannot be written \(File too large\); free up space"):
            job.run(folder)
    _collect()
    assert_untouched(folder, before, job.out)


def test_the_disk_is_full_while_the_dated_copy_is_written(tmp_path: Path) -> None:
    path, out = tiny_workbook(tmp_path / "log.xlsx"), tmp_path / "out.xlsx"
    out.write_bytes(bytes(1 << 20))
    before = contents(tmp_path)
    with room_for(1 << 19), pytest.raises(LogFileError, match="no backup can be made"):
        patch(path, EDITS, out=out)
    assert contents(tmp_path) == before


def test_a_whole_log_is_built_or_none(tmp_path: Path) -> None:
    """With everything that is in a log, as its own writer meets the full disk."""
    path = tmp_path / "log.xlsx"
    path.write_bytes(b"old")
    with room_for(100_000), pytest.raises(LogFileError, match=r"log\.xlsx: .*; free up space"):
        build_small_log(path)
    _collect()
    assert contents(tmp_path) == {"log.xlsx": b"old"}


# ---- ended in the middle -------------------------------------------------------------------------


def run_and_die(what: str, folder: str, step: str, number: str) -> None:
    """Run in a process of its own, which ends at a call of a step without any cleaning up."""
    calls = 0

    def strike() -> None:
        nonlocal calls
        calls += 1
        if calls == int(number):
            os._exit(9)

    with pytest.MonkeyPatch.context() as patcher:
        (STEPS | AFTER)[step](patcher, strike)
        _jobs({})[what].run(Path(folder))


def python(code: str, *words: object, **more: Any) -> subprocess.Popen[str]:
    apart = Path(more.pop("apart"))
    apart.mkdir(exist_ok=True)
    return subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(code), *map(str, words)],
        env=os.environ | {"PYTHONPATH": str(ROOT), "TMPDIR": str(apart)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        **more,
    )


DIE = """
import sys
from tests.log.edit.test_faults import run_and_die
run_and_die(*sys.argv[1:])
"""
DEATHS = [
    # Job, step, at which call, and how many unfinished files are left.
    ("patch", "mkstemp", 1, 0),
    ("patch", "after mkstemp", 1, 1),
    ("patch", "open to write", 1, 0),
    ("patch", "open to write", 20, 1),
    ("patch", "end of zip", 2, 1),
    ("patch", "after fsync", 1, 1),
    ("patch", "half a copy", 1, 2),
    ("patch", "replace", 1, 2),
    ("patch", "replace", 2, 1),
    ("patch", "after replace", 2, 0),
    ("patch to another", "open to write", 25, 1),
    ("refresh", "chmod", 1, 1),
    ("refresh", "half a copy", 1, 2),
]


@pytest.mark.parametrize(("what", "step", "number", "left_over"), DEATHS)
def test_ended_in_the_middle(what: str, step: str, number: int, left_over: int, tmp_path: Path) -> None:
    folder = tmp_path / "here"
    folder.mkdir()
    job = _jobs({})[what]
    job.prepare(folder)
    before = contents(folder)
    process = python(DIE, what, folder, step, number, apart=tmp_path / "apart")
    _, errors = process.communicate(timeout=60)
    assert process.returncode == 9, errors
    left = contents(folder)
    written = (step, number) == ("after replace", 2)
    if written:
        openpyxl.load_workbook(folder / job.out)
        del left[job.out], before[job.out]
    assert {name: left[name] for name in before} == before
    unfinished = {name for name in left if name.startswith(".unfinished-")}
    others = set(left) - set(before) - unfinished - {f".{job.out}.in-use"}
    assert all(is_dated_copy(name, job.out) for name in others)
    for name in others:
        assert zipfile.ZipFile(folder / name).testzip() is None
    assert len(unfinished) == left_over
    (folder / ".unfinished-log of another-12345678.xlsx").touch()
    job.run(folder)
    hidden = {name for name in os.listdir(folder) if name.startswith(".")}
    assert hidden == {".unfinished-log of another-12345678.xlsx"}
    openpyxl.load_workbook(folder / job.out)


def test_what_a_build_left_is_taken_away_by_the_next_command(tmp_path: Path) -> None:
    path = tiny_workbook(tmp_path / "log.xlsx")
    (tmp_path / ".unfinished-log-a1b2c3d4.xlsx").write_bytes(b"half")
    refresh_values(path)
    assert [name for name in os.listdir(tmp_path) if name.startswith(".")] == []


# ---- files that are in use -----------------------------------------------------------------------


@pytest.mark.parametrize("lock", [".~lock.{}#", "~${}"])
@pytest.mark.parametrize("job", JOBS, indirect=True)
def test_a_file_that_is_open_in_a_program(job: Job, lock: str, tmp_path: Path) -> None:
    job.prepare(tmp_path)
    (tmp_path / lock.format(job.out)).touch()
    before = contents(tmp_path)
    with pytest.raises(LogFileError, match=r"is open in a spreadsheet program; close it there and"):
        job.run(tmp_path)
    assert contents(tmp_path) == before


@pytest.mark.parametrize(
    "job", ["patch", "refresh", "build over another", "merge into the first", "merge over another"], indirect=True
)
def test_a_file_that_is_read_only(job: Job, tmp_path: Path) -> None:
    job.prepare(tmp_path)
    (tmp_path / job.out).chmod(0o444)
    before = contents(tmp_path)
    with pytest.raises(LogFileError, match="is read-only; allow writing to it, or choose another"):
        job.run(tmp_path)
    assert contents(tmp_path) == before
    assert stat.S_IMODE((tmp_path / job.out).stat().st_mode) == 0o444


def test_a_read_only_file_can_be_patched_to_another(tmp_path: Path) -> None:
    path = tiny_workbook(tmp_path / "log.xlsx")
    path.chmod(0o444)
    before = path.read_bytes()
    patch(path, EDITS, out=tmp_path / "new.xlsx")
    assert path.read_bytes() == before
    assert openpyxl.load_workbook(tmp_path / "new.xlsx")["Data"]["B4"].value == "typed"


@pytest.mark.skipif(os.geteuid() == 0, reason="the administrator may write into every folder")
@pytest.mark.parametrize("job", ["patch", "refresh", "build", "merge"], indirect=True)
def test_a_folder_that_is_read_only(job: Job, tmp_path: Path) -> None:
    folder = tmp_path / "here"
    folder.mkdir()
    job.prepare(folder)
    before = contents(folder)
    folder.chmod(0o555)
    try:
        with pytest.raises(LogFileError, match=r"cannot be written .*; choose another folder"):
            job.run(folder)
        assert contents(folder) == before
    finally:
        folder.chmod(0o755)


HOLD = """
import sys, time
from pathlib import Path
from sheetfns.files.safe_files import sole_use
with sole_use(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(100)
"""


@pytest.mark.parametrize("job", ["patch", "refresh", "merge into the first"], indirect=True)
def test_another_run_has_it(job: Job, tmp_path: Path) -> None:
    folder = tmp_path / "here"
    folder.mkdir()
    job.prepare(folder)
    before = contents(folder)
    with python(HOLD, folder / job.out, apart=tmp_path / "apart") as holder:
        try:
            assert holder.stdout is not None
            assert holder.stdout.readline() == "held\n"
            lock = f".{job.out}.in-use"
            with pytest.raises(LogFileError, match="another command is using it; wai"):
                job.run(folder)
            after = contents(folder)
            assert after.pop(lock, b"") == b""
            assert after == before
        finally:
            holder.send_signal(signal.SIGKILL)
            holder.wait(timeout=20)
    job.run(folder)
    assert (folder / job.out).read_bytes() != before[job.out]
    assert [name for name in os.listdir(folder) if name.startswith(".")] == []


PATCH_FIVE = """
import sys, time
from sheetfns.errors import LogFileError
from sheetfns.log.edit.patch import CellEdit, patch
path, column = sys.argv[1], int(sys.argv[2])
sys.stdin.readline()
for row in range(11, 16):
    for attempt in range(2000):
        try:
            patch(path, [CellEdit("Data", row, column, float(row))])
            break
        except LogFileError as error:
            if "another command is using it" not in str(error):
                raise
            time.sleep(0.005)
    else:
        raise SystemExit("never got its turn")
"""


def test_runs_at_the_same_time_lose_nothing(tmp_path: Path) -> None:
    folder = tmp_path / "here"
    folder.mkdir()
    path = tiny_workbook(folder / "log.xlsx")
    runs = [python(PATCH_FIVE, path, column, apart=tmp_path / "apart", stdin=subprocess.PIPE) for column in (1, 2, 3)]
    for run in runs:
        assert run.stdin is not None
        run.stdin.write("go\n")
        run.stdin.flush()
    for run in runs:
        _, errors = run.communicate(timeout=100)
        assert run.returncode == 0, errors
    sheet = openpyxl.load_workbook(path)["Data"]
    typed = {cell.coordinate: cell.value for row in sheet["A11:C15"] for cell in row}
    assert typed == {f"{letter}{row}": row for letter in "ABC" for row in range(11, 16)}
    assert [name for name in os.listdir(folder) if name.startswith(".")] == []
    assert len(list(folder.glob("log 2*.xlsx"))) == 15


def test_many_runs_one_after_the_other_see_the_lock(tmp_path: Path) -> None:
    """The lock of this process counts for this process too, and ends with the block."""
    path = tiny_workbook(tmp_path / "log.xlsx")
    with sole_use(path):
        before = contents(tmp_path)
        with pytest.raises(LogFileError, match="another command is using it"):
            patch(path, EDITS)
        assert contents(tmp_path) == before
        assert patch(path, EDITS, locked=True).copy is not None
    patch(path, [CellEdit("Data", 1, 1, 6.0)])
