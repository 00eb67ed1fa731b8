"""States one after another: each runs from where the one before it ended, whatever it starts from by itself."""

from __future__ import annotations

from dataclasses import dataclass, replace

from pneudraw.circuit.model import Circuit
from pneudraw.circuit.states import EMPTY
from pneudraw.diagnostics import did_you_mean
from pneudraw.flow.plumbing import Standing
from pneudraw.flow.run import Options, Run, following, run, run_state

THEN = "+"


class SequenceError(ValueError):
    """A text that names no sequence of states; ``help`` says which states there are."""

    def __init__(self, message: str, help: str) -> None:
        super().__init__(message)
        self.help = help


@dataclass(frozen=True)
class Sequence:
    """``names`` of states to be run one after another, from the end of ``start`` (None: from the first one's own)."""

    names: tuple[str, ...]
    start: str | None = None


def read(circuit: Circuit, text: str, start: str | None = None) -> Sequence:
    """Return the sequence written as ``service-apply+service-release``.

    Raises
    ------
    SequenceError
        If a state does not exist.
    """
    names = tuple(name.strip() for name in text.split(THEN))
    known = [state.name for state in circuit.states]
    for name in names:
        if name not in known:
            message = f"there is no state `{name}`" if name else f"`{text}` lacks the name of a state"
            raise SequenceError(message, did_you_mean(name, known) or "states: " + ", ".join(known))
    if start is not None and start != EMPTY and start not in known:
        help = did_you_mean(start, [EMPTY, *known]) or "states: " + ", ".join([EMPTY, *known])
        raise SequenceError(f"there is no state `{start}`", help)
    return Sequence(names, start)


def run_sequence(circuit: Circuit, sequence: Sequence, options: Options | None = None) -> tuple[Run, ...]:
    """Run the states of a sequence; the state of each result says where it started."""
    options = options or Options()
    first, *others = sequence.names
    own = circuit.state(first)
    assert own is not None
    if sequence.start is None or sequence.start == own.start:
        out = [run(circuit, (first,), options)[first]]
    else:
        state = replace(own, start=sequence.start)
        if state.start == EMPTY:
            out = [run_state(circuit, state, Standing({}, {}, {}, options.faults), options)]
        else:
            before = run(circuit, (state.start,), options)[state.start]
            out = [following(before, run_state(circuit, state, before.after, options))]
    for name in others:
        state_then = circuit.state(name)
        assert state_then is not None
        if options.progress is not None:
            options.progress(name)
        last = out[-1]
        state_then = replace(state_then, start=last.state.name)
        out.append(following(last, run_state(circuit, state_then, last.after, options)))
    return tuple(out)
