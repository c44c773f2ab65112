"""Sheet Lots."""
