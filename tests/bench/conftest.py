"""The measurements need a terminal of the kind that Linux and macOS have; on Windows they are left out."""

from __future__ import annotations

import sys

collect_ignore_glob = ["test_*.py"] if sys.platform == "win32" else []
