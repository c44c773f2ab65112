"""Several workbooks in one run of LibreOffice, whose start takes longer than a small log."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from tests import libreoffice


def recalculate_all(sources: Iterable[Path], out_dir: Path, *, recalculates: bool = True) -> list[Path]:
    """Load workbooks, calculate every cell anew, and save them under the same names in `out_dir`.

    Args:
        recalculates: if False, results stay as they are stored, as where a user opens and saves a file.
    """
    paths = [path.resolve() for path in sources]
    made = [out_dir.resolve() / path.name for path in paths]
    assert len({path.name for path in paths}) == len(paths), "two would be saved under one name"
    assert not set(made) & set(paths), "one would be written over"
    out_dir.mkdir(parents=True, exist_ok=True)
    words = libreoffice._run(
        ["--convert-to", "xlsx", "--outdir", str(out_dir), *map(str, paths)],
        libreoffice.TIMEOUT + 20 * len(paths),
        recalculates=recalculates,
    )
    missing = [path.name for path in made if not path.is_file()]
    if missing:
        raise libreoffice.LibreOfficeError(f"soffice made no {', '.join(missing)}: {words}")
    return made
