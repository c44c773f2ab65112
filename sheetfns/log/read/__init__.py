"""A file becomes content; what cannot be read is said, and nothing is judged."""
