"""Files of readings made up for tests: CSV, CGATS and CxF of the same three spectra."""

from __future__ import annotations

import numpy as np

from inksim.colour.grid import WAVELENGTHS_NM
from inksim.readings.read import Reading, read_readings

GRID = [int(nm) for nm in WAVELENGTHS_NM]

# Spectra made up for these tests, as factors: (3, 31), smooth, between 0.02 and 0.9.
SPECTRA = np.round(
    [
        0.05 + 0.8 / (1 + np.exp(-(WAVELENGTHS_NM - 590) / 15)),
        0.9 - 0.4 * np.exp(-(((WAVELENGTHS_NM - 550) / 60) ** 2)),
        0.02 + 0.0001 * np.arange(31),
    ],
    4,
)

NAMES = ("ember", "chalk", "soot")


def wide(
    *,
    mark: str = ",",
    column: str = "R{nm}",
    percent: bool = False,
    comma: bool = False,
    spectra: np.ndarray = SPECTRA,
) -> str:
    """A CSV of the made-up spectra in some dialect."""
    lines = [mark.join(["name", *(column.format(nm=nm) for nm in GRID)])]
    for name, spectrum in zip(NAMES, spectra, strict=False):
        cells = [f"{value * (100 if percent else 1):.4f}" for value in spectrum]
        cells = [cell.replace(".", ",") for cell in cells] if comma else cells
        lines.append(mark.join([name, *cells]))
    return "\n".join(lines) + "\n"


def one(text: str | bytes, **words: object) -> Reading:
    data = text.encode() if isinstance(text, str) else text
    (reading,) = read_readings(data, name="file", **words)  # type: ignore[arg-type]
    return reading


def cgats(fields: str, rows: str, *, head: str = "", sets: int | None = None) -> str:
    count = len(rows.strip().split("\n")) if sets is None else sets
    return (
        f"CGATS.17\n{head}NUMBER_OF_FIELDS {len(fields.split())}\nBEGIN_DATA_FORMAT\n{fields}\n"
        f"END_DATA_FORMAT\nNUMBER_OF_SETS {count}\nBEGIN_DATA\n{rows}\nEND_DATA\n"
    )


def numbers(values: np.ndarray, scale: float = 1.0) -> str:
    return " ".join(f"{value * scale:.6g}" for value in values)


CORE = "http://colorexchangeformat.com/CxF3-core"
SIC = "http://colorexchangeformat.com/CxF3-SpotInkCharacterisation"


def cxf_object(key: str, body: str, *, name: str = "", extra: str = "") -> str:
    return (
        f'<cc:Object ObjectType="Standard" Name="{name or key}" Id="{key}">'
        f"<cc:CreationDate>2024-01-01T00:00:00Z</cc:CreationDate>"
        f"<cc:ColorValues>{body}</cc:ColorValues>{extra}</cc:Object>"
    )


def spectrum(values: np.ndarray = SPECTRA[0], *, specification: str = "CS1", more: str = "") -> str:
    return (
        f'<cc:ReflectanceSpectrum StartWL="400" ColorSpecification="{specification}" {more}>'
        f"{numbers(values)}</cc:ReflectanceSpectrum>"
    )


def specification(
    key: str = "CS1", *, geometry: str = "", device: str = "", step: int | None = 10, more: str = ""
) -> str:
    geometry = geometry or "<cc:SphereGeometry>Specular_Included</cc:SphereGeometry>"
    wavelengths = f'<cc:WavelengthRange StartWL="400" Increment="{step}"/>' if step else ""
    return (
        f'<cc:ColorSpecification Id="{key}"><cc:TristimulusSpec><cc:Illuminant>D65</cc:Illuminant>'
        "<cc:Observer>10_Degree</cc:Observer><cc:Method>E308_Table5</cc:Method>"
        "</cc:TristimulusSpec><cc:MeasurementSpec>"
        "<cc:MeasurementType>Spectrum_Reflectance</cc:MeasurementType>"
        f"<cc:GeometryChoice>{geometry}</cc:GeometryChoice>{wavelengths}{more}"
        f"<cc:Device><cc:Model>any</cc:Model>{device}</cc:Device>"
        "</cc:MeasurementSpec></cc:ColorSpecification>"
    )


def cxf(objects: str, specifications: str | None = None, custom: str = "") -> str:
    given = specification() if specifications is None else specifications
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<cc:CxF xmlns:cc="{CORE}" xmlns:sic="{SIC}">\n'
        f"<cc:Resources><cc:ObjectCollection>\n{objects}\n</cc:ObjectCollection>"
        f"<cc:ColorSpecificationCollection>{given}</cc:ColorSpecificationCollection>"
        f"</cc:Resources><cc:CustomResources>{custom}</cc:CustomResources></cc:CxF>"
    )


LAB = (
    '<cc:ColorCIELab ColorSpecification="CS1"><cc:L>50</cc:L><cc:A>10</cc:A><cc:B>-10</cc:B>'
    "</cc:ColorCIELab>"
)

SPOT = """
<sic:SpotInkCharacterisation SpotInkName="Ember" PrintProcess="Screen">
 <sic:MeasurementSet Background="Substrate">
  <sic:Measurement TintLevel="0" ObjectRef="s0"/><sic:Measurement TintLevel="50" ObjectRef="s50"/>
  <sic:Measurement TintLevel="100" ObjectRef="s100" ReflectanceSpectrumNameRef="second"/>
 </sic:MeasurementSet>
 <sic:MeasurementSet Background="Black">
  <sic:Measurement TintLevel="0" ObjectRef="k0"/><sic:Measurement TintLevel="100" ObjectRef="k100"/>
 </sic:MeasurementSet>
</sic:SpotInkCharacterisation>"""


def spot_objects() -> str:
    two = spectrum(SPECTRA[1], more='Name="first"') + spectrum(SPECTRA[0], more='Name="second"')
    return "\n".join(
        cxf_object(key, body)
        for key, body in [
            ("s0", spectrum(SPECTRA[1])), ("s50", spectrum((SPECTRA[0] + SPECTRA[1]) / 2)),
            ("s100", two), ("k0", spectrum(SPECTRA[2])), ("k100", spectrum(SPECTRA[0] / 2)),
            ("extra", spectrum()),
        ]
    )  # fmt: skip


def sample(values: np.ndarray, **more: object) -> Reading:
    return Reading(name="a", source="made", reflectance=values, **more)  # type: ignore[arg-type]
