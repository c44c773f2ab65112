"""Sheet Stale inventory."""
