"""Circuits nobody would build, as netlists: any kinds, any ports joined, settings anywhere in their range."""

from __future__ import annotations

import functools

from hypothesis import strategies as st

from pneudraw.library.model import Kind, Parameter, Role
from pneudraw.library.reader import load
from pneudraw.units import Quantity

PIPES = ("", "", "", "  length=25m", "  length=10mm  bore=2mm", "  bore=40mm")


@functools.cache
def kinds() -> tuple[Kind, ...]:
    """Return the kinds of the library, by name."""
    library, _ = load(())
    return tuple(library.kinds[name] for name in sorted(library.kinds))


@st.composite
def settings_of(draw: st.DrawFn, parameter: Parameter) -> str:
    """A value a parameter allows, ends of its range included, as a netlist writes it."""
    low, high, default = parameter.least, parameter.most, parameter.default
    if parameter.choices:
        return (
            f"{draw(st.sampled_from(parameter.choices)):g}"
            if default.dimension == "number"
            else _bare(default)
        )
    return _bare(draw(st.sampled_from([value for value in (default, low, high) if value is not None])))


def _bare(quantity: Quantity) -> str:
    return quantity.text.replace(" ", "")


@st.composite
def netlists(draw: st.DrawFn, most: int = 9) -> str:
    """A netlist without errors: a compressor or an air source, then up to ``most`` parts of any kind.

    Most inlets are fed from the outlet of a part before, or from a line that is there already, so that air gets about;
    what is left over is joined as it comes.
    """
    by_name = {kind.name: kind for kind in kinds()}
    names = list(draw(st.sampled_from((("air-source",), ("compressor", "reservoir", "governor")))))
    names += draw(st.lists(st.sampled_from(sorted(by_name)), min_size=1, max_size=most))
    parts: list[str] = []
    lines: list[list[str]] = []
    outlets: list[str] = []
    left: list[str] = []
    for place, name in enumerate(names):
        kind = by_name[name]
        parts.append("  ".join([f"  p{place}", name, *draw(_settings_of_kind(kind))]))
        after: list[str] = []
        for port in kind.ports:
            end = f"p{place}.{port.id}"
            if port.role in (Role.DELIVERY, Role.TAPPING):
                after.append(end)
            elif port.role in (Role.SUPPLY, Role.CONTROL) and draw(st.integers(0, 7)) > 0:
                joined = draw(st.integers(-len(lines), len(outlets) - 1)) if outlets or lines else None
                if joined is None:
                    left.append(end)
                elif joined >= 0:
                    lines.append([outlets.pop(joined), end])
                else:
                    lines[-joined - 1].append(end)
            else:
                left.append(end)
        outlets += after
    left = draw(st.permutations([*left, *outlets]))
    lines += [[left[2 * i], left[2 * i + 1]] for i in range(draw(st.integers(0, len(left) // 4)))]
    rows = [f"  {line[0]} -> {', '.join(line[1:])}{draw(st.sampled_from(PIPES))}" for line in lines]
    return "\n".join(['circuit "Made up"', "  pressure bar", "parts", *parts, "lines", *rows, ""])


@st.composite
def _settings_of_kind(draw: st.DrawFn, kind: Kind) -> list[str]:
    """Values of some of a kind's parameters; in most parts of none."""
    if draw(st.integers(0, 2)) > 0:
        return []
    chosen = [p for p in kind.parameters if draw(st.booleans())]
    return [f"{p.name}={draw(settings_of(p))}" for p in chosen]
