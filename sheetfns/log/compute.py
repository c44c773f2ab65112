"""The log's results worked out in Python, apart from the workbook's formulas.

The same rules as in the layout, on whole columns and through the worksheet functions: what the
workbook shows must equal this to the cent.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

import numpy as np
import pandas as pd

from sheetfns import calling
from sheetfns.errors import LogFileError
from sheetfns.functions.cautions import resale_caution
from sheetfns.log.model.reads import (
    Amount,
    Block,
    EditionOfLog,
    FormInputs,
    OlderLayout,
    Results,
    Source,
    Typed,
    Unread,
    Verdicts,
    record_of,
    sources_of,
)
from sheetfns.log.model.sheets import FIRST_ROW
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.buying_plan import compute as buying_plan
from sheetfns.log.sheets.charts.compute import work_out_charts
from sheetfns.log.sheets.comparables import compute as comparables
from sheetfns.log.sheets.inventory.compute import work_out_stale, work_out_stock
from sheetfns.log.sheets.listing_desk import compute as listing_desk
from sheetfns.log.sheets.lookups import KEY_STEP, add_channel_terms, called, looked_up, owner_paid, terms_of, topic_of
from sheetfns.log.sheets.lots import compute as lots
from sheetfns.log.sheets.owner_money.cash_flows import CashFlows
from sheetfns.log.sheets.partners.compute import work_out_partners
from sheetfns.log.sheets.pay.compute import work_out_outlook, work_out_pay
from sheetfns.log.sheets.registry import layout
from sheetfns.log.sheets.row_checks import with_row_checks
from sheetfns.log.sheets.shelf_check import compute as shelf_check
from sheetfns.log.sheets.sourcing_log.inventory import add_stock_columns, stock_at_cost
from sheetfns.log.sheets.words import (
    BACK,
    BUYER,
    DISCARDED,
    DONATED,
    IN_STOCK,
    LISTED,
    OWN_USE,
    PART_REFUND,
    REFUNDED,
    RELISTED,
    RETURNED_PIECE,
    SOLD,
)
from sheetfns.log.sheets.year_end import compute as year_end
from sheetfns.log.sheets.year_end.books import YearReads, rows_to_mend
from sheetfns.log.sheets.year_end.compute import YearFigures, compute_year
from sheetfns.money import round_money, round_up_money
from sheetfns.registry import REGISTRY

EPOCH: Final = pd.Timestamp(1899, 12, 30)
"""The day that spreadsheets count as 0."""
LAST_TAX_YEAR: Final = 9998
"""Dates end with the year after it."""
_STAGES: Final = (IN_STOCK, LISTED, SOLD, PART_REFUND, REFUNDED, BACK)
"""The status words in the order of a sale."""
CENT_NOISE: Final = 0.005
"""Amounts of money that differ by less than half a cent are the same amount."""


RoomCompute = Callable[[Any], pd.DataFrame]

ROOMS: Final[Mapping[str, RoomCompute]] = {
    "Comps": comparables.compute,
    "Lots": lots.compute,
    "Desk": listing_desk.compute,
    "Plan": buying_plan.compute,
    "Shelf": shelf_check.compute,
    "Year": year_end.compute,
}
"""What works a sheet out, by the key of the sheet; in the order in which results are shown."""


class LogResults:
    """What a log comes to: the frame of each sheet by its key, worked out when it is asked for.

    A frame holds the typed columns of a sheet with rows and its results, under their keys in the layout; of a form it
    is one row. `content` is the log itself.
    """

    def __init__(self, content: LogContent) -> None:
        self.content = content
        self._frames: dict[str, pd.DataFrame] = {}
        self._under_way: list[str] = []
        self._blocks: dict[str, pd.DataFrame] = {}

    def __getitem__(self, sheet: str) -> pd.DataFrame:
        if sheet not in self._frames:
            if sheet in self._under_way:
                raise CircularSheetsError(" -> ".join([*self._under_way, sheet]))
            self._under_way.append(sheet)
            try:
                self._frames[sheet] = self._work_out(sheet)
            finally:
                self._under_way.pop()
        return self._frames[sheet]

    def reads(self, record: type[Any]) -> Any:
        """A record with what it reads."""
        return record(**{name: self._value(source) for name, source in sources_of(record).items()})

    def _work_out(self, sheet: str) -> pd.DataFrame:
        if sheet in ROOMS:
            return ROOMS[sheet](self.reads(record_of(ROOMS[sheet])))
        return _NOT_YET_ROOMS[sheet](self)

    def _value(self, source: Source) -> Any:
        content = self.content
        match source:
            case Results(sheet, columns):
                frame = self[sheet]
                return frame[list(columns)] if columns else frame
            case Block(key):
                return self._block(key)
            case Typed(sheet):
                return content.sheets[sheet]
            case Verdicts(sheet):
                return content.verdicts(sheet)
            case FormInputs(form):
                return content.forms.get(form, {})
            case Unread(key):
                return content.unread.get(key, {})
            case EditionOfLog():
                return content.edition
            case OlderLayout():
                return content.older
        value = content.settings.get(source.name)
        return float(value or 0) if isinstance(source, Amount) else value

    def _block(self, key: str) -> pd.DataFrame:
        if key not in self._blocks:
            self._blocks[key] = self.content.blocks[key].assign(place=self.content.places_in_block(key))
        return self._blocks[key]

    @property
    def left_out(self) -> int:
        """Rows of the sourcing log that lack what their results need."""
        pieces = self["Log"]
        incomplete = pieces["landed_cost"].isna() | (pieces["sold_on"].notna() & pieces["net_profit"].isna())
        return int(incomplete.sum())


class CircularSheetsError(RecursionError):
    """Two sheets read each other's results."""


