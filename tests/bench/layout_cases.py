"""Run the layout engine on case files and write result files for an outside scorer.

usage: python -m tests.bench.layout_cases IN_DIR OUT_DIR

Every ``*.json`` in IN_DIR in the "layout-case/1" format gives a file of the same name in OUT_DIR in the
"layout-result/1" format. A table goes to the terminal.
"""

from __future__ import annotations

import json
import sys
import time
from functools import reduce
from math import gcd
from pathlib import Path
from typing import Any

from pneudraw.layout import LabelSpec, Layout, NetSpec, PortSpec, Problem, Spacing, SymbolSpec, lay_out


def _unit(case: dict[str, Any]) -> int:
    """The largest unit that the grid, all sizes and all port offsets are multiples of."""
    sizes = [case.get("grid", 10)]
    for part in case["components"]:
        sizes += [part["width"], part["height"], *(port["offset"] for port in part["ports"])]
    return reduce(gcd, (int(size) for size in sizes))


def read_case(case: dict[str, Any]) -> Problem:
    """A case as a problem in units of its grid (or of a finer one if its symbols need that)."""
    unit = _unit(case)
    scale = int(case.get("grid", 10)) // unit
    tight = Spacing()
    spacing = Spacing(
        tight.pitch * scale,
        tight.line_body * scale,
        tight.body_gap * scale,
        tight.stub * scale,
        tight.clearance * scale,
        tight.empty_channel * scale,
        tight.label_air * scale,
        tight.component_gap * scale,
    )
    symbols = []
    for part in case["components"]:
        label = part.get("label")
        symbols.append(
            SymbolSpec(
                part["id"],
                part["width"] // unit,
                part["height"] // unit,
                tuple(
                    PortSpec(port["id"], port["side"], port["offset"] // unit, port.get("flow", "both"))
                    for port in part["ports"]
                ),
                part.get("type", ""),
                part.get("role", ""),
                part.get("group", ""),
                tuple(part.get("transforms", ["r0"])),
                LabelSpec(label["width"] / unit, label["height"] / unit) if label else None,
            )
        )
    nets = [
        NetSpec(net["id"], tuple((s, p) for s, p in net["terminals"]), net.get("kind", ""))
        for net in case["nets"]
    ]
    pairs = tuple((a, b) for a, b in case.get("pairs", []))
    return Problem(tuple(symbols), tuple(nets), pairs, spacing=spacing, grid=float(unit))


def write_result(case: dict[str, Any], layout: Layout, unit: float) -> dict[str, Any]:
    """A layout in the units of its case."""
    return {
        "format": "layout-result/1",
        "case": case["name"],
        "engine": "pneudraw",
        "symbols": [
            {
                "id": s.id,
                "x": s.x * unit,
                "y": s.y * unit,
                "width": s.width * unit,
                "height": s.height * unit,
                "transform": s.transform,
            }
            for s in layout.symbols
        ],
        "ports": [
            {"component": p.symbol, "port": p.port, "x": p.x * unit, "y": p.y * unit, "side": p.side}
            for p in layout.ports
        ],
        "labels": [
            {
                "component": a.symbol,
                "x": round(a.x * unit, 3),
                "y": round(a.y * unit, 3),
                "width": round(a.width * unit, 3),
                "height": round(a.height * unit, 3),
            }
            for a in layout.labels
        ],
        "routes": [
            {"net": r.net, "lines": [[[x * unit, y * unit] for x, y in line] for line in r.lines]}
            for r in layout.routes
        ],
    }


def main(arguments: list[str]) -> int:
    """Returns 0, or 1 if any layout has a fault."""
    if len(arguments) != 2:
        print(__doc__)
        return 2
    source, target = Path(arguments[0]), Path(arguments[1])
    target.mkdir(parents=True, exist_ok=True)
    print(
        f"{'case':32} {'symbols':>7} {'crossings':>9} {'corners':>7} {'sum':>5} {'faults':>6} {'seconds':>8}"
    )
    worst = 0
    for path in sorted(source.glob("*.json")):
        case = json.loads(path.read_text(encoding="utf-8"))
        problem = read_case(case)
        begun = time.perf_counter()
        layout = lay_out(problem)
        took = time.perf_counter() - begun
        result = write_result(case, layout, problem.grid)
        (target / path.name).write_text(json.dumps(result, indent=1) + "\n", encoding="utf-8")
        worst = max(worst, len(layout.faults))
        print(
            f"{case['name'][:32]:32} {len(problem.symbols):7} {layout.crossings:9} {layout.corners:7} "
            f"{layout.crossings + layout.corners:5} {len(layout.faults):6} {took:8.3f}"
        )
        for fault in layout.faults[:5]:
            print("    " + fault)
    return 1 if worst else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
