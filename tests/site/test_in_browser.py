"""The pump's site in a real browser from the disk: the vehicle's choice, folded parts, the search, no script."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import quote

import pytest

from tests.site.pump import PUMP, SYMPTOM, built
from tests.site.test_symptom_page import LIMITED
from tests.site.waiting import until

WEIR = "vehicles/weir.html#vehicle-ostrel-weir"


def address(root: Path, page: str, more: str = "") -> str:
    """A page's address on the disk."""
    return (root / page).as_uri() + more


def test_a_vehicle_is_chosen_by_one_press_and_stays_chosen(root, tab):
    tab.goto(address(root, SYMPTOM))
    seen = tab.locator(".steps .seen").first
    assert not seen.is_visible()
    tab.get_by_role("link", name="change").click()
    tab.get_by_role("button", name="Ostrel Weir").click()
    assert tab.locator("[data-known]").inner_text() == "Ostrel Weir"
    tab.goto(address(root, SYMPTOM))
    assert tab.locator("[data-known]").inner_text() == "Ostrel Weir"
    assert seen.is_visible() and seen.inner_text().split() == "cavity 4 VT/WH violet with white".split()
    tab.goto(address(root, "vehicles.html"))
    pressed = tab.locator("button[aria-pressed=true]")
    assert pressed.count() == 1 and "Ostrel Weir" in pressed.inner_text()
    tab.get_by_role("button", name="None of these").click()
    assert tab.locator("[data-known]").inner_text() == "All vehicles"
    tab.goto(address(root, SYMPTOM))
    assert not seen.is_visible()


def test_a_vehicle_without_wiring_sees_no_other_vehicles_pins_and_is_told(root, tab):
    tab.goto(address(root, "vehicles.html"))
    tab.get_by_role("button", name="Hask Fen").click()
    tab.goto(address(root, SYMPTOM))
    where = tab.locator(".where").first
    assert where.inner_text() == (
        "No wiring of your Hask Fen is drawn for this test: take pin and colour from the maker's diagram."
    )
    assert tab.locator(".where").count() == 2 and tab.locator(".spot").count() == 2
    for page in (SYMPTOM, "functions/pumping.html"):
        tab.goto(address(root, page))
        assert not tab.locator(".spot:visible, .seen:visible").count()
        assert "cavity 4" not in tab.locator("main").inner_text()


def test_a_stored_vehicle_of_another_base_is_not_taken(root, tab):
    tab.goto(address(root, SYMPTOM))
    tab.evaluate(
        "localStorage.setItem('backprobe.vehicle', JSON.stringify({key: 'x.html#y', name: 'Other'}))"
    )
    tab.reload()
    assert tab.locator("[data-known]").inner_text() == "All vehicles"
    tab.evaluate("localStorage.setItem('backprobe.vehicle', 'not json')")
    tab.reload()
    assert tab.locator("[data-known]").inner_text() == "All vehicles"


