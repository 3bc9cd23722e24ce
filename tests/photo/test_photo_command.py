"""`inksim photo` on pictures that are rendered here, so that the colors in them are known."""

from __future__ import annotations

import json
import struct
import zlib
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image, ImageCms

from inksim.artwork.photo_codes import codes_of_photo
from inksim.cli.commands import main
from inksim.colour import delta_e_2000, encode_srgb
from inksim.photo import chart_of
from inksim.readings import read_readings
from tests.photo.rendered import Shot, Taken, outline_words, taken, true_lab


@cache
def shot(**changes: Any) -> Taken:
    return taken(Shot(), **changes)


def called(*words: object) -> Result:
    return CliRunner().invoke(main, ["photo", *map(str, words)])


def read(picture: Path, of: Taken, *more: object, chart: object = "iso17321") -> dict[str, Any]:
    """What the command says of a picture."""
    done = called(picture, "--chart", chart, *of.words(), *more, "--json")
    assert done.exit_code == 0, done.stderr
    said: dict[str, Any] = json.loads(done.stdout)
    return said


def refused(picture: Path, *words: object) -> str:
    done = called(picture, *words)
    assert done.exit_code == 2, done.stdout
    assert all(len(line) <= 300 for line in done.stderr.removeprefix("inksim: ").splitlines())
    return done.stderr


def surround(of: Taken) -> list[str]:
    return [word for each in of.card for word in ("--surround", outline_words(each))]


def check_colours(said: dict[str, Any]) -> None:
    """Every color is within two of its standard deviations of what the cloth is, ΔE00.

    In the plane that a mean ΔE00 is of, 99 of 100 draws lie within 2.5 means.
    """
    assert said["readings"]
    for each in said["readings"]:
        off = delta_e_2000(true_lab(each["name"]), np.array(each["lab"]))
        total = np.hypot(each["sd_de00"], each["shared_de00"])
        assert total < 8
        assert off < 2.5 * total, each


# -- what it reads


def test_shirts_are_read_as_near_as_it_says_and_the_file_is_one_of_readings(tmp_path: Path) -> None:
    taken_ = shot()
    picture = taken_.save(tmp_path / "shirts.jpg")
    table, drawn = tmp_path / "readings.csv", tmp_path / "seen.png"
    said = read(picture, taken_, *surround(taken_), "--out", table, "--show", drawn)
    check_colours(said)
    assert said["lies"] == "upright"
    kept = read_readings(table)
    assert [each.name for each in kept] == ["sage", "rust"]
    for one, each in zip(said["readings"], kept, strict=True):
        assert each.lab == pytest.approx(one["lab"], abs=0.01)
        assert (each.light, each.observer) == ("D50", 2)
        assert each.labels["read_by"] == "photo"
        assert each.device["sd_de00"] == pytest.approx(one["sd_de00"], abs=0.01)
    with Image.open(drawn) as seen, Image.open(picture) as photo:
        assert seen.size == photo.size
        x, y = taken_.corners[0]
        around = np.asarray(seen)[int(y) - 3 : int(y) + 4, int(x) - 3 : int(x) + 4].reshape(-1, 3)
        assert (around == (255, 214, 0)).all(axis=1).any(), "the first corner is marked"


@pytest.mark.parametrize(("kind", "most"), [("tif", 0.001), ("jpg", 1.0), ("webp", 1.0)])
def test_every_kind_of_file_gives_the_same(kind: str, most: float, tmp_path: Path) -> None:
    # lossless as PNG is, or lossy, with color at half size: that costs less than one ΔE00
    first = read(shot().save(tmp_path / "photo.png"), shot())
    other = read(shot().save(tmp_path / f"photo.{kind}"), shot())
    for a, b in zip(first["readings"], other["readings"], strict=True):
        assert delta_e_2000(np.array(a["lab"]), np.array(b["lab"])) < most


