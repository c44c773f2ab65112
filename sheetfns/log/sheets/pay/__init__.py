"""Sheet Pay."""