@pytest.fixture(scope="module")
def limited(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The site with causes and tests that aren't for each vehicle."""
    folder = tmp_path_factory.mktemp("limited")
    for name, data in built({**PUMP, "functions/pumping.md": LIMITED}).items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    return folder


def test_what_is_not_for_the_chosen_vehicle_is_neither_counted_nor_listed(limited, tab):
    tab.goto(address(limited, "vehicles.html"))
    tab.get_by_role("button", name="Ostrel Weir").click()
    tab.goto(address(limited, SYMPTOM))
    assert tab.locator("[data-told=left]").inner_text() == "2"
    assert tab.locator(".causes > li:visible").count() == 2
    tab.locator("[data-test$=lamp-at-the-float-plug]").evaluate("e => { e.open = true; }")
    bright = tab.locator(".finding", has_text="The lamp is bright")
    assert "clears 1, leaves 1: Motor open" in bright.inner_text()
    assert "The writer's next: Volts at the box not for your Ostrel Weir" in " ".join(bright.inner_text().split())
    tab.goto(address(limited, "vehicles.html"))
    tab.get_by_role("button", name="Hask Fen").click()
    tab.goto(address(limited, SYMPTOM))
    lamp = tab.locator("[data-test$=lamp-at-the-float-plug]")
    assert "not for your Hask Fen" in lamp.inner_text() and not lamp.locator(".steps:visible").count()
    assert tab.locator(".do-next .fold").get_attribute("data-test") == "functions/pumping.md#test-listen-at-the-pump"
    assert lamp.get_attribute("open") is None
    tab.goto(address(limited, "functions/pumping.html"))
    written = tab.locator("section.test:has(> #test-lamp-at-the-float-plug)")
    assert not written.locator(".steps:visible").count()
    written.get_by_role("button", name="Show it all the same").click()
    assert written.locator(".steps").last.is_visible()


def test_the_whole_finding_is_a_key(root, tab):
    tab.goto(address(root, SYMPTOM))
    finding = tab.locator(".finding", has_text="The strip is burnt")
    finding.locator("svg").first.click(force=True)
    until(tab, "document.querySelector('.do-next [data-repair$=new-fuse]') !== null")


def test_a_link_to_something_folded_opens_it(root, tab):
    tab.goto(address(root, SYMPTOM, "#repair-new-fuse"))
    assert tab.locator("details:has(#repair-new-fuse)").get_attribute("open") is not None
    assert tab.locator("#repair-new-fuse").is_visible()
    tab.locator("aside .then a", has_text="Mend the wire").click()
    until(tab, "document.querySelector('details:has(#repair-mend-the-wire)').open")


def test_the_stroke_leads_to_the_search(root, tab):
    tab.goto(address(root, "shared.html"))
    tab.keyboard.press("/")
    tab.wait_for_url("**/search.html")
    until(tab, "document.activeElement.id === 'said'")
    tab.goto(address(root, "index.html"))
    tab.keyboard.press("/")
    assert tab.evaluate("document.activeElement.id") == "said"
    assert tab.evaluate("document.activeElement.value") == ""


def test_what_the_customer_says_finds_the_symptom(root, tab):
    tab.goto(address(root, "index.html"))
    tab.get_by_label("What does the customer say?").fill("pump is dead")
    tab.keyboard.press("Enter")
    tab.wait_for_url("**/search.html?q=*")
    first = tab.locator(".hit").first
    first.wait_for()
    assert first.locator("h2").inner_text() == "Pump does not start"
    assert first.locator("mark").all_inner_texts()
    assert "Next: Listen at the pump, 7 min" in first.inner_text()  # what the plan begins with, not the writer
    until(tab, "document.querySelector('[data-count]').textContent.includes('found, best first.')")
    tab.get_by_label("What does the customer say?").focus()
    tab.keyboard.press("ArrowDown")
    assert tab.evaluate("document.activeElement.textContent") == "Pump does not start"
    # on the list itself the first Enter leads to the first hit, and only the next one opens it
    tab.get_by_label("What does the customer say?").fill("pump dead")
    tab.keyboard.press("Enter")
    until(tab, "document.activeElement.textContent === 'Pump does not start'")
    assert "search.html" in tab.url
    tab.keyboard.press("Enter")
    tab.wait_for_url("**/pumping.symptom-pump-does-not-start.html")


def test_hits_are_narrowed_to_one_kind(root, tab):
    tab.goto(address(root, "search.html", "?q=" + quote("pump")))
    tab.locator(".hit").first.wait_for()
    everything = tab.locator(".hit").count()
    key = tab.locator(".kinds button", has_text="Symptoms")
    count = int(key.inner_text().split()[-1])
    key.click()
    until(tab, f"document.querySelectorAll('.hit').length === {count}")
    assert count < everything
    assert set(tab.locator(".hit > .kind").evaluate_all("es => es.map(e => e.firstChild.textContent)")) == {
        "Symptom"
    }


def test_the_way_back_from_a_hit_leads_to_where_it_stood(root, tab):
    tab.goto(address(root, "search.html", "?q=pump"))
    tab.locator("[data-more]").click()
    until(tab, "document.querySelectorAll('.hit').length > 11")
    until(tab, "location.search.includes('most=30')")
    hit = tab.locator(".hit h2 a").nth(11)
    leads = hit.get_attribute("href")
    hit.click()
    tab.wait_for_url(f"**/{leads}")
    tab.go_back()
    until(tab, f"document.activeElement.getAttribute('href') === {leads!r}")
    assert tab.evaluate("scrollY") > 0
    # asked anew, the list begins at its head
    tab.get_by_label("What does the customer say?").fill("pump dead")
    tab.keyboard.press("Enter")
    until(tab, "document.activeElement === document.querySelector('.hit h2 a')")
    assert "most" not in tab.url


def test_the_hits_stand_before_the_question_is_written_into_the_address(root, tab):
    tab.add_init_script("""
      window.written = [];
      history.replaceState = new Proxy(history.replaceState, {apply: (...all) => {
        window.written.push([all[2][2], document.querySelectorAll(".hit").length]);
        return Reflect.apply(...all);
      }});
    """)
    tab.goto(address(root, "search.html"))
    tab.get_by_label("What does the customer say?").fill("pump dead")
    until(tab, "window.written.length > 0")
    ((written, hits),) = tab.evaluate("window.written")
    assert written == "?q=pump+dead" and hits > 0
    # what stands there already isn't written again
    tab.reload()
    until(tab, "document.querySelector('[data-count]').textContent.includes('found')")
    assert tab.evaluate("window.written") == []


@pytest.mark.parametrize("width", [360, 820])
def test_hits_dont_move_when_what_narrows_them_is_counted(root, limited, tab, width):
    """A glove that is on its way to a hit shall meet it."""
    tab.set_viewport_size({"width": width, "height": 900})
    tab.add_init_script("""
      new MutationObserver(() => {
        const hit = document.querySelector(".hit");
        if (hit && window.top_ === undefined) window.top_ = hit.getBoundingClientRect().top;
      }).observe(document, {childList: true, subtree: true});
    """)
    for base, narrowed in ((root, False), (limited, True)):
        tab.goto(address(base, "search.html", "?q=pump"))
        until(tab, "document.querySelector('[data-count]').textContent.includes('found')")
        assert tab.locator(".kinds button").count() > 2
        assert tab.locator("[data-vehicle]").is_visible() == narrowed
        assert tab.evaluate("document.querySelector('.hit').getBoundingClientRect().top - window.top_") == 0


@pytest.mark.parametrize("most", ["-3", "x", "1e9", "11.5", "NaN", ""])
def test_an_address_cant_ask_for_a_senseless_number_of_hits(root, tab, most):
    tab.goto(address(root, "search.html", f"?q=pump&most={most}"))
    until(tab, "document.querySelector('[data-count]').textContent.includes('found')")
    assert tab.locator(".hit").count() >= 10


def test_a_symptoms_hit_bears_no_signal_word(root, tab):
    tab.goto(address(root, "search.html"))
    tab.evaluate("""() => {
        const card = {said: [], fits: [], minutes: null, next: null, word: "DANGER"};
        const hits = ["Symptom", "Test", "Repair", "Access", "Function"].map(kind => ({kind, name: kind, page: "p", score: 1, address: "a.html", card}));
        const asked = {terms: [], exact: [], instead: []};
        Backprobe.search = async () => ({hits, documents: [0, 0, 0, 0, 0], asked, rest: async () => ({total: 5, counts: {}})});
    }""")
    tab.get_by_label("What does the customer say?").fill("x")
    tab.locator(".hit").first.wait_for()
    assert tab.locator(".hit:has(.word) h2").all_inner_texts() == ["Test", "Repair", "Access"]


def test_a_search_for_nothing_known_says_so(root, tab):
    tab.goto(address(root, "search.html", "?q=qqqqzzzz"))
    until(tab, "document.querySelector('[data-count]').textContent.startsWith('Nothing found')")
    assert tab.locator(".hit").count() == 0


def test_the_whole_row_of_an_answer_is_pressed_and_show_says_which_was_right(root, tab):
    tab.set_viewport_size({"width": 360, "height": 740})
    tab.goto(address(root, "lessons/all.html"))
    rows = tab.locator(".choices").first.locator("li")
    wrong, right = rows.locator(":scope:not([data-right]) label").first, rows.locator(":scope[data-right] label")
    said = "e => getComputedStyle(e, '::after').content"
    for row in (wrong, right):
        box = row.bounding_box()
        assert box["height"] >= 48 and box["width"] > 250
        row.click(position={"x": box["width"] - 8, "y": box["height"] - 8})
        assert row.locator("input").is_checked()
    assert tab.locator(".choices").first.locator(":checked").count() == 1
    wrong.click()
    assert right.evaluate(said) == wrong.evaluate(said) == "none"
    tab.locator(".answer summary").first.click()
    assert (right.evaluate(said), wrong.evaluate(said)) == ('"right"', '"not right"')


def test_names_in_hits_stay_words(root, tab):
    tab.goto(address(root, "search.html"))
    tab.evaluate("""() => {
        const hits = [{kind: "Test", name: "<img src=x onerror=alert(1)>", page: "p", score: 1,
            address: "a b/ü.html#x", card: {said: ["<b>"], fits: [], minutes: 90, next: null, word: ""}}];
        const asked = {terms: [], exact: [], instead: [["<b>", "<i>"]]};
        Backprobe.search = async () => ({hits, documents: [0], total: 1, counts: {}, asked});
    }""")
    tab.get_by_label("What does the customer say?").fill("img")
    tab.locator(".hit").first.wait_for()
    assert tab.locator(".hit img").count() == 0
    assert tab.locator(".hit h2").inner_text() == "<img src=x onerror=alert(1)>"
    assert tab.locator(".hit h2 a").get_attribute("href") == "a%20b/%C3%BC.html#x"
    assert tab.locator(".hit .minutes").inner_text().split("\n") == ["1 h 30 min", "to test"]


def test_minutes_of_a_hit_say_what_they_are_for(root, tab):
    tab.goto(address(root, "search.html"))
    tab.evaluate("""() => {
        const card = {said: [], fits: [], minutes: 9, next: null, word: ""};
        const kinds = ["Symptom", "Cause", "Test", "Repair", "Access"];
        const hits = kinds.map(kind => ({kind, name: kind, page: "p", score: 1, address: "a.html", card}));
        hits.push({...hits[0], kind: "Term", card: {...card, minutes: null}});
        const asked = {terms: [], exact: [], instead: []};
        Backprobe.search = async () => ({hits, documents: [0, 0, 0, 0, 0, 0], total: 6, counts: {}, asked});
    }""")
    tab.get_by_label("What does the customer say?").fill("x")
    tab.locator(".hit").first.wait_for()
    told = tab.locator(".hit .minutes").all_text_contents()
    assert told == ["9 min until fixed", "9 min first test", "9 min to test", "9 min to repair", "9 min to do", ""]


def test_without_script_pages_are_read_and_links_lead_on(root, browser):
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(address(root, "index.html"))
    assert not page.locator("input:visible, button:visible").count()
    assert "choose from the symptoms below" in page.locator("form").inner_text()
    page.get_by_role("link", name="Pump does not start").click()
    assert page.locator("h1").inner_text() == "Pump does not start"
    assert "watch motor M1" in page.locator(".where").first.inner_text()
    assert not page.locator(".stick:visible, .job:visible, .cleared:visible").count()
    page.goto(address(root, "vehicles.html"))
    assert (
        page.locator("button").first.is_hidden() and page.locator(".still", has_text="Hask Fen").is_visible()
    )
    assert "Choosing needs script" in page.locator("main").inner_text()
    assert page.locator(".tape.big").first.evaluate("e => getComputedStyle(e).backgroundColor") == "rgba(0, 0, 0, 0)"
    page.goto(address(root, "functions/pumping.symptom-dead-pump.html"))
    page.wait_for_url("**/pumping.symptom-pump-does-not-start.html")
    context.close()


@pytest.mark.parametrize("width", [320, 360, 820, 1440])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_page_is_wider_than_the_screen_and_keys_are_large(root, site, browser, width, scheme):
    context = browser.new_context(viewport={"width": width, "height": 740}, color_scheme=scheme)
    page = context.new_page()
    for path in (p for p in site if p.endswith(".html") and "dead-pump" not in p):
        page.goto(address(root, path))
        wide = page.evaluate("document.documentElement.scrollWidth > document.documentElement.clientWidth")
        assert not wide, path
        small = page.evaluate(
            """[...document.querySelectorAll('button:not(.go-on), .key, input, summary, .finding, .rail a')]
            .filter(e => e.offsetParent && (e.closest('label') || e).getBoundingClientRect().height < 44).map(e => e.outerHTML)"""
        )
        assert small == [], path
    context.close()


def test_only_words_that_were_looked_up_are_underlined(root, tab):
    tab.goto(address(root, "search.html", "?q=" + quote("the pump and is")))
    tab.locator(".hit mark").first.wait_for()
    marked = {words.lower() for words in tab.locator(".hit mark").all_inner_texts()}
    assert any(words.startswith("pump") for words in marked)
    assert not marked & {"the", "and", "is"}
    tab.locator("[data-kinds] button").nth(1).click()
    tab.locator(".hit mark").first.wait_for()
    assert not {words.lower() for words in tab.locator(".hit mark").all_inner_texts()} & {"the", "and", "is"}


def test_the_search_shows_what_fits_the_chosen_vehicle_until_all_are_asked_for(limited, tab):
    tab.goto(address(limited, "vehicles.html"))
    tab.get_by_role("button", name="Hask Fen").click()
    tab.goto(address(limited, "search.html", "?q=lamp"))
    tab.locator(".hits li").first.wait_for()
    until(tab, "document.querySelector('[data-count]').textContent.includes('found for your Hask Fen')")
    assert "not for your" not in tab.locator(".hits").inner_text()
    few = tab.locator(".hits li").count()
    tab.locator("[data-vehicle]").select_option("")
    until(tab, "document.querySelector('.hits').textContent.includes('not for your Hask Fen')")
    assert tab.locator(".hits li").count() > few
    until(tab, "!document.querySelector('[data-count]').textContent.includes('for your')")
    tab.reload()
    until(tab, "document.querySelector('.hits').textContent.includes('not for your Hask Fen')")


def test_a_vehicle_without_pages_of_its_own_finds_what_is_for_all(root, tab):
    tab.goto(address(root, "vehicles.html"))
    tab.get_by_role("button", name="Hask Fen").click()
    tab.goto(address(root, "search.html", "?q=pump"))
    tab.locator(".hits li").first.wait_for()
    until(tab, "document.querySelector('[data-count]').textContent.includes('found for your Hask Fen')")


def test_the_front_page_puts_away_what_is_not_for_the_chosen_vehicle(tab, tmp_path):
    page = str(PUMP["functions/pumping.md"]).replace("## Symptom: Pump runs dry\n", "## Symptom: Pump runs dry\n\n- Only on: [Ostrel Weir]\n")
    for name, data in built({**PUMP, "functions/pumping.md": page}).items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(data)
    tab.goto(address(tmp_path, "index.html"))
    dry = tab.locator(".loom li", has_text="Pump runs dry")
    assert dry.is_visible() and tab.locator("[data-off]").inner_text() == ""
    tab.goto(address(tmp_path, "vehicles.html"))
    tab.get_by_role("button", name="Hask Fen").click()
    tab.goto(address(tmp_path, "index.html"))
    assert not dry.is_visible()
    assert tab.locator("[data-off]").inner_text() == "Not shown: 1 symptom that is not for your Hask Fen."


def test_the_front_page_finds_the_words_again_on_the_way_back(root, tab):
    tab.goto(address(root, "index.html"))
    tab.get_by_label("What does the customer say?").fill("pump is dead")
    tab.locator(".hit h2 a", has_text="Pump does not start").click()
    tab.wait_for_url("**/pumping.symptom-pump-does-not-start.html")
    tab.go_back()
    until(tab, "document.activeElement.textContent === 'Pump does not start'")
    assert tab.get_by_label("What does the customer say?").input_value() == "pump is dead"


def test_the_front_page_tells_causes_and_minutes_of_the_chosen_vehicle(tab, tmp_path):
    """On the Fen one of three causes can't be; on the Weir listening takes 5 minutes for 2."""
    page = str(PUMP["functions/pumping.md"]).replace(
        "## Cause: Float wire open\n", "## Cause: Float wire open\n\n- Only on: [Ostrel Weir]\n"
    )
    for name, data in built({**PUMP, "functions/pumping.md": page}).items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(data)
    tab.goto(address(tmp_path, "index.html"))
    told = tab.locator(".loom li", has_text="Pump does not start").locator(".count:visible")
    everywhere = told.inner_text()
    seen = {}
    for key in ("vehicles/weir.html#vehicle-hask-fen", WEIR, ""):
        tab.evaluate("key => Backprobe.choose(key)", key)
        seen[key] = (told.count(), told.inner_text().split("\n")[0])
    assert list(seen.values()) == [(1, "2 causes"), (1, "3 causes"), (1, "3 causes")]
    assert told.inner_text() == everywhere
    # a function of which nothing is for the chosen vehicle has no empty heading
    tab.evaluate("document.querySelectorAll('.loom li').forEach((li) => (li.dataset.limit = 'other'))")
    tab.evaluate("key => Backprobe.choose(key)", WEIR)
    assert tab.locator(".loom").is_hidden()
