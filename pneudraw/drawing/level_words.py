"""The words of a level in a chart: above or below its line, where they hide least and near the dots they speak of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pneudraw.drawing.shapes import Box, Point, Text
from pneudraw.lettering import text_width

TEXT = 2.5  # mm, the smallest lettering
PITCH = 3.7  # mm from line to line of a label
STEPS = 60  # places tried along the line
#: prices; a mm of a curve hidden is 1.4
OUTSIDE, OVER_WORDS, ELSEWHERE, UPRIGHT, SECOND_LINE, NEAR = 40.0, 30.0, 14.0, 6.0, 4.0, 0.05


def level_words(
    words: str,
    y: float,
    panel: Box,
    homes: Sequence[tuple[float, float]],
    dots: Sequence[float],
    uprights: Sequence[float],
    drawn: Sequence[Point],
    taken: Sequence[Box],
) -> tuple[Text, ...]:
    """Return the words, on one line or two, where they cost least [mm on the sheet].

    ``homes``: the parts of the axis the words speak of, ``dots`` the places on it. ``uprights`` are vertical lines,
    ``drawn`` points of the curves 0.7 mm apart, ``taken`` the boxes of other words.
    """

    def cost(texts: tuple[Text, ...], wide: float) -> float:
        x0, y0, y1 = texts[0].at[0], texts[0].at[1] - TEXT, texts[-1].at[1]
        x1 = x0 + wide
        price = OUTSIDE if y0 < panel[1] + 0.3 or y1 > panel[3] - 0.3 else 0.0
        price += SECOND_LINE * (len(texts) - 1)
        if homes and not any(start <= (x0 + x1) / 2 <= end for start, end in homes):
            price += ELSEWHERE
        price += sum(
            OVER_WORDS for box in taken if x0 - 1 < box[2] and box[0] < x1 + 1 and y0 < box[3] and box[1] < y1
        )
        price += sum(UPRIGHT for at in uprights if x0 - 1 < at < x1 + 1)
        price += sum(1.0 for at, v in drawn if x0 - 1.8 < at < x1 + 1.5 and y0 - 1.3 < v < y1 + 0.8)
        return price + NEAR * min((max(x0 - at, at - x1, 0.0) for at in dots), default=0.0)

    return min(_places(words, y, panel), key=lambda place: cost(*place))[0]


def _places(words: str, y: float, panel: Box) -> Iterator[tuple[tuple[Text, ...], float]]:
    """The places tried, and the width of the words there."""
    half = halved(words)
    for lines in ((words,), half) if len(half) == 2 else ((words,),):
        wide = max(text_width(text, TEXT) for text in lines)
        room = max(0.0, panel[2] - panel[0] - wide - 4.0)
        for first in (y - 0.9 - (len(lines) - 1) * PITCH, y + TEXT + 1.0):
            for step in range(STEPS + 1):
                x = panel[0] + 2.0 + room * step / STEPS
                yield tuple(Text((x, first + n * PITCH), text, TEXT) for n, text in enumerate(lines)), wide


def halved(words: str) -> tuple[str, ...]:
    """Return words on two lines, broken behind a bracket near the middle, else before one; on one if there is none.

    >>> halved("60 psi after 0.18 s (lr) and 0.22 s (lf)")
    ('60 psi after 0.18 s (lr)', 'and 0.22 s (lf)')
    """
    breaks = [
        at + 1 + comma for at in range(len(words)) for comma in (0, 1) if words[at:].startswith(_ENDS[comma])
    ]
    breaks = breaks or [at for at in range(len(words)) if words.startswith(" (", at)]
    if not breaks:
        return (words,)
    middle = min(breaks, key=lambda at: abs(at - len(words) / 2))
    return words[:middle], words[middle:].strip()


_ENDS = (") and ", "), ")
