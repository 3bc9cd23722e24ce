"""What a worker of the cluster needs, for the process that all of them are forked from.

One job is worked here, so that what is read at its first use is read once, and then forgotten.
"""

import tempfile
from pathlib import Path

import distributed.nanny
import distributed.worker  # noqa: F401

from inksim.batch import work
from inksim.batch.task import Wanted
from tests.batch.batch_world import Here, World, pool_of

with tempfile.TemporaryDirectory() as folder:
    World(Path(folder), artworks=1).run(pool=pool_of(Here), wanted=Wanted(pictures=True))
work._KEPT.clear()
