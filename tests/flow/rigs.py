"""Small circuits for the fault tests: a bench that is read once, and its sound vehicle."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from pneudraw import api
from pneudraw.circuit.model import Circuit
from pneudraw.flow.run import Options
from pneudraw.flow.symptoms import Reference

BENCH = """\
# Bench 3 of the Tarn Vale Trade School, which exists only here: one spring brake, no compressor.
circuit "Bench: one spring brake"
  pressure psi

parts
  air    air-source
  cv     check-valve          "Check valve"
  tank   reservoir            "Service reservoir"  volume=800in3
  drain  drain-valve          "Drain"
  dial   gauge                "Gauge"
  foot   foot-valve-single    "Foot valve"
  park   park-valve           "Park valve"
  low    low-pressure-switch  "Low-pressure switch"
  lr     spring-brake         "Left rear"          type=30

lines
  air -> cv -> tank.1
  tank.a -> dial
  tank.b -> low
  tank.d -> drain
  feed:     tank.2 -> foot.1
  service:  foot.2 -> lr.11
  tank.c -> park.1
  hold:     park.2 -> lr.12
"""

SEMI = Path(__file__).parent.parent / "facts" / "circuits" / "tractor-semitrailer.pneu"


def circuit(text: str = BENCH) -> Circuit:
    reading = api.read_text(text)
    assert reading.circuit is not None, reading.diagnostics
    return reading.circuit


@cache
def bench() -> Reference:
    return api.sound_vehicle(circuit(), Options(compiled="yes"))


@cache
def semi() -> Reference:
    reading = api.read(SEMI)
    assert reading.circuit is not None, reading.diagnostics
    return api.sound_vehicle(reading.circuit, Options(compiled="yes"))
