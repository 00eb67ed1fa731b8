"""A place for every label: the first of many near its symbol that is free of lines, symbols and other labels."""

from __future__ import annotations

from pneudraw.layout.lines import Web
from pneudraw.layout.model import Model
from pneudraw.layout.places import Drawn

Box = tuple[float, float, float, float]
"""x1, y1, x2, y2."""

BEYOND = 60
"""How far beyond the rim a line that leaves there keeps labels off."""


class Cells:
    """Boxes in buckets, to find those near a given one."""

    def __init__(self, size: float) -> None:
        self.size = size
        self.at: dict[tuple[int, int], list[Box]] = {}

    def add(self, box: Box) -> None:
        """Put one in."""
        size = self.size
        for i in range(int(box[0] // size), int(box[2] // size) + 1):
            for j in range(int(box[1] // size), int(box[3] // size) + 1):
                self.at.setdefault((i, j), []).append(box)

    def free(self, box: Box) -> bool:
        """True if nothing put in meets the box."""
        size = self.size
        for i in range(int(box[0] // size), int(box[2] // size) + 1):
            for j in range(int(box[1] // size), int(box[3] // size) + 1):
                for x1, y1, x2, y2 in self.at.get((i, j), ()):
                    if x1 < box[2] and box[0] < x2 and y1 < box[3] and box[1] < y2:
                        return False
        return True


def _slides(room: float) -> list[float]:
    """Positions from -room/2 to room/2 around a middle, nearest to it first."""
    out = [0.0]
    step = 0.5
    k = 1
    while k * step <= room / 2:
        out += [k * step, -k * step]
        k += 1
    return out


def candidates(
    box: tuple[int, int, int, int], w: float, h: float, air: float, prefer: str, ported: str = ""
) -> list[tuple[float, float, str]]:
    """Top left corners with an anchor, best first: the meant side, then the others, each slid along the edge.

    On sides that have a port above or below (``ported``) a little more room is left, for its number.
    """
    x, y, bw, bh = box
    found: list[tuple[float, float, str]] = []
    mid_x, mid_y = x + bw / 2 - w / 2, y + bh / 2 - h / 2
    sides = [prefer, *[side for side in "NSEW" if side != prefer]] if prefer else list("NSEW")

    def side(name: str, far: float, slack: float) -> None:
        if name in "NS":
            far += air if name in ported else 0.0
            at = y - air - far - h if name == "N" else y + bh + air + far
            found.extend((mid_x + d, at, "middle") for d in _slides(bw + slack))
        elif name == "E":
            found.extend((x + bw + air + far, mid_y + d, "start") for d in _slides(bh + slack))
        else:
            found.extend((x - air - far - w, mid_y + d, "end") for d in _slides(bh + slack))

    for name in sides:
        side(name, 0.0, 0.0)
    for name in sides:
        side(name, 0.0, w if name in "NS" else h)
    for name in sides:
        side(name, 0.5, w if name in "NS" else h)
        side(name, 1.0, w if name in "NS" else h)
    return found


def _anchor(box: tuple[int, int, int, int], left: float, right: float) -> str:
    """How the text of a label is set that stands between two x."""
    x, _, width, _ = box
    middle = x + width / 2
    return "start" if left > middle else "end" if right < middle else "middle"


def place_labels(
    drawn: Drawn, model: Model, webs: list[Web], least: float = 0.25
) -> tuple[list[tuple[int, Box, str]], list[int]]:
    """Boxes and anchors by symbol, and the symbols whose label found no free place (put at the best guess).

    ``least`` is the share of the air around a label that will do if all else is taken.
    """
    air = model.spacing.label_air
    cells = Cells(8.0)
    for bx, by, bw, bh in drawn.boxes:
        cells.add((bx, by, bx + bw, by + bh))
    tiny = 1e-6
    for net in webs:
        for x1, y1, x2, y2 in net.pieces:
            cells.add((x1 - tiny, y1 - tiny, x2 + tiny, y2 + tiny))
    for (bx, by, _, _), spec in zip(drawn.boxes, model.problem.symbols, strict=True):
        if spec.rim:
            far = bx - BEYOND if spec.rim == "W" else bx + BEYOND
            cells.add((min(bx, far), by - tiny, max(bx, far), by + tiny))
    placed: list[tuple[int, Box, str]] = []
    failed: list[int] = []
    order = sorted(range(len(drawn.boxes)), key=lambda s: (s not in model.host, s))
    for s in order:
        label = model.problem.symbols[s].label
        if label is None or label.width <= 0 or label.height <= 0:
            continue
        w, h = label.width, label.height
        spot: tuple[float, float, str] | None = None
        left, top, prefer = drawn.meant.get(s, (0.0, 0.0, ""))
        ported = "".join(sorted({drawn.ports[s][p][2] for p in model.used[s]}))
        options = candidates(drawn.boxes[s], w, h, air, prefer, ported)
        if prefer:
            options.insert(0, (left, top, _anchor(drawn.boxes[s], left, left + w)))
        margin = air * 0.999
        for left, top, anchor in options:
            if cells.free((left - margin, top - margin, left + w + margin, top + h + margin)):
                spot = (left, top, anchor)
                break
        if spot is None and least < 1:
            for left, top, anchor in options:
                margin = air * least
                if cells.free((left - margin, top - margin, left + w + margin, top + h + margin)):
                    spot = (left, top, anchor)
                    break
        if spot is None:
            failed.append(s)
            spot = options[0]
        x, y, anchor = spot
        cells.add((x - air, y - air, x + w + air, y + h + air))
        placed.append((s, (x, y, x + w, y + h), anchor))
    placed.sort()
    return placed, failed
