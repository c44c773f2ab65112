"""The add-in as a file: what it says of the functions, and its type library."""

from __future__ import annotations

import struct
import zipfile
from pathlib import Path

import pytest
from lxml import etree

from sheetfns import REGISTRY, __version__, former_names
from sheetfns.programs import menu_entries
from sheetfns.programs.calc import names
from sheetfns.programs.calc.extension import argument_help, write_extension
from sheetfns.programs.calc.plain_names import rewrite, with_plain_names
from sheetfns.programs.calc.type_library import type_library
from sheetfns.programs.findings import own_command
from sheetfns.registry import FORMER

EVERY = {**REGISTRY, **FORMER}
NAME = "{http://openoffice.org/2001/registry}name"


@pytest.fixture(scope="module")
def parts(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    path = write_extension(tmp_path_factory.mktemp("oxt") / "a.oxt", [Path("/some place/lib")])
    with zipfile.ZipFile(path) as file:
        assert file.testzip() is None
        return {name: file.read(name) for name in file.namelist()}


def test_every_part_is_well_formed_and_listed(parts: dict[str, bytes]) -> None:
    for name, content in parts.items():
        if name.endswith((".xml", ".xcu", ".components")):
            etree.fromstring(content)
    listed = parts["META-INF/manifest.xml"].decode()
    for name in parts:
        if name.endswith((".xcu", ".rdb", ".components")):
            assert f'full-path="{name}"' in listed
    assert parts["paths.txt"] == b"/some place/lib\n"
    assert f'<version value="{__version__}"/>'.encode() in parts["description.xml"]


def test_the_same_is_built_twice(tmp_path: Path) -> None:
    one, other = (write_extension(tmp_path / name) for name in ("one.oxt", "other.oxt"))
    assert one.read_bytes() == other.read_bytes()


def test_what_is_packed_with_it(tmp_path: Path) -> None:
    more = {"packages/numpy/a.py": b"x" * 10_000, "advice.txt": b"Another."}
    path = write_extension(tmp_path / "a.oxt", [Path("packages")], platform="linux_x86_64", more=more)
    assert path.stat().st_size < write_extension(tmp_path / "b.oxt").stat().st_size + 1_000
    with zipfile.ZipFile(path) as file:
        assert file.read("packages/numpy/a.py") == b"x" * 10_000
        assert file.read("advice.txt") == b"Another."
        assert file.read("paths.txt") == b"packages\n"
        assert b'<platform value="linux_x86_64"/>' in file.read("description.xml")


def test_an_add_in_of_an_environment_is_for_every_platform(parts: dict[str, bytes]) -> None:
    assert b"<platform" not in parts["description.xml"]
    assert parts["advice.txt"].decode() == f"Run {own_command('doctor')} in a terminal; it says what to do."
    assert "only_functions.txt" not in parts


def test_functions_and_arguments_have_their_texts(parts: dict[str, bytes]) -> None:
    root = etree.fromstring(parts["CalcAddIns.xcu"])
    functions = {
        node.get(NAME): node for node in root.iterfind(".//node") if node.getparent().get(NAME) == "AddInFunctions"
    }
    assert set(functions) == set(EVERY)
    for name, node in functions.items():
        texts = {prop.get(NAME): prop.findtext("value") for prop in node.iterfind("prop")}
        assert texts["DisplayName"] == texts["CompatibilityName"] == name
        assert texts["Description"] == EVERY[name].help
        arguments = next(one for one in node.iterfind("node") if one.get(NAME) == "Parameters")
        assert [one.get(NAME) for one in arguments] == [argument.name for argument in EVERY[name].arguments]


def test_the_help_of_a_former_name_says_the_new_one(parts: dict[str, bytes]) -> None:
    assert FORMER
    text = parts["CalcAddIns.xcu"].decode()
    for old, spec in FORMER.items():
        assert f"Former name of {former_names.FUNCTIONS[old]}; it stops working with the next version." == spec.help
        assert spec.help in text


def test_help_of_an_argument_says_whether_it_is_needed() -> None:
    spec = REGISTRY["NET_PROFIT"]
    needed, *_, optional = spec.arguments
    assert argument_help(needed).startswith("Needed: ")
    assert argument_help(optional).endswith("If left out: 0.")
    assert argument_help(optional)[0].isupper()


def test_the_menu_has_the_commands(parts: dict[str, bytes]) -> None:
    text = parts["Addons.xcu"].decode()
    for command in menu_entries.COMMANDS:
        assert f"<value>{names.PROTOCOL}:{command.key}</value>" in text
        assert f">{command.title}</value>" in text


class Library:
    """A reader of the type library of our own: it follows its maps from the outermost on."""

    def __init__(self, content: bytes) -> None:
        self.content = content
        assert content[:8] == b"UNOIDL\xff\x00"

    def number(self, place: int) -> int:
        return int(struct.unpack_from("<I", self.content, place)[0])

    def ended(self, place: int) -> str:
        return self.content[place : self.content.index(b"\x00", place)].decode()

    def text(self, place: int) -> tuple[str, int]:
        size = self.number(place)
        return self.content[place + 4 : place + 4 + size].decode(), place + 4 + size

    def find(self, path: list[str]) -> int:
        entry, size = self.number(8), self.number(12)
        for step, name in enumerate(path):
            assert size == 1
            assert self.ended(self.number(entry)) == name
            place = self.number(entry + 4)
            if step == len(path) - 1:
                return place
            assert self.content[place] == 0
            size, entry = self.number(place + 1), place + 5
        raise AssertionError

    def methods(self, place: int) -> dict[str, tuple[str, list[tuple[str, str]]]]:
        assert self.content[place] == 5
        base, at = self.text(place + 5)
        assert (self.number(place + 1), base) == (1, "com.sun.star.uno.XInterface")
        assert self.number(at) == self.number(at + 4) == 0
        count, at = self.number(at + 8), at + 12
        found = {}
        for _ in range(count):
            name, at = self.text(at)
            result, at = self.text(at)
            arguments, at = self.number(at), at + 4
            listed = []
            for _ in range(arguments):
                assert self.content[at] == 0
                argument, at = self.text(at + 1)
                kind, at = self.text(at)
                listed.append((argument, kind))
            assert self.number(at) == 0
            at += 4
            found[name] = (result, listed)
        return found


def test_the_type_library_holds_every_function(parts: dict[str, bytes]) -> None:
    library = Library(parts["types.rdb"])
    methods = library.methods(library.find(["org", "sheetfns", names.INTERFACE]))
    assert methods == {spec.name: ("[][]any", [(one.name, "any") for one in spec.arguments]) for spec in EVERY.values()}


def test_a_library_in_one_module() -> None:
    library = Library(type_library("shop", "XAll", [("ADD_UP", ["first", "second"])]))
    assert library.methods(library.find(["shop", "XAll"])) == {
        "ADD_UP": ("[][]any", [("first", "any"), ("second", "any")])
    }


# ---- plain names -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (b"<f>sheetfns.NET_PROFIT(A1)</f>", b"<f>NET_PROFIT(A1)</f>"),
        (b'<f aca="false">1+sheetfns.net_profit (A1)</f>', b'<f aca="false">1+NET_PROFIT (A1)</f>'),
        (b"<f>sheetfns.STOCK_TURN(1,2,3)</f>", b"<f>STOCK_TURN(1,2,3)</f>"),
        (b"<f>sheetfns.NO_SUCH(A1)</f>", b"<f>sheetfns.NO_SUCH(A1)</f>"),
        (b"<f>MYsheetfns.NET_PROFIT(A1)</f>", b"<f>MYsheetfns.NET_PROFIT(A1)</f>"),
        (b"<t>sheetfns.NET_PROFIT(A1)</t>", b"<t>sheetfns.NET_PROFIT(A1)</t>"),
        (
            b'<definedName name="X">sheetfns.LANDED_COST(1)</definedName>',
            b'<definedName name="X">LANDED_COST(1)</definedName>',
        ),
        (b"<formula>sheetfns.NET_MARGIN(1,2)</formula>", b"<formula>NET_MARGIN(1,2)</formula>"),
    ],
)
def test_plain_names_in_formulas_only(before: bytes, after: bytes) -> None:
    assert with_plain_names(before)[0] == after


def test_a_file_with_nothing_to_do_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    with zipfile.ZipFile(path, "w") as file:
        file.writestr("xl/worksheets/sheet1.xml", b"<f>NET_PROFIT(1)</f>")
    before = path.stat().st_ino
    assert rewrite(path) == 0
    assert path.stat().st_ino == before


def test_a_file_keeps_its_time_and_its_other_parts(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    with zipfile.ZipFile(path, "w") as file:
        file.writestr("xl/worksheets/sheet1.xml", b"<f>sheetfns.NET_PROFIT(1)</f>")
        file.writestr("xl/media/a.png", b"sheetfns.NET_PROFIT(")
    # The program that saved it has it open.
    (tmp_path / ".~lock.a.xlsx#").write_text("somebody")
    before = path.stat().st_mtime_ns
    assert rewrite(path) == 1
    assert path.stat().st_mtime_ns == before
    with zipfile.ZipFile(path) as file:
        assert file.read("xl/worksheets/sheet1.xml") == b"<f>NET_PROFIT(1)</f>"
        assert file.read("xl/media/a.png") == b"sheetfns.NET_PROFIT("
    assert [one.name for one in tmp_path.iterdir() if "unfinished" in one.name] == []