def test_16_bits_are_kept(tmp_path: Path) -> None:
    dim = shot(exposure=0.2, noise=0.0)
    said = read(dim.save(tmp_path / "scan.tif", bits=16), dim)
    check_colours(said)
    from inksim.photo import read_picture

    picture = read_picture(tmp_path / "scan.tif")
    assert len(np.unique(picture.codes[..., 0])) > 1000


def test_a_profile_s_curve_is_undone(tmp_path: Path) -> None:
    # A file of gamma 1.8 says so in its profile: as light, it is the file with sRGB's curve
    import struct

    plain = shot()
    before = read(plain.save(tmp_path / "plain.png"), plain)
    made = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    count = struct.unpack_from(">I", made, 128)[0]
    curve = struct.pack(">4sII H", b"curv", 0, 1, round(1.8 * 256)) + bytes(2)
    for at in range(132, 132 + 12 * count, 12):
        if bytes(made[at : at + 4]) in (b"rTRC", b"gTRC", b"bTRC"):
            struct.pack_into(">II", made, at + 4, len(made), len(curve))
    made += curve
    struct.pack_into(">I", made, 0, len(made))
    codes = np.rint(np.clip(plain.light, 0, 1) ** (1 / 1.8) * 255).astype(np.uint8)
    Image.fromarray(codes).save(tmp_path / "own.png", icc_profile=bytes(made))
    after = read(tmp_path / "own.png", plain)
    assert "profile" in after["picture"]["curve"]
    for a, b in zip(before["readings"], after["readings"], strict=True):
        assert delta_e_2000(np.array(a["lab"]), np.array(b["lab"])) < 0.3


def test_the_orientation_mark_is_obeyed(tmp_path: Path) -> None:
    plain = shot()
    path = plain.save(tmp_path / "phone.jpg")
    upright = read(path, plain)
    with Image.open(path) as image:
        lying = image.transpose(Image.Transpose.ROTATE_90)  # mark 6 turns it back
        exif = Image.Exif()
        exif[0x0112] = 6
        lying.save(tmp_path / "lying.jpg", quality=98, exif=exif)
    turned = read(tmp_path / "lying.jpg", plain)
    assert any("orientation" in each for each in turned["findings"])
    for a, b in zip(upright["readings"], turned["readings"], strict=True):
        assert delta_e_2000(np.array(a["lab"]), np.array(b["lab"])) < 0.5


@pytest.mark.parametrize(
    ("changes", "lies"),
    [
        ({"quarter_turns": 2}, "upside down"),
        ({"quarter_turns": 1}, "turned by a quarter"),
        ({"mirrored": True}, "mirrored"),
    ],
)
def test_a_turned_chart_is_read_and_said(
    changes: dict[str, Any], lies: str, tmp_path: Path
) -> None:
    lying = shot(shading=0.0, **changes)
    path = lying.save(tmp_path / "lying.jpg")
    said = read(path, lying)
    assert said["lies"] == lies
    assert any(lies in each for each in said["findings"])
    check_colours(said)
    # corners given as they lie in the picture, not from the chart's first patch on
    other = Taken(**{**vars(lying), "corners": lying.corners[2:] + lying.corners[:2]})
    again = read(path, other)
    assert again["readings"] == said["readings"]
    assert any("another order" in each for each in again["findings"])


def test_swapped_corners_are_put_in_order(tmp_path: Path) -> None:
    a, b, c, d = shot().corners
    crossed = Taken(**{**vars(shot()), "corners": [a, c, b, d]})
    path = shot().save(tmp_path / "p.jpg")
    assert read(path, crossed)["readings"] == read(path, shot())["readings"]


@pytest.mark.parametrize(
    "changes", [{}, {"quarter_turns": 3, "shading": 0.25}, {"exposure": 0.3, "noise": 0.03}]
)
def test_the_chart_is_found_by_itself(changes: dict[str, Any], tmp_path: Path) -> None:
    lying = shot(**changes)
    path = lying.save(tmp_path / "p.jpg")
    done = called(path, "--chart", "iso17321", *lying.words()[5:], "--json")
    assert done.exit_code == 0, done.stderr
    said = json.loads(done.stdout)
    a_patch = np.linalg.norm(np.subtract(lying.corners[0], lying.corners[1])) / 6
    assert np.abs(np.array(said["corners"]) - lying.corners).max() < 0.2 * a_patch
    check_colours(said)


