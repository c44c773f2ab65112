"""Sheet Listing desk: title, description, parcel and price of one piece of the log."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from sheetfns.cell_types import CHARACTERS, COST, COUNT, FACTOR, LENGTH, MONEY, RATIO, TEXT, VOLUME, WEIGHT, CellType
from sheetfns.functions.parcel import NOISE_DIGITS
from sheetfns.log.model.sheets import AnyFormula, EditionFormula, FormCell, FormRow, FormSheet, Formula, FunctionCall
from sheetfns.log.sheets.columns import fee_terms
from sheetfns.log.sheets.form_rows import (
    caution_words,
    field,
    heading,
    result,
    term_rows,
    topic_row,
    typed,
    words,
    working,
)
from sheetfns.log.sheets.words import DESK, KEYWORDS, TEXT_ROWS

_NO_PIECE: Final = '{piece_row}=""'
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
_LABEL_ROWS: Final = tuple(_LABELS)


def _from_log(key: str, label: str, column: str) -> FormRow:
    return result(key, label, TEXT, Formula(f'INDEX(Log_{column},{{piece_row}})&""', blank_if=_NO_PIECE))


def _piece() -> tuple[FormRow, ...]:
    return (
        heading("Piece"),
        typed("item_no", "Item no.", TEXT, "A piece of the sourcing log.", names="Log_item_no"),
        _from_log("description", "Description", "description"),
        _from_log("status", "Status", "status"),
        _from_log("category", "Category", "category"),
        _from_log("condition", "Condition", "condition"),
        _from_log("missing", "Missing or faulty", "missing"),
        caution_words(lines=3),
    )


def _title() -> tuple[FormRow, ...]:
    return (
        heading("Title"),
        typed("channel", "Channel", TEXT, "Blank: the channel of the log.", names="Channel_name"),
        result(
            "limit",
            "Title limit",
            COUNT,
            Formula(
                'IF(INDEX(Channel_title_limit,{channel_row})="","",INDEX(Channel_title_limit,{channel_row}))',
                blank_if='{channel_row}=""',
            ),
            "characters",
        ),
        _wide("title", "Title", "Your own; blank: the best one from the keywords below."),
        _wide(
            "packed",
            "Best from keywords",
            formula=EditionFormula(
                Formula('"worked out in the functions edition only"'),
                FunctionCall(
                    "TITLE_PACK",
                    {"keywords": _span("keyword"), "weights": _span("weight"), "limit": "{limit}"},
                    blank_if=f'OR({{limit}}="",COUNTA({_span("keyword")})=0)',
                ),
            ),
        ),
        _wide(
            "title_used",
            "Title to copy",
            formula=EditionFormula(Formula('IF({title}="","",{title})'), Formula('IF({title}="",{packed},{title})')),
        ),
        result(
            "room",
            "Characters left",
            CHARACTERS,
            EditionFormula(
                Formula("{limit}-LEN({title_used})", blank_if=_NO_TITLE),
                FunctionCall("TITLE_ROOM", {"title": "{title_used}", "limit": "{limit}"}, _NO_TITLE),
            ),
            "characters",
        ),
        _wide(
            "remarks",
            "Remarks",
            formula=EditionFormula(
                Formula(
                    'IF({room}<0,-{room}&" over the limit; ","")'
                    '&"filler words, repeats and symbols: functions edition only"',
                    blank_if=_NO_TITLE,
                ),
                FunctionCall(
                    "TITLE_REMARKS",
                    {"title": "{title_used}", "limit": "{limit}", "filler_words": "Filler_word"},
                    _NO_TITLE,
                ),
            ),
        ),
        _wide(
            "missing_remark",
            "To be said in it",
            formula=Formula(
                'IF(ISNUMBER(SEARCH({missing},{title_used})),"",{missing})', blank_if='OR({title_used}="",{missing}="")'
            ),
        ),
        heading("Keywords", "Keyword", "Weight"),
        *(
            FormRow(
                f"Keyword {i}",
                (
                    FormCell(f"keyword_{i}", TEXT, "A word or phrase that buyers search for."),
                    FormCell(f"weight_{i}", replace(FACTOR, least=0), "How much it matters; any scale."),
                ),
            )
            for i in range(1, KEYWORDS + 1)
        ),
    )


_NO_TITLE: Final = 'OR({limit}="",{title_used}="")'


def _wide(key: str, label: str, help_text: str = "", formula: AnyFormula | None = None) -> FormRow:
    return FormRow(label, (FormCell(key, TEXT, help_text, formula=formula),), lines=1)


def _span(key: str) -> str:
    return f"{{{key}_1}}:{{{key}_{KEYWORDS}}}"


def _side(key: str, label: str) -> FormRow:
    logged, boxed = f"INDEX(Log_{key},{{piece_row}})", f"INDEX(Box_{key},{{box_row}})"
    return result(
        key,
        label,
        LENGTH,
        Formula(f'IF({{sides_logged}}=1,{logged}+0,IF({{box_row}}="","",{boxed}+0))', blank_if=_NO_PIECE),
    )


_SIDES: Final = {"length": "{length}", "breadth": "{width}", "height": "{height}"}


def _rule_term(key: str, label: str, kind: CellType, *, blank: str) -> FormRow:
    cell = f"INDEX(Rule_{key},{{rule_row}})"
    return working(f"rule_{key}", label, kind, Formula(f'IF({{rule_row}}="",{blank},IF({cell}="",{blank},{cell}))'))


_NO_TABLE_PRICE: Final = 'OR({billed_weight}="",{service_column}="")'
_LISTED_PRICE: Final = (
    f'INDEX(Postage_table,COUNTIF(Postage_up_to,"<"&ROUND({{table_weight}},{NOISE_DIGITS}))+2,{{service_row}}+1)'
)
_NO_WEIGHT: Final = 'OR({packed_weight}="",{girth}="",AND({rule}<>"",{rule_row}=""))'


_BY_BILLED_WEIGHT: Final = "Python calls BILLED_WEIGHT, which has no such step"
_BY_RULE: Final = "Python takes the terms of the rule in one go; they are compared"


def _by_size() -> tuple[FormRow, ...]:
    """What a parcel's size counts as by its rule, step by step."""
    sides = tuple(
        working(
            f"{side}_counted",
            f"{label} counted",
            LENGTH,
            Formula(
                f'IF({{rule_side_rounding}}="up",ROUNDUP(ROUND({{{side}}},9),0),'
                f'IF({{rule_side_rounding}}="nearest",INT(ROUND({{{side}}},9)+0.5),{{{side}}}))',
                blank_if='{girth}=""',
            ),
            not_compared=_BY_BILLED_WEIGHT,
        )
        for side, label in (("length", "Longest"), ("width", "Second"), ("height", "Third"))
    )
    return (
        working(
            "table_price",
            "Price in the table",
            COST,
            EditionFormula(
                Formula(f'IFERROR(IF(ISNUMBER({_LISTED_PRICE}),{_LISTED_PRICE},""),"")', blank_if=_NO_TABLE_PRICE),
                FunctionCall(
                    "POSTAGE_COST",
                    {
                        # Within the first step a table may have finer rows of its own.
                        "weight": "{table_weight}",
                        "zone": "{service_column}",
                        "table": "Postage_table",
                    },
                    blank_if=_NO_TABLE_PRICE,
                    around='IFERROR({},"")',
                ),
            ),
        ),
        working(
            "no_postage_words",
            "If not the table",
            TEXT,
            Formula(
                'IF({service_column}="",IF({expected_postage}="","not known: choose a box and a '
                'service","the log\'s expected postage"),"not known: "&{no_price_words})'
            ),
        ),
        working(
            "no_price_words",
            "Why no price",
            TEXT,
            Formula(
                'IF(AND({rule}<>"",{rule_row}=""),"its parcel rule has no row for this day and '
                'these units",IF({billed_weight}="","weight or box is missing","the table has no '
                'price for this weight"))'
            ),
        ),
        working(
            "table_weight",
            "Weight in the table",
            WEIGHT,
            Formula("IF({weight_or_size}<={rule_weight_step},{weight_or_size},{billed_weight})", blank_if=_NO_WEIGHT),
            not_compared=_BY_BILLED_WEIGHT,
        ),
        *sides,
        working(
            "volume",
            "Volume",
            VOLUME,
            Formula("ROUND({length_counted}*{width_counted}*{height_counted},9)", blank_if='{girth}=""'),
            not_compared=_BY_BILLED_WEIGHT,
        ),
        working(
            "weight_or_size",
            "Weight or size",
            WEIGHT,
            Formula(
                'MAX({packed_weight},IF({rule_divisor}="",0,IF({volume}<={rule_gate},0,{volume}/{rule_divisor})))',
                blank_if=_NO_WEIGHT,
            ),
            not_compared=_BY_BILLED_WEIGHT,
        ),
    )


