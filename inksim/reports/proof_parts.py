"""What a proof is made of: whose and what it is, and of each garment its picture and its colors."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TypedDict

from inksim.colour import Viewing
from inksim.common import Uint8Array, on_garment, sentence
from inksim.decision import Answer
from inksim.job import JobEntry
from inksim.ledger import Issued
from inksim.preview import PreparedArtwork
from inksim.reports.pdf import not_spelled
from inksim.reports.press_words import lies_words
from inksim.shop import Shop
from inksim.stock import Garment

VALID_DAYS = 30
"""A garment lot and an ink lot last about that long on the shelf [assumption]."""


@dataclass(frozen=True, kw_only=True)
class ColourRow:
    """One color: hex codes of its swatches, what it is, and in a sentence how it may differ.

    band: swatches of the 90 % interval, nearest to furthest.
    """

    asked: str
    printed: str
    words: str
    headline: str = ""
    band: Sequence[str] = ()


@dataclass(frozen=True, kw_only=True)
class ProofColours:
    """The colors of a proof on one garment. key: how to read their swatches."""

    heading: str
    key: str
    rows: Sequence[ColourRow]


@dataclass(frozen=True, kw_only=True, eq=False)
class ProofPart:
    """What a proof shows of one garment.

    said: the answer, and what there is to say with it. way: what lies under the colors. caption:
    under its picture. screens: in print order. sure: how sure it is.
    """

    garment: Garment
    said: tuple[str, str]
    way: str
    caption: str
    printed: Uint8Array
    colours: ProofColours
    screens: Sequence[str]
    sure: Sequence[str]


class OfJob(TypedDict, total=False):
    """Fields of `BaseProof` that a job answers."""

    design: str
    client: str
    order: str
    place: str


@dataclass(frozen=True, kw_only=True, eq=False)
class BaseProof:
    """A proof on one garment; several of one design make one document, see `proof_pdf`.

    made: its date. design: what the client calls it, the artwork's file if nothing is given.
    client, order: whom it is for, and the client's own reference. place: where the print lies, in
    words, '' where nobody said. issued: its number and seal; None for a draft.
    """

    ready: PreparedArtwork
    shop: Shop
    viewing: Viewing
    made: date
    design: str = ""
    client: str = ""
    order: str = ""
    place: str = ""
    issued: Issued | None = None

    @property
    def answers(self) -> Sequence[Answer]:
        """What it promises of each color; nothing of tonal artwork, whose areas it only shows."""
        return ()

    @property
    def reference(self) -> str:
        """'Proof no. 12, seal 3f09a2c4d1e8, job harvest-tour', or why it has no number."""
        return sentence(self.issued.words).removesuffix(".") if self.issued else ""

    @property
    @abstractmethod
    def garment(self) -> Garment:
        """What it is printed on."""

    @property
    @abstractmethod
    def part(self) -> ProofPart:
        """What a sheet shows of it.

        Raises
        ------
        InputError : there is nothing to sign.
        """

    @property
    def name(self) -> str:
        """What is printed: 'Harvest tour', or 'harvest-regatta.png'."""
        return self.design or self.ready.name

    @property
    def title(self) -> str:
        """'harvest-regatta.png on Coal Black'."""
        return title_of([self])

    @property
    def not_spelled(self) -> str:
        """What of its names the sheet's font cannot write, in a sentence; '' where it has all."""
        named = (self.name, self.client, self.order, self.shop.name, self.garment.name)
        return not_spelled(named)

    @property
    def valid_until(self) -> date:
        """Last day on which it holds."""
        return self.made + timedelta(days=VALID_DAYS)


def said_of(entry: JobEntry) -> OfJob:
    """What a job says that stands on its proof: the fields of `BaseProof` by name."""
    lies = entry.artwork
    return {
        "design": entry.name,
        "client": entry.client,
        "order": entry.reference,
        "place": lies_words(lies.place, top_mm=lies.top_mm) if lies else "",
    }


def title_of(proofs: Sequence[BaseProof]) -> str:
    """'Mill logo on Coal Black, Flour White and Mist Gray'."""
    *some, last = (proof.garment.name for proof in proofs)
    named = f"{', '.join(some)} and {last}" if some else last
    return on_garment(proofs[0].name, named)


def day_words(day: date) -> str:
    """'March 4, 2026'."""
    return f"{day:%B} {day.day}, {day.year}"
