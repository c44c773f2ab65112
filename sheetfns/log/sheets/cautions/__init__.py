"""Sheet Cautions."""
