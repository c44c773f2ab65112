"""Sheet Sourcing log."""
