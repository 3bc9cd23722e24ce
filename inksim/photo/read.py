"""A picture with a chart in it, read: the chart found and checked, every region to a color."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Literal

from inksim.common import InputError
from inksim.photo.camera import Camera, camera_of
from inksim.photo.charts import Chart
from inksim.photo.checks import (
    all_faults,
    chart_findings,
    check_corners,
    light_findings,
    region_findings,
)
from inksim.photo.find import find_corners
from inksim.photo.geometry import Grid, Point, Region, Row, quadrilateral
from inksim.photo.picture import Picture
from inksim.photo.sampling import Patch, is_inside, sampled
from inksim.photo.seen import PhotoReading
from inksim.photo.turned import Placed, place_chart

MOST_REGIONS = 500
Part = Literal["corners", "regions", "surround"]


class PhotoFault(InputError):
    """What is wrong with a picture for reading it, and which of the given `part` it is about."""

    def __init__(self, words: str, part: Part) -> None:
        self.part = part
        super().__init__(words)


@contextmanager
def _about(part: Part) -> Iterator[None]:
    try:
        yield
    except InputError as fault:
        raise PhotoFault(str(fault), part) from None


@dataclass(frozen=True, kw_only=True, eq=False)
class PhotoRead:
    """What was read: `readings` in the order of `regions`, `findings` about the picture."""

    picture: Picture
    chart: Chart
    placed: Placed
    camera: Camera
    regions: tuple[Region, ...]
    surround: tuple[Region, ...]
    readings: tuple[PhotoReading, ...]
    findings: tuple[str, ...]

    def without_pixels(self) -> PhotoRead:
        """Drop the picture's pixels, to be kept: a camera's picture is some hundred megabytes."""
        return replace(self, picture=replace(self.picture, codes=self.picture.codes[:0]))


def read_photo(
    picture: Picture,
    chart: Chart,
    *,
    corners: Sequence[Point] | None = None,
    regions: Sequence[Region] = (),
    rows: Sequence[Row] = (),
    surround: Sequence[Region] = (),
) -> PhotoRead:
    """Read regions of a picture through the chart between four corners.

    Parameters
    ----------
    corners : the outer corners of the chart's four corner patches, in pixels, from the first patch
        on along the first row; other turns are put right with a finding. None: they are found.
    regions, rows : what to read; a row is its names and the middles of its first and last patch.
    surround : places of one material, the sheet below all, that tell how even the light is.

    Raises
    ------
    PhotoFault : what makes the picture useless, or all regions that cannot be read at once.
    """
    with _about("corners"):
        quad = find_corners(picture, chart) if corners is None else quadrilateral(corners)
        check_corners(picture, Grid(corners=quad, rows=chart.rows, columns=chart.columns))
        placed = place_chart(picture, chart, quad)
        findings = [*picture.notes, *chart.notes, *chart_findings(picture, chart, placed)]
    if corners is None:
        findings.append("the chart's corners were found, not given: look whether they are right")
    with _about("regions"):
        wanted = [*regions, *(each for row in rows for each in placed.grid.row_of(*row))]
        _check_names(picture, wanted)
    with _about("surround"):
        beside = [_sampled(picture, region) for region in surround]
        for region, patch in zip(surround, beside, strict=True):
            list(region_findings(picture, region, patch))  # how even it is, is what it is there for
        findings += light_findings(picture, beside)
    with _about("corners"):
        camera = camera_of(
            chart, [each.seen for each in placed.patches], surround=[each.seen for each in beside]
        )
    with _about("regions"):
        readings = _readings(picture, camera, wanted)
    return PhotoRead(
        picture=picture, chart=chart, placed=placed, camera=camera, regions=tuple(wanted),
        surround=tuple(surround), readings=tuple(readings),
        findings=tuple(dict.fromkeys((*findings, *camera.findings))),
    )  # fmt: skip


def _readings(picture: Picture, camera: Camera, wanted: Sequence[Region]) -> list[PhotoReading]:
    readings, faults = [], []
    for region in wanted:
        try:
            patch = _sampled(picture, region)
            vivid = camera.likely is not None
            notes = tuple(region_findings(picture, region, patch, vivid=vivid))
            reading = camera.read(patch.seen)
            readings.append(replace(reading, notes=(*reading.notes, *notes)))
        except InputError as fault:
            faults.append(fault)
    all_faults(faults)
    return readings


def _sampled(picture: Picture, region: Region) -> Patch:
    if not is_inside(region.outline, picture):
        raise picture.fault(
            f"is {picture.width} × {picture.height} pixels, and the region '{region.name}' is not "
            "all inside; give it in pixels of the upright picture."
        )
    return sampled(picture, region)


def _check_names(picture: Picture, regions: Sequence[Region]) -> None:
    if len(regions) > MOST_REGIONS:
        raise picture.fault(f"has {len(regions)} regions to read; at most {MOST_REGIONS} are.")
    names = [each.name for each in regions]
    twice = {name for name in names if names.count(name) > 1}
    if twice:
        raise picture.fault(f"has two regions named '{min(twice)}'; give each its own name.")
