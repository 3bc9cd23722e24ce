"""Plates: areas and ink by hand, mesh limits, files that rejoin to the picture."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from inksim.artwork.artwork import Artwork
from inksim.artwork.flats import find_flats
from inksim.colour.cielab import delta_e_2000
from inksim.colour.srgb import srgb8
from inksim.colour.viewing import Viewing, xyz
from inksim.common.errors import InputError
from inksim.job.from_artwork import job_of_artwork
from inksim.optics.halftone import grown
from inksim.preview.fine_check import fine_art
from inksim.preview.flat_routes import ArtworkResult, Key, job_colours, result_of_job
from inksim.printing.build import Build
from inksim.printing.swatches import swatch
from inksim.separation.dots import Screening
from inksim.separation.flat_art import flat_plates
from inksim.separation.halftone_print import TonalSet, tonal_lab, tonal_set
from inksim.separation.plate_files import fine_map, save_screened, write_plates
from inksim.separation.plates import (
    PlateSet,
    least_detail_um,
    least_tint,
    separate,
    tonal_plates,
)
from inksim.separation.tonal_separation import Separation, separate_picture, separation_table
from inksim.shop.load import load_shop
from tests.pictures import artwork

SHOP = load_shop()
D50 = Viewing()
CLOTH = SHOP.garment("Flour White")
INKS = ("Barley Yellow", "Foxglove Pink", "Cornflower Blue", "Hearth Black")


@cache
def tonal_separation(garment: str = "Coal Black", route: str = "white-base") -> Separation:
    inks = [SHOP.ink(name) for name in INKS]
    tonal = tonal_set(SHOP, garment=SHOP.garment(garment), inks=inks, route=route)
    y, x = np.mgrid[0:240, 0:300]
    picture = np.full((240, 300, 4), 255, dtype=np.uint8)
    picture[..., 0], picture[..., 1] = x * 255 // 299, y * 255 // 239
    picture[..., 2] = (128 + 90 * np.sin(x / 31) * np.cos(y / 27)).astype(np.uint8)
    picture[:30, :, 3] = 0
    return separate_picture(picture, separation_table(tonal))


def flat_art() -> np.ndarray:
    """Two bars, orange and teal, on transparent; 10 × 20 px and 15 × 20 px in 60 × 80."""
    picture = np.zeros((60, 80, 4), dtype=np.uint8)
    picture[20:40, 10:20] = (232, 98, 44, 255)
    picture[20:40, 20:35] = (20, 100, 110, 255)
    return picture


def decided(art: np.ndarray, garment: str, **more) -> ArtworkResult:
    flats = find_flats(artwork(art))
    job = job_of_artwork(
        "art", flats, width_px=art.shape[1], width_mm=art.shape[1] / 300 * 25.4, shop=SHOP,
        garments=[SHOP.garment(garment)], **more,
    )  # fmt: skip
    return result_of_job(job, flats, garment=job.garments[0], shop=SHOP, viewing=D50)


def plates_of(found: ArtworkResult, route: Key = "decided", **more) -> PlateSet:
    way = found.by(route).way
    assert way is not None
    return flat_plates(
        found.flats.labels, way.screens, job_colours(found.answer.job, found.flats),
        garment=found.garment, shop=more.pop("shop", SHOP), dpi=300.0, **more,
    )  # fmt: skip


def flat_set(route: Key = "white-base", **more) -> PlateSet:
    return plates_of(decided(flat_art(), "Coal Black"), route, **more)


# -- from an artwork in one go


def two_colours() -> Artwork:
    """Nothing, what a solid of Kiln Red prints straight on the cloth, and the bare cloth."""
    tonal = tonal_set(SHOP, garment=CLOTH, inks=[SHOP.ink("Kiln Red")], route="straight")
    solid = swatch([Build(garment=CLOTH, layers=tonal.layers)], press=SHOP.press)[0]
    picture = np.zeros((24, 36, 4), dtype=np.uint8)
    for at, reflectance in enumerate((solid, CLOTH.reflectance)):
        picture[:, 12 + 12 * at : 24 + 12 * at, :3] = srgb8(xyz(reflectance, D50), D50)[0]
    picture[:, 12:, 3] = 255
    return artwork(picture)


def test_an_artwork_of_an_inks_own_print_gets_its_solids_back() -> None:
    made = separate(
        two_colours(), shop=SHOP, garment=CLOTH, inks=[SHOP.ink("Kiln Red")], route="straight"
    )
    (plate,) = made.plates
    transparent, printed, bare = (plate.film[:, at + 2 : at + 10] for at in (0, 12, 24))
    assert printed.min() > 0.95 * 255
    assert transparent.max() == 0
    assert bare.max() == 0
    assert made.separation is not None
    assert made.separation.mean < 0.5


def test_inks_and_route_that_are_not_given_are_chosen_by_the_print() -> None:
    made = separate(two_colours(), shop=SHOP, garment=CLOTH)
    assert made.route == "straight", "nothing needs a base on white"
    assert "Kiln Red" in [plate.ink.name for plate in made.plates]
    assert made.separation is not None
    assert made.separation.mean < 1.0


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        ({"route": "discharge-base"}, "no discharge data"),
        ({"route": "straight", "lines_per_inch": 7.0}, "lines/inch"),
        ({"route": "straight", "choke_mm": 9.0}, "the choke"),
        ({"route": "straight", "tolerance": 0.0}, "the tolerance"),
    ],
)
def test_an_artwork_is_not_separated_by_what_cannot_be(wanted: dict, said: str) -> None:
    cloth = replace(CLOTH, discharge_grade=None, discharged=None)
    with pytest.raises(InputError, match=said):
        separate(two_colours(), shop=SHOP, garment=cloth, inks=[SHOP.ink("Kiln Red")], **wanted)


# -- areas and ink


def test_areas_and_ink_by_hand() -> None:
    """Pixels × (2.54 cm / 300)²; ink = wet deposit (µm = cm³/m²) × area × density."""
    plates = flat_set()
    assert [p.is_base for p in plates.plates] == [True, False, False]
    pixel_cm2 = (2.54 / 300) ** 2
    # the base, then light before dark: orange before teal
    for plate, pixels in zip(plates.plates, (500, 200, 300), strict=True):
        assert plate.area_cm2 == pytest.approx(pixels * pixel_cm2)
        assert plate.coverage == pytest.approx(pixels / (60 * 80))
        screen = plate.layer.screen
        passes = 1.0 + float(SHOP.press.values.pass_gain) * (plate.layer.passes - 1)
        wet_um = screen.volume_cm3_m2 * float(SHOP.press.values.release) * passes
        grams = wet_um * (plate.area_cm2 / 10_000) * plate.ink.density_g_cm3
        assert plate.ink_g == pytest.approx(grams)


def test_flats_of_one_ink_share_a_plate_and_bare_ones_have_none() -> None:
    hexes = [flat.hex for flat in find_flats(artwork(flat_art())).colours]
    found = decided(flat_art(), "Flour White", inks=dict.fromkeys(hexes, "Kiln Red"))
    made = plates_of(found, "straight")
    meshes = [(p.ink.name, p.layer.screen.name, p.layer.passes) for p in made.plates]
    assert {name for name, *_ in meshes} == {"Kiln Red"}
    assert len(set(meshes)) == len(meshes), "one screen, one plate"
    assert sum(p.film.sum(dtype=int) for p in made.plates) == 500 * 255
    with pytest.raises(InputError, match="no color of the artwork"):
        flat_plates(
            found.flats.labels, (), (None, None), garment=found.garment,
            shop=SHOP, dpi=300,
        )  # fmt: skip


def three_bars(*codes: tuple[int, int, int]) -> np.ndarray:
    """Bars of 20 × 20 px with 20 px between them, on transparent."""
    picture = np.zeros((60, 20 + 40 * len(codes), 4), dtype=np.uint8)
    for at, code in enumerate(codes):
        picture[20:40, 20 + 40 * at : 40 + 40 * at] = (*code, 255)
    return picture


MIXED = three_bars((255, 255, 255), (232, 98, 44), (17, 17, 17))
"""White, orange and black: on red cloth each goes its own way."""


@pytest.mark.parametrize("garment", ["Brick Red", "Coal Black", "Flour White", "Slate Gray"])
def test_plates_are_the_screens_decided(garment: str) -> None:
    """Every color is on the plates of the screens that its build is printed through, on no other.

    Read off the builds, not off the list of screens that the plates are made from.
    """
    found = decided(MIXED, garment)
    way = found.decided.way
    assert way is not None
    made = plates_of(found)
    assert len(made.plates) == len(way.screens)
    for at, name in enumerate(("#ffffff", "#e8622c", "#111111")):
        plan = next(p for p in way.plans if p.colour.name == name)
        inside = [p for p in made.plates if p.film[30, 30 + 40 * at]]
        laid = [(p.ink.name, p.layer.screen.name) for p in inside for _ in p.goes]
        wanted = [(layer.ink.name, layer.screen.name) for layer in plan.build.layers]
        assert laid == wanted, name
    for plate in made.plates:  # whole bars and nothing else
        bars = np.count_nonzero(plate.film[30, [30, 70, 110]])
        assert plate.film.sum(dtype=int) == 255 * 400 * bars


def test_a_white_left_as_its_base_is_on_the_base_plate_alone_and_not_choked() -> None:
    """A base draws in under the colors on it alone: a white letter keeps its width."""
    found = decided(MIXED, "Coal Black")
    way = found.decided.way
    assert way is not None
    at = {colour.name: n for n, colour in enumerate(found.answer.job.colours)}
    top, *others = [screen for screen in way.screens if at["#ffffff"] not in screen.shows]
    base = replace(top, over=(at["#e8622c"],), shows=(at["#ffffff"],))
    columns = [slice(10 + 40 * n, 50 + 40 * n) for n in range(3)]
    white, orange, black = columns

    def films(**more: float) -> list[np.ndarray]:
        made = flat_plates(
            found.flats.labels, (base, *others), job_colours(found.answer.job, found.flats),
            garment=found.garment, shop=SHOP, dpi=300.0, **more,
        )  # fmt: skip
        return [plate.film for plate in made.plates]

    under, *colours = films()
    assert under[:, white].any()
    assert under[:, orange].any()
    assert not under[:, black].any(), "black goes straight on the cloth"
    assert not any(film[:, white].any() for film in colours)
    choked, *same = films(choke_mm=0.2)
    assert np.array_equal(choked[:, white], under[:, white])
    assert 0 < choked[:, orange].sum(dtype=int) < under[:, orange].sum(dtype=int)
    assert all(np.array_equal(*pair) for pair in zip(colours, same, strict=True))


def test_plates_without_choke_have_the_areas_and_the_ink_of_the_job() -> None:
    found = decided(MIXED, "Coal Black")
    way = found.decided.way
    assert way is not None
    for plate, screen in zip(plates_of(found).plates, way.screens, strict=True):
        assert plate.area_cm2 == pytest.approx(screen.area_cm2, rel=1e-6)
        assert plate.ink_g == pytest.approx(screen.print_g, rel=1e-6)


def test_choke_and_trap_move_edges_by_their_millimeters() -> None:
    px = 300 / 25.4
    plain, fitted = flat_set(), flat_set(choke_mm=0.2, trap_mm=0.2)
    row = 30
    base = [p.plates[0].film[row].sum(dtype=int) / 255 for p in (plain, fitted)]
    assert base[0] - base[1] == pytest.approx(2 * 0.2 * px, abs=0.05)
    for before, after in zip(plain.plates[1:], fitted.plates[1:], strict=True):
        grown = (after.film[row].sum(dtype=int) - before.film[row].sum(dtype=int)) / 255
        assert grown == pytest.approx(0.2 * px, abs=0.05)  # on the neighbor's side only
        cloth = flat_art()[row, :, 3] == 0
        assert not after.film[row][cloth].any()


def on_shirt(tonal: TonalSet, plates: np.ndarray) -> np.ndarray:
    """Coverages that plates leave on the shirt, dots grown."""
    um, lines = tonal.growth
    return grown(plates, growth_um=um, lines_per_inch=lines)


def test_film_has_less_than_the_shirt_by_dot_growth() -> None:
    plates = tonal_plates(tonal_separation(), dpi=150.0)
    tonal = tonal_separation().table.tonal
    assert any(np.any((p.shirt > 100) & (p.shirt < 150)) for p in plates.plates)
    for plate in plates.plates:
        assert np.all(plate.film <= plate.shirt)
        middle = (plate.shirt > 100) & (plate.shirt < 150)
        assert np.all(plate.film[middle] < plate.shirt[middle] - 20)
        again = 255 * on_shirt(tonal, plate.film / 255.0)
        # codes of film are coarse where holes close; nowhere more than two codes of print
        assert np.abs(again - plate.shirt)[plate.shirt < 250].max() <= 2.6


# -- what the mesh holds


def test_plates_and_preview_hold_the_same_line_of_the_shop() -> None:
    """The shop's own narrowest line: what one says is too thin, the other does."""
    found = decided(np.repeat(flat_art(), 6, axis=0), "Coal Black")
    for least in (0.3, 1.0):  # the thinner bar is 0.85 mm wide
        rules = SHOP.rules.model_copy(update={"least_line_on_knit_mm": least})
        shop = replace(SHOP, rules=rules)
        made = plates_of(found, shop=shop)
        lost = [plate.least_detail_mm for plate in made.plates if plate.too_fine_share > 0.001]
        said = fine_art(found.decided.found, found.flats, dpi=300.0, shop=shop).parts
        thin = [part.least_mm for part in said if part.what == "line"]
        assert thin == lost == [1.0] * (least == 1.0)