def _parcel() -> tuple[FormRow, ...]:
    return (
        heading("Parcel"),
        typed("box", "Box", TEXT, "From Settings.", names="Box_name"),
        typed("piece_weight", "Weight of the piece", WEIGHT, "The piece alone."),
        typed("service", "Postage service", TEXT, "From Settings.", names="Service_name"),
        result(
            "packed_weight",
            "Packed weight",
            WEIGHT,
            FunctionCall(
                "PACKED_WEIGHT",
                {
                    "item_weight": "{piece_weight}",
                    "box_weight": "{box_weight}",
                    "fill_rate": "Filling_rate",
                    "margin": "Weight_allowance",
                },
                blank_if='OR({piece_row}="",AND({weight_logged}="",OR({piece_weight}="",{box_row}="")))',
                around='IF({weight_logged}<>"",{weight_logged},{})',
            ),
        ),
        _side("length", "Longest side"),
        _side("width", "Second side"),
        _side("height", "Third side"),
        result(
            "girth",
            "Length and girth",
            LENGTH,
            FunctionCall(
                "LENGTH_GIRTH", _SIDES, blank_if="IF(COUNT({length}:{height})<3,TRUE,MIN({length}:{height})<=0)"
            ),
        ),
        result(
            "billed_weight",
            "Weight that counts",
            WEIGHT,
            EditionFormula(
                # The function's own formula in one cell would be too long to be read.
                Formula(
                    "IF({rule_weight_step}=0,{weight_or_size},ROUND(ROUNDUP(ROUND({weight_or_size}"
                    "/{rule_weight_step},9),0)*{rule_weight_step},9))",
                    blank_if=_NO_WEIGHT,
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
                    blank_if=_NO_WEIGHT,
                ),
            ),
        ),
        result(
            "postage",
            "Postage",
            COST,
            Formula(
                'IF({table_price}<>"",{table_price},IF({service_column}="",{expected_postage},""))', blank_if=_NO_PIECE
            ),
        ),
        _wide(
            "postage_note",
            "Where it is from",
            formula=Formula('IF({table_price}<>"","the postage table",{no_postage_words})', blank_if=_NO_PIECE),
        ),
    )


