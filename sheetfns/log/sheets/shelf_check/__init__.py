"""Sheet Shelf check."""
