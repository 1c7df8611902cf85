"""A symptom walked in a real browser from the disk: keys, what is left, take back, address, end. Figures invented."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.site.pump import PUMP, PUMPING, SYMPTOM, built
from tests.site.test_in_browser import address
from tests.site.waiting import until

LISTEN, LAMP, VOLTS = "test-listen-at-the-pump", "test-lamp-at-the-float-plug", "test-volts-at-the-box"


def card(tab: Any, anchor: str) -> Any:
    """A test's or repair's card."""
    return tab.locator(f'[data-test$="#{anchor}"], [data-repair$="#{anchor}"]')


def press(tab: Any, anchor: str, words: str) -> None:
    """Press the finding with these words."""
    found = card(tab, anchor)
    if not found.evaluate("e => e.open"):
        found.locator("summary").first.click()
    found.get_by_role("button", name=words, exact=True).click()


def now(tab: Any) -> str:
    """The name on the card to do next."""
    found = tab.locator(".do-next .fold > summary h3")
    return found.inner_text() if found.count() else ""


def left(tab: Any) -> list[str]:
    """The causes left, as listed."""
    return [a.inner_text() for a in tab.locator(".causes > li:not([hidden]) > div > a").all()]


def test_a_finding_is_pressed_and_the_plan_goes_on(root, tab):
    tab.goto(address(root, SYMPTOM))
    assert now(tab) == "Listen at the pump"
    assert left(tab) == ["Fuse blown", "Float wire open", "Motor open"]
    press(tab, LISTEN, "It hums")
    assert left(tab) == ["Float wire open"] and now(tab) == "Mend the wire"
    assert tab.locator("[data-told=left]").inner_text() == "1"
    verdict = tab.locator(".asked .verdict").inner_text()
    assert verdict.startswith("Left over: Float wire open. The findings cleared the others")
    cleared = [" ".join(item.inner_text().split()) for item in tab.locator(".cleared li").all()]
    assert cleared == ["Fuse blown by Listen at the pump: it hums", "Motor open by Listen at the pump: it hums"]
    assert tab.evaluate("document.activeElement.id") == "do-next"


def test_a_finding_that_proves_makes_it_found_and_the_repair_ends_the_job(root, tab):
    tab.goto(address(root, SYMPTOM))
    press(tab, LISTEN, "The strip is burnt")
    assert tab.locator(".asked .verdict").inner_text() == "Found: Fuse blown."
    assert now(tab) == "New fuse"
    press(tab, "repair-new-fuse", "Fixed")
    assert tab.locator("#do-next").inner_text() == "Fixed"
    row = tab.locator("#job-row").input_value()
    date, rest = row.split(",", 1)
    assert len(date) == 10
    # listening 2 + the lid 5, the fuse 3 + its proof 2: 12 minutes
    assert rest == ",Pump does not start,Fuse blown,12,New fuse,Listen at the pump,"
    with tab.expect_download() as saved:
        tab.get_by_role("button", name="Download").click()
    text = Path(saved.value.path()).read_bytes().decode()
    assert text == f"date,vehicle,symptom,cause,minutes,repair,tests,returned\r\n{row}\r\n"


def test_the_job_is_printed_with_what_was_found_and_room_for_whose_it_is(root, tab):
    tab.goto(address(root, SYMPTOM))
    card, job = tab.locator(".title .print-card"), tab.get_by_role("button", name="Print this job")
    assert card.inner_text() == "Print card" and job.is_hidden()
    press(tab, LISTEN, "It is silent")
    assert card.inner_text() == "Print an empty card"
    tab.evaluate("window.print = () => (window.printed = document.querySelector('.job').innerText)")
    job.click()
    assert "It is silent" in tab.evaluate("window.printed")
    assert tab.locator(".job .fields").is_hidden()
    tab.emulate_media(media="print")
    assert tab.locator(".job .field").all_inner_texts() == ["Repair order", "Plate", "Date", "Done by"]
    assert job.is_hidden()
    tab.emulate_media(media="screen")
    tab.locator(".stick").get_by_role("button", name="Take back").click()
    assert card.inner_text() == "Print card" and job.is_hidden()


def test_what_was_pressed_is_taken_back(root, tab):
    tab.goto(address(root, SYMPTOM))
    press(tab, LISTEN, "It is silent")
    press(tab, LAMP, "The lamp is bright")
    assert left(tab) == ["Motor open"]
    tab.get_by_role("button", name="Take back Lamp at the float plug").click()
    assert left(tab) == ["Fuse blown", "Float wire open", "Motor open"]
    tab.locator(".stick").get_by_role("button", name="Take back").click()
    assert now(tab) == "Listen at the pump" and tab.locator(".open-job").is_hidden()
    assert "#" not in tab.url


def test_the_walk_stands_in_the_address_and_is_taken_up_elsewhere(root, tab, browser):
    tab.goto(address(root, SYMPTOM))
    press(tab, LISTEN, "It is silent")
    press(tab, LAMP, "The lamp is dark")
    told = [now(tab), left(tab), tab.locator("[data-told=fixed]").inner_text()]
    context = browser.new_context()
    other = context.new_page()
    other.goto(tab.url)
    assert [now(other), left(other), other.locator("[data-told=fixed]").inner_text()] == told
    assert tab.url.endswith(f"#walk={LISTEN}~1.{LAMP}~1")
    context.close()
    tab.goto(address(root, SYMPTOM, "#walk=test-gone~1." + f"{LISTEN}~1"))
    tab.reload()
    assert "test-gone, which the page doesn't have" in tab.locator(".asked").inner_text()
    assert tab.locator(".job li").count() == 1


def test_a_vehicle_goes_with_the_address(root, tab, browser):
    tab.goto(address(root, SYMPTOM))
    tab.evaluate("Backprobe.choose('vehicles/weir.html#vehicle-ostrel-weir', 'Ostrel Weir')")
    press(tab, LISTEN, "It is silent")
    context = browser.new_context()
    other = context.new_page()
    other.goto(tab.url)
    assert other.locator("[data-known]").inner_text() == "Ostrel Weir"
    # 5 minutes on this vehicle, and the lid's 5
    assert "10 min" in other.locator(".job li").inner_text()
    context.close()


def test_any_test_can_be_done_out_of_order(root, tab):
    tab.goto(address(root, SYMPTOM))
    press(tab, VOLTS, "Full volts")
    assert left(tab) == ["Float wire open", "Motor open"]
    assert now(tab) in ("Listen at the pump", "Lamp at the float plug")
    press(tab, LAMP, "The lamp is bright")
    assert left(tab) == ["Motor open"]


def test_what_could_not_be_read_is_left_out(root, tab):
    tab.goto(address(root, SYMPTOM))
    press(tab, LISTEN, "Couldn't read it")
    assert left(tab) == ["Fuse blown", "Float wire open", "Motor open"]
    assert now(tab) != "Listen at the pump" and f"{LISTEN}~u" in tab.url
    press(tab, LISTEN, "It hums")  # read after all
    assert left(tab) == ["Float wire open"] and tab.locator(".job li").count() == 1


def test_findings_that_contradict_each_other_are_told_and_nothing_is_emptied(root, tab):
    tab.goto(address(root, SYMPTOM))
    press(tab, LISTEN, "It hums")  # leaves the wire
    press(tab, LAMP, "The lamp is bright")  # clears the wire
    said = tab.locator(".asked .verdict").inner_text()
    assert said.startswith("This contradicts what was found before")
    assert "Do Listen at the pump again, whose finding clears most" in said
    assert left(tab) == ["Float wire open"]
    tab.get_by_role("button", name="Do Listen at the pump again").click()
    assert left(tab) == ["Motor open"]


def test_a_repair_that_did_not_help_leads_on_and_at_last_nothing_is_left(root, tab):
    tab.goto(address(root, SYMPTOM))
    press(tab, LISTEN, "It hums")
    press(tab, "repair-mend-the-wire", "Not fixed")
    said = tab.locator(".asked .verdict").inner_text()
    assert said.startswith("Nothing written here is left.") and "Listen at the pump again" in said
    assert tab.locator("#do-next").inner_text() == "What now"


def test_a_fault_that_sleeps_is_never_cleared(tab, tmp_path):
    page = PUMPING.replace("- Formerly: Dead pump", "- Comes and goes: yes")
    for name, data in built({**PUMP, "functions/pumping.md": page}).items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(data)
    tab.goto(address(tmp_path, SYMPTOM))
    key = card(tab, LISTEN).get_by_role("button", name="It hums")
    assert key.is_disabled()
    tab.get_by_role("button", name="It is away").click()
    assert key.is_disabled() and tab.locator(".provoke").is_visible()
    assert not card(tab, LISTEN).get_by_role("button", name="Couldn't read it").is_disabled()
    tab.get_by_role("button", name="It is there now").click()
    key.click()
    assert left(tab) == ["Float wire open"]
    tab.locator(".stick").get_by_role("button", name="Take back").click()
    assert key.is_disabled()  # asked again before each test
    # A test out of order is asked the same.
    other = card(tab, VOLTS)
    other.locator("summary").first.click()
    assert other.get_by_role("button", name="Full volts").is_disabled()


@pytest.mark.parametrize("width", [320, 1440])
def test_the_walk_is_done_by_keyboard(root, browser, width):
    context = browser.new_context(viewport={"width": width, "height": 900})
    tab = context.new_page()
    tab.goto(address(root, SYMPTOM))
    for wanted in ("It hums", "Fixed"):
        for _ in range(200):
            tab.keyboard.press("Tab")
            if tab.evaluate("document.activeElement.textContent") == wanted:
                break
        tab.keyboard.press("Enter")
    until(tab, "document.getElementById('do-next').textContent === 'Fixed'")
    assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth")
    context.close()


def written(folder: Path, page: str) -> Path:
    """The pump's site with another page about its function."""
    for name, data in built({**PUMP, "functions/pumping.md": page}).items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    return folder


