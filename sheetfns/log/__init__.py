"""The sourcing log: what it holds, how it is built, read and worked out."""

from sheetfns.extras import need

need("log", "The sourcing log needs", of_cells=True)
