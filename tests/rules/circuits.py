"""Circuits of our own for the rules: a two-axle truck and a tractor with its semitrailer, invented for these tests."""

from __future__ import annotations

import re
from collections.abc import Callable

TRUCK = """
circuit "Test truck"
  pressure psi
  rules    us
parts
  comp   compressor
  gov    governor           cut_in=100psi cut_out=125psi
  dry    air-dryer
  wet    reservoir          volume=1200in3
  sv     safety-valve       opens=150psi
  dwet   drain-valve
  cv1    check-valve
  prim   reservoir          volume=1600in3
  dprim  drain-valve
  low1   low-pressure-switch
  cv2    check-valve
  sec    reservoir          volume=1600in3
  dsec   drain-valve
  low2   low-pressure-switch
  g1     gauge
  g2     gauge
  foot   foot-valve
  qrf    quick-release
  lf     service-chamber    type=20
  rf     service-chamber    type=20
  relay  relay-valve
  lr     spring-brake       type=30
  rr     spring-brake       type=30
  dcv    double-check-valve
  park   park-valve
  qrp    quick-release
lines
  comp.2 -> dry.1
  dry.2 -> wet.1
  wet.a -> gov.1
  gov.2 -> comp.4, dry.4
  wet.b -> sv.1
  wet.d -> dwet.1
  wet.2 -> cv1.1
  cv1.2 -> prim.1
  wet.c -> cv2.1
  cv2.2 -> sec.1
  prim.d -> dprim.1
  sec.d -> dsec.1
  prim.a -> g1.1
  sec.a -> g2.1
  prim.b -> low1.4
  sec.b -> low2.4
  prim.2 -> foot.11
  sec.2 -> foot.12
  foot.21 -> relay.4
  prim.c -> relay.1
  relay.2 -> lr.11, rr.11
  foot.22 -> qrf.1
  qrf.21 -> lf.1
  qrf.22 -> rf.1
  prim.e -> dcv.11
  sec.e -> dcv.12
  dcv.2 -> park.1
  park.2 -> qrp.1
  qrp.21 -> lr.12
  qrp.22 -> rr.12
"""

TRACTOR_AND_TRAILER = """
circuit "Test tractor with semitrailer"
  pressure psi
  rules    us
parts
  comp   compressor
  gov    governor           cut_in=100psi cut_out=125psi
  dry    air-dryer
  wet    reservoir          volume=1500in3
  sv     safety-valve       opens=150psi
  dwet   drain-valve
  cv1    check-valve
  prim   reservoir          volume=2400in3
  dprim  drain-valve
  low1   low-pressure-switch
  cv2    check-valve
  sec    reservoir          volume=1700in3
  dsec   drain-valve
  low2   low-pressure-switch
  g      gauge-dual
  foot   foot-valve
  qrf    quick-release
  lf     service-chamber    type=20
  rf     service-chamber    type=20
  relay  relay-valve
  d1     spring-brake       type=30
  d2     spring-brake       type=30
  d3     spring-brake       type=30
  d4     spring-brake       type=30
  dcvp   double-check-valve
  dcvs   double-check-valve
  dcvh   double-check-valve
  hand   hand-valve
  park   park-valve
  red    trailer-supply-valve
  qrp    quick-release
  tpv    tractor-protection-valve
  gs     gladhand-supply
  gc     gladhand-service
  tsv    trailer-spring-valve
  ttank  reservoir          volume=2900in3
  dtank  drain-valve
  trel   relay-valve
  t1     spring-brake       type=30
  t2     spring-brake       type=30
  t3     spring-brake       type=30
  t4     spring-brake       type=30
lines
  comp.2 -> dry.1
  dry.2 -> wet.1
  wet.a -> gov.1
  gov.2 -> comp.4, dry.4
  wet.b -> sv.1
  wet.d -> dwet.1
  wet.2 -> cv1.1
  cv1.2 -> prim.1
  wet.c -> cv2.1
  cv2.2 -> sec.1
  prim.d -> dprim.1
  sec.d -> dsec.1
  prim.a -> g.11
  sec.a -> g.12
  prim.b -> low1.4
  sec.b -> low2.4
  prim.2 -> foot.11
  sec.2 -> foot.12
  foot.21 -> relay.4, dcvs.11
  prim.c -> relay.1
  relay.2 -> d1.11, d2.11, d3.11, d4.11
  foot.22 -> qrf.1, dcvs.12
  qrf.21 -> lf.1
  qrf.22 -> rf.1
  prim.e -> dcvp.11
  sec.e -> dcvp.12
  dcvp.2 -> park.1, red.1, hand.1
  park.2 -> qrp.1
  qrp.21 -> d1.12, d2.12
  qrp.22 -> d3.12, d4.12
  dcvs.2 -> dcvh.11
  hand.2 -> dcvh.12
  dcvh.2 -> tpv.4
  red.2 -> tpv.1
  tpv.21 -> gs.1      hose
  tpv.22 -> gc.1      hose
  gs.2 -> tsv.1       length=10m
  gc.2 -> trel.4      length=10m
  tsv.21 -> ttank.1
  ttank.2 -> trel.1
  ttank.d -> dtank.1
  trel.2 -> t1.11, t2.11, t3.11, t4.11
  tsv.22 -> t1.12, t2.12, t3.12, t4.12
"""

