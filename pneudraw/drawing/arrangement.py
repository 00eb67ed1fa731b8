"""How a circuit goes onto its paper: on one sheet, in the reduced set of symbols, folded, or on several sheets.

The decision leaves room for the words of any state, so that a circuit is laid out once and every trace is drawn
on the same sheets.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.areas import web
from pneudraw.drawing.codes import codes
from pneudraw.drawing.diagram import extent
from pneudraw.drawing.drafting import Drafting
from pneudraw.drawing.folding import MOST_BANDS, by_vehicle, folded, strips
from pneudraw.drawing.options import LARGER, REDUCED, SheetOptions
from pneudraw.drawing.splitting import Splitting
from pneudraw.drawing.view import View

LARGE = 150  # parts of a circuit that is split in the reduced set only: it takes long enough
COMMON = ("A4", "A3")  # papers of a school's copier: what fits one is left as it is
HOPEFUL = 1.4  # times the room on a paper; an unfolded drawing larger than that will not fit it folded either
WIDE = 1.6  # times its height, a drawing without vehicles is worth cutting across
LARGEST = "A2"  # of the papers taken unasked; what needs a larger one is put on several of the next
SEVERAL = "A3"


@dataclass(frozen=True)
class Arrangement:
    """The sheets of a circuit, each with its own layout, in the order of the flow.

    ``paper``: the one they are all drawn on, if that is settled here and not by the size of the drawing.
    """

    views: tuple[View, ...]
    messages: tuple[str, ...] = ()
    paper: str = ""


def arrange(circuit: Circuit, options: SheetOptions | None = None) -> Arrangement:
    """Return how a circuit is drawn with these wishes.

    ``paper`` ``"auto"``: what fits an A4 or A3 is drawn on it; else the way that takes the smallest A size is taken, of
    these, on equal paper the first: in one piece, in the reduced set, folded, folded in the reduced set. What would
    need more than an A2 goes on several sheets of A3. A named paper: the first of these that fits it, else as many
    sheets of it as it takes, of the set of symbols that takes fewer. A part that is too large for the paper is drawn
    on a larger one, which :func:`pneudraw.drawing.sheets.draw_sheets` says.
    """
    options = options or SheetOptions()
    marks = codes(circuit) if options.codes else {}
    usual = Drafting(circuit, options, marks, 1.0)
    if options.paper == "bare":
        return Arrangement((usual.whole(),))
    paper = usual.paper(usual.whole(), options.paper)
    if paper in COMMON or (paper is not None and options.paper != "auto"):
        return Arrangement((usual.whole(),))
    small = Drafting(circuit, options, marks, REDUCED)
    one = _on_one_sheet(usual, small)
    if one is not None:
        return one
    if len(circuit.parts) < 2:
        return Arrangement((usual.whole(),))
    return _several(usual, small)


def _on_one_sheet(usual: Drafting, small: Drafting) -> Arrangement | None:
    """The circuit on the smallest paper there is a way for; None if that is too large.

    On equal paper a drawing with all its frames is taken before one in which vehicles are mixed up.
    """
    asked = usual.options.paper
    papers = LARGER["auto"][: LARGER["auto"].index(LARGEST) + 1] if asked == "auto" else (asked,)
    best: tuple[int, int] | None = None
    chosen: View | None = None
    for drafting, fold in ((usual, False), (small, False), (usual, True), (small, True)):
        smaller = papers if best is None else papers[: best[0] + bool(best[1])]
        if fold and not _hopeful(drafting, smaller):
            continue
        for view in _folds(drafting) if fold else (drafting.whole(),):
            paper = drafting.paper(view, asked)
            if paper not in papers:
                continue
            rank = papers.index(paper), len(view.messages)
            if best is None or rank < best:
                best, chosen = rank, view
        if best is not None and (not best[1] or asked != "auto") and papers[best[0]] in (*COMMON, asked):
            break
    if best is None or chosen is None:
        return None
    return Arrangement((chosen,), (), papers[best[0]] if chosen.flags else "")


def _hopeful(drafting: Drafting, papers: Sequence[str]) -> bool:
    """Whether a fold may fit one of these papers, as far as one can tell from the size of the unfolded drawing."""
    if not papers or not drafting.options.fold or papers[-1] == "slide":  # which has no fields to point to
        return False
    left, top, right, bottom = extent(drafting.whole())
    return (right - left) * (bottom - top) < HOPEFUL * drafting.room(papers[-1])


def _folds(drafting: Drafting) -> Iterator[View]:
    """The circuit folded, in as many ways as are worth a look."""
    units = by_vehicle(drafting.circuit)
    if units:
        yield from folded(drafting, units)
        return
    left, top, right, bottom = extent(drafting.whole())
    if right - left < WIDE * (bottom - top):
        return
    whole = web(drafting.circuit, drafting.whole().layout)
    for count in range(2, MOST_BANDS + 1):
        bands = strips(whole, count)
        if bands:
            yield from folded(drafting, bands)


def _several(usual: Drafting, small: Drafting) -> Arrangement:
    """Several sheets, of the set of symbols that takes fewer."""
    asked = usual.options.paper
    paper = SEVERAL if asked == "auto" else asked
    whole = web(usual.circuit, usual.whole().layout)
    views = Splitting(small, whole, paper).views()
    large = Splitting(usual, whole, paper)
    if large.least() <= len(views) and len(usual.circuit.parts) <= LARGE:
        views = min(large.views(), views, key=len)
    said: tuple[str, ...] = ()
    if asked == "auto":
        said = (
            f"{len(views)} sheets of `{paper}`, since one would have to be larger than `{LARGEST}`; "
            "name that paper to have one",
        )
    return Arrangement(views, said, paper)