def compute_log(content: LogContent) -> LogResults:
    """Every result of a log that was read.

    Errors:
        LogFileError: Settings lacks a date or year without which there are no figures.
    """
    for name in ("First_month", "As_of_date", "Tax_year"):
        if content.settings.get(name) is None:
            label = layout().setting(name).label
            raise LogFileError(f"{content.path.name}: {label} on sheet Settings is blank or cannot be read; fill it in")
    year = float(content.settings["Tax_year"])
    if not 1 <= year <= LAST_TAX_YEAR:
        raise LogFileError(
            f"{content.path.name}: Tax year on sheet Settings is {year:g}; write it in full, such as 2026"
        )
    return LogResults(content)


def year_figures(results: LogResults, year: int) -> YearFigures:
    """The figures of any tax year of a log that was worked out."""
    return compute_year(results.reads(YearReads), year)


# ---- sheets that are not rooms of their own yet --------------------------------------------------


def _log(results: LogResults) -> pd.DataFrame:
    pieces = _pieces(results.content, _lots(results.content))
    return _with_findings(results.content, "Log", pieces)


def _expenses(results: LogResults) -> pd.DataFrame:
    content = results.content
    expenses = content.sheets["Expenses"].copy()
    expenses["owner_paid"] = owner_paid(content.blocks["Partner"], expenses["paid_from"], expenses["amount"])
    return _with_findings(content, "Expenses", expenses)


def _trips_sheet(results: LogResults) -> pd.DataFrame:
    trips = _with_findings(results.content, "Trips", _trips(results.content))
    _number_trips_to_mend(trips, int(results.content.settings["Tax_year"]))
    return trips


def _flows(results: LogResults) -> CashFlows:
    return CashFlows(results.content, results["Log"], results["Lots"], results["Expenses"])


def _owner(results: LogResults) -> pd.DataFrame:
    return _with_findings(results.content, "Owner", _cash_counts(results.content, _flows(results)))


def _money(results: LogResults) -> pd.DataFrame:
    months = _months(results.content, results["Log"], results["Lots"], results["Expenses"])
    _add_last_counts(months, results["Owner"])
    return months


def _pay(results: LogResults) -> pd.DataFrame:
    return work_out_pay(
        results.content,
        results["Log"],
        results["Lots"],
        results["Expenses"],
        flows=_flows(results),
        owner=results["Owner"],
        months=results["Money"],
    )


def _with_findings(content: LogContent, key: str, rows: pd.DataFrame) -> pd.DataFrame:
    table = layout().table(key)
    first = rows[table.columns[0].key]
    named = first != "" if table.columns[0].kind.holds == "text" else first.notna()
    return with_row_checks(rows, table.checks, content.verdicts(key), named)


