"""An artwork made ready: reduced in light, its cloth, its answer, its picture and its swatch."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from PIL import Image

from inksim.artwork.picture import decode8, halve_light, reduce_light
from inksim.artwork.read import read_artwork
from inksim.colour.cielab import delta_e_2000
from inksim.colour.srgb import rgb8_from_hex, srgb8, xyz_from_srgb8
from inksim.colour.viewing import Viewing, lab_from_xyz, xyz
from inksim.picture.render import Look
from inksim.preview.flat_routes import (
    ArtworkResult,
    at_life_size,
    build_look,
    goes_by,
)
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
from tests.artwork_results import artwork_result
from tests.pictures import artwork

D50 = Viewing()
ORANGE, TEAL = "#e8622c", "#0f5c63"


@pytest.fixture(scope="module")
def shop() -> Shop:
    return load_shop()


def two_colours(*, size: tuple[int, int] = (500, 600)) -> Image.Image:
    """Orange on the left, teal on the right, a bare strip between."""
    width, height = size
    image = Image.new("RGBA", size, (0, 0, 0, 0))
    third = width * 2 // 5
    image.paste((*rgb8_from_hex(ORANGE).tolist(), 255), (0, 0, third, height))
    image.paste((*rgb8_from_hex(TEAL).tolist(), 255), (width - third, 0, width, height))
    return image


@pytest.fixture(scope="module")
def ready() -> PreparedArtwork:
    return prepare_artwork(artwork(two_colours(), dpi=150.0))


def answered(
    ready: PreparedArtwork, shop: Shop, garment: str, *, tolerance: float = 3.0, **options: Any
) -> ArtworkResult:
    return artwork_result(
        ready,
        shop=shop,
        garment=shop.garment(garment),
        viewing=D50,
        tolerance=tolerance,
        **options,
    )


def lettering(code: str) -> PreparedArtwork:
    """A block of one color on nothing."""
    image = Image.new("RGBA", (300, 200), (0, 0, 0, 0))
    image.paste((*rgb8_from_hex(code).tolist(), 255), (40, 40, 260, 160))
    return prepare_artwork(artwork(image, dpi=150.0))


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
    for route in (found.decided, *found.routes):
        shot = print_on(ready.large, route.look)
        columns = shot.shape[1]
        areas = {
            ORANGE: shot[:, 10 : columns * 2 // 5 - 10],
            TEAL: shot[:, columns * 3 // 5 + 10 : -10],
        }
        for plan in route.plans:
            assert plan is not None
            light = decode8(areas[plan.colour.name]).reshape(-1, 3).mean(axis=0)
            mean = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
            seen = lab_from_xyz(xyz_from_srgb8(mean * 255.0, D50), D50)
            # what the screen cannot show is compared as it shows it
            code = lab_from_xyz(xyz_from_srgb8(rgb8_from_hex(plan.prediction.hex), D50), D50)
            swatch = plan.prediction.lab if plan.prediction.in_srgb_gamut else code
            assert delta_e_2000(swatch, seen) < 0.3


def routes_of(found: ArtworkResult) -> list[str]:
    assert found.decided.way is not None
    return [plan.build.route for plan in found.decided.way.plans]


def test_the_answer_follows_the_trade(ready: PreparedArtwork, shop: Shop) -> None:
    # common practice, no source: none on white, a white base under brights on black
    assert routes_of(answered(ready, shop, "Flour White")) == ["straight", "straight"]
    black = answered(ready, shop, "Coal Black")
    assert routes_of(black) == ["white-base", "white-base"]
    chroma = [
        np.hypot(*r.plans[at].prediction.lab[1:])  # of the orange
        for r in black.routes
        for at, plan in enumerate(r.plans)
        if plan is not None and plan.colour.name == ORANGE
    ]
    assert [r.key for r in black.routes] == ["straight", "discharge-base", "white-base"]
    assert chroma == sorted(chroma)
    polyester = answered(ready, shop, "Anvil Black Sport")
    assert "discharge only reaches cotton" in polyester.why_not["discharge-base"]
    assert [r.key for r in polyester.routes] == ["straight", "white-base"]


@pytest.mark.parametrize("garment", ["Brick Red", "Coal Black"])
def test_white_lettering_on_dark_cloth_prints_white(shop: Shop, garment: str) -> None:
    # common practice, no source: a printer lays down white for white, no cream and no gray
    found = answered(lettering("#ffffff"), shop, garment)
    (plan,) = found.plans
    assert plan is not None
    assert plan.build.ink is not None
    assert plan.build.ink.kind == "white-base"
    lightness, a, b = plan.prediction.lab
    assert lightness > 80.0
    assert np.hypot(a, b) < 6.0
    # one white screen, whether it is printed once or printed, flashed and printed again
    assert found.decided.way is not None
    assert len(found.decided.way.screens) == 1


def test_white_lettering_on_a_white_shirt_is_left_bare(shop: Shop) -> None:
    ready = lettering("#ffffff")
    found = answered(ready, shop, "Flour White")
    (plan,) = found.plans
    assert plan is not None
    assert plan.build.bare
    assert found.decided.verdict is None
    assert found.decided.way is not None
    assert found.decided.way.screens == ()
    assert not found.routes
    shot = print_on(ready.large, found.decided.look)
    assert np.array_equal(shot, print_on(ready.large, build_look_of_cloth(shop, "Flour White")))


def build_look_of_cloth(shop: Shop, garment: str) -> Look:
    cloth = shop.garment(garment)
    return build_look([None], garment=cloth, press=shop.press.values, viewing=D50)


def test_a_route_that_is_decided_is_not_decided_twice(ready: PreparedArtwork, shop: Shop) -> None:
    found = answered(ready, shop, "Coal Black")
    assert found.by("white-base").found is found.decided.found
    assert found.by("straight").found is not found.decided.found


@pytest.mark.parametrize("garment", ["Coal Black", "Brick Red", "Flour White", "Slate Gray"])
def test_by_one_route_every_printed_color_goes_by_it(shop: Shop, garment: str) -> None:
    ready = prepare_artwork(read_artwork(demo_shop_folder() / "artwork" / "harvest-regatta.png"))
    for route in answered(ready, shop, garment).routes:
        assert route.way is not None
        assert all(goes_by(plan.build, route.key) for plan in route.way.printed)
        assert len({s.ink.name for s in route.way.screens if s.base}) <= 1


def test_a_wider_tolerance_is_surer_by_every_route(ready: PreparedArtwork, shop: Shop) -> None:
    asked = [answered(ready, shop, "Slate Gray", tolerance=t) for t in (1.0, 2.0, 4.0, 8.0)]
    for key in ("decided", "discharge-base", "white-base"):
        chances = [v.chance for each in asked if (v := each.by(key).verdict) is not None]
        assert chances == sorted(chances)
        assert len(chances) == 4
    for each in asked[-1].routes:
        assert each.verdict is not None
        assert each.way is not None
        assert each.verdict.chance <= each.way.weakest.verdict.chance


def test_a_color_left_out_by_hand_is_cloth(ready: PreparedArtwork, shop: Shop) -> None:
    by_hand = {TEAL: "none", ORANGE: "Kiln Red"}
    found = answered(ready, shop, "Coal Black", inks=by_hand)
    printed = [plan for plan in found.plans if plan is not None]
    assert [(p.colour.name, p.build.ink and p.build.ink.name) for p in printed] == [
        (ORANGE, "Kiln Red")
    ]
    shot = print_on(ready.large, found.decided.look)
    strip, right = shot[:, 230:270], shot[:, 330:490]
    assert np.allclose(strip.mean(axis=(0, 1)), right.mean(axis=(0, 1)), atol=1.0)


def many_colours() -> PreparedArtwork:
    """Nine bars, two of them blues that are hard to tell apart: too many for six stations."""
    codes = ("#ffffff", "#c8102e", "#f2c230", "#0f5c63", "#e8622c", "#1f3c88", "#274690",
             "#2e7d32", "#111111")  # fmt: skip
    image = Image.new("RGBA", (900, 300), (0, 0, 0, 0))
    for at, code in enumerate(codes):
        image.paste((*rgb8_from_hex(code).tolist(), 255), (20 + at * 95, 20, 105 + at * 95, 280))
    return prepare_artwork(artwork(image, dpi=100.0))


def test_merged_colors_are_drawn_as_what_they_are_printed_as_and_can_be_kept_apart(
    shop: Shop,
) -> None:
    ready = many_colours()
    found = answered(ready, shop, "Coal Black")
    way = found.decided.way
    assert way is not None
    fits = shop.stations.stations * way.way.runs
    assert way.stations <= fits
    merged = [plan for plan in found.plans if plan is not None and plan.merged]
    by_name = {plan.colour.name: plan for plan in found.plans if plan is not None}
    for plan in merged:
        other = by_name[plan.merged]
        assert plan.build == other.build
    assert merged or way.way.runs > 1
    if merged:
        name = merged[0].colour.name
        apart = answered(ready, shop, "Coal Black", keep_apart=(name,))
        assert all(p is None or p.colour.name != name or not p.merged for p in apart.plans)


def test_what_the_press_cannot_print_is_said_and_nothing_is_drawn(shop: Shop) -> None:
    small = replace(shop, stations=shop.stations.model_copy(update={"stations": 1, "flashes": 0}))
    found = answered(many_colours(), small, "Coal Black", merge=False)
    assert found.decided.way is None
    assert "stations" in found.decided.said() or "station" in found.decided.said()
    assert found.plans == (None,) * 9


def test_a_window_at_life_size_is_part_of_the_full_picture(
    ready: PreparedArtwork, shop: Shop
) -> None:
    look = answered(ready, shop, "Coal Black").decided.look
    whole = at_life_size(ready, look, centre=(0.5, 0.5), size_px=(10_000, 10_000))
    assert whole.shape == (600, 500, 3)
    part = at_life_size(ready, look, centre=(1.0, 0.0), size_px=(120, 80))
    assert np.array_equal(part, whole[:80, -120:])


def test_the_busiest_place_is_where_edges_meet() -> None:
    image = two_colours(size=(1400, 1400))
    for at in range(20):
        image.paste((0, 0, 0, 0), (30 + at * 7, 1200, 33 + at * 7, 1390))
    across, down = busiest_place(prepare_artwork(artwork(image)))
    assert across < 0.25
    assert down > 0.75


def test_a_png_gives_the_picture_back() -> None:
    import io

    picture = np.random.default_rng(1).integers(0, 256, (20, 30, 3), dtype=np.uint8)
    assert np.array_equal(np.array(Image.open(io.BytesIO(png_bytes(picture)))), picture)
