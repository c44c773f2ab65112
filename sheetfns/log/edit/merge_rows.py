"""Which rows of two copies are the same, and what becomes of cells that differ; no file in sight.

A row is what is typed into it, by column key; blanks are left out. Columns that a seller has added
have keys of their own (see `own_key`).
"""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, Final

Cells = dict[str, Any]
_ALIKE: Final = 0.5
_ALIKE_NUMBERED: Final = 0.75
"""Rows that share so much of what is typed in both are the same row, changed since."""
_TOO_COMMON: Final = 200
"""A value that stands in more rows does not tell them apart."""
_OWN: Final = "own: "


class Happened(StrEnum):
    """What became of something on which two copies differ, the most urgent first."""

    both_changed = "Both changed it"
    differ = "The two copies differ"
    one_number = "Two pieces under one number"
    renumbered = "Given a new number"
    deleted = "Deleted in one copy, kept"
    maybe_twice = "May be there twice"
    no_place = "No place for it in this log"
    other_sheet = "A sheet of the other copy, not taken over"
    changed = "Changed in one copy, taken"


@dataclass(frozen=True)
class Difference:
    """One thing on which two copies differ, and what is kept.

    Attributes:
        happened: what became of it.
        sheet: the sheet's name.
        named: the item number or the words by which the row is known.
        column: the column's header; "" for a whole row.
        kept, other, last: the value in the result, the other one, and the last common one.
        kept_mine: whether what is kept is of the first copy.
    """

    happened: Happened
    sheet: str
    named: str
    column: str
    kept: Any = None
    other: Any = None
    last: Any = None
    kept_mine: bool = True


@dataclass
class Row:
    """A row of a copy: where it stands, and what is typed into it."""

    sheet_row: int
    cells: Cells


@dataclass(frozen=True)
class Rules:
    """How the rows of a sheet are told apart.

    Attributes:
        sheet: the sheet's name.
        key: the columns by which a row is known.
        numbered: whether the key is a number that stands once, such as the item no.
        identity: for numbered rows, the columns that tell two pieces apart.
        by_place: whether rows are known by their place instead.
        headers: header by column key.
    """

    sheet: str
    key: tuple[str, ...]
    numbered: bool = False
    identity: tuple[str, ...] = ()
    by_place: bool = False
    headers: Mapping[str, str] = field(default_factory=dict)

    def named(self, cells: Cells) -> str:
        """The words by which a row is known to a reader."""
        words = [shown(cells[key]) for key in self.key if cells.get(key) is not None]
        return ", ".join(words) or next((shown(value) for value in cells.values()), "")

    def header(self, key: str) -> str:
        """The header over a column."""
        return self.headers.get(key, key.removeprefix(_OWN))


@dataclass
class Merged:
    """The rows of the result and how they came about.

    Attributes:
        rows: the rows of the first copy in their order, with their new cells.
        added: rows that the first copy did not have.
        differences: what a reader has to know of.
    """

    rows: list[Row] = field(default_factory=list)
    added: list[Cells] = field(default_factory=list)
    differences: list[Difference] = field(default_factory=list)


def own_key(header: str) -> str:
    """The key of a column that a seller has added."""
    return f"{_OWN}{header.strip()}"


def is_own(key: str) -> bool:
    """Whether a column was added by a seller."""
    return key.startswith(_OWN)


def shown(value: Any) -> str:
    """A value in words."""
    if isinstance(value, float):
        return f"{value:.15g}"
    if isinstance(value, dt.date):
        return value.isoformat()
    return "" if value is None else str(value)


def _never(_: Difference) -> bool:
    return False


def merge_rows(
    rules: Rules,
    mine: Sequence[Row],
    theirs: Sequence[Row],
    base: Sequence[Row] | None,
    *,
    new_number: Callable[[str], str] | None = None,
    done: Callable[[Difference], bool] = _never,
) -> Merged:
    """Bring the rows of two copies together.

    Args:
        rules: how rows are told apart.
        mine, theirs: the rows of the copies.
        base: the rows of the last common copy; None if there is none.
        new_number: gives a free number for a different piece under the same one; without it such
            a piece is only listed.
        done: whether an earlier merge has taken a change already; it is not taken again.
    """
    merging = _Merging(rules, mine, theirs, new_number, done)
    if base is None:
        merging.pair_two()
    else:
        merging.pair_three(base)
    return merging.result


