"""The sourcing log: what it holds, how it is built, read and worked out."""
