"""The nodes that search is measured on are made as asked, and what is measured of ours is what a page would load."""

from __future__ import annotations

import random
import shutil

import pytest

from kb.graph import build_graph
from kb.read.base import read_files
from kb.search.documents import documents
from kb.search.lexicon import slips
from tests.bench.peers.corpus import STOPS, made_pages, made_questions, made_slips, slipped
from tests.bench.peers.figures import Figures, at, loads, share, sizes, table
from tests.bench.peers.native import fts5
from tests.bench.peers.ours import CLIENT, SHOWN, answered, built
from tests.bench.search_peers import Goal, goals, rows_of

NODES = 200


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return built(NODES, tmp_path_factory.mktemp("made"))


@pytest.fixture(scope="module")
def questions(made):
    return made_questions([[*d.texts["name"], *d.texts["said"]] for d in made.index.documents], 30)


def test_the_same_seed_makes_the_same_pages():
    assert made_pages(90) == made_pages(90)
    assert made_pages(90) != made_pages(90, seed=21)


@pytest.mark.parametrize("nodes", [3, 8, 9, 50, 129, 1000])
def test_so_many_nodes_are_made_as_were_asked_for(nodes):
    base = read_files(made_pages(nodes))
    assert len(documents(base, build_graph(base))) == nodes
    assert base.problems == ()
    assert all(ref in base.targets for page in base.pages.values() for ref in page.refs)


def test_the_words_grow_in_number_with_the_nodes(made):
    more = {word for data in made_pages(5 * NODES).values() for word in data.decode().lower().split()}
    assert len(made.index.documents) == NODES
    assert len(more) > 1.5 * len(made.index.lexicon.words)


def test_questions_are_of_one_to_three_words_and_the_same_each_time(made, questions):
    names = [[*d.texts["name"], *d.texts["said"]] for d in made.index.documents]
    assert made_questions(names, 30) == questions
    assert {len(question.split()) for question in questions} == {1, 2, 3}
    assert not {word for question in questions for word in question.split()} & set(STOPS)


def test_a_slip_is_one_letter_in_one_long_word(questions):
    found = made_slips(questions)
    assert found == made_slips(questions)
    for slip in found:
        pairs = list(zip(slip.clean.split(), slip.slipped.split(), strict=True))
        (pair,) = [pair for pair in pairs if pair[0] != pair[1]]
        assert len(pair[0]) >= 5 and slips(*pair) == 1


def test_every_slip_changes_the_word():
    chance = random.Random(1)
    assert all(slips("lamp", slipped("lamp", chance)) == 1 for _ in range(300))


def test_node_tells_what_is_loaded_how_long_it_takes_and_what_is_forgiven(made, questions):
    if shutil.which("node") is None:
        pytest.skip("node is absent, so the scripts can't be asked")
    slips_ = made_slips(questions)
    told = answered(made, questions, slips_, rounds=2)
    assert len(told.ids) == len(told.ten) == len(questions)
    for ids, ten in zip(told.ids, told.ten, strict=True):
        assert ids[: len(CLIENT)] == list(CLIENT) and ten[: len(SHOWN)] == list(SHOWN)
        assert "search/boot.js" in ids and any("/terms-" in name for name in ids)
        assert not any("/cards-" in name for name in ids) and any("/cards-" in name for name in ten)
        assert set(ids) < set(ten)
    assert min(loads(made.site, told.ten)) > min(loads(made.site, told.ids)) > 0
    assert len(told.rank) == len(told.find) == 2 * len(questions)
    assert at(told.rank, 50) <= at(told.find, 50)
    assert told.full and 0.5 < told.kept <= 1


def test_an_engine_that_knows_no_slips_forgives_fewer(made, questions, tmp_path):
    slips_ = made_slips(questions)
    row = fts5(rows_of(made.index), questions, slips_, tmp_path)
    assert row.raw > 10_000 and row.seconds > 0 and len(row.warm) == 3 * len(questions)
    assert 0 < row.kept < 0.9


def test_bytes_of_files_are_counted_once_and_packed(tmp_path):
    (tmp_path / "long.js").write_bytes(b"a" * 9000)
    (tmp_path / "short.js").write_bytes(b"xyz")
    raw, small = sizes(tmp_path)
    assert raw == 9003 and small < 100
    both, one = loads(tmp_path, [["long.js", "short.js", "long.js"], ["short.js"]])
    assert (both, one) == (small, 3)


def test_figures_stand_in_their_columns():
    head, row, empty = table(
        [Figures("ours", 1.25, 2000, 1500, [900, 1000, 1100], warm=[1.0, 2.0]), Figures("none", note="absent")]
    )
    assert row.split()[:5] == ["ours", "1.2", "2", "2", "1.0"]
    assert empty.endswith("absent") and "1.000 / 2.000" not in empty
    assert at([5, 1, 3], 50) == 3 and share([True, False]) == 0.5
    assert head.startswith("engine")


def test_goals_know_which_way_they_go():
    assert Goal("bytes", 15, "KB", 15.0).reached and not Goal("bytes", 15, "KB", 15.1).reached
    assert Goal("slips", 0.99, "share", 0.99).reached and not Goal("slips", 0.99, "share", 0.98).reached
    assert Goal("bytes", 15, "KB", None).reached is None
    assert len(list(goals(10_000, [Figures("ours")], 0.2))) == 8


def test_a_page_just_opened_and_a_first_question_are_told_apart():
    told = {g.name.split()[0]: g.value for g in goals(10_000, [Figures("ours", cold=[200.0], first=[50.0])], 0.2)}
    assert (told["cold"], told["first"]) == (200.0, 50.0)