FOUR_CIRCUITS = """
circuit "Test truck with a four-circuit protection valve"
  pressure bar
  rules    un
parts
  comp   compressor
  gov    governor           cut_in=8.5bar cut_out=10bar
  dry    air-dryer
  sv     safety-valve       opens=12bar
  pv     four-circuit-protection-valve
  a1     reservoir          volume=30L
  da1    drain-valve
  a2     reservoir          volume=30L
  da2    drain-valve
  a3     reservoir          volume=20L
  da3    drain-valve
  low1   low-pressure-switch
  low2   low-pressure-switch
  g      gauge-dual
  foot   foot-valve
  lf     service-chamber
  rf     service-chamber
  relay  relay-valve
  lr     spring-brake
  rr     spring-brake
  park   park-valve
  horn   horn
lines
  comp.2 -> dry.1
  dry.2 -> pv.1, gov.1, sv.1
  gov.2 -> comp.4, dry.4
  pv.21 -> a1.1
  pv.22 -> a2.1
  pv.23 -> a3.1
  pv.24 -> horn.1
  a1.d -> da1.1
  a2.d -> da2.1
  a3.d -> da3.1
  a1.a -> g.11
  a2.a -> g.12
  a1.b -> low1.4
  a2.b -> low2.4
  a1.2 -> foot.11
  a2.2 -> foot.12
  a1.c -> relay.1
  foot.21 -> relay.4
  relay.2 -> lr.11, rr.11
  foot.22 -> lf.1, rf.1
  a3.2 -> park.1
  park.2 -> lr.12, rr.12
"""

#: tags of the semitrailer's own parts
TRAILER_PARTS = ("tsv", "ttank", "dtank", "trel", "t1", "t2", "t3", "t4")
COUPLINGS = ("gs", "gc")


def part_of(text: str, keep: Callable[[str], bool]) -> str:
    """The netlist with only the parts whose tags ``keep`` holds for, and the lines between those."""
    head, _, tail = text.partition("\nlines\n")
    title, _, parts = head.partition("\nparts\n")
    kept = [line for line in parts.splitlines() if keep(line.split()[0])]
    lines = [line for line in tail.splitlines() if all(map(keep, re.findall(r"(\w+)\.", line)))]
    return "\n".join([title, "parts", *kept, "lines", *lines, ""])


TRAILER = part_of(TRACTOR_AND_TRAILER, lambda tag: tag in TRAILER_PARTS + COUPLINGS)
TRACTOR = part_of(TRACTOR_AND_TRAILER, lambda tag: tag not in TRAILER_PARTS)
