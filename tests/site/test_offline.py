"""What a served site keeps on the device: the list of all files with their digests, the manifest, the figures.

Digests are held against hashlib's SHA-256 (FIPS 180-4) and base64url (RFC 4648); the manifest against the members that
the W3C's web application manifest asks for (from memory).
"""

from __future__ import annotations

import hashlib
import json
from base64 import urlsafe_b64decode

from kb.read.base import read_files
from kb.site.offline import digest, names, unkept
from tests.site.pump import PUMP, Files, built


def list_of(site: Files) -> dict[str, object]:
    """What the worker is told."""
    first = site["keep.js"].split(b"\n", 1)[0].decode()
    return json.loads(first.removeprefix("self.KEPT = ").removesuffix(";"))


def test_the_worker_lists_every_file_but_itself_and_the_figures(site):
    told = list_of(site)
    assert sorted(told["files"]) == sorted(set(site) - {"keep.js", "kept.json"})
    assert told["bytes"] == sum(len(site[path]) for path in told["files"])


def test_digests_are_cut_sha256(site):
    for path, short in list_of(site)["files"].items():
        whole = hashlib.sha256(site[path]).digest()
        assert len(short) == 22 and urlsafe_b64decode(short + "==")[:16] == whole[:16]


def test_figures_are_those_of_the_list(site):
    told, figures = list_of(site), json.loads(site["kept.json"])
    assert figures == {"edition": told["edition"], "files": len(told["files"]), "bytes": told["bytes"]}


def test_the_same_base_is_the_same_edition_and_a_word_more_is_another():
    first, again = built(PUMP), built(PUMP)
    other = built({**PUMP, "index.md": str(PUMP["index.md"]) + "\nOne word more.\n"})
    assert first["keep.js"] == again["keep.js"]
    assert list_of(first)["edition"] != list_of(other)["edition"]


def test_the_manifest_names_only_what_is_there(site):
    manifest = json.loads(site["base.webmanifest"])
    assert manifest["name"] == "Low Field Pumps" and manifest["lang"] == "en"
    assert manifest["start_url"] in site and manifest["scope"] == "./"
    assert all(icon["src"] in site for icon in manifest["icons"])
    assert b"http" not in site["base.webmanifest"]


def test_each_page_names_them_relative_to_its_root(docs):
    page = docs["functions/pumping.html"].root
    html = page if page.tag.endswith("html") else page.find("{*}html")
    assert (html.get("data-keep"), html.get("data-figures"), html.get("data-manifest")) == (
        "keep.js", "kept.json", "base.webmanifest",
    )  # fmt: skip
    assert html.get("data-root") == "../"


def test_files_of_the_base_keep_their_places():
    files = {**PUMP, "keep.js": "1", "kept.json": "{}"}
    base = read_files({name: data if isinstance(data, bytes) else data.encode() for name, data in files.items()})
    assert names(base).worker == "keep-2.js" and names(base).figures == "kept-2.json"


def test_digest_of_known_bytes():
    """SHA-256 of `abc` begins ba7816bf 8f01cfea 414140de 5dae2223 (FIPS 180-4, example)."""
    assert urlsafe_b64decode(digest(b"abc") + "==")[:16].hex() == "ba7816bf8f01cfea414140de5dae2223"


def test_a_site_that_changes_all_the_time_gives_up_what_was_kept():
    assert b"unregister" in unkept() and b"caches.delete" in unkept()
