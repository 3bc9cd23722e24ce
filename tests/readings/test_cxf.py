"""CxF files of readings: objects, specifications and spot ink data come through."""

from __future__ import annotations

from datetime import UTC, datetime
from importlib import resources

import numpy as np
import pytest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing, lab
from inksim.readings.read import read_readings
from tests.reading_files import (
    LAB,
    SPECTRA,
    SPOT,
    cxf,
    cxf_object,
    one,
    specification,
    spectrum,
    spot_objects,
)


def test_colour_cxf_sample_parses_and_its_lab_follows_from_its_spectra() -> None:
    # The sample of colour-cxf (BSD-3): 144 spectra 380-680 nm, each with Lab for D50/2°, ASTM
    # E308 table 5. Tolerance: the 690 and 700 nm bands are extended, and 10 nm weights differ.
    sample = resources.files("colour_cxf") / "tests" / "resources" / "sample.cxf"
    readings = read_readings(sample.read_bytes(), name="sample.cxf")
    assert len(readings) == 144
    first = readings[0]
    assert (first.name, first.light, first.observer, first.geometry) == ("1", "D50", 2, "45:0")
    assert first.lab == (17.64167, 1.076669, 0.3338588)
    assert first.reflectance is not None
    assert first.reflectance[[0, 28]] == pytest.approx([0.0196141, 0.0448929])
    assert first.notes == ("readings end at 680 nm: up to 700 nm the last one is used",)
    listed = np.array([r.lab for r in readings])
    computed = lab(np.array([r.reflectance for r in readings]), Viewing("D50", 2))
    apart = delta_e_2000(listed, computed)
    assert np.median(apart) <= 0.07
    assert apart.max() <= 0.3


XYZ = (
    '<cc:ColorCIEXYZ ColorSpecification="CS1"><cc:X>20</cc:X><cc:Y>21</cc:Y><cc:Z>22</cc:Z>'
    "</cc:ColorCIEXYZ>"
)

ANGLE = (
    "<cc:SingleAngle><cc:SingleAngleConfiguration>Annular</cc:SingleAngleConfiguration>"
    "<cc:IlluminationAngle>{}</cc:IlluminationAngle><cc:MeasurementAngle>{}</cc:MeasurementAngle>"
    "</cc:SingleAngle>"
)


@pytest.mark.parametrize(
    ("geometry", "device", "expected"),
    [
        (ANGLE.format(45, 0), "<cc:DeviceIllumination>M1_Daylight</cc:DeviceIllumination>",
         ("45:0", "M1")),
        (ANGLE.format(0, 45), "<cc:DevicePolarization>true</cc:DevicePolarization>",
         ("45:0", "M3")),
        ("<cc:SphereGeometry>Specular_Included</cc:SphereGeometry>",
         "<cc:DeviceIllumination>M0_Incandescent</cc:DeviceIllumination>", ("d:8-sci", "M0")),
        ("<cc:SphereGeometry>Specular_Excluded</cc:SphereGeometry>", "", ("d:8-sce", None)),
        ("<cc:UnknownGeometry>hand held</cc:UnknownGeometry>", "", (None, None)),
        (ANGLE.format(25, 0), "", (None, None)),
    ],
)  # fmt: skip
def test_cxf_conditions(geometry: str, device: str, expected: tuple[str, str]) -> None:
    given = specification(geometry=geometry, device=device, more="<cc:Backing>Black</cc:Backing>")
    reading = one(cxf(cxf_object("a", spectrum() + LAB + XYZ, name="ember"), given))
    assert (reading.geometry, reading.m_condition) == expected
    assert (reading.name, reading.backing) == ("ember", "black")
    assert (reading.light, reading.observer) == ("D65", 10)
    assert (reading.lab, reading.xyz) == ((50, 10, -10), (20, 21, 22))
    assert reading.reflectance == pytest.approx(SPECTRA[0])
    assert any("not understood" in note for note in reading.notes) is (expected[0] is None)
    assert reading.source == "file, line 4"


