"""Marks where a line goes on on another sheet or in another band of a folded one: a flag with that sheet's number and
the grid field (ISO 1219-2); on the same sheet the field alone.

The line's tag stands above it. The point shows the way the air normally goes; the outline is our own.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import replace

from pneudraw.drawing.palette import Look
from pneudraw.drawing.shapes import BLACK, WHITE, Group, Point, Polygon, Shape, Strokes, Text
from pneudraw.drawing.tints import MOVING, BranchTint, LineTint, Style, Tints
from pneudraw.drawing.view import HERE, Flag, View
from pneudraw.layout.problem import LabelSpec, PortSpec, SymbolSpec
from pneudraw.layout.result import PlacedSymbol
from pneudraw.lettering import LINE_PITCH, text_width

WIDEST = "10/M10"  # the reference room is left for
HEIGHT = 2  # M
STUB, POINT = 1.0, 1.0  # M
FAINT = 0.03  # of the air that moves elsewhere in a line: less of it through the flag is nothing


def flag_symbol(flag: Flag, letters: float) -> SymbolSpec:
    """Return the box the layout is asked to place, with room for the references to all goals."""
    widest = (WIDEST.rpartition("/")[2] if goal.sheet == HERE else WIDEST for goal in flag.goals)
    words = text_width(" ".join(widest), letters)
    width = int(words + STUB + POINT + 1.5) + 1
    tag = LabelSpec(round(text_width(flag.line, letters, bold=True), 2), round(LINE_PITCH * letters, 2))
    flow = {True: "in", False: "out", None: "both"}[flag.out]
    role = "actuator" if flag.out is not False else "source"
    port = PortSpec("1", "W", HEIGHT // 2, flow)
    return SymbolSpec(flag.id, width, HEIGHT, (port,), "continuation", role, "", ("r0", "mx"), tag)


def flag_groups(view: View, references: Mapping[str, str], looks: Mapping[str, Look]) -> Iterator[Group]:
    """Yield each flag drawn [M], with its reference (``"2/B3"``) if it is known already.

    ``looks``: of the line where it meets the flag, by the flag's end.
    """
    placed = {symbol.id: symbol for symbol in view.layout.symbols}
    labels = {label.symbol: label for label in view.layout.labels}
    for flag in view.flags:
        symbol = placed.get(flag.id)
        if symbol is None:
            continue
        text = references.get(flag.id, "")
        items = list(_shapes(flag, symbol, text, view.letters, looks.get(flag.end)))
        label = labels.get(flag.id)
        if label is not None:
            at = {"start": label.x, "middle": label.x + label.width / 2, "end": label.x + label.width}
            where = (at[label.anchor], label.y + view.letters + 0.05)
            items.append(Text(where, flag.line, view.letters, label.anchor, bold=True))
        yield Group("flag", flag.line, tuple(items), f"Line {flag.line} {_where(flag)}", text)


def _shapes(
    flag: Flag, symbol: PlacedSymbol, text: str, letters: float, look: Look | None
) -> Iterator[Shape]:
    left, top = float(symbol.x), float(symbol.y)
    right, middle = left + symbol.width, top + HEIGHT / 2
    half = HEIGHT / 2 - 0.15
    to_left = symbol.transform == "mx"  # the line comes from the right

    def point(along: float, across: float) -> Point:
        return (right - along if to_left else left + along), middle + across

    end, start = float(symbol.width), STUB
    before = start + POINT if flag.out is not True else start
    after = end - POINT if flag.out is not False else end
    outline = [point(before, -half), point(after, -half)]
    outline += [point(end, 0.0)] if flag.out is not False else []
    outline += [point(after, half), point(before, half)]
    outline += [point(start, 0.0)] if flag.out is not True else []
    stub = ((point(0.0, 0.0), point(start, 0.0)),)
    yield Strokes(stub, look.width, look.colour) if look is not None else Strokes(stub, 0.1)
    yield Polygon(tuple(outline), 0.1, BLACK, WHITE)
    x, _ = point((before + after) / 2, 0.0)
    yield Text((x, middle + letters / 2), text, letters, "middle")


def _where(flag: Flag) -> str:
    sheets = tuple(dict.fromkeys(goal.sheet for goal in flag.goals))
    if sheets == (HERE,):
        return "goes on in another band of this sheet"
    return f"goes on on sheet {', '.join(str(number) for number in sheets)}"


def tints_here(tints: Tints, view: View, loose: Collection[int] = ()) -> Tints:
    """Return the tints of what is on a sheet; what goes to or comes from elsewhere flows through the flags.

    ``loose``: numbers of steps, from 0, that stand here although they tell of nothing here.
    """
    tags = {part.tag for part in view.circuit.parts}
    flags: dict[str, list[Flag]] = {}
    for flag in view.flags:
        flags.setdefault(flag.line, []).append(flag)
    bands = [set(band) for band in view.bands] or [tags]
    lines = {line.tag for line in view.circuit.lines}

    def here(name: str) -> bool:
        return name in tags or name.rpartition(".")[0] in tags

    steps = list(enumerate(tints.steps, start=1))
    if any(goal.sheet != HERE for flag in view.flags for goal in flag.goals):
        # the others are told on the sheets they happen on
        steps = [(n, step) for n, step in steps if n - 1 in loose or told_of(step, tags | lines)]
    return replace(
        tints,
        steps=tuple(step for _, step in steps),
        numbers=tuple(number for number, _ in steps),
        lines=tuple(
            _through(tint, flags[tint.line], bands, here) if tint.line in flags else tint
            for tint in tints.lines
            if tint.line in lines
        ),
        vents=tuple(name for name in tints.vents if here(name)),
        badges=tuple(badge for badge in tints.badges if here(badge.at)),
        marks=tuple(mark for mark in tints.marks if mark.at in lines or mark.at in tags),
    )


def told_of(step: str, tags: Collection[str]) -> bool:
    """Whether a step of a story tells of one of these parts or lines."""
    return any(word.strip("().,:;") in tags for word in step.split())


def _through(
    tint: LineTint, flags: list[Flag], bands: list[set[str]], here: Callable[[str], bool]
) -> LineTint:
    """The tint with a branch for each of the line's flags.

    Where nothing moves at a band's own ends, what moves elsewhere comes out of the pipe there.
    """
    branches = [branch for branch in tint.branches if here(branch.end)]
    for flag in flags:
        band = bands[flag.band - 1]
        own = [branch for branch in tint.branches if branch.end.rpartition(".")[0] in band]
        away = [branch for branch in tint.branches if branch not in own]
        if own and not any(branch.style in MOVING for branch in own):
            branches.append(BranchTint(flag.end, own[0].style, 0.0))
        elif away:
            branches.append(_passing(flag, away, tint.style))
    return replace(tint, branches=tuple(branches))


def _passing(flag: Flag, away: list[BranchTint], rest: Style) -> BranchTint:
    """What moves at the ends elsewhere moves through the flag; what only goes from one of them to another does not."""
    moving = [branch for branch in away if branch.style in MOVING]
    flow = sum(branch.flow for branch in moving)
    strong = [branch for branch in moving if branch.flow * flow > 0]
    style = away[0].style if not moving else strong[0].style if strong else rest
    if moving and abs(flow) < FAINT * sum(abs(branch.flow) for branch in moving):
        still = [branch.style for branch in away if branch.style not in MOVING]
        style = still[0] if still else rest if rest not in MOVING else Style.HOLDS
    return BranchTint(flag.end, style, flow)
