"""Sheet Partners."""
