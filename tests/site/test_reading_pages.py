"""Pages as written: every node with its anchor, facts, blocks, messages and findings; nothing lost, nothing run."""

from __future__ import annotations

import pytest

from tests.bases import base_of
from tests.site.pump import PUMP, Doc, built, is_a, text, with_page

STATEMENT = "# A\n\n- Statement: S.\n"


def written(page: str, **more: str) -> Doc:
    """A page of a base of its own."""
    files = {"index.md": STATEMENT, "page.md": page} | {f"{name}.md": body for name, body in more.items()}
    return Doc(built(files), "page.html")


def test_every_node_stands_at_its_anchor_in_written_order(docs):
    base = base_of(dict(PUMP))
    for page in base.pages.values():
        doc = docs[page.path.removesuffix(".md") + ".html"]
        nodes = [node for node in page.nodes if node.anchor]
        found = [doc.by_id(node.anchor) for node in nodes]
        assert [text(e) for e in found] == [node.name for node in nodes]
        assert [doc.order[e] for e in found] == sorted(doc.order[e] for e in found)


def test_facts_are_printed_with_their_links(page):
    doc = page("functions/pumping.html")
    section = doc.around(doc.by_id("cause-motor-open"), "section")
    (row,) = list(doc.all("div", within=doc.one("dl", "facts", section)))
    assert (text(doc.one("dt", within=row)), text(doc.one("dd", within=row))) == (
        "Repair",
        "New pump; New motor",
    )
    assert [a.get("href") for a in doc.all("a", within=row)] == ["#repair-new-pump", "#repair-new-motor"]


def test_a_remark_is_printed_once(page):
    doc = page("functions/pumping.html")
    section = doc.around(doc.by_id("symptom-pump-does-not-start"), "section")
    (causes,) = [div for div in doc.all("div", within=section) if text(div).startswith("Causes")]
    assert text(causes).count("common") == text(causes).count("rare") == 1


def test_a_symptom_leads_to_its_own_page(page):
    doc = page("functions/pumping.html")
    section = doc.around(doc.by_id("symptom-pump-runs-dry"), "section")
    assert text(doc.one("a", "key", section)) == "Work this symptom"
    assert doc.one("a", "key", section).get("href") == "pumping.symptom-pump-runs-dry.html"


def test_a_test_says_what_each_finding_clears_and_proves(page):
    doc = page("functions/pumping.html")
    section = doc.around(doc.by_id("test-listen-at-the-pump"), "section")
    keys = doc.all("li", "finding", section)
    assert [text(p) for p in doc.all("p", "effect", section)] == [
        "clears Fuse blown, Motor open",
        "it is Fuse blown",
    ]
    assert len(keys) == 3
    assert "2 min, 5 min on Ostrel Weir" in text(section)


def test_blocks_of_every_kind():
    doc = written("""# Page

A paragraph with *stress*, **weight**, `code` and a
second line.

> A plain quote.

- one
- two
  - inside

3. third
4. fourth

   with more

```
x < y

& z
```

| Left | Right |
|:--|--:|
| a | b |

---

## A heading inside

[out](https://example.org/x "title") and [in](page.md#a-heading-inside)
""")
    main = doc.one("div", "reading")
    assert (
        text(doc.one("em", within=main)) == "stress"
        and text(doc.one("code", within=doc.all("p", within=main)[0])) == "code"
    )
    assert text(doc.one("blockquote")) == "A plain quote."
    assert [text(li) for li in doc.all("li", within=doc.all("ul", "bullets")[0])] == [
        "one",
        "two inside",
        "inside",
    ]
    steps = doc.one("ol", "steps")
    assert steps.get("start") == "3" and [text(n) for n in doc.all("span", "number", steps)] == ["3", "4"]
    assert "".join(doc.one("pre").itertext()) == "x < y\n\n& z\n"
    assert [cell.get("class") for cell in doc.all("td")] == ["left", "right"]
    assert doc.all("hr") and doc.by_id("a-heading-inside").tag == "h2"
    out, inside = doc.all("a", within=doc.all("p", within=main)[-1])
    assert (out.get("href"), out.get("title")) == ("https://example.org/x", "title")
    assert "noreferrer" in (out.get("rel") or "")
    assert inside.get("href") == "#a-heading-inside"


def test_headings_are_printed_without_gaps_in_their_levels():
    doc = written(
        "# Page\n\n### Deep\n\n#### Deeper\n\n## Tool: Spanner\n\nIt turns.\n\n##### Care\n\nOil it.\n"
    )
    levels = [
        (e.tag, text(e)) for e in doc.one("main").iter() if e.tag in ("h1", "h2", "h3", "h4", "h5", "h6")
    ]
    assert levels == [("h1", "Page"), ("h2", "Deep"), ("h3", "Deeper"), ("h2", "Spanner"), ("h3", "Care")]


