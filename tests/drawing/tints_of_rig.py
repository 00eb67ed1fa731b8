"""Tints for the training rig, as a trace would give them."""

from __future__ import annotations

from pneudraw.drawing.tints import Badge, BranchTint, LineTint, Mark, Style, Tints

C, H, V, E = Style.CARRIES, Style.HOLDS, Style.VENTS, Style.EMPTY
SUPPLY = tuple(LineTint(tag, H) for tag in ("L1", "sense", "charge", "charge2", "L4", "L5"))


def tint(line: str, rest: Style, order: int, moving: Style, **flows: float) -> LineTint:
    """``tint("signal", E, 2, C, foot_2=-1, relay_4=1)``."""
    branches = tuple(BranchTint(end.replace("_", "."), moving, flow) for end, flow in flows.items())
    return LineTint(line, rest, branches, order)


APPLY = Tints(
    lines=(
        *SUPPLY,
        LineTint("unload", E),
        tint("feed", H, 1, C, tank_2=-5.0, foot_1=0.5, relay_1=4.5),
        tint("signal", H, 2, C, foot_2=-0.5, relay_4=0.5),
        tint("service", H, 3, C, relay_2=-4.0, lr_1=2.0, rr_1=2.0),
    ),
    badges=(Badge("tank", "118 psi"), Badge("lr.1", "60 psi")),
    marks=(Mark("unload", "F1"),),
    state="Service application",
    steps=(
        "From the reservoir through the foot valve to the relay valve.",
        "The relay valve fills both chambers.",
    ),
)
RELEASE = Tints(
    lines=(
        *SUPPLY,
        LineTint("unload", E),
        LineTint("feed", H),
        tint("signal", E, 1, V, foot_2=0.5, relay_4=-0.5),
        tint("service", E, 2, V, relay_2=4.0, lr_1=-2.0, rr_1=-2.0),
    ),
    vents=("foot.3", "relay.3"),
    state="Service release",
)
