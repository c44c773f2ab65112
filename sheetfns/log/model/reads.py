"""What a sheet is worked out from: a record whose fields say where each of their values comes from.

    @dataclass(frozen=True)
    class Reads:
        lots: Annotated[pd.DataFrame, Typed("Lots")]
        log: Annotated[pd.DataFrame, Results("Log", "lot_no", "lot_share")]
        as_of: Annotated[dt.date, SettingValue("Figures_until")]

`compute(reads: Reads) -> pd.DataFrame` of that sheet sees nothing else. So the order in which sheets are worked out
follows from what they read, and a test knows which sheets another one needs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, get_type_hints


@dataclass(frozen=True)
class Typed:
    """The typed rows of a sheet by column key, with sheet_row."""

    sheet: str


@dataclass(frozen=True)
class Results:
    """Columns of a sheet that is worked out before, results and typed ones; all if none is named."""

    sheet: str
    columns: tuple[str, ...]

    def __init__(self, sheet: str, *columns: str) -> None:
        object.__setattr__(self, "sheet", sheet)
        object.__setattr__(self, "columns", columns)


@dataclass(frozen=True)
class Block:
    """A small table on Settings: its filled rows, and `place`, the row of each in the table, counted from 1."""

    key: str


@dataclass(frozen=True)
class SettingValue:
    """One figure, date or word of Settings; None where it is blank or cannot be read.

    Where a blank counts as something else, such as the first channel, that is given, unless it is asked for `as_typed`.
    """

    name: str
    as_typed: bool = False


@dataclass(frozen=True)
class Amount:
    """A number of Settings as a float, 0 where it is blank."""

    name: str


@dataclass(frozen=True)
class EditionOfLog:
    """The edition of the log; None if it has no formulas."""


@dataclass(frozen=True)
class OlderLayout:
    """Whether an earlier layout made the log, so that its texts may be those of its time."""


@dataclass(frozen=True)
class FormInputs:
    """What is typed into a form, by cell key."""

    form: str


@dataclass(frozen=True)
class Unread:
    """What stands in cells that cannot be read, by sheet row and key, of a sheet, small table or Settings."""

    key: str


@dataclass(frozen=True)
class Verdicts:
    """The checks that fail, by sheet row, as the validators of a sheet found them."""

    sheet: str


Source = Typed | Results | Block | SettingValue | Amount | EditionOfLog | OlderLayout | FormInputs | Unread | Verdicts


class UnknownSourceError(TypeError):
    """A field of a record does not say where its value comes from."""


def sources_of(record: type[Any]) -> dict[str, Source]:
    """Where each field of a record comes from."""
    found = {}
    for name, hint in get_type_hints(record, include_extras=True).items():
        sources = [one for one in getattr(hint, "__metadata__", ()) if isinstance(one, Source)]
        if len(sources) != 1:
            raise UnknownSourceError(
                f"{record.__qualname__}.{name}: say where it comes from, as Annotated[..., Typed(...)]"
            )
        found[name] = sources[0]
    return found


def record_of(compute: Callable[[Any], Any]) -> type[Any]:
    """The record that a compute function takes."""
    hints = get_type_hints(compute)
    hints.pop("return", None)
    (record,) = hints.values()
    return record  # type: ignore[no-any-return]
