"""The charts and fault matrices of the gallery: what a class is shown beside the diagrams."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from pneudraw import api
from pneudraw.circuit.model import Circuit
from pneudraw.drawing import Sheet, to_svg
from pneudraw.drawing.matrix import draw_matrix
from pneudraw.flow.diagnosis import of_rows_subset, read_observation, remaining, tree
from pneudraw.flow.run import Options
from pneudraw.teach.fault_table import table_matrix
from pneudraw.teach.finding_sheet import draw_tree
from pneudraw.teach.what_if import what_if_matrix

CIRCUITS = Path(__file__).parent.parent / "circuits"
COMPILED = Options(compiled="yes")

#: circuit, states on one time axis
CHARTS = (
    ("basic-single", "charging"),
    ("two-axle-truck", "charging+cut-out"),
    ("two-axle-truck", "service-apply+service-release"),
    ("two-axle-truck", "park-apply"),
    ("two-axle-truck", "emergency"),
    ("two-axle-truck", "governor-cycle"),
    ("two-axle-truck", "fan-down"),
    ("tractor-semitrailer", "park-release+ready"),
    ("tractor-semitrailer", "service-apply+service-release"),
    ("tractor-two-trailers", "service-apply"),
    ("bus-antilock", "cycling"),
    ("bus-antilock", "emergency"),
    ("bus-doors", "open+close"),
)
#: of these only some curves: the rest would lie on them
CURVES = {
    ("two-axle-truck", "governor-cycle"): ("prim", "sec", "gov.2"),
    ("two-axle-truck", "fan-down"): ("prim", "sec", "lr"),
    ("bus-antilock", "cycling"): ("foot.22", "lf", "rf"),
    ("bus-antilock", "emergency"): ("res1", "res2", "four.21"),
    ("bus-doors", "open+close"): ("front", "valve.4"),
}
#: circuit, parts whose faults stand in the table, conditions looked at
TABLES = (("two-axle-truck", ("relay", "lr", "park"), ("P", "R", "S")),)
MATRICES = ("two-axle-truck", "tractor-semitrailer", "bus-antilock", "bus-doors")
#: circuit, what was observed, conditions looked at
TREES = (("two-axle-truck", ("S:lr/service=off",), ("P", "R", "S")), ("bus-doors", (), ("W", "O")))


def _circuit(name: str) -> Circuit:
    circuit = api.read(CIRCUITS / f"{name}.pneu").circuit
    assert circuit is not None
    return circuit


def sheets() -> Iterator[tuple[str, Sheet]]:
    """Yield (file name in the gallery, sheet) for every chart and matrix."""
    for name, states in CHARTS:
        circuit = _circuit(name)
        history = api.history(circuit, states, CURVES.get((name, states), ()), options=COMPILED)
        yield f"charts/{name}.{states}.svg", api.chart(circuit, history)
    for name, tags, conditions in TABLES:
        circuit = _circuit(name)
        chosen = [fault for fault in api.faults(circuit) if fault.setting.target in tags]
        table = api.fault_table(circuit, chosen, conditions, COMPILED, processes=1)
        yield f"faults/{name}.table.svg", draw_matrix(table_matrix(circuit, table))
    for name in MATRICES:
        circuit = _circuit(name)
        found = api.what_if(circuit, COMPILED, processes=1)
        yield f"faults/{name}.what-if.svg", draw_matrix(what_if_matrix(circuit, found))
    for name, observed, conditions in TREES:
        circuit = _circuit(name)
        table = api.fault_table(circuit, None, conditions, COMPILED, processes=1)
        answers = tuple(read_observation(table, text) for text in observed)
        rows = remaining(table, answers)
        made = tree(of_rows_subset(table, rows), rows, tuple(question for question, _ in answers))
        yield f"faults/{name}.tree.svg", draw_tree(circuit, table, made)


def pictures() -> Iterator[tuple[str, str]]:
    """Yield (file name in the gallery, SVG text) for every chart and matrix."""
    for name, sheet in sheets():
        yield name, to_svg(sheet)
