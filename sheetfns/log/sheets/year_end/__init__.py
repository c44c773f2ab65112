"""Sheet Year end."""
