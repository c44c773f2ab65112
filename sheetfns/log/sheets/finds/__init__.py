"""Sheet Finds of a pocket copy."""
