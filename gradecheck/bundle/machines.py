"""The kinds of laptops that files are made for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Machine:
    """A kind of laptop: how Python there tells itself, and which wheels it takes."""

    called: str
    system: str
    machines: tuple[str, ...]
    markers: Mapping[str, str]
    wheels: tuple[str, ...]


MACHINES = {
    "linux": Machine(
        "Linux (x86-64)", "linux", ("x86_64", "amd64"),
        {"sys_platform": "linux", "platform_system": "Linux", "os_name": "posix", "platform_machine": "x86_64"},
        ("manylinux_2_28_x86_64", "manylinux_2_27_x86_64", "manylinux_2_17_x86_64", "manylinux2014_x86_64"),
    ),
    "windows": Machine(
        "Windows (x64)", "win32", ("amd64", "x86_64"),
        {"sys_platform": "win32", "platform_system": "Windows", "os_name": "nt", "platform_machine": "AMD64"},
        ("win_amd64",),
    ),
    "windows-arm": Machine(
        "Windows (ARM)", "win32", ("arm64",),
        {"sys_platform": "win32", "platform_system": "Windows", "os_name": "nt", "platform_machine": "ARM64"},
        ("win_arm64",),
    ),
    "mac": Machine(
        "macOS 14 (Apple silicon)", "darwin", ("arm64",),
        {"sys_platform": "darwin", "platform_system": "Darwin", "os_name": "posix", "platform_machine": "arm64"},
        tuple(f"macosx_{number}_0_arm64" for number in range(14, 10, -1)),
    ),
}  # fmt: skip
