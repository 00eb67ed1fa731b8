"""The states written in a netlist, added to those the circuit has by itself."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from pneudraw.circuit.expand import Flat
from pneudraw.circuit.lines import LINE
from pneudraw.circuit.model import FaultSetting, Line, Part, Setting, State
from pneudraw.circuit.parts import article
from pneudraw.circuit.states import EMPTY, NAMES, SHORT
from pneudraw.diagnostics import Diagnostic, Label, Suggester, did_you_mean, error
from pneudraw.language.tree import InputSetting, LineFault, Measure, PartFault, Path, StateDecl, Word
from pneudraw.library.model import Input
from pneudraw.source import Span

LONGEST = 3600.0  # s a state may be followed
MOST_STATES = 500
RESERVED = {EMPTY: "what everything starts from", "all": "all the states together"}
_AUTOMATIC = re.compile(r"(?:.*\.)?L[0-9]+\Z")


@dataclass
class _Maker:
    """What the statements are looked up in, and the messages about them."""

    parts: Mapping[str, Part]
    lines: Mapping[str, Line]
    flat: Flat
    messages: list[Diagnostic] = field(default_factory=list)
    suggest: Suggester = field(default_factory=Suggester)

    def say(
        self,
        code: str,
        message: str,
        span: Span,
        help: str = "",
        text: str = "",
        related: Iterable[Label] = (),
    ) -> None:
        self.messages.append(error(code, message, span, text, help, tuple(related)))


def build_states(
    statements: tuple[StateDecl, ...],
    parts: Mapping[str, Part],
    lines: tuple[Line, ...],
    built_in: tuple[State, ...],
    flat: Flat | None = None,
) -> tuple[tuple[State, ...], list[Diagnostic]]:
    """Return all states (own ones replace built-in ones of the same name) and what is wrong with the statements.

    ``flat`` knows which names are missing only because of mistakes that were reported before.
    """
    make = _Maker(parts, {line.tag: line for line in lines}, flat or Flat())
    own: dict[str, StateDecl] = {}
    for statement in statements:
        name = statement.name
        if name.text in RESERVED:
            message = f"`{name}` is no name for a state: it means {RESERVED[name.text]}"
            make.say("name-taken", message, name.span, "give the state another name")
        elif name.text in own:
            related = [Label(own[name.text].name.span, "first here")]
            help = "give one of them another name"
            make.say(
                "duplicate-tag", f"two states have the name `{name}`", name.span, help, "again here", related
            )
        elif len(own) == MOST_STATES:
            make.say("too-large", f"the circuit has more than {MOST_STATES} states of its own", name.span)
            break
        else:
            own[name.text] = statement
    states = {state.name: state for state in built_in}
    states.update({name: _state(make, statement) for name, statement in own.items()})
    _starts(make, own, states)
    return tuple(states.values()), make.messages


def _starts(make: _Maker, own: Mapping[str, StateDecl], states: Mapping[str, State]) -> None:
    """Report starts that do not exist, and each circle of states once."""
    told: set[str] = set()
    for name, statement in own.items():
        start = statement.start
        if start is None:
            continue
        if start.text != EMPTY and start.text not in states:
            if start.text in NAMES and make.flat.failed:
                continue  # the part that makes this state possible has been reported
            known = [EMPTY, *states]
            help = make.suggest(start.text, known) or f"states: {', '.join(known[:12])}"
            make.say("unknown-state", f"there is no state `{start.text}`", start.span, help)
            continue
        circle = _circle(name, states)
        if name in circle and not told & set(circle):
            told |= set(circle)
            way = ", which starts ".join(f"from `{state}`" for state in (*circle[1:], circle[0]))
            message = f"state `{name}` would start from itself"
            help = f"it starts {way}" if len(circle) < 6 else ""
            make.say("circular-state", message, start.span, help or "start one of them from another state")


def _circle(name: str, states: Mapping[str, State]) -> tuple[str, ...]:
    """Return the states that a state starts from, itself first, if they lead back to it; else nothing."""
    trail = [name]
    while (start := states[trail[-1]].start) in states:
        if start == name:
            return tuple(trail)
        if start in trail:
            return ()
        trail.append(start)
    return ()


def _state(make: _Maker, statement: StateDecl) -> State:
    settings: list[Setting] = []
    faults: list[FaultSetting] = []
    for item in statement.settings:
        if isinstance(item, InputSetting):
            setting = _setting(make, item)
            if setting is None:
                continue
            same = [
                s for s in settings if (s.part, s.input, s.at) == (setting.part, setting.input, setting.at)
            ]
            if same and same[0].span is not None:
                help = "delete one of them, or say when: `at 2s`"
                message = f"`{item.target}` is set twice at the same time"
                related = [Label(same[0].span, "first here")]
                make.say("duplicate-option", message, item.span, help, "again here", related)
            settings.append(setting)
        elif isinstance(item, PartFault):
            faults += _part_fault(make, item)
        else:
            faults += _line_fault(make, item)
    horizon = SHORT
    if statement.horizon is not None:
        horizon = _time(make, "for", statement.horizon, least=1e-3) or SHORT
    return State(
        statement.name.text,
        statement.title.text if statement.title else statement.name.text,
        statement.start.text if statement.start else EMPTY,
        tuple(settings),
        tuple(faults),
        horizon + max((s.at for s in settings), default=0.0),
        stop_at_cut_out=False,
        built_in=False,
        text="",
        span=statement.span,
    )


def _time(make: _Maker, word: str, value: Measure, least: float = 0.0) -> float | None:
    help = f"for example `{word} 30s`, at most 1 h"
    quantity = value.quantity
    if quantity.dimension != "time":
        what = "a number without a unit" if quantity.dimension == "number" else article(quantity.dimension)
        make.say("bad-value", f"behind `{word}` stands a time, not {what}", value.span, help)
    elif not least <= quantity.value <= LONGEST:
        size = "large" if quantity.value > LONGEST else "small"
        make.say("out-of-range", f"`{word} {value}` is too {size}", value.span, help)
    else:
        return quantity.value
    return None


def _setting(make: _Maker, item: InputSetting) -> Setting | None:
    at = 0.0 if item.at is None else _time(make, "at", item.at)
    found = _input(make, item)
    if found is None:
        return None
    part, inp = found
    value = _value(make, item, inp)
    return None if value is None or at is None else Setting(part.tag, inp.name, value, at, item.span)


def _input(make: _Maker, item: InputSetting) -> tuple[Part, Input] | None:
    target = item.target
    if target.text in make.parts:
        part = make.parts[target.text]
        if len(part.kind.inputs) == 1:
            return part, part.kind.inputs[0]
        if part.kind.inputs:
            message = f"`{part.tag}` has several inputs"
            help = f"say which: {', '.join(f'{part.tag}.{i.name}' for i in part.kind.inputs)}"
        else:
            message = f"nothing can be set on {part.kind.title.lower()} `{part.tag}`"
            help = "a state sets what the driver, the engine or an electronic unit works; the rest follows from the air"
        make.say("unknown-input", message, target.span, help)
        return None
    if target.stem in make.parts:
        part = make.parts[target.stem]
        names = [i.name for i in part.kind.inputs]
        if target.last.text in names:
            return part, part.kind.inputs[names.index(target.last.text)]
        message = f"{part.kind.title.lower()} `{part.tag}` has no input `{target.last}`"
        help = did_you_mean(target.last.text, names) or f"inputs: {', '.join(names) or 'none'}"
        make.say("unknown-input", message, target.last.span, help)
        return None
    _no_part(make, target)
    return None


def _no_part(make: _Maker, target: Path) -> None:
    """Report a part that does not exist; the last word of the path may have been meant as an input's name."""
    if make.flat.excused(target.text):
        return
    group = target.text if target.text in make.flat.groups else ""
    if group:
        inner = [tag for tag in make.parts if tag.startswith(f"{group}.") and make.parts[tag].kind.inputs][:8]
        help = f"say which part inside it: {', '.join(inner)}" if inner else "nothing in it can be set"
        make.say("unknown-part", f"`{group}` is several parts, not one", target.span, help)
        return
    near = make.suggest(target.text, make.parts)
    word, span = target.text, target.span
    if not near and target.stem:
        near = make.suggest(target.stem, make.parts)
        if near:
            word, span = target.stem, target.words[0].span.to(target.words[-2].span)
    make.say(
        "unknown-part", f"there is no part `{word}`", span, near or "every part stands in the parts list"
    )