def _offer(key: str, label: str, kind: CellType, formulas: tuple[AnyFormula, AnyFormula]) -> FormRow:
    return FormRow(
        label,
        (FormCell(f"{key}_without", kind, formula=formulas[0]), FormCell(f"{key}_with", kind, formula=formulas[1])),
        kind.unit,
    )


def _pair(key: str, label: str, kind: CellType, function: str, **arguments: str) -> FormRow:
    """The same rule for both offers; <> in an argument stands for the offer."""

    def call(offer: str) -> FunctionCall:
        given = {name: text.replace("<>", offer) for name, text in arguments.items()}
        blank = _NO_NET if function == "NET_PROFIT" else _NO_OFFER
        return FunctionCall(function, given, blank_if=blank)

    return _offer(key, label, kind, (call("without"), call("with")))


_NO_OFFER: Final = 'OR({price_without}="",{postage}="")'
_NO_NET: Final = 'OR({price_without}="",{postage}="",{landed_cost}="")'
_PRICE: Final = {"price": "{price_<>}", "shipping": "{shipping_<>}"}


def _price() -> tuple[FormRow, ...]:
    none = _NO_OFFER
    return (
        heading("Price", "Buyer pays postage", "Postage included"),
        typed("asking", "Price, postage apart", COST, "Blank: the asking price of the log, else its expected price."),
        _offer(
            "price",
            "Price",
            MONEY,
            (
                Formula(
                    'IF({asking}<>"",{asking},IF({logged_price}="","",{logged_price}))',
                    blank_if='OR({piece_row}="",{channel_row}="")',
                ),
                FunctionCall(
                    "PRICE_WITH_POSTAGE",
                    {
                        "price": "{price_without}",
                        "shipping": "{shipping_without}",
                        "postage": "{postage}",
                        "rate": "{fee_rate}",
                        "per_order": "{fee_per_order}",
                        "tax_rate": "{fee_tax_rate}",
                    },
                    blank_if=none,
                ),
            ),
        ),
        _offer(
            "shipping", "Shipping charged", MONEY, (Formula("{postage}", blank_if=none), Formula("0", blank_if=none))
        ),
        _pair("fee", "Fee", MONEY, "SELLING_FEE", **_PRICE, **fee_terms()),
        _pair(
            "net",
            "Net profit",
            MONEY,
            "NET_PROFIT",
            **_PRICE,
            fee="{fee_<>}",
            postage="{postage}",
            packing="Usual_packing",
            landed_cost="{landed_cost}",
        ),
        FormRow(
            "Break-even price",
            (
                FormCell(
                    "break_even",
                    MONEY,
                    formula=FunctionCall(
                        "BREAK_EVEN_PRICE",
                        {
                            "landed_cost": "{landed_cost}",
                            "postage": "{postage}",
                            "packing": "Usual_packing",
                            "shipping": "{shipping_without}",
                            **fee_terms(),
                        },
                        blank_if=_NO_NET,
                        around="-INT(-ROUND(100*{},6))/100",
                    ),
                ),
            ),
            "money",
        ),
        _wide(
            "cost_note",
            "If net is blank",
            formula=Formula(
                'TRIM(IF({landed_cost}="","Landed cost is not known: mend its row in the log. ","")'
                '&IF({postage}="","Postage is not known, see above. ","")'
                '&IF({channel_row}="","Choose a channel.",""))',
                blank_if=_NO_PIECE,
            ),
        ),
        result(
            "rank",
            "Place among offers",
            COUNT,
            Formula(
                'COUNTIFS(Comps_first_row,{comps_row},Comps_delivered,"<"&ROUND({price_with},2))+1',
                blank_if='OR({comps_row}="",{price_with}="",SUM({offers})=0)',
            ),
            "1 = lowest",
        ),
        heading("Comparables of this item"),
        *(
            result(key, label, kind, Formula(f"INDEX(Comps_{column},{{comps_row}})", blank_if='{comps_row}=""'))
            for key, label, kind, column in (
                ("comps_low", "Low price", MONEY, "low"),
                ("comps_middle", "Middle price", MONEY, "middle"),
                ("comps_high", "High price", MONEY, "high"),
                ("offers", "Offers", COUNT, "asked"),
                ("sell_through", "Sell-through", RATIO, "sell_through"),
            )
        ),
        _wide(
            "comps_remark", "Remark", formula=Formula('INDEX(Comps_remark,{comps_row})&""', blank_if='{comps_row}=""')
        ),
    )


