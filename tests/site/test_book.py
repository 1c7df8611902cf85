"""The whole base in print: every name, each message on the page of its step, links, bytes, what it may not ask for.

A4 is that of ISO 216; the bases are invented.
"""

from __future__ import annotations

import io
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from kb import cli
from kb.assets import demo_dir, start_dir
from kb.build import book_of, check_base, checked
from kb.read.base import read_files
from kb.reference import Kind
from kb.site import press
from kb.site.book import clip, sentences
from tests.conftest import ROOT, RUN_ALL
from tests.site.pump import INDEX, PUMP, PUMPING, with_page

SMALL = "# A base\n\n- Statement: Follow the maker's instructions.\n"
STATEMENT = "The maker's instructions come first."
Files = Mapping[str, str | bytes]


@pytest.fixture(scope="module", autouse=True)
def _printable() -> None:
    try:
        press.press()
    except press.Absent as absent:
        pytest.skip(str(absent))
    pytest.importorskip("pypdf", reason="pypdf is absent")


def on(folder: Path, files: Files) -> Path:
    """Files in a folder."""
    for name, data in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data if isinstance(data, bytes) else data.encode())
    return folder


def book(files: Files, tmp_path: Path, vehicle: str | None = None) -> Any:
    """The book of these files, opened."""
    import pypdf

    return pypdf.PdfReader(io.BytesIO(book_of(check_base(on(tmp_path, files), vehicle))))


