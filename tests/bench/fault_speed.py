"""How long a table of faults takes. Asserts nothing; run it on a quiet machine: ``python -m tests.bench.fault_speed``.

Measured on a two-core machine with other work on it: 500 faults in six conditions of a tractor with its semitrailer
(3000 runs of some 130 nodes) take 14 s in one process and 7 s in two, with the compiled kernel.
"""

from __future__ import annotations

import time
from pathlib import Path

from pneudraw import api
from pneudraw.flow.run import Options

CIRCUIT = Path(__file__).parent.parent / "facts" / "circuits" / "tractor-semitrailer.pneu"
CONDITIONS = ("B", "P", "PS", "R", "S", "L")


def main() -> None:
    circuit = api.read(CIRCUIT).circuit
    assert circuit is not None
    options = Options(compiled="yes")
    known = api.sound_vehicle(circuit, options)
    faults = api.faults(circuit)
    faults = (faults * (500 // len(faults) + 1))[:500]
    for processes in (1, 2):
        begin = time.perf_counter()
        api.fault_table(circuit, faults, CONDITIONS, options, known, processes)
        wall = time.perf_counter() - begin
        print(f"{len(faults)} faults, {len(CONDITIONS)} conditions, {processes} processes: {wall:.1f} s")


if __name__ == "__main__":
    main()
