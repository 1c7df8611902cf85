"""A row of the job history that names what the base doesn't have.

A row whose symptom is unknown, or whose cause is none of that symptom's, counts nowhere. A row with an
unknown vehicle still counts for all vehicles together. Old names under `Formerly` are understood.

Bad:
    === index.md
    # Base

    - Statement: The maker's instructions come first.
    - History: jobs.csv
    === page.md
    # Symptom: Dead
    - Causes: [Fuse blown]

    # Cause: Fuse blown

    # Vehicle: Oskarn
    === jobs.csv
    date,vehicle,symptom,cause,minutes
  ! 2026-02-01,Oskarn,Dead,Fuse blwn,10

Good:
    === index.md
    # Base

    - Statement: The maker's instructions come first.
    - History: jobs.csv
    === page.md
    # Symptom: Dead
    - Causes: [Fuse blown]

    # Cause: Fuse blown

    # Vehicle: Oskarn
    === jobs.csv
    date,vehicle,symptom,cause,minutes
    2026-02-01,Oskarn,Dead,Fuse blown,10
"""

from __future__ import annotations

from kb.diagnostic import Severity

SEVERITY = Severity.WARNING
