"""Sheet Listing desk: title, description, parcel and price of one item of the log."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Final

from sheetfns.cell_types import CHARACTERS, COST, COUNT, FACTOR, LENGTH, MONEY, RATIO, TEXT, VOLUME, WEIGHT, CellType
from sheetfns.functions.parcel import NOISE_DIGITS
from sheetfns.log.model.sheets import AnyFormula, EditionFormula, FormCell, FormRow, FormSheet, Formula, FunctionCall
from sheetfns.log.sheets.columns import UP_TO_THE_CENT, as_formula, fee_terms, rows_of
from sheetfns.log.sheets.form_rows import (
    caution_words,
    field,
    heading,
    result,
    row_in,
    term_rows,
    topic_row,
    typed,
    words,
    working,
)
from sheetfns.log.sheets.links import link_to_row
from sheetfns.log.sheets.sourcing_log.layout import ITEM_COLUMN
from sheetfns.log.sheets.words import DESK, ITEM_HEADER, ITEM_NO_HEADER, KEYWORDS, LOG, ROW_ONE, TEXT_ROWS

_LONGEST_LINE: Final = 500
_LABELS: Final = {
    "item": '{item_no}&""',
    "description": "{description}",
    "category": "{category}",
    "condition": "{condition}",
    "missing": 'IF({missing}="","none noted, please ask",{missing})',
    "weight": 'IF({packed_weight}="","",ROUND({packed_weight},2)&" "&Weight_unit)',
    "sides": 'IF({girth}="","",{length}&" x "&{width}&" x "&{height}&" "&Length_unit)',
}
_NO_ITEM: Final = '{item_row}=""'
_NO_TITLE: Final = 'OR({limit}="",{title_used}="")'
_NO_COMPARABLE: Final = '{comps_row}=""'
_NO_WEIGHT: Final = 'OR({packed_weight}="",{girth}="",AND({rule}<>"",{rule_row}=""))'
_NO_SIZE: Final = '{girth}=""'
_NO_TABLE_PRICE: Final = 'OR({billed_weight}="",{service_column}="")'
_NO_OFFER: Final = 'OR({price_without}="",{postage}="")'
_NO_NET: Final = 'OR({price_without}="",{postage}="",{landed_cost}="")'
_BY_BILLED_WEIGHT: Final = "Python calls BILLED_WEIGHT, which has no such step"
_BY_RULE: Final = "Python takes the terms of the rule in one go; they are compared"

_of_item = partial(result, blank_if=_NO_ITEM)
_step_of_item = partial(working, blank_if=_NO_ITEM)
_size_step = partial(working, not_compared=_BY_BILLED_WEIGHT)
_rule_step = partial(working, not_compared=_BY_RULE)
_line = partial(words, lines=1)


# ---- title ---------------------------------------------------------------------------------------


def _keywords(key: str) -> str:
    return f"{{{key}_1}}:{{{key}_{KEYWORDS}}}"


def _with_way(row: FormRow) -> FormRow:
    """The row with the way to the item's row of the sourcing log."""
    sheet_row = f"({{item_row}}+{ROW_ONE})"
    way = Formula(link_to_row(LOG, ITEM_COLUMN, sheet_row, f'"{LOG}, row "&{sheet_row}'), _NO_ITEM)
    return replace(row, cells=(*row.cells, FormCell("item_way", TEXT, formula=way, look="link", since=10)))


_WEIGHT_OF_KEYWORD: Final = replace(FACTOR, minimum=0)
_BEST_TITLE: Final = EditionFormula(
    Formula('"functions edition only"'),
    FunctionCall(
        "TITLE_PACK",
        {"keywords": _keywords("keyword"), "weights": _keywords("weight"), "limit": "{limit}"},
        blank_if=f'OR({{limit}}="",COUNTA({_keywords("keyword")})=0)',
    ),
)
_TITLE_USED: Final = EditionFormula(Formula('IF({title}="","",{title})'), Formula('IF({title}="",{packed},{title})'))
_TITLE: Final = {"title": "{title_used}", "limit": "{limit}"}
_ROOM: Final = EditionFormula(
    Formula("{limit}-LEN({title_used})", _NO_TITLE), FunctionCall("TITLE_ROOM", _TITLE, _NO_TITLE)
)
_REMARKS: Final = EditionFormula(
    Formula(
        'IF({room}<0,-{room}&" over the limit; ","")&"filler words, repeats and symbols: functions edition only"',
        _NO_TITLE,
    ),
    FunctionCall("TITLE_REMARKS", {**_TITLE, "filler_words": "Filler_word"}, _NO_TITLE),
)


