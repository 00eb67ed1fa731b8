"""The pictures kept in ``gallery/`` are the ones the program makes now."""

from __future__ import annotations

import pytest

from tests.contact import contact_svg
from tests.drawing.measure import box_of_group, inside
from tests.gallery import CIRCUITS, GALLERY, all_thumbs, circuit_pictures, circuit_sheets, plates


@pytest.mark.parametrize("path", CIRCUITS, ids=lambda path: path.stem)
def test_the_pictures_of_a_circuit_are_current(path) -> None:  # type: ignore[no-untyped-def]
    made = dict(circuit_pictures(path))
    kept = {
        str(p.relative_to(GALLERY)): p.read_text("utf-8") for p in GALLERY.glob(f"circuits/{path.stem}.*svg")
    }
    assert sorted(kept) == sorted(made), "run: python -m tests.gallery"
    assert not [name for name in made if made[name] != kept[name]], "run: python -m tests.gallery, and look"


@pytest.mark.parametrize("path", CIRCUITS, ids=lambda path: path.stem)
def test_the_words_of_every_state_stay_within_the_frame(path) -> None:  # type: ignore[no-untyped-def]
    for thumb in circuit_sheets(path):
        assert thumb.sheet.frame is not None
        assert inside(box_of_group(thumb.sheet, "words"), thumb.sheet.frame), thumb.file


def test_the_plates_of_the_catalogue_are_current() -> None:
    made = dict(plates())
    kept = {str(p.relative_to(GALLERY)): p.read_text("utf-8") for p in GALLERY.glob("symbols/*.svg")}
    assert kept == made, "run: python -m tests.gallery, and look"


def test_the_contact_sheet_shows_every_picture_of_the_circuits() -> None:
    kept = (GALLERY / "contact-sheet.svg").read_text("utf-8")
    assert kept == contact_svg(all_thumbs()), "run: python -m tests.gallery"
    assert all(thumb.file in kept for thumb in all_thumbs())
