"""How far a job has come, told by the code that does it to the one that shows it."""

from __future__ import annotations

from collections.abc import Callable, Mapping

#: Shows what is being done, and the share (0..1) of the whole job that is done.
Show = Callable[[str, float], None]


class Progress:
    """A job, or a named part of one, that says how far it has come.

    A job divides itself into parts by weight and hands each part on. A part counts its own steps from none to all and
    knows nothing of the others, so that shares are worked out here only. Only the first process reports; the work that
    it gives to others is silent.

    Parameters
    ----------
    show : callable, optional
        Called with what is being done and the share (0..1) of the whole job. Left out, nothing is shown.
    start, span : float
        The share of the whole job that is done before this part, and what this part adds to it.

    Examples
    --------
    >>> seen = []
    >>> parts = Progress(lambda what, share: seen.append((what, share))).parts({"read": 1, "draw": 3})
    >>> parts["read"].doing("reading the rug file")
    >>> parts["draw"].doing("drawing the chart")
    >>> parts["draw"].done(2, of=4)
    >>> seen
    [('reading the rug file', 0.0), ('drawing the chart', 0.25), ('drawing the chart', 0.625)]
    """

    def __init__(self, show: Show | None = None, start: float = 0.0, span: float = 1.0) -> None:
        self._show, self._start, self._span = show, start, span
        self._what = ""

    def doing(self, what: str) -> None:
        """Say what begins now."""
        if self._show is not None:
            self._what = what
            self.done(0)

    def done(self, steps: float, of: float = 1) -> None:
        """Say how many steps are done out of `of`, all the steps of this part."""
        if self._show is not None:
            self._show(self._what, self._start + self._span * min(1.0, steps / max(of, 1)))

    def parts(self, weights: Mapping[str, float]) -> dict[str, Progress]:
        """Return the parts of this job by name, in their order, each as long as its share of all weights."""
        scale = self._span / sum(weights.values())
        parts, start = {}, self._start
        for name, weight in weights.items():
            parts[name] = Progress(self._show, start, weight * scale)
            start += weight * scale
        return parts


#: The progress of a job that nobody watches.
SILENT = Progress()