# ---- parcel --------------------------------------------------------------------------------------


_SIDES: Final = {"length": "{length}", "width": "{width}", "height": "{height}"}
_PACKED_WEIGHT: Final = FunctionCall(
    "PACKED_WEIGHT",
    {
        "item_weight": "{item_weight}",
        "box_weight": "{box_weight}",
        "fill_rate": "Filling_rate",
        "margin": "Weight_allowance",
    },
    blank_if='OR({item_row}="",AND({weight_logged}="",OR({item_weight}="",{box_row}="")))',
    around='IF({weight_logged}<>"",{weight_logged},{})',
)
_GIRTH: Final = FunctionCall(
    "LENGTH_GIRTH", _SIDES, blank_if="IF(COUNT({length}:{height})<3,TRUE,MIN({length}:{height})<=0)"
)
_BILLED_WEIGHT: Final = EditionFormula(
    # The function's own formula in one cell would be too long to be read.
    Formula(
        "IF({rule_weight_step}=0,{weight_or_size},ROUND(ROUNDUP(ROUND({weight_or_size}"
        "/{rule_weight_step},9),0)*{rule_weight_step},9))",
        _NO_WEIGHT,
    ),
    FunctionCall(
        "BILLED_WEIGHT",
        {
            "weight": "{packed_weight}",
            **_SIDES,
            "divisor": "{rule_divisor}",
            "gate": "{rule_gate}",
            "side_rounding": "{rule_side_rounding}",
            "weight_step": "{rule_weight_step}",
        },
        _NO_WEIGHT,
    ),
)
_LISTED_PRICE: Final = (
    f'INDEX(Postage_table,COUNTIF(Postage_up_to,"<"&ROUND({{table_weight}},{NOISE_DIGITS}))+2,{{service_row}}+1)'
)
_TABLE_PRICE: Final = EditionFormula(
    Formula(f'IFERROR(IF(ISNUMBER({_LISTED_PRICE}),{_LISTED_PRICE},""),"")', _NO_TABLE_PRICE),
    FunctionCall(
        "POSTAGE_COST",
        # Within the first step a table may have finer rows of its own.
        {"weight": "{table_weight}", "zone": "{service_column}", "table": "Postage_table"},
        _NO_TABLE_PRICE,
        'IFERROR({},"")',
    ),
)
_RULES_SO_FAR: Final = 'COUNTIFS(Rule_name,{rule},Rule_from,"<="&Figures_until)'


def _side(key: str, label: str) -> FormRow:
    logged, boxed = f"INDEX(Log_{key},{{item_row}})", f"INDEX(Box_{key},{{box_row}})"
    return _of_item(key, label, LENGTH, f'IF({{sides_logged}}=1,{logged}+0,IF({{box_row}}="","",{boxed}+0))')


def _side_counted(key: str, label: str) -> FormRow:
    return _size_step(
        f"{key}_counted",
        label,
        LENGTH,
        f'IF({{rule_side_rounding}}="up",ROUNDUP(ROUND({{{key}}},9),0),'
        f'IF({{rule_side_rounding}}="nearest",INT(ROUND({{{key}}},9)+0.5),{{{key}}}))',
        blank_if=_NO_SIZE,
    )


def _rule_term(key: str, label: str, kind: CellType, blank: str) -> FormRow:
    cell = f"INDEX(Rule_{key},{{rule_row}})"
    return working(f"rule_{key}", label, kind, f'IF({{rule_row}}="",{blank},IF({cell}="",{blank},{cell}))')


