"""Sheet Owner money."""