def test_cxf_several_spectra_lab_only_and_device_values() -> None:
    device = (
        '<cc:DeviceColorValues><cc:ColorCMYKPlusN ColorSpecification="CS1"><cc:Cyan>10</cc:Cyan>'
        "<cc:Magenta>20</cc:Magenta><cc:Yellow>30</cc:Yellow><cc:Black>0</cc:Black>"
        "<cc:SpotColor><cc:Name>ember</cc:Name><cc:Percentage>70</cc:Percentage></cc:SpotColor>"
        '</cc:ColorCMYKPlusN><cc:ColorRecipe Units="g" Name="mix">'
        '<cc:Colorant Name="base"><cc:Value>90.5</cc:Value></cc:Colorant></cc:ColorRecipe>'
        '</cc:DeviceColorValues><cc:TagCollection Name="shop"><cc:Tag Name="shift" Value="late"/>'
        "</cc:TagCollection>"
    )
    two = spectrum() + spectrum(SPECTRA[1], specification="CS2")
    given = specification(device="<cc:DeviceIllumination>M0_Incandescent</cc:DeviceIllumination>")
    given += specification(
        "CS2", device="<cc:DeviceIllumination>M2_UVExcluded</cc:DeviceIllumination>"
    )
    objects = cxf_object("a", two, extra=device) + cxf_object("b", LAB) + cxf_object("c", "")
    readings = read_readings(cxf(objects, given).encode(), name="file")
    assert [(r.name, r.m_condition) for r in readings] == [("a", "M0"), ("a", "M2"), ("b", "M0")]
    assert readings[1].reflectance == pytest.approx(SPECTRA[1])
    assert readings[0].device == {
        "CMYK_C": 10, "CMYK_M": 20, "CMYK_Y": 30, "CMYK_K": 0, "ember": 70, "base": 90.5,
    }  # fmt: skip
    assert readings[0].labels == {"shift": "late", "Id": "a"}
    assert readings[2].lab == (50, 10, -10)
    assert readings[2].reflectance is None
    assert any("without reflectance, Lab or XYZ: 1 object, " in note for note in readings[0].notes)


def test_cxf_without_a_stated_step_says_what_it_assumed() -> None:
    reading = one(cxf(cxf_object("a", spectrum()), specification(step=None)))
    assert "the wavelength step is not stated: 10 nm assumed" in reading.notes


def test_cxf_written_by_colour_cxf_itself_in_utf_16() -> None:
    import colour_cxf
    from colour_cxf import cxf3
    from xsdata.models.datatype import XmlDateTime

    made = cxf3.Object(
        creation_date=cxf3.CreationDate(
            value=XmlDateTime.from_datetime(datetime(2024, 1, 1, tzinfo=UTC))
        ),
        color_values=cxf3.ColorValues(
            choice=[
                cxf3.ReflectanceSpectrum(
                    value=[float(v) for v in SPECTRA[0]], start_wl=400, color_specification="CS1"
                )
            ]
        ),
        object_type="Standard", name="Größe", id="x",
    )  # fmt: skip
    written = colour_cxf.write_cxf(
        cxf3.CxF(
            resources=cxf3.Resources(object_collection=cxf3.ObjectCollection(object_value=[made]))
        )
    ).decode()
    reading = one(written.replace("UTF-8", "UTF-16").encode("utf-16"))
    assert reading.name == "Größe"
    assert reading.reflectance == pytest.approx(SPECTRA[0])


def test_spot_ink_gradation_over_substrate_and_over_black() -> None:
    readings = read_readings(cxf(spot_objects(), custom=SPOT).encode(), name="file")
    assert [(r.name, r.tone_percent, r.backing) for r in readings[:5]] == [
        ("Ember 0 % over substrate", 0, "substrate"),
        ("Ember 50 % over substrate", 50, "substrate"),
        ("Ember 100 % over substrate", 100, "substrate"),
        ("Ember 0 % over black", 0, "black"),
        ("Ember 100 % over black", 100, "black"),
    ]
    assert readings[2].reflectance == pytest.approx(SPECTRA[0])  # the spectrum named 'second'
    assert readings[4].reflectance == pytest.approx(SPECTRA[0] / 2, rel=1e-5)
    assert readings[0].labels["PrintProcess"] == "Screen"
    assert readings[0].labels["spot ink"] == "Ember"
    # What the characterization does not use stays in: the other spectrum of s100, and 'extra'.
    assert [r.name for r in readings[5:]] == ["s100", "extra"]


def test_spot_ink_data_in_child_elements_and_near_spellings() -> None:
    custom = (
        "<sic:SpotInkCharacterization><sic:SpotInkName>Ember</sic:SpotInkName><sic:MeasurementSet>"
        "<sic:Background>Black</sic:Background><sic:Measurement><sic:ObjectRef>a</sic:ObjectRef>"
        "<sic:TintValue>100</sic:TintValue></sic:Measurement></sic:MeasurementSet>"
        "</sic:SpotInkCharacterization>"
    )
    reading = one(cxf(cxf_object("a", spectrum()), custom=custom))
    assert (reading.name, reading.backing) == ("Ember 100 % over black", "black")
    assert reading.reflectance == pytest.approx(SPECTRA[0])