# ---- price ---------------------------------------------------------------------------------------


_COST: Final = {"landed_cost": "{landed_cost}"}
_SENT: Final = {"postage": "{postage}", "packaging": "Usual_packaging"}
_PRICE_WITH: Final = {
    "price": "{price_without}",
    "shipping": "{shipping_without}",
    "postage": "{postage}",
    "rate": "{fee_rate}",
    "per_order": "{fee_per_order}",
    "tax_rate": "{fee_tax_rate}",
}


def _pair(key: str, label: str, without: AnyFormula | str, with_postage: AnyFormula | str, blank_if: str) -> FormRow:
    """A figure of both offers: the buyer pays postage, or it is in the price."""
    formulas = {"without": as_formula(without, blank_if), "with": as_formula(with_postage, blank_if)}
    cells = (FormCell(f"{key}_{offer}", MONEY, formula=formula) for offer, formula in formulas.items())
    return FormRow(label, tuple(cells), MONEY.unit)


def _pair_of_calls(key: str, label: str, function: str, blank_if: str, **beside: str) -> FormRow:
    """The same rule for both offers; <> in an argument stands for the offer."""
    arguments = {"price": "{price_<>}", "shipping": "{shipping_<>}", **beside}
    without, with_postage = (
        FunctionCall(function, {name: text.replace("<>", offer) for name, text in arguments.items()}, blank_if)
        for offer in ("without", "with")
    )
    return _pair(key, label, without, with_postage, "")


def _filled_of_log(column: str) -> str:
    cell = f"INDEX(Log_{column},{{item_row}})"
    return f'IF({cell}="","",{cell})'


# ---- description and estimates -------------------------------------------------------------------


def _joined() -> str:
    parts = (f'IF(INDEX(Text_line,{i})="","",CHAR(10)&INDEX(Text_line,{i}))' for i in range(1, TEXT_ROWS + 1))
    return f"MID({'&'.join(parts)},2,{_LONGEST_LINE * TEXT_ROWS})"


def _filled_in() -> EditionFormula:
    filled = "{template}"
    for place in range(1, len(_LABELS) + 1):
        filled = f'SUBSTITUTE({filled},"{{{{"&{{label_{place}}}&"}}}}",{{value_{place}}})'
    missing, last = list(_LABELS).index("missing") + 1, len(_LABELS)
    said = (
        f'IF(ISNUMBER(FIND("{{{{missing}}}}",{{template}})),"",CHAR(10)&"Missing or faulty: "&{{value_{missing}}}&".")'
    )
    labels, values = (f"{{{key}_1}}:{{{key}_{last}}}" for key in ("label", "value"))
    return EditionFormula(
        Formula(f"{filled}&{said}", _NO_ITEM),
        FunctionCall("FILL_IN", {"text": "{template}", "labels": labels, "values": values}, _NO_ITEM),
    )


def _text_line(place: int) -> str:
    start = (place - 1) * _LONGEST_LINE + 1
    return f'TRIM(MID(SUBSTITUTE({{filled}},CHAR(10),REPT(" ",{_LONGEST_LINE})),{start},{_LONGEST_LINE}))'


def _label_and_value(place: int, label: str, value: str) -> FormRow:
    cells = {f"label_{place}": f'"{label}"', f"value_{place}": value}
    formed = (FormCell(key, TEXT, formula=Formula(text), working=True) for key, text in cells.items())
    return FormRow("Label and value", tuple(formed))


def _long_step(key: str, label: str, formula: AnyFormula | str) -> FormRow:
    return FormRow(label, (FormCell(key, TEXT, formula=as_formula(formula, ""), working=True),), lines=1)


