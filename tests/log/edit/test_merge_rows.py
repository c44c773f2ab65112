"""Which rows of two copies are one, and what becomes of what differs; without any file."""

from __future__ import annotations

import copy
from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from sheetfns.log.edit.merge_rows import MergeOutcome, Row, Rules, merge_cells, merge_rows

ITEMS = Rules("Sourcing log", ("item",), numbered=True, identity=("what", "day", "paid"))
COSTS = Rules("Expenses", ("day", "what"))


def rows(*cells):
    return [Row(place, dict(one)) for place, one in enumerate(cells, 7)]


def result(merged):
    return [row.cells for row in merged.rows] + merged.added


def what(merged):
    return [(one.outcome, one.column, one.kept, one.other) for one in merged.differences]


def item(number="A1", **more):
    return {"item": number, "what": "Lamp", "day": 1.0, "paid": 4.0} | more


def test_changed_on_one_side_is_taken_from_either():
    merged = merge_rows(ITEMS, rows(item(price=9.0)), rows(item(price=8.0, paid=5.0)), rows(item(price=8.0)))
    assert result(merged) == [item(price=9.0, paid=5.0)]
    assert what(merged) == [(MergeOutcome.changed, "paid", 5.0, 4.0), (MergeOutcome.changed, "price", 9.0, 8.0)]
    assert [one.kept_ours for one in merged.differences] == [False, True]


def test_the_same_change_on_both_sides_is_no_difference():
    merged = merge_rows(ITEMS, rows(item(price=9.0)), rows(item(price=9.0)), rows(item()))
    assert (result(merged), what(merged)) == ([item(price=9.0)], [])


def test_both_changed_is_kept_from_mine_and_listed_with_the_last_value():
    merged = merge_rows(ITEMS, rows(item(price=9.0)), rows(item(price=7.0)), rows(item(price=8.0)))
    assert result(merged) == [item(price=9.0)]
    (one,) = merged.differences
    assert (one.outcome, one.kept, one.other, one.last) == (MergeOutcome.both_changed, 9.0, 7.0, 8.0)


def test_cleared_against_changed_is_listed():
    merged = merge_rows(ITEMS, rows(item()), rows(item(price=7.0)), rows(item(price=8.0)))
    assert result(merged) == [item()]
    assert what(merged) == [(MergeOutcome.both_changed, "price", None, 7.0)]
    merged = merge_rows(ITEMS, rows(item(price=7.0)), rows(item()), rows(item(price=8.0)))
    assert result(merged) == [item(price=7.0)]
    assert what(merged) == [(MergeOutcome.both_changed, "price", 7.0, None)]


def test_without_a_common_copy_blanks_are_filled_and_the_rest_is_listed():
    merged = merge_rows(ITEMS, rows(item(price=9.0)), rows(item(price=8.0, fee=1.0)), None)
    assert result(merged) == [item(price=9.0, fee=1.0)]
    assert what(merged) == [(MergeOutcome.differ, "price", 9.0, 8.0)]


def test_new_rows_of_both_are_kept():
    merged = merge_rows(ITEMS, rows(item(), item("A2")), rows(item(), item("A3", what="Vase")), rows(item()))
    assert [cells["item"] for cells in result(merged)] == ["A1", "A2", "A3"]
    assert merged.differences == []


def test_a_row_deleted_on_one_side_stays_and_is_listed():
    for mine, theirs in (((), (item(),)), ((item(),), ())):
        merged = merge_rows(ITEMS, rows(*mine), rows(*theirs), rows(item()))
        assert result(merged) == [item()]
        (one,) = merged.differences
        assert (one.outcome, one.kept_ours) == (MergeOutcome.deleted, bool(mine))
    assert result(merge_rows(ITEMS, [], [], rows(item()))) == []


def test_two_items_under_one_number_are_listed_or_get_another_number():
    other = {"item": "a1", "what": "Chair", "day": 2.0, "paid": 30.0, "price": 50.0}
    merged = merge_rows(ITEMS, rows(item()), rows(other), None)
    assert result(merged) == [item()]
    assert {one.outcome for one in merged.differences} == {MergeOutcome.one_number}
    assert {one.other for one in merged.differences} == {"Chair", 2.0, 30.0, 50.0}
    merged = merge_rows(ITEMS, rows(item()), rows(other), None, new_number=lambda _: "A2")
    assert result(merged) == [item(), other | {"item": "A2"}]
    assert what(merged) == [(MergeOutcome.renumbered, "item", "A2", "a1")]
    again = merge_rows(ITEMS, rows(*result(merged)), rows(other), None, new_number=lambda _: "A3")
    assert (result(again), again.differences) == (result(merged), [])


