"""How a circuit goes onto its paper: on one sheet, in the reduced set of symbols, or on several sheets.

The decision leaves room for the words of any state, so that a circuit is laid out once and every trace is drawn
on the same sheets.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from pneudraw.circuit.model import Circuit, Line
from pneudraw.drawing import legend
from pneudraw.drawing.areas import Web, cuts, web
from pneudraw.drawing.codes import codes
from pneudraw.drawing.diagram import extent, most_shown
from pneudraw.drawing.fitting import fits
from pneudraw.drawing.flags import flag_symbol
from pneudraw.drawing.groups import frames, vehicles
from pneudraw.drawing.options import REDUCED, SheetOptions
from pneudraw.drawing.parts import label_spec
from pneudraw.drawing.rows import Row
from pneudraw.drawing.tints import Tints
from pneudraw.drawing.view import Flag, View
from pneudraw.layout import lay_out
from pneudraw.layout.from_circuit import problem
from pneudraw.layout.problem import Problem
from pneudraw.layout.result import Layout
from pneudraw.library.model import Role

TRIED = 3  # ways to part a circuit that are laid out before one is parted again
HOPELESS = 1.4  # times the paper, by estimate: not laid out to see that it does not fit
LARGE = 150  # parts of a circuit that is split in the reduced set only: it takes long enough
JOINED = 0.1  # sheets that a line in common is worth when areas are put together
MERGES = 10  # pairs of areas tried on one sheet before all stay as they are
STEPS = 6  # lines of a trace's story room is left for
COMMON = ("A4", "A3")  # papers of a school's copier, worth smaller symbols


@dataclass(frozen=True)
class Arrangement:
    """The sheets of a circuit, each with its own layout, in the order of the flow."""

    views: tuple[View, ...]
    messages: tuple[str, ...] = ()


def arrange(circuit: Circuit, options: SheetOptions | None = None) -> Arrangement:
    """Return how a circuit is drawn with these wishes.

    ``paper`` ``"auto"``: one sheet, the smallest A size; in the reduced set if that saves an A2 or larger. A named
    paper: as many sheets of it as it takes, of the set of symbols that takes fewer. A part that is too large
    for the paper is drawn on a larger one, which :func:`pneudraw.drawing.sheets.draw_sheets` says.
    """
    options = options or SheetOptions()
    marks = codes(circuit) if options.codes else {}
    normal = _one(circuit, options, marks, 1.0)
    if options.paper == "bare":
        return Arrangement((normal,))
    paper = _fits(normal, options)
    if paper in COMMON or (paper is not None and options.paper != "auto"):
        return Arrangement((normal,))
    reduced = _one(circuit, options, marks, REDUCED)
    smaller = _fits(reduced, options)
    if smaller is not None and (smaller in COMMON or paper is None):
        return Arrangement((reduced,))
    if options.paper == "auto" or len(circuit.parts) < 2:
        return Arrangement((normal,))
    whole = web(circuit, normal.layout)
    small = _Splitting(circuit, options, marks, REDUCED, whole, reduced).views()
    usual = _Splitting(circuit, options, marks, 1.0, whole, normal)
    if usual.least() > len(small) or len(circuit.parts) > LARGE:
        return Arrangement(small)
    return Arrangement(min(usual.views(), small, key=len))


def _one(circuit: Circuit, options: SheetOptions, marks: Mapping[str, str], letters: float) -> View:
    asked = problem(circuit)
    return _view(circuit, lay_out(_labelled(asked, circuit, marks, letters)), options, marks, letters, ())


def _view(
    circuit: Circuit,
    layout: Layout,
    options: SheetOptions,
    marks: Mapping[str, str],
    letters: float,
    flags: tuple[Flag, ...],
) -> View:
    framed, messages = (
        frames(circuit, layout, letters, {flag.id for flag in flags}) if options.groups else ((), ())
    )
    return View(circuit, layout, letters, flags, marks, framed, messages)


def _labelled(asked: Problem, circuit: Circuit, marks: Mapping[str, str], letters: float) -> Problem:
    """The problem with the room the labels really need."""
    parts = {part.tag: part for part in circuit.parts}
    symbols = (
        replace(spec, label=label_spec(parts[spec.id], circuit.unit, letters, marks.get(spec.id, "")))
        if spec.id in parts
        else spec
        for spec in asked.symbols
    )
    return replace(asked, symbols=tuple(symbols))


def _fits(view: View, options: SheetOptions) -> str | None:
    left, top, right, bottom = extent(view)
    return fits((right - left, bottom - top), _words(view, options), options, view.letters)


def _words(view: View, options: SheetOptions) -> Callable[[float, float], tuple[Row, ...]]:
    """The most that may have to stand beside the drawing."""
    shown = most_shown(view)
    dummy = Tints(steps=("wet 2 > cv 1-2 > tank 1 > foot",) * STEPS)

    def content(width: float, module: float) -> tuple[Row, ...]:
        return legend.content(view.circuit, shown, dummy, options, width, module, view.codes)

    return content


class _Splitting:
    """One attempt to put a circuit on several sheets; remembers what has been laid out."""

    def __init__(
        self,
        circuit: Circuit,
        options: SheetOptions,
        marks: Mapping[str, str],
        letters: float,
        whole: Web,
        view: View,
    ) -> None:
        self._circuit = circuit
        self._options = options
        self._marks = marks
        self._letters = letters
        self._web = whole
        self._problem = problem(circuit)
        self._home = {
            tag: rank for rank, tags in enumerate(vehicles(circuit).values(), start=1) for tag in tags
        }
        self._known: dict[tuple[int, ...], View] = {}
        self._load = self._density(view)

    def views(self) -> tuple[View, ...]:
        """The sheets, with flags that name the others."""
        areas = self._merged(self._split(tuple(range(len(self._web.atoms)))))
        areas.sort(key=lambda area: self._place(area))
        tags = [self._tags(area) for area in areas]
        sheet_of = {tag: number for number, some in enumerate(tags, start=1) for tag in some}
        return tuple(self._drawn(some, sheet_of) for some in tags)

    def least(self) -> int:
        """Fewer sheets than this it will not be, by estimate."""
        return math.ceil(self._size(range(len(self._web.atoms))) / HOPELESS)

    def _density(self, view: View) -> float:
        """Sheets that a unit of an atom's size takes up, from the drawing of the whole."""
        left, top, right, bottom = extent(view)
        area = (right - left) * (bottom - top)
        return area / sum(self._web.sizes) / self._capacity(area)

    def _capacity(self, area: float) -> float:
        """Area [M2] one sheet can hold, about: half its paper."""
        from pneudraw.drawing.options import LEAST_TEXT, PAPERS

        short, long = PAPERS[self._options.paper]
        module = LEAST_TEXT / self._letters
        return min(area, 0.5 * short * long / module / module)

    def _place(self, area: Sequence[int]) -> tuple[int, float, float]:
        """Where an area comes among the sheets: vehicle by vehicle, each the way of the air, from left to right."""
        homes = [self._home.get(self._web.atoms[atom][0], 0) for atom in area]
        home = max(sorted(set(homes)), key=homes.count)
        weights = [self._web.sizes[atom] for atom in area]
        at = [self._web.places[atom] for atom in area]
        total = sum(weights)
        return (
            home,
            round(sum(w * x for w, (x, _) in zip(weights, at, strict=True)) / total, 3),
            round(sum(w * y for w, (_, y) in zip(weights, at, strict=True)) / total, 3),
        )

    def _tags(self, area: Iterable[int]) -> tuple[str, ...]:
        inside = {tag for atom in area for tag in self._web.atoms[atom]}
        return tuple(part.tag for part in self._circuit.parts if part.tag in inside)

    def _split(self, area: tuple[int, ...]) -> list[tuple[int, ...]]:
        ways = cuts(self._web, area)
        if not ways:
            return [area]
        for one, other in ways[:TRIED]:
            if self._fit(one) and self._fit(other):
                return [one, other]
        one, other = ways[0]
        return [
            piece for half in (one, other) for piece in ([half] if self._fit(half) else self._split(half))
        ]

    def _merged(self, areas: list[tuple[int, ...]]) -> list[tuple[int, ...]]:
        """Put two areas on one sheet where they fit on it, small ones and those with common lines first.

        A sheet saved is worth more to a class than the neatness of one area a sheet.
        """
        while len(areas) > 2:
            pairs = sorted(
                (self._size(a) + self._size(b) - JOINED * self._common(a, b), i, j)
                for i, a in enumerate(areas)
                for j, b in enumerate(areas[:i])
            )
            for _, i, j in pairs[:MERGES]:
                both = tuple(sorted(areas[i] + areas[j]))
                if self._fit(both):
                    areas = [*(area for k, area in enumerate(areas) if k not in (i, j)), both]
                    break
            else:
                return areas
        return areas

    def _size(self, area: Sequence[int]) -> float:
        """Sheets an area takes, by estimate."""
        return self._load * sum(self._web.sizes[atom] for atom in area)

    def _common(self, a: Sequence[int], b: Sequence[int]) -> int:
        one, other = set(a), set(b)
        return sum(bool(one & set(tie)) and bool(other & set(tie)) for _, tie in self._web.ties)

    def _fit(self, area: tuple[int, ...]) -> bool:
        if self._size(area) > HOPELESS:
            return False
        if area not in self._known:
            here = self._tags(area)
            self._known[area] = self._drawn(here, dict.fromkeys(here, 1))
        return _fits(self._known[area], self._options) is not None

    def _drawn(self, tags: Sequence[str], sheet_of: Mapping[str, int]) -> View:
        """One sheet laid out. Parts not in ``sheet_of`` are on some other sheet, as many as there may be."""
        inside = set(tags)
        here = sheet_of[tags[0]]
        lines = tuple(
            line for line in self._circuit.lines if any(end.part.tag in inside for end in line.ends)
        )
        parts = tuple(part for part in self._circuit.parts if part.tag in inside)
        circuit = replace(self._circuit, parts=parts, lines=lines)
        flags = tuple(
            _flag(line, inside, others) for line in lines if (others := _others(line, here, sheet_of))
        )
        asked = self._asked(circuit, inside, flags)
        return _view(circuit, lay_out(asked), self._options, self._marks, self._letters, flags)

    def _asked(self, circuit: Circuit, inside: set[str], flags: tuple[Flag, ...]) -> Problem:
        asked = _labelled(self._problem, self._circuit, self._marks, self._letters)
        at = {flag.line: flag for flag in flags}
        marks = tuple(flag_symbol(flag, self._letters, len(flag.sheets)) for flag in flags)
        nets = []
        for net in asked.nets:
            ends = tuple(end for end in net.terminals if end[0] in inside)
            if net.id in at:
                ends += ((at[net.id].id, "1"),)
            if len(ends) > 1:
                nets.append(replace(net, terminals=ends))
        hints = tuple(
            replace(hint, symbols=kept)
            for hint in asked.hints
            if (kept := tuple(tag for tag in hint.symbols if tag in inside))
        )
        return replace(
            asked,
            symbols=(*(s for s in asked.symbols if s.id in inside), *marks),
            nets=tuple(nets),
            pairs=tuple(pair for pair in asked.pairs if inside.issuperset(pair)),
            hints=hints,
        )


def _others(line: Line, here: int, sheet_of: Mapping[str, int]) -> tuple[int, ...]:
    """The other sheets a line goes to; 0 for each of two at most that are not known yet, to leave room for them."""
    away = {end.part.tag for end in line.ends if sheet_of.get(end.part.tag) != here}
    known = {sheet_of[tag] for tag in away if tag in sheet_of}
    return tuple(sorted(known)) or (0,) * min(2, len(away))


def _flag(line: Line, inside: set[str], others: tuple[int, ...]) -> Flag:
    """Out if the air comes from this sheet: from a delivery port, or the end the netlist's arrows lead away from."""
    gives = [end.part.tag in inside for end in line.ends if end.port.role is Role.DELIVERY]
    if not gives:
        goals = {join.end for join in line.joins if join.directed}
        starts = {join.start for join in line.joins if join.directed} - goals
        gives = [end.part.tag in inside for end in line.ends if end.name in starts]
    out = None if len(set(gives)) != 1 else gives[0]
    return Flag(f"{line.tag}>", line.tag, others, out)
