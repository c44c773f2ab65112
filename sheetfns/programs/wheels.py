"""Wheels for another Python, and maybe another system, than the one that runs this: fetched, checked, unpacked.

pip asks the registry and downloads; what it is not asked for is checked here once more: that each wheel's
tag fits, and that its content has the sha256 that the registry states.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from email.parser import HeaderParser
from pathlib import Path, PurePosixPath
from typing import Any, Final

from packaging.markers import Marker, UndefinedEnvironmentName
from packaging.requirements import Requirement
from packaging.tags import Tag, compatible_tags, cpython_tags, mac_platforms
from packaging.utils import InvalidWheelFilename, canonicalize_name, parse_wheel_filename

from sheetfns.errors import LogFileError
from sheetfns.extras import Package

SECONDS: Final = 900
LEAST_PYTHON: Final = (3, 11)
_SYSTEMS: Final = {"linux": "Linux", "windows": "Windows", "macos": "macOS"}
PLATFORMS: Final = tuple(_SYSTEMS)
ARCHITECTURES: Final = ("x86_64", "arm64")
_GLIBC: Final = (28, 27, 26, 24, 17, 12, 5)
"""Of glibc 2, from the newest that is asked for (2018) down; the names before version numbers come with them."""
_GLIBC_BY_NAME: Final = {17: "manylinux2014", 12: "manylinux2010", 5: "manylinux1"}
_MACOS: Final = {"x86_64": (10, 15), "arm64": (11, 0)}
_MARKERS: Final = {
    "linux": {"sys_platform": "linux", "os_name": "posix", "platform_system": "Linux"},
    "windows": {"sys_platform": "win32", "os_name": "nt", "platform_system": "Windows"},
    "macos": {"sys_platform": "darwin", "os_name": "posix", "platform_system": "Darwin"},
}
_MACHINES: Final = {("windows", "x86_64"): "AMD64", ("linux", "arm64"): "aarch64"}
_NO_NETWORK: Final = re.compile(
    r"NewConnectionError|ConnectionError|ConnectTimeout|ReadTimeout|ProxyError|Max retries exceeded|"
    r"Failed to establish a new connection|name resolution|SSLError",
    re.IGNORECASE,
)
_NO_WHEEL: Final = re.compile(r"No matching distribution found for (\S+)")
_OTHER_HASH: Final = re.compile(r"DO NOT MATCH THE HASHES|do(?:es)? not match the hash", re.IGNORECASE)
_CLASSIFIER: Final = "License :: OSI Approved :: "
_LONGEST_LICENSE: Final = 80


@dataclass(frozen=True)
class Target:
    """What wheels have to fit.

    Attributes:
        platform: linux, windows or macos.
        architecture: x86_64 or arm64.
        minor: the version of Python, such as 3.11.
    """

    platform: str
    architecture: str
    minor: str

    def __post_init__(self) -> None:
        if not re.fullmatch(r"3\.\d{1,2}", self.minor):
            raise LogFileError(f"--python: {self.minor} is not a version; write it as in 3.11")
        if self._numbers < LEAST_PYTHON:
            raise LogFileError(f"--python: {self.minor} is too old; the functions need 3.11 or newer")
        if self.platform == "windows" and self.architecture != "x86_64":
            raise LogFileError("--arch: for Windows there is x86_64 only; leave it out")

    @property
    def _numbers(self) -> tuple[int, int]:
        major, minor = self.minor.split(".")
        return int(major), int(minor)

    def __str__(self) -> str:
        return f"Python {self.minor} on {_SYSTEMS[self.platform]} ({self.architecture})"

    @property
    def machine(self) -> str:
        """The architecture as the system calls it."""
        return _MACHINES.get((self.platform, self.architecture), self.architecture)

    def platform_tags(self) -> tuple[str, ...]:
        """The platforms of wheels that run there, the best first."""
        if self.platform == "windows":
            return ("win_amd64",)
        if self.platform == "macos":
            return tuple(mac_platforms(_MACOS[self.architecture], self.architecture))
        tags: list[str] = []
        for minor in _GLIBC:
            tags.append(f"manylinux_2_{minor}_{self.machine}")
            if minor in _GLIBC_BY_NAME:
                tags.append(f"{_GLIBC_BY_NAME[minor]}_{self.machine}")
        return tuple(tags)

    def tags(self) -> frozenset[Tag]:
        """Every tag that a wheel may have."""
        platforms, short = self.platform_tags(), f"cp{self.minor.replace('.', '')}"
        return frozenset(
            [*cpython_tags(self._numbers, platforms=platforms), *compatible_tags(self._numbers, short, platforms)]
        )

    def markers(self) -> dict[str, str]:
        """What a condition of a requirement is asked of."""
        return {
            **_MARKERS[self.platform],
            "platform_machine": self.machine,
            "python_version": self.minor,
            "python_full_version": f"{self.minor}.0",
            "implementation_name": "cpython",
            "implementation_version": f"{self.minor}.0",
            "platform_python_implementation": "CPython",
            "platform_release": "",
            "platform_version": "",
            "extra": "",
        }


def this_platform(system: str = sys.platform) -> str:
    """The platform of this machine, by the name that Python gives to its system."""
    return {"win32": "windows", "darwin": "macos"}.get(system, "linux")


def architecture_of(machine: str) -> str:
    """The architecture, by the name that the system gives to it.

    Errors:
        LogFileError: there are no wheels for it.
    """
    names = {"amd64": "x86_64", "x86_64": "x86_64", "arm64": "arm64", "aarch64": "arm64"}
    try:
        return names[machine.lower()]
    except KeyError:
        raise LogFileError(
            f"{machine}: there are no packages for this kind of processor, only for x86_64 and arm64"
        ) from None


@dataclass(frozen=True)
class Wheel:
    """A wheel that was fetched and fits.

    Attributes:
        name: the package.
        version: its version.
        tag: as the file's name has it, such as cp311-cp311-win_amd64.
        sha256: of its content, as the registry states it.
        license: as the package states it.
        file: the wheel.
    """

    name: str
    version: str
    tag: str
    sha256: str
    license: str
    file: Path


def fetch(
    target: Target, packages: Iterable[Package], folder: Path, step: Callable[[str], None] = lambda _: None
) -> list[Wheel]:
    """Fetch packages and all that they need.

    Args:
        target: what the wheels have to fit.
        packages: what to fetch.
        folder: an empty folder for the wheels.
        step: is told what is being done.

    Returns:
        the wheels, by name.

    Errors:
        LogFileError: a package has no wheel that fits, the registry cannot be reached, or a wheel is not what
            the registry states.
    """
    step("Asking the registry")
    stated = _stated(target, [package.requirement for package in packages], folder)
    step(f"Downloading {len(stated)} packages")
    wanted = folder / "wanted.txt"
    lines = (f"{name}=={one.version} --hash=sha256:{one.sha256}\n" for name, one in stated.items())
    wanted.write_text("".join(lines), encoding="utf-8")
    wheels = folder / "wheels"
    _pip(target, "download", "--require-hashes", "--dest", str(wheels), "--requirement", str(wanted))
    found = {}
    for file in sorted(wheels.iterdir()):
        wheel = checked(target, file, {name: one.sha256 for name, one in stated.items()})
        found[canonicalize_name(wheel.name)] = wheel
    missing = stated.keys() - found.keys()
    if missing:
        raise LogFileError(f"{', '.join(sorted(missing))}: was not downloaded; run this again")
    return [found[name] for name in sorted(found)]


@dataclass(frozen=True)
class _Stated:
    version: str
    sha256: str


def _stated(target: Target, requirements: Sequence[str], folder: Path) -> dict[str, _Stated]:
    """By name what the registry says of the packages and all that they need; nothing is installed.

    What a package needs is asked for here, as pip would answer its conditions for this machine.
    """
    found: dict[str, _Stated] = {}
    asked = list(requirements)
    limits: list[Requirement] = []
    while asked:
        report = folder / "report.json"
        _pip(
            target,
            *("install", "--dry-run", "--ignore-installed", "--target", str(folder / "nothing")),
            *("--report", str(report), *asked),
        )
        needed: dict[str, list[Requirement]] = {}
        for one in json.loads(report.read_text(encoding="utf-8"))["install"]:
            name = canonicalize_name(one["metadata"]["name"])
            sha256 = one["download_info"].get("archive_info", {}).get("hashes", {}).get("sha256", "")
            if not sha256:
                raise LogFileError(f"{name}: the registry states no sha256 for its wheel; nothing was made")
            found[name] = _Stated(one["metadata"]["version"], sha256)
            for line in one["metadata"].get("requires_dist") or ():
                requirement = Requirement(line)
                if applies(requirement.marker, target.markers()):
                    needed.setdefault(canonicalize_name(requirement.name), []).append(requirement)
        limits += [requirement for each in needed.values() for requirement in each]
        asked = [
            f"{name}{','.join(filter(None, (str(one.specifier) for one in each)))}"
            for name, each in needed.items()
            if name not in found
        ]
    for limit in limits:
        version = found[canonicalize_name(limit.name)].version
        if not limit.specifier.contains(version, prereleases=True):
            raise LogFileError(f"{limit.name}: {version} was chosen, but another package needs {limit.specifier}")
    return found


def applies(marker: Marker | None, markers: Mapping[str, str]) -> bool:
    """Whether a requirement holds where these conditions do."""
    try:
        return marker is None or marker.evaluate(dict(markers))
    except UndefinedEnvironmentName:
        return False


def checked(target: Target, file: Path, stated: Mapping[str, str]) -> Wheel:
    """A wheel whose tag fits and whose content is the one that the registry states.

    Args:
        target: what it has to fit.
        file: the wheel.
        stated: the sha256 by the package's name.

    Errors:
        LogFileError: it is another.
    """
    try:
        name, version, _, tags = parse_wheel_filename(file.name)
    except InvalidWheelFilename as error:
        raise LogFileError(f"{file.name}: is not a wheel ({error}); nothing was made") from error
    if not tags & target.tags():
        raise LogFileError(f"{file.name}: does not fit {target}; nothing was made")
    sha256 = hashlib.sha256(file.read_bytes()).hexdigest()
    if sha256 != stated.get(name):
        raise LogFileError(f"{file.name}: is not the file that the registry states; nothing was made, try again later")
    return Wheel(name, str(version), "-".join(file.stem.split("-")[-3:]), sha256, _license(file), file)


def _license(file: Path) -> str:
    with zipfile.ZipFile(file) as wheel:
        (place,) = (one for one in wheel.namelist() if re.fullmatch(r"[^/]+\.dist-info/METADATA", one))
        about = HeaderParser().parsestr(wheel.read(place).decode("utf-8"))
    short = (about["License"] or "").strip()
    classified = [
        line.removeprefix(_CLASSIFIER) for line in about.get_all("Classifier", ()) if line.startswith(_CLASSIFIER)
    ]
    if about["License-Expression"]:
        return str(about["License-Expression"])
    if short and "\n" not in short and len(short) <= _LONGEST_LICENSE:
        return short
    return ", ".join(classified) or "see its license files"


def contents(wheel: Wheel) -> Iterator[tuple[str, bytes]]:
    """What a wheel puts into the folder of packages: path there, with /, and content.

    Errors:
        LogFileError: a path leads out of the folder.
    """
    with zipfile.ZipFile(wheel.file) as file:
        for info in file.infolist():
            path = PurePosixPath(info.filename)
            if path.is_absolute() or ".." in path.parts or "\\" in info.filename or ":" in info.filename:
                raise LogFileError(f"{wheel.file.name}: {info.filename} leads out of its folder; nothing was made")
            parts = path.parts
            if parts[0].endswith(".data"):
                # Programs for a terminal, headers and manuals have no place in a spreadsheet program.
                if parts[1] not in {"purelib", "platlib"}:
                    continue
                parts = parts[2:]
            if not info.is_dir():
                yield "/".join(parts), file.read(info)


def listing(target: Target, wheels: Iterable[Wheel]) -> str:
    """Name, version, tag, sha256 and license of each, as a text with a line for each."""
    rows = [("package", "version", "tag", "sha256", "license")]
    rows += [(one.name, one.version, one.tag, one.sha256, one.license) for one in wheels]
    widths = [max(len(row[column]) for row in rows) for column in range(4)]
    lines = [
        "  ".join([*(cell.ljust(width) for cell, width in zip(row, widths, strict=False)), row[4]]) for row in rows
    ]
    head = (
        f"Packages for {target}: the registry's own wheels, unpacked. The tag and the sha256 of each were verified.\n"
        "The text of each license is in the package's folder that ends in .dist-info.\n\n"
    )
    return head + "\n".join(lines) + "\n"


def _pip(target: Target, task: str, *words: str) -> None:
    command = [sys.executable, "-m", "pip", task, "--quiet", "--no-input", "--disable-pip-version-check"]
    command += ["--no-deps", "--only-binary=:all:", "--implementation=cp", f"--python-version={target.minor}"]
    command += ["--retries=1", *(f"--platform={tag}" for tag in target.platform_tags()), *words]
    try:
        done = subprocess.run(  # noqa: S603  (this Python's own pip, no shell)
            command,
            capture_output=True,
            text=True,
            errors="replace",
            timeout=SECONDS,
            check=False,
            env={**os.environ, "PYTHONUTF8": "1"},
        )
    except subprocess.TimeoutExpired as error:
        raise LogFileError(f"The packages were not fetched within {SECONDS} seconds; try again later") from error
    if done.returncode:
        raise LogFileError(_trouble(target, done.stderr or done.stdout))


def _trouble(target: Target, said: str) -> str:
    missing = _NO_WHEEL.search(said)
    if "No module named pip" in said:
        return f'This environment has no pip; run: "{sys.executable}" -m ensurepip, then run this again'
    if _NO_NETWORK.search(said):
        return "The package registry cannot be reached; check the network and run this again. Nothing was made"
    if _OTHER_HASH.search(said):
        return "A package is not the file that the registry states; nothing was made, try again later"
    if missing:
        return f"There is no wheel of {missing[1]} for {target}; try another --python, or another --platform"
    errors: list[Any] = [line for line in said.splitlines() if line.startswith("ERROR")] or said.splitlines() or [""]
    return f"The packages cannot be fetched (pip: {errors[-1].removeprefix('ERROR: ')}); nothing was made"
