"""How a sheet is wanted: paper, words of the title block, what is shown. All of it may stay as it is."""

from __future__ import annotations

from dataclasses import dataclass

#: trimmed sizes, short side first [mm]: ISO 216; letter and tabloid 8.5 x 11 and 11 x 17 in
PAPERS: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "A2": (420.0, 594.0),
    "A1": (594.0, 841.0),
    "A0": (841.0, 1189.0),
    "letter": (215.9, 279.4),
    "tabloid": (279.4, 431.8),
    "slide": (190.5, 338.67),
}
#: tried in this order when the paper asked for is too small; "auto" starts with the first
LARGER: dict[str, tuple[str, ...]] = {
    "auto": ("A4", "A3", "A2", "A1", "A0"),
    "letter": ("letter", "tabloid", "A2", "A1", "A0"),
    "tabloid": ("tabloid", "A2", "A1", "A0"),
    "slide": ("slide",),
}

LEAST_TEXT = 2.5  # mm; the smallest lettering on a sheet (ISO 3098; common practice for what is copied)
LEAST_MODULE = 2.5  # mm, with lettering 1M high
REDUCED = 1.25  # M, height of the letters in the reduced set of symbols: M = 2.0 mm (ISO 1219-1, from memory)
MOST_MODULE = 3.5  # mm; small circuits are not blown up beyond the 3.5 mm lettering of a handout


#: on every sheet; whoever makes papers for a class may put longer ones
CAUTIONS = (
    "For teaching only: the maker's manual, local code and licensed practice decide.",
    "Chock the wheels; vent lines to zero before opening them; never open a spring-brake chamber.",
)


@dataclass(frozen=True)
class SheetOptions:
    """What the user may ask of a sheet. Texts are printed as given; an empty one leaves its field blank.

    ``paper``: a name of :data:`PAPERS`, ``"auto"`` (the smallest A size on which the text stays readable) or
    ``"bare"`` (the picture alone, no frame). What does not fit on a paper asked for by name is split over several
    sheets of it by :func:`pneudraw.drawing.sheets.draw_sheets`; :func:`pneudraw.drawing.draw` makes one sheet and
    takes a larger paper. ``turned``: ``"auto"``, ``"portrait"`` or ``"landscape"``.
    ``date``: printed as given; never the day of drawing. ``port_numbers``: ``"useful"``, ``"all"`` or
    ``"none"``. ``initial``: the state shown when the tints name none. ``lists``: parts list and line list
    ``"none"``, ``"beside"`` the drawing or on sheets of their ``"own"``. ``codes``: ISO 1219-2 identification
    codes beside the symbols. ``groups``: frames round the author's groups and the vehicles. ``fold``: a long circuit
    may be drawn in bands, one below the other, where that saves paper.
    """

    paper: str = "auto"
    turned: str = "auto"
    title: str = ""
    subtitle: str = ""
    owner: str = ""
    creator: str = ""
    approved: str = ""
    number: str = ""
    revision: str = ""
    date: str = ""
    language: str = "en"
    sheet: int = 1
    sheets: int = 1
    initial: str = "Initial position, no pressure, brakes not operated"
    cautions: tuple[str, ...] = CAUTIONS
    notes: tuple[str, ...] = ()
    legend: bool = True
    lists: str = "none"
    codes: bool = False
    groups: bool = True
    fold: bool = True
    port_numbers: str = "useful"
    line_tags: bool = False
    colour: bool = True
