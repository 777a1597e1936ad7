"""The examples in the docstrings do what they say."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import detailgen

FOUND = (m.name for m in pkgutil.walk_packages(detailgen.__path__, "detailgen."))
NAMES = sorted(name for name in FOUND if not name.endswith("__main__"))


@pytest.mark.parametrize("name", NAMES)
def test_examples_in_docstrings_work(name: str) -> None:
    result = doctest.testmod(importlib.import_module(name))
    assert result.failed == 0


def test_a_wrong_example_would_be_found() -> None:
    test = doctest.DocTestParser().get_doctest(">>> 1 + 1\n3\n", {}, "wrong", None, None)
    assert doctest.DocTestRunner(verbose=False).run(test, out=lambda _: None).failed == 1
