"""Terminals and disks of this kind are there on Linux and macOS; on Windows these tests are left out."""

from __future__ import annotations

import sys

collect_ignore_glob = ["test_*.py"] if sys.platform == "win32" else []
