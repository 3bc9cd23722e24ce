"""Make what the documentation takes from the program: pictures, words, files' fields, rooms.

Every example in `EXAMPLES` is a command that is run here; one that fails stops the build.
"""

from __future__ import annotations

import importlib
import inspect
import re
import shlex
import shutil
import textwrap
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from click.testing import CliRunner
from PIL import Image
from pydantic import BaseModel

from inksim import stock
from inksim.cli.commands import main
from inksim.job import JobEntry
from inksim.shop import FILES

TOP = Path(__file__).parent.parent
ART = "harvest-regatta.png"
SHOWN_PX = 900
"""Width of the artwork that the pages use, and of their pictures."""
LINE = 104
"""Characters of a line that the pages show whole; longer sentences are broken."""
ORANGE = '--ink "Lantern Orange" --target "#e8622c"'
EXAMPLES: Mapping[str, str] = MappingProxyType(
    {
        "preview": f'inksim preview {ART} --garment "Coal Black" --on front --out OUT',
        "predict": f'inksim predict --garment "Coal Black" {ORANGE}',
        "advise": f'inksim advise --garment "Coal Black" {ORANGE}',
        "ways": "inksim advise shared/jobs/harvest-regatta.toml --chart OUT/ways.png",
        "proof": f'inksim proof {ART} --garment "Coal Black" --out OUT',
        "ticket": "inksim ticket shared/jobs/harvest-regatta.toml --out OUT",
        "palette": 'inksim palette --garments "Coal Black, Flour White" --png OUT/palette.png',
        "batch": "inksim batch shared/jobs --workers 1 --out OUT/batch",
        "mix": 'inksim mix --target "#8a3f5a" --garment "Coal Black" --grams 500',
    }
)
"""Name of the text that each makes, and the command; OUT is where its files go."""
ROOMS = {
    "colour": "Color", "optics": "Light in films and cloth", "stock": "What a shop owns",
    "printing": "The print model", "readings": "Readings", "shop": "A shop's files",
    "drawdowns": "Inks from drawdowns", "artwork": "Artwork",
    "photo": "Colors from a photo", "decision": "One color, decided",
    "mixing": "The ink room", "job": "A job, decided", "calibration": "The press from its prints",
    "ledger": "What is kept", "separation": "Tonal pictures", "picture": "Drawing",
    "preview": "Previews", "reports": "Documents", "batch": "Many jobs",
}  # fmt: skip
"""The rooms whose faces make the reference, in order, each with what it is about."""
EVERYWHERE = {
    "name": "what it is called; unlike any other of its kind",
    "source": "where it comes from, in words",
    "note": "anything to remember",
    "reflectance": "external factor, as a 45:0 instrument reads it",
    "lab": "CIELAB, D50/2°",
    "hex": "sRGB code, such as `#e8622c`",
    "data": "where the color comes from",
}
"""What fields mean that several tables have, where none says more."""
OWN = {
    "undyed": "name of the cloth before dyeing; needed to predict a discharge base",
    "discharged": "name of the cloth as a full discharge leaves it; beats the grade",
    "threads_per_inch": "the count on the label; this or `threads_per_cm`",
    "thread_um": "the thread's diameter on the label",
    "film_um": "dry film that has this look; 6, a white base 12, if not given",
    "over_black": "how the same film looks over black",
    "contrast_ratio": "Y over black / Y over white of a film",
    "covers": "in a word, what a film over black shows",
    "solids_by_weight": "dry weight of the wet ink's; give the densities with it",
    "garments": "of the shop; a later one takes the screens of those before it where it can",
    "tolerance_de00": "largest ΔE00 from the target; the shop's habit if not given",
    "lines_per_inch": "of halftones; 0 for none",
    "cloth_m2_per_garment": "of a garment, both sides, for drying",
    "prints_per_hour": "for the dryer's power, which is not said without it",
    "color": "the colors, where no artwork is named",
    "target": "name of a color of targets.toml",
    "area_cm2": "printed area of it",
    "file": "the artwork's path, from the job's folder",
    "inks": "ink of a color by hand, or none, by its code",
    "routes": "route of a color by hand, by its code",
    "tolerances": "largest ΔE00 of a color, by its code",
    "scenario": "what the shop is an example of",
    "invented": "whether its data are made up, which every document says",
    "format": "of the file; written by inksim",
    "sd_de00": "of a Lab read by photo: how far it may be off, mean ΔE00",
    "shared_de00": "of it, the part that all readings of its picture have in common, mean ΔE00",
    "picture": "key of the picture that a Lab was read from",
    "directness": "of the light in the films that K and S were fitted to: 0 diffuse, about 0.8 "
    "lit from one direction; written by `inksim characterize`",
    "cure_celsius": "what the film has to reach, by the maker's data sheet; as usual if not given",
    "cure_seconds": "how long the film has to hold that; as usual for the kind if not given",
    "additive_share": "of what is mixed in on the day, such as a discharge's activator, by weight "
    "of the ink; as usual for the kind if not given",
    "additive_price_per_kg": "of what is mixed in on the day, in the shop's currency",
    "pot_life_hours": "how long the mixture keeps; as usual for the kind if not given",
    "parameters": "the press's numbers by name, each with its standard deviation",
    "not_kept": "rules that this shop does not keep",
    "value": "of the parameter, in its unit",
    "sd": "standard deviation of the value",
    "version": "of the press, counted from 1",
    "date": "day of the calibration, ISO",
    "readings": "how many prints it rests on",
    "model_sd": "what the model itself leaves of L*, and of a* and b*: standard deviations",
    "ink_sd_factor": "how far the shop's inks are off, as a multiple of what their entries say",
    "correlation": "of the parameters and strengths, as a matrix",
    "mark": "fingerprint of the ink's K and S as they were calibrated",
    "currency": "what money is called",
}
"""What fields mean whose schema has no words, or says it for the spectrum behind a name."""