def test_html_is_shown_as_text_and_allowances_are_not_shown():
    doc = written("""# Page

<div onclick="x()">raw</div>

A line with <b>raw</b> in it.

<!-- allow silent-image: no words needed -->
## Tool: Spanner

It turns.
""")
    assert '<div onclick="x()">raw</div>' in text(doc.one("pre", "raw"))
    assert [text(code) for code in doc.all("code", "raw")] == ["<b>", "</b>"]
    assert "allow silent-image" not in text(doc.root)


NASTY = [
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "' onmouseover='x",
    "{{ 7 * 7 }}",
    "</title><script>x</script>",
]


@pytest.mark.parametrize("words", NASTY)
def test_hostile_words_stay_words_wherever_they_stand(words):
    code = f"`{words}`"
    page = f"""# Function: {code}

- Said as: {code}
- Works only when: {code}

## Symptom: Odd {code}

- Said as: {code}
- Causes: [Odd cause]

## Cause: Odd cause

- Repair: [Odd repair]

{code}

## Test: Odd test {code}

- Takes: 1 min

> **WARNING: {code}.** {code}. {code}.

1. {code}

| Finding | Reading | Clears |
|---|---|---|
| {code} | bright | [Odd cause] |
| other | dark | |

| {code} | b |
|---|---|
| {code} | d |

## Repair: Odd repair

- Takes: 1 min

1. Do it.

## Lesson: {code}

- Takes: 1 min

### Question: {code}

- Right: {code}
- Wrong: {code} no
- Because: {code}

## Vehicle: {code}

- Years: {code}

## Hazard: {code}

- Signal word: NOTICE
- Hazard: {code}
- Consequence: {code}
- Avoidance: {code}
"""
    site = built({"index.md": f"# {code}\n\n- Statement: {code}\n- Edition: {code}\n", "page.md": page})
    for path in (p for p in site if p.endswith(".html") and p != "rules.html"):
        doc = Doc(site, path)
        assert all(
            s.get("type") in ("application/json", "application/ld+json")
            or s.get("src", "").rpartition("/")[0].endswith(("static", "search"))
            for s in doc.all("script")
        ), path
        assert not [e for e in doc.root.iter() if any(str(a).startswith("on") for a in e.attrib)], path
        assert not doc.all("img"), path
        assert text(doc.one("p", "statement")) == words
    doc = Doc(site, "page.html")
    assert text(doc.one("h1")) == words
    assert text(doc.root).count(words) > 20


def test_an_address_that_is_no_page_is_never_a_link():
    doc = written(
        "# P\n\n[a](javascript:alert(1)) [b](data:text/html,x) [c](//example.org) [d](/etc/x) [e](none.md) [f](../up.md)\n\n![g](https://example.org/x.png)\n"
    )
    main = doc.one("div", "reading")
    assert not doc.all("a", within=main) and not doc.all("img")
    assert [text(span) for span in doc.all("span", "unmet", main)] == ["a", "b", "c", "d", "e", "f", "g"]


def test_a_name_that_names_nothing_is_text_with_a_mark():
    doc = written("# P\n\nSee [No such thing].\n")
    assert text(doc.one("span", "unmet")) == "No such thing (names nothing)"


def test_a_hazard_is_printed_whole_where_it_is_named(page):
    doc = page("functions/pumping.html")
    section = doc.around(doc.by_id("test-lamp-at-the-float-plug"), "section")
    panel = doc.all("div", "safety", section)[0]
    assert is_a(panel, "div", "caution")
    assert (
        text(doc.one("div", "says", panel)) == "The lid has a sharp rim. It can cut your hands. Wear gloves."
    )
    strong = [text(s) for s in doc.all("strong", within=panel)]
    assert strong == ["The lid has a sharp rim.", "Wear gloves."]
    assert doc.all("svg", "triangle", panel)


def test_a_message_of_several_hazards_prints_each_and_the_stronger_word_stands():
    page = """# Test: Odd

- Takes: 1 min

> **CAUTION** [Water near current]; [Sharp lid]. Mind the cat.

1. Look.
"""
    doc = Doc(built(with_page(odd=page)), "odd.html")
    panels = doc.all("div", "safety", doc.around(doc.by_id("test-odd"), "section"))
    told = [(text(doc.one("span", "word", p)), text(doc.one("div", "says", p))) for p in panels]
    assert told[0] == (
        "DANGER",
        "Wet hands carry current. A shock can kill you. Dry your hands, then switch off.",
    )
    assert told[1][0] == "CAUTION" and "Wear gloves." in told[1][1]
    assert told[2][0] == "CAUTION" and "Mind the cat." in told[2][1]


