"""What `inksim preview` shows besides: places on a shirt, register errors, what no screen shows."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from inksim.cli.commands import main
from inksim.colour.viewing import Viewing
from inksim.common.errors import InputError
from inksim.picture.cloth_tile import knit_tile
from inksim.picture.masks import DARK_LINE, LIGHT_LINE
from inksim.picture.render import Look, colour_table
from inksim.picture.shirt import on_shirt
from inksim.preview.views import beyond_words, fitting_width, share_beyond
from inksim.stock.place import MOST_MM, PLACES, USUAL_TOP_MM, Place, check_fit
from tests.pictures import artwork
from tests.small_shop import few_inks

SHIRT_PX_PER_MM = 1600 / (744 + 2 * 36)
"""Of `--on front` and `back`: the drawing is 744 mm long with a margin of 36 mm."""
SLEEVE_PX_PER_MM = 1600 / 340
BLACK, WHITE = ("--garment", "Coal Black"), ("--garment", "Flour White")


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three colors and a white base, which is all that the pictures here need."""
    folder = tmp_path_factory.mktemp("shop") / "few"
    return few_inks(folder, "Lantern Orange", "Weir Teal", "Foxglove Pink", "Chalk White Base")


def preview(art: Path, out: Path, *words: str | Path) -> dict[str, object]:
    done = run("preview", art, *words, "--out", out, "--json")
    assert done.exit_code == 0, done.output
    return {route["route"]: route for route in json.loads(done.stdout)["routes"]}


def views(route: object) -> dict[str, Path]:
    """Pictures by the first words that are said of them."""
    assert isinstance(route, dict)
    return {view["what"].split(",")[0]: Path(view["file"]) for view in route["views"]}


def pixels(path: Path) -> np.ndarray:
    with Image.open(path) as image:
        return np.asarray(image.convert("RGB")).astype(int)


@pytest.fixture
def block(tmp_path: Path) -> Path:
    """A full orange rectangle, 60 × 40 mm at 100 dpi."""
    path = tmp_path / "block.png"
    image = Image.new("RGBA", (236, 157), (232, 98, 44, 255))
    image.save(path, dpi=(100, 100))
    return path


@pytest.fixture
def two(tmp_path: Path) -> Path:
    """Orange beside teal on nothing, 254 dpi: 10 pixels a mm."""
    image = Image.new("RGBA", (300, 200), (0, 0, 0, 0))
    image.paste((232, 98, 44, 255), (50, 50, 150, 150))
    image.paste((15, 92, 99, 255), (150, 50, 250, 150))
    path = tmp_path / "two.png"
    image.save(path, dpi=(254, 254))
    return path


@pytest.fixture
def hills(tmp_path: Path) -> Path:
    """A tonal picture, greens and blues, 254 dpi, with bare cloth round it."""
    y, x = np.mgrid[0:90, 0:120]
    rgba = np.zeros((90, 120, 4), dtype=np.uint8)
    rgba[..., 0] = 40 + x
    rgba[..., 1] = 60 + 2 * y
    rgba[..., 2] = (128 + 100 * np.sin(x / 13) * np.cos(y / 11)).astype(np.uint8)
    rgba[15:75, 20:100, 3] = 255
    path = tmp_path / "hills.png"
    Image.fromarray(rgba).save(path, dpi=(254, 254))
    return path


# -- where it lands, in mm


@pytest.mark.parametrize(("place", "neck_mm"), [("front", 102.0), ("back", 20.0)])
def test_on_the_shirt_the_print_lies_where_it_is_asked_for(
    block: Path, tmp_path: Path, shop: Path, place: str, neck_mm: float
) -> None:
    """180 mm wide, 90 mm below a collar whose rib is 19 mm wide, in the middle."""
    words = ("--on", place, "--print-width", "180", "--print-top", "90")
    routes = preview(block, tmp_path / "out", *BLACK, *words, "--shop", shop)
    page = pixels(views(routes["white-base"])[f"on the {place}"])
    assert page.shape[0] == 1600
    ys, xs = np.nonzero(page[..., 0] - page[..., 2] > 60)
    assert (np.ptp(xs) + 1) / SHIRT_PX_PER_MM == pytest.approx(180, abs=1.5)
    assert (np.ptp(ys) + 1) / SHIRT_PX_PER_MM == pytest.approx(180 * 157 / 236, abs=1.5)
    assert (xs.min() + xs.max()) / 2 == pytest.approx(page.shape[1] / 2, abs=2)
    assert ys.min() / SHIRT_PX_PER_MM - 36 == pytest.approx(neck_mm + 19 + 90, abs=1.5)


