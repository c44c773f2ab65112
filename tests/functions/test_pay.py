"""What can be drawn, what takes it, and what a pay asks for."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheetfns import CellError, draw_remark, inventory_for_pay, safe_draw, selling_fee

amounts = st.integers(0, 300_000)


@given(st.integers(-50_000, 600_000), st.tuples(amounts, amounts, amounts, amounts))
def test_the_remark_says_which_claim_leaves_nothing(cash: int, claims: tuple[int, int, int, int]) -> None:
    bills, restock, tax, refunds = claims
    cells = [amount / 100 for amount in (cash, bills, restock, tax, refunds)]
    assert safe_draw(*cells) == pytest.approx(max(0, cash - sum(claims)) / 100, abs=1e-9)
    reached = [bills, bills + refunds, bills + refunds + tax, sum(claims)]
    wanted = next(
        (
            words
            for claimed, words in zip(
                [0, *reached],
                ["there is no cash", "bills due", "open refunds", "tax reserve", "restock reserve"],
                strict=True,
            )
            if cash <= claimed
        ),
        "free after",
    )
    remark = draw_remark(*cells)
    assert wanted in remark
    assert remark.startswith("nothing: ") == (cash <= sum(claims))


def test_a_column_of_days_with_a_bad_row() -> None:
    cash, bills = [2000, None, 900, 500], [350, None, 350, -1]
    drawn = safe_draw(cash, bills, 800)
    remarks = draw_remark(cash, bills, 800)
    assert list(drawn[[0, 2]]) == [850, 0]
    assert remarks[0] == "free after bills, refunds, tax and restock reserve"
    for column in (drawn, remarks):
        assert column[1].message.startswith("cash is blank")
        assert column[3].message == "bills_due: -1 is below 0; write 0 or more"


@given(
    st.integers(0, 500_000),
    st.integers(0, 100_000),
    st.integers(1, 10_000),
    st.integers(1, 1_000),
    st.integers(0, 20_000),
)
def test_the_inventory_for_a_pay_earns_it(pay: int, fixed: int, profit: int, per_mille: int, cost: int) -> None:
    ((sold, listed, money),) = inventory_for_pay(
        pay / 100, fixed / 100, profit / 100, per_mille / 1000, cost / 100
    ).tolist()
    exact = Fraction(pay + fixed, profit)
    assert sold == pytest.approx(float(exact))
    assert listed == pytest.approx(float(exact * 1000 / per_mille))
    assert money == pytest.approx(float(exact * 1000 / per_mille * Fraction(cost, 100)))
    # What so many listed items sell in a month carries pay and fixed costs.
    assert listed * (per_mille / 1000) * (profit / 100) == pytest.approx((pay + fixed) / 100)


@pytest.mark.parametrize(
    ("cells", "message"),
    [
        (
            (450, 60, 0, 0.25),
            "profit_per_item: must be above 0, or no number of sales covers a pay; raise prices or lower costs first",
        ),
        (
            (450, 60, 12, 0),
            "sold_rate_per_month: is 0, so no inventory is large enough; write the share that sells in "
            "a month, such as 20%",
        ),
        ((450, 60, [12, 13], 0.2), "profit_per_item: give one cell, not a range"),
    ],
)
def test_refusals_of_inventory_for_pay(cells: tuple[float, ...], message: str) -> None:
    with pytest.raises(CellError) as caught:
        inventory_for_pay(*cells)
    assert caught.value.message == message


@pytest.mark.parametrize("price", [12, 30, 75])
def test_fees_beside_a_monthly_pay(price: float) -> None:
    """A pay of 600 goes with 200 to 300 of selling fees: common practice, no source.

    At a fee of 13% of sales and a profit of 35% of sales: 600 / 0.35 x 0.13 = 222.86.
    """
    ((sold, _, _),) = inventory_for_pay(600, 0, price * 0.35, 0.2).tolist()
    fees = sold * selling_fee(price, 0, 0.13, 0)
    assert fees == pytest.approx(600 / 0.35 * 0.13)
    assert 200 <= fees <= 300
