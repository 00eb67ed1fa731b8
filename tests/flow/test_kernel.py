"""The kernel's pieces: its derivatives, its elimination, and that compiled and interpreted it is one kernel."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pneudraw.flow import laws, linear
from pneudraw.flow.compile import choose, interpreted
from pneudraw.flow.elimination import eliminate, minimum_degree
from pneudraw.flow.flatten import model_of, shape_of, work_of
from pneudraw.flow.network import Displacement, Network, Node, Passage, Piston, Term
from pneudraw.flow.simulate import Settings, solve
from pneudraw.flow.solution import Solution
from tests.flow.parts import truck

PEDAL = ((0.0, 0.0), (0.1, 0.6), (2.0, 0.6), (2.1, 0.0))

PRESSURE = st.floats(1.0, 9.0)


def some_of_everything(p: tuple[float, ...], x: float) -> Network:
    """Each law once: plain, gated with all and any, pump, cooling, swelling volume, piston, both directions."""
    gate = Term(((1, 1.0), (2, -1.0)), 0.05, band=4.0)
    pilot = Term(((3, 0.5), (4, 0.5)), -2.0, band=5.0)
    nodes = (
        Node("air", 1.0, fixed=True),
        Node("one", 2.0, pressure0=p[0], exponent=1.3),
        Node("two", 0.3, ramps=((1.0, 5.0, 0.7), (5.0, 9.5, 0.2)), pressure0=p[1]),
        Node("three", 0.5, pressure0=p[2]),
        Node("four", 0.1, pressure0=p[3]),
    )
    passages = (
        Passage("plain", 1, 2, 3.0, 0.3),
        Passage("all", 2, 3, 2.0, 0.4, index=0.6, terms=(gate, pilot), low=0.1),
        Passage("any", 3, 1, 2.0, 0.2, terms=(gate, pilot), combine="any"),
        Passage("out", 4, 0, 1.0, 0.5, terms=(Term(((5, 1.0),), -0.2, band=1.0),)),
        Passage("pump", 0, 4, displacement=Displacement(5.0, 0.05)),
        Passage("back", 4, 3, 1.5, 0.1),
    )
    piston = Piston("piston", ((3, 0.4), (4, -0.3)), 1.0, 0.5, load=-0.1, spring=0.7, position0=x)
    return Network(nodes, passages, pistons=(piston,))


def dense(model: object, work: object, y: list[float], dh: float) -> np.ndarray:
    """The kernel's matrix dM/dy - dh * dF/dy as a full one, in order of state."""
    laws.flows(model, work, y, work.constants, dh, work.q0, work.f0, work.a)  # type: ignore[attr-defined,arg-type]
    laws.forces(model, y, work.load, dh, work.f0, work.a)  # type: ignore[attr-defined,arg-type]
    laws.store(model, y, work.mass0, work.capacity, work.volume)  # type: ignore[attr-defined,arg-type]
    laws.add_capacity(model, y, work.capacity, work.a)  # type: ignore[attr-defined,arg-type]
    return np.array(work.a)  # type: ignore[attr-defined]


@settings(max_examples=60)
@given(st.tuples(PRESSURE, PRESSURE, PRESSURE, PRESSURE), st.floats(-0.2, 1.2))
def test_the_analytic_matrix_is_the_derivative_of_the_residual(p: tuple[float, ...], x: float) -> None:
    network = some_of_everything(p, x)
    model = model_of(network)
    work = work_of(network, shape_of(network)).fields
    for i, term in enumerate(t for passage in network.passages for t in passage.terms):
        work.constants[i] = term.constant / term.band
    work.load[0] = network.pistons[0].load
    dh = 0.01

    def residual(y: list[float]) -> np.ndarray:
        laws.flows(model, work, y, work.constants, 0.0, work.q0, work.f0, work.a)
        laws.forces(model, y, work.load, 0.0, work.f0, work.a)
        laws.store(model, y, work.mass0, work.capacity, work.volume)
        return np.array(work.mass0) - dh * np.array(work.f0)

    y = list(work.y0)
    plan = _plan(network)
    values = dense(model, work, y, dh)
    here = residual(y)
    for column in range(1, 6):
        step = 1e-6
        sides = []
        for move in (step, -step):
            near = list(y)
            near[column] += move
            sides.append((residual(near) - here) / move)
        for row in range(1, 6):
            exact = values[plan[row, column]] if (row, column) in plan else 0.0
            # at a corner of a law (a stop, equal pressures, a maximum) the slope is that of either side
            low, high = sorted((sides[0][row], sides[1][row]))
            slack = 2e-4 + 1e-3 * abs(exact)  # of the difference quotient, where the laws bend most
            assert low - slack <= exact <= high + slack


def _plan(network: Network) -> dict[tuple[int, int], int]:
    """The slots of the matrix, worked out again the way the model does."""
    entries: dict[tuple[int, int], None] = {}
    for passage in network.passages:
        columns = [passage.a, passage.b, *(state for term in passage.terms for state, _ in term.weights)]
        for row in (passage.a, passage.b):
            for column in columns:
                if row and column:
                    entries[row, column] = None
    for state, _ in network.pistons[0].areas:
        entries[5, state] = None
        entries[state, 5] = None
    return eliminate((1, 2, 3, 4, 5), tuple(entries)).slot


