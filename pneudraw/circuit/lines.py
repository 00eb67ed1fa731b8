"""Line statements to lines: ends resolved to ports, what is joined gathered into one line, tags given."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice

from pneudraw.circuit.expand import Flat, FlatLine
from pneudraw.circuit.model import End, Join, Line, Part
from pneudraw.diagnostics import Diagnostic, Label, Suggester, did_you_mean, error
from pneudraw.language.tree import Measure, Path, Value, Word
from pneudraw.library.model import Kind, Port, Role
from pneudraw.source import Span
from pneudraw.units import Quantity

#: m: least and most of a branch's length and bore, and the same in words
RANGES = {
    "length": (0.01, 100.0, "a branch is from 1cm to 100m long"),
    "bore": (0.2e-3, 0.1, "a bore is from 0.2mm to 100mm"),
}
LINE = "line "  # before a line's tag among the failed; tags of lines and parts are two worlds


def inlets(kind: Kind) -> tuple[Port, ...]:
    """The ports a line may mean when it ends at the part as such: its supplies, else whatever it has one of."""
    return _first_kind(kind, Role.SUPPLY, Role.CONTROL, Role.TAPPING, Role.INTAKE, Role.DELIVERY)


def outlets(kind: Kind) -> tuple[Port, ...]:
    """The ports a line may mean when it begins at the part as such."""
    return _first_kind(kind, Role.DELIVERY, Role.TAPPING, Role.SUPPLY, Role.CONTROL, Role.EXHAUST)


def _first_kind(kind: Kind, *roles: Role) -> tuple[Port, ...]:
    for role in roles:
        ports = tuple(port for port in kind.ports if port.role is role)
        if ports:
            return ports
    return ()


@dataclass
class _Piece:
    """What one statement says of the line it makes."""

    tag: str | None
    span: Span
    length: Quantity | None
    bore: Quantity | None
    hose: bool


@dataclass
class _Gatherer:
    """Collects ends and joins; ports that are joined share a root (union-find)."""

    parts: Mapping[str, Part]
    flat: Flat
    suggest: Suggester = field(default_factory=Suggester)
    root: dict[str, str] = field(default_factory=dict)
    ends: dict[str, End] = field(default_factory=dict)
    joins: list[Join] = field(default_factory=list)
    pieces: list[tuple[str, _Piece]] = field(default_factory=list)
    messages: list[Diagnostic] = field(default_factory=list)

    def find(self, name: str) -> str:
        while self.root[name] != name:
            self.root[name] = self.root[self.root[name]]
            name = self.root[name]
        return name


def build_lines(flat: Flat, parts: Mapping[str, Part]) -> tuple[tuple[Line, ...], list[Diagnostic]]:
    """Return the lines in order of first mention, and what is wrong with their statements."""
    gatherer = _Gatherer(parts, flat)
    for item in flat.lines:
        _statement(gatherer, item)
    return _lines(gatherer), gatherer.messages


def _statement(g: _Gatherer, item: FlatLine) -> None:
    statement, prefix = item.statement, item.prefix
    length = bore = None
    for key, value in item.values:
        quantity = _length(g, key, value)
        if key.text == "length":
            length = quantity
        else:
            bore = quantity
    last = len(statement.groups) - 1
    arrive: list[list[End | None]] = []
    leave: list[list[End | None]] = []
    for position, group in enumerate(statement.groups):
        pairs = [_resolve(g, path, prefix, position > 0, position < last) for path in group.ends]
        arrive.append([pair[0] for pair in pairs])
        leave.append([pair[1] for pair in pairs])
    made: list[str] = []
    for position, separator in enumerate(statement.separators):
        if position + 1 > last:
            break
        starts, ends = leave[position], arrive[position + 1]
        couples = [(starts[0], end) for end in ends] + [(start, ends[0]) for start in starts[1:]]
        for start, end in couples:
            if start is None or end is None:
                continue
            if start.name == end.name:
                name = f"{start.part.tag.removeprefix(prefix)}.{start.port.id}"
                g.messages.append(error("joined-to-itself", f"`{name}` is joined to itself", end.span))
                continue
            for one in (start, end):
                if one.name not in g.root:
                    g.root[one.name] = one.name
                    g.ends[one.name] = one
            g.root[g.find(end.name)] = g.find(start.name)
            g.joins.append(Join(start.name, end.name, separator.directed, start.span.to(end.span)))
            made.append(start.name)
    tag = prefix + statement.tag.text if statement.tag else None
    if not made:
        if tag is not None:
            g.flat.failed.add(LINE + tag)
        return
    if tag is not None and statement.tag is not None and len({g.find(name) for name in made}) > 1:
        g.messages.append(
            error(
                "tag-for-several",
                f"the tag `{statement.tag}` is given to a chain that makes several lines",
                statement.tag.span,
                help="a part in the chain ends one line and begins another; give the tagged line its own statement",
            )
        )
        g.flat.failed.add(LINE + str(tag))
        tag = None
    span = statement.tag.span if statement.tag else statement.span
    for name in made:
        g.pieces.append((name, _Piece(tag, span, length, bore, statement.flag("hose"))))


def _length(g: _Gatherer, key: Word, value: Value) -> Quantity | None:
    if not isinstance(value, Measure) or value.quantity.dimension != "length":
        g.messages.append(
            error(
                "bad-value",
                f"`{key.text}` needs a length, not `{value}`",
                value.span,
                help=f"for example {key.text}={'3m' if key.text == 'length' else '9.5mm'}",
            )
        )
        return None
    low, high, help = RANGES[key.text]
    if not low <= value.quantity.value <= high * (1 + 1e-9):
        size = "small" if value.quantity.value < low else "large"
        g.messages.append(error("out-of-range", f"`{key.text}={value}` is too {size}", value.span, help=help))
        return None
    return value.quantity


def _resolve(
    g: _Gatherer, path: Path, prefix: str, arrives: bool, leaves: bool
) -> tuple[End | None, End | None]:
    """Return the end where a line arrives at a place of a chain, and the one where the next line leaves it."""
    whole, stem = prefix + path.text, prefix + path.stem
    if whole in g.parts:
        part = g.parts[whole]
        arrive = _only(g, path, part, inlets(part.kind), "reach") if arrives else None
        leave = _only(g, path, part, outlets(part.kind), "leave") if leaves else None
        if arrives and leaves and arrive is not None and leave is not None and arrive.name == leave.name:
            g.messages.append(
                error(
                    "cannot-pass",
                    f"a line cannot go through `{path}`: {part.kind.title.lower()} has one port",
                    path.span,
                    help=f"branch to it instead: end a line at `{path}.{arrive.port.id}`",
                )
            )
            return None, None
        return arrive, leave
    if path.stem and stem in g.parts:
        part = g.parts[stem]
        port = part.kind.port(path.last.text)
        if port is None:
            near = _near_port(path.last.text, part.kind)
            g.messages.append(
                error(
                    "unknown-port",
                    f"{part.kind.title.lower()} `{path.stem}` has no port `{path.last.text}`",
                    path.last.span,
                    help=f"{near} ports: {_port_list(part.kind)}".strip(),
                    related=[Label(part.span, f"`{path.stem}` is made here")],
                )
            )
            return None, None
        end = End(part, port, path.span)
        return end, end
    if not g.flat.excused(whole):
        _unknown_part(g, path, prefix)
    return None, None


def _near_port(word: str, kind: Kind) -> str:
    """Suggest the ports of a function digit (``2``: 21, 22), or of the role or title that stands in its place."""
    low = word.lower()
    near = [p.id for p in kind.ports if p.id != low and (p.id.startswith(low) or low.startswith(p.id))]
    near = near or [p.id for p in kind.ports if p.id.lower() == low]
    near = near or [p.id for p in kind.ports if low in (p.role.value, *p.title.lower().split())]
    if not near and len(low) > 3:
        meant = did_you_mean(low, [p.role.value for p in kind.ports])
        near = [p.id for p in kind.ports if meant and p.role.value in meant]
    return f"did you mean {' or '.join(f'`{port}`' for port in near[:4])}?" if near else ""


def _port_list(kind: Kind) -> str:
    return ", ".join(f"{p.id} ({p.role.value})" for p in kind.ports)


def _unknown_part(g: _Gatherer, path: Path, prefix: str) -> None:
    groups = g.flat.groups
    for name in (path.text, path.stem):
        if name and prefix + name in groups:
            inner = (tag for tag in g.parts if tag.startswith(f"{prefix}{name}."))
            some = [tag.removeprefix(prefix) for tag in islice(inner, 8)]
            rest = path.text.removeprefix(name).lstrip(".")
            message = (
                f"there is no part `{rest}` in `{name}`" if rest else f"`{name}` is several parts, not one"
            )
            near = g.suggest(path.text, some)
            help = near or f"say which part inside it: {', '.join(some)}"
            g.messages.append(error("unknown-part", message, path.span, help=help))
            return
    word = path.stem or path.text
    span = path.span if not path.stem else path.words[0].span.to(path.words[-2].span)
    near = g.suggest(word, (tag[len(prefix) :] for tag in g.parts if tag.startswith(prefix)))
    message = f"there is no part `{word}`"
    help = near or "every part stands in the parts list"
    g.messages.append(error("unknown-part", message, span, help=help))


def _only(g: _Gatherer, path: Path, part: Part, ports: Sequence[Port], way: str) -> End | None:
    if len(ports) == 1 or (ports and ports[0].role is Role.TAPPING):
        return End(part, ports[0], path.span)
    if not ports:
        g.messages.append(error("unknown-port", f"`{path}` has no port for a line", path.span))
        return None
    g.messages.append(
        error(
            "which-port",
            f"a line can {way} `{path}` at {len(ports)} ports",
            path.span,
            help=f"say which: {', '.join(f'{path}.{port.id} ({port.title})' for port in ports)}",
        )
    )
    return None


def _lines(g: _Gatherer) -> tuple[Line, ...]:
    members: dict[str, list[End]] = {}
    for name, end in g.ends.items():
        members.setdefault(g.find(name), []).append(end)
    joins: dict[str, list[Join]] = {}
    for join in g.joins:
        joins.setdefault(g.find(join.start), []).append(join)
    pieces: dict[str, list[_Piece]] = {}
    for name, piece in g.pieces:
        pieces.setdefault(g.find(name), []).append(piece)
    taken: dict[str, Span] = {}
    for root in members:
        for piece in pieces[root]:
            if piece.tag is not None:
                taken.setdefault(piece.tag, piece.span)
    lines: list[Line] = []
    used: dict[str, tuple[str, Span]] = {}
    number = 0
    for root, ends in members.items():
        tag = _tag(g, pieces[root], root, used)
        if tag is None:
            number += 1
            while f"L{number}" in taken or f"L{number}" in g.parts:
                number += 1
            tag = f"L{number}"
        lines.append(
            Line(
                tag,
                tuple(ends),
                tuple(joins[root]),
                _agreed(g, pieces[root], "length"),
                _agreed(g, pieces[root], "bore"),
                any(piece.hose for piece in pieces[root]),
                pieces[root][0].span,
            )
        )
    return tuple(lines)


def _tag(g: _Gatherer, pieces: list[_Piece], root: str, used: dict[str, tuple[str, Span]]) -> str | None:
    tagged = [piece for piece in pieces if piece.tag is not None]
    if not tagged:
        return None
    first = tagged[0]
    assert first.tag is not None
    for piece in tagged[1:]:
        if piece.tag != first.tag:
            message = f"`{piece.tag}` and `{first.tag}` are the same line: they meet at a port"
            help = "delete one of the tags, or end one of the lines at another port"
            related = [Label(first.span, "the other tag")]
            g.messages.append(error("two-tags", message, piece.span, help=help, related=related))
            g.flat.failed.add(LINE + str(piece.tag))
            break
    if first.tag in g.parts or first.tag in g.flat.groups:
        message = f"`{first.tag}` is the tag of a part already"
        other = g.parts[first.tag].span if first.tag in g.parts else g.flat.groups[first.tag]
        related = [Label(other, "the part")]
        help = "give the line a tag of its own"
        g.messages.append(error("duplicate-tag", message, first.span, help=help, related=related))
    was, other = used.setdefault(first.tag, (root, first.span))
    if was != root:
        message = f"two lines have the tag `{first.tag}`"
        help = "they share no port, so each needs a tag of its own"
        related = [Label(other, "first here")]
        g.messages.append(error("duplicate-tag", message, first.span, "again here", help, related))
    return first.tag


def _agreed(g: _Gatherer, pieces: list[_Piece], key: str) -> Quantity | None:
    given = [(getattr(piece, key), piece) for piece in pieces if getattr(piece, key) is not None]
    for quantity, piece in given[1:]:
        if abs(quantity.value - given[0][0].value) > 1e-12:
            g.messages.append(
                error(
                    "two-values",
                    f"this line has two values for `{key}`: {given[0][0]} and {quantity}",
                    piece.span,
                    help="give one value: every branch of a line has it",
                )
            )
            break
    result: Quantity | None = given[0][0] if given else None
    return result
