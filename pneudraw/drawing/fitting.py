"""Choosing the sheet: the smallest on which everything stays readable, and where drawing, words and title block go."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from pneudraw.drawing.frame import frame_box
from pneudraw.drawing.options import LARGER, LEAST_MODULE, LEAST_TEXT, MOST_MODULE, PAPERS, SheetOptions
from pneudraw.drawing.rows import Row, column_width, height_for
from pneudraw.drawing.shapes import Box
from pneudraw.drawing.titleblock import WIDTH, block_height

PAD = 4.0  # mm of air between frame and drawing, and round blocks of words
NARROWEST = 58.0  # mm, of a column of words

Content = Callable[[float, float], tuple[Row, ...]]
"""Words for columns of a width [mm] at a module [mm]."""


@dataclass(frozen=True)
class Plan:
    """A sheet with everything on it: boxes in mm. ``columns`` of words stand in ``words``."""

    paper: str
    width: float
    height: float
    frame: Box
    drawing: Box
    words: Box
    columns: int
    title_width: float
    module: float
    messages: tuple[str, ...] = ()


def fits(
    size: tuple[float, float], content: Content, options: SheetOptions, letters: float = 1.0
) -> str | None:
    """Return the name of the smallest paper allowed on which a drawing of ``size`` [M] is readable.

    That is the paper asked for, or with ``"auto"`` any; None if there is none.
    """
    papers = LARGER["auto"] if options.paper == "auto" else (options.paper,)
    for paper in papers:
        best = _best(paper, size, content, options, letters)
        if best is not None and _readable(best.module, letters):
            return paper
    return None


def room(paper: str, content: Content, options: SheetOptions) -> float:
    """Return the area [mm2] there is for a drawing on a paper with these words on it."""
    boxes = [
        drawing
        for _, _, frame, title in _turned(paper, options)
        for _, _, drawing in _arrangements(frame, title, block_height(paper), content)
    ]
    return max(((box[2] - box[0]) * (box[3] - box[1]) for box in boxes), default=0.0)


def _readable(module: float, letters: float) -> bool:
    return module * letters >= LEAST_TEXT - 1e-9


def plan(size: tuple[float, float], content: Content, options: SheetOptions, letters: float = 1.0) -> Plan:
    """Return the sheet for a drawing of ``size`` [M] with letters so high [M].

    The paper asked for is taken if the lettering stays at 2.5 mm or more on it; otherwise the next larger
    one, and ``messages`` says so. What is too large for the largest gets smaller lettering, and that is said
    too.
    """
    asked = options.paper
    papers = _papers(asked)
    best = None
    for paper in papers:
        best = _best(paper, size, content, options, letters)
        if best is not None and _readable(best.module, letters):
            break
    if best is None:
        best = _crammed(papers[-1], size, content, options)
    messages = []
    if asked not in ("auto", best.paper):
        messages.append(f"`{best.paper}` instead of `{asked}`, where the lettering would be below 2.5 mm")
    if not _readable(best.module, letters):
        height = best.module * letters
        messages.append(
            f"too large for `{best.paper}`: lettering of {height:.1f} mm, below the readable 2.5 mm"
        )
    return Plan(**{**vars(best), "messages": tuple(messages)})


def _papers(asked: str) -> tuple[str, ...]:
    if asked in LARGER:
        return LARGER[asked]
    sizes = LARGER["auto"]
    if asked not in sizes:
        raise ValueError(f"unknown paper `{asked}`; known: auto, bare, {', '.join(PAPERS)}")
    return sizes[sizes.index(asked) :]


def _best(
    paper: str, size: tuple[float, float], content: Content, options: SheetOptions, letters: float
) -> Plan | None:
    found: Plan | None = None
    for candidate in _candidates(paper, size, content, options, letters):
        if found is None or _better(candidate, found):
            found = candidate
    return found


def _better(one: Plan, other: Plan) -> bool:
    """True if the drawing gets larger, or as large with clearly more of the same sheet: the words better packed."""
    if abs(one.module - other.module) > 0.05:
        return one.module > other.module
    areas = [(box[2] - box[0]) * (box[3] - box[1]) for box in (one.drawing, other.drawing)]
    return one.width == other.width and areas[0] > 1.02 * areas[1]


def _candidates(
    paper: str, size: tuple[float, float], content: Content, options: SheetOptions, letters: float
) -> Iterator[Plan]:
    for width, height, frame, title in _turned(paper, options):
        for words, columns, drawing in _arrangements(frame, title, block_height(paper), content):
            module = _module(size, drawing, letters)
            if module > 0:
                yield Plan(paper, width, height, frame, drawing, words, columns, title, module)


def _turned(paper: str, options: SheetOptions) -> Iterator[tuple[float, float, Box, float]]:
    """Width, height, frame and width of the title block for each way the paper may lie."""
    short, long = PAPERS[paper]
    turns = {"portrait": ("portrait",), "landscape": ("landscape",)}.get(
        options.turned, ("landscape", "portrait")
    )
    if paper == "slide":
        turns = ("landscape",)
    for turn in turns:
        width, height = (long, short) if turn == "landscape" else (short, long)
        frame = frame_box(paper, width, height)
        yield width, height, frame, min(WIDTH, frame[2] - frame[0])


def _arrangements(frame: Box, title: float, block: float, content: Content) -> Iterator[tuple[Box, int, Box]]:
    left, top, right, bottom = frame
    inner = right - left
    roof = bottom - block
    beside = inner - title - 2 * PAD
    if beside >= NARROWEST:  # words left of the title block
        for columns in range(1, int(beside // NARROWEST) + 1):
            height = _height(content, beside, columns) + PAD
            top_of_band = min(roof, bottom - height)
            if top_of_band > top + 20:
                words = (left + PAD, top_of_band + PAD / 2, right - title - PAD, bottom)
                yield words, columns, _padded((left, top, right, top_of_band))
    across = inner - 2 * PAD
    columns = max(1, int(across // 62))
    height = _height(content, across, columns) + PAD  # words above the title block
    if roof - height > top + 20:
        words = (left + PAD, roof - height + PAD / 2, right - PAD, roof)
        yield words, columns, _padded((left, top, right, roof - height))
    for side in (64.0, 80.0, 110.0):  # words at the right, from the top down
        if inner - side > 60 and _height(content, side - PAD, 1) < roof - top - 2 * PAD:
            words = (right - side, top + PAD, right - PAD, roof)
            yield words, 1, _padded((left, top, right - side, roof))


def _crammed(paper: str, size: tuple[float, float], content: Content, options: SheetOptions) -> Plan:
    """The last resort: words overflow; only reached when they fill more than the largest sheet."""
    short, long = PAPERS[paper]
    frame = frame_box(paper, long, short)
    left, top, right, bottom = frame
    drawing = _padded((left, top, left + (right - left) / 2, bottom - block_height(paper)))
    words = (left + (right - left) / 2, top + PAD, right - PAD, bottom - block_height(paper))
    module = max(0.5, _module(size, drawing, 1.0))
    return Plan(paper, long, short, frame, drawing, words, 3, WIDTH, module)


def _height(content: Content, width: float, columns: int) -> float:
    return height_for(content(column_width(width, columns), LEAST_MODULE), columns)


def _module(size: tuple[float, float], box: Box, letters: float) -> float:
    """The module [mm] at which the drawing fills the box, not above the largest, down to a tenth of a mm."""
    wide, high = box[2] - box[0], box[3] - box[1]
    module = min(wide / size[0], high / size[1], MOST_MODULE / letters)
    return int(module * 10 + 1e-6) / 10 if module >= 1 else max(0.0, module)


def _padded(box: Box) -> Box:
    return box[0] + PAD, box[1] + PAD, box[2] - PAD, box[3] - PAD
