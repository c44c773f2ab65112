"""Putting the add-in in, where something is not as it should be; LibreOffice itself is not run."""

from __future__ import annotations

import sys
import sysconfig
import time
from pathlib import Path

import pytest

from sheetfns.errors import LogFileError
from sheetfns.hosts import libreoffice
from sheetfns.hosts.libreoffice import NotAnsweredError, OfficePython, run_for
from sheetfns.programs.calc import install, names, packed
from sheetfns.programs.calc.install import Office
from sheetfns.programs.wheels import Target, Wheel
from tests.programs.test_wheels import made

HERE = sys.version_info
OWN = OfficePython(sys.executable, HERE[:3])


def office(profile: Path, python: OfficePython = OWN) -> Office:
    return Office("/no/such/soffice", "7.4.7", python, profile)


def refused(monkeypatch: pytest.MonkeyPatch, **found: object) -> str:
    for name, value in found.items():
        monkeypatch.setattr(install, name, lambda *_, value=value: value)
    with pytest.raises(LogFileError) as error:
        install.find_office()
    return str(error.value)


def test_no_libreoffice(monkeypatch: pytest.MonkeyPatch) -> None:
    words = refused(monkeypatch, find_libreoffice=None)
    assert words.startswith("LibreOffice was not found on this computer; install it")


def test_an_old_libreoffice(monkeypatch: pytest.MonkeyPatch) -> None:
    words = refused(monkeypatch, find_libreoffice="soffice", is_boxed=False, version_of="6.4.7")
    assert words == "LibreOffice 6.4.7 is too old; install 7.4 or newer"


def test_no_python(monkeypatch: pytest.MonkeyPatch) -> None:
    words = refused(monkeypatch, find_libreoffice="soffice", is_boxed=False, version_of="7.4.7", find_python=None)
    assert "LibreOffice's Python was not found; install" in words


def test_a_boxed_libreoffice(monkeypatch: pytest.MonkeyPatch) -> None:
    words = refused(monkeypatch, find_libreoffice="/usr/bin/snap")
    assert "a snap or flatpak cannot use the packages" in words


def test_open_program(tmp_path: Path) -> None:
    (tmp_path / ".lock").touch()
    for task in (install.install, install.refuse_if_running):
        with pytest.raises(LogFileError, match="LibreOffice is open; save your files, close"):
            task(office(tmp_path))


def test_nothing_is_started_where_it_is_not_there(tmp_path: Path) -> None:
    assert install.uninstall(office(tmp_path)) is False


def test_this_environment_where_the_version_agrees() -> None:
    package = Path(install.__file__).parents[3]
    paths = install.paths_for(OWN)
    assert paths[0] == package
    assert Path(sysconfig.get_path("purelib")) in paths