def make(folder: Path) -> None:
    """Make all of it in a folder, which is emptied first."""
    shutil.rmtree(folder, ignore_errors=True)
    (folder / "api").mkdir(parents=True)
    _shown(TOP / "shared" / "artwork" / ART, folder / ART)
    for name, command in EXAMPLES.items():
        (folder / f"{name}.txt").write_text(_ran(command, folder), "utf-8")
    for picture in folder.glob("*--*.png"):
        _shown(picture, picture)
    (folder / "shop_files.md").write_text("\n".join(shop_files()), "utf-8")
    for room, title in ROOMS.items():
        (folder / "api" / f"{room}.md").write_text(_room(room, title), "utf-8")


def _ran(command: str, folder: Path) -> str:
    """A command as it is typed, and what it says."""
    words = [
        word.replace("OUT", str(folder))
        .replace("shared/", f"{TOP / 'shared'}/")
        .replace(ART, str(folder / ART))
        for word in shlex.split(command)[1:]
    ]
    done = CliRunner().invoke(main, words)
    if done.exit_code not in (0, 1):
        raise RuntimeError(f"{command}\n{done.output}")
    said = done.stdout.replace(f"{folder}/", "").replace(str(folder), ".")
    said = "\n".join(_broken(line) for line in said.splitlines())
    return f"$ {command.replace('OUT/', '').replace('OUT', '.')}\n{said}\n"


def _broken(line: str) -> str:
    """A long sentence over several lines; a table's row, which has gaps, as it is."""
    indent = line[: len(line) - len(line.lstrip(" -"))]
    if len(line) <= LINE or "  " in line.strip():
        return line
    return textwrap.fill(
        line, LINE, subsequent_indent=" " * (len(indent) + 2), break_on_hyphens=False
    )


def _shown(source: Path, to: Path) -> None:
    """A picture at the width of the pages, its size on the shirt kept."""
    with Image.open(source) as opened:
        dpi = opened.info.get("dpi", (300, 300))[0] * SHOWN_PX / opened.width
        picture = opened.convert("RGBA" if "A" in opened.mode else "RGB")
    height = round(picture.height * SHOWN_PX / picture.width)
    picture.resize((SHOWN_PX, height), Image.Resampling.LANCZOS).save(to, dpi=(dpi, dpi))


def shop_files() -> Iterator[str]:
    """Every file of a shop, and a job's, field by field, from their schema."""
    models = {file: model for file, (model, _) in FILES.items()} | {"a job": JobEntry}
    told: set[str] = set()
    for file, model in models.items():
        needed = "" if file not in FILES or FILES[file][1] else " (a shop can do without it)"
        yield f"## {file}{needed}\n"
        schema = model.model_json_schema()
        parts = {**schema.get("$defs", {}), model.__name__: schema}
        for name in _in_order(model.__name__, parts):
            if name not in told:
                told.add(name)
                yield from _table(name, parts[name], own=name == model.__name__)


def _in_order(first: str, parts: Mapping[str, Any]) -> list[str]:
    """A file's own table, then those it has inside, each once."""
    found = [first]
    for name in found:
        named = re.findall(r"#/\$defs/(\w+)", str(parts[name].get("properties", {})))
        found += [each for each in dict.fromkeys(named) if each not in found]
    return found


def _table(name: str, part: Mapping[str, Any], *, own: bool) -> Iterator[str]:
    """One table of a file: what it is, and its fields."""
    if "properties" not in part:
        return
    first, *more = part.get("description", "").replace("\n\n", "\0").replace("\n", " ").split("\0")
    meant = _meanings(name, " ".join(more))
    if not own:
        yield f"### {_plain(name)}\n"
    if first and not first.endswith(".toml."):
        yield f"{_roles(first)}\n"
    yield "| field | value | if not given | meaning |\n| --- | --- | --- | --- |"
    for field, shape in part["properties"].items():
        title = shape.get("title", "")
        said = title if title.lower() != field.replace("_", " ").lower() else ""
        unit = shape.get("unit", "")
        said = said or _by_table(field, _value(shape), otherwise=meant.get(field, ""))
        cells = (
            f"`{field}`",
            _value(shape),
            "needed" if field in part.get("required", ()) else _default(shape.get("default")),
            " ".join(filter(None, (said, unit and f"({unit})"))),
        )
        yield "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"
    yield ""


