"""Sheet Settings."""
