"""The package of a tax year for the preparer."""