def test_on_the_sleeve_the_print_lies_above_the_hem_and_points_to_the_shoulder(
    block: Path, tmp_path: Path, shop: Path
) -> None:
    words = ("--on", "sleeve", "--print-width", "60", "--print-top", "30")
    routes = preview(block, tmp_path / "out", *BLACK, *words, "--shop", shop)
    page = pixels(views(routes["white-base"])["on the sleeve"])
    printed = page[..., 0] - page[..., 2] > 60
    high = 60 * 157 / 236
    assert printed.sum() / SLEEVE_PX_PER_MM**2 == pytest.approx(60 * high, rel=0.03)
    ys, xs = np.nonzero(printed)
    # The view begins 140 mm right of the shirt's middle, at the neck's height. The hem of the
    # sleeve runs from (386, 252) to (308, 300); its middle is (347, 276).
    middle = np.array([xs.mean() / SLEEVE_PX_PER_MM + 140, ys.mean() / SLEEVE_PX_PER_MM])
    along = np.array([308 - 386, 300 - 252]) / np.hypot(78, 48)
    from_hem = middle - (347, 276)
    assert from_hem @ along == pytest.approx(0, abs=1.5)
    assert np.hypot(*from_hem) == pytest.approx(30 + high / 2, abs=1.5)
    # Its long side is parallel to the hem: the print's main axis.
    spread = np.linalg.eigh(np.cov(np.stack([xs, ys])))[1][:, 1]
    assert abs(spread @ along) == pytest.approx(1, abs=2e-3)


def test_on_the_sleeve_the_top_is_up(tmp_path: Path, shop: Path) -> None:
    """The upper half, teal, lies nearer to the shoulder: higher and further left in the view."""
    image = Image.new("RGBA", (200, 200), (232, 98, 44, 255))
    image.paste((15, 92, 99, 255), (0, 0, 200, 100))
    image.save(tmp_path / "halves.png", dpi=(100, 100))
    words = (*WHITE, "--on", "sleeve", "--shop", shop)
    routes = preview(tmp_path / "halves.png", tmp_path / "out", *words)
    page = pixels(views(routes["straight"])["on the sleeve"])
    orange = np.argwhere(page[..., 0] - page[..., 2] > 60).mean(axis=0)
    teal = np.argwhere(page[..., 2] - page[..., 0] > 60).mean(axis=0)
    up = (orange - teal)[::-1] / np.hypot(*(orange - teal))
    np.testing.assert_allclose(up, (0.524, 0.852), atol=0.02)


@pytest.fixture(scope="module")
def parts() -> tuple[Look, np.ndarray]:
    cloth = np.broadcast_to(np.linspace(0.5, 0.2, 31), (1, 256, 31))
    return colour_table(cloth, Viewing()), knit_tile(px_per_mm=6.0)


@pytest.mark.parametrize("place", PLACES)
def test_every_place_holds_what_it_says_and_no_more(
    place: Place, parts: tuple[Look, np.ndarray]
) -> None:
    look, tile = parts
    widest, longest = MOST_MM[place]
    high = longest - USUAL_TOP_MM[place]
    given = {"look": look, "tile": tile, "tile_px_per_mm": 6.0, "height_px": 400, "place": place}
    red = np.zeros((round(10 * high), round(10 * widest), 3), dtype=np.uint8)
    red[..., 0] = 220
    page = on_shirt(red[::10, ::10], print_width_mm=widest, **given).astype(int)  # type: ignore[arg-type]
    scale = 400 / (340 if place == "sleeve" else 744 + 2 * 36)
    area = (page[..., 0] - page[..., 2] > 60).sum() / scale**2
    assert area == pytest.approx(widest * high, rel=0.05)  # all of it is on the shirt
    with pytest.raises(InputError, match=f"does not fit the {place}"):
        on_shirt(red[::10, ::10], print_width_mm=widest, print_top_mm=longest, **given)  # type: ignore[arg-type]