def test_a_picture_without_a_chart_is_refused(tmp_path: Path) -> None:
    rng = np.random.default_rng(2)
    tiles = np.kron(rng.integers(0, 256, (6, 8, 3)), np.ones((60, 60, 1))).astype(np.uint8)
    path = tmp_path / "tiles.png"
    Image.fromarray(tiles).save(path)
    assert "no chart 'iso17321'" in refused(path, "--chart", "iso17321")
    assert "give its four corners" in refused(path, "--chart", "gray")


def test_a_row_of_patches_is_read_like_regions(tmp_path: Path) -> None:
    path = shot().save(tmp_path / "p.jpg")
    outline = np.array(list(shot().cloths.values())).mean(axis=1)
    (x1, y1), (x2, y2) = outline
    row = ["--row", "sage,rust", f"{x1:.0f},{y1:.0f}", f"{x2:.0f},{y2:.0f}"]
    done = called(path, "--chart", "iso17321", *shot().words()[:5], *row, "--json")
    assert done.exit_code == 0, done.stderr
    for a, b in zip(
        json.loads(done.stdout)["readings"], read(path, shot())["readings"], strict=True
    ):
        assert a["name"] == b["name"]
        assert delta_e_2000(np.array(a["lab"]), np.array(b["lab"])) < 1.0


def test_one_card_is_a_chart(tmp_path: Path) -> None:
    path = shot().save(tmp_path / "p.jpg")
    (x, y), _, (right, bottom), _ = shot().card[0]
    corners = [f"{x:.0f},{y:.0f}", f"{right:.0f},{y:.0f}", f"{right:.0f},{bottom:.0f}",
               f"{x:.0f},{bottom:.0f}"]  # fmt: skip
    words = shot().words()[5:]
    done = called(path, "--chart", "white", "--corners", *corners, *words, "--json")
    assert done.exit_code == 0, done.stderr
    assert len(json.loads(done.stdout)["readings"]) == 2


# -- what it refuses or notes


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"exposure": 0.06}, "too dark"),
        ({"exposure": 6.0, "shading": 0.0}, "clipped"),
        ({"blur_px": 13.0}, "blurred"),
    ],
)
def test_a_picture_that_cannot_be_read_is_refused(
    changes: dict[str, Any], word: str, tmp_path: Path
) -> None:
    bad = shot(**changes)
    assert word in refused(bad.save(tmp_path / "p.jpg"), "--chart", "iso17321", *bad.words())


def test_a_png_keeps_its_16_bits() -> None:
    """Written by PNG's own rules (ISO/IEC 15948: big-endian, filter Sub), turned by its mark."""
    codes = np.random.default_rng(3).integers(0, 65536, (9, 7, 3), dtype=np.uint16)
    rows = codes.astype(">u2").view(np.uint8).reshape(9, 7, 6)
    left = np.concatenate([np.zeros_like(rows[:, :1]), rows[:, :-1]], axis=1)
    sub = b"".join(b"\x01" + row.tobytes() for row in rows - left)
    exif = Image.Exif()
    exif[0x0112] = 6  # seen after a quarter turn clockwise

    def chunk(kind: bytes, body: bytes) -> bytes:
        return (struct.pack(">I", len(body)) + kind + body
                + struct.pack(">I", zlib.crc32(kind + body)))  # fmt: skip

    head = struct.pack(">IIBBBBB", 7, 9, 16, 2, 0, 0, 0)
    data = b"\x89PNG\r\n\x1a\n" + b"".join(
        chunk(*each) for each in (
            (b"IHDR", head), (b"eXIf", exif.tobytes()[6:]), (b"IDAT", zlib.compress(sub)),
            (b"IEND", b""),
        )
    )  # fmt: skip
    assert (codes_of_photo(data, name="scan.png").codes == np.rot90(codes, -1)).all()


