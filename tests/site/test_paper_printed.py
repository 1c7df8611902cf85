"""Sheets as Chromium prints them: A4, messages with their steps, boxes of 5 mm, codes that two decoders read.

A4 is that of ISO 216; 5 mm and 24 mm are common practice, no source; the pages are invented.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import RUN_ALL
from tests.site.pump import PUMP, PUMPING, SYMPTOM, built
from tests.site.test_paper import ADDRESSED, SHEET, TEST

MM = 96 / 25.4  # CSS pixels of a millimetre

# A message of its own far down a page, with steps before it that push it to the edge by one line each.
PUSHED = PUMPING.replace("1. Switch on.\n", "1. Switch on.\n{more}").replace(
    "> **DANGER** [Water near current]\n\n2.",
    "> **DANGER: hot coil.** A coil can burn your hand. Keep off the coil.\n\n2.",
)


@pytest.fixture
def paper(browser: Any) -> Iterator[Callable[..., Any]]:
    """Print a page of a folder, with script or without; the printed pages."""
    pypdf = pytest.importorskip("pypdf", reason="pypdf is absent")
    opened = []

    def print_(root: Path, path: str, script: bool = True) -> Any:
        context = browser.new_context(java_script_enabled=script)
        opened.append(context)
        page = context.new_page()
        page.goto((root / path).as_uri())
        return pypdf.PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True, print_background=True)))

    yield print_
    for context in opened:
        context.close()


def on(folder: Path, files: dict[str, bytes]) -> Path:
    """Files in a folder."""
    for name, data in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    return folder


def pages_of(pdf: Any) -> list[str]:
    """The words of each printed page, white space folded."""
    return [" ".join(page.extract_text().split()) for page in pdf.pages]


@pytest.fixture(scope="module")
def addressed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The pump's site with an address."""
    return on(tmp_path_factory.mktemp("addressed"), dict(built(ADDRESSED)))


def test_a_sheet_is_a4_and_the_same_with_script_and_without(root, paper):
    with_script, without = paper(root, SHEET), paper(root, SHEET, script=False)
    assert pages_of(with_script) == pages_of(without)
    for page in with_script.pages:
        width, height = float(page.mediabox.width) / 72 * 25.4, float(page.mediabox.height) / 72 * 25.4
        assert abs(width - 210) < 0.5 and abs(height - 297) < 0.5  # ISO 216


def test_a_sheet_begins_with_its_fields_and_ends_with_the_statement(root, paper):
    first, *_, last = pages_of(paper(root, SHEET))
    for words in ("Job sheet", "Pump does not start", "Repair order", "Plate", "Date", "Done by"):
        assert words in first
    assert "Signed" in last and "The maker's instructions come first." in last
    assert "Back to the page" not in first and f"1 of {len(pages_of(paper(root, SHEET)))}" in first


@pytest.mark.parametrize("extra", range(0, 36, 1 if RUN_ALL else 5))
def test_a_message_is_on_the_page_of_its_step_wherever_the_page_ends(tmp_path, paper, extra):
    page = PUSHED.replace("{more}", "".join(f"{n + 2}. Wait for tick {n}.\n" for n in range(extra)))
    page = page.replace("2. Listen at `J2.float`.", f"{extra + 2}. Listen at `J2.float`.")
    root = on(tmp_path, dict(built({**PUMP, "functions/pumping.md": page})))
    for path in (SHEET, "functions/pumping.test-listen-at-the-pump.sheet.html", SYMPTOM):
        printed = pages_of(paper(root, path))
        (step,) = [words for words in printed if "Listen at J2.float" in words]
        assert "hot coil." in step and "Keep off the coil." in step, path


def test_boxes_to_tick_are_5_mm_on_paper_only(root, tab):
    tab.goto((root / SHEET).as_uri())
    size = """() => [...document.querySelectorAll('.tick, .steps > li')].map(e => getComputedStyle(e, '::before'))
        .map(s => [s.content, s.width, s.height])"""
    assert {content for content, _, _ in tab.evaluate(size)} == {"none"}
    tab.emulate_media(media="print")
    found = tab.evaluate(size)
    assert len(found) > 15
    for content, width, height in found:
        assert content == '""'
        assert abs(float(width[:-2]) - 5 * MM) < 0.1 and abs(float(height[:-2]) - 5 * MM) < 0.1


