"""An artwork made ready: reduced in light, its cloth, its answer, its picture and its swatch."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from inksim.artwork.picture import decode8, halve_light, reduce_light
from inksim.artwork.read import read_artwork
from inksim.colour.cielab import delta_e_2000
from inksim.colour.srgb import rgb8_from_hex, srgb8, xyz_from_srgb8
from inksim.colour.viewing import Viewing, lab_from_xyz, xyz
from inksim.preview.flat_routes import ArtworkResult, artwork_result, at_life_size
from inksim.preview.prepare import (
    PreparedArtwork,
    artwork_on,
    busiest_place,
    png_bytes,
    prepare_artwork,
    print_on,
)
from inksim.shop.load import demo_shop_folder, load_shop
from inksim.shop.shop import Shop
from tests.pictures import artwork

D50 = Viewing()
ORANGE, TEAL = "#e8622c", "#0f5c63"


@pytest.fixture(scope="module")
def shop() -> Shop:
    return load_shop()


def two_colors(*, size: tuple[int, int] = (500, 600)) -> Image.Image:
    """Orange on the left, teal on the right, a bare strip between."""
    width, height = size
    image = Image.new("RGBA", size, (0, 0, 0, 0))
    third = width * 2 // 5
    image.paste((*rgb8_from_hex(ORANGE).tolist(), 255), (0, 0, third, height))
    image.paste((*rgb8_from_hex(TEAL).tolist(), 255), (width - third, 0, width, height))
    return image


@pytest.fixture(scope="module")
def ready() -> PreparedArtwork:
    return prepare_artwork(artwork(two_colors(), dpi=150.0))


def answered(ready: PreparedArtwork, shop: Shop, garment: str, **options: float) -> ArtworkResult:
    return artwork_result(
        ready,
        shop=shop,
        garment=shop.garment(garment),
        viewing=D50,
        tolerance=options.get("tolerance", 3.0),
    )


@pytest.mark.parametrize("factor", [1, 2, 3, 7])
def test_light_is_reduced_as_pillow_reduces_it(factor: int) -> None:
    # independent: Pillow's Image.reduce on float channels, which averages cut blocks alike
    rng = np.random.default_rng(5)
    rgba = rng.integers(0, 256, (38, 45, 4), dtype=np.uint8)
    alpha = rgba[..., 3] / np.float32(255)
    channels = [decode8(rgba[..., c]) * alpha for c in range(3)] + [alpha]
    wanted = np.stack(
        [np.array(Image.fromarray(c.astype(np.float32)).reduce(factor)) for c in channels], axis=-1
    )
    assert np.allclose(reduce_light(rgba, factor), wanted, atol=2e-6)


def test_halving_keeps_the_mean_of_an_even_picture() -> None:
    drawn = np.random.default_rng(6).random((8, 10, 4), dtype=np.float32)
    small = halve_light(drawn)
    assert small.shape == (4, 5, 4)
    assert np.allclose(small.mean(axis=(0, 1)), drawn.mean(axis=(0, 1)), atol=1e-6)
    assert halve_light(drawn[:7, :9]).shape == (4, 5, 4)


def test_a_transparent_pixel_is_the_garment_and_an_opaque_one_the_artwork(
    ready: PreparedArtwork, shop: Shop
) -> None:
    cloth = shop.garment("Brick Red")
    shown = artwork_on(ready.large, cloth, D50)
    code, _ = srgb8(xyz(cloth.reflectance, D50), D50)
    rows, columns, _ = shown.shape
    assert np.array_equal(shown[rows // 2, columns // 2], code)
    assert np.array_equal(shown[rows // 2, 5], rgb8_from_hex(ORANGE))
    assert np.array_equal(shown[rows // 2, -5], rgb8_from_hex(TEAL))


@pytest.mark.parametrize("garment", ["Flour White", "Slate Gray", "Coal Black"])
def test_a_drawn_area_has_its_swatch_as_its_mean(
    ready: PreparedArtwork, shop: Shop, garment: str
) -> None:
    # the same 0.3 ΔE00 that holds the renderer to the swatch
    found = answered(ready, shop, garment)
    for route in found.routes:
        shot = print_on(ready.large, route.look)
        columns = shot.shape[1]
        areas = {
            ORANGE: shot[:, 10 : columns * 2 // 5 - 10],
            TEAL: shot[:, columns * 3 // 5 + 10 : -10],
        }
        for color in route.colours:
            light = decode8(areas[color.asked]).reshape(-1, 3).mean(axis=0)
            mean = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
            seen = lab_from_xyz(xyz_from_srgb8(mean * 255.0, D50), D50)
            # what the screen cannot show is compared as it shows it
            code = lab_from_xyz(xyz_from_srgb8(rgb8_from_hex(color.prediction.hex), D50), D50)
            swatch = color.prediction.lab if color.prediction.in_srgb_gamut else code
            assert delta_e_2000(swatch, seen) < 0.3


def test_the_answer_follows_the_trade(ready: PreparedArtwork, shop: Shop) -> None:
    # common practice, no source: none on white, a white base under brights on black
    assert answered(ready, shop, "Flour White").best.route == "straight"
    black = answered(ready, shop, "Coal Black")
    assert black.best.route == "white-base"
    chroma = [np.hypot(*r.colours[0].prediction.lab[1:]) for r in black.routes]
    assert [r.route for r in black.routes] == ["straight", "discharge-base", "white-base"]
    assert chroma == sorted(chroma)
    polyester = answered(ready, shop, "Anvil Black Sport")
    assert "discharge only reaches cotton" in polyester.why_not["discharge-base"]
    assert [r.route for r in polyester.routes] == ["straight", "white-base"]


def test_every_color_of_a_route_stands_on_the_same_base(shop: Shop) -> None:
    ready = prepare_artwork(read_artwork(demo_shop_folder() / "artwork" / "harvest-regatta.png"))
    for garment in shop.garments.values():
        for route in answered(ready, shop, garment.name).routes:
            bases = {
                (base.screen.name, base.passes, base.flash) if base else None
                for base in (c.prediction.build.base for c in route.colours)
            }
            assert len(bases) == 1, garment.name


def test_a_wider_tolerance_is_surer_by_every_route(ready: PreparedArtwork, shop: Shop) -> None:
    asked = [answered(ready, shop, "Slate Gray", tolerance=t) for t in (1.0, 2.0, 4.0, 8.0)]
    for route in ("discharge-base", "white-base"):
        chances = [v.chance for each in asked if (v := each.by(route).verdict) is not None]
        assert chances == sorted(chances)
        assert len(chances) == 4
    for each in asked[-1].routes:
        assert each.verdict is not None
        assert each.verdict.chance <= each.weakest.verdict.chance


def test_a_color_left_bare_is_cloth(ready: PreparedArtwork, shop: Shop) -> None:
    cloth = shop.garment("Coal Black")
    bare = artwork_result(
        ready,
        shop=shop,
        garment=cloth,
        viewing=D50,
        tolerance=3.0,
        inks={TEAL: "none", ORANGE: "Kiln Red"},
    )
    assert [c.asked for c in bare.best.colours] == [ORANGE]
    shot = print_on(ready.large, bare.best.look)
    strip, right = shot[:, 230:270], shot[:, 330:490]
    assert np.allclose(strip.mean(axis=(0, 1)), right.mean(axis=(0, 1)), atol=1.0)


def test_a_window_at_life_size_is_part_of_the_full_picture(
    ready: PreparedArtwork, shop: Shop
) -> None:
    look = answered(ready, shop, "Coal Black").best.look
    whole = at_life_size(ready, look, center=(0.5, 0.5), size_px=(10_000, 10_000))
    assert whole.shape == (600, 500, 3)
    part = at_life_size(ready, look, center=(1.0, 0.0), size_px=(120, 80))
    assert np.array_equal(part, whole[:80, -120:])


def test_the_busiest_place_is_where_edges_meet() -> None:
    image = two_colors(size=(1400, 1400))
    for at in range(20):
        image.paste((0, 0, 0, 0), (30 + at * 7, 1200, 33 + at * 7, 1390))
    across, down = busiest_place(prepare_artwork(artwork(image)))
    assert across < 0.25
    assert down > 0.75


def test_a_png_gives_the_picture_back() -> None:
    import io

    picture = np.random.default_rng(1).integers(0, 256, (20, 30, 3), dtype=np.uint8)
    assert np.array_equal(np.array(Image.open(io.BytesIO(png_bytes(picture)))), picture)