def _value(make: _Maker, item: InputSetting, inp: Input) -> float | None:
    value = item.value
    if inp.positions:
        if isinstance(value, Word) and value.text in inp.positions:
            return float(inp.positions.index(value.text))
        near = did_you_mean(str(value), inp.positions)
        listed = f"it can be: {', '.join(inp.positions)}"
        make.say("bad-value", f"`{item.target}` cannot be `{value}`", value.span, f"{near} {listed}".strip())
        return None
    if not isinstance(value, Measure) or value.quantity.dimension != "ratio":
        number = isinstance(value, Measure) and value.quantity.dimension == "number"
        near = f"did you mean `{value}%`?" if number else "for example 30%"
        make.say("bad-value", f"`{item.target}` is set in percent, not to `{value}`", value.span, near)
    elif not 0 <= value.quantity.value <= 1:
        size = "small" if value.quantity.value < 0 else "large"
        make.say("out-of-range", f"`{item.target} {value}` is too {size}", value.span, "from 0% to 100%")
    else:
        return value.quantity.value
    return None


def _part_fault(make: _Maker, item: PartFault) -> list[FaultSetting]:
    part = make.parts.get(item.target.text)
    if part is None:
        _no_part(make, item.target)
        return []
    faults = {fault.name: fault for fault in part.kind.faults}
    fault = faults.get(item.fault.text)
    if fault is None:
        near = did_you_mean(item.fault.text, faults)
        help = f"{near} faults: {', '.join(faults) or 'none'}".strip()
        message = f"{part.kind.title.lower()} `{part.tag}` has no fault `{item.fault}`"
        make.say("unknown-fault", message, item.fault.span, help)
        return []
    if item.size is not None and fault.leak is None:
        make.say("unexpected", f"`{item.fault}` has no size", item.size.span, "delete it; leaks have one")
        return []
    return [FaultSetting(part.tag, fault.name, _size(make, item.size), item.span)]


