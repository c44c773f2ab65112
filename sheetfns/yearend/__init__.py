"""The package of a tax year for the preparer."""

from sheetfns.extras import need

need("log", "The package for the preparer needs")