def test_a_notice_has_no_triangle(page):
    doc = page("functions/pumping.html")
    panels = [p for p in doc.all("div", "safety") if is_a(p, "div", "notice")]
    assert panels and not any(doc.all("svg", "triangle", p) for p in panels)


def test_former_anchors_are_empty_elements_at_the_node(page):
    doc = page("functions/pumping.html")
    old = doc.by_id("symptom-dead-pump")
    assert text(old) == "" and doc.before(old, doc.by_id("symptom-pump-does-not-start"))


def test_a_question_hides_its_answer_without_script(page):
    doc = page("lessons/all.html")
    section = doc.around(doc.by_id("question-what-does-a-dark-lamp-say-"), "section")
    choices = [text(li) for li in doc.all("li", within=doc.one("ul", "choices", section))]
    assert sorted(choices) == ["that no current flows", "that the fuse is blown", "that the pump is whole"]
    answer = doc.one("details", "answer", section)
    assert answer.get("open") is None
    assert text(answer) == "Show that no current flows A lamp needs current."
    numeric = doc.around(doc.by_id("question-what-does-a-full-battery-read-"), "section")
    assert text(doc.one("details", "answer", numeric)) == "Show 12.6 V ± 0.2 V"
    assert not doc.all("ul", "choices", numeric)


def test_a_question_with_two_right_answers_says_so():
    doc = written(
        "# Lesson: L\n\n- Takes: 1 min\n\n## Question: Q?\n\n- Right: one\n- Right: two\n- Wrong: three\n"
        "\n## Question: P?\n\n- Right: four; no more\n- Wrong: five\n"
    )
    first, second = (doc.around(doc.by_id(f"question-{name}-"), "section") for name in "qp")
    assert text(doc.one("p", "all-that", first)) == "Choose all that apply."
    assert {text(li) for li in doc.all("li", within=first) if li.get("data-right") is not None} == {"one", "two"}
    right = [text(li) for li in doc.all("li", within=second) if li.get("data-right") is not None]
    assert len(right) == len(doc.all("p", "all-that", second)) * 2 or right == ["four; no more"]


def test_a_test_leads_back_to_the_symptoms_it_speaks_about(page):
    doc = page("functions/pumping.html")
    section = doc.around(doc.by_id("test-listen-at-the-pump"), "section")
    speaks = doc.one("p", "speaks", section)
    assert text(speaks) == "Speaks about Pump does not start"
    assert doc.all("a", within=speaks)[0].get("href") == "pumping.symptom-pump-does-not-start.html"
    assert doc.before(speaks, doc.all("ol", "steps", section)[0])


def test_right_answers_do_not_always_come_first():
    questions = "\n".join(
        f"## Question: Q{i}?\n\n- Right: right {i}\n- Wrong: wrong {i}\n- Wrong: other {i}\n"
        for i in range(12)
    )
    doc = written(f"# Lesson: L\n\n- Takes: 1 min\n\n{questions}")
    firsts = [text(doc.all("li", within=ul)[0]).split()[0] for ul in doc.all("ul", "choices")]
    assert len(set(firsts)) > 1


def test_an_exercise_does_not_show_what_may_be_hidden(page):
    doc = page("lessons/all.html")
    section = doc.around(doc.by_id("exercise-find-it"), "section")
    fold = doc.one("details", "answer", section)
    assert "Motor open" in text(fold)
    outside = [e for e in section.iter() if not any(x is e for x in fold.iter()) and e is not section]
    assert not [e for e in outside if is_a(e, "a") and text(e) in ("Motor open", "Fuse blown")]


def test_lessons_lead_to_the_next_and_back(page):
    doc = page("lessons/all.html")
    beside = [text(p) for p in doc.all("p", "beside")]
    assert beside == ["Before: First steps", "Next: Second steps"]


def test_the_front_page_prints_nodes_written_on_it():
    index = (
        STATEMENT
        + "\nWelcome.\n\n## Function: F\n\n## Symptom: S\n\n- Causes: [C]\n\n## Cause: C\n\nWords.\n"
    )
    doc = Doc(built({"index.md": index}), "index.html")
    assert text(doc.by_id("cause-c")) == "C"
    assert "Welcome." in text(doc.one("div", "reading"))
    assert [e.tag for e in doc.all("h1")] == ["h1"]
