"""Sheet Comparables."""
