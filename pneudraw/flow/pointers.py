"""How the compiled kernel is handed its arrays: as addresses, in two short tables.

A numba array is seven values (two of them for the counting of references), and the kernel's functions pass tuples of a
hundred arrays to each other: handed over as such, four fifths of the time to compile went into moving them about.
An address is one value, and needs no checks for negative indices. Whoever makes the tables keeps the arrays alive.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from pneudraw.flow.arrays import Model, Work

T = TypeVar("T", Model, Work)
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


@dataclass(frozen=True, eq=False)
class Table(Generic[T]):
    """A model or working storage. For the compiled kernel its fields are arrays, and ``addresses`` tells where: the
    addresses of the arrays, and the plain numbers, as an array of integers."""

    fields: T
    addresses: Any = None


def table_of(fields: T) -> Table[T]:
    """Return a table of arrays with their addresses."""
    import numpy as np

    pairs: Any = zip(fields, kinds(type(fields)), strict=True)
    places = [v.__array_interface__["data"][0] if kind in TYPES else v for v, kind in pairs]
    return Table(fields, np.array(places, dtype=np.int64))


@dataclass(frozen=True, eq=False)
class Layout:
    """How the fields of a table stand one after the other in one array of fractions and one of whole numbers.

    One allocation for each is several times cheaper than one for each field.
    """

    made: type[Any]
    slices: tuple[tuple[bool, int, int], ...]  # of fractions?, from, to
    floats: int
    ints: int
    offsets: Any  # bytes from the beginning of the field's array
    whole: Any  # 1 for fields of whole numbers, 0 for the others

    @staticmethod
    def of(made: type[Any], sizes: tuple[int, ...]) -> Layout:
        """Return the layout of a table whose fields have so many places."""
        import numpy as np

        ends = {FLOATS: 0, INTS: 0}
        slices = []
        for kind, size in zip(kinds(made), sizes, strict=True):
            slices.append((kind == FLOATS, ends[kind], ends[kind] + size))
            ends[kind] += size
        offsets = np.array([8 * begin for _, begin, _ in slices], dtype=np.int64)
        whole = np.array([0 if fractions else 1 for fractions, _, _ in slices], dtype=np.int64)
        return Layout(made, tuple(slices), ends[FLOATS], ends[INTS], offsets, whole)

    def fresh(self) -> Table[Any]:
        """Return a new table of zeros."""
        import numpy as np

        floats, ints = np.zeros(self.floats, dtype=TYPES[FLOATS]), np.zeros(self.ints, dtype=TYPES[INTS])
        fields = [floats[i:j] if fractions else ints[i:j] for fractions, i, j in self.slices]
        first, second = floats.ctypes.data, ints.ctypes.data
        return Table(self.made(*fields), self.offsets + first + self.whole * (second - first))


def reader(table: type[Model] | type[Work]) -> Any:
    """Return a function for compiled code that makes the tuple again from the address of a table's addresses."""
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
