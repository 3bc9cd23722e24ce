"""What is wrong with a picture for reading colors from it: refused, or noted, in a sentence.

The limits are this project's own [assumption], set on rendered pictures: where a limit is passed, a
reading is off by about as much as it is said to be unsure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from inksim.colour import D50, chroma, lab_from_xyz
from inksim.common import FloatArray, InputError
from inksim.photo.camera import balance
from inksim.photo.charts import Chart
from inksim.photo.fit import SRGB_TO_XYZ
from inksim.photo.geometry import LEAST_SIDE_PX, Grid, Region
from inksim.photo.picture import Picture
from inksim.photo.sampling import Patch, box_of, is_inside
from inksim.photo.turned import Placed

LEAST_PIXELS, FEW_PIXELS = 400, 2500
DARK, DARKISH = 0.08, 0.2
"""Light of a patch that reflects all, as share of the file's white."""
BLURRED, BLURRISH = 0.32, 0.16
"""Width of the edge between two patches, as share of a patch: looked at is the inner half."""
UNEVEN_PATCH = 0.15
CLIPPED, CLIPPISH = 0.05, 0.005
UNEVEN_REGION = 0.08
TINTED, TINTISH = 0.12, 0.03
"""Ratio of red or blue to green that differs between places of the surround."""
GREYS_TINTED, GREYS_TINTISH = 0.2, 0.07
"""The same of the chart's grays: a camera's own tone curve tints them by up to 0.06, by level."""
LEAST_ALIKE, COLOURED = 0.3, 20.0
"""Least correlation of a* and b* of the colored patches, of so much chroma, with the chart's, once
its grays are gray: above 0.47 for all simulated cameras (tests/accuracy/_cameras.py), of stacked
layers and without a matrix too; 0 if a* and b* are swapped in the chart's file."""
SURROUND_APART = 1.5
"""Ratio of light between places of the surround from which it is told."""
LIGHT_GREY = 30.0
"""Least L* of a gray whose tint is looked at: of a darker one stray light has a part."""
STRIPES = 0.02
_STEPS, _LINES = 64, 9
_STRIPES_SIDE = 384
_LEAST_PERIOD_PX = 6.0


def check_corners(picture: Picture, grid: Grid) -> None:
    """Refuse corners outside the picture, and a chart too small in it."""
    for at, (x, y) in enumerate(grid.corners, start=1):
        if not is_inside([(float(x), float(y))], picture):
            raise picture.fault(
                f"is {picture.width} × {picture.height} pixels, and corner {at} of the chart lies "
                f"outside, at {x:.0f},{y:.0f}: the chart is cut off, or the corner is mistyped; "
                "the whole chart must be seen."
            )
    side = grid.smallest_patch_px()
    if side < LEAST_SIDE_PX:
        raise picture.fault(
            f"shows the chart too small: the inner half of its smallest patch is {side:.0f} pixels "
            f"wide, and {LEAST_SIDE_PX:.0f} are needed; go nearer, or scan at 300 dpi."
        )


