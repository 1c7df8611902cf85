"""Pictures of the demonstration base by day, by night and on paper: their ground follows the page, wires keep their colours."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import ROOT

STATIC = ROOT / "templates/static"
PICTURES = sorted((ROOT / "content/pictures").glob("*.svg"))
INSULATION = ("7b2fa8", "138a36", "d0121b", "ffb000", "8b9296")


def shown(browser: Any, folder: Path, scheme: str, sheet: bool = False, media: str = "screen") -> dict[str, Any]:
    """Each picture as a page shows it, or a `sheet` to print."""
    from PIL import Image

    images = "".join(f'<img src="{path.as_uri()}" alt="">' for path in PICTURES)
    styles = {"sheet.css": "all"} if sheet else {"site.css": "all", "print.css": "print"}
    links = [f'<link rel="stylesheet" media="{m}" href="{(STATIC / name).as_uri()}">' for name, m in styles.items()]
    (folder / "all.html").write_text(f"<!DOCTYPE html>{''.join(links)}{images}")
    context = browser.new_context(color_scheme=scheme)
    page = context.new_page()
    page.emulate_media(media=media)
    page.goto((folder / "all.html").as_uri())
    found = {
        path.name: Image.open(BytesIO(image.screenshot())).convert("RGB")
        for path, image in zip(PICTURES, page.locator("img").all(), strict=True)
    }
    context.close()
    return found


def brightness(image: Any) -> float:
    """The mean of all its points, 0 to 255."""
    from PIL import ImageStat

    return sum(ImageStat.Stat(image).mean) / 3


def colours(image: Any) -> set[str]:
    """Its colours of insulation and of a lit lamp."""
    return {f"{r:02x}{g:02x}{b:02x}" for _, (r, g, b) in image.getcolors(1 << 24)} & set(INSULATION)


def test_a_picture_is_dark_by_night_and_its_wires_keep_their_colours(browser, tmp_path):
    day, night = (shown(browser, tmp_path, scheme) for scheme in ("light", "dark"))
    assert len(day) >= 8
    for name, image in day.items():
        assert brightness(image) > 200 and brightness(night[name]) < 90, name
        assert colours(image) == colours(night[name]), name
    assert any(colours(image) for image in day.values())


@pytest.mark.parametrize(("sheet", "media"), [(True, "screen"), (False, "print")])
def test_on_a_sheet_and_on_paper_it_is_white_by_night_too(browser, tmp_path, sheet, media):
    for name, image in shown(browser, tmp_path, "dark", sheet, media).items():
        assert brightness(image) > 200, name
