"""Sheet Buying plan."""
