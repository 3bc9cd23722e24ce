"""inksim: what a semi-transparent ink will look like printed on a colored garment.

The names below are the front door: the nouns of the job, and what is done with them. Each is
fetched from its room when it is first used, so that importing the package costs next to nothing.
"""

from _thread import RLock as _RLock  # `threading` itself would cost a third of the start

__version__ = "0.2.0"

_FACE = {
    "Build": "printing",
    "Drawdown": "drawdowns",
    "Garment": "stock",
    "Ink": "stock",
    "InputError": "common",
    "Lamp": "colour",
    "Layer": "printing",
    "Press": "stock",
    "PrintReading": "calibration",
    "Screen": "stock",
    "Shop": "shop",
    "Target": "stock",
    "Viewing": "colour",
    "advise": "decision",
    "calibrate": "calibration",
    "characterise": "drawdowns",
    "decide_job": "job",
    "delta_e_2000": "colour",
    "film_over": "optics",
    "find_recipes": "mixing",
    "gamut": "decision",
    "lab": "colour",
    "load_job": "job",
    "load_shop": "shop",
    "make_ticket": "reports",
    "mix_inks": "stock",
    "palette_on_stock": "decision",
    "predict": "printing",
    "predict_drawdown": "drawdowns",
    "read_artwork": "artwork",
    "read_lamp": "readings",
    "read_readings": "readings",
    "recipes_for": "mixing",
    "recover_reflectance": "colour",
    "separate": "separation",
    "swatch": "printing",
    "usual_build": "shop",
    "verdict_of": "decision",
}

__all__ = list(_FACE)
_FETCHING = _RLock()
"""Held while a room is imported: two threads that import modules of one circle, as numpy has, are
handed half of one."""


def __getattr__(name: str) -> object:
    """Fetch a name of the front door from its room, and keep it (PEP 562)."""
    room = _FACE.get(name)
    if room is None:
        raise AttributeError(
            f"inksim has no '{name}'; it has {', '.join(_FACE)}. For anything else import from the "
            "room that has it, such as inksim.optics."
        )
    from importlib import import_module

    with _FETCHING:
        found = getattr(import_module(f"inksim.{room}"), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *_FACE})
