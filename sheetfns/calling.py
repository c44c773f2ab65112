"""From cells and ranges to columns and back: broadcasting, blanks, limits, and errors by row.

Every host calls functions through this module, so that a result is the same in each.
"""

from __future__ import annotations

import math
import sys
import warnings
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Protocol, TypeGuard

import numpy as np
from numpy.typing import NDArray

from sheetfns import former_names
from sheetfns.cell_types import CellType, blank_refusal, counted, is_blank, limit_refusal, read_cell
from sheetfns.errors import DIVISION, NUMBER, VALUE, CellError, collecting_refusals

Errors = dict[int, CellError]
"""Errors by their place in the flattened result."""


class _Argument(Protocol):
    @property
    def name(self) -> str: ...
    @property
    def kind(self) -> CellType: ...
    @property
    def required(self) -> bool: ...
    @property
    def default(self) -> float | str | bool | None: ...


class _Spec(Protocol):
    @property
    def name(self) -> str: ...
    @property
    def arguments(self) -> tuple[Any, ...]: ...
    @property
    def returns(self) -> CellType: ...
    @property
    def body(self) -> Callable[..., Any]: ...
    @property
    def required(self) -> tuple[int, ...]: ...
    @property
    def of_figures(self) -> bool: ...
    def refuse(self, columns: Iterable[Any]) -> None: ...


_ONE_CELL: Final = (str, bytes, bytearray, memoryview)
"""Sequences that are no ranges."""
LARGEST: Final = sys.float_info.max


class _Missing:
    def __repr__(self) -> str:
        return "MISSING"


MISSING: Final = _Missing()
"""Stands for an argument that was left out."""


@dataclass
class Outcome:
    """A function's results: one figure (0 dimensions), a list (1) or a block (2)."""

    values: NDArray[Any]
    blanks: NDArray[np.bool_] | None = None
    errors: Errors = field(default_factory=dict)

    def cells(self) -> list[list[Any]]:
        """Rows of cells: plain float, str or bool, None for blank, CellError for an error."""
        flat: list[Any] = self.values.ravel().tolist()
        if self.blanks is not None:
            for blank in np.flatnonzero(self.blanks):
                flat[blank] = None
        for place, error in self.errors.items():
            flat[place] = error
        width = self.values.shape[1] if self.values.ndim == 2 else 1
        return [flat[start : start + width] for start in range(0, len(flat), width)]

    def python(self) -> Any:
        """The same for Python: a float or None, or an array; a single error is raised.

        An array is float64 with NaN for blanks; it is an object array if a row holds a CellError.
        """
        if self.values.ndim == 0:
            (cell,) = self.cells()[0]
            if isinstance(cell, CellError):
                raise cell
            return cell
        if not self.errors:
            if self.blanks is None:
                return self.values
            if self.values.dtype != object:
                return np.where(self.blanks, np.nan, self.values)
        mixed = self.values.astype(object)
        if self.blanks is not None:
            mixed[self.blanks] = None
        flat = mixed.reshape(-1)
        for place, error in self.errors.items():
            flat[place] = error
        return flat.reshape(mixed.shape)


def failed(error: CellError) -> Outcome:
    """One error for the whole call."""
    return Outcome(np.array(np.nan), errors={0: error})


def call(spec: _Spec, args: Sequence[Any], named: Mapping[str, Any]) -> Any:
    """Call from Python: positional and named arguments, Python results."""
    if named:
        names = [argument.name for argument in spec.arguments]
        named = _with_names_of_now(spec.name, names, named)
        for name in named:
            if name not in names:
                raise TypeError(f"{spec.name} has no argument {name}; it takes {', '.join(names)}")
            if names.index(name) < len(args):
                raise TypeError(f"{spec.name}: {name} is given twice")
        rest = [named.get(name, MISSING) for name in names[len(args) :]]
        args = [*args, *rest]
    single = single_figure(spec, args)
    if single is not MISSING:
        if isinstance(single, CellError):
            raise single
        return single
    return evaluate(spec, args).python()