def _line_fault(make: _Maker, item: LineFault) -> list[FaultSetting]:
    tag = item.target.text
    if tag in make.lines:
        return [FaultSetting(tag, item.fault.text, _size(make, item.size), item.span)]
    if make.flat.excused(tag) or make.flat.excused(LINE + tag):
        return []
    if tag in make.parts:
        help = f"write `fault {tag}.` and the fault's name for a fault of the part"
        make.say("unknown-line", f"`{tag}` is a part, not a line", item.target.span, help)
    elif not (_AUTOMATIC.match(tag) and make.flat.failed):  # the count of lines is off for a reason
        near = make.suggest(tag, make.lines)
        help = near or "give the line a tag: `tag: a.2 -> b.1`"
        make.say("unknown-line", f"there is no line `{tag}`", item.target.span, help)
    return []


def _size(make: _Maker, size: Measure | None) -> float | None:
    if size is None:
        return None
    if size.quantity.dimension != "length":
        make.say("bad-value", f"the size of a leak is a bore, not `{size}`", size.span, "for example 3mm")
    elif not 1e-5 <= size.quantity.value <= 0.1:
        small = "small" if size.quantity.value < 1e-5 else "large"
        make.say("out-of-range", f"a bore of `{size}` is too {small}", size.span, "from 0.01mm to 100mm")
    else:
        return size.quantity.value
    return None
