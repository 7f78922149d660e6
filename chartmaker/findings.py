"""A finding: something that the designer should know before the rug is woven."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["note", "warning", "error"]


@dataclass(frozen=True)
class Finding:
    """One plain sentence `what`, the place `where` it is about, and how bad it is."""

    what: str
    where: str
    severity: Severity
