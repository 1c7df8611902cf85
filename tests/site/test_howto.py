"""Tests and repairs as schema.org data, canonical addresses and the sitemap.

Held against the models of schema.org's own vocabulary, which refuse unknown properties and wrong ranges; durations
against ISO 8601's forms (from memory); the sitemap against protocol 0.9 of sitemaps.org (from memory).
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree

import pytest

from kb.site.howto import in_script, iso_duration
from tests.site.pump import PUMP, Files, built

LD = re.compile(rb'<script type="application/ld\+json">(.*?)</script>', re.S)


def graph_of(data: bytes) -> list[dict[str, Any]]:
    """The things that a page states; each page has one document at most."""
    found = LD.findall(data)
    assert len(found) <= 1
    return json.loads(found[0])["@graph"] if found else []


def stated(site: Files) -> Iterator[tuple[str, dict[str, Any]]]:
    for path in sorted(site):
        if path.endswith(".html"):
            yield from ((path, thing) for thing in graph_of(site[path]))


def modelled(thing: Any) -> Any:
    """The vocabulary's model of a thing; raises where a property or its range is unknown to it."""
    schema_org = pytest.importorskip("schema_org", reason="schema-org-py is absent")
    if isinstance(thing, list):
        return [modelled(one) for one in thing]
    if not isinstance(thing, dict):
        return thing
    told = {key: modelled(value) for key, value in thing.items() if not key.startswith("@")}
    return getattr(schema_org, thing["@type"])(**told)


@pytest.fixture(scope="module")
def placed() -> Files:
    """The pump's site at an address of its own."""
    index = str(PUMP["index.md"]).replace("- Edition:", "- Address: https://pumps.example/base\n- Edition:")
    return built({**PUMP, "index.md": index})


def test_every_test_and_repair_is_stated_once(site):
    names = [thing["name"] for _, thing in stated(site)]
    assert "Lamp at the float plug" in names and "New fuse" in names
    assert len(names) == len(set(names))


def test_the_vocabulary_knows_all_of_it(site):
    for _, thing in stated(site):
        assert modelled(thing).name == thing["name"]


def test_the_vocabulary_refuses_what_it_doesnt_know():
    with pytest.raises(ValueError, match="(?i)extra|not permitted"):
        modelled({"@type": "HowTo", "name": "N", "danger": "none"})


def test_a_hazards_message_is_a_step_before_its_step(site):
    for path, thing in stated(site):
        words = [step.get("name") for step in thing["step"]] if "step" in thing else []
        assert [s["position"] for s in thing.get("step", ())] == list(range(1, len(words) + 1)), path
    (lamp,) = (thing for _, thing in stated(site) if thing["name"] == "Lamp at the float plug")
    named = [(step.get("name", ""), step["text"]) for step in lamp["step"]]
    warned = [i for i, (name, _) in enumerate(named) if name in ("DANGER", "WARNING", "CAUTION", "NOTICE")]
    steps = [i for i, (name, _) in enumerate(named) if not name]
    assert warned and steps and warned[0] < steps[0]


def test_without_an_address_nothing_is_absolute_but_the_vocabulary(site):
    assert "sitemap.xml" not in site
    for path, thing in stated(site):
        assert thing["@id"].startswith("#"), path
    for path, data in site.items():
        if path.endswith(".html"):
            assert b'rel="canonical"' not in data
            assert set(re.findall(rb'https?://[^"\s<]+', LD.sub(b"", data))) <= {b"http://www.w3.org/2000/svg"} | set(
                re.findall(rb'href="(https?://[^"]+)"', data)
            )


def test_with_an_address_each_page_names_it(placed):
    assert b'<link rel="canonical" href="https://pumps.example/base/functions/pumping.html">' in placed["functions/pumping.html"]
    assert b'<link rel="canonical" href="https://pumps.example/base/">' in placed["index.html"]
    assert all(thing["@id"].startswith("https://pumps.example/base/") for _, thing in stated(placed))


def test_an_old_address_names_the_new_one(placed):
    (old,) = (path for path, data in placed.items() if b"http-equiv=\"refresh\"" in data)
    (to,) = re.findall(rb'rel="canonical" href="([^"]+)"', placed[old])
    assert to.startswith(b"https://pumps.example/base/") and not to.endswith(old.encode())


def test_the_sitemap_names_each_page_once_and_no_sheet(placed):
    top = ElementTree.fromstring(placed["sitemap.xml"])
    assert top.tag == "{http://www.sitemaps.org/schemas/sitemap/0.9}urlset"
    told = [loc.text for loc in top.iter("{http://www.sitemaps.org/schemas/sitemap/0.9}loc")]
    assert len(told) == len(set(told)) and "https://pumps.example/base/functions/pumping.html" in told
    assert not [one for one in told if "sheet" in one]
    pages = {path for path in placed if path.endswith(".html") and ".sheet." not in path}
    refresh = {path for path in pages if b'http-equiv="refresh"' in placed[path]}
    assert len(told) == len(pages - refresh)


@pytest.mark.parametrize(("minutes", "told"), [
    (4, "PT4M"), (90, "PT1H30M"), (0.75, "PT45S"), (60, "PT1H"), (0, ""), (61.5, "PT1H1M30S"),
])  # fmt: skip
def test_durations(minutes: float, told: str):
    assert iso_duration(minutes) == told


def test_no_word_ends_the_script():
    told = str(in_script({"name": "</script><script>alert(1)</script>&amp; <!--"}))
    assert "<" not in told and ">" not in told and "&" not in told
    assert json.loads(told) == {"name": "</script><script>alert(1)</script>&amp; <!--"}
