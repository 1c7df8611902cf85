"""The demonstration site before two checkers of HTML and one of links; each is also shown a broken page."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from kb.build import Checked
from kb.diagnostic import Severity

pytestmark = pytest.mark.gate
HERE = Path(__file__).parent

FINE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>A page</title></head>
<body><h1 id="top">A page</h1><p><a href="#top">Top</a></p></body></html>
"""


@pytest.fixture
def broken(tmp_path: Path) -> Path:
    """A folder with a page that has an unknown element, an unclosed one and a dead link."""
    (tmp_path / "fine.html").write_text(FINE)
    (tmp_path / "broken.html").write_text(
        FINE.replace("<p>", "<p><img src='gone.png'><b><blob>x</blob>").replace("#top", "gone.html").replace("</b>", "")
    )
    return tmp_path


def run(*command: object) -> tuple[int, str]:
    """Exit code and all output of a command."""
    done = subprocess.run([str(c) for c in command], capture_output=True, text=True, timeout=300, check=False)
    return done.returncode, done.stdout + done.stderr


def nu(tools: Path, folder: Path) -> tuple[int, str]:
    """The Nu HTML checker."""
    jar = tools / "node_modules/vnu-jar/build/dist/vnu.jar"
    if not jar.exists() or not shutil.which("java"):
        pytest.skip("the Nu HTML checker (npm vnu-jar) or Java is absent")
    return run("java", "-jar", jar, "--errors-only", "--skip-non-html", folder)


def html_validate(tools: Path, folder: Path) -> tuple[int, str]:
    """html-validate."""
    program = tools / "node_modules/html-validate/bin/html-validate.mjs"
    if not program.exists() or not shutil.which("node"):
        pytest.skip("html-validate (npm) or Node is absent")
    return run("node", program, "--config", HERE / "htmlvalidate.mjs", f"{folder}/**/*.html")


def lychee(folder: Path) -> tuple[int, str]:
    """lychee, which follows each link and anchor inside the site."""
    program = shutil.which("lychee", path=Path(sys.executable).parent) or shutil.which("lychee")
    if program is None:
        pytest.skip("lychee is absent")
    return run(
        program, "--offline", "--include-fragments", "--no-progress", "--root-dir", folder, f"{folder}/**/*.html"
    )


def test_the_demonstration_base_has_no_error_and_no_warning(checked: Checked):
    assert [d.problem for d in checked.diagnostics if d.severity is not Severity.NOTE] == []


def test_nu_html_checker(tools, demo):
    code, output = nu(tools, demo)
    assert (code, output) == (0, "")


def test_nu_html_checker_sees_what_is_broken(tools, broken):
    code, output = nu(tools, broken)
    assert code != 0
    assert "blob" in output
    assert "fine.html" not in output


def test_html_validate(tools, demo):
    code, output = html_validate(tools, demo)
    assert (code, output.strip()) == (0, "")


def test_html_validate_sees_what_is_broken(tools, broken):
    code, output = html_validate(tools, broken)
    assert code != 0
    assert "broken.html" in output
    assert "fine.html" not in output


def test_lychee(demo, pages):
    code, output = lychee(demo)
    assert code == 0, output[-3000:]
    total = int(output.split(" Total")[0].split()[-1])
    assert total > 10 * len(pages)


def test_lychee_sees_a_dead_link_and_a_dead_anchor(broken):
    code, output = lychee(broken)
    assert code != 0
    assert "gone.html" in output
    (broken / "broken.html").write_text(FINE.replace('href="#top"', 'href="fine.html#nowhere"'))
    code, output = lychee(broken)
    assert code != 0
    assert "nowhere" in output
