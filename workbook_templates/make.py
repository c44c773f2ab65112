"""Write the empty logs of this folder; a test fails when they are not what this writes."""

from pathlib import Path

from sheetfns.log.model.sheets import Edition
from sheetfns.log.write.build import build_log

FILES: dict[Edition, str] = {
    "plain": "sourcing_log.xlsx",
    "functions": "sourcing_log_functions.xlsx",
    "lambda": "sourcing_log_lambda.xlsx",
}

if __name__ == "__main__":
    for edition, name in FILES.items():
        build_log(Path(__file__).parent / name, edition)
