"""A second, plain reading of a plan: its finishes and what its checks come to, in exact fractions of an inch.

Nothing of the program is used. It knows only what the plans beside it use: a grid over a rectangle, rectangles warped
between four corners, crowns along one axis, and joined spots whose triangles are given by name.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any

import yaml

INCHES = {
    "in": Fraction(1),
    "ft": Fraction(12),
    "mm": Fraction(10, 254),
    "cm": Fraction(100, 254),
    "m": Fraction(10_000, 254),
}
Place = tuple[Fraction, Fraction]
Texts = Mapping[str, Any]


def number(text: str) -> Fraction:
    """``3``, ``0.35``, ``1/4``, ``2 3/8`` or ``-3 1/4``."""
    sign = -1 if text.startswith("-") else 1
    return sign * sum((Fraction(part) for part in text.lstrip("+-").split()), Fraction(0))


def length(text: str, unit: str) -> Fraction:
    """Inches: ``6 ft 3 in``, ``-3 1/4``, ``12.5 m``; a bare number has the unit."""
    total, sign = Fraction(0), -1 if text.startswith("-") else 1
    for figure, named in re.findall(r"([\d./ ]*\d)\s*(in|ft|mm|cm|m)?(?![a-z])", text):
        total += number(figure.strip()) * INCHES[named or unit]
    return sign * total


def slope(text: str) -> Fraction:
    """``2%``, ``1:48`` or ``1/8 in/ft``, as a ratio."""
    if text.endswith("%"):
        return number(text[:-1].strip()) / 100
    if ":" in text:
        one, other = text.split(":")
        return Fraction(one) / Fraction(other)
    return number(text.removesuffix("in/ft").strip()) / 12


@dataclass
class Spot:
    """A point: inches above zero, and where it lies."""

    z: Fraction
    at: Place | None


@dataclass
class Yard:
    """One area: its points in the order they are walked, its stages from the top down with what lies above each."""

    points: dict[str, Spot] = field(default_factory=dict)
    depth: dict[str, Fraction] = field(default_factory=dict)
    allowed: dict[str, tuple[Fraction, Fraction]] = field(default_factory=dict)
    facets: list[tuple[str, ...]] = field(default_factory=list)


Triangles = Mapping[str, Sequence[tuple[str, ...]]]


class Sheet:
    """A plan worked out by hand. `triangles` names, by area, the flat pieces of surfaces joined through spots."""

    def __init__(self, file: Path, triangles: Triangles) -> None:
        self.texts: Texts = yaml.load(file.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)  # noqa: S506
        self.unit: str = self.texts["units"]
        self.marks = {name: self.length(each["elevation"]) for name, each in self.texts["benchmarks"].items()}
        self.yards: dict[str, Yard] = {}
        self.every: dict[str, Spot] = {}
        for name, area in self.texts["areas"].items():
            self.yards[name] = self._yard(area, list(triangles.get(name, ())))

    def length(self, text: str) -> Fraction:
        return length(text, self.unit)

    def place(self, two: Sequence[str]) -> Place:
        return self.length(two[0]), self.length(two[1])

    # -- one area

    def _yard(self, area: Texts, facets: list[tuple[str, ...]]) -> Yard:
        yard = Yard(facets=facets)
        on_surface: list[tuple[str, Place]] = []
        for name, entry in area["points"].items():
            if set(entry) == {"at"}:
                at = self.place(entry["at"])
                on_surface.append((name, at))
                yard.points[name] = Spot(Fraction(0), at)  # keeps its turn in the walk
                continue
            yard.points[name] = self.every[name] = self._given(entry)
        if "grid" in area:
            on_surface += self._grid(area["grid"])
        for name, at in on_surface:
            yard.points[name] = self.every[name] = Spot(self.finish(area, yard, at), at)
        self._layers(area, yard)
        return yard

    def _given(self, entry: Texts) -> Spot:
        at = self.place(entry["at"]) if "at" in entry else None
        if "elevation" in entry:
            return Spot(self.length(entry["elevation"]), at)
        start = entry["from"]
        z = self.marks[start] if start in self.marks else self.every[start].z
        if "over" in entry:
            pitch = slope(entry["fall"]) if "fall" in entry else -slope(entry["rise"])
            z -= pitch * self.length(entry["over"])
        if "down" in entry:
            z -= int(entry["down"]) * self.length(entry["riser"])
        return Spot(z, at)

    def _grid(self, grid: Texts) -> list[tuple[str, Place]]:
        """Row by row there and back, from the least x and y; named by row and column."""
        every = grid["every"]
        step = self.place([every, every] if isinstance(every, str) else every)
        ring = [self.place(corner) for corner in grid["inside"]]
        xs, ys = zip(*ring, strict=True)
        columns, rows = int((max(xs) - min(xs)) / step[0]) + 1, int((max(ys) - min(ys)) / step[1]) + 1
        found = []
        for row in range(rows):
            order = range(columns) if row % 2 == 0 else range(columns - 1, -1, -1)
            for column in order:
                at = min(xs) + column * step[0], min(ys) + row * step[1]
                found.append((f"{grid['name']}{row + 1}-{column + 1}", at))
        return found

    def finish(self, area: Texts, yard: Yard, at: Place) -> Fraction:
        """The height of the area's surface there."""
        surface, spots = area["surface"], self.every
        if "corners" in surface:
            a, b, c, d = (spots[name] for name in surface["corners"])
            u, v = _share(a, b, d, at)
            return (1 - u) * (1 - v) * a.z + u * (1 - v) * b.z + u * v * c.z + (1 - u) * v * d.z
        if "crown" in surface:
            return min(z for z, _ in self._sides(surface, at))
        if "at" in surface:
            start, fall = spots[surface["at"]], surface["fall"]
            assert start.at is not None
            return start.z - sum(slope(fall[axis]) * (at[i] - start.at[i]) for i, axis in enumerate("xy"))
        for names in yard.facets:
            if _holds([spots[name] for name in names], at):
                gx, gy, z = _plane([spots[name] for name in names])
                return z + gx * at[0] + gy * at[1]
        raise AssertionError(f"no piece of the surface lies at {at}")

    def _sides(self, surface: Texts, at: Place) -> list[tuple[Fraction, Place]]:
        """Of a crown that runs along y: the height of its left and its right side there, and how each falls."""
        one, other = (self.every[name] for name in surface["crown"])
        assert one.at is not None
        assert other.at is not None
        assert one.at[0] == other.at[0]
        assert other.at[1] > one.at[1]
        along = (one.z - other.z) / (other.at[1] - one.at[1])
        left, right = (slope(text) for text in surface["falls"])
        ridge = one.z - along * (at[1] - one.at[1])
        off = at[0] - one.at[0]
        return [(ridge + off * left, (-left, along)), (ridge - off * right, (right, along))]

    def falls_at(self, name: str, at: Place) -> list[Place]:
        """How the surface falls there along x and y: once for each piece that meets there."""
        area, yard = self.texts["areas"][name], self.yards[name]
        surface = area["surface"]
        if "corners" in surface:
            a, b, c, d = (self.every[each] for each in surface["corners"])
            (u, v), (width, depth) = _share(a, b, d, at), _size(a, b, d)
            return [
                (
                    ((a.z - b.z) * (1 - v) + (d.z - c.z) * v) / width,
                    ((a.z - d.z) * (1 - u) + (b.z - c.z) * u) / depth,
                )
            ]
        if "crown" in surface:
            lowest = self.finish(area, yard, at)
            return [fall for z, fall in self._sides(surface, at) if z == lowest]
        if "at" in surface:
            return [(slope(surface["fall"]["x"]), slope(surface["fall"]["y"]))]
        pieces = [[self.every[each] for each in names] for names in yard.facets]
        held = [_plane(piece) for piece in pieces if _holds(piece, at)]
        return [(-gx, -gy) for gx, gy, _ in held]

    def at_walls(self, name: str) -> Fraction:
        """How much of a rectangle's edge along x a wall stands on, where nothing is dug past it."""
        ys = [self.place(corner)[1] for corner in self.texts["areas"][name]["outline"]]
        xs = [self.place(corner)[0] for corner in self.texts["areas"][name]["outline"]]
        found = Fraction(0)
        for wall in self.texts.get("walls", {}).values():
            (ax, ay), (bx, by) = (self.place(end) for end in wall)
            assert ay == by
            if ay in (min(ys), max(ys)):
                found += max(Fraction(0), min(max(ax, bx), max(xs)) - max(min(ax, bx), min(xs)))
        return found

    def legs(self, name: str) -> list[tuple[Place, Place]]:
        """The legs of the way people walk, each along x or y."""
        ends = [self.every[each].at for each in self.texts["areas"][name]["along"]]
        assert all(ends)
        places = [end for end in ends if end]
        return list(pairwise(places))

    def _layers(self, area: Texts, yard: Yard) -> None:
        build = self.texts["build-ups"][area["build-up"]]
        layers = build["layers"] if isinstance(build, Mapping) else build
        depth, above = Fraction(0), ["finish"]
        yard.depth["finish"] = depth
        for layer, below in zip(layers, [*layers[1:], {"subgrade": "0"}], strict=True):
            (thickness,) = layer.values()
            depth += self.length(thickness)
            (stage,) = below
            above.append(stage)
            yard.depth[stage] = depth
        for stage in above:
            said = self.texts["tolerances"][stage]
            high, low = (said["high"], said["low"]) if isinstance(said, Mapping) else (said, said)
            yard.allowed[stage] = self.length(high), self.length(low)


