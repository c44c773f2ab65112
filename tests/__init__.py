"""Where the project stands, for tests that look at its files."""

from pathlib import Path

ROOT = Path(__file__).parents[1]
EXAMPLES = ROOT / "examples"
EARLIER = ROOT / "tests" / "log" / "earlier"
"""Logs of earlier layouts."""
