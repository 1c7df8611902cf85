"""The bases and texts that the benchmark reads are what it says they are."""

from __future__ import annotations

import pytest

from kb.read.base import read_files
from kb.read.page import read_page
from kb.source import read_source
from tests.bench.bases import made_base, shapes


def test_a_made_base_reads_without_a_problem():
    read = read_files(made_base(40))
    assert len(read.pages) == 40
    assert read.problems == ()
    assert len(read.nodes) > 700
    assert all(ref in read.targets for page in read.pages.values() for ref in page.refs)


def test_the_same_seed_makes_the_same_base():
    assert made_base(12) == made_base(12)
    assert made_base(12) != made_base(12, seed=2)


@pytest.mark.parametrize(("name", "unit"), list(shapes()))
def test_a_shape_is_read_in_any_length(name, unit):
    page = read_page(read_source("p.md", (unit * 40).encode()))
    assert page.nodes
    assert name
