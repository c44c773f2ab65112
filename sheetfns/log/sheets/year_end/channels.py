"""Sheet Year end: what each channel reported against the log, and personal items sold."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COUNT, MONEY, TEXT
from sheetfns.functions.tax import GAP_ALTERNATIVES, LESS_REPORTED, MORE_REPORTED
from sheetfns.log.model.sheets import AnyFormula, EditionFormula, FormCell, FormRow, Formula, FunctionCall
from sheetfns.log.sheets.form_rows import heading, result, words
from sheetfns.log.sheets.words import CHANNEL_ROWS
from sheetfns.log.sheets.year_end.lines import in_year

_CHANNELS: Final = range(1, CHANNEL_ROWS + 1)
_OWN_GROSS: Final = ("sale_price", "shipping_charged", "tax_collected")
_PARTS: Final = ("prices", "shipping", "collected", "own", "gross")
SUMMED: Final = (*_PARTS, "reported")
"""The amounts of each channel that have a sum under them."""


def _gap_words(place: int) -> AnyFormula:
    """What explains a gap: the first of the alternatives that leaves nothing."""
    first, last = (f"{{left_{place}_{n}}}" for n in (1, len(GAP_ALTERNATIVES)))
    word_1, word_n = (f"{{gap_words_{n}}}" for n in (1, len(GAP_ALTERNATIVES)))
    amount = f"FIXED(ABS({{gap_{place}}}),2)"
    more, less = (f'{amount}&" {words}"' for words in (MORE_REPORTED, LESS_REPORTED))
    plain = (
        f"IF(COUNTIF({first}:{last},0)>0,INDEX({word_1}:{word_n},MATCH(0,{first}:{last},0)),"
        f"IF({{gap_{place}}}>0,{more},{less}))"
    )
    # fmt: off
    call = FunctionCall("RECEIPTS_GAP",
                        {
                            "reported_gross": f"{{reported_{place}}}",
                            "price": f"({{prices_{place}}}+{{own_{place}}})",
                            "shipping": f"{{shipping_{place}}}",
                            "tax_collected": f"{{collected_{place}}}",
                            "refunds": f"{{refunds_{place}}}",
                        },
                        f'{{gap_{place}}}=""', "INDEX({},1,4)")
    # fmt: on
    return EditionFormula(Formula(plain, f'{{gap_{place}}}=""'), call)


def _channel(place: int) -> FormRow:
    name, none = f"{{channel_{place}}}", f'{{channel_{place}}}=""'
    of_log = f",Log_channel,{name}"
    sold_there = ("Personal_sold_on", f",Personal_channel,{name}")
    own = "+".join(in_year(f"Personal_{column}", *sold_there) for column in _OWN_GROSS)
    reported = f"Reported_year,Tax_year,Reported_channel,{name}"

    def cell(key: str, text: str, blank_if: str = none) -> FormCell:
        return FormCell(f"{key}_{place}", MONEY, formula=Formula(text, blank_if))

    # fmt: off
    return FormRow(
        cells=(
            FormCell(f"channel_{place}", TEXT,
                     formula=Formula(f'IF(INDEX(Channel_name,{place})="","",INDEX(Channel_name,{place}))'),
                     look="label"),
            cell("prices", f"ROUND({in_year('Log_price_used', 'Log_sold_on', of_log)},2)"),
            cell("shipping", f"ROUND({in_year('Log_shipping_used', 'Log_sold_on', of_log)},2)"),
            cell("collected", f"ROUND({in_year('Log_tax_collected', 'Log_sold_on', of_log)},2)"),
            cell("own", f"ROUND({own},2)"),
            cell("gross", f"ROUND({{prices_{place}}}+{{shipping_{place}}}+{{collected_{place}}}+{{own_{place}}},2)"),
            cell(
                "reported",
                f"ROUND(SUMIFS(Reported_gross,{reported}),2)",
                f'IF({none},TRUE,COUNTIFS({reported},Reported_gross,">=0")=0)',
            ),
            cell("gap", f"ROUND({{reported_{place}}}-{{gross_{place}}},2)", f'{{reported_{place}}}=""'),
            FormCell(f"explained_{place}", TEXT, formula=_gap_words(place), look="note"),
        ),
        heads_row=True,
    )
    # fmt: on


def channel_rows() -> tuple[FormRow, ...]:
    """Each channel's report against the log, and whether a report is to be expected."""

    def in_all(key: str) -> FormCell:
        first, last = (f"{{{key}_{place}}}" for place in (1, CHANNEL_ROWS))
        return FormCell(f"{key}_all", MONEY, formula=Formula(f"ROUND(SUM({first}:{last}),2)"))

    headers = (
        *("Prices", "Shipping", "Tax collected", "Personal items", "Gross per log", "Reported"),
        *("Gap", "What may explain it"),
    )
    due = "&".join(f"{{report_due_{place}}}" for place in _CHANNELS)
    # fmt: off
    return (
        heading("What the channels reported", *headers),
        *(_channel(place) for place in _CHANNELS),
        FormRow("All channels", tuple(in_all(key) for key in SUMMED)),
        words("reports_words",
              Formula(f'IF(COUNT({{gross_over}},{{sales_over}})<2,"Tax figures by date have no limit for '
                      f'reports of "&Tax_year&"; ask each channel.",IF({due}="","By the log, no channel is over the '
                      'limit above which it must report ",'
                      f'"By the log, expect a report from"&MID({due},2,200)&", over the limit '
                      f'")&"("&FIXED({{gross_over}},0)&" and "&FIXED({{sales_over}},0)&" sales, both '
                      'exceeded); some report less.")'),
              lines=2),
        FormRow(
            note="Reported gross is before fees and refunds, and may include shipping and sales tax. Income on the "
                 "return is prices and shipping of the log; sales tax that a channel remits itself is left out (from "
                 "memory: ask). Enter what a report says on Settings, What channels reported.",
            lines=2,
        ),
    )
    # fmt: on


