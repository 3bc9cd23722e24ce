"""The readers that are attacked: a row for each kind of file, with sound ones to spoil.

A new reader of inksim gets a row here; `registered` tells what has to have one.
"""

from __future__ import annotations

import gzip
import io
import random
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image, ImageCms

from inksim.artwork import find_flats, mapped_inks, printed_at, read_artwork, read_mapping
from inksim.calibration import add_rows, marks_ever, read_print_rows, remove_row, rows_kept, to_csv
from inksim.calibration.print_rows import reading_of
from inksim.colour import Viewing
from inksim.common import InputError, ShopFaults
from inksim.drawdowns import read_drawdowns
from inksim.ledger import (
    issue_proof,
    kept_keys,
    last_decision,
    open_job,
    record_of_shop,
    undo_job,
)
from inksim.ledger.promises import missing_numbers, sealed_proofs
from inksim.readings import average, palette_from_file, parse_palette, read_lamp, read_readings
from inksim.readings.formats import FORMATS
from inksim.shop import (
    catalogue,
    changes_of,
    go_back,
    last_change,
    load_shop,
    next_step,
    open_draft,
    save,
    undo,
    versions,
)
from inksim.shop.load import FILES, demo_shop_folder
from tests import pictures
from tests.artwork.test_layered import flat, layered, psd
from tests.artwork.test_vector import pdf, svg
from tests.attack import batches, buckets, mutators, photos
from tests.attack.engine import Broken, Suite
from tests.attack.mutators import Mutator, spoiled
from tests.attack.world import DAY, World
from tests.pictures import encoded
from tests.reading_files import LAB, SPOT, cgats, cxf, cxf_object, spectrum, spot_objects, wide
from tests.small_shop import WHOLE

Read = Callable[[Path], object]
LAMP_NM = range(380, 781, 10)


@dataclass(frozen=True, kw_only=True)
class Reader:
    """A kind of file. seeds: sound ones; read: all that inksim does with one at a path.

    inside: its place in a shop; '' of a file by itself. weight: cases of 1000. covers: what of
    `registered.needed` it is the row of. quiet: False where libtiff reads, which writes to stderr.
    """

    name: str
    seeds: Callable[[], Sequence[bytes]]
    read: Read
    mutators: Sequence[Mutator]
    suffix: str = ""
    inside: str = ""
    weight: float = 20.0
    memory_mb: float = 400.0
    covers: tuple[str, ...] = ()
    quiet: bool = True


# -- pictures


def _picture(path: Path) -> None:
    art = read_artwork(path)
    if art.rgba.ndim != 3 or art.rgba.shape[2] != 4 or art.rgba.dtype != np.uint8:
        raise Broken("an artwork is not (H, W, 4) of 8 bits")
    printed_at(art)
    if art.rgba.shape[0] * art.rgba.shape[1] < 20_000:
        find_flats(art)


def _image(mode: str = "RGBA") -> Image.Image:
    x, y = np.meshgrid(np.arange(24), np.arange(16))
    rgba = np.dstack([x * 10, y * 15, (x + y) % 7 * 36, np.where(x > 4, 255, y * 16)])
    return Image.fromarray(rgba.astype(np.uint8), "RGBA").convert(mode)


def _in(kind: str, *modes: str, **options: object) -> list[bytes]:
    return [encoded(_image(mode), kind, **options) for mode in modes]


def _tiffs() -> list[bytes]:
    import tifffile

    made = [
        *_in("TIFF", "RGBA", "L", "1", "P", "CMYK", "LAB"),
        *_in("TIFF", "RGB", compression="tiff_lzw"),
    ]
    deep = np.asarray(_image()).astype(np.uint16) * 257
    spots = np.dstack([deep, deep[..., 0]])
    for values, options in (
        (deep, {"extrasamples": (2,)}), (spots, {"extrasamples": (2, 0), "bigtiff": True}),
        (spots, {"extrasamples": (2, 0), "compression": "zlib", "predictor": 2, "tile": (16, 32)}),
    ):  # fmt: skip
        out = io.BytesIO()
        tifffile.imwrite(out, values, photometric="rgb", **options)
        made.append(out.getvalue())
    return made


def _gifs() -> list[bytes]:
    frames = [_image("P"), _image("L").convert("P")]
    return [
        *_in("GIF", "P", "RGBA"),
        encoded(frames[0], "GIF", save_all=True, append_images=frames),
    ]


