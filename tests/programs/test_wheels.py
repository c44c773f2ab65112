"""Wheels for another Python or system: fetched by pip from a folder of made-up ones, checked, unpacked."""

from __future__ import annotations

import hashlib
import os
import zipfile
from pathlib import Path

import pytest

from sheetfns.errors import LogFileError
from sheetfns.extras import Package
from sheetfns.programs import wheels
from sheetfns.programs.wheels import Target, Wheel, architecture_of, checked, contents, fetch, listing, this_platform

LINUX = Target("linux", "x86_64", "3.12")
WINDOWS = Target("windows", "x86_64", "3.12")


def made(folder: Path, name: str, tag: str, needs: tuple[str, ...] = (), more: dict[str, str] | None = None) -> Path:
    """A wheel of version 1.5 with one module."""
    folder.mkdir(exist_ok=True)
    path = folder / f"{name}-1.5-{tag}.whl"
    about = [f"Name: {name}", "Version: 1.5", *(f"Requires-Dist: {one}" for one in needs)]
    files = {
        f"{name}.py": f"# {tag}",
        f"{name}-1.5.dist-info/METADATA": "\n".join(["Metadata-Version: 2.1", *about, "License: MIT", "", ""]),
        f"{name}-1.5.dist-info/WHEEL": f"Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: {tag}\n",
        f"{name}-1.5.dist-info/RECORD": "",
        **(more or {}),
    }
    with zipfile.ZipFile(path, "w") as file:
        for place, content in files.items():
            file.writestr(place, content)
    return path


@pytest.fixture
def shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of wheels that pip takes for the registry."""
    for name in [one for one in os.environ if one.startswith("PIP_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("PIP_CONFIG_FILE", os.devnull)
    monkeypatch.setenv("PIP_NO_INDEX", "1")
    monkeypatch.setenv("PIP_FIND_LINKS", str(tmp_path / "shelf"))
    needs = ("beta>=1", "gamma; sys_platform == 'win32'", "delta; extra == 'more'")
    for tag in ("cp312-cp312-manylinux_2_17_x86_64", "cp312-cp312-win_amd64", "cp311-cp311-manylinux_2_17_x86_64"):
        made(tmp_path / "shelf", "alpha", tag, needs)
    made(tmp_path / "shelf", "beta", "py3-none-any", ("alpha<9",))
    made(tmp_path / "shelf", "gamma", "py3-none-any")
    made(tmp_path / "shelf", "late", "cp312-cp312-manylinux_2_39_x86_64")
    made(tmp_path / "shelf", "narrow", "py3-none-any", ("beta<1.5",))
    return tmp_path / "shelf"


def fetched(target: Target, folder: Path, *names: str) -> list[Wheel]:
    folder.mkdir()
    return fetch(target, [Package(name, ">=1", name) for name in names], folder)


@pytest.mark.parametrize(
    ("target", "files"),
    [
        (LINUX, ["alpha-1.5-cp312-cp312-manylinux_2_17_x86_64.whl", "beta-1.5-py3-none-any.whl"]),
        (WINDOWS, ["alpha-1.5-cp312-cp312-win_amd64.whl", "beta-1.5-py3-none-any.whl", "gamma-1.5-py3-none-any.whl"]),
    ],
    ids=["linux", "windows"],
)
def test_what_fits_is_fetched_with_all_that_it_needs_there(
    shelf: Path, tmp_path: Path, target: Target, files: list[str]
) -> None:
    found = fetched(target, tmp_path / "work", "alpha")
    assert [one.file.name for one in found] == files
    for one in found:
        assert one.sha256 == hashlib.sha256((shelf / one.file.name).read_bytes()).hexdigest()
        assert (one.version, one.license) == ("1.5", "MIT")
        assert f"{one.name}  " in listing(target, found)
        assert f"{one.tag} " in listing(target, found)
        assert one.sha256 in listing(target, found)


@pytest.mark.parametrize(
    ("target", "name", "words"),
    [
        (LINUX, "late", "There is no wheel of late>=1 for Python 3.12 on Linux (x86_64); try another --python"),
        (Target("macos", "arm64", "3.12"), "alpha", "There is no wheel of alpha>=1 for Python 3.12 on macOS (arm64); "),
        (Target("linux", "x86_64", "3.13"), "alpha", "There is no wheel of alpha>=1 for Python 3.13 on Linux "),
    ],
)
def test_no_wheel(shelf: Path, tmp_path: Path, target: Target, name: str, words: str) -> None:
    with pytest.raises(LogFileError) as error:
        fetched(target, tmp_path / "work", name)
    assert str(error.value).startswith(words)


def test_packages_that_do_not_go_together(shelf: Path, tmp_path: Path) -> None:
    with pytest.raises(LogFileError, match=r"beta: 1\.5 was chosen, but another package needs <1\.5"):
        fetched(LINUX, tmp_path / "work", "narrow", "beta")


def test_no_network(shelf: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("PIP_NO_INDEX")
    monkeypatch.delenv("PIP_FIND_LINKS")
    # Nobody listens there.
    monkeypatch.setenv("PIP_INDEX_URL", "http://127.0.0.1:9/simple")
    with pytest.raises(LogFileError, match=r"^The package registry cannot be reached; check the network and run this"):
        fetched(LINUX, tmp_path / "work", "alpha")


def test_no_pip(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    without = tmp_path / "python"
    without.write_text("#!/bin/sh\necho '/a/python: No module named pip' >&2\nexit 1\n")
    without.chmod(0o755)
    monkeypatch.setattr(wheels.sys, "executable", str(without))
    with pytest.raises(LogFileError, match=r"This environment has no pip; run: .* -m ensurepip"):
        fetched(LINUX, tmp_path / "work", "alpha")


def test_a_wheel_whose_tag_does_not_fit_is_refused(tmp_path: Path) -> None:
    wheel = made(tmp_path, "alpha", "cp312-cp312-win_amd64")
    stated = {"alpha": hashlib.sha256(wheel.read_bytes()).hexdigest()}
    assert checked(WINDOWS, wheel, stated).tag == "cp312-cp312-win_amd64"
    for target in (LINUX, Target("windows", "x86_64", "3.11"), Target("macos", "x86_64", "3.12")):
        with pytest.raises(LogFileError, match=r"alpha-1\.5-cp312-cp312-win_amd64\.whl: does not fit Python 3\.1"):
            checked(target, wheel, stated)
    with pytest.raises(LogFileError, match="is not a wheel"):
        checked(LINUX, tmp_path / "alpha-1.5.tar.gz", stated)


def test_a_wheel_that_is_not_the_registrys_is_refused(tmp_path: Path) -> None:
    wheel = made(tmp_path, "beta", "py3-none-any")
    stated = {"beta": hashlib.sha256(wheel.read_bytes()).hexdigest()}
    checked(LINUX, wheel, stated)
    wheel.write_bytes(wheel.read_bytes() + b"\0")
    for known in (stated, {}):
        with pytest.raises(
            LogFileError, match=r"beta-1\.5-py3-none-any\.whl: is not the file that the registry states"
        ):
            checked(LINUX, wheel, known)


def test_a_file_that_was_changed_on_the_way_is_refused(
    shelf: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """pip's own words are read too, as it compares first."""
    real = wheels._stated

    def other(*given: object) -> object:
        found = real(*given)  # type: ignore[arg-type]
        return {name: wheels._Stated(one.version, "0" * 64) for name, one in found.items()}

    monkeypatch.setattr(wheels, "_stated", other)
    with pytest.raises(LogFileError, match=r"^A package is not the file that the registry states; nothing was made"):
        fetched(LINUX, tmp_path / "work", "beta")