def own_rows() -> tuple[FormRow, ...]:
    """Personal items sold: a gain is listed, a loss does not count."""
    gain, loss = (in_year(f"Personal_{key}", "Personal_sold_on") for key in ("gain", "loss"))
    sold = 'COUNTIFS(Personal_sold_on,">="&Year_start,Personal_sold_on,"<"&Year_end+1)'
    return (
        heading("Personal items sold, separate from the business"),
        result("own_sold", "Sold in the year", COUNT, Formula(sold), "things"),
        result("own_gain", "Gains, reported separately", MONEY, Formula(f"ROUND({gain},2)")),
        result("own_loss", "Losses, not deductible", MONEY, Formula(f"ROUND({loss},2)")),
        FormRow(
            note="From sheet Personal items; in none of the figures above except the channels' reports. A loss on "
            "personal items is not deductible, a gain is taxable and goes on another form.",
            lines=2,
        ),
    )


def channel_workings() -> tuple[FormRow, ...]:
    """Refunds, sales, and what each alternative leaves of a gap."""
    rows = [
        FormRow(
            "What may explain a gap",
            tuple(
                FormCell(f"gap_words_{n}", TEXT, formula=Formula(f'"{alternative[0]}"'), working=True)
                for n, alternative in enumerate(GAP_ALTERNATIVES, 1)
            ),
        )
    ]
    for place in _CHANNELS:
        none = f'{{channel_{place}}}=""'
        refunds = in_year("Log_refund", "Log_refund_day", f",Log_channel,{{channel_{place}}}")
        number = "+".join(
            f'COUNTIFS({sheet}_channel,{{channel_{place}}},{sheet}_sold_on,">="&Year_start,'
            f'{sheet}_sold_on,"<"&Year_end+1)'
            for sheet in ("Log", "Personal")
        )
        over = (
            f"AND({{sales_{place}}}>SUM({{sales_over}}),{{gross_{place}}}>SUM({{gross_over}}),"
            "COUNT({gross_over},{sales_over})=2)"
        )
        # fmt: off
        rows += [
            FormRow(
                f"Refunds, sales of channel {place}",
                (
                    FormCell(f"refunds_{place}", MONEY, formula=Formula(f"ROUND({refunds},2)", none), working=True),
                    FormCell(f"sales_{place}", COUNT, formula=Formula(number, none), working=True),
                    FormCell(f"report_due_{place}", TEXT,
                             formula=Formula(f'IF({over},", "&{{channel_{place}}},"")', f'{{gross_{place}}}=""'),
                             working=True),
                ),
            ),
            FormRow(
                f"Left of the gap of channel {place}",
                tuple(_left(place, n) for n in range(1, len(GAP_ALTERNATIVES) + 1)),
            ),
        ]
        # fmt: on
    return tuple(rows)


def _left(place: int, number: int) -> FormCell:
    """What an alternative leaves of a gap; blank where one of its parts is 0."""
    used = GAP_ALTERNATIVES[number - 1][1:]
    keys = ("shipping", "collected", "refunds")
    parts = [f"{{{key}_{place}}}" for key, uses in zip(keys, used, strict=True) if uses]
    nothing = "".join(f",{part}=0" for part in parts)
    blank_if = f'{{gap_{place}}}=""'
    if parts:
        blank_if = f"OR({blank_if}{nothing})"
    left = "+".join([f"{{gap_{place}}}", *parts])
    return FormCell(f"left_{place}_{number}", MONEY, formula=Formula(f"ROUND({left},2)+0", blank_if), working=True)
