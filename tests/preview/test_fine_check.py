"""What of flat art its meshes and cloth do not hold: against lines and gaps drawn so wide.

Pitch: two openings and two threads hold a line (common practice, no source), so the least width of
a line through n threads/inch is 2 × 25.4 / n mm, and 0.3 mm on a knit.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image, ImageDraw

from inksim.cli.commands import main
from inksim.colour.viewing import Viewing
from inksim.preview.fine_check import FineArt, fine_art
from inksim.preview.prepare import prepare_artwork
from inksim.shop.load import load_shop
from inksim.shop.shop import Shop
from tests.artwork_results import artwork_result
from tests.pictures import artwork

DPI = 254.0  # ten pixels a millimeter
ORANGE, NAVY = "#e8622c", "#17365d"
SHOP = load_shop()


def drawing(*, lines: tuple[int, ...] = (), gap: int = 0) -> Image.Image:
    """An orange and a navy square of 30 mm, lines of orange under them, a gap between them."""
    image = Image.new("RGBA", (800, 600), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    draw.rectangle((60, 50, 359, 349), fill=ORANGE)
    left = 360 + gap if gap else 420
    draw.rectangle((left, 50, left + 299, 349), fill=NAVY)
    for at, width in enumerate(lines):
        draw.rectangle((60, 400 + 40 * at, 699, 399 + 40 * at + width), fill=ORANGE)
    return image


def checked(
    image: Image.Image,
    garment: str = "Flour White",
    *,
    inks: dict[str, str] | None = None,
    shop: Shop = SHOP,
    choked: bool = True,
) -> FineArt:
    ready = prepare_artwork(artwork(image, dpi=DPI))
    found = artwork_result(
        ready,
        shop=SHOP,
        garment=SHOP.garment(garment),
        viewing=Viewing(),
        tolerance=3.0,
        inks=inks,
    )
    answer = found.decided.found
    if not choked:
        ways = [
            replace(way, screens=tuple(replace(each, choke_mm=0.0) for each in way.screens))
            for way in answer.alternatives
        ]
        answer = replace(answer, alternatives=tuple(ways))
    return fine_art(answer, ready.flats, dpi=ready.dpi, shop=shop)


def test_where_all_holds_nothing_is_said() -> None:
    found = checked(drawing(lines=(6,), gap=9))
    assert not found
    assert found.words == ()
    assert not found.places.any()


def test_a_hairline_prints_nowhere_and_its_share_is_told() -> None:
    found = checked(drawing(lines=(1, 6)))
    (part,) = found.parts
    assert (part.what, part.colours) == ("line", (ORANGE,))
    assert part.narrowest_mm == pytest.approx(0.1)
    assert part.least_mm == pytest.approx(max(0.3, 2 * 25.4 / part.screen.threads_per_inch))
    assert part.share == pytest.approx(640 / (300 * 300 + 640 * 7), rel=1e-6)
    assert np.array_equal(np.unique(np.nonzero(found.places)[0]), [400])
    (said,) = found.words
    threads = f"{part.screen.threads_per_inch:.0f} threads/inch"
    assert said.startswith(f"0.1 mm lines of {ORANGE} print nowhere through {threads}: at least")


def test_a_gap_that_fills_in() -> None:
    (part,) = checked(drawing(gap=3)).parts
    assert (part.what, part.colours) == ("gap", ())
    assert part.narrowest_mm == pytest.approx(0.3)
    # ink spreads 0.03 mm into it from both sides: the press's dot growth
    spread = 2 * SHOP.press.values.dot_growth_um / 1000
    assert part.least_mm == pytest.approx(2 * 25.4 / part.screen.threads_per_inch + spread)
    assert part.share == pytest.approx(300 * 3 / (2 * 300 * 300), rel=0.02)  # its ends are open


def test_a_line_may_hold_in_its_color_and_lose_the_base_under_it() -> None:
    """0.4 mm hold through 230 threads/inch (0.3 mm), not through a base's 110 (0.46 mm)."""
    found = checked(drawing(lines=(4,)), "Coal Black", choked=False)
    (part,) = [part for part in found.parts if part.what != "gap"]
    assert (part.what, part.colours) == ("base", (ORANGE,))
    assert part.least_mm == pytest.approx(2 * 25.4 / part.screen.threads_per_inch)
    assert part.narrowest_mm == pytest.approx(0.4)
    assert "lose the base under them through 110 threads/inch" in part.words