def test_two_lights_are_told_by_the_charts_own_grays(tmp_path: Path) -> None:
    """The ratio of red to blue of the two lamps changes by 1.1 or 2.2 over the picture."""
    words = ["--region", "a=90,300,90,90"]
    path = shot(other_lamp=(0.95, 1.0, 1.05)).save(tmp_path / "p.jpg")
    done = called(path, "--chart", "iso17321", *words)
    assert "grays differ in tint" in done.stdout
    path = shot(other_lamp=(0.7, 1.0, 1.6)).save(tmp_path / "q.jpg")
    assert "two kinds of light" in refused(path, "--chart", "iso17321", *words)
    assert (
        "tint" not in called(shot().save(tmp_path / "r.jpg"), "--chart", "iso17321", *words).stdout
    )


def test_two_lights_are_refused(tmp_path: Path) -> None:
    mixed = shot(other_lamp=(0.8, 1.0, 1.1))
    path = mixed.save(tmp_path / "p.jpg")
    said = refused(path, "--chart", "iso17321", *mixed.words(), *surround(mixed))
    assert "two kinds of light" in said


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"exposure": 0.17}, "dark"),
        ({"exposure": 1.6}, "overexposed"),
        ({"blur_px": 6.0}, "sharp"),
        ({"stripes": 0.05}, "moiré"),
    ],
)
def test_a_picture_that_is_worse_than_it_should_be_is_read_with_a_note(
    changes: dict[str, Any], word: str, tmp_path: Path
) -> None:
    assert not any(
        word in each for each in _all_notes(read(shot().save(tmp_path / "a.jpg"), shot()))
    )
    bad = shot(**changes)
    said = read(bad.save(tmp_path / "p.jpg"), bad)
    assert any(word in each for each in _all_notes(said)), said


def _all_notes(said: dict[str, Any]) -> list[str]:
    return [*said["findings"], *(note for each in said["readings"] for note in each["notes"])]


def _corners(of: Taken, dx: float = 0.0, dy: float = 0.0, *, size: float = 1.0) -> list[str]:
    middle = np.mean(of.corners, axis=0)
    moved = (np.array(of.corners) - middle) * size + middle + (dx, dy)
    return ["--corners", *(f"{x:.0f},{y:.0f}" for x, y in moved)]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (_corners(shot(), 600), "lies outside"),
        (_corners(shot(), 0, 190), "does not show chart"),
        (_corners(shot(), size=0.1), "too small"),
        (["--corners", "9,9", "9,9", "300,9", "300,300"], "do not go round"),
        ([*shot().words()[:5], "--region", "far=600,400,100,100"], "not all inside"),
        ([*shot().words()[:5], "--region", "dot=300,330,8,8"], "pixels in the region"),
        ([*shot().words()[:5], *2 * ["--region", "a=90,300,90,90"]], "two regions"),
        ([*shot().words()[:5], "--region", "flat=90,300,90,0"], "no area"),
        ([*shot().words()[:5], "--region", "90,300,90,90"], "with a name"),
        ([*shot().words()[:5], "--row", "one", "10,10", "20,20"], "two names"),
        ([*shot().words()[:5], "--row", "a,b", "10,10", "10,10"], "in one place"),
        ([*shot().words()[:5], "--row", "a,,b", "10,10", "90,10"], "none empty"),
        ([*shot().words()[:5], "--out", "some.csv"], "nothing to write"),
        (["--corners", "a,b", "9,9", "300,9", "300,300"], "no point"),
    ],
)  # fmt: skip
def test_words_that_do_not_fit_the_picture_are_refused(
    words: list[str], said: str, tmp_path: Path
) -> None:
    path = shot().save(tmp_path / "p.jpg")
    assert said in refused(path, "--chart", "iso17321", *words)