def _layered() -> list[bytes]:
    import psd_tools

    planes = {"RGB": flat(1, 2, 3), "CMYK": flat(9, 9, 9, 9), "LAB": flat(9, 9, 9), "L": flat(7)}
    return [
        *(psd(each, kind=kind) for kind, each in planes.items()),
        psd(flat(1, 2, 3, 4, dtype="u2")),
        layered(psd_tools, keeps=True),
        layered(psd_tools, keeps=False),
    ]


def _svgs() -> list[bytes]:
    small = 'width="6mm" height="4mm" viewBox="0 0 60 40"'
    shapes = (
        '<defs><linearGradient id="g"><stop offset="0" stop-color="#c00"/><stop offset="1"/>'
        '</linearGradient><clipPath id="c"><rect width="20" height="20"/></clipPath></defs>'
        '<g transform="rotate(9)"><rect x="3" y="4" width="30" height="20" fill="url(#g)"/>'
        '<path d="M1 1 L20 9 C 3 4 9 9 40 30 Z" clip-path="url(#c)" stroke="#00f"/></g>'
        '<use href="#g"/><text x="3" y="9" font-size="5">ink</text><style>rect{opacity:.5}</style>'
    )
    return [svg(small), svg(small, shapes), gzip.compress(svg(small, shapes), mtime=0)]


def _profiles() -> list[bytes]:
    eye = np.eye(3)
    corners = np.linspace(0.0, 90.0, 48).reshape(2, 2, 2, 2, 3)
    return [
        ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes(),
        ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes(),
        pictures.rgb_profile("wide", xyz_d50=eye * 0.3, gamma=2.2),
        pictures.cmyk_profile("press", corners),
        pictures.grey_profile("gray", gamma=1.8),
    ]


_CARRIERS = (("PNG", "RGB"), ("PNG", "L"), ("JPEG", "RGB"), ("JPEG", "CMYK"), ("TIFF", "CMYK"),
             ("TIFF", "RGBA"), ("WEBP", "RGB"), ("TIFF", "LAB"))  # fmt: skip


def _profile(path: Path) -> None:
    """Read a picture of the kind that the profile's length picks, with the profile in it."""
    data = path.read_bytes()
    kind, mode = _CARRIERS[len(data) % len(_CARRIERS)]
    with suppress(ValueError, OSError):  # what its carrier cannot hold
        path.write_bytes(encoded(_image(mode), kind, icc_profile=data))
        _picture(path)


def _pictures() -> list[Reader]:
    def row(
        kind: str, suffix: str, seeds: Callable[[], Sequence[bytes]], weight: float,
        *, by: Sequence[Mutator] = mutators.BYTES,
    ) -> Reader:  # fmt: skip
        return Reader(
            name=f"picture {kind}", suffix=suffix, seeds=seeds, read=_picture, mutators=by,
            weight=weight, memory_mb=3000.0, covers=(f"picture {kind}",), quiet=kind != "TIFF",
        )  # fmt: skip

    def pngs() -> list[bytes]:
        made = _in("PNG", "RGBA", "RGB", "P", "L", "1", "LA", "I;16", dpi=(150, 150))
        return [*made, encoded(_image("P"), "PNG", transparency=3)]

    return [
        row("PNG", ".png", pngs, 60, by=mutators.PNG),
        row("JPEG", ".jpg", lambda: _in("JPEG", "RGB", "L", "CMYK", dpi=(300, 300)), 35),
        row("TIFF", ".tif", _tiffs, 60),
        row("WebP", ".webp", lambda: _in("WEBP", "RGBA", "RGB"), 20),
        row("GIF", ".gif", _gifs, 25),
        row("BMP", ".bmp", lambda: _in("BMP", "RGB", "P", "1", "RGBA"), 20),
        row("SVG", ".svg", _svgs, 25, by=mutators.XML),
        row("PDF", ".pdf", lambda: [pdf(), pdf(pages=2, opacity=0.5)], 15, by=mutators.TEXT),
        row("PSD", ".psd", _layered, 20),
        Reader(
            name="color profile in a picture", suffix=".png", seeds=_profiles, read=_profile,
            mutators=mutators.BYTES, weight=45, memory_mb=3000, quiet=False,
            covers=("artwork:read_artwork",),
        ),
        Reader(
            name="photo", suffix=".jpg", seeds=photos.sound, read=photos.read,
            mutators=mutators.BYTES, weight=40, memory_mb=3000, quiet=False,
            covers=("photo:read_picture", "photo:read_photo"),
        ),
    ]  # fmt: skip


