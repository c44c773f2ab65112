"""The names of columns and cells, such as AA and AA12."""

from __future__ import annotations


def column_number(letters: str) -> int:
    """0 for A, 26 for AA."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number - 1


def column_letters(number: int) -> str:
    """A for 0, AA for 26."""
    letters = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def cell_name(row: int, column: int) -> str:
    """A1 for row 1, column 1."""
    return f"{column_letters(column - 1)}{row}"
