"""A camera found by a chart, against what colour-science and the definition of XYZ say."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from colour.characterisation import polynomial_expansion_Finlayson2015

from inksim.colour import D50, delta_e_2000, lab, xyz
from inksim.common import InputError
from inksim.photo.camera import camera_of
from inksim.photo.charts import chart_of
from inksim.photo.fit import SRGB_TO_XYZ
from inksim.photo.seen import Seen
from inksim.photo.terms import TERMS, root_polynomial
from tests.accuracy._cameras import FORMATS, measured, take
from tests.accuracy.cameras import Z90, read
from tests.accuracy.recovery import samples

RGB = np.random.default_rng(5).uniform(0.01, 1.0, (200, 3))


def seen(names: list[str], rgb: np.ndarray, *, sd: float = 1e-4) -> list[Seen]:
    """Regions without noise, all in the middle of the picture."""
    return [
        Seen(name=name, rgb=each, rgb_sd=np.full(3, sd), x=0.5, y=0.5)
        for name, each in zip(names, rgb, strict=True)
    ]


def by_definition(spectra: np.ndarray) -> np.ndarray:
    """What a camera sees whose channels are the CIE 1931 observer's, turned by a fixed matrix."""
    return xyz(spectra, D50) / 100.0 @ np.linalg.inv(SRGB_TO_XYZ).T


def test_the_terms_span_the_published_root_polynomial() -> None:
    """Finlayson, Mackiewicz & Hurlbert 2015, degree 3, as colour-science expands it."""
    published = polynomial_expansion_Finlayson2015(RGB, 3, True)
    ours = root_polynomial(RGB)
    assert ours.shape == published.shape == (len(RGB), TERMS)
    for of, by in ((published, ours), (ours, published)):
        left = of - by @ np.linalg.lstsq(by, of, rcond=None)[0]
        assert np.abs(left).max() < 1e-9


@pytest.mark.parametrize("times", [0.1, 0.5, 3.0])
def test_an_exposure_times_the_light_gives_that_times_each_term(times: float) -> None:
    """What the root polynomial was published for."""
    assert root_polynomial(times * RGB) == pytest.approx(times * root_polynomial(RGB), rel=1e-9)


def test_a_camera_that_sees_as_the_observer_does_reads_textiles_right() -> None:
    """XYZ is linear in light by definition: nothing but the priors can bend it."""
    chart = chart_of("iso17321")
    assert chart.reflectance is not None
    camera = camera_of(chart, seen(list(chart.names), 0.8 * by_definition(chart.reflectance)))
    spectra = samples()["textiles"]
    light = 0.8 * by_definition(spectra)
    within = (light > 0.003).all(axis=1)  # of sRGB's primaries, as a file holds them
    found = camera.read_all(seen([str(at) for at in range(within.sum())], light[within]))
    off = delta_e_2000(lab(spectra[within], D50), np.array([each.lab for each in found]))
    assert off.mean() < 0.3
    assert within.sum() > 20


def test_more_noise_or_a_color_far_from_the_chart_is_less_sure() -> None:
    chart = chart_of("iso17321")
    assert chart.reflectance is not None
    camera = camera_of(chart, seen(list(chart.names), by_definition(chart.reflectance)))
    grey = seen(["gray"], np.array([[0.2, 0.2, 0.2]]))[0]
    noisy = replace(grey, rgb_sd=np.full(3, 0.01))
    vivid = seen(["vivid"], np.array([[0.005, 0.6, 0.9]]))[0]
    calm, rough, far = camera.read_all([grey, noisy, vivid])
    assert rough.sd_de00 > 1.5 * calm.sd_de00
    assert rough.shared_de00 == pytest.approx(calm.shared_de00)
    assert far.shared_de00 > 1.5 * calm.shared_de00


def test_one_card_tells_no_camera_and_says_so() -> None:
    camera = camera_of(chart_of("gray"), seen(["gray"], np.array([[0.2, 0.2, 0.2]])))
    assert any("too few patches" in each for each in camera.findings)
    assert np.isnan(camera.left_out_de00)


def test_a_chart_of_which_all_is_clipped_is_refused() -> None:
    with pytest.raises(InputError, match="all are clipped"):
        camera_of(
            chart_of("gray"),
            [replace(seen(["gray"], np.ones((1, 3)))[0], clipped=0.5)],
        )


@pytest.mark.parametrize("form", FORMATS)
def test_an_ordinary_camera_reads_cloth_as_well_as_was_asked(form: str) -> None:
    """A fixed part of the study (python -m tests.accuracy cameras): one sensor, two lights."""
    found = read(measured()[:1], form, lights=("D50", "F11"), every=2)
    assert found.off.mean() <= 2.0
    assert np.percentile(found.off, 95) <= 4.5
    assert (found.held > 0.8).all()


def test_colors_that_the_file_s_primaries_do_not_hold_are_read_by_likely_surfaces() -> None:
    """Measured textiles and CIE 2017 samples outside sRGB (IEC 61966-2-1), in a JPEG of it."""
    spectra = np.concatenate([samples()["textiles"], samples()["CIE 2017"]])
    vivid = spectra[by_definition(spectra).min(axis=1) < 0.0]
    chart, rng = chart_of("iso17321"), np.random.default_rng(4)
    off, by_map, z = [], [], []
    for light in ("D50", "D65", "LED-B3"):
        picture = take(measured()[0], light, "JPEG", vivid, rng)
        camera = camera_of(chart, picture.patches, surround=picture.surround)
        cut = [each for each in picture.regions if each.clipped > 0.5]
        true = picture.truth[[each.clipped > 0.5 for each in picture.regions]]
        found, alone = camera.read_all(cut), replace(camera, likely=None).read_all(cut)
        off.append(delta_e_2000(true, [each.lab for each in found]))
        by_map.append(delta_e_2000(true, [each.lab for each in alone]))
        z.append((true - [each.lab for each in found]) / [each.total_sd for each in found])
        assert all(any("beyond what the file holds" in n for n in each.notes) for each in found)
    assert len(np.concatenate(off)) >= 6
    assert np.mean(np.concatenate(off)) < 0.8 * np.mean(np.concatenate(by_map))
    assert np.mean(np.abs(np.concatenate(z)) < Z90) > 0.8