def test_what_is_not_about_the_chosen_vehicle_is_put_away(tab, tmp_path):
    page = PUMPING.replace("- Takes: 4 min\n", "- Takes: 4 min\n- Only on: [Hask Fen]\n")
    tab.goto(address(written(tmp_path, page), SYMPTOM))
    note = tab.locator(".put-away")
    assert card(tab, VOLTS).is_visible() and note.is_hidden()
    tab.evaluate("Backprobe.choose('vehicles/weir.html#vehicle-ostrel-weir', 'Ostrel Weir')")
    assert card(tab, VOLTS).is_hidden() and card(tab, LAMP).is_visible()
    assert note.inner_text() == "Put away, since nothing of it is about your Ostrel Weir: 1 test."


def test_it_is_told_why_the_minutes_rise(tab, tmp_path):
    """The fuse, the likely fault, takes 3 minutes; once it is cleared, a wire or a motor is left."""
    page = PUMPING.replace("[Fuse blown] — common", "[Fuse blown] — 90")
    tab.goto(address(written(tmp_path, page), SYMPTOM))
    before = tab.locator("[data-told=fixed]").inner_text()
    press(tab, LISTEN, "It hums")
    assert "min" in before and tab.locator(".asked .longer").inner_text().startswith("More minutes than before")
    tab.locator(".stick").get_by_role("button", name="Take back").click()
    assert tab.locator(".asked .longer").count() == 0
    press(tab, LISTEN, "The strip is burnt")
    assert tab.locator(".asked .longer").count() == 0


