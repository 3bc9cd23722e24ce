"""What would be a wrong color without a word: swapped axes, cut-outs, more pages, a shadow."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image
from scipy.ndimage import gaussian_filter

from inksim.artwork.photo_codes import codes_of_photo
from inksim.common import InputError
from inksim.photo.charts import chart_of
from inksim.photo.geometry import Region
from inksim.photo.picture import read_picture
from inksim.photo.read import read_photo
from tests.photo.rendered import box, taken

LAB = chart_of("iso17321").lab
NAMES = [f"{row}{column}" for row in "ABCD" for column in range(1, 7)]


@pytest.mark.parametrize("swap", [[0, 2, 1], None])
def test_a_chart_s_a_and_b_are_not_taken_for_each_other(
    swap: list[int] | None, tmp_path: Path
) -> None:
    """A camera that turns the hues fits such a file: cloths were 37 ΔE00 off and said 2.5."""
    lab = chart_of("iso17321").lab
    wrong = lab[:, swap] if swap else lab * (1, 1, -1)
    lines = [f"{'ABCD'[at // 6]}{at % 6 + 1},{l},{a},{b}" for at, (l, a, b) in enumerate(wrong)]
    file = tmp_path / "chart.csv"
    file.write_text("\n".join(["name,L,a,b", *lines]), encoding="utf-8")
    shot = taken()
    picture = read_picture(shot.save(tmp_path / "p.png"))
    with pytest.raises(InputError, match="in other hues than the chart has"):
        read_photo(picture, chart_of(file), corners=shot.corners)


@pytest.mark.parametrize(("shadow", "told"), [(1.0, False), (0.5, True)])
def test_a_surround_that_lies_half_in_a_shadow_is_told(
    shadow: float, told: bool, tmp_path: Path
) -> None:
    shot = taken()
    shot.light[270:] *= shadow
    places = [Region(name=f"{at}", outline=tuple(each)) for at, each in enumerate(shot.card)]
    picture = read_picture(shot.save(tmp_path / "p.png"))
    read = read_photo(picture, chart_of("iso17321"), corners=shot.corners, surround=places)
    assert any("times as light" in each for each in read.findings) == told


@pytest.mark.parametrize("shadow", [1.0, 0.9, 0.8])
def test_a_shadow_over_one_cloth_is_told_by_the_sheet_beside_it(
    shadow: float, tmp_path: Path
) -> None:
    """With the sheet's rim alone it was 2.6 and 4.9 ΔE00 off, and said 1.5."""
    shot = taken()
    (left, top), (right, bottom) = np.array([np.min(shot.cloths["sage"], axis=0),
                                             np.max(shot.cloths["sage"], axis=0)])  # fmt: skip
    light = np.ones(shot.light.shape[:2])
    light[int(top) - 30 : int(bottom) + 30, int(left) - 30 : int(right) + 30] = shadow
    shot.light[:] *= gaussian_filter(light, 4.0)[..., None]
    middle = (top + bottom) / 2.0 - 30.0
    beside = [box(x, middle, 8.0, 60.0) for x in (left - 24.0, right + 16.0)]
    sheet = [Region(name=f"{at}", outline=tuple(e)) for at, e in enumerate([*shot.card, *beside])]
    picture = read_picture(shot.save(tmp_path / "p.png"))
    read = read_photo(picture, chart_of("iso17321"), corners=shot.corners, surround=sheet)
    assert any("than its other places tell" in each for each in read.findings) == (shadow < 1.0)


def test_of_two_charts_in_different_light_none_is_chosen(tmp_path: Path) -> None:
    """The other chart's light was taken for that of the cloths: 13 ΔE00 off, said 1.5."""
    one = taken()
    both = replace(one, light=np.concatenate([one.light * 0.8, one.light]))
    picture = read_picture(both.save(tmp_path / "p.png"))
    chart = chart_of("iso17321")
    with pytest.raises(InputError, match="at two places"):
        read_photo(picture, chart)
    assert read_photo(picture, chart, corners=one.corners).placed.lies == "upright"