@pytest.mark.parametrize("other", ["Lantern Orange", "Cornflower Blue"])
def test_colors_that_share_a_screen_are_one_print(other: str) -> None:
    """A hairline printed in its neighbor's own ink is no line; in another ink it is."""
    image = drawing()
    ImageDraw.Draw(image).line((61, 200, 358, 200), fill="#dc5a24")
    ImageDraw.Draw(image).rectangle((60, 450, 699, 549), fill="#dc5a24")
    inks = {ORANGE: "Lantern Orange", "#dc5a24": other}
    lines = [p.colours for p in checked(image, inks=inks).parts if p.what == "line"]
    assert lines == ([] if other == "Lantern Orange" else [("#dc5a24",)])


def test_the_shops_own_cloth_counts() -> None:
    coarser = SHOP.rules.model_copy(update={"least_line_on_knit_mm": 1.0})
    (part,) = checked(drawing(lines=(6,)), shop=replace(SHOP, rules=coarser)).parts
    assert (part.narrowest_mm, part.least_mm) == (pytest.approx(0.6), 1.0)


def test_a_mark_is_seen_in_a_picture_a_tenth_as_large() -> None:
    found = checked(drawing(lines=(1,)))
    small = found.picture(np.array(drawing(lines=(1,))), cloth=(255, 255, 255), most_px=80)
    dark = (small < 40).all(axis=-1)
    assert dark[38:43, 6:69].all()
    assert not dark[:37].any()
    assert small[~dark].min() >= 150


def test_a_line_that_the_choke_leaves_no_base_is_told() -> None:
    """A base drawn in by 0.4 mm from both sides leaves nothing of 0.7 mm, and 0.2 mm of 1 mm."""
    (part,) = checked(drawing(lines=(7,)), "Coal Black", inks={ORANGE: "Lantern Orange"}).parts
    assert (part.what, part.colours, part.least_mm) == ("base", (ORANGE,), pytest.approx(0.8))
    assert part.words.startswith(f"0.7 mm lines of {ORANGE} lose the base under them to its choke")
    assert not checked(drawing(lines=(10,)), "Coal Black", inks={ORANGE: "Lantern Orange"})


def preview(tmp_path: Path, image: Image.Image) -> dict[str, Any]:
    image.save(tmp_path / "art.png", dpi=(DPI, DPI))
    words = ["preview", tmp_path / "art.png", "--garment", "Flour White", "--out", tmp_path]
    result = CliRunner().invoke(main, [*map(str, words), "--json"])
    assert result.exit_code == 0, result.stderr
    return dict(json.loads(result.stdout))


def test_the_command_tells_it_and_draws_it(tmp_path: Path) -> None:
    made = preview(tmp_path, drawing(lines=(1,)))
    (part,) = made["too_fine"]
    assert (part["what"], part["colors"], part["narrowest_mm"]) == ("line", [ORANGE], 0.1)
    assert f"{part['words']}." in made["notes"]
    path = Path(made["too_fine_picture"])
    assert path.name.endswith("--too-fine.png")
    with Image.open(path) as drawn:
        assert drawn.size == (800, 600)
        assert np.asarray(drawn.convert("L"))[400, 100] < 40


def test_the_command_draws_nothing_where_all_holds(tmp_path: Path) -> None:
    made = preview(tmp_path, drawing())
    assert (made["too_fine"], made["too_fine_picture"]) == ([], None)
    assert not list(tmp_path.glob("*too-fine*"))


def test_ticket_and_proof_say_it(tmp_path: Path) -> None:
    drawing(lines=(1,)).save(tmp_path / "art.png", dpi=(DPI, DPI))
    job = tmp_path / "job.toml"
    job.write_text(
        'name = "lines"\ngarments = ["Flour White"]\nquantity = 10\n'
        '[artwork]\nfile = "art.png"\nwidth_mm = 80\n',
        encoding="utf-8",
    )
    result = CliRunner().invoke(main, ["ticket", str(job), "--out", str(tmp_path / "t.txt")])
    assert result.exit_code == 0, result.stderr
    before = (tmp_path / "t.txt").read_text(encoding="utf-8").split("efore the run")[1]
    assert f"agreed with the client: 0.1 mm lines of {ORANGE} print nowhere" in before