def test_the_least_detail_of_a_mesh() -> None:
    """230 threads/inch, 44 µm: pitch 110.4, opening 66.4, two threads and it: 154 µm."""
    screen = SHOP.screen("230")
    assert least_detail_um(screen) == pytest.approx(2 * 44 + 25_400 / 230 - 44, abs=0.5)
    # as a round dot at 45 lines/inch (pitch 564 µm): π/4·(154/564)² of the cell
    assert least_tint(screen, lines_per_inch=45) == pytest.approx(0.0588, abs=0.001)


def test_hairlines_are_warned_of_and_marked() -> None:
    art = flat_art()
    art[45, 5:70] = (232, 98, 44, 255)  # one pixel, 0.085 mm
    made = plates_of(decided(art, "Flour White"))
    orange = next(p for p in made.plates if p.film[45].any())
    assert orange.too_fine_share == pytest.approx(65 / 265, abs=0.02)
    assert any("narrower than the 0." in said for said in made.warnings)
    marked = fine_map(orange, dpi=300.0)
    red = np.all(marked == (220, 40, 40), axis=-1)
    assert red[45, 5:70].all()
    assert not red[22:38, 12:18].any()


def test_light_tints_are_marked_where_dots_are_too_small() -> None:
    plates = tonal_plates(tonal_separation(), dpi=150.0)
    for plate in plates.plates:
        share = ((plate.shirt > 0) & (plate.shirt <= plate.least_tint * 255)).sum()
        assert plate.light_share == pytest.approx(share / (plate.shirt > 0).sum(), abs=1e-6)
        assert any("may not print" in w for w in plate.warnings) == (plate.light_share > 0.05)


