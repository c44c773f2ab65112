"""Sheet Inventory."""