def test_a_number_that_was_changed_is_no_new_item():
    merged = merge_rows(ITEMS, rows(item("B7")), rows(item()), rows(item()))
    assert result(merged) == [item("B7")]


def test_rows_without_numbers_are_one_if_nothing_contradicts():
    rent = {"day": 3.0, "what": "Rent", "amount": 20.0}
    merged = merge_rows(COSTS, rows(rent), rows(rent | {"note": "June"}), None)
    assert (result(merged), merged.differences) == ([rent | {"note": "June"}], [])
    merged = merge_rows(COSTS, rows(rent), rows(rent | {"amount": 25.0}), None)
    assert result(merged) == [rent, rent | {"amount": 25.0}]
    assert [one.outcome for one in merged.differences] == [MergeOutcome.maybe_twice]
    twice = merge_rows(COSTS, rows(rent, rent), rows(rent, rent, rent), None)
    assert len(result(twice)) == 3


def test_a_corrected_row_without_number_is_known_by_the_rest_of_it():
    rent = {"day": 3.0, "what": "Rent", "amount": 20.0, "from": "Business"}
    merged = merge_rows(COSTS, rows(rent | {"day": 4.0}), rows(rent), rows(rent))
    assert result(merged) == [rent | {"day": 4.0}]


def test_true_is_not_one():
    cells, found = merge_cells(ITEMS, {"a": True}, {"a": 1.0}, None, "x")
    assert cells["a"] is True
    assert [one.other for one in found] == [1.0]


NUMBERS = st.sampled_from(["A1", "A2", "A3", "A4"])
CELLS = st.dictionaries(st.sampled_from(["what", "day", "paid", "price"]), st.sampled_from([1.0, 2.0, "x", "y"]))


@st.composite
def copies_of_one(draw, rules):
    """A common copy and what two partners made of it."""

    def some_row():
        cells = draw(CELLS)
        return (
            cells | {rules.key[0]: draw(NUMBERS)} if rules.numbered or draw(st.booleans()) else (cells | {"what": "z"})
        )

    base = [some_row() for _ in range(draw(st.integers(0, 4)))]

    def edited():
        copied = [copy.deepcopy(row) for row in base if draw(st.integers(0, 5))]
        for row in copied:
            if draw(st.booleans()):
                key = draw(st.sampled_from(["what", "day", "paid", "price"]))
                row[key] = draw(st.sampled_from([3.0, 4.0, "v", "w"]))
            if draw(st.integers(0, 4)) == 0 and len(row) > 2:
                row.pop(draw(st.sampled_from([k for k in row if k != rules.key[0]])))
        copied += [some_row() for _ in range(draw(st.integers(0, 2)))]
        return rows(*draw(st.permutations(copied)))

    return edited(), edited(), draw(st.sampled_from([rows(*base), None]))


def assert_nothing_is_lost(rules, mine, theirs, base, merged):
    there = Counter((key, value) for cells in result(merged) for key, value in cells.items())
    listed = {value for one in merged.differences for value in (one.kept, one.other)}
    texts = " ".join(str(value) for value in listed)
    for side in (mine, theirs):
        for row in side:
            for key, value in row.cells.items():
                assert there[key, value] or value in listed or str(value) in texts, (key, value)
    assert [row.sheet_row for row in merged.rows] == [row.sheet_row for row in mine]


@given(copies_of_one(ITEMS))
def test_nothing_is_lost_of_items(copies):
    mine, theirs, base = copies
    merged = merge_rows(ITEMS, mine, theirs, base)
    assert_nothing_is_lost(ITEMS, mine, theirs, base, merged)


@given(copies_of_one(COSTS))
def test_nothing_is_lost_of_rows_without_numbers(copies):
    mine, theirs, base = copies
    merged = merge_rows(COSTS, mine, theirs, base)
    assert_nothing_is_lost(COSTS, mine, theirs, base, merged)


@given(copies_of_one(ITEMS), st.booleans())
def test_a_second_merge_changes_nothing(copies, renumber):
    mine, theirs, base = copies
    taken = iter(f"B{number}" for number in range(1, 99))
    new_number = (lambda _: next(taken)) if renumber else None
    first = merge_rows(ITEMS, mine, theirs, base, new_number=new_number)
    after = rows(*result(first))
    second = merge_rows(ITEMS, after, theirs, base, new_number=new_number)
    assert result(second) == result(first)
