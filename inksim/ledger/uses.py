"""What uses an entry of a shop: jobs kept, readings of prints, other entries; or it is the last."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from inksim.calibration import PrintRow, rows_kept
from inksim.common import KIND_WORDS, InputError, counted, toml_of
from inksim.job import JobEntry
from inksim.ledger.kept_job import kept_keys, open_job
from inksim.shop import open_draft, spelled


def uses_of(folder: Path, kind: str, name: str) -> tuple[str, ...]:
    """List what uses an entry, one clause each, such as "job 'mill-logo' prints it".

    folder: of the shop, whose files may have faults. kind: 'ink', 'garment', 'cloth', 'screen',
    'target' or 'palette'.

    Raises
    ------
    InputError : a file that is not text, or a history that cannot be read.
    """
    return (*_in_jobs(folder, kind, name), *_in_readings(folder, kind, name),
            *_in_shop(folder, kind, name))  # fmt: skip


def _in_jobs(folder: Path, kind: str, name: str) -> Iterator[str]:
    if kind in ("cloth", "screen"):
        return  # a job names neither
    verb = {"ink": "prints", "garment": "is on"}.get(kind, "asks for")
    for key in kept_keys(folder):
        try:
            names = names_of(open_job(folder, key).entry, kind)
        except InputError:
            yield f"job '{key}' cannot be read, so it may use it"
            continue
        if name.lower() in {each.lower() for each in names}:
            yield f"job '{key}' {verb} it"


def names_of(job: JobEntry, kind: str) -> list[str]:
    """Names of the kind that a job says."""
    if kind == "garment":
        return list(job.garments)
    if kind == "ink":
        by_hand = job.artwork.inks.values() if job.artwork else ()
        tonal = job.artwork.halftone_inks if job.artwork else ()
        return [*by_hand, *tonal, *(each.ink for each in job.color if each.ink)]
    return [each.target for each in job.color if each.target]


def _in_readings(folder: Path, kind: str, name: str) -> Iterator[str]:
    def said(row: PrintRow) -> tuple[str, ...]:
        base = row.base or ("", "", 0, False)
        return {"ink": (row.ink, base[0]), "garment": (row.garment,),
                "screen": (row.screen, base[1])}.get(kind, ())  # fmt: skip

    kept = rows_kept(folder, faulty=True)
    found = sum(name.lower() in map(str.lower, said(each.row)) for each in kept)
    if found:
        yield (
            f"{counted(found, 'kept reading')} of prints {'is' if found == 1 else 'are'} of it, "
            "which the next calibration could not use"
        )


def _in_shop(folder: Path, kind: str, name: str) -> Iterator[str]:
    of = {"cloth": "garment", "target": "palette", "palette": "target"}.get(kind, kind)
    draft = open_draft(folder, of)
    try:
        whole = toml_of(draft.text)
    except InputError:
        yield f"{draft.file} cannot be read, so it may use it"
        return
    listed = whole.get("target" if of == "palette" else of, [])
    if not isinstance(listed, list):
        yield f"{draft.file} has no entries that can be read, so it may use it"
        return
    entries = [spelled(each) for each in listed if isinstance(each, dict)]

    def named(each: dict[str, Any], field: str = "name") -> bool:
        return str(each.get(field, "")).lower() == name.lower()

    if kind == "cloth":
        for garment in entries:
            for use in ("undyed", "discharged"):
                if named(garment, use):
                    yield f"garment '{garment.get('name')}' has it as its {use} cloth"
    elif kind == "ink":
        yield from _in_mixes(entries, name)
        kinds = [(named(each), each.get("kind", "color")) for each in entries]
        own = next((of for mine, of in kinds if mine), None)
        if own and [of for _, of in kinds].count(own) == 1:
            what = "ink that prints a color" if own == "color" else KIND_WORDS.get(own, own)
            yield f"it is the shop's only {what}"
    elif kind in ("garment", "screen"):
        if len(entries) == 1 and named(entries[0]):
            yield f"it is the shop's only {kind}"
    elif any(named(each) for each in entries):
        where = "the palette has" if of == "palette" else "the targets have"
        yield f"{where} a color of that name too, which is found from then on"


def _in_mixes(entries: list[dict[str, Any]], name: str) -> Iterator[str]:
    for mix in entries:
        parts = mix.get("parts")
        if isinstance(parts, dict) and name.lower() in map(str.lower, parts):
            yield f"the stored mix '{mix.get('name')}' has it in it"
