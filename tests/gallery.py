"""Makes the pictures in ``gallery/``: every course circuit, blank and in every state, and the catalogue plates; and a
contact sheet of all, as SVG (links to the others) and as PNG in colour and in grey.

Run ``python -m tests.gallery`` in the repository. With ``--check`` nothing is written; it tells what would change.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from pneudraw import api, files
from pneudraw.drawing import to_svg
from pneudraw.flow.run import Options
from tests import charts
from tests.contact import Thumb, contact_png, contact_svg

ROOT = Path(__file__).parent.parent
GALLERY = ROOT / "gallery"
CIRCUITS = tuple(sorted((ROOT / "circuits").glob("*.pneu")))


@cache
def circuit_sheets(path: Path) -> tuple[Thumb, ...]:
    """The sheets of a circuit: blank, then in each of its states; file names as in the gallery."""
    circuit = api.read(path).circuit
    assert circuit is not None, path
    arrangement = api.arrange(circuit)  # what `draw` and `trace` do: the smallest paper, one sheet
    title = circuit.title or circuit.name
    (blank,) = api.draw_sheets(circuit, arrangement=arrangement)
    thumbs = [Thumb(f"circuits/{path.stem}.svg", title, blank, True)]
    for name, trace in api.traces(circuit, options=Options(compiled="yes")).items():
        (sheet,) = api.draw_sheets(circuit, trace=trace, arrangement=arrangement)
        thumbs.append(Thumb(f"circuits/{path.stem}.{name}.svg", trace.title, sheet, False))
    return tuple(thumbs)


def circuit_pictures(path: Path) -> Iterator[tuple[str, str]]:
    """Yield (file name in the gallery, SVG text) for a circuit: blank, then in each of its states."""
    for thumb in circuit_sheets(path):
        yield thumb.file, to_svg(thumb.sheet)


def plates() -> Iterator[tuple[str, str]]:
    """Yield (file name, SVG text) of the printed catalogue."""
    for number, sheet in enumerate(api.catalogue_plates(), start=1):
        yield f"symbols/plate-{number}.svg", to_svg(sheet)


def pictures() -> Iterator[tuple[str, str]]:
    """Yield every picture of the gallery."""
    yield from plates()
    for path in CIRCUITS:
        yield from circuit_pictures(path)
    yield "contact-sheet.svg", contact_svg(all_thumbs())
    yield from charts.pictures()


def all_thumbs() -> tuple[Thumb, ...]:
    """All sheets of the course."""
    return tuple(thumb for path in CIRCUITS for thumb in circuit_sheets(path))


def main(arguments: list[str]) -> int:
    """Write the gallery, or with ``--check`` compare it; 1 if something would change."""
    made = dict(pictures())
    old = {str(p.relative_to(GALLERY)): p.read_text("utf-8") for p in sorted(GALLERY.rglob("*.svg"))}
    changed = sorted({name for name in made if old.get(name) != made[name]} | (set(old) - set(made)))
    if "--check" in arguments:
        print("\n".join(f"would change: {name}" for name in changed) or "the gallery is current")
        return 1 if changed else 0
    for name in sorted(set(old) - set(made)):
        (GALLERY / name).unlink()
    for name, text in made.items():
        (GALLERY / name).parent.mkdir(parents=True, exist_ok=True)
        if name in changed:
            files.write(GALLERY / name, text)
    for name, colour in (("contact-sheet.png", True), ("contact-sheet-grey.png", False)):
        if changed or not (GALLERY / name).exists():
            data = contact_png(all_thumbs(), colour)
            if data is None:
                print(f"{name} would be too large and is left out")
            else:
                files.write(GALLERY / name, data)
    print(f"{len(made)} pictures, {len(changed)} changed")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
