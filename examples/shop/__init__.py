"""The invented shop whose log is the example: how it is played, and what that gives."""