def test_nothing_that_is_read_is_written_over(tmp_path: Path) -> None:
    path, chart = shot().save(tmp_path / "p.png"), tmp_path / "chart.csv"
    chart.write_text("name,L,a,b\nA1,20,0,0\nA2,90,0,0\n", encoding="utf-8")
    kept = path.read_bytes(), chart.read_bytes()
    words = ["--chart", chart, *shot().words()]
    for option, file in (("--show", path), ("--out", path), ("--out", chart)):
        assert "would be written over" in refused(path, *words, option, file)
    both = tmp_path / "both.csv"
    beside = tmp_path / "." / "none" / ".." / "both.csv"
    assert "two results" in refused(path, *words, "--out", both, "--show", beside)
    assert (path.read_bytes(), chart.read_bytes()) == kept
    assert not both.exists()


def test_another_chart_than_the_one_in_the_picture_is_refused(tmp_path: Path) -> None:
    path = shot().save(tmp_path / "p.jpg")
    labs = np.random.default_rng(3).permutation(chart_of("iso17321").lab)
    rows = [f"{'ABCD'[at // 6]}{at % 6 + 1},{l:.1f},{a:.1f},{b:.1f}" for at, (l, a, b) in
            enumerate(labs)]  # fmt: skip
    other = tmp_path / "other.csv"
    other.write_text("\n".join(["name,L,a,b", *rows]), encoding="utf-8")
    assert "does not show chart 'other.csv'" in refused(path, "--chart", other, *shot().words())


def test_a_chart_that_fits_two_ways_is_refused(tmp_path: Path) -> None:
    # the same colors from the left and from the right: nothing tells mirrored from not
    mirror = tmp_path / "mirror.csv"
    labs = [(30, 20, 10), (70, 0, 0), (90, -10, 40), (70, 0, 0), (30, 20, 10)]
    rows = [f"{'AB'[row]}{at + 1},{l - 8 * row},{a},{b}" for row in (0, 1)
            for at, (l, a, b) in enumerate(labs)]  # fmt: skip
    mirror.write_text("\n".join(["name,L,a,b", *rows]), encoding="utf-8")
    chart = chart_of(mirror)
    light = encode_srgb(
        np.repeat(
            np.repeat((chart.xyz / 100 @ np.diag([0.9, 0.9, 0.9])).reshape(2, 5, 3), 40, axis=0),
            40,
            axis=1,
        )
    )
    picture = Image.fromarray(np.rint(light * 255).astype(np.uint8))
    path = tmp_path / "p.png"
    picture.rotate(180).save(path)
    straight = ["--corners", "0,0", "199,0", "199,79", "0,79"]
    assert "may be" in refused(path, "--chart", mirror, *straight)


@pytest.mark.parametrize(
    ("make", "word"),
    [
        (lambda p: Image.new("L", (90, 90)).save(p, "PNG"), "gray"),
        (lambda p: Image.new("CMYK", (90, 90)).save(p, "TIFF"), "CMYK"),
        (lambda p: Image.new("RGB", (90, 90)).save(p, "AVIF"), "as JPEG"),
        (lambda p: p.write_bytes(b"%PDF-1.4 none"), "as JPEG"),
        (lambda p: p.write_bytes(b"\xff\xd8\xff\xe0 cut short"), "cannot be decoded"),
        (lambda p: p.write_bytes(b""), "empty"),
        (lambda p: None, "cannot be opened"),
    ],
)  # fmt: skip
def test_a_file_that_is_no_picture_to_measure_is_refused(
    make: Any, word: str, tmp_path: Path
) -> None:
    path = tmp_path / "some.heic"
    make(path)
    assert word in refused(path, "--chart", "iso17321", *shot().words())


def test_a_raw_file_says_how_to_export(tmp_path: Path) -> None:
    path = tmp_path / "shirts.dng"
    path.write_bytes(b"II*\x00" + bytes(100))
    assert "16-bit TIFF" in refused(path, "--chart", "iso17321", *shot().words())