def test_what_is_lighter_than_white_is_told(tmp_path: Path) -> None:
    """A dark patch called a gray card makes the cloths lighter than any cloth is."""
    shot = taken()
    picture = read_picture(shot.save(tmp_path / "p.png"))
    a, b, c, d = np.array(shot.corners)
    along, down = (b - a) / 6, (d - a) / 4
    black = [c - along - down, c - down, c, c - along]
    cloth = Region(name="sage", outline=tuple(shot.cloths["sage"]))
    for corners, chart, told in ((black, "gray", True), (shot.corners, "iso17321", False)):
        read = read_photo(picture, chart_of(chart), corners=corners, regions=[cloth])
        assert any("perfect white" in each for each in read.readings[0].notes) == told


def _file(kind: str, image: Image.Image, **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def _deep_pages() -> bytes:
    out = io.BytesIO()
    with tifffile.TiffWriter(out) as made:
        for _ in range(2):
            made.write(np.zeros((8, 8, 3), np.uint16), photometric="rgb")
    return out.getvalue()


def test_more_than_one_picture_in_a_file_is_said() -> None:
    one, other = Image.new("RGB", (8, 8), "red"), Image.new("RGB", (8, 8), "blue")
    files = [_file(kind, one, save_all=True, append_images=[other])
             for kind in ("PNG", "WebP", "TIFF")]  # fmt: skip
    for data in (*files, _deep_pages()):
        assert any("has 2" in note for note in codes_of_photo(data).notes)
    assert codes_of_photo(_file("PNG", one)).notes == ()


def test_a_cut_out_is_said_and_an_opaque_picture_is_not() -> None:
    image = Image.new("RGBA", (8, 8), (200, 100, 50, 255))
    assert codes_of_photo(_file("PNG", image)).notes == ()
    image.putpixel((3, 3), (200, 100, 50, 0))
    for kind in ("PNG", "TIFF"):
        (note,) = codes_of_photo(_file(kind, image)).notes
        assert "transparent" in note


@pytest.mark.parametrize(
    ("light", "chart", "said"),
    [
        ((0.5, 0.3, 0.0), "iso17321", None),
        ((0.03, 0.02, 0.0), "iso17321", "is clipped in 100%"),
        ((1.5, 0.3, 0.0), "iso17321", "is clipped in 100%"),
        ((0.5, 0.3, 0.0), "Lab alone", "is clipped in 100%"),
    ],
)
def test_a_vivid_color_cut_by_the_file_is_read_less_surely_and_a_dark_or_light_one_refused(
    light: tuple[float, float, float], chart: str, said: str | None, tmp_path: Path
) -> None:
    """A channel of 0 is all that sRGB (IEC 61966-2-1) has for a yellow outside its primaries."""
    shot = taken()
    (left, top), _, (right, bottom), _ = shot.cloths["sage"]
    shot.light[int(top) - 9 : int(bottom) + 9, int(left) - 9 : int(right) + 9] = light
    if chart == "Lab alone":
        lines = [f"{x},{l},{a},{b}" for x, (l, a, b) in zip(NAMES, LAB, strict=True)]
        (tmp_path / "chart.csv").write_text("\n".join(["name,L,a,b", *lines]), encoding="utf-8")
    known = chart_of("iso17321" if chart == "iso17321" else tmp_path / "chart.csv")
    regions = [Region(name=name, outline=tuple(each)) for name, each in shot.cloths.items()]
    picture = read_picture(shot.save(tmp_path / "p.png"))
    if said:
        with pytest.raises(InputError, match=said):
            read_photo(picture, known, corners=shot.corners, regions=regions)
        return
    vivid, usual = read_photo(picture, known, corners=shot.corners, regions=regions).readings
    assert any("beyond what the file holds" in each for each in vivid.notes)
    assert vivid.lab_sd[2] > 2.0 * usual.lab_sd[2]
