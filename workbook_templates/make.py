"""Write the two empty logs of this folder; a test fails when they are not what this writes."""

from pathlib import Path

from sheetfns.log.build import build_log
from sheetfns.log.sheets import EDITIONS, Edition

FILES: dict[Edition, str] = {
    "plain": "sourcing_log.xlsx",
    "functions": "sourcing_log_functions.xlsx",
}

if __name__ == "__main__":
    for edition in EDITIONS:
        build_log(Path(__file__).parent / FILES[edition], edition)
