"""Which batches may be made at the same time within a limit of memory, from what such batches were measured to take."""

from __future__ import annotations

from chartmaker.collection.batches import Batch, BatchDone

#: The bytes that a process takes with the libraries loaded and a proof of the usual size, then those for each knot and
#: each pixel of the artwork: just above all that `tests/bench/bench_collection.py --needs` measured (flat or shaded,
#: 30,000 to 1,920,000 knots, 0.3 to 31 million pixels: 405 to 792 MB).
BASE_BYTES, KNOT_BYTES, PIXEL_BYTES = 420_000_000, 40, 14
#: The share of the free memory that is taken if no limit is given.
USUAL_SHARE = 0.8


class Memory:
    """Room in memory: batches are admitted by their expected need, which is corrected by what was measured.

    Parameters
    ----------
    limit_bytes : int
        The memory that all processes may take together.
    pixels : mapping of Batch to int
        The pixels of each batch's artwork.
    """

    def __init__(self, limit_bytes: int) -> None:
        self._limit = limit_bytes
        self._taken: dict[int, float] = {}
        self._factor = 1.0
        self.pixels: dict[int, int] = {}

    def need_bytes(self, batch: Batch) -> float:
        """Return the memory that a batch is expected to take."""
        pixels = self.pixels.get(id(batch), 0)
        return self._factor * (BASE_BYTES + KNOT_BYTES * batch.order.rug.knots + PIXEL_BYTES * pixels)

    def is_too_large(self, batch: Batch) -> bool:
        """Say whether there would be no room for a batch even alone."""
        return self.need_bytes(batch) > self._limit

    def admit(self, task: Batch) -> bool:
        """Say whether there is room for a batch now; a batch that would run alone is always admitted."""
        need = self.need_bytes(task)
        if self._taken and sum(self._taken.values()) + need > self._limit:
            return False
        self._taken[id(task)] = need
        return True

    def leave(self, task: Batch, result: object) -> None:
        """Give back the room of a batch; if it took more than expected, expect more of all that follow."""
        expected = self._taken.pop(id(task))
        self.pixels.pop(id(task), None)
        if isinstance(result, BatchDone) and result.peak_bytes > expected:
            self._factor *= result.peak_bytes / expected
