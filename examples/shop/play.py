"""An invented two-person shop, played day by day from a seed, the same every time.

Sales and refunds come in, then bills, then a buying round with what the cash allows. Amounts are
whole cents until they are written into a row. The cash follows the rules of sheet Money, so that
the counts on Owner money agree with the log but for two meant ones.
"""

from __future__ import annotations

import calendar
import datetime as dt
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial

from examples.shop.goods import GIVEN, GOODS, LOTS, Good, Lot
from examples.shop.rng import Rng
from examples.shop.script import (
    BY_NAME,
    CASH_DIFFERENCES,
    COLLECTED,
    DAYS_TO_SELL,
    DEAR,
    EXPENSES,
    FATES,
    FEE_TERMS,
    FIRST_DAY,
    INCIDENTS,
    KEPT,
    LAST_DAY,
    LEAST_PRICE,
    MARKET,
    NO_MARKET,
    NOT_COUNTED,
    ODD_TAX_RATE,
    ODD_TAX_SALES,
    OPENING_CASH,
    PARTNERS,
    PHONE,
    PLACES,
    PREP,
    PURCHASE_TAX_RATE,
    PUT_IN,
    QUIET_WEEKS,
    RESERVE,
    SATURDAY,
    SINGLES,
    STALE_DAYS,
    TABLE_FEE,
    Place,
)
from examples.shop.shelf import BOOTH, COLLECTORS, GENERAL
from sheetfns.functions.fees import selling_fee
from sheetfns.functions.lots import lot_share
from sheetfns.log.model.inputs import Row
from sheetfns.log.sheets.words import BUSINESS, BUYER, DISCARDED, PERSONAL_USE, RELISTED, RETURNED_ITEM, SELLER
from sheetfns.money import round_money


@dataclass
class _Held:
    """An item that the shop has or had; cents."""

    row: Row
    good: Good
    landed: int
    expected: int
    label: int
    booth: bool = False
    second_time: bool = False
    fate: str = ""


