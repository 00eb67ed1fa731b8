"""The ways the air took in a run: from whose air it was to where it stayed or left."""

from __future__ import annotations

from collections.abc import Mapping

from pneudraw.flow.carried import LEAST_GAIN, PRESSURISED, Flows, outlet
from pneudraw.flow.plumbing import Origin
from pneudraw.flow.run import Run
from pneudraw.flow.solution import first_time
from pneudraw.library.model import Place

OWN_STORE = 0.3  # share of what a reservoir gave that must be its own air for a path to begin there


def air_paths(run: Run, flows: Flows) -> tuple[tuple[str, ...], ...]:
    """One path to each place that received or vented air: backwards along the strongest flow, told forwards.

    A path begins at a reservoir that gave air of its own, else at the compressor. Such a reservoir is in turn the
    end of another path if it was refilled meanwhile.
    """
    plumbing = run.plumbing
    into: dict[int, list[tuple[float, int, int]]] = {}
    leaves: set[int] = set()
    for k, (a, b, g) in enumerate(flows.ends):
        if flows.carries[k]:
            into.setdefault(b, []).append((g, a, k))
            leaves.add(a)
    names = _names_of(run)
    stores = {
        plumbing.chamber_node[part.tag, chamber.name]
        for part in run.circuit.parts
        if part.kind.place is Place.STORAGE
        for chamber in part.kind.chambers
    }
    givers = {
        n
        for n in plumbing.chamber_node.values()
        if flows.gain[n] < -LEAST_GAIN and -flows.gain[n] > OWN_STORE * (flows.inflow[n] - flows.gain[n])
    }
    goals: list[tuple[float, int, int | None]] = []
    for node in range(1, len(plumbing.network.nodes)):
        received = node in stores and (flows.weight[node] >= 1.0 or node in givers)
        if node in into and (node not in leaves or received):
            goals.append((_when(run, node), node, None))
    goals += [(_when(run, a), 0, k) for _, a, k in into.get(0, ())]
    found: list[tuple[str, ...]] = []
    for _, node, via in sorted(goals, key=lambda goal: (goal[0], goal[1], goal[2] or 0)):
        path = _back(node, via, into, flows, names, plumbing.origins, givers)
        if len(path) > 1 and path not in found:
            found.append(path)
    told = {path[0].rpartition(".")[0] for path in found}
    for node in sorted(givers, key=lambda n: (_when(run, n), n)):
        path = _forth(node, flows, names, plumbing.origins)
        if len(path) > 1 and path[0].rpartition(".")[0] not in told:
            found.append(path)
    return tuple(found)


def _forth(node: int, flows: Flows, names: Mapping[int, str], origins: tuple[Origin, ...]) -> tuple[str, ...]:
    """The way of a chamber's own air along the strongest flow, until it stays or leaves."""
    path: list[str] = []
    seen = {node}
    while True:
        steps = [
            (g, b, k)
            for k, (a, b, g) in enumerate(flows.ends)
            if a == node and flows.carries[k] and b not in seen
        ]
        if not steps:
            return tuple(path)
        _, node, k = max(steps, key=lambda step: (step[0], -step[2]))
        if node == 0:
            name = f"{origins[k].owner}.{outlet(origins[k], flows.net[k] >= 0)}"
            return tuple(path) if path and path[-1] == name else (*path, name)
        seen.add(node)
        if node in names and names[node] != (path[-1] if path else ""):
            path.append(names[node])


def _when(run: Run, node: int) -> float:
    when = first_time(run.solution, node, PRESSURISED)
    return float(run.solution.times[-1]) if when is None else when


def _names_of(run: Run) -> Mapping[int, str]:
    """Port names by node; chambers have none, a path passes them silently."""
    return {node: f"{tag}.{port}" for (tag, port), node in run.plumbing.port_node.items() if node != 0}


def _back(
    node: int,
    via: int | None,
    into: Mapping[int, list[tuple[float, int, int]]],
    flows: Flows,
    names: Mapping[int, str],
    origins: tuple[Origin, ...],
    givers: set[int],
) -> tuple[str, ...]:
    path: list[str] = []
    goal = node
    seen = {node}
    if via is not None:  # an exhaust: name its port, then go on from where the air came
        origin = origins[via]
        port = outlet(origin, flows.net[via] >= 0)
        path.append(f"{origin.owner}.{port}")
        node = flows.ends[via][0]
        seen.add(node)
        if node in names and names[node] != path[-1]:
            path.append(names[node])
    elif node in names:
        path.append(names[node])
    while node not in givers or node == goal:
        steps = [step for step in into.get(node, ()) if step[1] not in seen]
        if not steps:
            break
        _, node, _k = max(steps, key=lambda step: (step[0], -step[2]))
        if node == 0:
            break
        seen.add(node)
        if node in names and names[node] != (path[-1] if path else ""):
            path.append(names[node])
    return tuple(reversed(path))