def test_a_python_that_is_too_old(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(install, "can_import", lambda *_: "no module numpy")
    with pytest.raises(LogFileError, match=r"the functions need 3\.11 or newer; install a newer LibreOffice"):
        install.paths_for(OfficePython(sys.executable, (3, 8, 10)))


OTHER = OfficePython(sys.executable, (3, HERE.minor + 1, 0))


@pytest.fixture
def filled(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[tuple[Path, Target, str]]:
    """What was made for another Python, which gets one module in place of packages."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "data"))
    made = []

    def fill(folder: Path, target: Target, size: str, step: object) -> None:
        made.append((folder, target, size))
        folder.mkdir(parents=True)
        (folder / "numpy.py").touch()

    monkeypatch.setattr(install, "fill_folder", fill)
    return made


def test_another_python_gets_packages_of_its_own(
    monkeypatch: pytest.MonkeyPatch, filled: list[tuple[Path, Target, str]]
) -> None:
    monkeypatch.setattr(install, "can_import", lambda _, paths: "" if paths else "no module numpy")
    paths = install.paths_for(OTHER)
    ((folder, target, size),) = filled
    assert paths == (folder,) == (install.own_folder(OTHER.minor),)
    assert folder.name == f"libreoffice-python{OTHER.minor}"
    assert (target.minor, size) == (OTHER.minor, "whole")
    assert target.platform == {"win32": "windows", "darwin": "macos"}.get(sys.platform, "linux")


def test_packages_that_another_python_cannot_use_go_again(
    monkeypatch: pytest.MonkeyPatch, filled: list[tuple[Path, Target, str]]
) -> None:
    monkeypatch.setattr(install, "can_import", lambda *_: "ImportError: wrong machine")
    with pytest.raises(LogFileError, match=r"cannot use the packages that were fetched for it \(ImportError: wrong"):
        install.paths_for(OTHER)
    assert not filled[0][0].exists()


def test_packages_for_another_python_that_cannot_be_had(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise LogFileError("There is no wheel of numpy; try another --python")

    monkeypatch.setattr(install, "can_import", lambda *_: "no module numpy")
    monkeypatch.setattr(install, "fill_folder", fail)
    with pytest.raises(LogFileError) as error:
        install.paths_for(OTHER)
    words = str(error.value)
    assert words.startswith(f"LibreOffice's Python is {OTHER.minor}, this environment's is 3.{HERE.minor}, and an ")
    assert "(There is no wheel of numpy; try another --python). Or install Python " in words
    assert f"install Python {OTHER.minor} if it is missing, in the folder of sheetfns delete" in words


def test_a_folder_is_made_whole_or_not_at_all(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    target = install.target_of(OWN)
    folder = tmp_path / "data" / "packages"
    wheel = made(tmp_path / "wheels", "alpha", "py3-none-any")
    monkeypatch.setattr(packed, "fetch", lambda *_: [Wheel("alpha", "1.5", "py3-none-any", "0" * 64, "MIT", wheel)])
    packed.fill_folder(folder, target, "whole")
    (folder / "left_over.py").touch()
    packed.fill_folder(folder, target, "whole")
    there = {path.name for path in folder.iterdir()}
    assert there == {"alpha.py", "alpha-1.5.dist-info", "sheetfns", "packages.txt"}
    assert [path.name for path in folder.parent.iterdir()] == ["packages"]

    def fail(*_: object) -> None:
        raise LogFileError("The package registry cannot be reached")

    monkeypatch.setattr(packed, "fetch", fail)
    with pytest.raises(LogFileError, match="cannot be reached"):
        packed.fill_folder(folder, target, "whole")
    assert {path.name for path in folder.iterdir()} == there
    assert [path.name for path in folder.parent.iterdir()] == ["packages"]


def test_another_python_that_has_what_is_needed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(install, "can_import", lambda *_: "")
    assert install.paths_for(OfficePython(sys.executable, (3, HERE.minor + 1, 0))) == ()


def test_an_environment_that_cannot_be_used(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(install, "can_import", lambda *_: "ImportError: no numpy")
    with pytest.raises(LogFileError, match=r"\(ImportError: no numpy\); in the folder of sheetfns delete"):
        install.paths_for(OWN)


def test_why_a_package_cannot_be_imported(tmp_path: Path) -> None:
    (tmp_path / "numpy.py").write_text("raise ImportError('no numpy for this machine')")
    paths = (tmp_path, *install.paths_for(OWN))
    assert "no numpy for this machine" in install.can_import(OWN, paths)
    assert install.can_import(OWN, install.paths_for(OWN)) == ""
    assert install.can_import(OfficePython("/no/such/python", (3, 11, 0)), ()) != ""
    # A broken library may end the process without a word.
    assert install.can_import(OfficePython("/bin/false", (3, 11, 0)), ()) == "exit code 1"


def profile_with(folder: Path, version: str, paths: str = "/somewhere\n") -> Path:
    """A profile as the program leaves it with an add-in of a version."""
    packages = folder / "user" / "uno_packages" / "cache"
    place = packages / "uno_packages" / "lu1abc.tmp_" / names.EXTENSION_FILE
    place.mkdir(parents=True)
    (packages / "uno_packages.pmap").write_bytes(
        b"Pmp1\xff" + names.IDENTIFIER.encode() + b"\nlu1abc.tmp\xffsheetfns.oxt\xffkind\xff1\xff0\n\n"
    )
    (place / "description.xml").write_text(
        '<description xmlns="http://openoffice.org/extensions/description/2006">'
        f'<version value="{version}"/></description>'
    )
    (place / names.PATHS).write_text(paths)
    return folder


def test_what_is_installed(tmp_path: Path) -> None:
    assert install.installed(tmp_path) is None
    found = install.installed(profile_with(tmp_path, "0.1.0"))
    assert found is not None
    assert (found.version, found.paths) == ("0.1.0", (Path("/somewhere"),))
    assert not found.only_functions
    (found.folder / names.PATHS).write_text(f"{names.PACKAGES}\n")
    (found.folder / names.ONLY_FUNCTIONS).touch()
    again = install.installed(tmp_path)
    assert again is not None
    assert (again.paths, again.only_functions) == ((found.folder / names.PACKAGES,), True)
    (found.folder / "description.xml").write_text("<damaged")
    damaged = install.installed(tmp_path)
    assert damaged is not None
    assert damaged.version == ""


def test_a_program_that_does_not_answer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    quiet = tmp_path / "python"
    quiet.write_text("#!/bin/sh\necho nothing to say\nexit 3\n")
    quiet.chmod(0o755)
    monkeypatch.setattr(install, "paths_for", lambda *_: ())
    with pytest.raises(LogFileError, match=r"did not answer \(nothing to say\)"):
        install.install(office(tmp_path / "profile", OfficePython(str(quiet), (3, 11, 2))))


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ('{"fault": "no room on the disk"}', "LibreOffice refused: no room on the disk"),
        ('{"value": 0, "error": 525, "text": "#NAME?"}', r"shows #NAME\? instead of 12.5"),
        ('{"value": 12.4, "error": 0, "text": "12.4"}', r"shows 12.4 instead of 12.5"),
    ],
)
def test_an_add_in_that_does_not_work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, said: str, words: str) -> None:
    says = tmp_path / "python"
    says.write_text(f"#!/bin/sh\necho '{said}'\n")
    says.chmod(0o755)
    monkeypatch.setattr(install, "paths_for", lambda *_: ())
    with pytest.raises(LogFileError, match=words):
        install.install(office(tmp_path / "profile", OfficePython(str(says), (3, 11, 2))))


# ---- running programs ------------------------------------------------------------------------


def test_what_a_program_leaves_behind_is_not_waited_for() -> None:
    begun = time.monotonic()
    assert run_for(["sh", "-c", "sleep 30 & echo done; exit 3"], 20) == (3, "done")
    assert time.monotonic() - begun < 15


def test_a_program_that_does_not_end_is_ended_with_all_that_it_started(tmp_path: Path) -> None:
    started = tmp_path / "started"
    script = f"sleep 60 & echo $! > {started}; wait"
    with pytest.raises(NotAnsweredError, match="did not finish within 1 seconds"):
        run_for(["sh", "-c", script], 1)
    until = time.monotonic() + 10
    while is_alive(int(started.read_text())) and time.monotonic() < until:
        time.sleep(0.1)
    assert not is_alive(int(started.read_text()))


def is_alive(number: int) -> bool:
    """Whether a process of this number runs; one that only waits to be counted out does not."""
    state = Path(f"/proc/{number}/stat")
    return state.exists() and state.read_text().rpartition(")")[2].split()[0] != "Z"


def test_a_program_that_is_not_there() -> None:
    with pytest.raises(NotAnsweredError, match="cannot be started"):
        run_for(["/no/such/program"], 1)


def test_bytes_that_are_no_text() -> None:
    code, words = run_for(["printf", r"a\377b"], 10)
    assert (code, words) == (0, "a\ufffdb")


@pytest.mark.parametrize(
    ("found", "program"),
    [
        ({"soffice": "/usr/bin/soffice"}, "/usr/bin/soffice"),
        ({"libreoffice": "/usr/bin/libreoffice"}, "/usr/bin/libreoffice"),
        ({}, None),
    ],
)
def test_where_the_program_is(monkeypatch: pytest.MonkeyPatch, found: dict[str, str], program: str | None) -> None:
    monkeypatch.setattr(libreoffice.shutil, "which", found.get)
    monkeypatch.setattr(libreoffice.Path, "glob", lambda *_: iter(()))
    assert libreoffice.find_libreoffice() == program


def test_packages_of_its_makers(monkeypatch: pytest.MonkeyPatch) -> None:
    versions = [Path(f"/opt/libreoffice{one}/program/soffice") for one in ("7.6", "25.2", "24.8")]
    monkeypatch.setattr(libreoffice.shutil, "which", lambda _: None)
    monkeypatch.setattr(libreoffice.Path, "glob", lambda *_: iter(versions))
    assert libreoffice.find_libreoffice() == "/opt/libreoffice25.2/program/soffice"