def _with_names_of_now(function: str, names: Sequence[str], named: Mapping[str, Any]) -> dict[str, Any]:
    """Named arguments by the names of now; a former name is understood, with a warning."""
    found: dict[str, Any] = {}
    for name, cells in named.items():
        now = former_names.argument_now(name, names)
        if now != name:
            if now in named:
                raise TypeError(f"{function}: {now} is given twice, once as {name}, its former name")
            # The caller is above this function, `call`, and the function itself.
            warnings.warn(former_names.notice(name, now), DeprecationWarning, stacklevel=4)
        found[now] = cells
    return found


def single_figure(spec: _Spec, args: Sequence[Any]) -> Any:
    """The quick way for plain figures in single cells: a float, None or a CellError.

    Returns MISSING where the general way is needed: text, dates, ranges, blanks among the needed.
    """
    arguments = spec.arguments
    if not spec.of_figures or len(args) > len(arguments):
        return MISSING
    figures = []
    for argument, cell in zip(arguments, args, strict=False):
        kind = argument.kind
        if type(cell) is float or type(cell) is int:
            if (
                kind.holds != "number"
                or not -LARGEST <= cell <= LARGEST
                or (kind.minimum is not None and cell < kind.minimum)
                or (kind.maximum is not None and cell > kind.maximum)
                or kind.whole
            ):
                return MISSING
            figures.append(float(cell))
        elif not argument.required and (cell is MISSING or cell is None):
            figures.append(argument.default)
        else:
            return MISSING
    for argument in arguments[len(args) :]:
        if argument.required:
            return MISSING
        figures.append(argument.default)
    try:
        spec.refuse(figures)
        result = float(spec.body(*figures))
    except CellError as error:
        return error
    except ZeroDivisionError:
        return CellError(DIVISION, f"{spec.name}: divides by 0; check the cells that it uses")
    return result if math.isfinite(result) else _not_finite(spec.name, result)


def evaluate(spec: _Spec, args: Sequence[Any]) -> Outcome:
    """Call with cells and ranges as a host delivers them; MISSING for what was left out."""
    try:
        return _evaluate(spec, args)
    except CellError as error:
        return failed(error)


@dataclass
class _Read:
    """One argument as a column, with its blanks and errors."""

    argument: _Argument
    values: NDArray[Any]
    blanks: NDArray[np.bool_] | None = None
    errors: Errors = field(default_factory=dict)
    missing: bool = False

    def all_blank(self) -> bool:
        # A list without a cell may mean none, such as no limits; a table without one is not there.
        no_table = self.argument.kind.own_shape and not self.values.size
        return self.missing or no_table or (self.blanks is not None and bool(self.blanks.all()))


def _evaluate(spec: _Spec, args: Sequence[Any]) -> Outcome:
    reads = _read_all(spec, args)
    if spec.returns.takes_range or spec.returns.own_shape:
        return _over_range(spec, reads)
    whole_ranges = [read for read in reads if read.argument.kind.takes_range]
    for read in whole_ranges:
        _refuse_errors_in_range(read)
    row_by_row = [read for read in reads if not read.argument.kind.takes_range]
    shape = _common_shape(row_by_row)
    blanks, errors = _blank_rule(row_by_row, whole_ranges, shape)
    if not shape and (errors or (blanks is not None and blanks)):
        return Outcome(np.array(np.nan), blanks, errors)
    values, refusals = _run_body(spec, reads)
    # NumPy's own type of texts loses a NUL at the end.
    values = np.asarray(values, dtype=object if isinstance(values, str) else None)
    if values.shape != shape:
        values = np.broadcast_to(values, shape).copy()
    for bad, error in refusals:
        for place in np.flatnonzero(np.broadcast_to(bad, shape)):
            errors.setdefault(int(place), error)
    for unusable in _unusable(values):
        errors.setdefault(unusable, _not_finite(spec.name, float(values.flat[unusable])))
    if errors and blanks is not None:
        errors = {place: error for place, error in errors.items() if not blanks.flat[place]}
    return Outcome(values, blanks, errors)