def chart_findings(picture: Picture, chart: Chart, placed: Placed) -> Iterator[str]:
    """Notes on a chart in its picture.

    Raises
    ------
    InputError : it is too dark, clipped, covered or out of focus.
    """
    if len(chart.names) > 1 and placed.lies != "upright":
        yield f"the chart lies {placed.lies} in the picture, as its colors tell: read so"
    if not placed.as_given:
        yield "the corners were given in another order than the chart's: put right by its colors"
    patches = placed.patches
    yield from _exposure(picture, chart, patches)
    yield from _grey_tints(picture, chart, patches)
    _check_hues(picture, chart, patches)
    odd = [p for p in patches if p.unevenness > UNEVEN_PATCH and max(p.seen.rgb) > 0.02]
    if len(odd) > max(1, len(patches) // 4):
        raise picture.fault(
            f"shows {len(odd)} of {len(patches)} patches uneven ({_names(odd)}): the corners are "
            "not the chart's, or a shadow, a glare or something else lies on it."
        )
    if odd:
        yield f"uneven patch, perhaps a glare or a shadow: {_names(odd)}"
    yield from _focus(picture, placed.grid)


def _exposure(picture: Picture, chart: Chart, patches: Sequence[Patch]) -> Iterator[str]:
    clipped = [p for p in patches if p.seen.clipped > CLIPPED]
    bright = [p for p in clipped if max(p.seen.rgb) > 0.5]
    if len(clipped) > max(len(patches) // 3, 0) or len(bright) == len(patches):
        raise picture.fault(
            f"is clipped on {len(clipped)} of {len(patches)} patches ({_names(clipped)}): the "
            "camera kept no difference there; take it again with less exposure."
        )
    if bright:
        yield f"overexposed, take it with less exposure: {_names(bright)} clipped"
    lightest = int(np.argmax(chart.lab[:, 0]))
    seen = patches[lightest].seen
    if seen.clipped > CLIPPED:
        return
    full = float(seen.rgb.max()) / max(float(chart.xyz[lightest, 1]) / 100.0, 0.02)
    if full < DARK:
        raise picture.fault(
            f"is too dark: its lightest patch, '{seen.name}', has {seen.rgb.max():.0%} of the "
            "file's white; take it again with more light or exposure."
        )
    if full < DARKISH:
        yield f"dark: white would have {full:.0%} of the file's white; give more exposure"


def _grey_tints(picture: Picture, chart: Chart, patches: Sequence[Patch]) -> Iterator[str]:
    """Whether the chart's grays have one tint, where they lie apart from one another."""
    light = np.flatnonzero(chart.neutral & (chart.lab[:, 0] > LIGHT_GREY)).tolist()
    greys = [at for at in light if patches[at].seen.clipped <= CLIPPED]
    if len(greys) < 3:
        return
    white = chart.xyz[greys] @ np.linalg.inv(SRGB_TO_XYZ).T
    tints = np.array([patches[at].seen.rgb for at in greys]) / white
    tints /= tints[:, 1:2]
    apart = _apart(tints)
    if apart > GREYS_TINTED:
        raise picture.fault(
            f"shows the chart's grays in tints that differ by {apart:.0%}: two kinds of light fall "
            "on it, as lamp and window do, or a glare; use one light."
        )
    if apart > GREYS_TINTISH:
        yield f"the chart's grays differ in tint by {apart:.0%}: mixed light, or a glare on it"


def _apart(tints: FloatArray) -> float:
    """By which share the tints (n, 3) of what should be one gray differ, in the worst channel."""
    return float((tints.max(axis=0) / np.maximum(tints.min(axis=0), 1e-4)).max() - 1.0)


def _check_hues(picture: Picture, chart: Chart, patches: Sequence[Patch]) -> None:
    """Refuse a chart of other hues than those seen: a camera that turns them could be fitted."""
    kept = np.array([each.seen.clipped <= CLIPPED for each in patches])
    coloured = kept & (np.hypot(chart.lab[:, 1], chart.lab[:, 2]) > COLOURED)
    if coloured.sum() < 3 or not (kept & chart.neutral).any():
        return
    rgb = np.array([each.seen.rgb for each in patches])
    factor = balance(rgb[kept], chart.xyz[kept], chroma(chart.lab[kept]))
    seen = lab_from_xyz(100.0 * np.maximum(rgb * factor, 0.0) @ SRGB_TO_XYZ.T, D50)[coloured, 1:]
    listed = chart.lab[coloured, 1:]
    alike = float(np.sum(seen * listed) / np.sqrt(np.sum(seen**2) * np.sum(listed**2)))
    if alike < LEAST_ALIKE:
        raise picture.fault(
            f"shows the patches of chart '{chart.name}' in other hues than the chart has: a and b "
            "are swapped or have the wrong sign in its readings, or it is another chart; look at "
            "its file."
        )


def _names(patches: Sequence[Patch]) -> str:
    listed = [f"'{each.seen.name}'" for each in patches[:3]]
    return ", ".join(listed) + (" …" if len(patches) > len(listed) else "")


def _focus(picture: Picture, grid: Grid) -> Iterator[str]:
    width = edge_width(picture, grid)
    if width is None:
        return
    if width > BLURRED:
        raise picture.fault(
            f"is blurred: the edge between two patches is {width:.0%} of a patch wide; hold still, "
            "focus on the chart, or go nearer."
        )
    if width > BLURRISH:
        yield f"not quite sharp: edges between patches are {width:.0%} of a patch wide"


def edge_width(picture: Picture, grid: Grid) -> float | None:
    """Width of the edges between neighboring patches, as share of a patch; None without any.

    Of each border the light's whole step over its steepest slope, where the step is seen best:
    the median of the 12 strongest.
    """
    found = []
    for row in range(grid.rows):
        for column in range(grid.columns):
            for down, across in ((0, 1), (1, 0)):
                if row + down < grid.rows and column + across < grid.columns:
                    found.append(_edge(picture, grid, (column, row), (across, down)))
    if not found:
        return None
    strongest = sorted(found, reverse=True)[:12]
    step = strongest[0][0]
    return float(np.median([width for each, width in strongest if each > 0.3 * step]))


def _edge(
    picture: Picture, grid: Grid, first: tuple[int, int], along: tuple[int, int]
) -> tuple[float, float]:
    """The step of light from the middle of a patch to the next one's, and its width."""
    start = np.array(first) + 0.5
    way, aside = np.array(along, dtype=float), np.array(along[::-1], dtype=float)
    steps = np.linspace(0.0, 1.0, _STEPS)
    lines = np.linspace(-0.2, 0.2, _LINES)
    places = start + steps[:, None, None] * way + lines[None, :, None] * aside
    pixels = np.floor(grid.pixels(places.reshape(-1, 2))).astype(int)
    x = np.clip(pixels[:, 0], 0, picture.width - 1)
    y = np.clip(pixels[:, 1], 0, picture.height - 1)
    codes = picture.codes[y, x]
    light = np.stack([picture.curves[at][codes[:, at]] for at in range(3)], axis=-1)
    profile = light.reshape(_STEPS, _LINES, 3).mean(axis=1).astype(float)
    spans = profile.max(axis=0) - profile.min(axis=0)
    best = int(np.argmax(spans))
    slope = np.abs(profile[2:, best] - profile[:-2, best]).max() / 2.0 * (_STEPS - 1)
    return float(spans[best]), float(spans[best] / max(slope, 1e-9))


def region_findings(
    picture: Picture, region: Region, patch: Patch, *, vivid: bool = False
) -> Iterator[str]:
    """Notes on a region that is read.

    vivid : whether a color may be read that the file cuts at the lower end of one channel or two,
        where the lightest is lit.

    Raises
    ------
    InputError : it is clipped, or has too few pixels.
    """
    if patch.pixels < LEAST_PIXELS:
        raise picture.fault(
            f"has {patch.pixels} pixels in the region '{region.name}', and {LEAST_PIXELS} are "
            "needed; draw it larger or go nearer."
        )
    lost = patch.seen.clipped - (patch.below if vivid else 0.0)
    if lost > CLIPPED:
        raise picture.fault(
            f"is clipped in {patch.seen.clipped:.0%} of the region '{region.name}': the camera "
            "kept no difference there; take it again with other exposure, or leave it out."
        )
    if lost > CLIPPISH:
        yield f"{lost:.1%} of it is clipped"
    if patch.pixels < FEW_PIXELS:
        yield f"only {patch.pixels} pixels: a knit needs some more to be averaged"
    if patch.unevenness > UNEVEN_REGION:
        yield f"uneven by {patch.unevenness:.0%}: a fold, a shadow, or more than one color in it"
    stripes = moire(picture, region)
    if stripes > STRIPES:
        yield (
            f"colored stripes of {stripes:.0%} (moiré of knit and camera): take it again a little "
            "nearer, or turned"
        )


def moire(picture: Picture, region: Region) -> float:
    """Amplitude of the strongest colored stripes in a region, as share of its light.

    A knit itself darkens all channels alike and drops out of their difference; where it beats with
    the pixels, every channel has it elsewhere. Looked at are periods from 6 pixels to a third of
    the middle of the region, in a Hann window; 0 if nothing stands out of the noise.
    """
    left, top, right, bottom = box_of(region.outline, picture)
    side = min((right - left) // 2, (bottom - top) // 2, _STRIPES_SIDE)
    if side < 4 * _LEAST_PERIOD_PX:
        return 0.0
    x, y = (left + right - side) // 2, (top + bottom - side) // 2
    light = picture.light((x, y, x + side, y + side)).astype(float)
    mean = np.maximum(light.mean(axis=(0, 1)), 1e-3)
    even = light / mean
    window = np.outer(np.hanning(side), np.hanning(side))
    per_px = np.hypot(np.fft.fftfreq(side)[:, None], np.fft.rfftfreq(side)[None, :])
    looked_at = (per_px >= 3.0 / side) & (per_px <= 1.0 / _LEAST_PERIOD_PX)
    strongest = 0.0
    for other in (0, 2):
        tint = even[..., other] - even[..., 1]
        size = np.abs(np.fft.rfft2((tint - tint.mean()) * window))[looked_at] * 2.0 / window.sum()
        if size.max() > 8.0 * np.median(size):
            strongest = max(strongest, float(size.max()))
    return strongest


def light_findings(picture: Picture, surround: Sequence[Patch]) -> Iterator[str]:
    """Whether places of one surround have one tint.

    Raises
    ------
    InputError : lights of two colors fall on the picture, or the surround is not one material.
    """
    if len(surround) < 2:
        return
    tints: FloatArray = np.array([each.seen.rgb / max(each.seen.rgb[1], 1e-4) for each in surround])
    apart = _apart(tints)
    if apart > TINTED:
        raise picture.fault(
            f"has a surround whose tint differs by {apart:.0%} from place to place: two kinds of "
            "light fall on it, as lamp and window do; use one, or the places are not one material."
        )
    if apart > TINTISH:
        yield f"the surround's tint differs by {apart:.0%} from place to place: mixed light"
    light = [float(each.seen.rgb[1]) for each in surround]
    ratio = max(light) / max(min(light), 1e-4)
    if ratio > SURROUND_APART:
        yield (
            f"the surround is {ratio:.1f} times as light at one place as at another: a shadow, or "
            "not one sheet; what lies there may be further off than is said"
        )


def all_faults(faults: Sequence[InputError]) -> None:
    """Raise all faults at once, a line each."""
    if faults:
        raise InputError("\n".join(str(each) for each in faults))
