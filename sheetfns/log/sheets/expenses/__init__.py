"""Sheet Expenses."""