def _size(a: Spot, b: Spot, d: Spot) -> Place:
    """How wide and deep a rectangle with its sides along x and y is, from its first corner."""
    assert a.at is not None
    assert b.at is not None
    assert d.at is not None
    assert a.at[1] == b.at[1]
    assert a.at[0] == d.at[0]
    return b.at[0] - a.at[0], d.at[1] - a.at[1]


def _share(a: Spot, b: Spot, d: Spot, at: Place) -> Place:
    width, depth = _size(a, b, d)
    assert a.at is not None
    return (at[0] - a.at[0]) / width, (at[1] - a.at[1]) / depth


def _plane(spots: Sequence[Spot]) -> tuple[Fraction, Fraction, Fraction]:
    """How the plane through three spots rises along x and y, and its height at the origin, by Cramer's rule."""
    (ax, ay), (bx, by), (cx, cy) = (spot.at or (Fraction(0), Fraction(0)) for spot in spots)
    az, bz, cz = (spot.z for spot in spots)
    whole = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
    gx = ((bz - az) * (cy - ay) - (cz - az) * (by - ay)) / whole
    gy = ((bx - ax) * (cz - az) - (cx - ax) * (bz - az)) / whole
    return gx, gy, az - gx * ax - gy * ay


def _holds(spots: Sequence[Spot], at: Place) -> bool:
    """Whether a place lies in a triangle or on its edge."""
    corners = [spot.at or (Fraction(0), Fraction(0)) for spot in spots]
    sides = []
    for (px, py), (qx, qy) in zip(corners, [*corners[1:], corners[0]], strict=True):
        sides.append((qx - px) * (at[1] - py) - (qy - py) * (at[0] - px))
    return all(side >= 0 for side in sides) or all(side <= 0 for side in sides)


