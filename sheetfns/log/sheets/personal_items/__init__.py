"""Sheet Own things."""
