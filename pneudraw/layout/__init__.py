"""Placement, orthogonal routing and labels of a circuit diagram. :func:`lay_out` is the one way in."""

from pneudraw.layout.engine import lay_out
from pneudraw.layout.problem import Hint, LabelSpec, NetSpec, PortSpec, Problem, Spacing, SymbolSpec
from pneudraw.layout.result import Layout, PlacedLabel, PlacedPort, PlacedSymbol, Route

__all__ = [
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