def word(off: Fraction, allowed: tuple[Fraction, Fraction]) -> str:
    """What the machine has to do."""
    if off > allowed[0]:
        return "CUT"
    return "FILL" if off < -allowed[1] else "ON GRADE"


def largest_gap(stations: Sequence[tuple[Fraction, Fraction]]) -> Fraction:
    """Of spots along a line no longer than the straightedge: the most that one lies below the line of two others."""
    gaps = [Fraction(0)]
    for (at, z), ((from_at, from_z), (to_at, to_z)) in (
        (station, pair) for pair in combinations(stations, 2) for station in stations
    ):
        if from_at < at < to_at:
            gaps.append(from_z + (to_z - from_z) * (at - from_at) / (to_at - from_at) - z)
    return max(gaps)


# Sums over a whole area, from published formulas


def shoelace(ring: Sequence[Place]) -> Fraction:
    """Twice the area within, positive to the left (the surveyor's formula; Meister 1769, from memory)."""
    return sum(
        (ax * by - bx * ay for (ax, ay), (bx, by) in zip(ring, [*ring[1:], ring[0]], strict=True)), Fraction(0)
    )


def carried(ring: Sequence[Place], past: Fraction) -> Fraction:
    """The area of a ring with its sides along x or y, each carried outward by so much, square corners.

    A strip along every side, and at each corner a square: one more where it juts out, one less where it turns in.
    """
    twice = shoelace(ring)
    sides = [(bx - ax, by - ay) for (ax, ay), (bx, by) in zip(ring, [*ring[1:], ring[0]], strict=True)]
    assert all(not x or not y for x, y in sides)
    around = sum((abs(x) + abs(y) for x, y in sides), Fraction(0))
    turns = [ax * by - ay * bx for (ax, ay), (bx, by) in zip(sides, [*sides[1:], sides[0]], strict=True)]
    out = sum(1 if (turn > 0) == (twice > 0) else -1 for turn in turns)
    return abs(twice) / 2 + past * around + past**2 * out


