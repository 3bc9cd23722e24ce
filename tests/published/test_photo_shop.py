"""A small fixed part of the study of shops read by photo: python -m tests.accuracy photo_shop."""

from __future__ import annotations

from tests.accuracy.photo_shop import cover, medians, study


def test_a_photo_does_better_than_half_of_what_a_hex_does() -> None:
    """One shop; the study's sixteen say by how much: the ratio differs from shop to shop."""
    found = study(1, ("hex", "photo"), first=1)
    (by_hex,), (by_photo,) = medians(found["hex"]), medians(found["photo"])
    assert by_photo < 0.5 * by_hex
    assert 0.75 < cover(found["photo"]) < 0.99
