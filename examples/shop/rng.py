"""Draws of the invented shop."""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import TypeVar

T = TypeVar("T")


class Rng:
    """Draws that rest on random.Random.random() alone.

    Of that sequence Python promises that a seed gives the same one in every version.
    """

    def __init__(self, seed: int) -> None:
        self._next = random.Random(seed).random  # noqa: S311  (a made-up shop, no secret)

    def chance(self, probability: float) -> bool:
        """Draw whether it happens."""
        return self._next() < probability

    def between(self, low: float, high: float) -> float:
        """Draw a number from one to the other."""
        return low + (high - low) * self._next()

    def whole(self, low: int, high: int) -> int:
        """Draw a whole number; both ends may come."""
        return low + int(self._next() * (high - low + 1))

    def pick(self, items: Sequence[T]) -> T:
        """Draw one of several."""
        return items[int(self._next() * len(items))]
