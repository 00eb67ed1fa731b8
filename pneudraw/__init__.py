"""Pneudraw: air-brake circuits from a plain-text parts and pipe list, drawn, traced and checked.

The functions behind the commands are here, loaded only when used:

>>> import pneudraw
>>> text = 'circuit "Gauge on a source"\\nparts\\n  s air-source\\n  g gauge\\nlines\\n  s -> g\\n'
>>> reading = pneudraw.read_text(text)
>>> [part.tag for part in reading.circuit.parts]
['s', 'g']
"""

from __future__ import annotations

from typing import Any

__version__ = "0.1.0"

__all__ = [
    "Reading",
    "chart",
    "check",
    "draw",
    "draw_fault",
    "draw_trace",
    "fault_symptoms",
    "faults",
    "format_netlist",
    "history",
    "read",
    "read_text",
    "trace",
    "traces",
    "why",
]


def __getattr__(name: str) -> Any:
    if name in __all__:
        from pneudraw import api

        return getattr(api, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