# -- readings


def _readings(path: Path) -> None:
    found = read_readings(path)
    for each in found:
        if each.reflectance is not None and not np.isfinite(each.reflectance).all():
            raise Broken("a reading is not a finite number")
    if len(found) > 1:
        average(found[:2])


def _csvs() -> list[bytes]:
    named = "name,L,a,b,backing,light\nember,50,10,-10,white,D65\nchalk,90,0,1,black,D50\n"
    texts = [wide(), wide(mark=";", comma=True), wide(percent=True, column="{nm}nm"), named]
    return [text.encode() for text in texts]


def _cgats() -> list[bytes]:
    spectral = "SAMPLE_ID SAMPLE_NAME " + " ".join(f"SPEC_{nm}" for nm in range(400, 710, 10))
    row = "1 ember " + " ".join(["0.5"] * 31)
    head = 'ORIGINATOR "any"\nILLUMINATION_NAME "D50"\nMEASUREMENT_GEOMETRY "45/0"\n'
    texts = [
        cgats("SAMPLE_ID LAB_L LAB_A LAB_B", "1 50 10 -10\n2 60 1 2", head=head),
        cgats(spectral, row, head=head),
        cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 20 20 20"),
    ]
    return [text.encode() for text in texts]


def _cxfs() -> list[bytes]:
    texts = [
        cxf(cxf_object("a", spectrum()) + cxf_object("b", LAB)),
        cxf(spot_objects(), custom=SPOT),
    ]
    return [text.encode() for text in texts]


def _tables(world: World) -> list[Reader]:
    shop = world.shop

    def palette(path: Path) -> None:
        data = path.read_bytes()
        with suppress(UnicodeDecodeError), suppress(InputError):
            parse_palette(data.decode(), look_up=shop.target)
        palette_from_file(data, name=path.name, look_up=shop.target)

    def prints(path: Path) -> None:
        rows = read_print_rows(path, shop=shop).rows
        for row in rows:
            reading_of(row, shop=shop)
        to_csv(rows)

    def mapping(path: Path) -> None:
        flats = find_flats(read_artwork(world.place.art))
        mapped_inks(flats, read_mapping(path), shop=shop)

    kinds = {"CSV": (_csvs, mutators.TABLE), "CGATS": (_cgats, mutators.TABLE),
             "CxF": (_cxfs, mutators.XML)}  # fmt: skip
    seeds: dict[str, Callable[[], Sequence[bytes]]] = {
        "palette": lambda: [
            b"Regatta Orange, #e8622c\n#0f5c63\nOven Red: 46, 58, 39\nLichen\n",
            b"name;L;a;b\nember;50;10;-10\nchalk;90,5;0;1\n", b"name,color\nember,#c9342f\n",
            *_csvs()[3:], *_cgats()[:1],
        ],
        "prints": lambda: [world.place.readings.read_bytes(), to_csv(
            [each.row for each in rows_kept(world.place.shop)]).encode()],
        "drawdowns": lambda: [world.place.drawdowns.read_bytes(), _cxfs()[1]],
        "lamp": lambda: [
            b"# booth\nwavelength,power\n" + b"".join(b"%d,%d\n" % (n, n) for n in LAMP_NM),
            b"nm;power\n" + b"".join(b"%d;1,5e-3\n" % n for n in LAMP_NM), *_cgats()[:1],
        ],
        "mapping": lambda: [b'"#c9342f" = "Kiln Red"\n', b'"#C9342F" = "none"\n'],
    }  # fmt: skip
    return [
        *(
            Reader(
                name=f"readings {form.name}", suffix=form.suffixes[0], seeds=kinds[form.name][0],
                read=_readings, mutators=kinds[form.name][1], weight=60,
                covers=(f"readings {form.name}", "readings:read_readings"),
            )
            for form in FORMATS
        ),
        Reader(name="lamp", suffix=".csv", seeds=seeds["lamp"], read=read_lamp, weight=20,
               mutators=mutators.TABLE, covers=("readings:read_lamp",)),
        Reader(name="palette", suffix=".txt", seeds=seeds["palette"], read=palette, weight=50,
               mutators=mutators.TABLE,
               covers=("readings:palette_from_file", "readings:parse_palette")),
        Reader(name="prints", suffix=".csv", seeds=seeds["prints"], read=prints, weight=45,
               mutators=mutators.TABLE, covers=("calibration:read_print_rows",)),
        Reader(name="drawdowns", suffix=".csv", seeds=seeds["drawdowns"], weight=40,
               read=lambda path: read_drawdowns([path]).inks, mutators=mutators.TABLE,
               covers=("drawdowns:read_drawdowns",)),
        Reader(name="table of jobs", suffix=".csv", seeds=batches.tables, weight=20,
               read=batches.read_table, mutators=mutators.TABLE),
        Reader(name="manifest.sqlite", suffix=".sqlite", seeds=batches.manifests, weight=20,
               read=batches.read_manifest, mutators=mutators.SQLITE,
               covers=("batch/manifest.py",)),
        Reader(name="mapping", suffix=".toml", seeds=seeds["mapping"], read=mapping, weight=20,
               mutators=mutators.TOML, covers=("artwork:read_mapping",)),
    ]  # fmt: skip


