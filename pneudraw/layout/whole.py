"""The way in: blocks that are alike are laid out once and put into a drawing of the rest; all else is laid out flat."""

from __future__ import annotations

from collections.abc import Sequence

from pneudraw.layout.apart import copies_of, inner_problem, outer_problem
from pneudraw.layout.blocks import Pattern, patterns
from pneudraw.layout.engine import lay_out_flat, lay_out_one
from pneudraw.layout.model import Model, prepare
from pneudraw.layout.problem import Block, Problem
from pneudraw.layout.result import Layout
from pneudraw.layout.together import put_together


def lay_out(problem: Problem) -> Layout:
    """Place the symbols, route the nets, place the labels. The same problem always gives the same layout.

    A problem without symbols gives an empty layout. Whatever is wrong with the answer stands in its ``faults``.
    """
    blocks, found = patterns(problem) if problem.blocks else ([], [])
    if found:
        model = prepare(problem, problem.spacing)
        done = _with_blocks(model, blocks, found)
        if done is not None and not done.faults:
            return done
    return lay_out_flat(problem)


def _with_blocks(model: Model, blocks: Sequence[Block], found: Sequence[Pattern]) -> Layout | None:
    """The layout with these patterns drawn once each; None if some part of it cannot be drawn without a fault."""
    problem = model.problem
    apart = sum(len(pattern.inside.specs) * len(pattern.members) for pattern in found)
    total = len(problem.symbols) - apart + sum(len(p.inside.specs) + len(p.members) for p in found)
    inner = [lay_out_one(inner_problem(problem, pattern), total) for pattern in found]
    copies = copies_of(problem, blocks, found)
    outside = outer_problem(problem, found, copies, inner)
    outer = lay_out_flat(outside, total - len(outside.symbols))
    if outer.faults or any(layout.faults for layout in inner):
        return None
    return put_together(model, found, copies, inner, outer)
