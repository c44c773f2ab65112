"""Formulas of a user's log against those it should have, and the report on all that is wrong."""
