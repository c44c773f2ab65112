"""An amount shared among the partners to the cent, step by step, on any form."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from sheetfns.cell_types import COUNT, MONEY, CellType
from sheetfns.log.model.sheets import AnyFormula, EditionFormula, FormCell, FormRow, Formula, FunctionCall
from sheetfns.log.sheets.form_rows import cell
from sheetfns.log.sheets.words import PARTNER_ROWS

PARTNERS_IN_ORDER: Final = range(1, PARTNER_ROWS + 1)
SHARES_NOT_READY: Final = "{shares_ready}=0"
SHARES_READY: Final = (
    "AND(ROUND(SUM(Partner_share)-1,9)=0,COUNTA(Partner_share)=COUNT(Partner_share),MIN(Partner_share,0)>=0)*1"
)
"""1 if the shares on Settings add up to 100%; each form keeps it in its cell {shares_ready}."""


def typed_of(column: str, partner: int) -> str:
    """What stands in a partner's row on Settings."""
    return f"INDEX(Partner_{column},{{place_{partner}}})"


def share_of(partner: int) -> str:
    """A partner's agreed share; 0 if it is blank."""
    return f"SUM({typed_of('share', partner)})"


def row_of(label: str, by_partner: Sequence[FormCell], in_all: FormCell) -> FormRow:
    """A row with a cell for each partner and one for all."""
    return FormRow(label, (*by_partner, in_all))


def form_cell(
    key: str,
    formula: AnyFormula | str,
    kind: CellType = MONEY,
    *,
    blank_if: str = "",
    step: bool = False,
    cell_format: str = "",
) -> FormCell:
    """A cell that is worked out; `step` if it is only on the way to a result."""
    return cell(key, kind, formula, blank_if, step=step, cell_format=cell_format)


@dataclass(frozen=True)
class Split:
    """An amount shared by the agreed shares to the cent: the largest remainder.

    The form has the rows of the partners on Settings in its cells {place_1} and so on. `year` tells
    amounts of one key apart; nothing where there is only one such amount. The ordinary formulas do
    in steps what PROFIT_SHARE does at once.
    """

    key: str
    label: str
    amount: str
    year: int | str = ""
    blank_if: str = SHARES_NOT_READY

    def _key(self, step: str, partner: int) -> str:
        return f"{self.key}_{step}_{self.year}{partner}"

    @property
    def _left(self) -> str:
        return f"{self.key}_left_{self.year}" if self.year else f"{self.key}_left"

    def _step(self, key: str, formula: str, cell_format: str = "") -> FormCell:
        return form_cell(key, formula, blank_if=self.blank_if, step=True, cell_format=cell_format)

    def part(self, partner: int, blank_if: str, around: str = "{}") -> AnyFormula:
        """One partner's part."""
        own = f"{{{self._key('rest', partner)}}}"
        ahead = "+".join(
            f"({{{self._key('rest', other)}}}{'>=' if other < partner else '>'}{own})"
            for other in PARTNERS_IN_ORDER
            if other != partner
        )
        plain = f"(INT({{{self._key('exact', partner)}}})+(({ahead})<{{{self._left}}})*1)/100*SIGN({{{self.amount}}})+0"
        call = FunctionCall(
            "PROFIT_SHARE",
            {"profit": f"{{{self.amount}}}", "shares": "Partner_share"},
            blank_if=blank_if,
            around=around.replace("{}", f"IF({share_of(partner)}=0,0,INDEX({{}},{{place_{partner}}}))"),
        )
        return EditionFormula(Formula(around.replace("{}", plain), blank_if), call)

    def steps(self) -> tuple[FormRow, FormRow]:
        """Each part before rounding, in cents, and the cents left over; then the remainders."""
        cents = f"ROUND(100*ABS({{{self.amount}}}),0)"
        exact = [self._key("exact", i) for i in PARTNERS_IN_ORDER]
        cents_of = [
            self._step(key, f"ROUND({cents}*{share_of(i)}/SUM(Partner_share),6)") for i, key in enumerate(exact, 1)
        ]
        whole = "".join(f"-INT({{{key}}})" for key in exact)
        left = form_cell(self._left, f"{cents}{whole}", COUNT, blank_if=self.blank_if, step=True)
        rests = tuple(
            self._step(self._key("rest", i), f"IF({share_of(i)}=0,-1,ROUND({{{key}}}-INT({{{key}}}),6))", "0.000000")
            for i, key in enumerate(exact, 1)
        )
        year = f", year {self.year}" if self.year else ""
        return (row_of(f"{self.label} in cents{year}", cents_of, left), FormRow(f"{self.label}, rest{year}", rests))
