"""Sheet Tax rules."""
