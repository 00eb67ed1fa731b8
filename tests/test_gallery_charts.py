"""The charts and matrices kept in ``gallery/`` are the ones the program makes now."""

from __future__ import annotations

from tests import charts
from tests.gallery import GALLERY


def test_the_charts_and_matrices_are_current() -> None:
    made = dict(charts.pictures())
    kept = {
        str(path.relative_to(GALLERY)): path.read_text("utf-8")
        for folder in ("charts", "faults")
        for path in GALLERY.glob(f"{folder}/*.svg")
    }
    assert sorted(kept) == sorted(made), "run: python -m tests.gallery"
    assert not [name for name in made if made[name] != kept[name]], "run: python -m tests.gallery, and look"