@pytest.fixture(scope="module")
def pump(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """The pump's book."""
    return book(PUMP, tmp_path_factory.mktemp("pump"))


def words(page: Any) -> str:
    """The words of a page, white space folded."""
    return " ".join(page.extract_text().split())


def letters(pdf: Any) -> str:
    """All letters of a book: words broken over lines are whole again."""
    return "".join("".join(page.extract_text().split()) for page in pdf.pages)


def outline(pdf: Any) -> list[tuple[int, str, int]]:
    """The outline: depth, words, number of the page."""

    def walk(items: list[Any], depth: int) -> Iterator[tuple[int, str, int]]:
        for item in items:
            if isinstance(item, list):
                yield from walk(item, depth + 1)
            else:
                yield depth, " ".join(item.title.split()), pdf.get_destination_page_number(item) + 1

    return list(walk(pdf.outline, 1))


def named(files: Files) -> list[tuple[Kind, str]]:
    """Kind and name of every node with a heading of its own."""
    base = read_files({name: data if isinstance(data, bytes) else data.encode() for name, data in files.items()})
    return [(n.kind, n.name) for n in base.nodes.values() if n.kind not in (Kind.BASE, Kind.PAGE)]


def test_every_name_is_in_the_outline_on_a_page_that_holds_it(pump):
    found = outline(pump)
    for kind, name in named(PUMP):
        (page,) = [page for _, title, page in found if title in (name, f"{kind.value}: {name}")]
        assert name in words(pump.pages[page - 1]), name


def test_the_outline_goes_from_parts_to_pages_to_nodes(pump):
    found = [(depth, title) for depth, title, _ in outline(pump)]
    assert [title for depth, title in found if depth == 1] == [
        "Contents", "About this base", "Functions", "Vehicles", "Lessons", "Shared work", "Answers",
        "What the customer says", "All names",
    ]  # fmt: skip
    at = found.index((2, "Pumping"))
    assert found[at - 1] == (1, "Functions") and found[at + 1] == (3, "Symptom: Pump does not start")


def test_pages_are_a4_numbered_and_carry_the_statement(pump):
    for number, page in enumerate(pump.pages, 1):
        assert abs(float(page.mediabox.width) / 72 * 25.4 - 210) < 0.5  # ISO 216
        assert abs(float(page.mediabox.height) / 72 * 25.4 - 297) < 0.5
        assert STATEMENT in words(page)
        assert f"{number} of {len(pump.pages)}" in words(page)


def test_a_long_statement_is_whole_on_the_first_page_and_short_in_each_foot(tmp_path):
    long = f"{STATEMENT} " + " ".join(f"Sentence {n} says more." for n in range(40))
    pdf = book({**PUMP, "index.md": INDEX.replace(STATEMENT, long)}, tmp_path)
    assert "Sentence 39 says more." in words(pdf.pages[0])
    for page in pdf.pages[1:]:
        assert STATEMENT in words(page) and "Whole on page 1." in words(page)
        assert "Sentence 39" not in words(page)


def test_the_first_page_says_what_was_checked_and_nothing_more(pump):
    first = words(pump.pages[0])
    assert "1 of 1 drawn circuit solved" in first
    assert re.search(r"held against the rules of the tool that printed them: no errors, (no|\d+) warnings?", first)
    assert "0 of 3 tests tried on a vehicle" in first
    assert not re.search(r"\b(safe|proven|OK|pass|success)\b", first)


def test_it_has_a_title_a_language_and_tags(pump):
    assert pump.metadata.title == "Low Field Pumps"
    assert pump.trailer["/Root"]["/Lang"] == "en"
    assert pump.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in pump.trailer["/Root"]
    assert "/CreationDate" not in pump.metadata and "/ModDate" not in pump.metadata


def test_contents_and_indexes_name_the_pages(pump):
    pages = {title: page for _, title, page in outline(pump)}
    contents = words(pump.pages[1])
    assert re.search(rf"Pump does not start[ .]*{pages['Symptom: Pump does not start']}\b", contents)
    said = words(pump.pages[pages["What the customer says"] - 1])
    for spoken in ("the pump is dead", "nothing hums"):
        assert spoken in PUMPING and spoken in said
    assert re.search(rf"Pump does not start[ .]*{pages['Symptom: Pump does not start']}\b", said)
    names = words(pump.pages[pages["All names"] - 1])
    assert re.search(rf"Fuse blown cause[ .]*{pages['Cause: Fuse blown']}\b", names)


def test_every_link_within_leads_to_a_page(pump):
    destinations = pump.named_destinations
    seen = 0
    for page in pump.pages:
        for note in page.get("/Annots", []):
            link = note.get_object()
            if "/Dest" in link:
                assert str(link["/Dest"]) in destinations
                seen += 1
            else:
                assert "book.invalid" not in str(link.get("/A", {}).get("/URI", ""))
    assert seen > 50


def test_answers_stand_at_the_end_only(pump):
    pages = {title: page for _, title, page in outline(pump)}
    question = next(page for title, page in pages.items() if title.startswith("Question: What does a dark lamp say"))
    assert "A lamp needs current." not in words(pump.pages[question - 1])
    assert "A lamp needs current." in words(pump.pages[pages["Answers"] - 1])


# A message of its own far down a page, with steps before it that push it to the edge by one line each.
PUSHED = PUMPING.replace("1. Switch on.\n", "1. Switch on.\n{more}").replace(
    "> **DANGER** [Water near current]\n\n2.",
    "> **DANGER: hot coil.** A coil can burn your hand. Keep off the coil.\n\n2.",
)


@pytest.mark.parametrize("extra", range(0, 60, 1 if RUN_ALL else 12))
def test_a_message_is_on_the_page_of_its_step_wherever_the_page_ends(tmp_path, extra):
    page = PUSHED.replace("{more}", "".join(f"{n + 2}. Wait for tick {n}.\n" for n in range(extra)))
    page = page.replace("2. Listen at `J2.float`.", f"{extra + 2}. Listen at `J2.float`.")
    assert "hot coil" in page and f"{extra + 2}. Listen" in page
    printed = [words(p) for p in book({**PUMP, "functions/pumping.md": page}, tmp_path).pages]
    (step,) = [text for text in printed if "Listen at J2.float" in text]
    assert step.index("Keep off the coil.") < step.index("Listen at J2.float")


def test_each_access_stands_once_and_its_messages_wherever_it_is_needed(pump):
    text = " ".join(words(page) for page in pump.pages)
    assert text.count("Undo four screws.") == 1
    pages = {title: page for _, title, page in outline(pump)}
    lamp = words(pump.pages[pages["Test: Lamp at the float plug"] - 1])
    assert lamp.index("CAUTION") < lamp.index("Steps: Lid off")


def test_odd_text_loses_nothing(tmp_path):
    long, arabic = "abcdefghij" * 1000, "مرآة"
    odd = f"# Term: <b>Bold</b> & <script>x</script>\n\nA < B & C.\n\n# Term: {long}\n\nLong.\n\n# Term: {arabic}\n\n{long}\n"
    pdf = book(with_page(odd=odd), tmp_path)
    text = letters(pdf)
    assert "<b>Bold</b>&<script>x</script>" in text and "A<B&C." in text
    assert text.count("abcdefghij") >= 1990  # a heading and a paragraph of 1000 each, here and there broken by a foot
    assert all(any(letter in page.extract_text() for page in pdf.pages) for letter in arabic)
    titles = [title for _, title, _ in outline(pdf)]
    assert any("<b>Bold</b>" in title for title in titles) and any(long in title for title in titles)
    assert any(arabic in title for title in titles)


SCRIPT = """
import sys, time
from pathlib import Path
real = time.time
time.time = lambda: real() + float(sys.argv[3])
from kb.build import book_of, check_base
if __name__ == "__main__":
    Path(sys.argv[2]).write_bytes(book_of(check_base(Path(sys.argv[1]))))
"""


def test_the_same_base_gives_the_same_bytes_whatever_the_clock_and_the_seed(tmp_path):
    base = on(tmp_path / "base", PUMP)
    (tmp_path / "make.py").write_text(SCRIPT)
    made = []
    for seed, later in (("1", "0"), ("2", "86400")):
        out = tmp_path / f"{seed}.pdf"
        environment = {k: v for k, v in os.environ.items() if k != "SOURCE_DATE_EPOCH"}
        subprocess.run(
            [sys.executable, str(tmp_path / "make.py"), str(base), str(out), later],
            env={**environment, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)},
            check=True,
            timeout=300,
        )
        made.append(out.read_bytes())
    assert made[0] == made[1]
    assert os.fsencode(tmp_path) not in made[0]


