"""A batch on a cluster that is there already: the extra `cluster`, with dask's scheduler."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import Any

from inksim.batch.pool import Pool
from inksim.common import InputError

PATIENCE_S = 10


def cluster_pool(
    address: str, *, through: Path | None = None, patience_s: float = PATIENCE_S
) -> Pool:
    """The workers of a scheduler.

    Parameters
    ----------
    address : of the scheduler, such as 'tcp://10.0.0.5:8786'.
    through : a folder that this machine and all workers see by the same path: artworks and results
        go through it instead of with the tasks. patience_s: how long it may take to answer.

    Raises
    ------
    InputError : the extra is not installed, it is no address, nobody answers there, or the
        scheduler has no worker.
    """
    try:
        distributed = import_module("distributed")
    except ImportError:
        raise InputError(
            "--cluster needs dask's scheduler; install it with pip install 'inksim[cluster]'."
        ) from None

    if "://" not in address:  # the library itself would take its time, and say more
        raise InputError(
            f"'{address}' is no address of a scheduler; give one such as tcp://10.0.0.5:8786."
        )

    def client() -> Any:
        try:
            return distributed.Client(address, timeout=patience_s, set_as_default=False)
        except (OSError, ValueError, TypeError) as error:
            raise InputError(
                f"no scheduler answers at '{address}' ({type(error).__name__}); give its address, "
                "such as tcp://10.0.0.5:8786."
            ) from None

    @contextmanager
    def opened() -> Iterator[Executor]:
        with warnings.catch_warnings(), client() as reached:
            # an artwork of 10 MB is meant to travel
            warnings.filterwarnings("ignore", "Sending large graph")
            executor = reached.get_executor(pure=False)
            try:
                yield executor
            finally:
                executor.shutdown(wait=False)  # what waits is canceled

    with client() as asked:
        threads = sum(asked.nthreads().values())
    if not threads:
        raise InputError(f"the scheduler at '{address}' has no worker; begin some, then again.")
    return Pool(
        open=opened,
        width=threads,
        deadly=(distributed.KilledWorker,),
        carry=through is None,
        through=through,
    )
