"""Command `photo`: colors from a photo or a scan that shows a chart."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inksim.cli.options import JSON_OPTION, aside, check_apart, plainly, say
from inksim.cli.values import Words
from inksim.common import STDOUT, InputError, tell

if TYPE_CHECKING:
    from inksim.photo import PhotoRead, Region

Point = tuple[float, float]


def _point(text: str) -> Point:
    from inksim.photo import point_of

    return point_of(text)


def _region(text: str) -> Region:
    from inksim.photo import region_of

    return region_of(text)


def _outline(text: str) -> tuple[Point, ...]:
    from inksim.photo import outline_of

    return outline_of(text)


POINT = Words(_point, name="point")
ROW = (click.STRING, POINT, POINT)


@click.command("photo")
@click.argument("picture_file", metavar="PICTURE", type=click.Path(path_type=Path))
@click.option("--chart", required=True, metavar="CHART",
              help="iso17321 (24 patches), gray or white (one card), or a file of readings of the "
              "chart's patches.")  # fmt: skip
@click.option("--corners", type=(POINT, POINT, POINT, POINT), default=None,
              metavar="X,Y X,Y X,Y X,Y",
              help="Outer corners of the chart's four corner patches, in pixels of the upright "
              "picture: the first patch's, then along the first row and round. Found by itself if "
              "not given.")  # fmt: skip
@click.option("--region", "regions", type=Words(_region, name="region"), multiple=True,
              metavar="NAME=X,Y,W,H",
              help="What to read: a rectangle, or an outline as 'NAME=X,Y X,Y X,Y'; again for "
              "each.")  # fmt: skip
@click.option("--row", "rows", type=ROW, multiple=True, metavar="NAMES X,Y X,Y",
              help="A row of equal patches: names with commas between, the middles of the first "
              "and of the last.")  # fmt: skip
@click.option("--surround", "surround", type=Words(_outline, name="outline"),
              multiple=True, metavar="X,Y,W,H",
              help="A place of the one sheet that lies below all, again for three and more: tells "
              "how even the light is.")  # fmt: skip
@click.option("--chart-rows", type=click.IntRange(1, 100), default=None,
              help="Rows of a chart from a file that does not say them.")  # fmt: skip
@click.option("--chart-columns", type=click.IntRange(1, 100), default=None,
              help="Its patches in a row.")  # fmt: skip
@click.option("--out", "csv_file", type=click.Path(path_type=Path), default=None,
              metavar="FILE.csv",
              help="Write the readings, for --from of other commands.")  # fmt: skip
@click.option("--show", "shown_file", type=click.Path(path_type=Path), default=None,
              metavar="FILE.png",
              help="Write the picture with all that was looked at.")  # fmt: skip
@JSON_OPTION
@plainly
def photo_command(
    *, picture_file: Path, chart: str, corners: tuple[Point, Point, Point, Point] | None,
    regions: tuple[Region, ...], rows: tuple[tuple[str, Point, Point], ...],
    surround: tuple[tuple[Point, ...], ...], chart_rows: int | None, chart_columns: int | None,
    csv_file: Path | None, shown_file: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Read colors from a photo or a scan in which a chart of known patches lies.

    Nothing is stored in a shop; the readings in --out are, by 'inksim add … --from FILE.csv#NAME'.

    \b
    inksim photo shirts.jpg --chart iso17321
        --region "fern=500,1500,400,400" --out readings.csv --show seen.png
    """
    from inksim.photo import chart_of, read_photo, read_picture, sheet_places
    from inksim.reports import emit_json, photo_document, photo_text

    to_stderr = aside(csv_file, shown_file, as_json=as_json)
    check_apart(csv_file, shown_file, read=(picture_file, chart))
    if csv_file is not None and not regions and not rows:
        raise InputError("--out has nothing to write: say what to read with --region or --row.")
    known = chart_of(chart, rows=chart_rows, columns=chart_columns)
    read = read_photo(
        read_picture(picture_file),
        known,
        corners=corners,
        regions=regions,
        rows=[([each.strip() for each in names.split(",")], a, b) for names, a, b in rows],
        surround=sheet_places(surround),
    )
    _write(read, csv_file=csv_file, shown_file=shown_file)
    if as_json:
        emit_json(photo_document(read))
    else:
        tell(photo_text(read), err=to_stderr)


def _write(read: PhotoRead, *, csv_file: Path | None, shown_file: Path | None) -> None:
    """Write the readings, and the picture with all that was looked at."""
    from inksim.common import write_whole
    from inksim.reports import photo_csv

    if csv_file is not None:
        write_whole(csv_file, photo_csv(read).encode())
    if shown_file is not None:
        from inksim.photo import drawn
        from inksim.preview import png_bytes

        about = f"{read.picture.name} by chart {read.chart.name}: what was looked at"
        write_whole(shown_file, png_bytes(drawn(read), about=about))
    for file in (csv_file, shown_file):
        if file not in (None, STDOUT):
            say(f"written: {file}")


COMMANDS: Sequence[click.Command] = (photo_command,)
