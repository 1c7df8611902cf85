"""What keeps a served site at hand without a network: the list of its files, the worker that keeps them, a manifest.

The worker takes a file only with the digest that stands in its list. So a site that is just being replaced on its
server can't be kept half old and half new.
"""

from __future__ import annotations

import json
from base64 import urlsafe_b64encode
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from hashlib import sha256

from kb.assets import templates_dir
from kb.model import Base
from kb.site.address import unused

ICON = "static/icon.svg"
GROUND = "#14191b"  # the dark of the icon and of the rails


@dataclass(frozen=True, slots=True)
class Names:
    """Site paths of the worker, of the figures that a page asks for before it is kept, and of the manifest."""

    worker: str
    figures: str
    manifest: str


def names(base: Base) -> Names:
    """Free site paths: a file of the base that stands there already keeps its place."""
    wanted = (("keep", "js"), ("kept", "json"), ("base", "webmanifest"))
    return Names(*(f"{unused(stem, [end], base.files)}.{end}" for stem, end in wanted))


@dataclass(slots=True)
class Listing:
    """Digest and size of each file that was written."""

    digests: dict[str, str] = field(default_factory=dict)
    bytes: int = 0

    def through(self, files: Iterable[tuple[str, bytes]]) -> Iterator[tuple[str, bytes]]:
        """The files as they come, each noted down."""
        for path, data in files:
            self.note(path, data)
            yield path, data

    def note(self, path: str, data: bytes) -> None:
        """Note one file down."""
        self.digests[path] = digest(data)
        self.bytes += len(data)

    def edition(self) -> str:
        """One mark for all files: it changes when any of them does."""
        return digest("\n".join(f"{path} {self.digests[path]}" for path in sorted(self.digests)).encode())


def digest(data: bytes) -> str:
    """SHA-256 (FIPS 180-4) cut to 132 bits, as 22 characters of base64url (RFC 4648)."""
    return urlsafe_b64encode(sha256(data).digest()).decode()[:22]


def kept(base: Base, files: Iterable[tuple[str, bytes]]) -> Iterator[tuple[str, bytes]]:
    """The files of a site, and after them the manifest, the figures and the worker that keeps them all."""
    at, listing = names(base), Listing()
    yield from listing.through(files)
    manifest = as_json(manifest_of(base))
    listing.note(at.manifest, manifest)
    yield at.manifest, manifest
    edition = listing.edition()
    yield at.figures, as_json({"edition": edition, "files": len(listing.digests), "bytes": listing.bytes})
    told = {"edition": edition, "bytes": listing.bytes, "files": dict(sorted(listing.digests.items()))}
    yield at.worker, b"self.KEPT = " + as_json(told) + b";\n" + worker()


def manifest_of(base: Base) -> Mapping[str, object]:
    """The web application manifest (W3C): every address in it is relative to it."""
    return {
        "name": base.title,
        "short_name": base.title,
        "lang": base.language,
        "start_url": "index.html",
        "scope": "./",
        "display": "standalone",
        "background_color": GROUND,
        "theme_color": GROUND,
        "icons": [{"src": ICON, "sizes": "any", "type": "image/svg+xml", "purpose": "any maskable"}],
    }


def as_json(told: object) -> bytes:
    """JSON that is the same in every build."""
    return json.dumps(told, ensure_ascii=False, separators=(",", ":")).encode()


def worker() -> bytes:
    """The worker without its list."""
    return (templates_dir() / "offline" / "worker.js").read_bytes()


def unkept() -> bytes:
    """A worker that gives up what an earlier one kept at this address, for a site that changes all the time."""
    return (templates_dir() / "offline" / "give-up.js").read_bytes()