def _joined() -> str:
    parts = (f'IF(INDEX(Text_line,{i})="","",CHAR(10)&INDEX(Text_line,{i}))' for i in range(1, TEXT_ROWS + 1))
    return f"MID({'&'.join(parts)},2,{_LONGEST_LINE * TEXT_ROWS})"


def _filled_in() -> EditionFormula:
    filled = "{template}"
    for place in range(1, len(_LABELS) + 1):
        filled = f'SUBSTITUTE({filled},"{{{{"&{{label_{place}}}&"}}}}",{{value_{place}}})'
    missing = _LABEL_ROWS.index("missing") + 1
    said = (
        f'IF(ISNUMBER(FIND("{{{{missing}}}}",{{template}})),"",CHAR(10)&"Missing or faulty: "&{{value_{missing}}}&".")'
    )
    last = len(_LABELS)
    return EditionFormula(
        Formula(f"{filled}&{said}", blank_if=_NO_PIECE),
        FunctionCall(
            "FILL_IN",
            {
                "text": "{template}",
                "labels": f"{{label_1}}:{{label_{last}}}",
                "values": f"{{value_1}}:{{value_{last}}}",
            },
            blank_if=_NO_PIECE,
        ),
    )


def _line(place: int) -> Formula:
    start = (place - 1) * _LONGEST_LINE + 1
    return Formula(
        f'TRIM(MID(SUBSTITUTE({{filled}},CHAR(10),REPT(" ",{_LONGEST_LINE})),{start},{_LONGEST_LINE}))',
        blank_if="ISERROR({filled})",
    )


