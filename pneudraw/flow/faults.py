"""Every single fault that can be put into a circuit: those of its parts' kinds, and four for each line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pneudraw.circuit.model import Circuit, FaultSetting, Line, Part
from pneudraw.diagnostics import did_you_mean

LINE = "line:"  # before a line's tag in the name of its fault

#: what can be wrong with any line: name, title, what it means
LINE_FAULTS: tuple[tuple[str, str, str], ...] = (
    ("broken", "Line broken", "The full bore is open to the air at the line's far end."),
    ("blocked", "Line blocked", "Nothing passes: ice, a crushed tube, a plug left in."),
    ("restricted", "Line restricted", "A kink lets a tenth of the usual flow through."),
    ("leaks", "Line leaks", "A hole of 2 mm."),
)


class FaultError(ValueError):
    """A text that names no fault of the circuit; the message is a sentence, ``help`` says what there is."""

    def __init__(self, message: str, help: str) -> None:
        super().__init__(message)
        self.help = help


@dataclass(frozen=True)
class PossibleFault:
    """One fault that can be put in. ``text`` is what the kind's file says of it; not all of it need be computed."""

    setting: FaultSetting
    on_line: bool
    title: str
    text: str

    @property
    def name(self) -> str:
        """``relay.inlet-leaks``, ``line:hold.broken``; with the bore if one is given: ``line:hold.leaks=3mm``."""
        size = "" if self.setting.size is None else f"={self.setting.size * 1e3:g}mm"
        return f"{LINE if self.on_line else ''}{self.setting.target}.{self.setting.fault}{size}"


def all_faults(circuit: Circuit) -> tuple[PossibleFault, ...]:
    """Return every fault of every part, then of every line, in the netlist's order."""
    out = [fault for part in circuit.parts for fault in faults_of_part(part)]
    return (*out, *(fault for line in circuit.lines for fault in faults_of_line(line)))


def faults_of_part(part: Part) -> tuple[PossibleFault, ...]:
    """Return the faults of a part's kind, put into this part."""
    return tuple(
        PossibleFault(FaultSetting(part.tag, f.name, None, None), False, f.title, " ".join(f.text.split()))
        for f in part.kind.faults
    )


def faults_of_line(line: Line) -> tuple[PossibleFault, ...]:
    """Return what can be wrong with a line."""
    return tuple(
        PossibleFault(FaultSetting(line.tag, name, None, None), True, title, text)
        for name, title, text in LINE_FAULTS
    )


def find_fault(circuit: Circuit, text: str, size: float | None = None) -> PossibleFault:
    """Return the fault a text names: ``relay.inlet-leaks`` of a part, ``line:hold.broken`` of a line.

    ``line:`` may be left out. ``size`` is the bore [m] of a leak or a break.

    Raises
    ------
    FaultError
        If there is no such part, line or fault, or the fault has no size.
    """
    bare = text.removeprefix(LINE)
    owner, _, name = bare.rpartition(".")
    part = None if text.startswith(LINE) else circuit.part(owner)
    line = next((line for line in circuit.lines if line.tag == owner), None)
    if part is not None:
        known = faults_of_part(part)
        what = f"{part.kind.title.lower()} `{owner}`"
    elif line is not None:
        known = faults_of_line(line)
        what = f"line `{owner}`"
    else:
        raise _no_owner(circuit, text, owner or bare)
    found = next((fault for fault in known if fault.setting.fault == name), None)
    if found is None:
        names = [fault.setting.fault for fault in known]
        listed = "its faults: " + ", ".join(names) if names else "it has none"
        raise FaultError(f"{what} has no fault `{name}`", did_you_mean(name, names) or listed)
    if size is None:
        return found
    if not _has_size(found, part):
        raise FaultError(f"`{found.name}` has no size", "leave the size away; leaks and breaks have one")
    setting = FaultSetting(found.setting.target, found.setting.fault, size, None)
    return PossibleFault(setting, found.on_line, found.title, found.text)


def _has_size(fault: PossibleFault, part: Part | None) -> bool:
    if part is None:
        return fault.setting.fault in ("broken", "leaks")
    return any(f.name == fault.setting.fault and f.leak is not None for f in part.kind.faults)


def _no_owner(circuit: Circuit, text: str, owner: str) -> FaultError:
    """There is no such part or line: the whole text may be a tag without a fault, or a word misspelt."""
    alone = text.removeprefix(LINE)
    part = circuit.part(alone)
    line = next((line for line in circuit.lines if line.tag == alone), None)
    if part is not None or line is not None:
        names = [f.name for f in (faults_of_part(part) if part is not None else faults_of_line(line))]  # type: ignore[arg-type]
        help = "its faults: " + ", ".join(names) if names else "it has none"
        return FaultError(f"`{text}` is not a fault but what has one", help)
    if text.startswith(LINE):
        if circuit.part(owner) is not None:
            return FaultError(
                f"`{owner}` is a part, not a line", f"leave `{LINE}` away; `list` shows its faults"
            )
        lines = [ln.tag for ln in circuit.lines]
        help = did_you_mean(owner, lines) or "`list` shows every line"
        return FaultError(f"there is no line `{owner}`", help)
    known: Iterable[str] = [*(p.tag for p in circuit.parts), *(ln.tag for ln in circuit.lines)]
    help = did_you_mean(owner, known) or "`list` shows every fault there is"
    return FaultError(f"there is no part or line `{owner}`", help)