@given(st.integers(2, 25), st.data())
def test_elimination_in_the_fixed_order_solves_like_a_pivoting_library(n: int, data: st.DataObject) -> None:
    pairs = data.draw(st.lists(st.tuples(st.integers(0, n - 1), st.integers(0, n - 1)), max_size=4 * n))
    values = np.random.default_rng(data.draw(st.integers(0, 1000)))
    matrix = np.zeros((n, n))
    for i, j in pairs:
        matrix[i, j] = values.uniform(-1.0, 1.0)
    # like stored air less flows: the diagonal outweighs its column
    matrix[np.diag_indices(n)] = 0.1 + np.abs(matrix).sum(axis=0)
    plan = eliminate(tuple(range(n)), tuple(dict.fromkeys(pairs)))
    a = [0.0] * (plan.slots + 1)
    for (i, j), slot in plan.slot.items():
        a[slot] = float(matrix[i, j])
    network = Network(tuple(Node(str(i), 1.0) for i in range(n)), ())
    model = model_of(network)._replace(
        **{
            name: list(getattr(plan, name))
            for name in model_of(network)._fields
            if name.startswith(("lower_", "update_", "upper_"))
        },
        pivot=list(plan.pivots),
        diagonal=list(plan.diagonals),
    )
    b = values.uniform(-1.0, 1.0, n)
    x = list(b)
    assert linear.factorise(model, a)
    linear.substitute(model, a, x)
    assert x == pytest.approx(np.linalg.solve(matrix, b), rel=1e-9, abs=1e-9)


def test_a_vanishing_pivot_is_reported() -> None:
    model = model_of(Network((Node("one", 1.0),), ()))
    assert not linear.factorise(model, [0.0, 0.0])


def test_a_line_of_nodes_is_eliminated_without_new_entries() -> None:
    n = 30
    entries = tuple((i, j) for i in range(n) for j in (i - 1, i + 1) if 0 <= j < n)
    assert eliminate(tuple(range(n)), entries).slots == n + len(entries)


def test_a_star_is_eliminated_from_its_points() -> None:
    entries = tuple(pair for i in range(1, 20) for pair in ((0, i), (i, 0)))
    order = minimum_degree(tuple(range(20)), entries)
    assert order.index(0) >= 18
    assert eliminate(tuple(range(20)), entries).slots == 20 + len(entries)


def same(one: Solution, other: Solution) -> None:
    assert one.status == other.status
    assert one.counters.steps == other.counters.steps
    # the same arithmetic in the same order; library powers may differ in the last bit
    assert one.times == pytest.approx(other.times, rel=1e-9, abs=1e-12)
    assert one.pressures == pytest.approx(other.pressures, rel=1e-9)
    assert one.net == pytest.approx(other.net, rel=1e-9, abs=1e-9)
    assert [(flip.memory, flip.value) for flip in one.flips] == [
        (flip.memory, flip.value) for flip in other.flips
    ]


def test_compiled_and_interpreted_the_kernel_gives_the_same_results() -> None:
    for network, horizon in (
        (truck(PEDAL), 4.0),
        (truck(PEDAL, gauge=4.0), 120.0),
        (some_of_everything((8.0, 2.0, 3.0, 1.1), 0.4), 2.0),
    ):
        plain = solve(network, Settings(horizon=horizon, compiled="no"))
        fast = solve(network, Settings(horizon=horizon, compiled="yes"))
        assert fast.counters.compiled
        assert not plain.counters.compiled
        same(plain, fast)


def test_the_choice_follows_the_request_and_the_size_of_the_job(monkeypatch: pytest.MonkeyPatch) -> None:
    from pneudraw.flow import compile as choice

    assert not choose("no", 10_000, 1000).compiled
    monkeypatch.setattr(choice, "_loaded", _Unloaded())
    monkeypatch.setattr(choice, "is_kept", lambda: False)
    said: list[str] = []
    assert not choose("auto", 100, 1, said.append).compiled
    assert said == []
    assert choose("auto", 1000, 1000, said.append).compiled
    assert len(said) == 1
    monkeypatch.setattr(choice, "is_kept", lambda: True)
    assert not choose("auto", 20, 1, said.append).compiled  # faster done than loaded
    assert choose("auto", 100, 50, said.append).compiled
    assert len(said) == 1  # nothing to wait for


def test_the_compiled_kernel_is_kept_outside_the_package(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    from pneudraw.flow import compile as choice

    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    assert choice.cache_folder() == tmp_path
    assert not choice.is_kept()
    folder = choice.kept_folder()
    folder.mkdir()
    (folder / choice.READY).touch()
    assert choice.is_kept()
    monkeypatch.delenv("NUMBA_CACHE_DIR")
    package = Path(choice.__file__).parent
    assert package not in choice.cache_folder().parents


def test_without_numba_the_interpreted_kernel_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    from pneudraw.flow import compile as choice

    class Missing(_Unloaded):
        def __call__(self) -> object:
            raise ImportError("numba")

    monkeypatch.setattr(choice, "_loaded", Missing())
    assert not choose("yes", 100).compiled


class _Unloaded:
    """Stands for the loader of the compiled kernel before its first call."""

    def cache_info(self) -> object:
        return type("Info", (), {"currsize": 0})

    def __call__(self) -> object:
        return replace(interpreted(), compiled=True)


def test_a_malformed_network_is_its_builders_fault() -> None:
    air = Node("air", 1.0, fixed=True)
    for passage in (
        Passage("nowhere", 0, 7),
        Passage("itself", 0, 0),
        Passage("choking never", 0, 1, 1.0, ratio=1.5),
        Passage("bandless", 0, 1, 1.0, terms=(Term((), band=0.0),)),
    ):
        with pytest.raises(ValueError, match=passage.name):
            solve(Network((air, Node("tank", 1.0)), (passage,)))