_NOT_YET_ROOMS: Final[Mapping[str, Callable[[LogResults], pd.DataFrame]]] = {
    "Log": _log,
    "Expenses": _expenses,
    "Trips": _trips_sheet,
    "Own": lambda r: _with_findings(r.content, "Own", _own_things(r.content)),
    "Owner": _owner,
    "Money": _money,
    "Outlook": lambda r: work_out_outlook(r.content, r["Pay"]),
    "Stale": lambda r: work_out_stale(r.content, r["Log"]),
    "Pay": _pay,
    "Stock": lambda r: work_out_stock(r.content, r["Log"], r["Lots"], r["Money"]),
    "Partners": lambda r: work_out_partners(r.content, r["Log"], r["Lots"], r["Expenses"], r["Money"]),
    "Charts": lambda r: work_out_charts(r.content, r["Log"], r["Money"], r["Pay"]),
}


def _own_things(content: LogContent) -> pd.DataFrame:
    own = content.sheets["Own"].copy()
    sold = (own["item"] != "") & own["sold_on"].notna() & own["sale_price"].notna()
    proceeds = own["sale_price"] + own["shipping_charged"].fillna(0)
    own["proceeds"] = (proceeds - own["selling_costs"].fillna(0)).where(sold)
    over = pd.Series(round_money((own["proceeds"] - own["cost"]).to_numpy(float)), own.index)
    own["gain"], own["loss"] = over.clip(lower=0), (0.0 - over).clip(lower=0)
    return own


def _lots(content: LogContent) -> pd.DataFrame:
    lots = content.sheets["Lots"].copy()
    lots["total"] = round_money((lots["paid"].fillna(0) + lots["purchase_tax"].fillna(0)).to_numpy(float))
    return lots


def _pieces(content: LogContent, lots: pd.DataFrame) -> pd.DataFrame:
    pieces = content.sheets["Log"].copy()
    first_lots = lots.drop_duplicates("lot_no").set_index("lot_no")
    in_lot = pieces["lot_no"] != ""
    lot_date = looked_up(pieces["lot_no"], first_lots["bought_on"])
    pieces["stock_date"] = pieces["bought_on"].where(~in_lot, lot_date)
    lot_row = looked_up(pieces["lot_no"], first_lots["sheet_row"] - FIRST_ROW + 1.0)
    pieces["lot_row"] = lot_row.where(in_lot)
    pieces["lot_share"] = _lot_shares(pieces, first_lots["total"])
    own = pieces["paid"].fillna(0) + pieces["purchase_tax"].fillna(0)
    returned_piece = pieces["paid_from"] == RETURNED_PIECE
    pieces["carried_over"] = own.where(returned_piece, 0.0)
    pieces["outlay"] = own.where(~returned_piece, 0.0) + pieces["prep_cost"].fillna(0)
    pieces["owner_paid"] = owner_paid(content.blocks["Partner"], pieces["paid_from"], pieces["outlay"])
    costed = pieces["lot_share"].notna() & (in_lot | pieces["paid"].notna())
    pieces["landed_cost"] = called(
        "LANDED_COST",
        costed,
        paid=pieces["paid"].fillna(0),
        purchase_tax=pieces["purchase_tax"],
        prep_cost=pieces["prep_cost"],
        buying_share=pieces["lot_share"],
    )
    _sales(content, pieces)
    _results(content, pieces)
    _estimates(content, pieces)
    _add_stages(pieces)
    add_stock_columns(content, pieces, lots)
    return pieces


def _lot_shares(pieces: pd.DataFrame, totals: pd.Series[float]) -> pd.Series[float]:
    shares = pd.Series(np.nan, pieces.index)
    shares[pieces["lot_no"] == ""] = 0.0
    for lot_no, of_lot in pieces[pieces["lot_no"] != ""].groupby("lot_no"):
        if lot_no not in totals.index:
            continue
        values = of_lot["expected_price"].fillna(0).to_numpy(float)
        outcome = calling.evaluate(REGISTRY["LOT_SHARE"], [float(totals[lot_no]), values])
        if not outcome.errors:
            shares[of_lot.index] = np.asarray(outcome.values, dtype=float)
    return shares


