"""Chains of causes as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, is_dataclass
from typing import Any

from pneudraw.circuit.model import Circuit
from pneudraw.flow.causes import Cause, Why
from pneudraw.teach.cause_words import CauseWords, upper

BAR_TO_KPA = 100.0


def to_dict(circuit: Circuit, whys: Sequence[Why]) -> dict[str, Any]:
    """Return chains as plain data: kPa gauge, seconds, litres of free air, each cause with its sentence.

    ``limits``: what ended the last movement, or kept the air, in the same form as ``causes``. Only where something is
    in doubt: ``doubts``, places whose end pressure hangs on a knife edge; ``doubts_before``, states before this one
    that end so.
    """
    words = CauseWords(circuit)
    last = whys[0] if whys else None
    doubts = {"doubts": list(last.doubts), "doubts_before": list(last.unsure)} if last is not None else {}

    def told(causes: Sequence[Cause], why: Why) -> list[dict[str, Any]]:
        return [
            {"cause": _kind(cause), **_plain(cause), "text": upper(words.cause(cause, why))}
            for cause in causes
        ]

    return {
        "circuit": whys[0].circuit if whys else circuit.title,
        "state": whys[0].state if whys else "",
        "from": whys[0].start if whys else "",
        "places": [
            {
                "place": why.place,
                "start_kpa": round(why.before * BAR_TO_KPA, 2) + 0.0,
                "end_kpa": round(why.after * BAR_TO_KPA, 2) + 0.0,
                "causes": told(why.causes, why),
                "limits": told(why.limits, why),
            }
            for why in whys
        ],
        **{name: found for name, found in doubts.items() if found},
    }


#: which fields hold pressures [bar] and times [s]
_PRESSURES = {
    "Moved": ("before", "after", "standing"),
    "PressureBecause": ("before", "after"),
    "Reading": ("pressure",),
    "Stands": ("pressure",),
    "Holds": ("pressure",),
    "Shut": ("pressure",),
    "Flipped": ("level",),
}
_TIMES = ("begin", "felt", "time", "since")


def _kind(value: object) -> str:
    """``moved``, ``input-set``: the name of a cause's class."""
    name = type(value).__name__
    return "".join(f"-{c.lower()}" if c.isupper() and i else c.lower() for i, c in enumerate(name))


def _plain(value: Any) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for field in fields(value):
        item = getattr(value, field.name)
        if field.name in _PRESSURES.get(type(value).__name__, ()):
            out[f"{field.name}_kpa"] = None if item is None else round(item * BAR_TO_KPA, 2) + 0.0
        elif field.name in _TIMES:
            out[f"{field.name}_s"] = None if item is None else round(item, 4)
        elif is_dataclass(item):
            kind = {"by": _kind(item).removesuffix("-because")} if "Because" in type(item).__name__ else {}
            out[field.name] = {**kind, **_plain(item)}
        elif isinstance(item, tuple):
            out[field.name] = [_plain(part) if is_dataclass(part) else part for part in item]
        else:
            out[field.name] = round(item, 6) if isinstance(item, float) else item
    return out