# -- files


def plate_of(path: Path) -> np.ndarray:
    """A plate as any other program reads it: 255 a solid."""
    with Image.open(path) as image:
        assert image.mode == "L"
        return 255 - np.asarray(image)


@pytest.mark.parametrize("kind", ["png", "tiff"])
def test_plates_rejoined_give_the_print(tmp_path: Path, kind: str) -> None:
    """Written, read back by Pillow, grown: the same coverages and so the same colors."""
    found = tonal_separation()
    plates = tonal_plates(found, dpi=150.0)
    files = write_plates(plates, out=tmp_path, stem="river", kind=kind)
    assert [f.path.suffix for f in files] == [f".{kind}"] * 5
    films = {f.plate.ink.name: plate_of(f.path) for f in files}
    tonal = found.table.tonal
    shirt = np.rint(255.0 * on_shirt(tonal, np.arange(256) / 255.0)).astype(np.uint8)
    back = [shirt[films[layer.ink.name]] for layer in tonal.layers]
    some = np.random.default_rng(1).integers(0, 240 * 300, 2000)
    model = found.table.model
    prints = [
        tonal_lab(model, np.stack([p.ravel()[some] for p in stack], axis=-1) / 255.0, D50)
        for stack in (found.coverages, back)
    ]
    off = delta_e_2000(*prints)
    assert np.median(off) < 0.25
    assert np.percentile(off, 99) < 1.0
    with Image.open(files[0].path) as image:
        assert image.size == (300, 240)
        assert image.info["dpi"][0] == pytest.approx(150.0, abs=0.1)
        # black prints: nothing prints where the artwork is transparent
        assert np.asarray(image)[:30].min() == 255