def _read_all(spec: _Spec, args: Sequence[Any]) -> list[_Read]:
    if len(args) > len(spec.arguments):
        raise CellError(VALUE, f"{spec.name} takes at most {len(spec.arguments)} arguments")
    given = list(args) + [MISSING] * (len(spec.arguments) - len(args))
    reads = [_read(argument, cells) for argument, cells in zip(spec.arguments, given, strict=True)]
    for read in reads:
        if read.missing and read.argument.required:
            raise CellError(VALUE, f"{spec.name} needs {read.argument.name}")
    return reads


def _over_range(spec: _Spec, reads: list[_Read]) -> Outcome:
    """Functions whose result is a range: one bad cell leaves nothing that could be right."""
    for read in reads:
        _refuse_errors_in_range(read)
    needed = [reads[i] for i in spec.required]
    frame = next((read for read in reads if read.argument.kind.takes_range), reads[0])
    like_frame = spec.returns.takes_range
    if all(read.all_blank() for read in needed):
        shape = frame.values.shape if like_frame else ()
        return Outcome(np.full(shape, np.nan), np.ones(shape, bool))
    for read in needed:
        if read.all_blank():
            raise blank_refusal(read.argument.name)
    for read in reads:
        if not read.argument.kind.takes_range:
            _to_one_cell(read)
        elif like_frame and not read.all_blank() and read.values.size != frame.values.size:
            raise _unlike_sizes(frame, read)
    values, refusals = _run_body(spec, reads)
    for _, error in refusals:
        raise error
    if not like_frame:
        return _own_rows(spec.name, values)
    return Outcome(np.asarray(values).reshape(frame.values.shape), frame.blanks)


def _to_one_cell(read: _Read) -> None:
    if read.values.size != 1:
        raise CellError(VALUE, f"{read.argument.name}: give one cell, not a range")
    read.values = read.values.reshape(())
    read.blanks = None if read.blanks is None else read.blanks.reshape(())


def _own_rows(name: str, rows: Sequence[Sequence[Any]]) -> Outcome:
    """Rows as a body gives them: floats, texts, None for blank."""
    block = np.empty((len(rows), len(rows[0])), object)
    for place, row in enumerate(rows):
        block[place, :] = [cell if isinstance(cell, (str, type(None))) else float(cell) for cell in row]
    for cell in block.flat:
        if isinstance(cell, float) and not math.isfinite(cell):
            raise _not_finite(name, cell)
    return Outcome(block)


def _run_body(spec: _Spec, reads: list[_Read]) -> tuple[Any, list[tuple[NDArray[Any], CellError]]]:
    columns = [_column(read) for read in reads]
    with collecting_refusals() as found, np.errstate(all="ignore"):
        spec.refuse(columns)
        values = spec.body(*columns)
    return values, [(bad, CellError(code, message)) for bad, code, message in found]


def _column(read: _Read) -> NDArray[Any]:
    """What the body gets for one argument: blanks filled with the default, a range as one list."""
    kind = read.argument.kind
    default = np.asarray(read.argument.default, dtype=np.float64 if kind.holds in ("number", "date") else object)
    if kind.takes_range and read.all_blank():
        return np.zeros((0, 0) if kind.own_shape else 0)
    if kind.own_shape:
        return read.values.reshape(len(read.values) if read.values.ndim else 1, -1)
    if kind.takes_range:
        return read.values.reshape(-1)
    if read.missing:
        return default
    if read.blanks is not None and not read.argument.required:
        return np.where(read.blanks, default, read.values)
    return read.values