def _description() -> tuple[FormRow, ...]:
    return (
        heading("Description to copy"),
        words(
            "label_check",
            Formula(
                'IF(ISERROR({filled}),"A label in the description text on Settings is unknown.",'
                'IF(ISNUMBER(FIND("{{",{filled})),"A label is unknown: "'
                '&MID({filled},FIND("{{",{filled}),FIND("}}",{filled}&"}}")-FIND("{{",{filled})+1),""))'
            ),
            lines=1,
        ),
        *(words(f"line_{i}", _line(i), lines=2) for i in range(1, TEXT_ROWS + 2)),
    )


def _bias(key: str, label: str, kind: CellType, names: tuple[str, str, str]) -> FormRow:
    """Estimates against actuals; names: estimated, actual, and their difference."""
    estimated, actual, error = (f"Log_{name}" for name in names)
    plain = (
        f"COUNT({error})",
        f"AVERAGE({error})",
        f'COUNTIF({error},">0")/COUNT({error})',
        f"MAX(0,SMALL({error},MAX(1,ROUNDUP(ROUND(Cover_share*COUNT({error}),9),0))))",
    )
    cells = []
    for place, (name, cell_kind, text) in enumerate(
        zip(("pairs", "mean", "short", "allowance"), (COUNT, kind, RATIO, kind), plain, strict=True), 1
    ):
        formula = EditionFormula(
            Formula(text, blank_if=f"COUNT({error})=0"),
            FunctionCall(
                "ESTIMATE_BIAS",
                {"estimated": estimated, "actual": actual, "coverage": "Cover_share"},
                blank_if=f"COUNT({error})=0",
                around=f"INDEX({{}},1,{place})",
            ),
        )
        cells.append(FormCell(f"{key}_{name}", cell_kind, formula=formula))
    return FormRow(label, tuple(cells))


def _estimates() -> tuple[FormRow, ...]:
    return (
        heading("Estimates against actuals", "Sales", "Mean error", "Too low", "Allowance"),
        _bias("postage_bias", "Postage", MONEY, ("expected_postage", "postage_paid", "postage_error")),
        _bias("weight_bias", "Packed weight", MONEY, ("packed_weight", "scale_weight", "weight_error")),
        field(
            "Error is actual less estimate. The allowance would have covered the share of sales "
            "that Settings says; add it to your next estimates."
        ),
    )