# -- files of a shop


def _whole_shop(folder: Path) -> None:
    """Load a shop, list it, change it, and take that back."""
    changes_of(folder)
    shop = load_shop(folder)
    next_step(shop)
    catalogue(shop)
    draft = open_draft(folder, "target")
    save(draft.add("target", {"name": "Fern of its own", "hex": "#35523a"}))
    undo(folder, "targets.toml")


def _draft(folder: Path, file: str) -> None:
    """Change a file of a shop whose other faults may stay."""
    with suppress(ShopFaults):
        _whole_shop(folder)
    draft = open_draft(folder, file)
    kind = {"inks.toml": "ink", "garments.toml": "garment", "screens.toml": "screen",
            "targets.toml": "target", "palette.toml": "palette"}.get(file)  # fmt: skip
    if kind is None:
        save(draft.set({"name" if file in ("shop.toml", "press.toml") else "source": "any"}))
        return
    entries = {"ink": "Kiln Red", "garment": "Coal Black", "screen": "230", "target": "Oven Red"}
    save(draft.remove(kind, entries.get(kind, "Oven Red")))


def _press(folder: Path) -> None:
    versions(folder)
    with suppress(ShopFaults):
        load_shop(folder)
    go_back(folder, day=DAY.isoformat())
    go_back(folder, day=DAY.isoformat(), number=1)


def _change(folder: Path) -> None:
    last_change(folder)
    undo(folder, "targets.toml", anyone=True)
    load_shop(folder)


def _history(folder: Path) -> None:
    rows = rows_kept(folder)
    marks_ever(folder)
    to_csv([each.row for each in rows])
    rows_kept(folder, since="2026-01-01")
    add_rows(folder, [each.row for each in rows], date=DAY.isoformat())
    if rows:
        remove_row(folder, rows[0].number)