def _blank_rule(
    row_by_row: list[_Read], whole_ranges: list[_Read], shape: tuple[int, ...]
) -> tuple[NDArray[np.bool_] | None, Errors]:
    """All needed arguments blank: a blank result. One of them blank: #N/A. Errors pass on."""
    errors: Errors = {}
    for read in row_by_row:
        if read.errors:
            place_of = np.broadcast_to(np.arange(read.values.size).reshape(read.values.shape), shape).reshape(-1)
            for place, source in enumerate(place_of.tolist()):
                if source in read.errors:
                    errors.setdefault(place, read.errors[source])
    needed = [read for read in row_by_row if read.argument.required]
    blank_ranges = [read for read in whole_ranges if read.argument.required and read.all_blank()]
    some_range_filled = any(r.argument.required and not r.all_blank() for r in whole_ranges)
    if all(read.blanks is None for read in needed) and not blank_ranges:
        return None, errors
    columns = [np.zeros(shape, bool) if read.blanks is None else np.broadcast_to(read.blanks, shape) for read in needed]
    columns += [np.ones(shape, bool) for _ in blank_ranges]
    all_blank = np.logical_and.reduce(columns) & (not some_range_filled)
    for read, column in zip([*needed, *blank_ranges], columns, strict=True):
        for one_blank in np.flatnonzero(column & ~all_blank):
            errors.setdefault(int(one_blank), blank_refusal(read.argument.name))
    return np.asarray(all_blank), errors


def _unusable(values: NDArray[Any]) -> Sequence[int]:
    """The places of results that are not finite."""
    if values.dtype.kind != "f":
        return []
    finite = np.isfinite(values)
    places: list[int] = [] if finite.all() else np.flatnonzero(~finite).tolist()
    return places


def _not_finite(name: str, value: float) -> CellError:
    if math.isinf(value):
        return CellError(NUMBER, f"{name}: the result is too large; check the cells that it uses")
    return CellError(NUMBER, f"{name}: the result is not a number; check the cells that it uses")


def _common_shape(reads: Iterable[_Read]) -> tuple[int, ...]:
    reads = [read for read in reads if not read.missing]
    if any(read.values.ndim == 2 for read in reads):
        for read in reads:
            if read.values.ndim == 1:
                read.values = read.values.reshape(-1, 1)
                if read.blanks is not None:
                    read.blanks = read.blanks.reshape(-1, 1)
    try:
        return np.broadcast_shapes(*(read.values.shape for read in reads))
    except ValueError:
        largest = max(reads, key=lambda read: read.values.size)
        for read in reads:
            try:
                np.broadcast_shapes(largest.values.shape, read.values.shape)
            except ValueError:
                raise _unlike_sizes(largest, read) from None
        raise


def _unlike_sizes(one: _Read, other: _Read) -> CellError:
    return CellError(
        VALUE,
        f"{other.argument.name} has {_size(other)}, {one.argument.name} has {_size(one)}; give ranges of the same size",
    )


def _size(read: _Read) -> str:
    if read.values.ndim == 2:
        rows, columns = read.values.shape
        return f"{counted(rows, 'row')} and {counted(columns, 'column')}"
    return counted(read.values.size, "cell")


def _refuse_errors_in_range(read: _Read) -> None:
    for place, error in sorted(read.errors.items()):
        if not read.argument.kind.takes_range:
            raise error
        raise CellError(error.code, f"cell {place + 1} of the range {error.message}")


def _read(argument: _Argument, cells: Any) -> _Read:
    if cells is MISSING:
        return _Read(argument, np.array(np.nan), missing=True)
    if hasattr(cells, "to_numpy"):
        cells = cells.to_numpy()
    kind = argument.kind
    if isinstance(cells, np.ndarray) and cells.dtype.kind in "iuf" and kind.holds == "number":
        return _read_numbers(argument, cells.astype(np.float64, copy=False))
    if isinstance(cells, np.ndarray):
        # Nanoseconds have no dates in Python: they would become plain integers.
        dates = cells.dtype.kind == "M"
        array = (cells.astype("datetime64[us]") if dates else cells).astype(object)
    elif _is_range(type(cells)):
        array = _block(argument.name, cells)
        numbers = _all_numbers(array, kind)
        if numbers is not None:
            return _read_numbers(argument, numbers)
    else:
        array = np.empty((), object)
        array[()] = cells
    if array.ndim > 2:
        raise CellError(VALUE, f"{argument.name}: give a cell, a row, a column or a block")
    return _read_cells(argument, array)