def _workings() -> tuple[FormRow, ...]:
    labels = tuple(
        FormRow(
            "Label and value",
            (
                FormCell(f"label_{i}", TEXT, formula=Formula(f'"{label}"'), working=True),
                FormCell(f"value_{i}", TEXT, formula=Formula(text), working=True),
            ),
        )
        for i, (label, text) in enumerate(_LABELS.items(), 1)
    )
    return (
        heading("Workings (do not type)"),
        working(
            "piece_row",
            "Row in the log",
            COUNT,
            Formula('IFERROR(MATCH({item_no},Log_item_no,0),"")', blank_if='{item_no}=""'),
            "row",
        ),
        working(
            "channel_row",
            "Channel row",
            COUNT,
            Formula('IFERROR(MATCH({channel_used},Channel_name,0),"")', blank_if='{channel_used}=""'),
            "row",
        ),
        working(
            "channel_used",
            "Channel used",
            TEXT,
            Formula('IF({channel}<>"",{channel},IF({piece_row}="","",INDEX(Log_channel,{piece_row})&""))'),
        ),
        *term_rows(),
        topic_row("{category}"),
        working(
            "comps_row",
            "Item on Comparables",
            COUNT,
            Formula('IFERROR(MATCH({item_no},Comps_item,0),"")', blank_if='{item_no}=""'),
            "row",
        ),
        working("landed_cost", "Landed cost", MONEY, Formula("INDEX(Log_landed_cost,{piece_row})", blank_if=_NO_PIECE)),
        working(
            "logged_price",
            "Price in the log",
            MONEY,
            Formula(
                'IF(INDEX(Log_asking_price,{piece_row})<>"",INDEX(Log_asking_price,{piece_row}),'
                'IF(INDEX(Log_expected_price,{piece_row})="","",INDEX(Log_expected_price,{piece_row})))',
                blank_if=_NO_PIECE,
            ),
        ),
        working(
            "expected_postage",
            "Postage in the log",
            MONEY,
            Formula(
                'IF(INDEX(Log_expected_postage,{piece_row})="","",INDEX(Log_expected_postage,{piece_row}))',
                blank_if=_NO_PIECE,
            ),
        ),
        working(
            "weight_logged",
            "Weight in the log",
            WEIGHT,
            Formula(
                'IF(INDEX(Log_packed_weight,{piece_row})="","",INDEX(Log_packed_weight,{piece_row}))',
                blank_if=_NO_PIECE,
            ),
        ),
        working(
            "sides_logged",
            "Sides in the log",
            COUNT,
            Formula(
                "(COUNT(INDEX(Log_length,{piece_row}),INDEX(Log_width,{piece_row}),INDEX(Log_height,{piece_row}))=3)*1",
                blank_if=_NO_PIECE,
            ),
            "1 = yes",
        ),
        working(
            "box_row", "Box row", COUNT, Formula('IFERROR(MATCH({box},Box_name,0),"")', blank_if='{box}=""'), "row"
        ),
        working("box_weight", "Box weight", WEIGHT, Formula("INDEX(Box_weight,{box_row})+0", blank_if='{box_row}=""')),
        working(
            "service_row",
            "Service row",
            COUNT,
            Formula('IFERROR(MATCH({service},Service_name,0),"")', blank_if='{service}=""'),
            "row",
        ),
        working("service_column", "Postage column", TEXT, Formula('"No. "&{service_row}', blank_if='{service_row}=""')),
        working(
            "rule_place",
            "Row by day",
            COUNT,
            Formula(
                'IFERROR(IF(COUNTIFS(Rule_name,{rule},Rule_from,"<="&As_of_date)=0,"",'
                'MATCH({rule},Rule_name,0)-1+COUNTIFS(Rule_name,{rule},Rule_from,"<="&As_of_date)),"")',
                blank_if='{rule}=""',
            ),
            "row",
            not_compared=_BY_RULE,
        ),
        working(
            "rule_row",
            "Rule row",
            COUNT,
            Formula(
                'IF(OR(INDEX(Rule_units,{rule_place})="",'
                'INDEX(Rule_units,{rule_place})=Weight_unit&" and "&Length_unit),{rule_place},"")',
                blank_if='{rule_place}=""',
            ),
            "row",
            not_compared=_BY_RULE,
        ),
        working(
            "rule", "Parcel rule", TEXT, Formula('INDEX(Service_rule,{service_row})&""', blank_if='{service_row}=""')
        ),
        _rule_term("divisor", "Divisor", FACTOR, blank='""'),
        _rule_term("gate", "Over volume", VOLUME, blank="0"),
        _rule_term("side_rounding", "Sides rounded", TEXT, blank='"none"'),
        _rule_term("weight_step", "Weight step", WEIGHT, blank="0"),
        *_by_size(),
        *labels,
        FormRow("Text with labels", (FormCell("template", TEXT, formula=Formula(_joined()), working=True),), lines=1),
        FormRow("Text filled in", (FormCell("filled", TEXT, formula=_filled_in(), working=True),), lines=1),
    )


def desk_form() -> FormSheet:
    """Sheet Listing desk."""
    return FormSheet(
        DESK,
        "Desk",
        "One piece of the log, ready to be listed: title, price, parcel and description.",
        (*_piece(), *_title(), *_parcel(), *_price(), *_description(), *_estimates(), *_workings()),
        (24, 30, 17, 13, 13),
        first_row=5,
    )
