"""A circuit on several sheets: parted at natural places until every piece fits, then put together again where two
pieces fit on one sheet."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from pneudraw.drawing.areas import Web, cuts
from pneudraw.drawing.diagram import extent
from pneudraw.drawing.drafting import Drafting
from pneudraw.drawing.folding import by_vehicle
from pneudraw.drawing.view import Goal, View

TRIED = 3  # ways to part a circuit that are laid out before one is parted again
HOPELESS = 1.05  # times the paper, by estimate: not laid out to see that it does not fit
UNSURE = 1.8  # the same for a vehicle, of which only the drawing of them all tells how much room it takes
FILLED = 0.9  # of the paper, by estimate: better than this a set of sheets is not filled on the average
MOST_SHEETS = 2  # that room is left for in a flag
JOINED = 0.1  # sheets that a line in common is worth when areas are put together
APART = 0.1  # sheets that it costs to put vehicles together that do not follow one another
MERGES = 10  # pairs of areas tried on one sheet before all stay as they are


class Splitting:
    """One attempt to put a circuit on several sheets of a paper; remembers what fits."""

    def __init__(self, drafting: Drafting, whole: Web, paper: str) -> None:
        self._drafting = drafting
        self._paper = paper
        self._web = whole
        self._home = {tag: rank for rank, tags in enumerate(by_vehicle(drafting.circuit)) for tag in tags}
        self._known: dict[tuple[int, ...], bool] = {}
        self._sheets = 1
        size = self._density(drafting.whole(), range(len(whole.atoms))) * sum(whole.sizes)
        load = max(1.0, size) / sum(whole.sizes)  # it does not fit one sheet, or it would not be split
        self._load = [load] * len(whole.atoms)

    def views(self) -> tuple[View, ...]:
        """The sheets, with flags that name the others."""
        for self._sheets in range(1, MOST_SHEETS + 1):
            self._known = {}
            views = self._views()
            if all(len(view.circuit.parts) < 2 or self._fits(view) for view in views):
                break  # few lines go to several sheets: seldom is there a flag that needs more room
        return views

    def _views(self) -> tuple[View, ...]:
        pieces = [
            area
            for unit in self._units()
            for area in ([unit] if self._fit(unit, UNSURE) else self._split(unit))
        ]
        areas = self._merged(pieces)
        areas.sort(key=lambda area: self._place(area))
        tags = [self._tags(area) for area in areas]
        goals = {tag: Goal(number) for number, some in enumerate(tags, start=1) for tag in some}
        alike = self._drafting.alike(tags, goals, self._sheets) if self._home else ()
        if alike and not any(view.messages for view in alike) and all(self._fits(view) for view in alike):
            return alike
        return tuple(self._drafting.area(some, goals) for some in tags)

    def least(self) -> int:
        """Fewer sheets than this it will hardly be, by estimate."""
        return math.ceil(self._size(range(len(self._web.atoms))) / FILLED)

    def _density(self, view: View, area: Sequence[int]) -> float:
        """Sheets that a unit of an atom's size takes up, from the drawing of an area."""
        left, top, right, bottom = extent(view)
        total = sum(self._web.sizes[atom] for atom in area)
        return (right - left) * (bottom - top) / total / self._drafting.room(self._paper)

    def _units(self) -> list[tuple[int, ...]]:
        """The vehicles, which are put on sheets of their own first, or all of it if there is only one."""
        found: dict[int, list[int]] = {}
        for atom, tags in enumerate(self._web.atoms):
            found.setdefault(self._home.get(tags[0], 0), []).append(atom)
        return [tuple(atoms) for atoms in found.values()]

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
        return tuple(part.tag for part in self._drafting.circuit.parts if part.tag in inside)

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
        """Put two areas on one sheet where they fit on it: small ones, those with common lines, and those of vehicles
        that follow one another first.

        A sheet saved is worth more to a class than the neatness of one area a sheet.
        """
        while len(areas) > 2:
            pairs = sorted(
                (
                    self._size(a) + self._size(b) - JOINED * self._common(a, b) + APART * self._apart(a, b),
                    i,
                    j,
                )
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
        return sum(self._load[atom] * self._web.sizes[atom] for atom in area)

    def _common(self, a: Sequence[int], b: Sequence[int]) -> int:
        one, other = set(a), set(b)
        return sum(bool(one & set(tie)) and bool(other & set(tie)) for _, tie in self._web.ties)

    def _apart(self, a: Sequence[int], b: Sequence[int]) -> int:
        """How many vehicles lie between those of two areas, and one if they are not the same."""
        homes = [[self._home.get(self._web.atoms[atom][0], 0) for atom in area] for area in (a, b)]
        return max(0, max(map(min, homes)) - min(map(max, homes)))

    def _fit(self, area: tuple[int, ...], limit: float = HOPELESS) -> bool:
        if area not in self._known and self._size(area) > limit:
            return False
        if area not in self._known:
            here = self._tags(area)
            view = self._drafting.area(here, dict.fromkeys(here, Goal(1)), self._sheets)
            self._known[area] = self._fits(view)
            if limit > HOPELESS:
                load = self._density(view, area)
                self._load = [load if atom in area else old for atom, old in enumerate(self._load)]
        return self._known[area]

    def _fits(self, view: View) -> bool:
        return self._drafting.paper(view, self._paper) is not None
