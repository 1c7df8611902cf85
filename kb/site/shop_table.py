"""What the finished jobs say, as a table for a spreadsheet (RFC 4180)."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from kb.site.shop import Shop

HEADER = ("about", "symptom", "name", "jobs", "of", "minutes", "plan minutes", "minutes over plan", "words")
Row = tuple[str | int | float, ...]


def table(shop: Shop) -> bytes:
    """The page's lists in one table: UTF-8, lines end in CR LF."""
    text = io.StringIO(newline="")
    rows = csv.writer(text, lineterminator="\r\n")
    rows.writerow(HEADER)
    rows.writerows(_rows(shop))
    return text.getvalue().encode()


def _rows(shop: Shop) -> Iterator[Row]:
    for time in shop.times:
        plan = "" if time.plan is None else round(time.plan, 1)
        over = "" if time.plan is None else round(time.over, 1)
        yield "time", time.symptom.name, "", time.jobs, shop.jobs, round(time.took, 1), plan, over, ""
    for test in shop.undone:
        words = f"the plan does it in {test.wanted:.1f} of {test.jobs}"
        over = round(test.over, 1)
        yield "test seldom done", test.symptom.name, test.test.name, test.done, test.jobs, "", "", over, words
    for back in shop.back:
        repair = back.repair.name if back.repair else ""
        yield "came back", back.symptom.name, back.cause.name, back.back, back.jobs, "", "", "", repair
    for lack in shop.lacks:
        for node, words in lack.items:
            yield lack.title, "", node.name, "", "", "", "", "", words
    for problem in shop.unmet:
        yield "row of the history", "", f"line {problem.span.line}", "", "", "", "", "", problem.message