def _sales(content: LogContent, pieces: pd.DataFrame) -> None:
    """Price, shipping, postage and packing that count, and the fee."""
    sold = pieces["sold_on"].notna()
    planned = pieces["asking_price"].fillna(pieces["expected_price"].fillna(0))
    pieces["price_used"] = pieces["sale_price"].where(sold, planned)
    expected_postage = pieces["expected_postage"].fillna(0)
    buyer_pays = expected_postage.where(pieces["postage_payer"] == BUYER, 0.0)
    pieces["shipping_used"] = pieces["shipping_charged"].fillna(0).where(sold, buyer_pays)
    pieces["postage_used"] = pieces["postage_paid"].fillna(0).where(sold, expected_postage)
    usual = float(content.settings.get("Usual_packing") or 0)
    pieces["packing_used"] = pieces["packing"].fillna(0).where(sold, usual)
    add_channel_terms(content, pieces)
    charged = sold & pieces["channel_known"] & pieces["price_used"].notna()
    pieces["fee_by_terms"] = called(
        "SELLING_FEE", charged, price=pieces["price_used"], shipping=pieces["shipping_used"], **terms_of(pieces)
    )
    pieces["fee"] = pieces["fee_charged"].fillna(pieces["fee_by_terms"]).where(sold)
    pieces["income"] = (pieces["price_used"] + pieces["shipping_used"]).where(sold)
    refunded = sold & pieces["refund"].notna()
    pieces["refund_day"] = pieces["refunded_on"].fillna(pieces["sold_on"]).where(refunded)
    pieces["cost_of_sale"] = pieces["landed_cost"].where(pieces["returned_on"].isna(), 0.0).where(sold)


def _results(content: LogContent, pieces: pd.DataFrame) -> None:
    sale = {
        "price": pieces["price_used"],
        "shipping": pieces["shipping_used"],
        "fee": pieces["fee"],
        "postage": pieces["postage_used"],
        "packing": pieces["packing_used"],
        "refund": pieces["refund"],
    }
    complete = pieces["sold_on"].notna() & pieces["fee"].notna() & pieces["price_used"].notna()
    pieces["net_proceeds"] = called("NET_PROCEEDS", complete, **sale)
    costed = complete & pieces["cost_of_sale"].notna()
    pieces["net_profit"] = called("NET_PROFIT", costed, landed_cost=pieces["cost_of_sale"], **sale)
    pieces["net_margin"] = called(
        "NET_MARGIN",
        costed & (pieces["income"] != 0),
        net_profit=pieces["net_profit"],
        price=pieces["price_used"],
        shipping=pieces["shipping_used"],
    )
    pieces["return_on_cost"] = called(
        "RETURN_ON_COST",
        costed & (pieces["cost_of_sale"] != 0),
        net_profit=pieces["net_profit"],
        landed_cost=pieces["cost_of_sale"],
    )
    priced = pieces["landed_cost"].notna() & pieces["channel_known"]
    pieces["break_even_price"] = round_up_money(
        called(
            "BREAK_EVEN_PRICE",
            priced,
            landed_cost=pieces["landed_cost"],
            postage=pieces["postage_used"],
            packing=pieces["packing_used"],
            shipping=pieces["shipping_used"],
            **terms_of(pieces),
        )
    )
    pieces["margin_of_safety"] = called(
        "MARGIN_OF_SAFETY",
        pieces["break_even_price"].notna() & (pieces["price_used"].fillna(0) != 0),
        actual=pieces["price_used"],
        break_even=pieces["break_even_price"],
    )
    as_of = pd.Timestamp(content.settings["As_of_date"])
    gone = pieces["sold_on"].where(pieces["returned_on"].isna())
    last_day = pieces["left_on"].fillna(gone).fillna(as_of)
    held = last_day.dt.normalize() - pieces["stock_date"].dt.normalize()
    pieces["days_held"] = held.dt.days.astype(float)


def _estimates(content: LogContent, pieces: pd.DataFrame) -> None:
    """Cautions, and how far estimates were off."""
    named = pieces["item_no"] != ""
    pieces["caution_for"] = [
        topic_of(content, category) if known else "" for category, known in zip(pieces["category"], named, strict=True)
    ]
    pieces["caution"] = [resale_caution(topic, brief=True) if topic else "" for topic in pieces["caution_for"]]
    pieces["postage_error"] = (pieces["postage_paid"] - pieces["expected_postage"]).round(6)
    pieces["weight_error"] = (pieces["scale_weight"] - pieces["packed_weight"]).round(6)