def _bias(key: str, label: str, estimated: str, actual: str, error: str) -> FormRow:
    """Estimates of the log against actuals."""
    errors = f"Log_{error}"
    arguments = {
        "estimated": rows_of(f"Log_{estimated}"),
        "actual": rows_of(f"Log_{actual}"),
        "coverage": "Cover_share",
    }
    none = f"COUNT({errors})=0"
    parts = (
        ("pairs", COUNT, f"COUNT({errors})"),
        ("mean", MONEY, f"AVERAGE({errors})"),
        ("short", RATIO, f'COUNTIF({errors},">0")/COUNT({errors})'),
        ("allowance", MONEY, f"MAX(0,SMALL({errors},MAX(1,ROUNDUP(ROUND(Cover_share*COUNT({errors}),9),0))))"),
    )
    cells = []
    for place, (name, kind, text) in enumerate(parts, 1):
        call = FunctionCall("ESTIMATE_BIAS", arguments, none, f"INDEX({{}},1,{place})")
        cells.append(FormCell(f"{key}_{name}", kind, formula=EditionFormula(Formula(text, none), call)))
    return FormRow(label, tuple(cells))


# Tables: key, label, type, formula or help, unit.
# fmt: off
_ITEM_ROWS: Final = (
    heading("Item"),
    _with_way(typed("item_no", "Item no.", TEXT, "An item of the sourcing log.", names="Log_item_no")),
    *(_of_item(key, label, TEXT, f'INDEX(Log_{key},{{item_row}})&""') for key, label in (
        ("description", "Description"),
        ("status", "Status"),
        ("category", "Category"),
        ("condition", "Condition"),
        ("missing", "Missing or faulty"),
    )),
    caution_words(lines=3),
)
_TITLE_ROWS: Final = (
    heading("Title"),
    typed("channel", "Channel", TEXT, "Blank: the channel in the log.", names="Channel_name"),
    result("limit", "Title limit", COUNT,
           'IF(INDEX(Channel_title_limit,{channel_row})="","",INDEX(Channel_title_limit,{channel_row}))',
           "characters", blank_if='{channel_row}=""'),
    typed("title", "Title", TEXT, "Your own; blank: the best one from the keywords below.", lines=1),
    _line("packed", _BEST_TITLE, label="Best from keywords"),
    _line("title_used", _TITLE_USED, label="Title to copy"),
    result("room", "Characters left", CHARACTERS, _ROOM),
    _line("remarks", _REMARKS, label="Remarks"),
    _line("missing_remark", 'IF(ISNUMBER(SEARCH({missing},{title_used})),"",{missing})', label="Must mention",
          blank_if='OR({title_used}="",{missing}="")'),
    heading("Keywords", "Keyword", "Weight"),
    *(FormRow(f"Keyword {i}", (
        FormCell(f"keyword_{i}", TEXT, "A word or phrase that buyers search for."),
        FormCell(f"weight_{i}", _WEIGHT_OF_KEYWORD, "How much it matters; any scale."),
    )) for i in range(1, KEYWORDS + 1)),
)
_PARCEL_ROWS: Final = (
    heading("Parcel"),
    typed("box", "Box", TEXT, "From Settings.", names="Box_name"),
    typed("item_weight", "Weight of the item", WEIGHT, "The item alone."),
    typed("service", "Postage service", TEXT, "From Settings.", names="Service_name"),
    result("packed_weight", "Packed weight", WEIGHT, _PACKED_WEIGHT),
    _side("length", "Longest side"),
    _side("width", "Second side"),
    _side("height", "Third side"),
    result("girth", "Length and girth", LENGTH, _GIRTH),
    result("billed_weight", "Billable weight", WEIGHT, _BILLED_WEIGHT),
    _of_item("postage", "Postage", COST,
              'IF({table_price}<>"",{table_price},IF({service_column}="",{expected_postage},""))'),
    _line("postage_note", 'IF({table_price}<>"","the postage table",{no_postage_words})', label="Source of postage",
          blank_if=_NO_ITEM),
)
_PRICE_ROWS: Final = (
    heading("Price", "Buyer pays postage", "Postage included"),
    typed("asking", "Price plus shipping", COST, "Blank: the asking price in the log, else its expected price."),
    _pair("price", "Price",
          Formula('IF({asking}<>"",{asking},IF({logged_price}="","",{logged_price}))',
                  'OR({item_row}="",{channel_row}="")'),
          FunctionCall("PRICE_WITH_POSTAGE", _PRICE_WITH, _NO_OFFER), _NO_OFFER),
    _pair("shipping", "Shipping charged", "{postage}", "0", _NO_OFFER),
    _pair_of_calls("fee", "Fee", "SELLING_FEE", _NO_OFFER, **fee_terms()),
    _pair_of_calls("net", "Net profit", "NET_PROFIT", _NO_NET, fee="{fee_<>}", **_SENT, **_COST),
    result("break_even", "Break-even price", MONEY,
           FunctionCall("BREAK_EVEN_PRICE", {**_COST, **_SENT, "shipping": "{shipping_without}", **fee_terms()},
                        _NO_NET, UP_TO_THE_CENT)),
    _line("cost_note",
          'TRIM(IF({landed_cost}="","Landed cost is unknown: fix its row in the log. ","")'
          '&IF({postage}="","Postage is unknown, see above. ","")&IF({channel_row}="","Choose a channel.",""))',
          label="If net profit is blank", blank_if=_NO_ITEM),
    result("rank", "Price rank among offers", COUNT,
           'COUNTIFS(Comps_first_row,{comps_row},Comps_delivered,"<"&ROUND({price_with},2))+1', "1 = lowest",
           blank_if='OR({comps_row}="",{price_with}="",SUM({offers})=0)'),
    heading("Comparables of this item"),
    *(result(key, label, kind, f"INDEX(Comps_{column},{{comps_row}})", blank_if=_NO_COMPARABLE)
      for key, label, kind, column in (
        ("comps_low", "Low price", MONEY, "low"),
        ("comps_middle", "Median price", MONEY, "middle"),
        ("comps_high", "High price", MONEY, "high"),
        ("offers", "Offers", COUNT, "asked"),
        ("sell_through", "Sell-through", RATIO, "sell_through"),
    )),
    _line("comps_remark", 'INDEX(Comps_remark,{comps_row})&""', label="Remark", blank_if=_NO_COMPARABLE),
)
_DESCRIPTION_ROWS: Final = (
    heading("Description to copy"),
    _line("label_check",
          'IF(ISERROR({filled}),"A label in the description text on Settings is unknown.",'
          'IF(ISNUMBER(FIND("{{",{filled})),"A label is unknown: "'
          '&MID({filled},FIND("{{",{filled}),FIND("}}",{filled}&"}}")-FIND("{{",{filled})+1),""))'),
    *(words(f"line_{i}", _text_line(i), lines=2, blank_if="ISERROR({filled})") for i in range(1, TEXT_ROWS + 2)),
)
_ESTIMATE_ROWS: Final = (
    heading("Estimates vs. actuals", "Sales", "Mean error", "Too low", "Allowance"),
    _bias("postage_bias", "Postage", "expected_postage", "postage_paid", "postage_error"),
    _bias("weight_bias", "Packed weight", "packed_weight", "scale_weight", "weight_error"),
    field("Error is actual minus estimate. The allowance would have covered the share of sales set on Settings; add it "
          "to your next estimates."),
)
_WORKINGS: Final = (
    heading("Calculations (don't edit)"),
    row_in("item_row", "Row in the log", "Log_item_no", "item_no", ITEM_NO_HEADER),
    row_in("channel_row", "Channel row", "Channel_name", "channel_used"),
    working("channel_used", "Channel used", TEXT,
            'IF({channel}<>"",{channel},IF({item_row}="","",INDEX(Log_channel,{item_row})&""))'),
    *term_rows(),
    topic_row("{category}"),
    row_in("comps_row", "Item on Comparables", "Comps_item", "item_no", ITEM_HEADER),
    _step_of_item("landed_cost", "Landed cost", MONEY, "INDEX(Log_landed_cost,{item_row})"),
    _step_of_item("logged_price", "Price in the log", MONEY,
                   'IF(INDEX(Log_asking_price,{item_row})<>"",INDEX(Log_asking_price,{item_row}),'
                   f"{_filled_of_log('expected_price')})"),
    _step_of_item("expected_postage", "Postage in the log", MONEY, _filled_of_log("expected_postage")),
    _step_of_item("weight_logged", "Weight in the log", WEIGHT, _filled_of_log("packed_weight")),
    _step_of_item("sides_logged", "Sides in the log", COUNT,
                   "(COUNT(INDEX(Log_length,{item_row}),INDEX(Log_width,{item_row}),"
                   "INDEX(Log_height,{item_row}))=3)*1", "1 = yes"),
    row_in("box_row", "Box row", "Box_name", "box"),
    working("box_weight", "Box weight", WEIGHT, "INDEX(Box_weight,{box_row})+0", blank_if='{box_row}=""'),
    row_in("service_row", "Service row", "Service_name", "service"),
    working("service_column", "Postage column", TEXT, '"No. "&{service_row}', blank_if='{service_row}=""'),
    _rule_step("rule_place", "Row by day", COUNT,
               f'IFERROR(IF({_RULES_SO_FAR}=0,"",MATCH({{rule}},Rule_name,0)-1+{_RULES_SO_FAR}),"")', "row",
               blank_if='{rule}=""'),
    _rule_step("rule_row", "Rule row", COUNT,
               'IF(OR(INDEX(Rule_units,{rule_place})="",'
               'INDEX(Rule_units,{rule_place})=Weight_unit&" and "&Length_unit),{rule_place},"")', "row",
               blank_if='{rule_place}=""'),
    working("rule", "Parcel rule", TEXT, 'INDEX(Service_rule,{service_row})&""', blank_if='{service_row}=""'),
    _rule_term("divisor", "Divisor", FACTOR, '""'),
    _rule_term("gate", "Over volume", VOLUME, "0"),
    _rule_term("side_rounding", "Sides rounded", TEXT, '"none"'),
    _rule_term("weight_step", "Weight step", WEIGHT, "0"),
    working("table_price", "Price in the table", COST, _TABLE_PRICE),
    working("no_postage_words", "Without the table", TEXT,
            'IF({service_column}="",IF({expected_postage}="","unknown: choose a box and a service",'
            '"the log\'s expected postage"),"unknown: "&{no_price_words})'),
    working("no_price_words", "Why no price", TEXT,
            'IF(AND({rule}<>"",{rule_row}=""),"its parcel rule has no row for this day and these units",'
            'IF({billed_weight}="","weight or box is missing","the table has no price for this weight"))'),
    _size_step("table_weight", "Weight in the table", WEIGHT,
               "IF({weight_or_size}<={rule_weight_step},{weight_or_size},{billed_weight})", blank_if=_NO_WEIGHT),
    _side_counted("length", "Longest counted"),
    _side_counted("width", "Second counted"),
    _side_counted("height", "Third counted"),
    _size_step("volume", "Volume", VOLUME, "ROUND({length_counted}*{width_counted}*{height_counted},9)",
               blank_if=_NO_SIZE),
    _size_step("weight_or_size", "Weight or size", WEIGHT,
               'MAX({packed_weight},IF({rule_divisor}="",0,IF({volume}<={rule_gate},0,{volume}/{rule_divisor})))',
               blank_if=_NO_WEIGHT),
    *(_label_and_value(place, label, value) for place, (label, value) in enumerate(_LABELS.items(), 1)),
    _long_step("template", "Text with labels", _joined()),
    _long_step("filled", "Text filled in", _filled_in()),
)
# fmt: on
ROWS: Final[tuple[FormRow, ...]] = (
    *(*_ITEM_ROWS, *_TITLE_ROWS, *_PARCEL_ROWS, *_PRICE_ROWS),
    *(*_DESCRIPTION_ROWS, *_ESTIMATE_ROWS, *_WORKINGS),
)


def form() -> FormSheet:
    """Sheet Listing desk."""
    purpose = "One item of the log, ready to list: title, price, parcel and description."
    return FormSheet(DESK, "Desk", purpose, ROWS, (24, 30, 17, 13, 13), first_row=5)