def merge_cells(  # noqa: PLR0917  (three copies of one row, and what it is)
    rules: Rules,
    mine: Cells,
    theirs: Cells,
    base: Cells | None,
    named: str,
    done: Callable[[Difference], bool] = _never,
) -> tuple[Cells, list[Difference]]:
    """Bring the cells of one row together; `base` is the row in the last common copy, if any."""
    result = dict(mine)
    found: list[Difference] = []
    for key in [*mine, *(key for key in theirs if key not in mine)]:
        one, other = mine.get(key), theirs.get(key)
        if same(one, other):
            continue
        column = rules.header(key)
        last = None if base is None else base.get(key)
        if base is not None and same(other, last):
            # Mine was changed since; nobody else touched it.
            found.append(Difference(Happened.changed, rules.sheet, named, column, one, other, last))
        elif one is None if base is None else same(one, last):
            taken = Difference(Happened.changed, rules.sheet, named, column, other, one, last, kept_mine=False)
            if one is None or not done(taken):
                _set(result, key, other)
                found.append(taken)
        elif base is not None or other is not None:
            happened = Happened.differ if base is None else Happened.both_changed
            found.append(Difference(happened, rules.sheet, named, column, one, other, last))
    # Where a blank gave way nothing is lost, and no line is needed.
    return result, [one for one in found if one.other is not None or one.happened is not Happened.changed]


def same(one: Any, other: Any) -> bool:
    """Whether two typed values are the same; TRUE is not 1."""
    if isinstance(one, bool) is not isinstance(other, bool):
        return False
    return bool(one == other)


def _set(cells: Cells, key: str, value: Any) -> None:
    if value is None:
        cells.pop(key, None)
    else:
        cells[key] = value


