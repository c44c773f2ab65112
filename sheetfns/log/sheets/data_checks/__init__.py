"""Sheet Data checks."""
