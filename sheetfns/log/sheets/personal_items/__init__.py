"""Sheet Personal items."""