def _add_stages(pieces: pd.DataFrame) -> None:
    """How far each piece has come, by number; and its status, which is also how it left."""
    refund = pieces["refund"].fillna(0).where(pieces["sold_on"].notna(), 0.0)
    in_full = refund > pieces["income"].fillna(0) - CENT_NOISE
    stages = np.select(
        [
            pieces["returned_on"].notna(),
            (refund > 0) & in_full,
            refund > 0,
            pieces["sold_on"].notna(),
            pieces["listed_on"].notna(),
        ],
        range(len(_STAGES), 1, -1),
        1,
    )
    named = pieces["item_no"] != ""
    pieces["stage"] = pd.Series(stages, pieces.index, dtype=float).where(named)
    words = pd.Series(np.array(_STAGES)[stages - 1], pieces.index, dtype=object)
    left = pieces["left_how"]
    pieces["status"] = words.where(left == "", left).where(named, "")


def _trips(content: LogContent) -> pd.DataFrame:
    trips = content.sheets["Trips"].copy()
    rates = content.blocks["Mileage"].sort_values("from")
    if rates.empty:
        return trips.assign(rate=np.nan, deduction=np.nan)
    places = rates["from"].searchsorted(trips["driven_on"], side="right") - 1
    found = (places >= 0) & trips["driven_on"].notna().to_numpy()
    chosen = rates.iloc[np.where(found, places, 0)].reset_index(drop=True)
    covered = found & (trips["driven_on"].to_numpy() <= chosen["until"].to_numpy())
    trips["rate"] = np.where(covered, chosen["rate"], np.nan)
    trips["deduction"] = round_money((trips["miles"] * trips["rate"]).to_numpy(float))
    return trips


def _number_trips_to_mend(trips: pd.DataFrame, year: int) -> None:
    wrong = rows_to_mend(trips, year)
    trips["lacking_no"] = wrong.cumsum().astype(float).where(wrong)


def month_of(days: pd.Series[Any]) -> pd.Series[Any]:
    """The first day of each day's month."""
    months: pd.Series[Any] = days.dt.to_period("M").dt.to_timestamp()
    return months


def _months(content: LogContent, pieces: pd.DataFrame, lots: pd.DataFrame, expenses: pd.DataFrame) -> pd.DataFrame:
    first = pd.Timestamp(content.settings["First_month"])
    as_of = pd.Timestamp(content.settings["As_of_date"])
    starts = pd.date_range(first.replace(day=1), as_of, freq="MS")
    owner = content.sheets["Owner"]

    def monthly(amounts: pd.Series[float], days: pd.Series[Any]) -> Any:
        sums = amounts.fillna(0).groupby(month_of(days)).sum()
        return sums.reindex(starts, fill_value=0.0)

    def left(how: str) -> Any:
        return monthly(pieces["landed_cost"].where(pieces["left_how"] == how), pieces["left_on"])

    months = pd.DataFrame(index=starts)
    months["sales"] = monthly(pieces["income"], pieces["sold_on"])
    months["refunds"] = monthly(pieces["refund"], pieces["refund_day"])
    months["fees"] = monthly(pieces["fee"], pieces["sold_on"])
    months["postage"] = monthly(pieces["postage_used"], pieces["sold_on"])
    months["packing"] = monthly(pieces["packing_used"], pieces["sold_on"])
    months["stock_bought"] = monthly(pieces["outlay"], pieces["stock_date"]) + monthly(lots["total"], lots["bought_on"])
    months["expenses"] = monthly(expenses["amount"], expenses["spent_on"])
    months["put_in"] = (
        monthly(owner["put_in"], owner["moved_on"])
        + monthly(pieces["owner_paid"], pieces["stock_date"])
        + monthly(lots["owner_paid"], lots["bought_on"])
        + monthly(expenses["owner_paid"], expenses["spent_on"])
    )
    months["took_out"] = monthly(owner["took_out"], owner["moved_on"])
    months["stock_in"] = months["stock_bought"]
    months["cost_of_sold"] = monthly(pieces["landed_cost"], pieces["sold_on"]) - monthly(
        pieces["landed_cost"], pieces["returned_on"]
    )
    months["own_use"] = left(OWN_USE) + left(DONATED)
    months["discarded"] = left(DISCARDED)
    months["relisted"] = monthly(pieces["carried_over"], pieces["stock_date"]) - left(RELISTED)
    paid_out = months[["refunds", "fees", "postage", "packing", "stock_bought", "expenses"]]
    months["from_trade"] = months["sales"] - paid_out.sum(axis=1)
    cash_change = months["from_trade"] + months["put_in"] - months["took_out"]
    stock_change = (
        months["stock_in"] - months[["cost_of_sold", "own_use", "discarded"]].sum(axis=1) + months["relisted"]
    )
    opening_cash = float(content.settings.get("Opening_cash") or 0)
    opening_stock = stock_at_cost(pieces, lots, first - pd.Timedelta(days=1))
    for name, opening, change in (("cash", opening_cash, cash_change), ("stock", opening_stock, stock_change)):
        closing = pd.Series(round_money((opening + change.cumsum()).to_numpy(float)), index=starts, dtype=float)
        months[f"closing_{name}"] = closing
        months[f"opening_{name}"] = closing.shift(fill_value=opening)
    months["gross_profit"] = months["sales"] - months["refunds"] - months["cost_of_sold"] - months["discarded"]
    months["selling_costs"] = months["fees"] + months["postage"] + months["packing"]
    profit = months["gross_profit"] - months["selling_costs"] - months["expenses"]
    months["profit"] = round_money(profit.to_numpy(float))
    worth = months["closing_cash"] + months["closing_stock"]
    before = months["opening_cash"] + months["opening_stock"]
    owners = months["put_in"] - months["took_out"] - months["own_use"] + months["relisted"]
    tie_out = worth - before - owners - months["profit"]
    months["tie_out"] = round_money(tie_out.to_numpy(float))
    owners_so_far = opening_cash + opening_stock + owners.cumsum()
    months["owners_so_far"] = round_money(owners_so_far.to_numpy(float))
    months["profit_so_far"] = round_money(months["profit"].cumsum().to_numpy(float))
    tie_so_far = worth - months["owners_so_far"] - months["profit_so_far"]
    months["tie_so_far"] = round_money(tie_so_far.to_numpy(float))
    months["month_end"] = starts + pd.offsets.MonthEnd()
    named: pd.DataFrame = months.rename_axis("month").reset_index()
    return named


