"""The committed empty logs are what the layout gives today."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.load import load_log
from sheetfns.log.write.build import build_log
from tests import ROOT
from workbook_templates.make import FILES

FOLDER = ROOT / "workbook_templates"


def parts(path: Path) -> dict[str, bytes]:
    """Unpacked: another zlib packs the same bytes in another way."""
    with zipfile.ZipFile(path) as book:
        return {name: book.read(name) for name in book.namelist()}


@pytest.mark.parametrize("edition", FILES)
def test_template_is_current(edition, tmp_path):
    made = parts(build_log(tmp_path / "log.xlsx", edition))
    committed = parts(FOLDER / FILES[edition])
    stale = [name for name in made if committed.get(name) != made[name]]
    assert stale == [], "run: python workbook_templates/make.py"
    assert set(committed) == set(made)


@pytest.mark.parametrize("edition", FILES)
def test_template_is_empty_and_whole(edition):
    content = load_log(FOLDER / FILES[edition])
    assert content.problems == []
    assert all(frame.empty for frame in content.sheets.values())
    assert compare(compute_log(content)).differences == []
