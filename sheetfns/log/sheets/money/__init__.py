"""Sheet Money."""