def best_plane(spots: Sequence[tuple[Place, Fraction]]) -> tuple[Fraction, Fraction, Fraction]:
    """How the least-squares plane rises along x and y, and its height at the origin.

    The normal equations of z = a x + b y + c (Gauss 1809, from memory), by Cramer's rule.
    """
    n = Fraction(len(spots))
    x = sum((at[0] for at, _ in spots), Fraction(0))
    y = sum((at[1] for at, _ in spots), Fraction(0))
    z = sum((height for _, height in spots), Fraction(0))
    xx = sum((at[0] ** 2 for at, _ in spots), Fraction(0))
    yy = sum((at[1] ** 2 for at, _ in spots), Fraction(0))
    xy = sum((at[0] * at[1] for at, _ in spots), Fraction(0))
    xz = sum((at[0] * height for at, height in spots), Fraction(0))
    yz = sum((at[1] * height for at, height in spots), Fraction(0))
    rows = [(xx, xy, x), (xy, yy, y), (x, y, n)]
    right = (xz, yz, z)
    whole = _determinant(rows)
    found = []
    for column in range(3):
        changed = [
            tuple(right[line] if at == column else value for at, value in enumerate(row))
            for line, row in enumerate(rows)
        ]
        found.append(_determinant(changed) / whole)
    return found[0], found[1], found[2]


def _determinant(rows: Sequence[Sequence[Fraction]]) -> Fraction:
    (a, b, c), (d, e, f), (g, h, i) = rows
    return a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g)


POUND = Fraction("0.45359237")
"""Kilograms (Federal Register 24 FR 5348, 1959)."""
FOOT = Fraction("0.3048")
"""Meters (the same)."""
KILOGRAMS = {"lb": POUND, "ton": 2000 * POUND, "kg": Fraction(1), "t": Fraction(1000)}
CUBIC_METERS = {"yd^3": (3 * FOOT) ** 3, "ft^3": FOOT**3, "m^3": Fraction(1)}
SAND = {"density": 100 * POUND / FOOT**3, "compaction": Fraction(1), "waste": Fraction(324, 300)}
"""A gravel pit's page: 100 lb to the cubic foot; a supplier's rule: a yard covers 300 square feet an inch deep."""
STONE = {"compaction": Fraction(5, 4), "waste": Fraction(105, 100), "swell": Fraction(5, 4)}
"""A contractor's published method: five inches placed make four; suppliers' pages: 5% more; loam swells 25%."""


@dataclass
class Ordered:
    """One layer as it is ordered: cubic meters in place and loose, kilograms, and its price where known."""

    name: str
    in_place: Fraction
    loose: Fraction
    kilograms: Fraction
    money: Fraction | None


def ordered(sheet: Sheet, name: str) -> tuple[list[Ordered], Fraction] | None:
    """What an area takes of each layer that comes loose, and the cubic meters to haul; None without outline."""
    area = sheet.texts["areas"][name]
    if "outline" not in area:
        return None
    meters = Fraction("0.0254")
    ring = [sheet.place(corner) for corner in area["outline"]]
    build = sheet.texts["build-ups"][area["build-up"]]
    past = sheet.length(build["past edge"])
    plain = abs(shoelace(ring)) / 2 * meters**2
    wide = (carried(ring, past) - past * sheet.at_walls(name)) * meters**2
    per, unit = sheet.texts["stone"]["density"].split()
    weight, size = unit.split("/")
    density = Fraction(per) * KILOGRAMS[weight] / CUBIC_METERS[size]
    price, sold = sheet.texts["stone"]["price"].split()
    sold = sold.removeprefix("$/")
    found, deep = [], Fraction(0)
    for layer in build["layers"]:
        ((kind, text),) = layer.items()
        thick = sheet.length(text) * meters
        deep += thick
        if kind == "bedding":
            loose = plain * thick * SAND["compaction"] * SAND["waste"]
            found.append(Ordered(kind, plain * thick, loose, loose * SAND["density"], None))
        elif kind in ("base", "subbase"):
            loose = wide * thick * STONE["compaction"] * STONE["waste"]
            kilograms = loose * density  # what it weighs as delivered
            money = Fraction(price) * (
                kilograms / KILOGRAMS[sold] if sold in KILOGRAMS else loose / CUBIC_METERS[sold]
            )
            found.append(Ordered(kind, wide * thick, loose, kilograms, money))
    return found, wide * deep * STONE["swell"]


