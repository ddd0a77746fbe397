"""Names that parametrised tests need before any fixture runs."""

from __future__ import annotations

from pathlib import Path

WORKBOOKS = Path(__file__).resolve().parents[2] / "workbooks"
DEMOS = sorted(path.stem for path in (WORKBOOKS / "machines").glob("*.toml"))