class _Merging:
    """One sheet or small table while it is merged."""

    def __init__(
        self,
        rules: Rules,
        mine: Sequence[Row],
        theirs: Sequence[Row],
        new_number: Callable[[str], str] | None,
        done: Callable[[Difference], bool],
    ) -> None:
        self.rules = rules
        self.mine = mine
        self.theirs = theirs
        self.new_number = new_number
        self.done = done
        self.result = Merged()
        self._new: dict[int, Cells] = {}
        """New cells of my rows, by their place."""

    def pair_two(self) -> None:
        """Without a common copy: rows of both, equal or under one key."""
        pairs, alone_mine, alone_theirs = self._known(self.mine, self.theirs)
        for m, t in pairs:
            self._same_row(m, t)
        self._new_rows(alone_mine, alone_theirs)
        self._finish()

    def pair_three(self, base: Sequence[Row]) -> None:
        """With a common copy: each row against what it was."""
        of_theirs = dict(self._since(base, self.theirs))
        agreed = self._agreed()
        before = {t: place for place, t in of_theirs.items()}
        of_mine = {before[t]: m for m, t in agreed if t in before}
        of_mine |= dict(self._since(base, self.mine, of_mine, {m for m, _ in agreed}, of_theirs))
        for place, last in enumerate(base):
            m, t = of_mine.get(place), of_theirs.get(place)
            named = self.rules.named(last.cells)
            if m is not None and t is not None:
                cells, found = merge_cells(
                    self.rules, self.mine[m].cells, self.theirs[t].cells, last.cells, named, self.done
                )
                self._new[m] = cells
                self.result.differences += found
            elif m is not None or t is not None:
                self._deleted(last, m, t)
        known_mine = set(of_mine.values()) | {m for m, _ in agreed}
        known_theirs = set(of_theirs.values()) | {t for _, t in agreed}
        alone_mine = [i for i in range(len(self.mine)) if i not in known_mine]
        alone_theirs = [i for i in range(len(self.theirs)) if i not in known_theirs]
        pairs, alone_mine, alone_theirs = self._known(self.mine, self.theirs, alone_mine, alone_theirs)
        for m, t in pairs:
            self._same_row(m, t)
        self._new_rows(alone_mine, alone_theirs)
        self._finish()

    def _deleted(self, last: Row, m: int | None, t: int | None) -> None:
        """A row that only one copy still has: it stays, and a reader is told."""
        kept_mine = m is not None
        cells = self.mine[m].cells if m is not None else self.theirs[t].cells  # type: ignore[index]
        self.result.differences.append(
            Difference(
                Happened.deleted,
                self.rules.sheet,
                self.rules.named(cells),
                "",
                "; ".join(shown(value) for value in cells.values()),
                None,
                None if same_cells(cells, last.cells) else "changed since in the other copy",
                kept_mine=kept_mine,
            )
        )
        if not kept_mine:
            self.result.added.append(dict(cells))

    def _same_row(self, m: int, t: int) -> None:
        """A row of both without a common one: blanks are filled, the rest is listed."""
        mine, theirs = self.mine[m].cells, self.theirs[t].cells
        if self.rules.numbered and self._different_pieces(mine, theirs):
            self._second_piece(mine, theirs)
            return
        cells, found = merge_cells(self.rules, mine, theirs, None, self.rules.named(mine))
        self._new[m] = cells
        self.result.differences += found

    def _different_pieces(self, mine: Cells, theirs: Cells) -> bool:
        both = [key for key in self.rules.identity if key in mine and key in theirs]
        differ = sum(not same(mine[key], theirs[key]) for key in both)
        return differ > len(both) - differ and differ >= min(2, len(both))

    def _second_piece(self, mine: Cells, theirs: Cells) -> None:
        number = self.rules.key[0]
        rest = {key: value for key, value in theirs.items() if key != number}
        if any(same_cells({k: v for k, v in row.cells.items() if k != number}, rest) for row in self.mine):
            return  # it was given a number of its own before
        named = self.rules.named(theirs)
        if self.new_number is not None:
            new = self.new_number(shown(theirs[number]))
            self.result.added.append({number: new, **rest})
            self.result.differences.append(
                Difference(
                    Happened.renumbered,
                    self.rules.sheet,
                    named,
                    self.rules.header(number),
                    new,
                    theirs[number],
                    kept_mine=False,
                )
            )
            return
        self.result.differences += [
            Difference(Happened.one_number, self.rules.sheet, named, self.rules.header(key), mine.get(key), value)
            for key, value in rest.items()
            if not same(mine.get(key), value)
        ]

    def _new_rows(self, alone_mine: list[int], alone_theirs: list[int]) -> None:
        """Rows that only one copy has; of a pair that looks like one row, both stay."""
        known = defaultdict(list)
        for m in alone_mine:
            known[self._key(self.mine[m].cells)].append(m)
        for t in alone_theirs:
            cells = self.theirs[t].cells
            key = self._key(cells)
            if key is not None and known[key] and not self.rules.numbered:
                other = self.mine[known[key].pop(0)].cells
                self.result.differences.append(
                    Difference(
                        Happened.maybe_twice,
                        self.rules.sheet,
                        self.rules.named(cells),
                        "",
                        "; ".join(map(shown, other.values())),
                        "; ".join(map(shown, cells.values())),
                    )
                )
            self.result.added.append(dict(cells))

    def _finish(self) -> None:
        self.result.rows = [Row(row.sheet_row, self._new.get(place, row.cells)) for place, row in enumerate(self.mine)]

    # ---- pairs -------------------------------------------------------------------------------

    def _key(self, cells: Cells) -> tuple[Any, ...] | None:
        """What a row is known by; None if that is blank."""
        key = tuple(_plain(cells.get(name)) for name in self.rules.key)
        return key if any(part is not None for part in key) else None

    def _known(
        self,
        mine: Sequence[Row],
        theirs: Sequence[Row],
        among_mine: Iterable[int] | None = None,
        among_theirs: Iterable[int] | None = None,
    ) -> tuple[list[tuple[int, int]], list[int], list[int]]:
        """Rows of both that are the same without doubt, and the places of the others."""
        left = list(range(len(mine)) if among_mine is None else among_mine)
        right = list(range(len(theirs)) if among_theirs is None else among_theirs)
        if self.rules.by_place:
            count = min(len(left), len(right))
            return list(zip(left, right, strict=False)), left[count:], right[count:]
        pairs: list[tuple[int, int]] = []
        for key_of in (_whole, self._key):
            waiting: dict[Any, list[int]] = defaultdict(list)
            for m in left:
                if (key := key_of(mine[m].cells)) is not None:
                    waiting[key].append(m)
            taken: set[int] = set()
            still: list[int] = []
            for t in right:
                key = key_of(theirs[t].cells)
                found = self._next(waiting.get(key, []), mine, theirs[t]) if key is not None else None
                if found is None:
                    still.append(t)
                else:
                    taken.add(found)
                    pairs.append((found, t))
            left, right = [m for m in left if m not in taken], still
        return pairs, left, right

    def _next(self, waiting: list[int], mine: Sequence[Row], row: Row) -> int | None:
        """The first of the waiting rows that a row may be one with."""
        for place, m in enumerate(waiting):
            if self.rules.numbered or not _contradict(mine[m].cells, row.cells):
                return waiting.pop(place)
        return None

    def _agreed(self) -> list[tuple[int, int]]:
        """Rows of which both copies say the same, whatever they were before."""
        if self.rules.by_place:
            return []
        waiting: dict[Any, list[int]] = defaultdict(list)
        for m, row in enumerate(self.mine):
            waiting[_whole(row.cells)].append(m)
        pairs = []
        for t, row in enumerate(self.theirs):
            if found := waiting.get(_whole(row.cells)):
                pairs.append((found.pop(0), t))
        return pairs

    def _since(
        self,
        base: Sequence[Row],
        now: Sequence[Row],
        but_base: Mapping[int, int] | None = None,
        but_now: AbstractSet[int] = frozenset(),
        of_theirs: Mapping[int, int] | None = None,
    ) -> list[tuple[int, int]]:
        """Each row of the common copy and the one that it has become.

        `of_theirs` says which row of the other copy it has become: an earlier merge may have
        brought its cells here.
        """
        if self.rules.by_place:
            return [(place, place) for place in range(min(len(base), len(now)))]
        pairs: list[tuple[int, int]] = []
        left = [place for place in range(len(base)) if place not in (but_base or {})]
        right = [place for place in range(len(now)) if place not in but_now]
        for key_of in (_whole, self._key):
            waiting: dict[Any, list[int]] = defaultdict(list)
            for b in left:
                if (key := key_of(base[b].cells)) is not None:
                    waiting[key].append(b)
            taken: set[int] = set()
            still: list[int] = []
            for n in right:
                key = key_of(now[n].cells)
                if key is not None and waiting.get(key):
                    b = waiting[key].pop(0)
                    taken.add(b)
                    pairs.append((b, n))
                else:
                    still.append(n)
            left, right = [b for b in left if b not in taken], still
        least = _ALIKE_NUMBERED if self.rules.numbered else _ALIKE
        others = {b: self.theirs[t].cells for b, t in (of_theirs or {}).items()}
        return pairs + _most_alike(base, now, (left, right), least, others)


