"""JSON as commands print it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any


def dump(data: Mapping[str, Any]) -> str:
    """JSON with keys as given and numbers to four decimals."""
    return json.dumps(_rounded(data), indent=2, ensure_ascii=False)


def _rounded(data: Any) -> Any:
    if isinstance(data, float):
        return round(data, 4)
    if isinstance(data, Mapping):
        return {key: _rounded(value) for key, value in data.items()}
    return [_rounded(item) for item in data] if isinstance(data, list | tuple) else data