def test_a_plan_that_takes_a_while_is_announced_and_then_stands(tab, tmp_path):
    causes = "\n\n".join(
        f"## Cause: Fault {n}\n\n- Repair: [New pump]" if n < 2 else f"## Cause: Fault {n}\n\n- Repair: [Mend {n}]"
        for n in range(12)
    )
    repairs = "\n\n".join(f"## Repair: Mend {n}\n\n- Takes: {n} min\n\n1. Mend it." for n in range(2, 12))
    named = "; ".join(f"[Fault {n}]" for n in range(12))
    tests = "\n\n".join(
        f"## Test: Look {n}\n\n- Takes: {n + 1} min\n\n1. Look.\n\n| Finding | Clears |\n|---|---|\n| Good | [Fault {n}] |\n"
        f"| Bad | {'; '.join(f'[Fault {m}]' for m in range(12) if m != n and m % 3)} |"
        for n in range(9)
    )
    page = PUMPING.replace(
        "## Symptom: Pump runs dry", f"## Symptom: Pump runs hot\n\n- Causes: {named}\n\n## Symptom: Pump runs dry", 1
    )
    root = written(tmp_path, f"{page}\n{causes}\n\n{repairs}\n\n{tests}\n")
    tab.goto(address(root, "functions/pumping.symptom-pump-runs-hot.html"))
    tab.evaluate(
        "new MutationObserver(() => (globalThis.told = [...(globalThis.told || []), document.getElementById('do-next').textContent]))"
        ".observe(document.getElementById('do-next'), {childList: true})"
    )
    first = now(tab)
    press(tab, "test-look-8" if first != "Look 8" else "test-look-7", "Good")
    until(tab, "(globalThis.told || []).at(-1) === 'Do this next'")
    assert tab.evaluate("globalThis.told[0]") == "Working out what comes next"
    assert now(tab) and len(left(tab)) == 11
    tab.evaluate("Backprobe.choose('', '')")  # told again: what is known isn't worked out twice
    assert tab.evaluate("globalThis.told.filter(words => words.startsWith('Working')).length") == 1


