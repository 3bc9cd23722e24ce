"""Parse CxF3: color exchange (ISO 17972-1) and spot-ink characterization (ISO 17972-4).

`cxf_xml` refuses what no color file is, and binds the XML; here its objects become records.

The part-4 names (SpotInkCharacterisation, MeasurementSet, Background, Measurement, TintLevel,
ObjectRef) are from published files and [memory] of the standard; near spellings are accepted.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from inksim.common import InputError, counted
from inksim.readings.conditions import m_condition_from
from inksim.readings.cxf_xml import bind, scan
from inksim.readings.record import MOST_SAMPLES, Parsed, Record, Triple, check_count

DEFAULT_STEP_NM = 10
MOST_OF_ONE = 100  # spectra, colors, device values or tags of one object


def read_cxf(data: bytes, *, file: str) -> Parsed:
    """Parse a CxF3 file: a record for each reflectance spectrum, or Lab or XYZ without one.

    Objects that a spot-ink characterization refers to become readings of that ink, with its tone
    value and background. Reflectance in CxF is a factor by definition.
    """
    held = scan(data, file=file)
    cxf = bind(data, file=file)
    resources = cxf.resources
    objects = _listed(resources, "object_collection", "object_value")
    specifications = {
        each.id: each
        for each in _listed(resources, "color_specification_collection", "color_specification")
    }
    found = [each for o in objects for each in _of_kind(o, "ReflectanceSpectrum")]
    if len(found) != held.spectra:
        raise InputError(
            f"{file} holds {held.spectra} reflectance spectra but only {len(found)} stand where "
            "CxF3 puts them, in an Object's ColorValues; export the file anew."
        )
    by_id: dict[str, tuple[Record, ...]] = {}
    faults: list[str] = []
    left_out = []
    for order, each in enumerate(objects, start=1):
        key = each.id or f"object {order}"
        if key in by_id:
            raise InputError(f"{file}: two objects have the Id '{key}'; each needs its own.")
        line = held.lines.get(each.id or "")
        source = f"{file}, line {line}" if line else f"{file}, object {order}"
        by_id[key] = ()
        try:
            by_id[key] = _object_records(each, specifications, source=source, key=key)
            if not by_id[key]:
                left_out.append(each.name or key)
        except InputError as fault:
            faults.append(str(fault))
    spot = []
    for each in () if faults else _spot_ink_records(cxf, by_id, file=file, faults=faults):
        spot.append(each)
        check_count(len(spot), MOST_SAMPLES, file=file, what="samples")
    used = {id(original) for original, _ in spot}
    plain = [r for records in by_id.values() for r in records if id(r) not in used]
    records = [*(record for _, record in spot), *plain]
    check_count(len(records), MOST_SAMPLES, file=file, what="samples")
    if not records and not faults:
        raise InputError(
            f"{file} is CxF but no object holds a reflectance spectrum, Lab or XYZ; export those."
        )
    if left_out:
        listed = ", ".join(left_out[:5]) + (", ..." if len(left_out) > 5 else "")
        lost = counted(len(left_out), "object")
        note = f"left out, without reflectance, Lab or XYZ: {lost}, {listed}"
        records = [replace(record, notes=(*record.notes, note)) for record in records]
    return Parsed(records=tuple(records), faults=tuple(faults))


def _listed(owner: Any, *path: str) -> list[Any]:
    for name in path:
        owner = getattr(owner, name, None)
    return list(owner or ())


def _of_kind(thing: Any, *kinds: str) -> list[Any]:
    return [each for each in _listed(thing, "color_values", "choice") if _kind(each) in kinds]


def _kind(thing: Any) -> str:
    return str(getattr(type(thing), "__name__", ""))


def _word(thing: Any, *path: str) -> str | None:
    """The text at the end of a path of optional elements, or None; of an enumeration its value."""
    for name in path:
        thing = getattr(thing, name, None)
    value = getattr(thing, "value", thing)
    return str(value).strip() or None if value is not None else None


def _object_records(
    thing: Any, specifications: Mapping[str, Any], *, source: str, key: str
) -> tuple[Record, ...]:
    name = thing.name or key
    where = f"{source}, sample '{name}'"
    spectra = _of_kind(thing, "ReflectanceSpectrum")
    colours = _of_kind(thing, "ColorCielab", "ColorCiexyz")
    device, labels = _device(thing), _labels(thing)
    for held, what in ((spectra, "spectra"), (colours, "colors"), (device, "device values"),
                       (labels, "tags")):  # fmt: skip
        check_count(len(held), MOST_OF_ONE, file=where, what=what)
    records = []
    for each in spectra or _one_per_specification(colours):
        reference = each.color_specification
        beside = [c for c in colours if c.color_specification == reference] or colours
        colour_reference = beside[0].color_specification if beside else reference
        beside = [c for c in beside if c.color_specification == colour_reference]
        specification = specifications.get(reference)
        bands: tuple[tuple[float, float], ...] = ()
        notes: tuple[str, ...] = ()
        if spectra:
            bands, notes = _bands(each, specification, where=where)
            own = {"Id": key, **({"spectrum": each.name} if each.name else {})}
        else:
            own = {"Id": key}
        colour_specification = specifications.get(colour_reference)
        records.append(
            Record(
                name=name,
                source=source,
                bands=bands,
                scale="factor",
                lab=_triple(beside, "ColorCielab", "lab", where=where),
                xyz=_triple(beside, "ColorCiexyz", "xyz", where=where),
                light=_light(colour_specification),
                observer=_word(colour_specification, "tristimulus_spec", "observer", "value"),
                geometry=_geometry(specification),
                m_condition=_m_condition(specification),
                backing=_word(specification, "measurement_spec", "backing"),
                device=device,
                labels={**labels, **own},
                notes=notes,
            )
        )
    return tuple(records)


def _one_per_specification(colours: Sequence[Any]) -> list[Any]:
    return list({each.color_specification: each for each in reversed(colours)}.values())[::-1]


def _bands(
    spectrum: Any, specification: Any, *, where: str
) -> tuple[tuple[tuple[float, float], ...], tuple[str, ...]]:
    given = getattr(getattr(specification, "measurement_spec", None), "wavelength_range", None)
    starts = {s for s in (spectrum.start_wl, getattr(given, "start_wl", None)) if s is not None}
    if len(starts) != 1 or not all(isinstance(start, int) for start in starts):
        stated = " and ".join(str(start) for start in sorted(starts, key=str)) or "nowhere"
        raise InputError(
            f"{where}: the start of the spectrum must be stated once, in StartWL or in the "
            f"WavelengthRange, but it is stated as {stated}; correct the file."
        )
    step = getattr(given, "increment", None)
    if step is not None and not (isinstance(step, int) and step > 0):
        raise InputError(f"{where}: the wavelength Increment '{step}' is not a step in nm.")
    values = spectrum.value.split() if isinstance(spectrum.value, str) else spectrum.value
    start = float(next(iter(starts)))
    bands = []
    for order, value in enumerate(values):
        nm = start + order * float(step or DEFAULT_STEP_NM)
        try:
            bands.append((nm, float(value)))
        except ValueError as fault:
            raise InputError(
                f"{where}: '{value[:40]}' at {nm:g} nm is not a number; export the file anew."
            ) from fault
    if not bands:
        raise InputError(f"{where}: its reflectance spectrum is empty; measure it again.")
    note = f"the wavelength step is not stated: {DEFAULT_STEP_NM} nm assumed"
    return tuple(bands), (() if step else (note,))


def _triple(colours: Sequence[Any], kind: str, fields: str, *, where: str) -> Triple | None:
    found = [each for each in colours if _kind(each) == kind]
    if not found:
        return None
    values = [getattr(found[0], name) for name in fields]
    if not all(isinstance(value, float) and math.isfinite(value) for value in values):
        raise InputError(
            f"{where}: {fields.capitalize()} needs three numbers, but the file has {values}; "
            "export the file anew."
        )
    return float(values[0]), float(values[1]), float(values[2])


def _light(specification: Any) -> str | None:
    path = ("tristimulus_spec", "illuminant_or_custom_illuminant")
    word = _word(specification, *path, "value")
    return _word(specification, *path, "name") or word if word in (None, "Custom") else word


def _geometry(specification: Any) -> str | None:
    """'45:0' from angles; the sphere's own word, 'Specular_Included' or 'Specular_Excluded'."""
    measured = getattr(specification, "measurement_spec", None)
    choice: Any = getattr(getattr(measured, "geometry_choice", None), "choice", None)
    angles = {getattr(choice, f"{side}_angle", None) for side in ("illumination", "measurement")}
    if angles == {45.0, 0.0}:
        return "45:0"
    if _kind(choice) == "SingleAngleType":
        return f"{choice.illumination_angle:g}:{choice.measurement_angle:g}"
    return None if choice is None else _word(choice) or _kind(choice)


