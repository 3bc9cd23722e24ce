"""Colors that state their noise: inks and cloths drawn again and again, as a camera reads them.

The outside check is the draw itself: what is estimated from many noisy readings of one film or
cloth scatters about the truth, and the error that each estimate states has to be as wide.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from inksim.colour.cielab import delta_e_2000, difference_metric
from inksim.colour.grid import BANDS, WAVELENGTHS_NM
from inksim.colour.recovery import reflectance_from_lab
from inksim.colour.viewing import Viewing, lab
from inksim.common.errors import InputError
from inksim.optics.kubelka_munk import (
    external_from_internal,
    film_over,
    internal_from_external,
    ks_from_reflectance,
    reflectance_from_ks,
)
from inksim.stock.ink_look import InkLook, ink_from_look
from inksim.stock.lab_noise import LabNoise, lab_root, noise_of_mean, stated_noise
from inksim.stock.spectral_error import cloth_error

D50 = Viewing()
S = 0.02 * 550.0 / WAVELENGTHS_NM
K = 0.06 + 0.25 / (1.0 + np.exp((WAVELENGTHS_NM - 560.0) / 25.0))
DRAWS = 14


def over(K: np.ndarray, S: np.ndarray, um: float, card: float) -> np.ndarray:
    """Lab (3,) of a film over a card."""
    under = internal_from_external(card)
    return lab(external_from_internal(film_over(K, S, thickness_um=um, backing=under)), D50)


def prints(K: np.ndarray, S: np.ndarray) -> np.ndarray:
    """Lab (4, 3) of films that were not read."""
    return np.array([over(K, S, um, card) for um, card in ((4, 0.1), (4, 0.4), (9, 0.4), (9, 0.8))])


@cache
def looked_at(own: float, shared: float) -> tuple[InkLook, ...]:
    """An ink by two looks, drawn with noise."""
    rng, made = np.random.default_rng(5), []
    white, black = over(K, S, 6.0, 0.85), over(K, S, 6.0, 0.01)
    for _ in range(DRAWS):
        common = rng.normal(size=3)
        seen = [
            at + lab_root(at, own) @ rng.normal(size=3) + lab_root(at, shared) @ common
            for at in (white, black)
        ]
        noise = LabNoise(own, shared, "p" if shared else "")
        look = reflectance_from_lab(seen[0], D50)
        made.append(
            ink_from_look(look, film_um=6.0, over_black=seen[1], known="photo",
                          noise=noise, noise_black=noise)
        )  # fmt: skip
    return tuple(made)


def stated(look: InkLook, shapes: slice) -> np.ndarray:
    """Standard deviation (4, 3) of the prints by some shapes of the error."""
    here = prints(look.K, look.S)
    steps = [
        prints(look.K * np.exp(k), look.S * np.exp(s)) - here for k, s in look.error.shapes[shapes]
    ]
    return np.sqrt(np.sum(np.square(steps), axis=0))


@pytest.mark.parametrize(("own", "shared"), [(1.2, 0.0), (0.3, 1.5)])
def test_two_looks_are_as_unsure_as_their_noise(own: float, shared: float) -> None:
    looks = looked_at(own, shared)
    scatter = np.std([prints(look.K, look.S) for look in looks], axis=0)
    said = np.median([stated(look, slice(2, 10)) for look in looks[:4]], axis=0)  # of the noise
    ratio = said.sum(axis=0) / scatter.sum(axis=0)
    assert (ratio > 0.6).all()  # L*, a*, b*; 14 draws know a spread to 19 %
    assert (ratio < 1.9).all()


def test_a_wider_noise_is_a_wider_error() -> None:
    white, black = reflectance_from_lab(over(K, S, 6.0, 0.85), D50), over(K, S, 6.0, 0.01)
    widths = []
    for off in (0.3, 1.0, 3.0):
        noise = LabNoise(off)
        look = ink_from_look(white, film_um=6.0, over_black=black, known="photo",
                             noise=noise, noise_black=noise)  # fmt: skip
        widths.append(stated(look, slice(0, None)))
    by_lab = ink_from_look(white, film_um=6.0, over_black=black, known="lab")
    assert (widths[0].sum(axis=0) < widths[1].sum(axis=0)).all()
    assert (1.3 * widths[1].sum(axis=0) < widths[2].sum(axis=0)).all()
    # a photo as sure as a Lab that was read is an ink as sure
    near = widths[0].sum() / stated(by_lab, slice(0, None)).sum()
    assert near == pytest.approx(1.0, abs=0.2)


def test_what_two_looks_of_one_picture_share_does_half_the_harm() -> None:
    """A picture too light as a whole leaves the opacity nearly alone; two pictures do not."""
    white, black = reflectance_from_lab(over(K, S, 6.0, 0.85), D50), over(K, S, 6.0, 0.01)
    of_s = []
    for key in ("p", "q"):
        look = ink_from_look(
            white, film_um=6.0, over_black=black, known="photo",
            noise=LabNoise(0.3, 2.0, "p"), noise_black=LabNoise(0.3, 2.0, key),
        )  # fmt: skip
        of_s.append(float(look.error.total()[1].mean()))
    assert of_s[0] < 0.8 * of_s[1]


def test_a_photo_of_one_film_alone_widens_its_own_look() -> None:
    """The noise of one look comes back in the film that it is of, less nothing else."""
    true = over(K, S, 6.0, 0.85)
    look = ink_from_look(
        reflectance_from_lab(true, D50), film_um=6.0, covers="half", known="photo",
        noise=LabNoise(2.0),
    )  # fmt: skip
    told = look.error.shapes[4:7]  # after film, white and opacity
    moved = [over(look.K * np.exp(k), look.S, 6.0, 0.85) - over(look.K, look.S, 6.0, 0.85)
             for k, _ in told]  # fmt: skip
    noise = lab_root(true, 2.0)
    np.testing.assert_allclose(np.transpose(moved) @ np.array(moved), noise @ noise.T, rtol=0.25,
                               atol=0.3)  # fmt: skip


@pytest.mark.parametrize("off", [0.6, 2.0])
def test_a_cloth_read_by_photo_is_off_by_its_noise(off: float) -> None:
    cloth = reflectance_from_lab([45.0, 12.0, -20.0], D50)
    seen = lab(cloth, D50)
    error = cloth_error(cloth, data="photo", noise=LabNoise(off))
    ks = ks_from_reflectance(internal_from_external(cloth))
    moved = np.array(
        [
            lab(external_from_internal(reflectance_from_ks(ks * np.exp(0.1 * shape))), D50) - seen
            for shape in error.shapes[:3]
        ]
    ) / 0.1  # fmt: skip
    wide = np.trace(difference_metric(seen) @ moved.T @ moved)
    assert np.sqrt(wide / 3.0) * 1.596 == pytest.approx(off, rel=0.12)  # mean ΔE00 of an sd
    plain = cloth_error(cloth, data="recovered")
    assert len(error.shapes) == len(plain.shapes) + 3
    np.testing.assert_array_equal(error.shapes[3:], plain.shapes)
    assert cloth_error(cloth, data="measured").shapes.shape == (0, BANDS)


def test_the_noise_of_a_lab_has_the_size_it_says() -> None:
    rng = np.random.default_rng(1)
    for at in ([50.0, 0.0, 0.0], [40.0, 60.0, 40.0], [80.0, -5.0, 70.0]):
        root = lab_root(np.array(at), 0.2)
        drawn = np.array(at) + rng.normal(size=(4000, 3)) @ root
        assert delta_e_2000(at, drawn).mean() == pytest.approx(0.2, rel=0.04)
        np.testing.assert_allclose(root, root.T, atol=1e-12)


def test_means_lose_their_own_noise_and_keep_their_pictures() -> None:
    a, b = LabNoise(1.2, 0.9, "a"), LabNoise(1.2, 0.9, "b")
    assert noise_of_mean([a, a, a, a]) == pytest.approx((0.6, 0.9, "a"))
    both = noise_of_mean([a, b])
    assert (both.picture, both.shared) == ("a + b", pytest.approx(0.9 / np.sqrt(2.0)))
    assert both.pictures == pytest.approx({"a": 0.45, "b": 0.45})
    # a mean of a mean has the parts of its pictures
    assert noise_of_mean([both, both]).shared == pytest.approx(both.shared)


@pytest.mark.parametrize(
    ("own", "shared", "picture", "said"),
    [
        (-1.0, None, "", "sd_de00 is -1"),
        (float("nan"), None, "", "sd_de00 is nan"),
        (1.0, -1.0, "p", "shared_de00 is -1"),
        (1.0, 1.0, "", "no picture"),
        (1.0, None, "p", "no shared_de00"),
        (None, 1.0, "p", "no sd_de00"),
    ],
)
def test_a_noise_that_cannot_be_is_refused(
    own: float | None, shared: float | None, picture: str, said: str
) -> None:
    with pytest.raises(InputError, match=said):
        stated_noise(own, shared, picture, where="here")
