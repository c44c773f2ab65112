"""What installing and looking over say: one line each, and what to do where it is not right."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Finding:
    """One fact.

    Attributes:
        label: what was looked at.
        found: what there is.
        ok: whether it is as it should be.
        next_step: what to do, in one sentence; "" if nothing.
    """

    label: str
    found: str
    ok: bool = True
    next_step: str = ""