@pytest.mark.parametrize("place", PLACES)
def test_the_widest_print_fits_in_inches_too(place: Place) -> None:
    """480 mm is said as 18.9 in, which is 480.06 mm."""
    in_inches = round(MOST_MM[place][0] / 25.4, 1)
    check_fit(place, width_mm=in_inches * 25.4, height_mm=20.0)
    with pytest.raises(InputError, match="does not fit"):
        check_fit(place, width_mm=(in_inches + 0.1) * 25.4, height_mm=20.0)


def test_a_shirt_kept_is_the_shirt_drawn_anew(parts: tuple[Look, np.ndarray]) -> None:
    look, tile = parts
    red = np.full((40, 60, 3), (220, 0, 0), dtype=np.uint8)

    def page(place: Place, height_px: int) -> bytes:
        return on_shirt(
            red, look=look, tile=tile, tile_px_per_mm=6.0, print_width_mm=60.0, place=place,
            height_px=height_px,
        ).tobytes()  # fmt: skip

    sizes = [(place, height_px) for place in PLACES for height_px in (300, 400)]
    first = [page(*size) for size in sizes]
    assert len(set(first)) == len(sizes)
    # the last two are kept still, the others are drawn once more
    assert [page(*size) for size in reversed(sizes)] == first[::-1]


def test_a_print_too_large_for_its_place_is_drawn_as_wide_as_fits() -> None:
    wide = artwork(Image.new("RGBA", (400, 100), (9, 9, 9, 255)), dpi=25.4)  # 400 mm
    assert fitting_width(wide, "front", dpi=25.4) == pytest.approx(400)
    assert fitting_width(wide, "sleeve", dpi=25.4) == MOST_MM["sleeve"][0]
    long = artwork(Image.new("RGBA", (100, 1000), (9, 9, 9, 255)), dpi=25.4)
    assert fitting_width(long, "sleeve", dpi=25.4) == pytest.approx((150 - 25) / 10)


# -- what no screen shows


def test_the_map_is_hatched_where_the_print_leaves_srgb(tmp_path: Path) -> None:
    """A yellow on white leaves sRGB where its own prediction says so; an orange does not.

    The standard: IEC 61966-2-1, linear values of sRGB lie in 0..1.
    """
    image = Image.new("RGBA", (200, 120), (0, 0, 0, 0))
    image.paste((255, 176, 0, 255), (20, 20, 100, 100))
    image.paste((232, 98, 44, 255), (100, 20, 180, 100))
    image.save(tmp_path / "pair.png", dpi=(254, 254))
    routes = preview(tmp_path / "pair.png", tmp_path / "out", *WHITE, "--beyond-screen")
    beyond = 0
    for route in routes.values():
        assert isinstance(route, dict)
        drawn = pixels(views(route)["hatched where no screen shows its color"])
        assert drawn.shape[:2] == (120, 200)
        dark, light = (np.all(drawn == np.array(line), axis=-1) for line in (DARK_LINE, LIGHT_LINE))
        outside = [not p["in_srgb_gamut"] for p in route["predictions"]]
        assert len(outside) == 2
        for at, left in enumerate((30, 110)):
            here = slice(25, 95), slice(left, left + 60)
            # a quarter of the strokes each; between them the print in its color
            for line in (dark, light):
                assert line[here].mean() == pytest.approx(0.25 if outside[at] else 0.0, abs=0.01)
            if outside[at]:
                kept = drawn[here][~(dark | light)[here]].astype(int)
                assert (kept[:, 0] - kept[:, 2]).min() > 40  # yellow is not gray
        beyond += sum(outside)
        assert route["beyond_screen"] == pytest.approx(sum(outside) / 2, abs=0.02)
    assert beyond


def test_a_share_is_of_what_is_printed_and_small_ones_are_not_said() -> None:
    beyond = np.array([[True, True, False, False]])
    printed = np.array([[False, True, True, True]])
    assert share_beyond(beyond, printed) == pytest.approx(1 / 3)
    assert share_beyond(beyond, ~np.ones_like(printed)) == 0
    assert beyond_words(0.0005) == ()
    assert beyond_words(0.123)[0].startswith("12.3% of it")