@pytest.mark.parametrize("width", [360, 1440])
def test_the_plans_words_wait_folded_unless_they_are_asked_for(root, tab, width):
    tab.set_viewport_size({"width": width, "height": 740})
    tab.goto(address(root, SYMPTOM))
    words = tab.locator(".in-words")
    assert not words.evaluate("e => e.open")
    place = words.locator("[id^=plan]").first.get_attribute("id")
    tab.goto("about:blank")
    tab.goto(address(root, SYMPTOM, f"#{place}"))
    assert words.evaluate("e => e.open")


def test_a_vehicle_is_called_by_its_name_even_where_a_key_was_stored_for_it(root, tab):
    tab.goto(address(root, SYMPTOM))
    key = tab.locator("[data-known]").get_attribute("data-known").split(" ")[0]
    tab.evaluate("key => localStorage.setItem('backprobe.vehicle', JSON.stringify({key, name: key}))", key)
    tab.reload()
    assert tab.locator("[data-known]").inner_text() == "Ostrel Weir"
    tab.goto(address(root, SYMPTOM, f"#walk={LISTEN}~1&on={key.replace('#', '%23')}"))
    tab.reload()
    assert tab.locator("[data-known]").inner_text() == "Ostrel Weir"


def test_an_open_job_is_offered_on_other_pages_until_it_is_fixed(root, tab):
    tab.goto(address(root, "hazards.html"))
    assert not tab.locator(".open-job").count()
    tab.goto(address(root, SYMPTOM))
    press(tab, LISTEN, "The strip is burnt")
    tab.goto(address(root, "hazards.html"))
    assert "A job is open: Pump does not start" in tab.locator(".open-job").inner_text()
    tab.goto(address(root, "vehicles/weir.html"))
    back = tab.locator(".drawn .holds").get_by_role("link", name="Back to the job: Pump does not start")
    back.click()
    tab.wait_for_url(f"**/{SYMPTOM}#walk=*")
    tab.goto(address(root, "vehicles/weir.html"))
    assert back.is_visible()
    tab.get_by_role("button", name="Put it away").click()
    assert not back.count() and not tab.locator(".open-job").count()
    tab.goto(address(root, SYMPTOM))
    press(tab, LISTEN, "The strip is burnt")
    tab.goto(address(root, "hazards.html"))
    tab.get_by_role("link", name="Go on with it").click()
    assert tab.locator(".asked .verdict").inner_text() == "Found: Fuse blown."
    tab.goto(address(root, "index.html"))
    tab.goto(address(root, SYMPTOM))
    tab.get_by_role("link", name="Go on with it").click()
    until(tab, "document.querySelector('.asked .verdict').textContent === 'Found: Fuse blown.'")
    assert not tab.locator(".open-job").count()
    press(tab, "repair-new-fuse", "Fixed")
    tab.goto(address(root, "hazards.html"))
    assert not tab.locator(".open-job").count()


