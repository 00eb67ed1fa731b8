"""Charts: curves over a common axis on a sheet of their own. Knows no pressure and no air, only numbers and words.

Every curve has a dash pattern and a marker besides its colour, and its name at its end; levels are thin chain lines
with their words on them; events are numbered at the top and told below.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pneudraw.drawing import rows
from pneudraw.drawing.axes import Scale, number, rounded, step_for, ticks
from pneudraw.drawing.curves import (
    MARKER_EVERY,
    along,
    dashed,
    ink,
    look_of,
    marker,
    simplified,
    spread,
)
from pneudraw.drawing.level_words import PITCH, TEXT, level_words
from pneudraw.drawing.options import PAPERS
from pneudraw.drawing.shapes import (
    BLACK,
    WHITE,
    Box,
    Circle,
    Group,
    Point,
    Shape,
    Sheet,
    Strokes,
    Text,
    line,
    rectangle,
    text_box,
)
from pneudraw.lettering import text_width, wrap

MARGIN = 12.0
GRID_INK = "#bdbdbd"
AXIS, THIN = 0.35, 0.18
LABEL_GAP = 9.0  # from a curve's end to its name: leader and marker
LABEL_MOST = 52.0  # width of the names
LEAST_PANEL, MOST_PANEL = 42.0, 130.0  # height
PANEL_GAP = 11.0
STRIP = 7.5  # above the panels, for the numbers of events
FLAG = 4.4  # height of such a number's box
COLUMN = 80.0  # least width of a column of words
TICK = 1.5  # length of the mark of an event that has no number's box
SAME_PLACE = 1.2  # events nearer than this share a number's box
LEVEL_DASHES = (5.0, 1.0, 0.6, 1.0)
EVENT_DASHES = (1.5, 1.5)
ALONE = 6.0  # stretches whose lengths differ by more than this factor get scales of their own


@dataclass(frozen=True)
class ChartCurve:
    """A curve: a chain of points for each stretch of the axis, and its name in words and lines of words."""

    name: str
    words: tuple[str, ...]
    chains: tuple[tuple[Point, ...], ...]


@dataclass(frozen=True)
class Level:
    """A height worth marking in a panel, with the words on its line; ``dots`` are the places where curves meet it."""

    height: float
    words: str
    dots: tuple[tuple[int, float], ...] = ()


@dataclass(frozen=True)
class Panel:
    """Curves with an axis of their own upwards: one quantity."""

    title: str
    curves: tuple[ChartCurve, ...]
    levels: tuple[Level, ...] = ()


@dataclass(frozen=True)
class Stretch:
    """A piece of the axis to the right, from ``begin`` to ``end``; ``title`` stands over it if there are several."""

    begin: float
    end: float
    title: str


@dataclass(frozen=True)
class Event:
    """Something that happened at a place of the axis; ``words`` are told below, under its number.

    Events with the same words have the same number and are told once.
    """

    stretch: int
    at: float
    words: str


@dataclass(frozen=True)
class Chart:
    """What is drawn. ``notes``: a heading and paragraphs each; ``across``: what runs to the right."""

    name: str
    title: str
    subtitle: str
    desc: str
    across: str
    stretches: tuple[Stretch, ...]
    panels: tuple[Panel, ...]
    events: tuple[Event, ...] = ()
    events_title: str = "What happens"
    notes: tuple[tuple[str, tuple[str, ...]], ...] = ()


@dataclass(frozen=True)
class ChartOptions:
    """How a chart is wanted: ``paper`` a name of :data:`pneudraw.drawing.options.PAPERS`, turned sideways."""

    paper: str = "A4"
    colour: bool = True


def draw_chart(chart: Chart, options: ChartOptions | None = None) -> Sheet:
    """Return the sheet of a chart. If the words need it, the sheet is higher than its paper; it then says so."""
    options = options or ChartOptions()
    short, long = PAPERS[options.paper]
    return _Drawing(chart, options, long, short).sheet()


class _Drawing:
    """A chart being drawn; lives only inside :func:`draw_chart`."""

    def __init__(self, chart: Chart, options: ChartOptions, width: float, height: float) -> None:
        self.chart = chart
        self.options = options
        self.width = width
        self.inner = width - 2 * MARGIN
        self.left = MARGIN + 14.5
        labels = [text_width(w, TEXT) for p in chart.panels for c in p.curves for w in self._label(c)]
        self.right = width - MARGIN - LABEL_GAP - max(labels, default=0.0)
        self.words = self._words()
        self.columns = max(1, int((self.inner + rows.COLUMN_GAP) // (COLUMN + rows.COLUMN_GAP)))
        self.column = rows.column_width(self.inner, self.columns)
        self.lines = self._lines()
        below = rows.height_for(self.lines, self.columns)
        head = MARGIN + 5.0 + (5.5 if chart.subtitle else 0.0) + 4.0
        self.top = head + STRIP + (5.0 if len(chart.stretches) > 1 else 0.0) + 4.0
        foot = 11.0 + below + MARGIN
        count = len(chart.panels)
        free = height - self.top - foot - (count - 1) * PANEL_GAP
        self.panel = min(MOST_PANEL, max(LEAST_PANEL, free / max(1, count)))
        self.height = max(height, self.top + count * self.panel + (count - 1) * PANEL_GAP + foot)
        self.paper_height = height
        self.scales = self._scales()

    def sheet(self) -> Sheet:
        chart = self.chart
        items: list[Shape] = [Text((MARGIN, MARGIN + 5.0), chart.title, 5.0, bold=True)]
        if chart.subtitle:
            items.append(Text((MARGIN, MARGIN + 10.5), chart.subtitle, 3.5))
        shapes: list[Shape] = [Group("heading", "", tuple(items))]
        y = self.top
        for place, panel in enumerate(chart.panels):
            shapes.append(self._panel(panel, y, last=place == len(chart.panels) - 1))
            y += self.panel + PANEL_GAP
        bottom = y - PANEL_GAP
        shapes.append(Group("events", "", tuple(self._flags(bottom)), chart.events_title))
        words = rows.flow(self.lines, self.inner, self.columns, MARGIN, bottom + 11.0)
        shapes.append(Group("words", "", words, "Notes"))
        messages: tuple[str, ...] = ()
        if self.height > self.paper_height + 0.01:
            messages = (f"the words need a sheet {self.height:.0f} mm high, more than {self.options.paper}",)
        return Sheet(
            chart.name,
            chart.title,
            chart.desc,
            self.width,
            self.height,
            TEXT,
            self.options.paper,
            tuple(shapes),
            None,
            messages,
        )

    # --- the axis to the right --------------------------------------------------------------------------

    def _scales(self) -> tuple[Scale, ...]:
        """A scale for each stretch: a common one, unless a short stretch would vanish beside a long one."""
        lengths = [max(s.end - s.begin, 1e-9) for s in self.chart.stretches]
        weights = lengths
        self.own_scales = max(lengths) > ALONE * min(lengths)
        if self.own_scales:
            weights = [max(length / sum(lengths), 0.6 / len(lengths)) for length in lengths]
        room = self.right - self.left
        out = []
        x = self.left
        for stretch, length, weight in zip(self.chart.stretches, lengths, weights, strict=True):
            wide = room * weight / sum(weights)
            out.append(Scale(stretch.begin, stretch.begin + length, x, x + wide))
            x += wide
        return tuple(out)

    def _across(self, y0: float, y1: float, numbered: bool) -> Iterable[Shape]:
        last = len(self.scales) - 1
        for place, (stretch, scale) in enumerate(zip(self.chart.stretches, self.scales, strict=True)):
            span = stretch.end - stretch.begin
            per_mm = span / (scale.end - scale.start)
            step = step_for(17.0 * per_mm, 1)
            for value in ticks(0.0, span, step):
                x = scale(stretch.begin + value)
                if scale.start + 0.05 < x < scale.end - 0.05:
                    yield line((x, y0), (x, y1), 0.13, GRID_INK)
                yield line((x, y1), (x, y1 + 1.2), THIN)
                crowded = place < last and scale.end - x < 7.0  # the next stretch begins with its own 0
                if numbered and not crowded:
                    yield Text((x, y1 + 1.8 + TEXT), number(value, step), TEXT, "middle")
            if place:
                yield line((scale.start, y0 - 3.0), (scale.start, y1), AXIS)
        if numbered:
            yield Text((self.right, y1 + 2.9 + 2 * TEXT), self.chart.across, TEXT, "end")

    # --- panels -----------------------------------------------------------------------------------------

    def _panel(self, panel: Panel, top: float, last: bool) -> Group:
        bottom = top + self.panel
        heights = [y for c in panel.curves for chain in c.chains for _, y in chain]
        heights += [level.height for level in panel.levels]
        low, high, step = rounded(
            min(heights, default=0.0), max(heights, default=1.0), max(2, int(self.panel / 11.0))
        )
        upward = Scale(low, high, bottom, top)
        items: list[Shape] = [*self._across(top, bottom, last)]
        for value in ticks(low, high, step):
            y = upward(value)
            zero = abs(value) < step * 1e-6
            items.append(
                line((self.left, y), (self.right, y), THIN if zero else 0.13, BLACK if zero else GRID_INK)
            )
            items.append(Text((self.left - 1.5, y + TEXT / 2), number(value, step), TEXT, "end"))
        items.append(rectangle((self.left, top, self.right, bottom), AXIS))
        middle = (top + bottom) / 2
        items.append(Text((MARGIN + TEXT, middle), panel.title, TEXT, "middle", bold=True, upward=True))
        chains = [self._placed(curve, upward) for curve in panel.curves]
        for level in panel.levels:
            y = upward(level.height)
            items.append(Strokes(dashed(((self.left, y), (self.right, y)), LEVEL_DASHES), THIN))
        for place, (curve, placed) in enumerate(zip(panel.curves, chains, strict=True)):
            items.append(self._curve(place, len(chains), curve, placed))
        items += self._levels(panel, upward, chains, top, bottom)
        items += self._names(panel, chains, top, bottom)
        return Group("panel", panel.title, tuple(items), panel.title)

    def _placed(self, curve: ChartCurve, upward: Scale) -> tuple[tuple[Point, ...], ...]:
        return tuple(
            simplified([(scale(x), upward(y)) for x, y in chain if x <= stretch.end + 1e-9])
            for chain, scale, stretch in zip(curve.chains, self.scales, self.chart.stretches, strict=True)
        )

    def _curve(
        self, place: int, count: int, curve: ChartCurve, chains: tuple[tuple[Point, ...], ...]
    ) -> Group:
        which = look_of(place)
        colour = ink(which, self.options.colour)
        whole = [p for chain in chains for p in chain]
        items: list[Shape] = [Strokes(dashed(whole, which.dashes), which.width, colour)]
        first = MARKER_EVERY * (place + 0.5) / max(1, count)
        items += [marker(which, point, colour) for point in along(whole, first, MARKER_EVERY)]
        return Group("curve", curve.name, tuple(items), curve.name)

    def _levels(
        self,
        panel: Panel,
        upward: Scale,
        chains: Sequence[tuple[tuple[Point, ...], ...]],
        top: float,
        bottom: float,
    ) -> Iterable[Shape]:
        """Dots where curves meet a level, and the words of each level where they hide least."""
        taken: list[Box] = []
        drawn = [p for curve in chains for p in along([q for c in curve for q in c], 0.0, 0.7)]
        for level in panel.levels:
            y = upward(level.height)
            for stretch, at in level.dots:
                centre = (self.scales[stretch](at), y)
                taken.append((centre[0] - 1.3, y - 1.3, centre[0] + 1.3, y + 1.3))
                yield Circle(centre, 1.2, 0.35, BLACK, WHITE)
                yield Circle(centre, 0.45, 0.0, BLACK, BLACK)
        uprights = [scale.start for scale in self.scales[1:]]
        uprights += [self.scales[event.stretch](event.at) for event in self.chart.events]
        for level in panel.levels:
            homes = tuple((self.scales[s].start, self.scales[s].end) for s, _ in level.dots)
            dots = tuple(self.scales[s](at) for s, at in level.dots)
            panel_box = (self.left, top, self.right, bottom)
            texts = level_words(
                level.words, upward(level.height), panel_box, homes, dots, uprights, drawn, taken
            )
            for box in (text_box(text) for text in texts):
                backing = (box[0] - 0.6, box[1] - 0.5, box[2] + 0.6, box[3] + 0.1)
                taken.append(backing)
                yield rectangle(backing, 0.0, WHITE, WHITE)
            yield from texts

    def _label(self, curve: ChartCurve) -> tuple[str, ...]:
        return tuple(part for words in curve.words for part in wrap(words, LABEL_MOST, TEXT))

    def _names(
        self, panel: Panel, chains: Sequence[tuple[tuple[Point, ...], ...]], top: float, bottom: float
    ) -> Iterable[Shape]:
        ends = [next((chain[-1][1] for chain in reversed(curve) if chain), bottom) for curve in chains]
        texts = [self._label(curve) for curve in panel.curves]
        if sum(len(t) * PITCH + 1.2 for t in texts) > bottom - top + 8.0:
            texts = [t[:1] for t in texts]
        sizes = [len(t) * PITCH + 1.2 for t in texts]
        middles = spread(ends, sizes, top - 4.0, bottom + 4.0)
        for place, (words, end, middle) in enumerate(zip(texts, ends, middles, strict=True)):
            which = look_of(place)
            colour = ink(which, self.options.colour)
            items: list[Shape] = [
                line((self.right + 0.4, end), (self.right + 4.6, middle), THIN, colour),
                line((self.right + 4.6, middle), (self.right + LABEL_GAP - 1.0, middle), THIN, colour),
                marker(which, (self.right + 5.8, middle), colour),
            ]
            y = middle - len(words) * PITCH / 2 + (PITCH + TEXT) / 2
            for row, text in enumerate(words):
                items.append(Text((self.right + LABEL_GAP, y + row * PITCH), text, TEXT))
            yield Group("label", panel.curves[place].name, tuple(items))

    # --- events and words -------------------------------------------------------------------------------

    def _flags(self, bottom: float) -> Iterable[Shape]:
        chart = self.chart
        if len(chart.stretches) > 1:
            for stretch, scale in zip(chart.stretches, self.scales, strict=True):
                wide = scale.end - scale.start - 2.0
                titles = wrap(stretch.title, max(wide, 10.0), TEXT, bold=True)
                yield Text(
                    (scale.start + 1.0, self.top - STRIP - 4.6), titles[0] if titles else "", TEXT, bold=True
                )
        low, high = self.left - 8.0, self.right + 10.0
        flags = self._flagged(SAME_PLACE, False)
        closest = SAME_PLACE
        while sum(_flag_size(marks) for _, marks in flags) > high - low and closest < high - low:
            flags = self._flagged(closest, True)  # what happens again and again is numbered the first time
            closest *= 1.5
        sizes = [_flag_size(marks) for _, marks in flags]
        middles = spread([x for x, _ in flags], sizes, low, high)
        middle_y = self.top - STRIP + FLAG / 2 - 1.2
        for (x, marks), size, middle in zip(flags, sizes, middles, strict=True):
            if not marks:
                yield line((x, self.top - TICK), (x, self.top), THIN)
                continue
            foot = middle_y + FLAG / 2
            yield Strokes(dashed(((x, self.top), (x, bottom)), EVENT_DASHES), THIN)
            yield line((middle, foot), (x, self.top), THIN)
            half = (size - 0.8) / 2
            yield rectangle((middle - half, middle_y - FLAG / 2, middle + half, foot), THIN, BLACK, WHITE)
            yield Text((middle, middle_y + TEXT / 2), _numbers(marks), TEXT, "middle", bold=True)

    def _flagged(self, closest: float, once: bool) -> list[tuple[float, list[int]]]:
        """Where events are, and their numbers: those nearer to one another than ``closest`` together; with ``once``
        a number stands only where it comes first."""
        found: list[tuple[float, set[int]]] = []
        known: set[int] = set()
        for x, words in sorted((self.scales[e.stretch](e.at), e.words) for e in self.chart.events):
            mark = {self.words.index(words) + 1}
            shown = mark - known if once else mark
            known |= mark
            if found and x - found[-1][0] < (closest if shown and found[-1][1] else SAME_PLACE):
                found[-1][1].update(shown)
            else:
                found.append((x, shown))
        return [(x, sorted(marks)) for x, marks in found]

    def _words(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(event.words for event in self.chart.events))

    def _lines(self) -> tuple[rows.Row, ...]:
        out: list[rows.Row] = []
        if self.words:
            out += [
                rows.heading(self.chart.events_title, first=True),
                *rows.numbered(self.words, self.column),
            ]
        for title, paragraphs in self.chart.notes:
            out.append(rows.heading(title, first=not out))
            out += [row for text in paragraphs for row in rows.paragraph(text, self.column)]
        return tuple(out)


def _flag_size(marks: Sequence[int]) -> float:
    """Width of a number's box and the air beside it; nothing without a number."""
    return max(FLAG, text_width(_numbers(marks), TEXT, bold=True) + 1.8) + 0.8 if marks else 0.0


def _numbers(members: Sequence[int]) -> str:
    """``1``, ``1, 2``, ``3-6``."""
    if len(members) > 2 and members[-1] - members[0] == len(members) - 1:
        return f"{members[0]}-{members[-1]}"
    return ", ".join(str(m) for m in members) if len(members) < 5 else f"{members[0]} ..."