def test_the_key_prints_and_only_with_script(root, tab, browser):
    tab.goto((root / SHEET).as_uri())
    tab.evaluate("() => { window.printed = 0; window.print = () => { window.printed += 1; }; }")
    tab.get_by_role("button", name="Print").click()
    assert tab.evaluate("window.printed") == 1
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto((root / SHEET).as_uri())
    assert not page.locator("button:visible").count()
    context.close()


def test_a_chosen_vehicles_places_alone_are_printed(root, tab):
    tab.goto((root / "vehicles.html").as_uri())
    tab.get_by_role("button", name="Hask Fen").click()
    tab.goto((root / TEST).as_uri())
    assert "Vehicle: Hask Fen" in tab.locator("main").inner_text()
    assert not tab.locator(".spot:visible, .plug:visible").count()
    assert "take pin and colour from the maker's diagram" in tab.locator(".where").inner_text()


def decoded(image: Any) -> tuple[list[str], list[str]]:
    """What two decoders read in a picture."""
    zxingcpp = pytest.importorskip("zxingcpp", reason="zxing-cpp is absent")
    try:
        from pyzbar import pyzbar
    except ImportError:
        pytest.skip("pyzbar or its library zbar is absent")
    return [c.text for c in zxingcpp.read_barcodes(image)], [c.data.decode() for c in pyzbar.decode(image)]


def test_two_decoders_read_the_code_of_every_sheet_as_printed(addressed, browser):
    from PIL import Image

    context = browser.new_context(
        viewport={"width": 794, "height": 1123}, device_scale_factor=3
    )  # A4 at 288 dots an inch
    page = context.new_page()
    page.emulate_media(media="print")
    sheets = sorted(addressed.rglob("*.sheet.html"))
    assert len(sheets) == 7
    for sheet in sheets:
        page.goto(sheet.as_uri())
        box = page.locator(".matrix").bounding_box()
        assert abs(box["width"] - 24 * MM) < 0.2 and abs(box["height"] - 24 * MM) < 0.2
        one, other = decoded(Image.open(io.BytesIO(page.screenshot())).convert("L"))
        address = page.locator(".address").inner_text()
        assert one == other == [address]
        at, _, anchor = address.removeprefix("https://pumps.example/book/").partition("#")
        assert not anchor or f'id="{anchor}"' in (addressed / at).read_text()
        assert (addressed / at).exists()
    context.close()


def test_the_decoders_see_a_code_that_is_damaged(addressed, browser):
    """A code without two of its finder patterns isn't read: what was read above wasn't guessed."""
    from PIL import Image

    page = browser.new_page()
    page.goto((addressed / TEST).as_uri())
    shot = Image.open(io.BytesIO(page.locator(".matrix").screenshot())).convert("L").resize((480, 480))
    assert all(decoded(shot))
    shot.paste(255, (0, 0, 480, 200))
    assert decoded(shot) == ([], [])
    page.close()


OTHERS = (
    PUMPING.replace("## Cause: Motor open\n\n", "## Cause: Motor open\n\n- Only on: [Ostrel Weir]\n")
    .replace("## Test: Listen at the pump\n\n", "## Test: Listen at the pump\n\n- Only on: [Ostrel Weir]\n")
    .replace("## Repair: New motor\n\n", "## Repair: New motor\n\n- Only on: [Ostrel Weir]\n")
    .replace("1. Put the lamp on `J2.float`.", "1. Put the lamp on `J2.float`.\n2. Only on [Ostrel Weir]: wait.")
    .replace("| Reading | Clears | Next |\n|---|---|---|---|\n", "| Reading | Clears | Next | Only on |\n|---|---|---|---|---|\n")
    .replace("| bright | [Fuse blown]; [Float wire open] | [Volts at the box] |", "| bright | [Fuse blown]; [Float wire open] | [Volts at the box] | |")
    .replace("| dark | [Motor open] | [New fuse] |", "| dark | [Motor open] | [New fuse] | |\n| The lamp is blue | | [Motor open] | | [Ostrel Weir] |")
)  # fmt: skip


