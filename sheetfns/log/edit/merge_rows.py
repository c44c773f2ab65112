"""Which rows of two copies are the same, and what becomes of cells that differ; no file in sight.

A row is what is typed into it, by column key; blanks are left out. Columns that a seller has added
have keys of their own (see `custom_key`).
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, Final

from sheetfns.log.edit.values import shown

Cells = dict[str, Any]
_ALIKE: Final = 0.5
_ALIKE_NUMBERED: Final = 0.75
"""Rows that share so much of what is typed in both are the same row, changed since."""
_TOO_COMMON: Final = 200
"""A value that stands in more rows does not tell them apart."""
_OWN: Final = "own: "


class MergeOutcome(StrEnum):
    """What became of something on which two copies differ, the most urgent first."""

    both_changed = "Both changed it"
    differ = "The two copies differ"
    one_number = "Two items under one number"
    renumbered = "Given a new number"
    deleted = "Deleted in one copy, kept"
    maybe_twice = "May be duplicated"
    no_place = "No place for it in this log"
    other_sheet = "A sheet of the other copy, not copied"
    changed = "Changed in one copy, used"


@dataclass(frozen=True)
class Difference:
    """One thing on which two copies differ, and what is kept.

    Attributes:
        outcome: what became of it.
        sheet: the sheet's name.
        named: the item number or the words by which the row is known.
        column: the column's header; "" for a whole row.
        kept, other, last: the value in the result, the other one, and the last common one.
        kept_ours: whether what is kept is of the first copy.
    """

    outcome: MergeOutcome
    sheet: str
    named: str
    column: str
    kept: Any = None
    other: Any = None
    last: Any = None
    kept_ours: bool = True


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
        identity: for numbered rows, the columns that tell two items apart.
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


def custom_key(header: str) -> str:
    """The key of a column that a seller has added."""
    return f"{_OWN}{header.strip()}"


def is_custom(key: str) -> bool:
    """Whether a column was added by a seller."""
    return key.startswith(_OWN)


def _never(_: Difference) -> bool:
    return False


def merge_rows(
    rules: Rules,
    ours: Sequence[Row],
    theirs: Sequence[Row],
    base: Sequence[Row] | None,
    *,
    new_number: Callable[[str], str] | None = None,
    done: Callable[[Difference], bool] = _never,
) -> Merged:
    """Bring the rows of two copies together.

    Args:
        rules: how rows are told apart.
        ours, theirs: the rows of the copies.
        base: the rows of the last common copy; None if there is none.
        new_number: gives a free number for a different item under the same one; without it such
            an item is only listed.
        done: whether an earlier merge has taken a change already; it is not taken again.
    """
    merging = _Merging(rules, ours, theirs, new_number, done)
    if base is None:
        merging.pair_two()
    else:
        merging.pair_three(base)
    return merging.result


def merge_cells(  # noqa: PLR0917  (three copies of one row, and what it is)
    rules: Rules,
    ours: Cells,
    theirs: Cells,
    base: Cells | None,
    named: str,
    done: Callable[[Difference], bool] = _never,
) -> tuple[Cells, list[Difference]]:
    """Bring the cells of one row together; `base` is the row in the last common copy, if any."""
    result = dict(ours)
    found: list[Difference] = []
    for key in [*ours, *(key for key in theirs if key not in ours)]:
        one, other = ours.get(key), theirs.get(key)
        if same(one, other):
            continue
        column = rules.header(key)
        last = None if base is None else base.get(key)
        if base is not None and same(other, last):
            # Ours was changed since; nobody else touched it.
            found.append(Difference(MergeOutcome.changed, rules.sheet, named, column, one, other, last))
        elif one is None if base is None else same(one, last):
            taken = Difference(MergeOutcome.changed, rules.sheet, named, column, other, one, last, kept_ours=False)
            if one is None or not done(taken):
                _set(result, key, other)
                found.append(taken)
        elif base is not None or other is not None:
            outcome = MergeOutcome.differ if base is None else MergeOutcome.both_changed
            found.append(Difference(outcome, rules.sheet, named, column, one, other, last))
    # Where a blank gave way nothing is lost, and no line is needed.
    return result, [one for one in found if one.other is not None or one.outcome is not MergeOutcome.changed]


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
        ours: Sequence[Row],
        theirs: Sequence[Row],
        new_number: Callable[[str], str] | None,
        done: Callable[[Difference], bool],
    ) -> None:
        self.rules = rules
        self.ours = ours
        self.theirs = theirs
        self.new_number = new_number
        self.done = done
        self.result = Merged()
        self._new: dict[int, Cells] = {}
        """New cells of our rows, by their place."""

    def pair_two(self) -> None:
        """Without a common copy: rows of both, equal or under one key."""
        pairs, alone_ours, alone_theirs = self._known(self.ours, self.theirs)
        for m, t in pairs:
            self._same_row(m, t)
        self._new_rows(alone_ours, alone_theirs)
        self._finish()

    def pair_three(self, base: Sequence[Row]) -> None:
        """With a common copy: each row against what it was."""
        of_theirs = dict(self._since(base, self.theirs))
        agreed = self._agreed()
        before = {t: place for place, t in of_theirs.items()}
        of_ours = {before[t]: m for m, t in agreed if t in before}
        of_ours |= dict(self._since(base, self.ours, of_ours, {m for m, _ in agreed}, of_theirs))
        for place, last in enumerate(base):
            m, t = of_ours.get(place), of_theirs.get(place)
            named = self.rules.named(last.cells)
            if m is not None and t is not None:
                cells, found = merge_cells(
                    self.rules, self.ours[m].cells, self.theirs[t].cells, last.cells, named, self.done
                )
                self._new[m] = cells
                self.result.differences += found
            elif m is not None or t is not None:
                self._deleted(last, m, t)
        known_ours = set(of_ours.values()) | {m for m, _ in agreed}
        known_theirs = set(of_theirs.values()) | {t for _, t in agreed}
        alone_ours = [i for i in range(len(self.ours)) if i not in known_ours]
        alone_theirs = [i for i in range(len(self.theirs)) if i not in known_theirs]
        pairs, alone_ours, alone_theirs = self._known(self.ours, self.theirs, alone_ours, alone_theirs)
        for m, t in pairs:
            self._same_row(m, t)
        self._new_rows(alone_ours, alone_theirs)
        self._finish()

    def _deleted(self, last: Row, m: int | None, t: int | None) -> None:
        """A row that only one copy still has: it stays, and a reader is told."""
        kept_ours = m is not None
        cells = self.ours[m].cells if m is not None else self.theirs[t].cells  # type: ignore[index]
        self.result.differences.append(
            Difference(
                MergeOutcome.deleted,
                self.rules.sheet,
                self.rules.named(cells),
                "",
                "; ".join(shown(value) for value in cells.values()),
                None,
                None if same_cells(cells, last.cells) else "changed since in the other copy",
                kept_ours=kept_ours,
            )
        )
        if not kept_ours:
            self.result.added.append(dict(cells))

    def _same_row(self, m: int, t: int) -> None:
        """A row of both without a common one: blanks are filled, the rest is listed."""
        ours, theirs = self.ours[m].cells, self.theirs[t].cells
        if self.rules.numbered and different_items(self.rules, ours, theirs):
            self._second_item(ours, theirs)
            return
        cells, found = merge_cells(self.rules, ours, theirs, None, self.rules.named(ours))
        self._new[m] = cells
        self.result.differences += found

    def _second_item(self, ours: Cells, theirs: Cells) -> None:
        number = self.rules.key[0]
        rest = {key: value for key, value in theirs.items() if key != number}
        if any(same_cells({k: v for k, v in row.cells.items() if k != number}, rest) for row in self.ours):
            return  # it was given a number of its own before
        named = self.rules.named(theirs)
        if self.new_number is not None:
            new = self.new_number(shown(theirs[number]))
            self.result.added.append({number: new, **rest})
            self.result.differences.append(
                Difference(
                    MergeOutcome.renumbered,
                    self.rules.sheet,
                    named,
                    self.rules.header(number),
                    new,
                    theirs[number],
                    kept_ours=False,
                )
            )
            return
        self.result.differences += [
            Difference(MergeOutcome.one_number, self.rules.sheet, named, self.rules.header(key), ours.get(key), value)
            for key, value in rest.items()
            if not same(ours.get(key), value)
        ]

    def _new_rows(self, alone_ours: list[int], alone_theirs: list[int]) -> None:
        """Rows that only one copy has; of a pair that looks like one row, both stay."""
        known = defaultdict(list)
        for m in alone_ours:
            known[self._key(self.ours[m].cells)].append(m)
        for t in alone_theirs:
            cells = self.theirs[t].cells
            key = self._key(cells)
            if key is not None and known[key] and not self.rules.numbered:
                other = self.ours[known[key].pop(0)].cells
                self.result.differences.append(
                    Difference(
                        MergeOutcome.maybe_twice,
                        self.rules.sheet,
                        self.rules.named(cells),
                        "",
                        "; ".join(map(shown, other.values())),
                        "; ".join(map(shown, cells.values())),
                    )
                )
            self.result.added.append(dict(cells))

    def _finish(self) -> None:
        self.result.rows = [Row(row.sheet_row, self._new.get(place, row.cells)) for place, row in enumerate(self.ours)]

    # ---- pairs -------------------------------------------------------------------------------

    def _key(self, cells: Cells) -> tuple[Any, ...] | None:
        """What a row is known by; None if that is blank."""
        key = tuple(_folded(cells.get(name)) for name in self.rules.key)
        return key if any(part is not None for part in key) else None

    def _known(
        self,
        ours: Sequence[Row],
        theirs: Sequence[Row],
        among_ours: Iterable[int] | None = None,
        among_theirs: Iterable[int] | None = None,
    ) -> tuple[list[tuple[int, int]], list[int], list[int]]:
        """Rows of both that are the same without doubt, and the places of the others."""
        left = list(range(len(ours)) if among_ours is None else among_ours)
        right = list(range(len(theirs)) if among_theirs is None else among_theirs)
        if self.rules.by_place:
            count = min(len(left), len(right))
            return list(zip(left, right, strict=False)), left[count:], right[count:]
        return _paired(ours, theirs, left, right, (_whole, self._key), self._may_be_one)

    def _may_be_one(self, one: Cells, other: Cells) -> bool:
        return self.rules.numbered or not _contradict(one, other)

    def _agreed(self) -> list[tuple[int, int]]:
        """Rows of which both copies say the same, whatever they were before."""
        if self.rules.by_place:
            return []
        rows = range(len(self.ours)), range(len(self.theirs))
        return _paired(self.ours, self.theirs, *rows, (_whole,))[0]

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
        left = [place for place in range(len(base)) if place not in (but_base or {})]
        right = [place for place in range(len(now)) if place not in but_now]
        pairs, left, right = _paired(base, now, left, right, (_whole, self._key))
        minimum = _ALIKE_NUMBERED if self.rules.numbered else _ALIKE
        others = {b: self.theirs[t].cells for b, t in (of_theirs or {}).items()}
        return pairs + _most_alike(base, now, (left, right), minimum, others)


def different_items(rules: Rules, one: Cells, other: Cells) -> bool:
    """Whether two rows under one number are of different items."""
    both = [key for key in rules.identity if key in one and key in other]
    differ = sum(not same(one[key], other[key]) for key in both)
    return differ > len(both) - differ and differ >= min(2, len(both))


def same_cells(one: Cells, other: Cells) -> bool:
    """Whether the same is typed into two rows."""
    return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)


def _folded(value: Any) -> Any:
    if isinstance(value, str):
        return " ".join(value.split()).casefold() or None
    return value


def _whole(cells: Cells) -> frozenset[tuple[str, str, Any]]:
    return frozenset((key, type(value).__name__, value) for key, value in cells.items())


def _contradict(one: Cells, other: Cells) -> bool:
    return any(key in other and not same(value, other[key]) for key, value in one.items())


def _paired(  # noqa: PLR0917  (two lists of rows, and which of them)
    ones: Sequence[Row],
    others: Sequence[Row],
    left: Iterable[int],
    right: Iterable[int],
    keys: Iterable[Callable[[Cells], Any]],
    may_be_one: Callable[[Cells, Cells], bool] = lambda _one, _other: True,
) -> tuple[list[tuple[int, int]], list[int], list[int]]:
    """Rows of two copies with one key, the surest kind of key first, and the places of the others."""
    left, right = list(left), list(right)
    pairs: list[tuple[int, int]] = []
    for key_of in keys:
        waiting: dict[Any, list[int]] = defaultdict(list)
        for place in left:
            if (key := key_of(ones[place].cells)) is not None:
                waiting[key].append(place)
        still: list[int] = []
        for place in right:
            cells = others[place].cells
            same_key = waiting.get(key_of(cells), [])
            found = next((one for one in same_key if may_be_one(ones[one].cells, cells)), None)
            if found is None:
                still.append(place)
            else:
                same_key.remove(found)
                pairs.append((found, place))
        taken = {one for one, _ in pairs}
        left, right = [place for place in left if place not in taken], still
    return pairs, left, right


def _most_alike(
    base: Sequence[Row],
    now: Sequence[Row],
    alone: tuple[list[int], list[int]],
    minimum: float,
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
            if max(score, beside) >= minimum:
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