@dataclass
class Shop:
    """The shop while it is played; cash and what is owed to buyers in cents."""

    rng: Rng
    today: dt.date = FIRST_DAY
    cash: int = OPENING_CASH
    owed: int = 0
    bought: int = 0
    sent: int = 0
    general_sales: int = 0
    later: dict[dt.date, list[Callable[[], None]]] = field(default_factory=lambda: defaultdict(list))
    deciles: list[int] = field(default_factory=list)
    table: list[_Held] = field(default_factory=list)
    goods: list[Good] = field(default_factory=lambda: list(GOODS))
    incidents: list[tuple[int, str]] = field(default_factory=lambda: list(INCIDENTS))
    odd_tax: list[int] = field(default_factory=lambda: list(ODD_TAX_SALES))
    log: list[Row] = field(default_factory=list)
    lots: list[Row] = field(default_factory=list)
    expenses: list[Row] = field(default_factory=list)
    trips: list[Row] = field(default_factory=list)
    owner: list[Row] = field(default_factory=list)

    # ---- the days ----------------------------------------------------------------------------

    def play(self) -> None:
        """Go through all days, from the first to the last."""
        market = _market_days()
        rounds = self._plan_rounds(market)
        lots = {lot.day: lot for lot in LOTS}
        done = 0
        for number in range((LAST_DAY - FIRST_DAY).days + 1):
            self.today = FIRST_DAY + dt.timedelta(number)
            self._put_in()
            for event in self.later.pop(self.today, []):
                event()
            if self.today in market:
                self._market_day()
            self._pay_bills()
            if self.today in lots:
                self._buy_lot(lots[self.today])
            if self.today in rounds:
                done += 1
                self._buying_round(rounds[self.today], done / len(rounds))
            if self.today in GIVEN:
                self._given(GIVEN[self.today])
            self._close_the_day()

    def _plan_rounds(self, market: set[dt.date]) -> dict[dt.date, Place]:
        """One buying round in most weeks; a lot is that week's, the booth takes a Saturday."""
        rounds = {dt.date(2025, 7, 5): BY_NAME["Yard sales, Orchard Lane"]}
        monday = dt.date(2025, 7, 7)
        while monday <= LAST_DAY:
            week = [monday + dt.timedelta(day) for day in range(7)]
            has_lot = any(lot.day in week for lot in LOTS)
            if not (has_lot or monday in QUIET_WEEKS or self.rng.chance(0.16)):
                free = [day for day in week if day not in market and day <= LAST_DAY]
                choices = [(day, place) for place in PLACES for day in free if day.weekday() in place.weekdays]
                day, place = self.rng.pick(choices)
                rounds[day] = place
            monday += dt.timedelta(7)
        return rounds

    def _spendable(self) -> int:
        return self.cash - self.owed - RESERVE

    def _pay_bills(self) -> None:
        for day, heading, description, cents, partner in EXPENSES:
            if day == self.today.isoformat():
                self._expense(heading, description, cents, partner)
        started = self.today >= dt.date(2025, 10, 1)
        if started and self.today.day == 5:
            self._expense(*PHONE)

    def _expense(self, heading: str, description: str, cents: int, partner: str = "") -> None:
        if not partner and cents > self._spendable():
            partner = self.rng.pick(PARTNERS)
        if not partner:
            self.cash -= cents
        self.expenses.append(
            {
                "spent_on": self.today,
                "heading": heading,
                "description": description,
                "amount": cents / 100,
                "paid_from": partner or BUSINESS,
            }
        )

    def _trip(self, purpose: str, to_place: str, tenths: int) -> None:
        self.trips.append(
            {
                "driven_on": self.today,
                "purpose": purpose,
                "from_place": "Home",
                "to_place": to_place,
                "miles": (tenths + self.rng.whole(0, 12)) / 10,
            }
        )

    # ---- buying ------------------------------------------------------------------------------

    def _buying_round(self, place: Place, season: float) -> None:
        target = int(SINGLES * (0.3 * season + 0.7 * season**2) + 0.5)
        wanted = min(target - self.bought, 7)
        budget = max(self._spendable() * 55 // 100, 0)
        buyer = self.rng.pick(PARTNERS)
        before = self.bought
        while wanted > 0:
            spent = self._buy_one(place, budget, buyer)
            if spent is None:
                break
            budget -= spent
            wanted -= 1
        found = self.bought > before
        self._trip("Buying round" if found else "Buying round, nothing bought", place.name, place.tenths_of_miles)

    def _buy_one(self, place: Place, budget: int, buyer: str) -> int | None:
        """Buy an item that the budget allows; what it took from the budget, None if none fits."""
        share = self.rng.between(*place.share)
        fitting = [
            good
            for good in self.goods
            if good.category in place.categories and _price_tag(good, place, share) * 11 <= budget * 10
        ]
        if not fitting:
            return None
        good = self.rng.pick(fitting)
        other = self.rng.pick(fitting)
        if self._spendable() > 30000 and other.value > good.value:
            good = other
        self.goods.remove(good)
        paid = _price_tag(good, place, share)
        tax = _of(paid, PURCHASE_TAX_RATE) if place.taxed else 0
        payer = buyer if self.rng.chance(0.06) else BUSINESS
        item = self._enter(good, buyer, place.name, paid, tax)
        if payer != BUSINESS or self.rng.chance(0.85):
            item.row["paid_from"] = payer
        self.bought += 1
        item.fate = FATES.get(self.bought, "")
        self._plan(item)
        if payer == BUSINESS:
            self.cash -= item.landed
            return item.landed
        return 0

    def _given(self, good: Good) -> None:
        item = self._enter(good, self.rng.pick(PARTNERS), "Given by a neighbor", 0, 0)
        item.row["paid_from"] = BUSINESS
        self.cash -= item.landed
        self._plan(item)

    def _enter(self, good: Good, buyer: str, place: str, paid: int, tax: int) -> _Held:
        row: Row = {
            "item_no": self._next_number(),
            "description": good.description,
            "bought_on": self.today,
            "bought_by": buyer,
            "found_at": place,
            "paid": paid / 100,
        }
        if tax:
            row["purchase_tax"] = tax / 100
        item = self._describe(row, good)
        if self.rng.chance(0.92):
            row["expected_price"] = item.expected / 100
        item.landed += paid + tax
        self.log.append(row)
        return item

    def _describe(self, row: Row, good: Good) -> _Held:
        """Category, condition, faults and prep cost of an item."""
        faulty = bool(good.fault) and (good.value == 0 or self.rng.chance(0.4))
        row["category"] = good.category
        if good.value == 0:
            row["condition"] = "For parts"
        elif faulty:
            row["condition"] = self.rng.pick(("Worn", "Worn", "Good"))
        else:
            row["condition"] = self.rng.pick(("Good", "Good", "Good", "Worn", "Like new"))
        if faulty:
            row["missing"] = good.fault
        worth = good.value * (0.72 if faulty else 1) * self.rng.between(0.92, 1.1)
        prep = 0
        (low, high), probability = PREP[good.category]
        if good.value > 20 and self.rng.chance(probability):
            prep = self.rng.whole(low, high)
            row["prep_cost"] = prep / 100
        label = _shaped(410 + 78 * good.pounds + max(good.sides) * 4, 5)
        return _Held(row, good, prep, _shaped(worth * 100, 100), label)

    def _buy_lot(self, lot: Lot) -> None:
        place = BY_NAME[lot.place]
        buyer = self.rng.pick(PARTNERS)
        tax = _of(lot.paid, PURCHASE_TAX_RATE) if place.taxed else 0
        number = f"L-{len(self.lots) + 1:02}"
        items = []
        for good in lot.items:
            row: Row = {
                "item_no": self._next_number(),
                "description": good.description,
                "bought_by": buyer,
                "found_at": lot.place,
                "lot_no": number,
            }
            item = self._describe(row, good)
            row["expected_price"] = item.expected / 100
            self.log.append(row)
            items.append(item)
        total = lot.paid + tax
        payer = lot.paid_by
        if payer == BUSINESS and total > self._spendable():
            payer = buyer
        lot_row: Row = {
            "lot_no": number,
            "description": lot.description,
            "bought_on": self.today,
            "bought_by": buyer,
            "paid_from": payer,
            "found_at": lot.place,
            "paid": lot.paid / 100,
        }
        if tax:
            lot_row["purchase_tax"] = tax / 100
        self.lots.append(lot_row)
        self.cash -= sum(item.landed for item in items) + (total if payer == BUSINESS else 0)
        shares = lot_share(total / 100, [item.expected / 100 for item in items])
        for item, share in zip(items, shares, strict=True):
            item.landed += _cents(share)
            if item.good.value == 0:
                item.fate = DISCARDED
            self._plan(item)
        self._trip("Buying round, lot", lot.place, place.tenths_of_miles)

    def _next_number(self) -> str:
        return f"P{len(self.log) + 1:03}"

    # ---- listing -----------------------------------------------------------------------------

    def _plan(self, item: _Held) -> None:
        """Decide where an item will be offered and from when on."""
        heavy = item.good.pounds > 12
        cheap = item.expected < 1800
        item.booth = self.rng.chance(0.6 if heavy else 0.4 if cheap else 0.05)
        if not item.booth:
            item.row["expected_postage"] = item.label / 100
        if item.fate == PERSONAL_USE or item.good.value == 0:
            self._in_days(self.rng.whole(6, 70), partial(self._leave, item, item.fate))
            return
        wait = self.rng.whole(30, 110) if self.rng.chance(0.16) else self.rng.whole(1, 16)
        self._in_days(wait, partial(self._list, item))

    def _list(self, item: _Held) -> None:
        row = item.row
        row["listed_on"] = self.today
        if item.booth:
            row["channel"] = BOOTH
            row["asking_price"] = max(_shaped(item.expected * 1.05, 100), LEAST_PRICE) / 100
        else:
            self._list_by_post(item)
        if item.fate:
            self._in_days(self.rng.whole(75, 140), partial(self._leave, item, item.fate))
        elif item.booth:
            self.table.append(item)
        else:
            days = self._days_to_sell()
            if item.second_time:
                days = min(days, self.rng.whole(12, 40))
            if days < STALE_DAYS or item.expected >= DEAR:
                self._in_days(days, partial(self._sell_by_post, item))
            else:
                self._in_days(STALE_DAYS, partial(self._move_to_table, item))

    def _list_by_post(self, item: _Held) -> None:
        row = item.row
        likely = COLLECTED.get(item.good.category, 0)
        row["channel"] = COLLECTORS if self.rng.chance(likely) else GENERAL
        asking = item.expected * self.rng.between(1.0, 1.18)
        row["postage_payer"] = BUYER
        if item.expected > 3000 and self.rng.chance(0.3):
            row["postage_payer"] = SELLER
            asking += item.label
        row["asking_price"] = _shaped(asking, 50) / 100
        row["packed_weight"] = item.good.pounds
        if self.rng.chance(0.8):
            row["length"], row["width"], row["height"] = item.good.sides

    def _days_to_sell(self) -> int:
        """Deciles are dealt like cards: of ten listings in a row one falls into each."""
        if not self.deciles:
            self.deciles = list(range(len(DAYS_TO_SELL) - 1))
        decile = self.rng.pick(self.deciles)
        self.deciles.remove(decile)
        days = self.rng.whole(DAYS_TO_SELL[decile], DAYS_TO_SELL[decile + 1])
        before_the_holidays = self.today.month in (10, 11)
        return days * 6 // 10 + 1 if before_the_holidays else days

    def _move_to_table(self, item: _Held) -> None:
        """What has stood too long goes to the booth for much less."""
        item.row["channel"] = BOOTH
        item.row["asking_price"] = max(_shaped(item.expected * self.rng.between(0.3, 0.55), 100), LEAST_PRICE) / 100
        del item.row["postage_payer"]
        del item.row["expected_postage"]
        self.table.append(item)

    def _in_days(self, days: int, event: Callable[[], None]) -> None:
        self.later[self.today + dt.timedelta(days)].append(event)

    # ---- selling -----------------------------------------------------------------------------

    def _market_day(self) -> None:
        self._trip("Booth day", *MARKET)
        self._expense(*TABLE_FEE)
        for item in list(self.table):
            if self.rng.chance(0.4):
                self.table.remove(item)
                bargained = item.row["asking_price"] * self.rng.pick((1, 1, 0.9, 0.8)) * 100
                self._sell(item, max(_shaped(bargained, 100), LEAST_PRICE), 0, 0)

    def _sell_by_post(self, item: _Held) -> None:
        row = item.row
        offer = row["asking_price"] * self.rng.pick((1, 1, 1, 0.95, 0.92, 0.88)) * 100
        price = _shaped(offer, 25)
        shipping = _shaped(item.label + 20, 50) if row["postage_payer"] == BUYER else 0
        label = int(item.label * self.rng.between(0.93, 1.09))
        self._sell(item, price, shipping, label)
        self.sent += 1
        self._refund_if_due(item, price, shipping)

    def _sell(self, item: _Held, price: int, shipping: int, label: int) -> None:
        row = item.row
        row["sold_on"] = self.today
        row["sale_price"] = price / 100
        if shipping:
            row["shipping_charged"] = shipping / 100
        fee = self._charge(row, price, shipping)
        packaging = 0
        if label:
            row["postage_paid"] = label / 100
            bulky = item.good.pounds > 6
            if self.rng.chance(0.7 if bulky else 0.12):
                packaging = self.rng.whole(140, 340) if bulky else self.rng.whole(60, 110)
                row["packaging"] = packaging / 100
        self.cash += price + shipping - fee - label - packaging

    def _charge(self, row: Row, price: int, shipping: int) -> int:
        """The fee that counts, and on most rows the statement's fee."""
        channel = row["channel"]
        terms = dict(FEE_TERMS[channel])
        fee = _fee(price, shipping, terms)
        typed = {GENERAL: 0.85, COLLECTORS: 0.75, BOOTH: 0.1}[channel]
        if channel == GENERAL:
            self.general_sales += 1
            due = bool(self.odd_tax) and self.general_sales >= self.odd_tax[0]
            if due and 2600 <= price + shipping <= 8000:
                self.odd_tax.pop(0)
                typed = 1
                terms["tax_rate"] = ODD_TAX_RATE
                fee = _fee(price, shipping, terms)
            row["tax_collected"] = _of(price + shipping, terms["tax_rate"]) / 100
        if self.rng.chance(typed):
            row["fee_charged"] = fee / 100
        return fee

    # ---- refunds and items that come back ---------------------------------------------------

    def _refund_if_due(self, item: _Held, price: int, shipping: int) -> None:
        due = bool(self.incidents) and self.sent >= self.incidents[0][0]
        early = self.today <= LAST_DAY - dt.timedelta(60)
        if not (due and early and price >= 2000) or item.second_time or item.row.get("lot_no"):
            return
        _, kind = self.incidents.pop(0)
        if kind.startswith("part"):
            amount = _shaped((price + shipping) * self.rng.between(0.15, 0.35), 50)
        else:
            amount = price if kind == "back" else price + shipping
        days = self.rng.whole(9, 18)
        if kind == "part at once":
            self.cash -= amount
            item.row["refund"] = amount / 100
            return
        if kind in ("part next month", "lost"):
            days = _days_into_next_month(self.today) + self.rng.whole(1, 5)
        item.row["refund"] = amount / 100
        item.row["refunded_on"] = self.today + dt.timedelta(days)
        self.owed += amount
        self._in_days(days, partial(self._pay_back, amount))
        if kind in ("relisted", "back", "broken"):
            days_back = days - self.rng.whole(0, 3)
            item.row["returned_on"] = self.today + dt.timedelta(days_back)
            if kind == "relisted":
                self._in_days(days + 2, partial(self._relist, item))
            elif kind == "broken":
                self._in_days(days + 5, partial(self._leave, item, DISCARDED))

    def _pay_back(self, cents: int) -> None:
        self.cash -= cents
        self.owed -= cents

    def _relist(self, old: _Held) -> None:
        """The old row ends; a new one takes over its landed cost."""
        self._leave(old, RELISTED)
        old_row = old.row
        row: Row = {
            "item_no": self._next_number(),
            "description": old_row["description"],
            "bought_on": self.today,
            "bought_by": old_row["bought_by"],
            "paid_from": RETURNED_ITEM,
            "found_at": old_row["found_at"],
            "category": old_row["category"],
            "condition": old_row["condition"],
            "missing": old_row.get("missing") or "box opened",
            "paid": old.landed / 100,
            "expected_price": old.expected / 100,
        }
        self.log.append(row)
        item = _Held(row, old.good, old.landed, old.expected, old.label, second_time=True)
        row["expected_postage"] = old.label / 100
        self._in_days(self.rng.whole(1, 4), partial(self._list, item))

    def _leave(self, item: _Held, how: str) -> None:
        item.row["disposition"] = how
        item.row["disposition_date"] = self.today
        if how == PERSONAL_USE:
            item.row["taken_by"] = item.row["bought_by"]

    # ---- owners ------------------------------------------------------------------------------

    def _put_in(self) -> None:
        for day, partner, cents, note in PUT_IN:
            if day == self.today.isoformat():
                self.cash += cents
                self._move(partner=partner, put_in=cents / 100, note=note)

    def _close_the_day(self) -> None:
        last = self.today.day == calendar.monthrange(self.today.year, self.today.month)[1]
        if last and self.today >= dt.date(2026, 1, 1):
            each = (self._spendable() - KEPT) * 15 // 100 // 500 * 500
            if each >= 2000:
                for partner in PARTNERS:
                    self.cash -= each
                    self._move(partner=partner, took_out=each / 100, note="Monthly draw")
        month = (self.today.year, self.today.month)
        recount = self.today == dt.date(2026, 6, 1)
        if (last and month not in NOT_COUNTED) or recount:
            difference = CASH_DIFFERENCES.get(self.today, 0)
            note = "Month-end count"
            if difference:
                note = "Cash box short" if difference < 0 else "Miscounted, see the next day"
            elif recount:
                note = "Counted again"
            self._move(cash_counted=(self.cash + difference) / 100, note=note)

    def _move(self, **cells: str | float) -> None:
        self.owner.append({"moved_on": self.today, **cells})


def _market_days() -> set[dt.date]:
    """Every second Saturday of a month, but not in the first month and not in winter."""
    days = set()
    for number in range((LAST_DAY - FIRST_DAY).days + 1):
        day = FIRST_DAY + dt.timedelta(number)
        second_saturday = day.weekday() == SATURDAY and 8 <= day.day <= 14
        if second_saturday and (day.year, day.month) not in NO_MARKET:
            days.add(day)
    return days


def _days_into_next_month(day: dt.date) -> int:
    return calendar.monthrange(day.year, day.month)[1] - day.day


def _price_tag(good: Good, place: Place, share: float) -> int:
    """What a place asks for an item: 1 to 40, in prices of its kind."""
    asked = _shaped(good.value * 100 * share, place.step) - place.off
    return min(max(asked, 150 - place.off), 4000 - place.off)


def _shaped(cents: float, step: int) -> int:
    """The nearest multiple of a step."""
    return int(cents / step + 0.5) * step


def _cents(money: float) -> int:
    return int(money * 100 + 0.5)


def _of(cents: int, rate: float) -> int:
    """Tax on an amount, rounded to the cent."""
    return _cents(float(round_money(cents / 100 * rate)))


def _fee(price: int, shipping: int, terms: dict[str, float]) -> int:
    return _cents(selling_fee(price / 100, shipping / 100, **terms))
