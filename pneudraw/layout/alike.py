"""Symbols that could stand for one another (same box, same lines) are put in the order of the parts list."""

from __future__ import annotations

from dataclasses import replace

from pneudraw.layout.frame import Frame
from pneudraw.layout.plan import Plan


def _key(frame: Frame, g: int) -> tuple[object, ...]:
    s = frame.sym[g]
    spec = frame.model.problem.symbols[s]
    return (
        frame.column[g],
        spec.type,
        spec.ports,
        spec.transforms,
        tuple(frame.model.uses[s]),
    )


def in_list_order(plan: Plan) -> None:
    """Exchange such symbols within their column so that the first of the list stands on top. Changes the frame."""
    frame, rows = plan.frame, plan.rows
    hosts = {h for h, _ in frame.model.host.values()}
    found: dict[tuple[object, ...], list[int]] = {}
    for g, s in enumerate(frame.sym):
        if s >= 0 and s not in hosts and frame.arms[g]:
            found.setdefault(_key(frame, g), []).append(g)
    for groups in found.values():
        if len(groups) < 2:
            continue
        groups.sort(key=lambda g: rows.y[rows.first[g]])
        for g, s in zip(groups, sorted(frame.sym[g] for g in groups), strict=True):
            old, form = frame.sym[g], frame.form[g]
            spots = tuple(replace(spot, symbol=s) if spot.symbol == old else spot for spot in form.spots)
            frame.form[g] = replace(form, spots=spots)
            frame.sym[g] = s
            frame.group[s] = g
