"""How long a table of faults takes. Asserts nothing; run it on a quiet machine: ``python -m tests.bench.fault_speed``.

Measured on a two-core machine with other work on it: 500 faults in six conditions of a tractor with its semitrailer
(3000 runs of some 130 nodes) take 10 to 11 s of a processor in one process and in two, with the compiled kernel.
"""

from __future__ import annotations

import os
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
        begin, busy = time.perf_counter(), processor_time()
        api.fault_table(circuit, faults, CONDITIONS, options, known, processes)
        wall = time.perf_counter() - begin
        busy = processor_time() - busy
        print(
            f"{len(faults)} faults, {len(CONDITIONS)} conditions, {processes} processes: {wall:.1f} s,"
            f" {busy:.1f} s of a processor"
        )


def processor_time() -> float:
    """Return the time spent by this process and those it has started and seen end [s]."""
    return sum(os.times()[:4])


if __name__ == "__main__":
    main()
