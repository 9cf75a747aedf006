"""The workers of a Dask cluster as an executor for a batch."""

from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager

from app.errors import OrderError

ANSWER_S = 15


@contextmanager
def cluster(address: str) -> Iterator[tuple[Executor, int]]:
    """Give the workers of a cluster, and how many photos they read at a time.

    Every worker needs this program, in the same version, and the photos under the same paths.

    Raises
    ------
    OrderError
        If the part that talks to a cluster is not installed, or no cluster with workers answers.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise OrderError(
            "The part that hands photos to a cluster is not installed.",
            what_to_do='Install it with: pip install "tintwell[cluster]".',
        ) from error
    try:
        client = Client(address, timeout=ANSWER_S, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:  # TypeError: an address that is none
        raise OrderError(
            f"No scheduler answers at {address}.",
            what_to_do="Give the address that dask-scheduler prints, such as tcp://192.0.2.7:8786.",
        ) from error
    with client:
        threads = sum(client.nthreads().values())
        if not threads:
            raise OrderError(
                f"The scheduler at {address} has no workers.",
                what_to_do="Start dask-worker on the computers that are to read.",
            )
        with client.get_executor(pure=False) as executor:
            yield executor, threads
