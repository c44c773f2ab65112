"""Zip and XML of unknown origin, writing that is whole or not at all; no idea of a log."""