def test_flat_plates_rejoined_give_the_labels(tmp_path: Path) -> None:
    files = write_plates(flat_set(), out=tmp_path, stem="bars")
    base, *colours = (plate_of(f.path) for f in files)
    assert np.array_equal(base, np.maximum.reduce(colours))
    assert not (np.minimum(*colours)).any()
    assert np.array_equal(base > 0, flat_art()[..., 3] > 0)


def test_a_screened_plate_read_by_other_software_has_the_gray_plates_means(tmp_path: Path) -> None:
    found = tonal_separation()
    plates = tonal_plates(found, dpi=150.0)
    screening = Screening(lines_per_inch=30.0, dpi=600.0, shape="elliptical")
    files = write_plates(plates, out=tmp_path, stem="river", screening=screening)
    assert [f.screened for f in files] == [False, True] * 5
    assert len({f.angle_deg for f in files if f.screened}) == 5
    for file in files[1::2]:
        with Image.open(file.path) as image:
            assert image.mode == "1"
            assert image.info["dpi"][0] == pytest.approx(600.0)
            dots = ~np.asarray(image)
        with tifffile.TiffFile(file.path) as tiff:
            assert tiff.pages[0].bitspersample == 1
        assert dots.shape == (960, 1200)
        block = 80  # 4 × 4 cells
        means = dots.reshape(12, block, 15, block).mean(axis=(1, 3))
        grey = file.plate.film.reshape(12, 20, 15, 20).mean(axis=(1, 3)) / 255
        assert np.abs(means - grey).max() < 0.03