def test_an_open_job_is_offered_in_large_keys_above_a_sheet_and_never_printed(root, tab):
    tab.goto(address(root, SYMPTOM))
    press(tab, LISTEN, "It hums")
    for path in ("hazards.html", SYMPTOM.replace(".html", ".sheet.html")):
        tab.goto(address(root, path))
        bar = tab.locator(".open-job")
        assert [key.bounding_box()["height"] >= 48 for key in bar.locator(".key").all()] == [True, True]
        assert bar.evaluate("e => getComputedStyle(e).display") == "flex"
        tab.emulate_media(media="print")
        assert bar.is_hidden()
        tab.emulate_media(media="screen")


def test_an_open_job_can_be_put_away(root, tab):
    tab.goto(address(root, SYMPTOM))
    press(tab, LISTEN, "It hums")
    tab.goto(address(root, "hazards.html"))
    tab.get_by_role("button", name="Put it away").click()
    tab.reload()
    assert not tab.locator(".open-job").count()


def test_who_came_to_choose_a_vehicle_is_led_back(root, tab):
    tab.goto(address(root, SYMPTOM))
    tab.get_by_role("link", name="change").click()
    assert not tab.locator("[data-back-here]").is_visible()
    tab.get_by_role("button", name="Ostrel Weir").click()
    tab.get_by_role("link", name="Back to Pump does not start").click()
    assert tab.url.endswith(SYMPTOM) and tab.locator("[data-known]").inner_text() == "Ostrel Weir"


def test_the_browsers_way_back_takes_one_finding_back(root, tab):
    tab.goto(address(root, "hazards.html"))
    tab.goto(address(root, SYMPTOM))
    press(tab, LISTEN, "It is silent")
    press(tab, LAMP, "The lamp is bright")
    both = left(tab)
    tab.go_back()
    until(tab, "!location.hash.includes('lamp')")
    assert tab.url.endswith(f"#walk={LISTEN}~0") or LISTEN in tab.url
    one = left(tab)
    assert len(one) > len(both)
    tab.go_back()
    until(tab, "!location.hash")
    assert left(tab) == ["Fuse blown", "Float wire open", "Motor open"]
    tab.go_forward()
    until(tab, "location.hash.includes('listen')")
    assert left(tab) == one
    tab.go_back()
    tab.go_back()
    until(tab, "location.pathname.endsWith('hazards.html')")


@pytest.mark.parametrize("width", [360, 820])
def test_the_strips_key_says_where_it_leads_and_takes_the_focus_there(root, tab, width):
    tab.set_viewport_size({"width": width, "height": 740})
    tab.goto(address(root, SYMPTOM))
    key = tab.locator(".stick [data-on]")
    focus = "document.activeElement.textContent.trim()"
    until(tab, "document.querySelector('.stick [data-on]').textContent === 'Next: Listen at the pump'")
    key.click()
    assert tab.evaluate("document.activeElement.querySelector('h3').textContent") == "Listen at the pump"
    until(tab, "document.querySelector('.stick [data-on]').textContent === 'What I found'")
    key.click()
    assert tab.evaluate(focus) == "What did you find?"
    assert tab.locator(".do-next .ask-found").evaluate("e => e.getBoundingClientRect().top < innerHeight / 2")
    press(tab, LISTEN, "It hums")
    tab.mouse.wheel(0, 3000)
    until(tab, "document.querySelector('.stick [data-on]').textContent === 'Next: Mend the wire'")
    assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth")
    key.click()
    assert tab.evaluate("document.activeElement.querySelector('h3').textContent") == "Mend the wire"
    press(tab, "repair-mend-the-wire", "Fixed")
    assert key.is_hidden() and tab.locator(".stick [data-told=count]").inner_text() == "Fixed"
    assert tab.evaluate(focus) == "Fixed"
    tab.locator(".stick").get_by_role("button", name="Take back").click()
    assert key.is_visible()


OWN = "Not the plan of your Ostrel Weir. The steps above follow its own plan: {} until fixed, beginning with {}."


