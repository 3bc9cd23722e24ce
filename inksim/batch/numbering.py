"""Which proofs of a batch have a number of the shop's, and why the others are drafts."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from inksim.batch.listing import Listed
from inksim.batch.task import Numbered
from inksim.ledger import kept_key

NOT_KEPT = "its job is not kept in this shop"
IN_A_SHARD = "a shard gives none, so that none is given twice; the batch without --shard does"
ON_A_CLUSTER = "a cluster gives none; the batch without --cluster does"


@dataclass(frozen=True, kw_only=True)
class Numbering:
    """Where numbers come from. home: the shop's folder. source: the list. none: why none is given.

    Numbers are given in the shop's own record of promises, by one program at a time: where it may
    be a copy on another machine, two proofs would have one number.
    """

    home: Path
    source: Path
    none: str = ""

    def of(self, listed: Listed) -> Numbered:
        """Of a listed job."""
        if listed.in_memory:
            return Numbered()
        job = kept_key(self.source / listed.source, self.home)
        return Numbered(job, self.none if job else NOT_KEPT)
