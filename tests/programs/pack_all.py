"""Packs every platform and size, and uses what runs here; by hand, as it downloads hundreds of megabytes.

Run: python -m tests.programs.pack_all FOLDER [PYTHON]. For each file it prints size and packages, and checks that
all that was compiled is for that system and processor. The two for this LibreOffice are put into fresh profiles:
a cell is calculated, and commands of the menu run on the example log.
"""

from __future__ import annotations

import shutil
import struct
import sys
import zipfile
from pathlib import Path

from sheetfns.hosts.libreoffice import find_libreoffice, find_python
from sheetfns.programs.calc import install, names, packed
from sheetfns.programs.wheels import Target
from tests import ROOT
from tests.programs.packed_office import add, bare, fresh_office

EXAMPLE = ROOT / "examples" / "sourcing_log_example_functions.xlsx"
TARGETS = (("linux", "x86_64"), ("linux", "arm64"), ("windows", "x86_64"), ("macos", "arm64"), ("macos", "x86_64"))
COMPILED = (".so", ".pyd", ".dylib", ".dll")
_ELF = {62: "linux x86_64", 183: "linux arm64"}
_PE = {0x8664: "windows x86_64"}
_MACH = {0x0100_0007: "macos x86_64", 0x0100_000C: "macos arm64"}


def made_for(content: bytes) -> set[str]:
    """The systems and processors of a compiled file, from its first bytes."""
    if content[:4] == b"\x7fELF":
        return {_ELF.get(struct.unpack_from("<H", content, 18)[0], "other")}
    if content[:2] == b"MZ":
        place = struct.unpack_from("<I", content, 0x3C)[0]
        return {_PE.get(struct.unpack_from("<H", content, place + 4)[0], "other")}
    if content[:4] == b"\xcf\xfa\xed\xfe":
        return {_MACH.get(struct.unpack_from("<I", content, 4)[0], "other")}
    if content[:4] == b"\xca\xfe\xba\xbe":
        count = struct.unpack_from(">I", content, 4)[0]
        return {_MACH.get(struct.unpack_from(">I", content, 8 + 20 * one)[0], "other") for one in range(count)}
    return {"other"}


def look_into(path: Path, target: Target) -> None:
    """Print what is in a file, and fail where something in it is for another machine."""
    wanted = f"{target.platform} {target.architecture}"
    with zipfile.ZipFile(path) as file:
        assert file.testzip() is None
        inside = file.namelist()
        compiled = [name for name in inside if name.endswith(COMPILED)]
        wrong = [name for name in compiled if wanted not in made_for(file.read(name))]
        print(file.read(names.LISTING).decode())
        unpacked = sum(info.file_size for info in file.infolist())
    print(
        f"{path.name}: {path.stat().st_size / 1e6:.1f} MB, {unpacked / 1e6:.0f} MB unpacked, {len(inside)} files, "
        f"{len(compiled)} of them compiled, the longest path {max(map(len, inside))} characters\n"
    )
    assert compiled
    assert not wrong, wrong


def use(path: Path, size: str) -> None:
    """Put a file into a fresh profile; calculate, and run commands of the menu."""
    with fresh_office() as calc:
        add(calc, path)
        log = calc.folder / "log.xlsx"
        shutil.copy(EXAMPLE, log)
        package = calc.folder / "package"
        tasks = [
            ["open", log.as_uri(), False],
            *(
                ["run", f"{names.PROTOCOL}:{key}", answers]
                for key, answers in (
                    ("check_log", [False]),
                    ("year_end", [True, str(package)]),
                    ("forecast", [""]),
                    ("show_help", [""]),
                    ("upgrade_log", [str(calc.folder / "upgraded")]),
                    ("pocket_copy", [str(calc.folder / "pocket.xlsx")]),
                )
            ),
            ["libraries", "/packages/"],
            ["libraries", "numpy"],
            ["close"],
        ]
        _, *said, libraries, numpy, _ = calc.run(tasks, bare(calc.folder / "home"))
        for one in said:
            print(f"  {one['said'][:150]!r}, opened {len(one['opened'])}")
        print(f"  {len(libraries)} libraries of its own are loaded")
        assert numpy and set(numpy) <= set(libraries)
        if size == "functions":
            assert all("needs the whole extension" in one["said"] for one in said)
        else:
            assert not [one for one in said if "cannot be loaded" in one["said"] or "a fault in" in one["said"]]
            assert sum(len(one["opened"]) for one in said) >= 4
            assert any(package.rglob("*.xlsx"))
            print(f"  {len(list(package.rglob('*')))} files in the package for the preparer")
        assert install._task(calc.office, "try", install._TRIAL)["value"] == install._TRIAL_GIVES


def main(folder: Path, minor: str = "") -> None:
    """Pack, look into and use."""
    folder.mkdir(parents=True, exist_ok=True)
    office = find_libreoffice()
    python = find_python(office) if office else None
    own = install.target_of(python) if python else None
    for platform, architecture in TARGETS:
        target = Target(platform, architecture, minor or (own.minor if own else "3.12"))
        for size in packed.SIZES:
            path = folder / packed.file_name(target, size)
            path.unlink(missing_ok=True)
            packed.write_packed(path, target, size)
            look_into(path, target)
            if target == own:
                use(path, size)


if __name__ == "__main__":
    main(Path(sys.argv[1]), *sys.argv[2:])
