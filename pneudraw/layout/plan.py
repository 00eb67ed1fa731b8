"""An arrangement carried through to heights and tracks, and what it is worth: crossings and corners are counted
before anything is drawn, so that whole layouts can be compared."""

from __future__ import annotations

from dataclasses import dataclass

from pneudraw.layout import across
from pneudraw.layout.frame import Frame
from pneudraw.layout.heights import extent, extents, squeeze, tallest
from pneudraw.layout.listing import disorder
from pneudraw.layout.repeats import Twins, repeats, unlikeness
from pneudraw.layout.straight import Rows, balance, make_rows, part_rows, straighten
from pneudraw.layout.tracks import Tracks, assign_tracks, trunks_of
from pneudraw.layout.wishes import distance

FIT = 150.0
"""Price of a drawing as large as the page in the worse direction; one crossing is 5."""
OTHER = 0.4
"""Share of that price for the better direction."""
STEP, NEARLY = 200.0, 0.15
"""Price on top for what is larger than the page, up to a share beyond which it is hopeless."""
BENT = 3.0
"""Price of a bent line of a kind whose straight run is worth 1 more than that of a common supply line."""


@dataclass
class Plan:
    """A frame on whole heights with its tracks by channel. ``cost`` is smaller for better ones.

    ``width`` is the least one, 0 if there is no page to fit.
    """

    frame: Frame
    rows: Rows
    tracks: list[Tracks]
    crossings: int
    corners: int
    conflicts: int
    cost: float
    width: int = 0

    @property
    def repeats(self) -> list[Twins]:
        """Groups of the circuit that repeat."""
        return groups_of(self.frame)


def groups_of(frame: Frame) -> list[Twins]:
    """Groups of the circuit that repeat, looked for once."""
    if frame.model.twins is None:
        frame.model.twins = repeats(frame.model)
    return frame.model.twins


def make_plan(frame: Frame) -> Plan:
    """Straighten, balance, number the tracks, count; rows that clash in a channel are moved apart."""
    rows = make_rows(frame)
    straighten(frame, rows)
    balance(frame, rows)
    plan = count(frame, rows)
    if _squeezed(plan):
        plan = count(frame, rows)
    for _ in range(3):
        if not plan.conflicts:
            break
        for channel, tracks in enumerate(plan.tracks):
            for a, b in tracks.clashes:
                part_rows(rows, channel, a, b, frame.model.spacing.pitch)
        plan = count(frame, rows)
    return plan


def _squeezed(plan: Plan) -> bool:
    """Take height out of the rows of a plan that is higher than the page in proportion to its width; False if not."""
    frame, rows, page = plan.frame, plan.rows, plan.frame.model.problem.page
    if page is None or not squeeze(frame, rows, int(plan.width * page[1] / page[0])):
        return False
    spans = extents(frame, rows)
    top, bottom = min(a for a, _ in spans), max(b for _, b in spans)
    bounds = [(y - a + top, y - b + bottom) for y, (a, b) in zip(rows.y, spans, strict=True)]
    balance(frame, rows, 10, bounds)
    return True


def count(frame: Frame, rows: Rows) -> Plan:
    """Tracks and counts for heights that are final."""
    pitch = frame.model.spacing.pitch
    tracks = [assign_tracks(trunks_of(rows, c), pitch) for c in range(len(frame.channels))]
    crossings = sum(t.crossings for t in tracks) + sum(f.crossings for f in frame.form)
    corners = sum(t.corners for t in tracks) + sum(f.corners for f in frame.form)
    conflicts = sum(len(t.clashes) for t in tracks)
    dots = sum(t.dots for t in tracks)
    length = sum(t.length for t in tracks)
    passes = sum(rows.passing)
    height = max(rows.y, default=0) - min(rows.y, default=0)
    cost = (
        5.0 * crossings + 2.0 * corners + 100.0 * conflicts + 3.0 * dots
        + 0.003 * length + 0.3 * passes + 0.01 * height
        + disorder(frame, rows) + unlikeness(frame, rows, groups_of(frame)) + distance(frame, rows, frame.model.wishes)
    )  # fmt: skip
    worth = dict(frame.model.problem.straight)
    kinds = [net.kind for net in frame.model.problem.nets]
    cost += BENT * sum(max(0.0, worth.get(kinds[n], 1.0) - 1.2) for t in tracks for n in t.bent)
    page, wide = frame.model.problem.page, 0
    if page is not None:
        wide = across.width(frame, rows, tracks)
        sides = (wide / page[0], extent(frame, rows) / page[1])
        cost += FIT * (max(sides) + OTHER * min(sides))
        cost += sum(STEP * min(max(side - 1.0, 0.0), NEARLY) for side in sides)
    return Plan(frame, rows, tracks, crossings, corners, conflicts, cost, wide)


def large(plan: Plan) -> list[int]:
    """Symbols on the chains that keep a plan from being smaller; none if there is no page to fit."""
    frame, page = plan.frame, plan.frame.model.problem.page
    if page is None:
        return []
    wide = plan.width / page[0]
    high = extent(frame, plan.rows) / page[1]
    found: list[int] = []
    if wide > 0.9 * high:
        found += across.tightest(frame, plan.rows, plan.tracks)
    if high > 0.9 * wide:
        found += tallest(frame, plan.rows)
    return found