PIXEL = (
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mP8z8BQDwAEhQGAhKmMIQAAAABJRU5ErkJggg=="  # a red point
)


def test_it_asks_for_nothing_but_files_of_the_base_and_the_templates(tmp_path, monkeypatch):
    asked: list[str] = []

    def refuse(*where: object, **more: object) -> None:
        asked.append(str(where))
        raise OSError("no network")

    monkeypatch.setattr("socket.socket.connect", refuse)
    monkeypatch.setattr("socket.getaddrinfo", refuse)
    secret = tmp_path / "secret.png"
    secret.write_bytes(b"not of the base")
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="90" height="40">'
        f'<image href="{secret.as_uri()}" width="9" height="9"/><image href="http://192.0.2.1/a.png" width="9" height="9"/>'
        f'<image href="data:image/png;base64,{PIXEL}" width="9" height="9"/><text y="30">drawn words</text></svg>'
    )
    styled = svg.replace("><image", "><style>@import url(http://192.0.2.1/a.css);</style><image", 1)
    names = {
        "far": "https://192.0.2.1/b.png",
        "near": "pictures/near.svg",
        "lost": "pictures/none.png",
        "styled": "pictures/styled.svg",
    }
    page = "# Term: Seen\n\n" + "\n\n".join(f"![{name} words]({place})" for name, place in names.items()) + "\n"
    pictures = {"pictures/near.svg": svg, "pictures/styled.svg": styled}
    pdf = book({**with_page(seen=page), **pictures}, tmp_path / "base")
    text = " ".join(words(page) for page in pdf.pages)
    assert "drawn words" in text  # and where nothing can be drawn the picture's own words stand
    assert "far words" in text and "lost words" in text and "styled words" in text
    assert asked == []


def shelf(files: Files) -> Callable[[str], Any]:
    named = {name: data if isinstance(data, bytes) else data.encode() for name, data in files.items()}
    from kb.site.sheets import open_site

    found = checked(Path(), read_files(named))
    site = open_site(found.base, found.graph)
    return press.fetcher(press.press(), site, named.__getitem__)


@pytest.mark.parametrize(
    "url",
    [
        "http://192.0.2.1/a.png", "https://192.0.2.1/a.png", "file:///etc/hostname", "ftp://192.0.2.1/a",
        "https://book.invalid/base/../secret", "https://book.invalid/static/../book.html.j2",
        "https://book.invalid/static/%2e%2e/%2e%2e/pyproject.toml", "https://book.invalid/base/unknown.png",
        "https://book.invalid.example/static/sheet.css", "https://book.invalid/", "HTTPS://192.0.2.1/",
    ],
)  # fmt: skip
def test_the_shelf_refuses(url):
    with pytest.raises(ValueError, match=r"neither a file|disallowed"):
        shelf(PUMP)(url)