def rows_of_three(sheet: Sheet, name: str) -> list[tuple[str, ...]]:
    """Every row along x or y of three spots or more on one flat piece: where a straightedge may be laid."""
    spots = {each: spot.at for each, spot in sheet.yards[name].points.items() if spot.at}
    ring = [sheet.place(corner) for corner in sheet.texts["areas"][name]["outline"]]
    found = []
    for across in (1, 0):
        lines: dict[Fraction, dict[Fraction, str]] = {}
        for each, at in spots.items():
            lines.setdefault(at[across], {}).setdefault(at[1 - across], each)
        for line in lines.values():
            row = [line[at] for at in sorted(line)]
            for part in _on_one_piece(sheet, name, row, ring):
                if len(part) > 2:
                    found.append(part)
    return found


def _on_one_piece(sheet: Sheet, name: str, row: Sequence[str], ring: Sequence[Place]) -> list[tuple[str, ...]]:
    """The row parted where the ground folds, and where it leaves the area."""
    bent = "corners" not in sheet.texts["areas"][name]["surface"]
    parts: list[list[str]] = [[row[0]]]
    for one, other in pairwise(row):
        a, b = (sheet.every[each].at for each in (one, other))
        assert a is not None
        assert b is not None
        middle = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
        last = [*parts[-1], other]
        common = (
            set.intersection(*(set(sheet.falls_at(name, sheet.every[each].at or a)) for each in last))
            if bent
            else {a}
        )
        if not _within(ring, middle):
            parts.append([other])
        elif common:
            parts[-1].append(other)
        else:
            parts.append([one, other])
    return [tuple(part) for part in parts]


def _within(ring: Sequence[Place], at: Place) -> bool:
    """Whether a place lies within a ring or on its line: the ray to the right crosses it an odd number of times."""
    odd = False
    for (ax, ay), (bx, by) in zip(ring, [*ring[1:], ring[0]], strict=True):
        in_line = (bx - ax) * (at[1] - ay) == (by - ay) * (at[0] - ax)
        if in_line and min(ax, bx) <= at[0] <= max(ax, bx) and min(ay, by) <= at[1] <= max(ay, by):
            return True
        if (ay > at[1]) != (by > at[1]) and at[0] < ax + (at[1] - ay) * (bx - ax) / (by - ay):
            odd = not odd
    return odd


def falls_down(spots: Mapping[str, Place], way: Place | Callable[[Place], Place]) -> set[tuple[str, str]]:
    """Which spots follow on one another down a way: from each the nearest within a quarter to the side, and back.

    Where the way is not the same everywhere it is the one at the lower spot, and at the upper it may not lead back.
    """

    def ways(at: Place) -> Place:
        return way(at) if callable(way) else way

    ahead: dict[str, dict[str, Fraction]] = {name: {} for name in spots}
    for one, a in spots.items():
        for other, b in spots.items():
            x, y, (u, v), (first_u, first_v) = b[0] - a[0], b[1] - a[1], ways(b), ways(a)
            along, aside = x * u + y * v, abs(x * v - y * u)
            if along > 0 and 4 * aside <= along and x * first_u + y * first_v > 0:
                ahead[one][other] = x * x + y * y
    pairs = set()
    for one, others in ahead.items():
        pairs |= {(one, other) for other, far in others.items() if far == min(others.values())}
    for other in spots:
        behind = {one: ahead[one][other] for one in spots if other in ahead[one]}
        pairs |= {(one, other) for one, far in behind.items() if far == min(behind.values())}
    return pairs
