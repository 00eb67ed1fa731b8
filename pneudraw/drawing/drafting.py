"""Drawing up a circuit or a part of it in one set of symbols: laid out with the room its words need, framed.

A line that leaves the part ends in a flag. What has been laid out once is remembered.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from pneudraw.circuit.model import Circuit, Line
from pneudraw.drawing import legend, likes
from pneudraw.drawing.diagram import extent, most_shown
from pneudraw.drawing.fitting import fits, room
from pneudraw.drawing.flags import flag_symbol
from pneudraw.drawing.groups import frames
from pneudraw.drawing.kept_together import laid_out_alike
from pneudraw.drawing.options import LEAST_TEXT, SheetOptions
from pneudraw.drawing.parts import label_spec
from pneudraw.drawing.rows import Row
from pneudraw.drawing.tints import Tints
from pneudraw.drawing.view import HERE, Flag, Goal, View
from pneudraw.layout import lay_out
from pneudraw.layout.from_circuit import problem
from pneudraw.layout.problem import Hint, Problem
from pneudraw.layout.result import Layout
from pneudraw.library.model import Role

STEPS = 6  # lines of a trace's story room is left for


class Drafting:
    """A circuit as it is drawn with some wishes in one set of symbols; ``letters`` is their height [M]."""

    def __init__(
        self, circuit: Circuit, options: SheetOptions, marks: Mapping[str, str], letters: float
    ) -> None:
        self.circuit, self.options, self.marks, self.letters = circuit, options, marks, letters
        self._asked = self._labelled(problem(circuit))
        self._layouts: dict[Problem, Layout] = {}
        self._whole: View | None = None

    def whole(self) -> View:
        """The circuit in one piece. If a frame cannot be drawn, each vehicle is given a place of its own."""
        if self._whole is None:
            self._whole = self._framed(self.circuit, self._asked, ())
        return self._whole

    def area(self, tags: Sequence[str], goals: Mapping[str, Goal], sheets: int = 1) -> View:
        """Some parts and their lines. Parts not in ``goals`` are on other sheets, so many a line at most."""
        return self._framed(*self._area(tags, goals, sheets))

    def _framed(self, circuit: Circuit, asked: Problem, flags: tuple[Flag, ...]) -> View:
        """A view; if a frame cannot be drawn in it, the one in which each vehicle has a place of its own."""
        view = self._view(circuit, asked, flags)
        if not view.messages or not asked.blocks:
            return view
        blocks = tuple(replace(block, kept=True) for block in asked.blocks)
        again = self._view(circuit, replace(asked, blocks=blocks), flags)
        return again if len(again.messages) < len(view.messages) else view

    def alike(
        self, areas: Sequence[Sequence[str]], goals: Mapping[str, Goal], sheets: int = 1
    ) -> tuple[View, ...]:
        """Several areas; vehicles of one sort look the same in all of them.

        Where an area is a vehicle and nothing else, its parts take the least room. Where couplings of the circuit's own
        stand beside one, or a flag stands in the way of its frame, it is kept together.
        """
        asked = [self._area(tags, goals, sheets) for tags in areas]
        views: dict[int, View] = {}
        sorts: dict[tuple[str, int], list[int]] = {}
        for number, tags in enumerate(areas):
            if all(tag.startswith(_prefix(tags)) for tag in tags):
                source = asked[number][0].parts[0].span.source.name
                sorts.setdefault((source, len(tags)), []).append(number)
        for numbers in sorts.values():
            named = [likes.named(asked[n][1], _prefix(areas[n])) for n in numbers]
            known = [one for one in named if one is not None]
            whole = likes.joined(known) if 1 < len(known) == len(named) else None
            if whole is not None:
                common = lay_out(whole)
                made = {
                    n: self._view(*asked[n], likes.copied(common, one))
                    for n, one in zip(numbers, known, strict=True)
                }
                if not any(view.messages for view in made.values()):
                    views |= made
        others = [n for n, (_, problem, _) in enumerate(asked) if problem.blocks and n not in views]
        if others:
            for n, layout in zip(others, laid_out_alike([asked[n][1] for n in others]), strict=True):
                views[n] = self._view(*asked[n], layout)
        return tuple(views[n] if n in views else self._view(*one) for n, one in enumerate(asked))

    def _area(
        self, tags: Sequence[str], goals: Mapping[str, Goal], sheets: int = 1
    ) -> tuple[Circuit, Problem, tuple[Flag, ...]]:
        inside = set(tags)
        here = goals[tags[0]]
        lines = tuple(line for line in self.circuit.lines if any(end.part.tag in inside for end in line.ends))
        parts = tuple(part for part in self.circuit.parts if part.tag in inside)
        flags = tuple(
            Flag(line.tag, others, _out(line, inside), here.band)
            for line in lines
            if (others := _others(line, here, goals, sheets))
        )
        circuit = replace(self.circuit, parts=parts, lines=lines)
        return circuit, self._part_of(inside, flags), flags

    def paper(self, view: View, asked: str) -> str | None:
        """The paper asked for (with ``"auto"`` the smallest) if a view is readable on it, with room for the words of
        any trace; else None."""
        left, top, right, bottom = extent(view)
        wanted = replace(self.options, paper=asked)
        return fits((right - left, bottom - top), _words(view, wanted), wanted, view.letters)

    def room(self, paper: str) -> float:
        """The area [M2] that a sheet with the words of the whole circuit leaves for the drawing."""
        module = LEAST_TEXT / self.letters
        options = replace(self.options, paper=paper)
        return room(paper, _words(self.whole(), options), options) / module / module

    def _view(
        self, circuit: Circuit, asked: Problem, flags: tuple[Flag, ...], layout: Layout | None = None
    ) -> View:
        if layout is None:
            if asked not in self._layouts:
                self._layouts[asked] = lay_out(asked)
            layout = self._layouts[asked]
        framed, messages = (
            frames(circuit, layout, self.letters, [flag.id for flag in flags])
            if self.options.groups
            else ((), ())
        )
        return View(circuit, layout, self.letters, flags, self.marks, framed, messages)

    def _labelled(self, asked: Problem) -> Problem:
        """The problem with the room the labels really need."""
        parts = {part.tag: part for part in self.circuit.parts}
        unit, marks = self.circuit.unit, self.marks
        symbols = (
            replace(spec, label=label_spec(parts[spec.id], unit, self.letters, marks.get(spec.id, "")))
            if spec.id in parts
            else spec
            for spec in asked.symbols
        )
        return replace(asked, symbols=tuple(symbols))

    def _part_of(self, inside: set[str], flags: tuple[Flag, ...]) -> Problem:
        asked = self._asked
        at = {flag.line: flag for flag in flags}
        marks = tuple(flag_symbol(flag, self.letters) for flag in flags)
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
        hints += tuple(
            Hint("side", (flag.id,), "right" if flag.out else "left")
            for flag in flags
            if flag.out is not None
        )
        return replace(
            asked,
            symbols=(*(s for s in asked.symbols if s.id in inside), *marks),
            nets=tuple(nets),
            pairs=tuple(pair for pair in asked.pairs if inside.issuperset(pair)),
            hints=hints,
            blocks=tuple(
                replace(block, symbols=own)
                for block in asked.blocks
                if len(own := tuple(tag for tag in block.symbols if tag in inside)) > 1
            ),
        )


def _prefix(tags: Sequence[str]) -> str:
    return tags[0].partition(".")[0] + "."


def _words(view: View, options: SheetOptions) -> Callable[[float, float], tuple[Row, ...]]:
    """The most that may have to stand beside the drawing."""
    shown = most_shown(view)
    dummy = Tints(steps=("wet 2 > cv 1-2 > tank 1 > foot",) * STEPS)

    def content(width: float, module: float) -> tuple[Row, ...]:
        return legend.content(view.circuit, shown, dummy, options, width, module, view.codes)

    return content


def _others(line: Line, here: Goal, goals: Mapping[str, Goal], sheets: int) -> tuple[Goal, ...]:
    """Where else a line goes; for so many parts at most that have no goal yet one each, to leave room for it."""
    away = {end.part.tag for end in line.ends if goals.get(end.part.tag) != here}
    known = {(goals[tag].sheet, goals[tag].band) for tag in away if tag in goals}
    if not known:
        return (Goal(1),) * min(sheets, len(away))
    return tuple(Goal(HERE if sheet == here.sheet else sheet, band) for sheet, band in sorted(known))


def _out(line: Line, inside: set[str]) -> bool | None:
    """True if the air comes from here: from a delivery port, or the end the netlist's arrows lead away from."""
    gives = [end.part.tag in inside for end in line.ends if end.port.role is Role.DELIVERY]
    if not gives:
        goals = {join.end for join in line.joins if join.directed}
        starts = {join.start for join in line.joins if join.directed} - goals
        gives = [end.part.tag in inside for end in line.ends if end.name in starts]
    return None if len(set(gives)) != 1 else gives[0]