def _by_table(field: str, value: str, *, otherwise: str) -> str:
    """What a field means: of tables and their own fields how they stand in the file."""
    if value.startswith("tables:"):
        return f"one `[[{field}]]` each"
    return otherwise or ("a table of its own" if value.startswith("a table:") else "")


def _plain(name: str) -> str:
    words = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name.removesuffix("Entry")).lower()
    words = words.replace("colour", "color")  # a class's name
    return words[:1].upper() + words[1:]


def _value(shape: Mapping[str, Any]) -> str:
    """What a field may hold, in words."""
    if "anyOf" in shape:
        return " or ".join(_value(each) for each in shape["anyOf"] if each.get("type") != "null")
    if "$ref" in shape:
        return f"a table: {_plain(shape['$ref'].rsplit('/', 1)[1])}"
    if "enum" in shape or "const" in shape:
        return ", ".join(f"`{each}`" for each in shape.get("enum", [shape.get("const")]))
    kind = shape.get("type", "")
    if kind == "array":
        least, most = shape.get("minItems"), shape.get("maxItems")
        many = f"{least} " if least and least == most else ""
        inside = shape.get("items") or (shape.get("prefixItems") or [{}])[0]
        said = _value(inside)
        if many:
            said = re.sub(r"number(?!s)", "numbers", said, count=1)
        listed = f"list of {many}{said}".strip()
        return re.sub("^list of a table:", "tables:", listed)
    if kind == "object":
        return f"names, each with {_value(shape.get('additionalProperties') or {}) or 'a value'}"
    words = {"number": "number", "integer": "whole number", "string": "text"}
    said = words.get(str(kind), "true or false" if kind == "boolean" else "")
    ends = [
        f"{word} {f'{shape[key]:,.6g}' if shape[key] < 1e6 else f'{shape[key]:,.0f}'}"
        for key, word in (
            ("minimum", "from"), ("exclusiveMinimum", "above"),
            ("maximum", "to"), ("exclusiveMaximum", "below"),
        )
        if key in shape
    ]  # fmt: skip
    return " ".join([said, *ends])


def _default(value: Any) -> str:
    if value is None or value in ("", [], {}):
        return "–"
    if isinstance(value, Mapping):
        return "as its table says"
    if isinstance(value, bool):
        return str(value).lower()
    return str(value)


def _meanings(entry: str, described: str) -> dict[str, str]:
    """Meaning of fields: from an entry's own description, and its noun's docstring."""
    noun = getattr(stock, entry.removesuffix("Entry"), None)
    text = inspect.cleandoc(noun.__doc__ or "") if noun else ""
    found = EVERYWHERE | OWN
    for names, said in re.findall(r"(?:^|(?<=[.;] ))([a-z_]\w*(?:, \w+)*): ([^.;]+)", described):
        found |= dict.fromkeys(names.split(", "), _roles(said).strip("`"))
    for names, first, rest in re.findall(r"^([\w, ]+) : (.*)((?:\n    .*)*)", text, re.MULTILINE):
        said = _roles(" ".join([first, *rest.split()]))
        found |= {each: said for name in names.split(",") if (each := name.strip()) not in OWN}
    return found


def _roles(text: str) -> str:
    """A docstring's words for a reader of files: its `*` are no emphasis, nothing of Python's."""
    said = re.sub(r"^\(\d+,\) |,? ?\(`\w+`\)|one of `[A-Z_]+`: ", "", text)
    said = re.sub(r"\bNone(?:: | for )", lambda each: f"not given{each[0][4:]}", said)
    return said.replace("*", "\\*").replace("<", "&lt;")


def _room(room: str, title: str) -> str:
    """The page of a room's face."""
    module = importlib.import_module(f"inksim.{room}")
    names = [name for name in module.__all__ if _has_docstring(getattr(module, name))]
    lines = [f"# {title}: `inksim.{room}`\n", "```{eval-rst}", f".. automodule:: inksim.{room}", ""]
    for name in names:
        kind = "autoclass" if inspect.isclass(getattr(module, name)) else "autofunction"
        lines += [f".. {kind}:: inksim.{room}.{name}", ""]
    return "\n".join([*lines, "```", ""])


def _has_docstring(value: Any) -> bool:
    return (inspect.isclass(value) and not issubclass(value, BaseModel)) or inspect.isfunction(
        value
    )