@pytest.mark.parametrize("place", ["../outside.py", "/outside.py", "a/../../outside.py", "..\\outside.py", "C:/a.py"])
def test_nothing_leads_out_of_the_folder(tmp_path: Path, place: str) -> None:
    file = made(tmp_path, "beta", "py3-none-any", more={place: "x"})
    with pytest.raises(LogFileError, match=r"leads out of its folder; nothing was made"):
        list(contents(Wheel("beta", "1.5", "", "", "", file)))


def test_the_contents_of_a_wheel(tmp_path: Path) -> None:
    more = {"beta-1.5.data/purelib/more.py": "a", "beta-1.5.data/scripts/run": "b", "beta-1.5.data/platlib/c.so": "c"}
    file = made(tmp_path, "beta", "py3-none-any", more=more)
    found = dict(contents(Wheel("beta", "1.5", "", "", "", file)))
    info = {f"beta-1.5.dist-info/{one}" for one in ("METADATA", "WHEEL", "RECORD")}
    assert found.keys() == {"beta.py", "more.py", "c.so", *info}
    assert found["c.so"] == b"c"


def test_platforms() -> None:
    assert [this_platform(one) for one in ("win32", "darwin", "linux")] == ["windows", "macos", "linux"]
    assert [architecture_of(one) for one in ("AMD64", "aarch64", "arm64")] == ["x86_64", "arm64", "arm64"]
    assert Target("linux", "arm64", "3.11").platform_tags()[0] == "manylinux_2_28_aarch64"
    assert "manylinux2014_x86_64" in LINUX.platform_tags()
    assert "macosx_11_0_arm64" in Target("macos", "arm64", "3.11").platform_tags()
    assert WINDOWS.platform_tags() == ("win_amd64",)
    with pytest.raises(LogFileError, match="sparc: there are no packages for this kind of processor"):
        architecture_of("sparc")


@pytest.mark.parametrize(
    ("platform", "architecture", "minor", "words"),
    [
        ("linux", "x86_64", "3.10", "--python: 3.10 is too old; the functions need 3.11 or newer"),
        ("linux", "x86_64", "three", "--python: three is not a version; write it as in 3.11"),
        ("windows", "arm64", "3.11", "--arch: for Windows there is x86_64 only; leave it out"),
    ],
)
def test_what_cannot_be_a_target(platform: str, architecture: str, minor: str, words: str) -> None:
    with pytest.raises(LogFileError) as error:
        Target(platform, architecture, minor)
    assert str(error.value) == words