@pytest.fixture(scope="module")
def others(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The pump's site with causes, parts, steps and findings that aren't for each vehicle."""
    return on(tmp_path_factory.mktemp("others"), dict(built({**PUMP, "functions/pumping.md": OTHERS})))


def chosen(tab: Any, root: Path, vehicle: str, path: str) -> Any:
    """A sheet for a vehicle."""
    tab.goto((root / "vehicles.html").as_uri())
    tab.get_by_role("button", name=vehicle).click()
    tab.goto((root / path).as_uri())
    tab.emulate_media(media="print")
    return tab.locator("main")


def test_a_sheet_leaves_out_what_is_for_other_vehicles_and_says_how_much(others, tab):
    sheet = chosen(tab, others, "Hask Fen", SHEET)
    line = sheet.locator(".left-out").inner_text()
    assert line.startswith(
        "Left out: 1 test, 1 repair, 1 cause, 1 finding and 1 step that are not for the Hask Fen."
    )
    words = sheet.inner_text()
    assert "no vehicle in particular" not in words
    for gone in ("Motor open", "Listen at J2.float", "Change the motor.", "The lamp is blue", "wait."):
        assert gone not in words
    assert "Float wire open" in words and "Put the lamp on" in words
    first = sheet.locator(".part:visible").first
    assert sheet.locator(".sum a.square").inner_text() == first.locator(".head .square").inner_text() != "1"
    assert not sheet.locator("button:visible, .aside-line:visible").count()
    tab.goto((others / TEST).as_uri())
    assert sheet.locator(".left-out").inner_text() == "Left out: 1 finding and 1 step that are not for the Hask Fen."


def test_the_steps_of_an_access_are_printed_with_the_first_part_that_is_not_left_out(others, tab):
    sheet = chosen(tab, others, "Hask Fen", SHEET)
    part = sheet.locator(".part", has=tab.get_by_text("Undo four screws.")).first
    assert part.is_visible() and part.locator("h2").inner_text() == "Lamp at the float plug"
    assert part.locator(".steps-at:visible", has_text="Steps").count() == 0
    assert sheet.get_by_text("Undo four screws.").count() == 1


def test_a_sheet_for_no_vehicle_or_one_that_has_all_leaves_nothing_out(others, tab):
    tab.goto((others / SHEET).as_uri())
    main = tab.locator("main")
    assert main.locator(".left-out").is_hidden() and "The lamp is blue" in main.inner_text()
    assert "the plan is for no vehicle in particular" in main.inner_text()
    sheet = chosen(tab, others, "Ostrel Weir", SHEET)
    assert sheet.locator(".left-out").is_hidden()
    assert "The lamp is blue" in sheet.inner_text() and "wait." in sheet.inner_text()


def test_the_sheet_of_a_test_for_another_vehicle_says_so_and_stays_whole(others, tab):
    sheet = chosen(tab, others, "Hask Fen", "functions/pumping.test-listen-at-the-pump.sheet.html")
    assert sheet.locator(".left-out").inner_text() == (
        "Not for the Hask Fen: nothing of this sheet is written for it."
    )
    assert "Listen at J2.float" in sheet.inner_text()


def test_a_walk_that_has_begun_prints_the_job_what_is_left_and_the_next_step(root, paper, browser):
    whole = " ".join(pages_of(paper(root, SYMPTOM)))
    assert "The whole plan" in whole and "Change the pump." in whole
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{(root / SYMPTOM).as_uri()}#walk=test-listen-at-the-pump~1")
    pypdf = pytest.importorskip("pypdf", reason="pypdf is absent")
    printed = pypdf.PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True, print_background=True)))
    words = " ".join(pages_of(printed))
    page.emulate_media(media="print")
    parts = ["h1", ".job", ".what-left", ".causes", "#do-next", ".do-next .fold", ".statement"]
    tops = [page.locator(part).bounding_box()["y"] for part in parts]
    assert tops == sorted(tops)
    assert not page.locator(".brought").count()
    context.close()
    for told in ("Pump does not start", "Job card", "It is silent", "What is left", "Fuse blown"):
        assert told in words
    assert "The maker's instructions come first." in words
    assert "Lamp at the float plug" in words and "Put the lamp on" in words and "Sharp lid" in words
    assert "Undo four screws." in words and "Couldn't read it" in words
    for gone in ("The whole plan", "Change the pump.", "Measure at the box.", "Take back", "Tests in", "Speaks about"):
        assert gone not in words
    assert len(printed.pages) <= 3
