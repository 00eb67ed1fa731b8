"""What must hold for every kind that is shipped."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pneudraw.diagnostics import render_text
from pneudraw.library import expression, strokes
from pneudraw.library.model import ATMOSPHERE, Arrow, Group, Kind, Place, Role, Side, Text
from tests.library.laws import KINDS, MISTAKES, NAMES, kind, numbers, opening, value

BAR = 1e5
each_kind = pytest.mark.parametrize("kind", KINDS, ids=NAMES)
WORKING = [k for k in KINDS if k.passages]


def test_the_shipped_files_have_no_mistakes() -> None:
    assert not MISTAKES, "\n".join(render_text(mistake) for mistake in MISTAKES)
    assert len(KINDS) >= 115


@each_kind
def test_ports_are_on_the_grid_and_on_the_edge_they_face(kind: Kind) -> None:
    width, height = kind.size
    for port in kind.ports:
        x, y = port.at
        edge = {Side.LEFT: x == 0, Side.RIGHT: x == width, Side.UP: y == 0, Side.DOWN: y == height}
        assert edge[port.faces], port.id
        assert 0 <= x <= width, port.id
        assert 0 <= y <= height, port.id
    assert len({port.at for port in kind.ports}) == len(kind.ports)


@each_kind
def test_a_stub_reaches_every_port_that_has_a_line(kind: Kind) -> None:
    """The drawn line must meet the symbol: a stroke ends in the port, straight from the side it faces."""
    for port in kind.ports:
        ends = [
            (stroke.points[outer], stroke.points[inner])
            for stroke in kind.strokes + port.joined
            if hasattr(stroke, "points")
            for outer, inner in ((0, 1), (-1, -2))
        ]
        met = [inner for end, inner in ends if end == port.at]
        assert met, f"no stub at port {port.id}"
        x, y = port.at
        inward = {Side.LEFT: (1, 0), Side.RIGHT: (-1, 0), Side.UP: (0, 1), Side.DOWN: (0, -1)}[port.faces]
        assert any((ix - x) * inward[0] + (iy - y) * inward[1] > 0 for ix, iy in met), port.id


@each_kind
def test_ports_of_unused_bosses_and_exhausts_have_no_stub(kind: Kind) -> None:
    for port in kind.ports:
        if port.optional or port.role is Role.EXHAUST:
            ends = {p for stroke in kind.strokes if hasattr(stroke, "points") for p in stroke.points}
            assert port.at not in ends, port.id


@each_kind
def test_the_drawing_stays_in_its_box_in_every_turn(kind: Kind) -> None:
    drawn = [*kind.strokes]
    for port in kind.ports:
        drawn += port.joined + port.unjoined
    for turn in kind.turns:
        a, b, c, d = strokes.MATRICES[turn]
        corners = [(a * x + b * y, c * x + d * y) for x, y in ((0, 0), kind.size)]
        left, right = sorted(x for x, _ in corners)
        top, bottom = sorted(y for _, y in corners)
        box = strokes.bounds([strokes.moved(stroke, strokes.MATRICES[turn], (0, 0)) for stroke in drawn])
        assert box is not None
        assert box[0] >= left - 1e-9, turn
        assert box[1] >= top - 1e-9, turn
        assert box[2] <= right + 1e-9, turn
        assert box[3] <= bottom + 1e-9, turn


@each_kind
def test_gauge_pointers_and_adjusting_arrows_rise_in_every_turn(kind: Kind) -> None:
    """ISO 1219-1 composition: an oblique arrow across an element rises to the right; a pointer points up."""
    for turn in kind.turns:
        for stroke in kind.strokes:
            if isinstance(stroke, Arrow) and stroke.upright:
                turned = strokes.moved(stroke, strokes.MATRICES[turn], (0, 0))
                assert isinstance(turned, Arrow)
                (x0, y0), (x1, y1) = turned.points[0], turned.points[-1]
                assert x1 >= x0
                assert y1 < y0


@each_kind
def test_no_filled_triangle_is_drawn(kind: Kind) -> None:
    """A filled triangle means a liquid (ISO 1219-1); air has open ones. Closed shut-off valves are bow-ties."""
    for stroke in kind.strokes:
        assert not (getattr(stroke, "fill", "") == "black" and len(getattr(stroke, "points", ())) == 3)


@each_kind
def test_letters_in_a_symbol_are_large_enough_to_read(kind: Kind) -> None:
    assert all(stroke.height >= 1.0 for stroke in kind.strokes if isinstance(stroke, Text))


@each_kind
def test_the_words_are_there(kind: Kind) -> None:
    for words in (kind.title, kind.summary, kind.text, kind.standard):
        assert words.strip()
    assert kind.summary.endswith(".")
    assert kind.text.endswith((".", "!"))
    for fault in kind.faults:
        assert fault.title
        assert fault.text.endswith("."), fault.name
    assert all(port.title for port in kind.ports)


@each_kind
def test_every_default_has_a_source_and_lies_in_its_bounds(kind: Kind) -> None:
    for parameter in kind.parameters:
        assert parameter.source.strip(), parameter.name
        values = [parameter.default.value, *(quantity.value for _, quantity in parameter.table)]
        if not parameter.choices:
            assert parameter.least is not None, f"{parameter.name} has no lower bound"
            assert parameter.most is not None, f"{parameter.name} has no upper bound"
            assert parameter.least.value <= min(values)
            assert max(values) <= parameter.most.value


@each_kind
def test_the_drawing_says_what_is_from_memory(kind: Kind) -> None:
    """The dimensioned pages of the standards were not at hand: no kind may claim conformity without a word."""
    assert any(word in kind.standard for word in ("from memory", "our own", "confirmed", "as far as"))


@each_kind
def test_numbers_are_quoted_from_real_documents(kind: Kind) -> None:
    """A source names a document, a row of this file, or says that there is none."""
    known = re.compile(
        r"common practice, no source|49 CFR|TM \d|MIL-|SAE|ISO|Cd A|from memory|UN R13|Table V|a drained reservoir"
    )
    for parameter in kind.parameters:
        assert known.search(parameter.source), parameter.source


#: capitalised words that may stand inside a sentence: standards, regulations, countries, measures, letters
PROPER = {
    *("ISO", "IEC", "CFR", "TM", "MIL", "SAE", "UN", "CDL", "TSD", "ANR"),
    *("United", "States", "North", "American", "America", "Canada", "Europe", "European", "Navy"),
    *("Table", "Port", "Ports", "Cd"),
}


@each_kind
def test_no_maker_is_named(kind: Kind) -> None:
    """Names would be capitalised inside a sentence; only those of standards and countries may be."""
    texts = [kind.title, kind.summary, kind.text, kind.standard]
    texts += [words for p in kind.parameters for words in (p.text, p.source)]
    texts += [words for f in kind.faults for words in (f.title, f.text)]
    for text in texts:
        for sentence in re.split(r"(?<=[.:?!])\s+", text):
            inner = re.findall(r"\b[A-Z][A-Za-z]+", sentence.partition(" ")[2])
            assert not set(inner) - PROPER, sentence


@each_kind
def test_every_port_is_reached_or_senses(kind: Kind) -> None:
    ends = {end for passage in kind.passages for end in (passage.start, passage.end)}
    for port in kind.ports:
        assert (port.id in ends) != port.sensing, port.id


@each_kind
def test_what_is_sensed_is_used(kind: Kind) -> None:
    """A control port that no condition looks at would be a lie in the drawing."""
    used = {name for p in kind.passages for c in p.conditions for name in expression.names(c.form)}
    used |= {name for m in kind.memories for e in m.to_one + m.to_zero for name in expression.names(e)}
    leaks = {end for fault in kind.faults for end in fault.leak or ()}
    for port in kind.ports:
        if port.sensing and kind.place is not Place.INSTRUMENT and port.role is Role.CONTROL:
            assert f"p{port.id}" in used, port.id
    looked_at = (
        used | {curve.input for curve in kind.curves} | {str(memory.input) for memory in kind.memories}
    )
    looked_at |= {name for p in kind.pistons if p.load for name in expression.names(p.load)}
    for item in kind.inputs:
        assert item.name in looked_at, item.name
    for memory in kind.memories:
        assert memory.name in looked_at or memory.purpose in ("warning", "stop-lamp", "signal"), memory.name
    assert leaks <= {port.id for port in kind.ports} | {c.name for c in kind.chambers} | {ATMOSPHERE}


@each_kind
def test_dimensions_of_the_behaviour(kind: Kind) -> None:
    for chamber in kind.chambers:
        assert chamber.volume.dimension == "volume"
        assert value(kind, chamber.volume) >= 1e-6, "chambers are 1 mL at least"
        for swell in chamber.swells:
            assert value(kind, swell.low) < value(kind, swell.high)
            assert value(kind, swell.by) >= 0
    for passage in kind.passages:
        assert (passage.conductance is None) == (passage.displacement is not None)
        if passage.conductance is not None:
            assert passage.conductance.dimension == "conductance"
            assert 1e-11 < value(kind, passage.conductance) < 1e-6
        if passage.ratio is not None:
            assert 0 <= value(kind, passage.ratio) < 1
        for condition in passage.conditions:
            assert condition.form.dimension == condition.band.dimension
            if condition.band.dimension == "pressure":
                assert 0.02 * BAR <= value(kind, condition.band) <= 1.0 * BAR


@each_kind
def test_brakes_are_actuators_and_press_with_chambers_of_their_own(kind: Kind) -> None:
    assert (kind.group is Group.BRAKES) == (kind.brake is not None)
    if kind.brake is not None:
        assert kind.place is Place.ACTUATOR
        chambers = {chamber.name for chamber in kind.chambers}
        for part in (kind.brake.service, kind.brake.spring):
            assert part is None or part.chamber in chambers


@each_kind
def test_a_pumping_part_is_a_source_or_blows_into_the_open(kind: Kind) -> None:
    """Air goes from low to high only in a compressor, or out of a vacuum into the atmosphere."""
    exhausts = {port.id for port in kind.ports if port.role is Role.EXHAUST} | {ATMOSPHERE}
    pumps = [passage for passage in kind.passages if passage.displacement is not None]
    assert kind.place is Place.SOURCE or all(passage.end in exhausts for passage in pumps)


@each_kind
def test_the_passages_of_a_valve_are_the_ways_in_its_boxes(kind: Kind) -> None:
    """Every way drawn in a box is a way for air, and no other joins the ports of the valve."""
    computed = {frozenset((passage.start, passage.end)) for passage in kind.passages}
    for valve in kind.valves:
        drawn = {frozenset((path.start, path.end)) for box in valve.boxes for path in box}
        assert drawn <= computed
        ports = frozenset(valve.ports)
        assert {ends for ends in computed if ends <= ports} == drawn


@each_kind
def test_a_valve_rests_in_the_box_beside_its_spring(kind: Kind) -> None:
    """The box next to an element is the one that comes into force when it acts (any fluid power textbook)."""
    for valve in kind.valves:
        sprung = [any("spring" in word for word in words) for words in (valve.left, valve.right)]
        if sprung == [False, True]:
            assert valve.rest == len(valve.boxes) - 1
        if sprung == [True, True]:
            assert valve.rest == (len(valve.boxes) - 1) / 2


@each_kind
def test_a_valve_that_sets_a_pressure_has_the_two_lines_and_feels_its_delivery(kind: Kind) -> None:
    """ISO 1219-1 composition: an on/off valve has neither; the levelling valve follows a lever instead."""
    for valve in kind.valves:
        forms = [
            dict(expression.linear(c.form, numbers(kind)).weights)
            for p in kind.passages
            for c in p.conditions
        ]
        felt = any(f"p{port}" in form for form in forms for port in valve.ports)
        if valve.graduating:
            assert len(valve.boxes) == 3 or felt
        assert not (valve.derived and valve.graduating)


@each_kind
def test_pistons_move_in_chambers_of_their_own(kind: Kind) -> None:
    chambers = {chamber.name for chamber in kind.chambers}
    for piston in kind.pistons:
        assert {chamber for chamber, _ in piston.areas} <= chambers
        assert value(kind, piston.travel) > 0
        assert value(kind, piston.friction) > 0
        way = value(kind, piston.travel)
        volumes = {chamber.name: value(kind, chamber.volume) for chamber in kind.chambers}
        for chamber, area in piston.areas:
            assert volumes[chamber] + value(kind, area) * way >= 1e-6, "a chamber is never empty of room"


@each_kind
def test_faults_have_an_effect(kind: Kind) -> None:
    for fault in kind.faults:
        for name in (*fault.passages, *fault.closes):
            assert name in {passage.name for passage in kind.passages}, fault.name
        for name, quantity in fault.sets:
            assert quantity.value != numbers(kind)[name], fault.name
        if fault.leak is not None:
            assert fault.bore is not None
            assert 0.2e-3 <= fault.bore.value <= 10e-3, fault.name
        if fault.low is not None and fault.low == 1.0:
            always = [p for p in kind.passages if p.name in fault.passages and not p.conditions]
            assert not always, f"{fault.name} opens what is always open"


def test_the_faults_of_the_trade_are_there() -> None:
    """The rows of the usual air-brake fault tables that are single parts (common practice, no source)."""
    wanted = {
        "spring-brake": "centre-seal-leaks service-diaphragm-torn spring-diaphragm-torn spring-broken left-caged"
        " out-of-adjustment",
        "check-valve": "leaks stuck-shut",
        "relay-valve": "inlet-leaks exhaust-leaks control-seal-leaks exhaust-blocked",
        "spring-relay-valve": "inlet-leaks shuttle-leaks",
        "foot-valve": "primary-inlet-leaks primary-exhaust-leaks sections-leak exhaust-blocked",
        "double-check-valve": "leaks stuck-on-11 stuck-on-12",
        "park-valve": "inlet-leaks exhaust-leaks never-trips",
        "governor": "never-signals always-signals cut-in-low",
        "air-dryer": "purge-stuck-open outlet-check-leaks",
        "compressor": "worn unloader-leaks discharge-choked",
        "safety-valve": "leaks lifts-early",
        "drain-valve": "left-open",
        "tractor-protection-valve": "does-not-close",
        "trailer-supply-valve": "never-trips",
        "pressure-protection-valve": "stuck-open",
        "low-pressure-switch": "set-low",
        "spring-brake-modulator": "does-not-modulate",
        "abs-modulator": "stuck-on-hold exhaust-leaks",
        "quick-release": "exhaust-leaks exhaust-blocked",
        "reservoir": "leaks full-of-water",
        "trailer-relay-emergency-valve": "check-leaks no-emergency inlet-leaks",
    }
    for name, faults in wanted.items():
        assert set(faults.split()) <= {fault.name for fault in kind(name).faults}, name


# --- laws that hold whatever the pressures ----------------------------------------------------------


def situation(draw: st.DrawFn, kind: Kind) -> dict[str, float]:
    """Pressures from 0 to 10 bar gauge; latches and two-position inputs at one end; curves within their values."""
    at: dict[str, float] = {}
    for port in kind.ports:
        at[f"p{port.id}"] = draw(st.floats(0, 10)) * BAR
    for chamber in kind.chambers:
        at[f"p_{chamber.name}"] = draw(st.floats(0, 10)) * BAR
    for memory in kind.memories:
        at[memory.name] = float(draw(st.integers(0, 1)))
    for item in kind.inputs:
        last = len(item.positions) - 1
        at[item.name] = float(draw(st.integers(0, last))) if item.positions else draw(st.floats(0, 1))
    for piston in kind.pistons:
        at[f"x_{piston.name}"] = value(kind, piston.travel) * draw(st.floats(0, 1))
    for curve in kind.curves:
        low, high = value(kind, curve.points[0][1]), value(kind, curve.points[-1][1])
        at[curve.name] = low + (high - low) * draw(st.floats(0, 1))
    return at


@pytest.mark.parametrize("kind", WORKING, ids=[k.name for k in WORKING])
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_inlet_and_exhaust_are_never_open_together(kind: Kind, data: st.DataObject) -> None:
    """No valve blows straight through while its inputs rest: there is a lap between its seats.

    An anti-lock modulator told to dump without holding would; its electronic unit never does that.
    """
    outlets = {port.id for port in kind.ports if port.role is Role.EXHAUST} | {ATMOSPHERE}
    at = data.draw(st.composite(lambda draw: situation(draw, kind))())
    if at.get("dump"):
        at["hold"] = 1.0
    for into in kind.passages:
        if into.start in outlets or into.end in outlets or not into.conditions:
            continue
        for out in kind.passages:
            if out.end in outlets and out.start == into.end and out.conditions:
                both = min(opening(kind, into, at), opening(kind, out, at))
                assert both == 0, f"{into.name} and {out.name} at {at}"


@pytest.mark.parametrize("kind", WORKING, ids=[k.name for k in WORKING])
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_delivery_above_supply_is_never_left_to_chance(kind: Kind, data: st.DataObject) -> None:
    """Where a seat closes on its delivery's pressure, a supply that falls below is either followed or held off.

    Otherwise the last millionth of opening would decide what happens to trapped air.
    """
    at = data.draw(st.composite(lambda draw: situation(draw, kind))())
    for seat in kind.passages:
        start, end = pressure_name(kind, seat.start), pressure_name(kind, seat.end)
        if start is None or end is None:
            continue
        forms = [dict(expression.linear(c.form, numbers(kind)).weights) for c in seat.conditions]
        closes_on_delivery = any(form.get(end, 0) < 0 for form in forms)
        only_forward = seat.combine == "all" and any(
            form.get(start, 0) >= -form.get(end, 0) > 0 for form in forms
        )
        if not closes_on_delivery or only_forward:
            continue
        at[start] = min(at[start], 9 * BAR)
        at[end] = at[start] + 0.5 * BAR
        between = [p for p in kind.passages if {p.start, p.end} == {seat.start, seat.end}]
        assert max(opening(kind, p, at) for p in between) in (0.0, 1.0), f"{seat.name} at {at}"


def pressure_name(kind: Kind, end: str) -> str | None:
    if end == ATMOSPHERE:
        return None
    return f"p_{end}" if end in {chamber.name for chamber in kind.chambers} else f"p{end}"


# --- conductances -----------------------------------------------------------------------------------


def test_conductances_follow_from_their_bores() -> None:
    """C = Cd A psi / (rho0 sqrt(R T)) with psi of the ideal nozzle (Fliegner's constant, any gas dynamics text)."""
    k, gas, temperature, density = 1.4, 287.05, 293.15, 1.185
    psi = math.sqrt(k) * (2 / (k + 1)) ** ((k + 1) / (2 * (k - 1)))
    per_area = psi / math.sqrt(gas * temperature) / density  # m3/(s.Pa) for each m2
    assert per_area * 1e8 * 1e-6 == pytest.approx(0.1992, rel=2e-3)
    found = 0
    for each in KINDS:
        for parameter in each.parameters:
            match = re.search(r"Cd A .*for an? ([\d.]+) mm bore, Cd ([\d.]+)", parameter.source)
            if match:
                area = math.pi / 4 * (float(match[1]) * 1e-3) ** 2
                expected = float(match[2]) * area * per_area
                assert parameter.default.value == pytest.approx(expected, rel=0.04), (
                    each.name,
                    parameter.name,
                )
                found += 1
    assert found > 20
