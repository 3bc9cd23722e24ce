"""What a batch says at its end: a table, a document for machines, and sheets of thumbnails.

They are made from the manifest alone, row after row, so that a batch of any size has them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, islice
from pathlib import Path
from typing import Any

import numpy as np

from inksim import __version__
from inksim.batch.manifest import Kept, Manifest
from inksim.common import NOT_A_PROOF, STRIKE_OFF, csv_lines, json_text, write_whole
from inksim.picture import SheetPanel, compose_sheet
from inksim.preview import png_bytes

OF_ROW = ("source", "artwork", "job", "state", "garment", "quantity", "said", "nominal", "data")
OF_COLOUR = (
    "target", "ink", "route", "build", "ciede2000", "median_de00", "chance", "verdict",
)  # fmt: skip
OF_PICTURE = ("tonal_route", "tonal_mean_de00", "tonal_out_of_reach")
HEAD = (*OF_ROW, *OF_COLOUR, *OF_PICTURE, "cost", "picture", "proof", "proof_said", "fault")
ON_A_SHEET, MOST_SHEETS, COLUMNS = 48, 20, 8
SHEET_PX = 2400
THUMBNAIL_PX = 320


@dataclass(frozen=True, kw_only=True)
class Reports:
    """The files. not_shown: pictures that no sheet has room for."""

    table: Path
    document: Path
    sheets: tuple[Path, ...]
    not_shown: int


def write_reports(manifest: Manifest, out: Path, *, ending: str, pictures: bool) -> Reports:
    """Write the report of all rows of the list. ending: of the files' names.

    Raises
    ------
    InputError : one of them cannot be written.
    """
    table, whole = out / f"report{ending}.csv", out / f"report{ending}.json"
    write_whole(table, _table(manifest.kept()))
    write_whole(whole, _document(manifest.kept()))
    sheets: list[Path] = []
    rest = iter(_panels(manifest.kept(), out)) if pictures else iter(())
    while len(sheets) < MOST_SHEETS and (some := list(islice(rest, ON_A_SHEET))):
        path = out / f"sheet{ending}-{len(sheets) + 1}.png"
        write_whole(path, _sheet(some, number=len(sheets) + 1))
        sheets.append(path)
    return Reports(
        table=table, document=whole, sheets=tuple(sheets), not_shown=sum(1 for _ in rest)
    )


def _table(kept: Iterable[Kept]) -> Iterator[bytes]:
    """The table, a line for each color of each garment, one for a fault."""
    for line in csv_lines(HEAD, chain.from_iterable(map(_lines, kept))):
        yield line.encode()


def _lines(kept: Kept) -> Iterator[list[Any]]:
    for values in _values(kept):
        yield ["" if values.get(name) is None else values[name] for name in HEAD]


def _values(kept: Kept) -> Iterator[dict[str, Any]]:
    at = kept.row.listed
    of_row = {
        "source": at.source, "artwork": Path(at.art).name, "job": at.name, "state": kept.state,
        "fault": kept.fault,
    }  # fmt: skip
    garments = kept.found.get("garments", [])
    if not garments:
        asked = at.said.get("garments")
        named = asked[0] if isinstance(asked, list) and len(asked) == 1 else ""
        yield {**of_row, "garment": str(named)}
    for found in garments:
        of_garment = {
            **of_row,
            **{name: found[name] for name in ("garment", "quantity", "said", "nominal", "data")},
            "cost": (found["cost"] or {}).get("total"),
            "picture": _file(kept.files, "picture", found["garment"]),
            "proof": _file(kept.files, "proof", ""),
            "proof_said": _file(kept.files, "proof", "", what="said"),
        }
        tonal = found["tonal"]
        if tonal:
            of_garment |= {
                "tonal_route": tonal["route"],
                "tonal_mean_de00": tonal["delta_e_2000"]["mean"],
                "tonal_out_of_reach": tonal["out_of_reach"],
            }
        if not found["answers"]:
            yield of_garment
        for answer in found["answers"]:
            of_colour = {name: answer[name] for name in OF_COLOUR}
            yield {**of_garment, **of_colour, "verdict": answer["verdict"]["word"]}


def _file(
    files: Sequence[Mapping[str, str]], kind: str, garment: str, *, what: str = "file"
) -> str:
    found = (f.get(what, "") for f in files if (f["kind"], f["garment"]) == (kind, garment))
    return next(found, "")


def _document(kept: Iterable[Kept]) -> Iterator[bytes]:
    """The same for machines, a job at a time: {"inksim": …, "jobs": [...]}."""
    yield f'{{"inksim": "{__version__}", "jobs": ['.encode()
    for number, each in enumerate(kept):
        at = each.row.listed
        said = {
            "source": at.source, "artwork": Path(at.art).name or None, "job": at.name,
            "state": each.state, "fault": each.fault, "key": each.row.key,
            "garments": each.found.get("garments", []), "notes": each.found.get("notes", []),
            "honest": each.found.get("honest", ""),
            "files": each.files,
        }  # fmt: skip
        yield f"{',' if number else ''}\n{json_text(said, indent=None)}".encode()
    yield b"\n]}\n"


def _panels(kept: Iterable[Kept], out: Path) -> Iterator[tuple[Kept, str, str, str]]:
    """Every picture that was made: of what, its file, garment and what is said of it."""
    for each in kept:
        for found in each.found.get("garments", []):
            file = _file(each.files, "picture", found["garment"])
            if file and (out / file).is_file():
                yield each, str(out / file), found["garment"], found["said"]


def _sheet(some: Sequence[tuple[Kept, str, str, str]], *, number: int) -> bytes:
    panels = [
        SheetPanel(
            picture=_thumbnail(Path(file)), heading=kept.row.listed.name, lines=(garment, said)
        )
        for kept, file, garment, said in some
    ]
    honest = dict.fromkeys(kept.found["honest"] for kept, *_ in some)
    page = compose_sheet(
        panels,
        title=f"Predicted prints, sheet {number}",
        footnote=" ".join([*honest, NOT_A_PROOF, STRIKE_OFF]),
        width_px=SHEET_PX,
        columns=COLUMNS,
    )
    return png_bytes(page)


def _thumbnail(file: Path) -> Any:
    """A picture reduced to what a column shows."""
    from PIL import Image

    with Image.open(file) as opened:
        picture = opened.convert("RGB")
        picture.thumbnail((THUMBNAIL_PX, THUMBNAIL_PX * 2), Image.Resampling.BOX)
        return np.asarray(picture)