def _in_shop(world: World) -> list[Reader]:
    promised = world.promised()

    def promises(folder: Path) -> None:
        sealed_proofs(folder)
        missing_numbers(folder)
        shop = load_shop(folder)
        record_of_shop(shop)
        issue_proof(shop, promised, design="another", viewing=Viewing(), day=DAY)

    def job(folder: Path) -> None:
        kept_keys(folder)
        kept = open_job(folder, "mill-logo")
        kept.drawn(world.shop)
        undo_job(kept, anyone=True)

    def decided(folder: Path) -> None:
        kept = open_job(folder, "mill-logo")
        if last := last_decision(kept):
            last.changed(kept, world.shop)

    listed = [p.read_bytes() for p in sorted((demo_shop_folder() / "jobs").glob("*.toml"))]
    jobs = [world.kept.data, world.place.job.read_bytes(), *listed]
    shops = [
        Reader(
            name=f"shop {file}", inside=file, suffix=".toml", mutators=mutators.TOML,
            seeds=lambda file=file: [  # type: ignore[misc]
                world.file(file), *([WHOLE[file].encode()] if file in WHOLE else [])
            ],
            read=lambda folder, file=file: _draft(folder, file),  # type: ignore[misc]
            weight=weight, covers=(f"shop {file}", "shop:load_shop", "shop:open_draft"),
        )
        for file, weight in zip(FILES, (12, 22, 20, 12, 20, 9, 9, 12, 9), strict=True)
    ]  # fmt: skip
    kept = "jobs/mill-logo"
    archived = next((world.place.shop / "press-history").glob("*.toml")).name
    return [
        *shops,
        Reader(name="press version", inside=f"press-history/{archived}", suffix=".toml",
               seeds=lambda: [world.file(f"press-history/{archived}"), world.file("press.toml")],
               read=_press, mutators=mutators.TOML, weight=14),
        Reader(name="calibrated press", inside="press.toml", suffix=".toml",
               seeds=lambda: [world.file("press.toml")], read=_press, mutators=mutators.TOML,
               weight=14),
        Reader(name="kept change", inside=".previous/targets.toml", suffix=".toml", read=_change,
               seeds=lambda: [world.file(".previous/targets.toml")], mutators=mutators.TOML,
               weight=15),
        Reader(name="job.toml", inside=f"{kept}/job.toml", suffix=".toml", seeds=lambda: jobs,
               read=job, mutators=mutators.TOML, weight=45,
               covers=("job:load_job", "job:load_drawn_job", "ledger:open_job")),
        Reader(name="kept change of a job", inside=f"{kept}/.previous/job.toml", suffix=".toml",
               seeds=lambda: [world.file(f"{kept}/.previous/job.toml")], read=job,
               mutators=mutators.TOML, weight=10),
        Reader(name="decided.json", inside=f"{kept}/decided.json", suffix=".json",
               seeds=lambda: [world.file(f"{kept}/decided.json")], read=decided,
               mutators=mutators.JSON, weight=20),
        Reader(name="bucket", suffix=".json", seeds=lambda: buckets.sound(world.shop),
               read=buckets.reader(world.shop), mutators=mutators.JSON, weight=10,
               memory_mb=1000,  # a file grown to 200 MB, of which 5 are read
               covers=("mixing:read_bucket",)),
        Reader(name="history.sqlite", inside="history.sqlite", suffix=".sqlite",
               seeds=lambda: [world.file("history.sqlite")], read=_history,
               mutators=mutators.SQLITE, weight=35, covers=("calibration/history.py",)),
        Reader(name="promises.sqlite", inside="promises.sqlite", suffix=".sqlite",
               seeds=lambda: [world.file("promises.sqlite")], read=promises,
               mutators=mutators.SQLITE, weight=30, covers=("ledger/promises.py",)),
    ]  # fmt: skip


def readers(world: World) -> list[Reader]:
    """All of them."""
    return [*_pictures(), *_tables(world), *_in_shop(world)]


# -- as cases


def _name(rng: random.Random, reader: Reader) -> str:
    """A name for the file: now and then one that no program would choose."""
    if rng.random() < 0.9:
        return f"file{reader.suffix}"
    words = [w for w in mutators.HOSTILE_WORDS if w.strip(".") and not {"/", "\x00"} & set(w)]
    return rng.choice(words)[:60] + reader.suffix


def suites(world: World, *, seed: int) -> list[Suite]:
    """The readers as cases of a seed."""

    def suite(reader: Reader) -> Suite:
        seeds = list(reader.seeds())

        def content(at: int) -> bytes:
            rng = random.Random(f"{seed} {reader.name} {at}")
            return spoiled(rng, rng.choice(seeds), reader.mutators)

        def attempt_with(at: int, data: bytes, folder: Path) -> None:
            if reader.inside:
                shop = world.shop_in(folder)
                path = shop / reader.inside
                path.unlink()
                path.write_bytes(data)
                reader.read(shop)
                return
            path = folder / _name(random.Random(f"name {seed} {reader.name} {at}"), reader)
            path.write_bytes(data)
            reader.read(path)

        return Suite(
            name=reader.name, weight=reader.weight, memory_mb=reader.memory_mb, content=content,
            attempt=lambda at, folder: attempt_with(at, content(at), folder),
            attempt_with=attempt_with, suffix=reader.suffix, covers=reader.covers,
            quiet=reader.quiet,
        )  # fmt: skip

    return [suite(reader) for reader in readers(world)]
