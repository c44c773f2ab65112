"""The add-in for LibreOffice Calc: made from the registry, put in, taken out."""

from pathlib import Path


def office_tasks_file() -> Path:
    """The script that LibreOffice's own Python runs."""
    return Path(__file__).with_name("office_tasks.py")
