"""What verify says is said whole in every test of it: no field of a sentence is None, and none is given in vain."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Iterator
from string import Formatter
from typing import Any

import pytest

import chartmaker.verify

MODULES = [each.name for each in pkgutil.walk_packages(chartmaker.verify.__path__, "chartmaker.verify.")]


def checked(plain: Callable[..., str]) -> Callable[..., str]:
    """Return a way to say sentences that refuses fields which are None or which the sentence does not have."""

    def say(*sentences: Any, **fields: Any) -> str:
        told = {
            name for each in sentences if isinstance(each, str) for _, name, _, _ in Formatter().parse(each) if name
        }
        assert fields.keys() <= told and None not in fields.values(), (sentences, fields)
        return plain(*sentences, **fields)

    return say


@pytest.fixture(autouse=True)
def _said_whole() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:  # of its own, since tests undo what they patched
        for name in MODULES:
            module = importlib.import_module(name)
            for said in ("say", "say_n"):
                if hasattr(module, said):
                    patch.setattr(module, said, checked(getattr(module, said)))
        yield
