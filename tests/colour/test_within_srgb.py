"""What a screen cannot show keeps its lightness and hue, and loses chroma."""

from __future__ import annotations

import numpy as np
import pytest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.srgb import (
    UNSEEN,
    decode_srgb,
    encode_srgb,
    linear_srgb,
    srgb8,
    within_srgb,
    xyz_from_srgb8,
)
from inksim.colour.viewing import Viewing, lab_from_xyz, xyz, xyz_from_lab
from inksim.printing.build import ROUTES
from inksim.printing.swatches import swatch
from inksim.shop.load import load_shop
from inksim.shop.usual_builds import usual_build

D50, D65 = Viewing(), Viewing("D65", 2)


@pytest.mark.parametrize("viewing", [D50, D65, Viewing("A", 10)])
def test_what_a_screen_cannot_show_keeps_lightness_and_hue(viewing: Viewing) -> None:
    # The color nearest to it on the way to gray: less chroma is shown, and no more would be.
    rng = np.random.default_rng(3)
    lab = np.stack([rng.uniform(5, 95, 400), *rng.uniform(-110, 110, (2, 400))], axis=-1)
    light = linear_srgb(xyz_from_lab(lab, viewing), viewing)
    inside = np.all((light >= 0.0) & (light <= 1.0), axis=-1)
    assert 50 < inside.sum() < 350
    shown = within_srgb(light, viewing)
    assert shown.min() >= 0.0
    assert shown.max() <= 1.0
    np.testing.assert_array_equal(shown[inside], light[inside])
    back = lab_from_xyz(xyz_from_srgb8(255.0 * encode_srgb(shown), viewing), viewing)
    share = np.einsum("mk,mk->m", back[:, 1:], lab[:, 1:]) / np.sum(lab[:, 1:] ** 2, axis=-1)
    on_the_way = np.concatenate([lab[:, :1], share[:, None] * lab[:, 1:]], axis=-1)
    assert np.linalg.norm(back - on_the_way, axis=-1).max() < UNSEEN + 1e-3
    # and with more chroma it would not do
    more = on_the_way[~inside]
    more[:, 1:] *= 1.0 + (UNSEEN + 0.2) / np.linalg.norm(more[:, 1:], axis=-1)[:, None]
    cut = np.clip(linear_srgb(xyz_from_lab(more, viewing), viewing), 0.0, 1.0)
    seen = lab_from_xyz(xyz_from_srgb8(255.0 * encode_srgb(cut), viewing), viewing)
    missed = np.linalg.norm(seen - more, axis=-1)
    assert np.all((missed > UNSEEN) | (share[~inside] > 0.97))


def test_just_outside_is_just_inside() -> None:
    # A hair outside of the gamut's faces: nothing jumps.
    at = np.linspace(0.0, 1.0, 17)
    codes = np.stack(np.meshgrid(at, at, at), axis=-1).reshape(-1, 3)
    face = codes[np.any((codes == 0.0) | (codes == 1.0), axis=-1)]
    light = decode_srgb(face)
    grey = light.mean(axis=-1, keepdims=True)
    for away in (1e-9, 1e-4, 1e-3):
        outside = grey + (1.0 + away) * (light - grey)
        one, two = (
            lab_from_xyz(xyz_from_srgb8(255.0 * encode_srgb(each), D50), D50)
            for each in (light, within_srgb(outside, D50))
        )
        assert delta_e_2000(one, two).max() < 0.5


def test_brighter_than_white_is_white_and_darker_than_black_is_black() -> None:
    light = np.array([[1.3, 1.3, 1.3], [-0.2, -0.2, -0.2]])
    np.testing.assert_allclose(within_srgb(light, D50), [[1, 1, 1], [0, 0, 0]], atol=1e-9)


def test_the_demos_prints_keep_their_hue_on_a_screen() -> None:
    # Measured: cutting channels off turned the hue of these by 4° in the mean and 10° at most.
    shop = load_shop()
    builds = [
        usual_build(shop, garment=garment, ink=ink, route=route)
        for garment in shop.garments.values()
        for ink in shop.inks.values()
        for route in ROUTES
        if ink.kind == "color"
    ]
    seen = xyz(swatch(builds, press=shop.press), D50)
    outside = seen[~srgb8(seen, D50)[1]]
    assert len(outside) > 5
    print_, light = lab_from_xyz(outside, D50), linear_srgb(outside, D50)
    cut, kept = (
        lab_from_xyz(xyz_from_srgb8(255.0 * encode_srgb(shown), D50), D50)
        for shown in (np.clip(light, 0.0, 1.0), within_srgb(light, D50))
    )
    turned = [np.abs(_turn(print_, other)) for other in (cut, kept)]
    assert turned[0].max() > 5.0
    assert turned[1].max() < 2.0
    nearer = [float(delta_e_2000(print_, other).mean()) for other in (cut, kept)]
    assert nearer[1] < nearer[0] + 0.1


def _turn(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """Degrees from the hue of one to that of two."""
    angle = np.arctan2(two[:, 2], two[:, 1]) - np.arctan2(one[:, 2], one[:, 1])
    return np.asarray(np.degrees(np.angle(np.exp(1j * angle))))