def _m_condition(specification: Any) -> str | None:
    device = getattr(getattr(specification, "measurement_spec", None), "device", None)
    stated = m_condition_from(_word(device, "device_illumination", "value") or "")
    if stated is None and getattr(device, "device_polarization", None) is True:
        return "M3"  # ISO 13655: M3 is the condition with crossed polarizers
    return stated


def _device(thing: Any) -> dict[str, float]:
    """Device values and recipe amounts that convert to numbers, by name."""
    found: dict[str, Any] = {}
    for each in _listed(thing, "device_color_values", "choice"):
        for ink, letter in (("cyan", "C"), ("magenta", "M"), ("yellow", "Y"), ("black", "K")):
            if hasattr(each, ink):
                found[f"CMYK_{letter}"] = getattr(each, ink)
        found |= {spot.name or "": spot.percentage for spot in _listed(each, "spot_color")}
        found |= {part.name or "": part.value for part in _listed(each, "colorant")}
    return {k: float(v) for k, v in found.items() if k and isinstance(v, (int, float))}


def _labels(thing: Any) -> dict[str, str]:
    tags = [tag for group in thing.tag_collection for tag in group.tag]
    return {tag.name: tag.value for tag in tags if tag.name and tag.value}


# ISO 17972-4 ----------------------------------------------------------------------------------