def test_the_shelf_gives_files_of_the_base_and_the_templates():
    give = shelf(PUMP)
    assert give("https://book.invalid/base/pictures/lid.png").read() == b"lid"
    assert b"@page" in give("https://book.invalid/book/book.css").read()
    assert give("data:text/plain,hello").read() == b"hello"


def test_a_book_for_one_vehicle_holds_what_applies_to_it(tmp_path):
    page = "# Term: Weir word\n\n- Only on: [Ostrel Weir]\n\n# Term: Fen word\n\n- Only on: [Hask Fen]\n"
    pdf = book(with_page(words=page), tmp_path, "Hask Fen")
    text = " ".join(words(page) for page in pdf.pages)
    assert "Fen word" in text and "Weir word" not in text
    assert "Only what applies to Hask Fen" in words(pdf.pages[0])


def test_faults_are_marked_in_a_book_printed_despite_errors(tmp_path):
    pdf = book(with_page(more="# Term: Lost\n\nSee [Nobody at all].\n"), tmp_path)
    assert "Printed despite 1 error" in words(pdf.pages[0])
    assert "no node is called Nobody at all" in " ".join(words(page) for page in pdf.pages)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    on(tmp_path / "content", {"index.md": SMALL, "page.md": "# Term: Feed\n"})
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_command_writes_site_and_book_and_says_so(here, capsys):
    assert cli.run(["site", "--book", "made/book.pdf"]) == 0
    assert capsys.readouterr().out.endswith("The book is made/book.pdf\n")
    assert (here / "made/book.pdf").read_bytes().startswith(b"%PDF-")
    assert cli.run(["site", "--book", "published/book.pdf", "--format", "json"]) == 0
    assert '"book": "published/book.pdf"' in capsys.readouterr().out
    assert (here / "published/book.pdf").read_bytes() == (here / "made/book.pdf").read_bytes()
    assert (here / "published/index.html").is_file()
    assert sorted(p.name for p in (here / "made").iterdir()) == ["book.pdf"]


def test_a_book_that_fails_leaves_the_old_one_and_the_old_site(here, capsys, monkeypatch):
    assert cli.run(["site", "--book", "book.pdf"]) == 0
    before = (here / "book.pdf").read_bytes(), (here / "published/index.html").read_bytes()
    on(here / "content", {"page.md": "# Term: Other\n"})
    with monkeypatch.context() as patch:
        patch.setattr("kb.site.press._dress", lambda root: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            cli.run(["site", "--book", "book.pdf"])
    assert ((here / "book.pdf").read_bytes(), (here / "published/index.html").read_bytes()) == before
    on(here / "content", {"page.md": "# Term: Other\n\nSee [Nobody].\n"})
    assert cli.run(["site", "--book", "book.pdf"]) == 1
    assert (here / "book.pdf").read_bytes() == before[0]


def test_a_book_needs_its_extra_and_a_name_that_says_pdf(here, capsys, monkeypatch):
    assert cli.run(["site", "--book", "content/index.md"]) == 2
    assert "ends in .pdf" in capsys.readouterr().err
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    assert cli.run(["site", "--book", "book.pdf"]) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1 and "pip install 'backprobe[print]'" in told
    assert not (here / "published").exists()
    assert cli.run(["site"]) == 0


def test_what_a_foot_and_a_running_head_hold():
    assert sentences("One. Two.", 20) == "One. Two."
    assert sentences("One two. Three four.", 10) == "One two."
    assert sentences("A word after a word without an end", 10) == "A word af…"
    assert clip("a\n b", 9) == "a b" and len(clip("x" * 99, 9)) == 9


def test_the_whole_base_that_is_shipped_stands_in_its_book(tmp_path):
    """The small base that a new one begins with; `.ci/run all` prints the demonstration."""
    import pypdf

    found = check_base(demo_dir() if RUN_ALL else start_dir())
    pdf = pypdf.PdfReader(io.BytesIO(book_of(found)))
    text, titles = letters(pdf), {title for _, title, _ in outline(pdf)}
    assert len(pdf.pages) > 15
    for node in found.base.nodes.values():
        if node.kind not in (Kind.BASE, Kind.PAGE):
            assert "".join(node.name.split()) in text, node.id
            assert {" ".join(node.name.split()), f"{node.kind.value}: {' '.join(node.name.split())}"} & titles, node.id
    for symptom in found.base.of_kind(Kind.SYMPTOM):
        assert all("".join(said.text.split()) in text for said in symptom.values("Said as"))
