"""Check a CxF3 file's XML, then bind it to objects.

expat walks the whole file once and refuses what a color file never needs: a document type (so there
are no entities to expand and no external DTD to fetch), deep nesting, and XML that is not well
formed or not CxF3. Then colour-cxf binds it.
"""

from __future__ import annotations

import logging
import warnings
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from xml.parsers import expat

from inksim.common import InputError
from inksim.readings.formats import format_names
from inksim.readings.record import check_count

CORE = "http://colorexchangeformat.com/CxF3-core"
DEEPEST = 64
# xsdata logs what it passes over, which is said here already: what is needed and not there.
logging.getLogger("xsdata").addHandler(logging.NullHandler())
MOST_PARTS = 100_000
"""Elements and attributes together; a sample with its spectrum and color has about 15."""
MOST_ATTRIBUTES = 100


@dataclass(frozen=True, kw_only=True)
class Scan:
    """Where each object stands (line by Id) and how many reflectance spectra the file holds."""

    lines: Mapping[str, int]
    spectra: int


def scan(data: bytes, *, file: str) -> Scan:
    """Walk the XML with expat; refuse document types, deep nesting and what is not CxF3."""
    lines: dict[str, int] = {}
    depth = spectra = parts = 0

    def start(name: str, attributes: Mapping[str, str]) -> None:
        nonlocal depth, spectra, parts
        depth += 1
        parts += 1 + len(attributes)
        check_count(parts, MOST_PARTS, file=file, what="elements and attributes")
        check_count(len(attributes), MOST_ATTRIBUTES, file=file, what="attributes of one element")
        space, _, local = name.rpartition(" ")
        if depth == 1 and (space, local) != (CORE, "CxF"):
            raise InputError(
                f"{file} is XML but not CxF3 (its outermost element is '{local}'); export readings "
                f"as {format_names()}."
            )
        if depth > DEEPEST:
            raise InputError(
                f"{file}, line {parser.CurrentLineNumber}: elements are nested more than {DEEPEST} "
                "deep, which no color file needs; the file is refused."
            )
        if (space, local) == (CORE, "Object") and "Id" in attributes:
            lines.setdefault(attributes["Id"], parser.CurrentLineNumber)
        spectra += (space, local) == (CORE, "ReflectanceSpectrum")

    def end(name: str) -> None:
        nonlocal depth
        depth -= 1

    def refuse(*_: object) -> None:
        raise InputError(
            f"{file}, line {parser.CurrentLineNumber}: the XML declares a document type, which may "
            "hide entities; a color file needs none. Remove the DOCTYPE or export the file anew."
        )

    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.StartDoctypeDeclHandler = refuse
    try:
        parser.Parse(data, True)
    except expat.ExpatError as fault:
        raise InputError(
            f"{file}, line {fault.lineno}: the XML is broken ({expat.ErrorString(fault.code)}); "
            "export the file anew."
        ) from fault
    except (LookupError, ValueError) as fault:  # an encoding Python or expat does not know
        raise InputError(f"{file}: its XML encoding cannot be read; save it as UTF-8.") from fault
    return Scan(lines=lines, spectra=spectra)


def bind(data: bytes, *, file: str) -> Any:
    """Bind the document to colour-cxf's objects, by the handler that uses the expat checked above.

    Elements the schema does not know are passed over; values that do not convert stay text and
    are refused where they are needed.
    """
    from colour_cxf import cxf3
    from xsdata.exceptions import ConverterWarning
    from xsdata.formats.dataclass.context import XmlContext
    from xsdata.formats.dataclass.parsers import XmlParser
    from xsdata.formats.dataclass.parsers.config import ParserConfig
    from xsdata.formats.dataclass.parsers.handlers import XmlEventHandler

    config = ParserConfig(fail_on_unknown_properties=False)
    parser = XmlParser(context=XmlContext(), handler=XmlEventHandler, config=config)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", ConverterWarning)
            return parser.from_bytes(data, cxf3.CxF)
    except ValueError as fault:  # what all of xsdata's errors are
        raise InputError(f"{file} is not valid CxF3; export the file anew.") from fault