@pytest.mark.parametrize("width", [360, 1440])
def test_at_the_whole_plan_it_is_said_that_the_chosen_vehicle_has_another(tab, tmp_path, width):
    tab.set_viewport_size({"width": width, "height": 740})
    page = PUMPING.replace("5 min on [Ostrel Weir]", "50 min on [Ostrel Weir]")
    tab.goto(address(written(tmp_path, page), SYMPTOM, "#plan"))
    note = tab.locator("#plan .plan-for")
    assert note.inner_text().startswith("This plan is for no vehicle in particular.")
    tab.evaluate("Backprobe.choose('vehicles/weir.html#vehicle-ostrel-weir')")
    figure = tab.locator("[data-told=fixed]").inner_text()
    assert note.inner_text() == OWN.format(figure, now(tab))
    press(tab, LISTEN, "It hums")
    assert f"its own plan: {figure} until fixed" in note.inner_text()  # of the plan from its start
    tab.evaluate("Backprobe.choose('')")
    assert note.inner_text().startswith("This plan is for no vehicle in particular.")


def test_a_vehicle_whose_plan_has_the_same_steps_is_told_its_own_figure(root, tab):
    """Listening takes 3 minutes longer on it, and that leads to no other step."""
    tab.goto(address(root, SYMPTOM))
    tab.evaluate("Backprobe.choose('vehicles/weir.html#vehicle-ostrel-weir')")
    figure = tab.locator("[data-told=fixed]").inner_text()
    assert tab.locator("#plan .plan-for").inner_text() == (
        f"The plan of your Ostrel Weir has these same steps, with chances and minutes of its own: {figure} until fixed."
    )


def test_a_vehicle_with_the_same_plan_is_told_of_no_other(tab, tmp_path):
    """Listening takes longer on one vehicle only; without a history the other's numbers are those of no vehicle."""
    index = PUMP["index.md"].replace("- History: jobs.csv\n", "")
    for name, data in built({**PUMP, "index.md": index}).items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(data)
    tab.goto(address(tmp_path, SYMPTOM))
    assert tab.locator("#plan .plan-for").is_visible()
    key = tab.locator("[data-known]").get_attribute("data-known").split(" ")[1]
    assert "fen" in key
    tab.evaluate("key => Backprobe.choose(key)", key)
    assert tab.locator("#plan .plan-for").is_hidden()


ASIDE = PUMPING.replace(
    "1. Put the lamp on `J2.float`.",
    "1. Only on [Hask Fen]; [Ostrel Weir]: put the lamp on `J2.float`.\n2. Only on [Hask Fen]: wait.",
).replace(
    "| Finding | Reading | Clears | Next |\n|---|---|---|---|\n| The lamp is bright | bright | [Fuse blown]; [Float wire open] | [Volts at the box] |\n| The lamp is dark | dark | [Motor open] | [New fuse] |",
    "| Finding | Reading | Clears | Next | Only on |\n|---|---|---|---|---|\n| The lamp is bright | bright | [Fuse blown]; [Float wire open] | [Volts at the box] | |\n"
    "| The lamp is dark | dark | [Motor open] | [New fuse] | [Ostrel Weir] |\n| The lamp is blue | | [Motor open] | [New fuse] | [Hask Fen] |",
)


@pytest.mark.parametrize("width", [360, 1440])
def test_steps_and_findings_for_other_vehicles_are_put_away_with_a_count_that_opens_them(tab, tmp_path, width):
    tab.set_viewport_size({"width": width, "height": 740})
    tab.goto(address(written(tmp_path, ASIDE), SYMPTOM))
    lamp = card(tab, LAMP)
    if not lamp.evaluate("e => e.open"):
        lamp.locator("summary").first.click()
    wait, blue = lamp.get_by_text("wait."), lamp.get_by_role("button", name="The lamp is blue")
    lines = lamp.locator(".aside-line:visible")
    assert wait.is_visible() and blue.is_visible() and not lines.count()
    tab.evaluate("Backprobe.choose('vehicles/weir.html#vehicle-ostrel-weir')")
    assert wait.is_hidden() and blue.is_hidden()
    assert lamp.get_by_text("put the lamp on").is_visible()
    assert lamp.get_by_role("button", name="The lamp is dark").is_visible()
    told = [line.inner_text().split("\n")[0].strip() for line in lines.all()]
    assert told == ["Not for your Ostrel Weir: 1 step.", "Not for your Ostrel Weir: 1 finding."]
    lines.nth(1).get_by_role("button").click()
    assert blue.is_visible() and wait.is_hidden()
    assert "not for your Ostrel Weir" in lamp.locator(".finding[data-row='2']").inner_text()
    assert lines.nth(1).get_by_role("button", name="Put away again").get_attribute("aria-expanded") == "true"
    lines.nth(1).get_by_role("button").click()
    assert blue.is_hidden()
    assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth")
    tab.evaluate("Backprobe.choose('')")
    assert wait.is_visible() and blue.is_visible() and not lines.count()