def same_cells(one: Cells, other: Cells) -> bool:
    """Whether the same is typed into two rows."""
    return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)


def _plain(value: Any) -> Any:
    if isinstance(value, str):
        return " ".join(value.split()).casefold() or None
    return value


def _whole(cells: Cells) -> frozenset[tuple[str, str, Any]]:
    return frozenset((key, type(value).__name__, value) for key, value in cells.items())


def _contradict(one: Cells, other: Cells) -> bool:
    return any(key in other and not same(value, other[key]) for key, value in one.items())


def _most_alike(
    base: Sequence[Row],
    now: Sequence[Row],
    alone: tuple[list[int], list[int]],
    least: float,
    others: Mapping[int, Cells],
) -> list[tuple[int, int]]:
    """Pairs of rows that share most of what is typed in them, the closest first."""
    by_cell: dict[tuple[str, str, Any], list[int]] = defaultdict(list)
    for b in alone[0]:
        for cell in _whole(base[b].cells):
            by_cell[cell].append(b)
    scores: list[tuple[float, int, int]] = []
    for n in alone[1]:
        cells = _whole(now[n].cells)
        shared: Counter[int] = Counter()
        for cell in cells:
            if len(rows := by_cell.get(cell, [])) <= _TOO_COMMON:
                shared.update(rows)
        for b, count in shared.items():
            score = count / max(len(cells), len(base[b].cells))
            other = _whole(others[b]) if b in others else None
            beside = score if other is None else len(cells & other) / max(len(cells), len(other))
            if max(score, beside) >= least:
                scores.append((-score - beside, b, n))
    # Where two rows are as close, nobody can tell which of them it has become.
    closest = Counter((b, score) for score, b, _ in scores)
    pairs: list[tuple[int, int]] = []
    used_base: set[int] = set()
    used_now: set[int] = set()
    for score, b, n in sorted(scores):
        if b not in used_base and n not in used_now and closest[b, score] == 1:
            pairs.append((b, n))
            used_base.add(b)
            used_now.add(n)
    return pairs