def test_a_name_that_fails_leaves_nothing_behind(tmp_path: Path) -> None:
    (tmp_path / "bars--plate-1-chalk-white-base.png").mkdir()
    with pytest.raises(InputError, match="plate-1"):
        write_plates(flat_set(), out=tmp_path, stem="bars")
    assert [p.name for p in tmp_path.iterdir()] == ["bars--plate-1-chalk-white-base.png"]


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: tonal_plates(tonal_separation(), dpi=0.0), "10 to 10000"),
        (lambda: tonal_plates(tonal_separation(), dpi=150.0, choke_mm=-0.1), "the choke"),
        (lambda: tonal_plates(tonal_separation(), dpi=150.0, trap_mm=9.0), "the trap"),
        (
            lambda: write_plates(flat_set(), out=Path(), stem="x", kind="gif"),  # type: ignore[arg-type]
            "png or tiff",
        ),
    ],
)
def test_nonsense_is_refused(call, words: str) -> None:
    with pytest.raises(InputError, match=words):
        call()


def test_one_pixel_can_be_a_plate(tmp_path: Path) -> None:
    screening = Screening(lines_per_inch=45.0, dpi=1200.0)
    path = save_screened(
        tmp_path / "dot.tiff",
        np.full((1, 1), 255, dtype=np.uint8),
        plate_dpi=300.0,
        screening=screening,
        angle_deg=0.0,
    )
    with Image.open(path) as image:
        assert not np.asarray(image).any()