# -- plates as they lie


def test_flat_plates_off_register_are_drawn_and_said(two: Path, tmp_path: Path) -> None:
    still = preview(two, tmp_path / "still", *BLACK)
    done = run(
        "preview", two, *BLACK, "--register", "0.5", "--choke", "0.4", "--out", tmp_path / "moved"
    )
    assert done.exit_code == 0, done.output
    assert "Plates moved, in mm: " in done.stdout
    for name, route in still.items():
        assert isinstance(route, dict)
        before = pixels(Path(route["file"]))
        after = pixels(tmp_path / "moved" / Path(route["file"]).name)
        changed = np.abs(before - after).max(axis=-1) > 8
        assert changed.any(), name
        # Nothing is moved by more than 0.5 mm, 5 pixels: the middles stay, and so does the cloth.
        assert not changed[60:140, 60:140].any()
        assert not changed[:40].any()


def test_a_tonal_print_is_moved_as_a_whole(hills: Path, tmp_path: Path, shop: Path) -> None:
    """In register both ways to draw agree; off register only edges of the picture lose the cloth.

    With one ink over a base the base stays, and the ink's plate moves 0.5 mm at 22.5°.
    """
    words = (*BLACK, "--shop", shop)
    still = preview(hills, tmp_path / "still", *words)
    moved = preview(hills, tmp_path / "moved", *words, "--register", "0.5")
    traps = preview(hills, tmp_path / "traps", *words, "--choke", "0.3")
    name = "white-base"
    before, after, choked = (
        pixels(Path(routes[name]["file"]))
        for routes in (still, moved, traps)  # type: ignore[index]
    )
    assert after.shape == before.shape == (90, 120, 3)
    bare = np.ones((90, 120), dtype=bool)
    bare[9:81, 14:106] = False
    # Bare cloth, further than 6 pixels from the print, is the same cloth.
    assert np.abs(before - after)[bare].mean() < 3
    middle = (slice(30, 60), slice(35, 85))
    nearly = preview(hills, tmp_path / "nearly", *words, "--register", "0.001")[name]
    twice = (before, pixels(Path(nearly["file"])))  # type: ignore[index]
    linear = [np.mean((page[middle] / 255) ** 2.2, axis=(0, 1)) for page in twice]
    # In register, or as good as that: two renderers, one print.
    np.testing.assert_allclose(linear[1], linear[0], rtol=0.03)
    # A choke takes the base from the rim: 3 pixels of color on the black cloth are dark.
    rim = (slice(16, 17), slice(30, 90))
    assert choked[rim].mean() < 0.6 * before[rim].mean()
    # Base that no color covers shows at the rim, lighter than the black cloth.
    edge = after.sum(axis=-1) - before.sum(axis=-1)
    assert np.abs(edge[15:75, 20:100]).max() > 60


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--register", "9"], "the register error to show is 9 mm; give 0 to 2"),
        (["--register", "nan"], "'nan' is not a number"),
        (["--register", "-0.1"], "-0.1 is not in the range"),
        (["--register", "far"], "far"),
        (["--choke", "2.5"], "the choke is 2.5 mm; give 0 to 2"),
        (["--choke", "inf"], "'inf' is not a number"),
        (["--trap", "-1"], "-1.0 is not in the range"),
        (["--on", "hood"], "hood"),
        (["--print-top", "40"], "say where with --on"),
        (["--on", "front", "--print-width", "900"], "does not fit the front"),
        (["--on", "sleeve", "--print-width", "nan"], "nan"),
        (["--on", "back", "--print-top", "700"], "does not fit the back"),
        (["--on", "back", "--print-top", "-3"], "-3.0 is not in the range"),
        (["--on", "back", "--print-top", "nan"], "nan"),
        (["--on", "front", "--print-width", "0"], "does not fit the front"),
        (["--on", "front", "--print-top", "inf"], "inf"),
    ],
)
def test_bad_words_are_one_sentence_and_write_nothing(
    two: Path, tmp_path: Path, words: list[str], said: str
) -> None:
    out = tmp_path / "out"
    done = run("preview", two, *BLACK, *words, "--out", out)
    assert done.exit_code == 2, done.output
    assert said in done.stderr
    assert "Traceback" not in done.output
    assert not out.exists()