def _cash_counts(content: LogContent, flows: CashFlows) -> pd.DataFrame:
    """What the log says was there at the end of each day on which cash was counted."""
    owner = content.sheets["Owner"].copy()
    counted = owner["cash_counted"].notna()
    days_counted = owner["moved_on"].where(counted)
    cash = [flows.cash(day) for day in days_counted]
    moved = np.array([flows.until(day) for day in days_counted], dtype=float).reshape(-1, 2)
    for place, name in enumerate(("money_in", "money_out")):
        owner[name] = pd.Series(moved[:, place], owner.index).where(counted)
    days = (owner["moved_on"].dt.normalize() - EPOCH).dt.days
    owner["count_key"] = (days * KEY_STEP + owner["sheet_row"]).where(counted)
    owner["cash_by_log"] = round_money(np.array(cash, dtype=float))
    owner["cash_by_log"] = owner["cash_by_log"].where(counted)
    owner["difference"] = round_money((owner["cash_counted"] - owner["cash_by_log"]).to_numpy(float))
    return owner


def _add_last_counts(months: pd.DataFrame, owner: pd.DataFrame) -> None:
    """The last count of cash in each month, and by how much it differs from the log."""
    counts = owner[owner["cash_counted"].notna() & owner["moved_on"].notna()]
    days = counts["moved_on"].dt.normalize()
    latest = counts.assign(day=days).sort_values("day", kind="stable")
    latest = latest.groupby(month_of(latest["day"])).last()
    ends = (months["month_end"] - EPOCH).dt.days.to_numpy(float)
    keys = np.sort(owner["count_key"].dropna().to_numpy(float))
    so_far = np.searchsorted(keys, (ends + 1) * KEY_STEP)
    months["last_count"] = np.append(keys, np.nan)[np.where(so_far > 0, so_far - 1, -1)]
    rows = (latest["sheet_row"] - FIRST_ROW + 1.0).reindex(months["month"])
    months["count_row"] = rows.to_numpy(float)
    for name in ("cash_counted", "difference"):
        months[name] = latest[name].reindex(months["month"]).to_numpy(float)
