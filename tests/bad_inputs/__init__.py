"""Files that are no logs, or odd ones, and what is said of them."""
