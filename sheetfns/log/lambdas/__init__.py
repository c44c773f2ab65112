"""The functions as LAMBDA names, for programs that have them."""
