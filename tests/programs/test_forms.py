"""What people type into the fields of a form, and what they are told of it."""

from __future__ import annotations

import datetime as dt

import pytest

from sheetfns.cell_types import COST, DATE, RATE
from sheetfns.programs.forms import Field, Form, read_answers

FORM = Form(
    "Try",
    (
        Field("what", "What", needed=True),
        Field("place", "Place", choices=("Booth", "Web")),
        Field("kind", "Kind", choices=("Glass", "Books"), only_choices=False),
        Field("price", "Price", COST),
        Field("rate", "Rate", RATE),
        Field("day", "Day", DATE),
    ),
    says=lambda answers: f"{answers['what']} for {answers['price']}",
    today=dt.date(2026, 5, 1),
)


@pytest.mark.parametrize(
    ("key", "typed", "read"),
    [
        ("what", " Lamp ", "Lamp"),
        ("place", "booth", "Booth"),
        ("place", "", None),
        ("kind", "GLASS", "Glass"),
        ("kind", "Tools", "Tools"),
        ("price", "12.5", 12.5),
        ("price", "$4.50", 4.5),
        ("price", "0", 0.0),
        ("rate", "11.5%", 0.115),
        ("day", "2026-03-31", dt.date(2026, 3, 31)),
        ("day", "Today", dt.date(2026, 5, 1)),
        ("day", "yesterday", dt.date(2026, 4, 30)),
    ],
)
def test_what_can_be_read(key, typed, read):
    answers, wrong = read_answers(FORM, {"what": "Cup"} | {key: typed})
    assert (answers[key], wrong) == (read, [])


@pytest.mark.parametrize(
    ("key", "typed", "told"),
    [
        ("what", " ", "What: is blank; fill it in"),
        ("place", "Bouth", "Place: 'Bouth' isn't in the list; choose Booth, Web"),
        ("price", "about 5", "Price: 'about 5' isn't a number; enter it as 12.50"),
        ("price", "1,234", "Price: '1,234' isn't a number; enter it as 12.50, with a point and no comma"),
        ("price", "-3", "Price: -3 is below 0; write 0 or more"),
        ("rate", "130%", "Rate: 1.3 is over 100%; write a percentage as 1.3% or 0.013"),
        ("day", "31.3.", "Day: '31.3.' isn't a date; enter it as 2026-05-01, or today"),
    ],
)
def test_what_cannot_be_read_is_told(key, typed, told):
    answers, wrong = read_answers(FORM, {"what": "Cup"} | {key: typed})
    assert (answers[key], wrong) == (None, [told])


def test_what_follows_is_said_of_half_a_form_too():
    assert FORM.said({"what": "Cup"}) == "Cup for None"
    assert FORM.said({"what": "Cup", "price": "2,5,1"}) == "Cup for None"
