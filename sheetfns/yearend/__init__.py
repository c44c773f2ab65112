"""Tax-season figures from a log."""
