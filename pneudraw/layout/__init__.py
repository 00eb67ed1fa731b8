"""Placement, orthogonal routing and labels of a circuit diagram. :func:`lay_out` is the one way in."""

from pneudraw.layout.problem import Block, Hint, LabelSpec, NetSpec, PortSpec, Problem, Spacing, SymbolSpec
from pneudraw.layout.result import Layout, PlacedLabel, PlacedPort, PlacedSymbol, Route
from pneudraw.layout.whole import lay_out

__all__ = [
    "Block",
    "Hint",
    "LabelSpec",
    "Layout",
    "NetSpec",
    "PlacedLabel",
    "PlacedPort",
    "PlacedSymbol",
    "PortSpec",
    "Problem",
    "Route",
    "Spacing",
    "SymbolSpec",
    "lay_out",
]
