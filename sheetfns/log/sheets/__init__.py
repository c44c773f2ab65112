"""The sheets of the log: each is a room of its own."""
