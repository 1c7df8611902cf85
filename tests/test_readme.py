"""What README.md shows is what the tool does."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from kb import cli
from kb.checks import CATALOGUE

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
INDEX = "# Trailer lamps\n\n- Statement: The vehicle maker's instructions come first, then local law and codes.\n"


def block(language: str, number: int = 0) -> str:
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.DOTALL | re.MULTILINE)[number]


@pytest.fixture
def lamps(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "index.md").write_text(INDEX)
    (tmp_path / "lamps.md").write_text(block("markdown"))
    monkeypatch.chdir(tmp_path)
    return tmp_path / "lamps.md"


def test_the_small_page_has_the_problems_shown(lamps: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["check"]) == 1
    assert capsys.readouterr().out == block("text")


def test_mended_it_is_published_and_found(lamps: Path, capsys: pytest.CaptureFixture[str]) -> None:
    message = "> **CAUTION** [Hot bulb]\n\n"
    page = lamps.read_text().replace("sokket", "socket").replace(message, "", 1)
    lamps.write_text(page.replace("1. Take the bulb out.", message + "1. Take the bulb out."))
    assert cli.run(["site"]) == 0
    assert (lamps.parent / "published" / "lamps.symptom-one-brake-lamp-dead.html").is_file()
    capsys.readouterr()
    command, shown = block("text", 1).split("\n", 1)
    assert cli.run(command.removeprefix("$ backprobe ").split()) == 0
    assert capsys.readouterr().out == shown


def test_each_command_of_the_table_is_there_and_no_other() -> None:
    named = set(re.findall(r"^\| `backprobe (\w+)", README, re.MULTILINE))
    assert named == set(cli.WORDS)


def test_rules_that_are_named_exist() -> None:
    assert set(re.findall(r"\[([a-z]+(?:-[a-z]+)+)\]$", README, re.MULTILINE)) <= set(CATALOGUE)


def test_the_two_commands_are_single_lines() -> None:
    commands = re.findall(r"^```sh\n(.*?)^```$", README, re.DOTALL | re.MULTILINE)
    assert len(commands) == 2
    assert all(command.count("\n") == 1 for command in commands)