def _spot_ink_records(
    cxf: Any, by_id: Mapping[str, tuple[Record, ...]], *, file: str, faults: list[str]
) -> Iterator[tuple[Record, Record]]:
    """Each reading a spot ink refers to, and the same with tone value and background, in order."""
    for custom in _listed(cxf, "custom_resources", "other_element"):
        for ink in _elements(custom, "spotinkcharacterisation", "spotinkcharacterization"):
            ink_name = _attribute(ink, "spotinkname", "name") or "spot ink"
            about = {k: v for k, v in ink.attributes.items() if v and "SpotInkName" not in k}
            for group in _elements(ink, "measurementset"):
                background = _attribute(group, "background", "backing")
                where = f"{file}, spot ink '{ink_name}', background '{background or 'unstated'}'"
                for each in _elements(group, "measurement"):
                    try:
                        record, tone = _referred(each, by_id, where=where)
                    except InputError as fault:
                        faults.append(str(fault))
                        continue
                    over = (background or "an unstated background").lower()
                    named = replace(
                        record,
                        name=f"{ink_name} {tone:g} % over {over}",
                        tone_percent=tone,
                        backing=background or record.backing,
                        labels={**record.labels, **about, "spot ink": ink_name},
                    )
                    yield record, named


def _referred(
    element: Any, by_id: Mapping[str, tuple[Record, ...]], *, where: str
) -> tuple[Record, float]:
    """The reading a Measurement refers to, and its tone value in percent."""
    reference = _attribute(element, "objectref", "objectidref", "objectid") or ""
    if not by_id.get(reference):
        raise InputError(
            f"{where}: a measurement refers to the object '{reference}', which is not in the file "
            "or holds no reading; export the file anew."
        )
    text = _attribute(element, "tintlevel", "tintvalue", "tint", "tonevalue") or ""
    try:
        tone = float(text)
    except ValueError:
        tone = math.nan
    if not 0.0 <= tone <= 100.0:
        raise InputError(
            f"{where}: the tone value of the object '{reference}' is '{text}'; it must be a number "
            "from 0 to 100 %."
        )
    wanted = _attribute(element, "reflectancespectrumnameref")
    records = by_id[reference]
    named = [record for record in records if record.labels.get("spectrum") == wanted]
    if wanted and not named and len(records) > 1:
        raise InputError(
            f"{where}: the object '{reference}' has {len(records)} spectra and none is named "
            f"'{wanted}'; export the file anew."
        )
    return (named or list(records))[0], tone


def _elements(element: Any, *names: str) -> Iterator[Any]:
    """The element itself and all below it whose local name is one of the names."""
    if not hasattr(element, "qname"):
        return
    if _local(element.qname) in names:
        yield element
    for child in element.children:
        yield from _elements(child, *names)


def _attribute(element: Any, *names: str) -> str | None:
    """The first of the attributes, or child elements' text, with one of the local names."""
    values = {_local(key): value for key, value in element.attributes.items()}
    for child in element.children:
        if hasattr(child, "qname") and child.text:
            values.setdefault(_local(child.qname), child.text)
    return next((v for name in names if (v := (values.get(name) or "").strip())), None)


def _local(qualified: str | None) -> str:
    return (qualified or "").rpartition("}")[2].lower()