def test_a_finding_that_was_pressed_stays_whatever_vehicle_is_chosen(tab, tmp_path):
    tab.goto(address(written(tmp_path, ASIDE), SYMPTOM))
    press(tab, LAMP, "The lamp is blue")
    tab.evaluate("Backprobe.choose('vehicles/weir.html#vehicle-ostrel-weir')")
    assert not tab.locator("[data-test$='lamp-at-the-float-plug'] .finding[data-row='2']").evaluate("e => e.hidden")
    assert tab.locator(".asked .verdict").inner_text().startswith("This contradicts")
    tab.locator(".stick").get_by_role("button", name="Take back").click()
    assert tab.locator("[data-test$='lamp-at-the-float-plug'] .finding[data-row='2']").evaluate("e => e.hidden")


def test_safety_messages_stay_where_a_step_is_put_away(tab, tmp_path):
    page = ASIDE.replace(
        "2. Only on [Hask Fen]: wait.", "\n> **DANGER** [Water near current]\n\n2. Only on [Hask Fen]: wait."
    )
    tab.goto(address(written(tmp_path, page), SYMPTOM))
    panels = tab.locator(".safety").count()
    tab.evaluate("Backprobe.choose('vehicles/weir.html#vehicle-ostrel-weir')")
    assert tab.locator(".safety").evaluate_all("all => all.filter(e => !e.closest('[hidden]')).length") == panels


WEIR, FEN = "vehicles/weir.html#vehicle-ostrel-weir", "vehicles/weir.html#vehicle-hask-fen"


@pytest.mark.parametrize("width", [360, 1440])
def test_an_address_that_changes_the_vehicle_says_so_and_a_key_goes_back(root, tab, width):
    tab.set_viewport_size({"width": width, "height": 740})
    tab.goto(address(root, SYMPTOM))
    tab.evaluate("key => Backprobe.choose(key)", WEIR)
    press(tab, LISTEN, "It is silent")
    sent = tab.url
    tab.goto(address(root, "vehicles.html"))
    tab.evaluate("key => Backprobe.choose(key)", FEN)
    tab.goto(sent)
    line = tab.locator(".changed")
    assert line.inner_text().startswith(
        "This walk is on an Ostrel Weir; your vehicle was changed from Hask Fen."
    )
    assert line.get_attribute("role") == "status"
    assert line.evaluate("e => e.getBoundingClientRect().bottom < innerHeight")
    assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert "10 min" in tab.locator(".job li").inner_text()
    line.get_by_role("button", name="Back to Hask Fen").click()
    assert tab.evaluate("Backprobe.vehicle().name") == "Hask Fen" and line.is_hidden()
    assert tab.locator(".job li").count() == 1 and "7 min" in tab.locator(".job li").inner_text()
    tab.reload()
    assert tab.evaluate("Backprobe.vehicle().name") == "Hask Fen" and line.is_hidden()


def test_an_address_on_the_readers_own_vehicle_says_nothing_of_it(root, tab):
    tab.goto(address(root, SYMPTOM))
    tab.evaluate("key => Backprobe.choose(key)", WEIR)
    press(tab, LISTEN, "It is silent")
    tab.reload()
    assert tab.locator(".changed").is_hidden()


def test_a_symptom_that_is_not_for_the_chosen_vehicle_says_so_in_its_head(tab, tmp_path):
    head = "## Symptom: Pump does not start\n\n"
    page = PUMPING.replace(head, f"{head}- Only on: [Ostrel Weir]\n")
    tab.goto(address(written(tmp_path, page), SYMPTOM))
    line = tab.locator(".title .not-for")
    assert line.is_hidden()
    tab.evaluate("key => Backprobe.choose(key)", FEN)
    assert line.inner_text() == "Not for your Hask Fen: nothing of this symptom is written for it."
    tab.evaluate("key => Backprobe.choose(key)", WEIR)
    assert line.is_hidden()
