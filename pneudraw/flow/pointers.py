"""How the compiled kernel is handed its arrays: as addresses, in two short tables.

A numba array is seven values (two of them for the counting of references), and the kernel's functions pass tuples of a
hundred arrays to each other: handed over as such, four fifths of the time to compile went into moving them about.
An address is one value, and needs no checks for negative indices. Whoever makes the tables keeps the arrays alive.
"""

from __future__ import annotations

from typing import Any

from pneudraw.flow.arrays import Model, Work

FLOATS, INTS = "Floats", "Ints"
TYPES = {FLOATS: "f8", INTS: "i8"}  # numpy's names of a double and of a 64-bit integer


def kinds(table: type[Model] | type[Work]) -> tuple[str, ...]:
    """Return what the fields of a table are: ``Floats``, ``Ints``, or ``int`` for a plain number."""
    return tuple(str(getattr(kind, "__forward_arg__", kind)) for kind in table.__annotations__.values())


KINDS = {
    name: kind for table in (Model, Work) for name, kind in zip(table._fields, kinds(table), strict=True)
}


def as_array(name: str, value: Any) -> Any:
    """Return a field of a model or of working storage as a numpy array, or the number it is."""
    import numpy as np

    kind = KINDS[name]
    return value if kind not in TYPES else np.array(value, dtype=TYPES[kind])


def addresses(table: Any) -> Any:
    """Return the addresses of a table's arrays, and its plain numbers, as an array of integers."""
    import numpy as np

    pairs = zip(table, kinds(type(table)), strict=True)
    return np.array(
        [value.ctypes.data if kind in (FLOATS, INTS) else value for value, kind in pairs], dtype=np.int64
    )


def reader(table: type[Model] | type[Work]) -> Any:
    """Return a function for compiled code that makes the tuple again from the address of `addresses`' array."""
    from numba import core
    from numba.extending import intrinsic

    cgutils: Any = core.cgutils
    types: Any = core.types
    pointers = {FLOATS: types.CPointer(types.float64), INTS: types.CPointer(types.int64)}
    made = types.NamedTuple([pointers.get(kind, types.int64) for kind in kinds(table)], table)

    def build(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        base = builder.inttoptr(arguments[0], context.get_value_type(types.int64).as_pointer())
        values = []
        for place, kind in enumerate(made.types):
            value = builder.load(cgutils.gep(builder, base, place))
            if isinstance(kind, types.CPointer):
                value = builder.inttoptr(value, context.get_value_type(kind))
            values.append(value)
        return context.make_tuple(builder, made, values)

    def read(typing: Any, address: Any) -> Any:
        return made(types.int64), build

    return intrinsic(read)