def _is_range(kind: type) -> TypeGuard[type[Sequence[Any]]]:
    """Whether its values are lists, or other sequences of cells or rows, and no texts."""
    return issubclass(kind, Sequence) and not issubclass(kind, _ONE_CELL)


def _block(name: str, cells: Sequence[Any]) -> NDArray[Any]:
    row_types = tuple(kind for kind in set(map(type, cells)) if _is_range(kind))
    rows = [row for row in cells if isinstance(row, row_types)]
    if not rows:
        array = np.empty(len(cells), object)
        array[:] = list(cells)
        return array
    if len(rows) != len(cells) or len({len(row) for row in rows}) != 1:
        raise CellError(VALUE, f"{name}: the rows of the range differ in length")
    block = np.empty((len(rows), len(rows[0])), object)
    for place, row in enumerate(rows):
        block[place, :] = list(row)
    return block


def _all_numbers(array: NDArray[Any], kind: CellType) -> NDArray[np.float64] | None:
    """A block of plain numbers and blanks in one step; anything else is read cell by cell."""
    if kind.holds != "number" or not set(map(type, array.ravel())) <= {float, int, type(None)}:
        return None
    try:
        return array.astype(np.float64)
    except OverflowError:
        return None


def _read_numbers(argument: _Argument, values: NDArray[np.float64]) -> _Read:
    """Plain numbers; only where one of them is not within the limits is each looked at."""
    if values.ndim > 2:
        raise CellError(VALUE, f"{argument.name}: give a cell, a row, a column or a block")
    read = _Read(argument, values)
    kind = argument.kind
    below = -math.inf if kind.minimum is None else kind.minimum
    above = math.inf if kind.maximum is None else kind.maximum
    if values.size == 0 or _all_within(values, kind, below, above):
        return read
    blanks = np.isnan(values)
    if blanks.any():
        read.blanks = blanks
    with np.errstate(invalid="ignore"):
        suspect = (values < below) | (values > above) | np.isinf(values)
        if kind.whole:
            suspect |= values != np.floor(values)
    for place in np.flatnonzero(suspect & ~blanks):
        refusal = limit_refusal(kind, argument.name, float(values.flat[place]))
        if refusal is not None:
            read.errors[int(place)] = refusal
    return read


def _all_within(values: NDArray[np.float64], kind: CellType, below: float, above: float) -> bool:
    if kind.whole:
        return False
    if below == 0:
        # One pass instead of two: from 0 up, floats stand in the order of their bits, and all that
        # is below 0, infinite or not a number stands over them.
        maximum = np.float64(min(above, LARGEST))
        return bool(values.view(np.uint64).max() <= maximum.view(np.uint64))
    low, high = float(values.min()), float(values.max())
    return below <= low and high <= above and math.isfinite(low) and math.isfinite(high)


def _read_cells(argument: _Argument, array: NDArray[Any]) -> _Read:
    kind = argument.kind
    numeric = kind.holds in ("number", "date")
    values = np.full(array.shape, np.nan) if numeric else np.full(array.shape, None, object)
    blanks = np.zeros(array.shape, bool)
    read = _Read(argument, values)
    flat, flat_blanks = values.reshape(-1), blanks.reshape(-1)
    for place, cell in enumerate(array.ravel()):
        if is_blank(cell):
            flat_blanks[place] = True
            continue
        try:
            flat[place] = read_cell(kind, argument.name, cell)
        except CellError as error:
            read.errors[place] = error
    if blanks.any():
        read.blanks = blanks
    return read
