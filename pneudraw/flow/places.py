"""Places a pressure can be asked for, as a person names them: a port, a chamber, a part, a line."""

from __future__ import annotations

from dataclasses import dataclass

from pneudraw.circuit.model import Circuit, Part
from pneudraw.diagnostics import did_you_mean
from pneudraw.flow.plumbing import ATMOSPHERE, Plumbing


@dataclass(frozen=True)
class Place:
    """A place of one pressure: ``name`` is a port id or a chamber name (``sort`` says which) of the part ``tag``.

    The ``sort`` ``outside`` is the atmosphere; its tag and name are empty.
    """

    tag: str
    name: str
    sort: str

    def __str__(self) -> str:
        """``lr.11``, ``lr/spring``."""
        if self.sort == "outside":
            return ATMOSPHERE
        return f"{self.tag}{'/' if self.sort == 'chamber' else '.'}{self.name}"


OUTSIDE = Place("", "", "outside")


class PlaceError(ValueError):
    """A text that names no place of the circuit; the message is a sentence, ``help`` says what there is."""

    def __init__(self, message: str, help: str) -> None:
        super().__init__(message)
        self.help = help


def find(circuit: Circuit, text: str) -> tuple[Place, ...]:
    """Return the places a text names.

    ``relay.4`` is a port, ``lr/spring`` a chamber; ``lr`` and ``prim`` stand for all chambers of the part, or for its
    only port; the tag of a line stands for its first port.

    Raises
    ------
    PlaceError
        If there is no such place, or several ports could be meant.
    """
    tag, slash, chamber = text.partition("/")
    if slash:
        part = circuit.part(tag)
        if part is None:
            raise _unknown(circuit, text, tag)
        if all(c.name != chamber for c in part.kind.chambers):
            names = [c.name for c in part.kind.chambers]
            listed = "chambers: " + ", ".join(f"{tag}/{n}" for n in names) if names else "it has no chamber"
            raise PlaceError(
                f"`{tag}` has no chamber `{chamber}`", did_you_mean(chamber, names) or listed + _also(part)
            )
        return (Place(tag, chamber, "chamber"),)
    part = circuit.part(text)
    if part is not None:
        return _of_part(circuit, part)
    tag, _, port = text.rpartition(".")
    part = circuit.part(tag)
    if part is not None:
        return (_port(circuit, part, port),)
    line = next((line for line in circuit.lines if line.tag == text), None)
    if line is not None:
        return (Place(line.ends[0].part.tag, line.ends[0].port.id, "port"),)
    raise _unknown(circuit, text, tag or text)


def _of_part(circuit: Circuit, part: Part) -> tuple[Place, ...]:
    if part.kind.chambers:
        return tuple(Place(part.tag, chamber.name, "chamber") for chamber in part.kind.chambers)
    ports = [p for p in part.kind.ports if circuit.line_at(part.tag, p.id) is not None]
    if len(ports) == 1:
        return (Place(part.tag, ports[0].id, "port"),)
    names = ", ".join(f"{part.tag}.{p.id}" for p in ports)
    raise PlaceError(f"`{part.tag}` has several ports", f"say which: {names}" if names else "none is piped")


def _port(circuit: Circuit, part: Part, name: str) -> Place:
    port = part.kind.port(name)
    ids = [p.id for p in part.kind.ports]
    if port is None:
        listed = "ports: " + ", ".join(f"{part.tag}.{i}" for i in ids)
        raise PlaceError(f"`{part.tag}` has no port `{name}`", did_you_mean(name, ids) or listed)
    if port.optional and circuit.line_at(part.tag, name) is None:
        raise PlaceError(
            f"port `{part.tag}.{name}` is closed: no line ends there", "ask for a port with a line"
        )
    return Place(part.tag, name, "port")


def _also(part: Part) -> str:
    return "; ports: " + ", ".join(f"{part.tag}.{p.id}" for p in part.kind.ports)


def _unknown(circuit: Circuit, text: str, tag: str) -> PlaceError:
    known = [*(p.tag for p in circuit.parts), *(line.tag for line in circuit.lines)]
    help = did_you_mean(tag, known) or "name a port (relay.4), a chamber (lr/spring), a part or a line"
    return PlaceError(f"the circuit has nothing called `{text}`", help)


def node_of(plumbing: Plumbing, place: Place) -> int:
    """Return the network's node at a place; 0, the atmosphere, for an open port."""
    if place.sort == "outside":
        return 0
    nodes = plumbing.chamber_node if place.sort == "chamber" else plumbing.port_node
    return nodes[place.tag, place.name]


def places_of(plumbing: Plumbing) -> dict[int, Place]:
    """Return a place for each node: its chamber or port; a piece of a long pipe has that of the pipe's far end."""
    found = {0: OUTSIDE}
    for sort, nodes in (("port", plumbing.port_node), ("chamber", plumbing.chamber_node)):
        for (tag, name), node in nodes.items():
            found.setdefault(node, Place(tag, name, sort))
    by_name = {str(place): place for place in found.values()}
    for index, piece in enumerate(plumbing.network.nodes):
        if index not in found:
            found[index] = by_name[piece.name.partition("~")[0]]
    return found
