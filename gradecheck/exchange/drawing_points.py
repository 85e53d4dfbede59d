"""From a drawing to points of a plan: what must be answered is asked, the rest is told as it was taken."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from gradecheck.catalogue import _, count
from gradecheck.exchange.answers import (
    ALL_LAYERS,
    ImportAnswers,
    ImportQuestion,
    ImportResult,
    ask_prefix,
    in_quotes,
    short,
)
from gradecheck.exchange.drawing_outline import outline_on
from gradecheck.exchange.found import SURVEY_FOOT, DrawnPoint, FoundDrawing, PlainPoints, shortest_decimal
from gradecheck.exchange.import_rows import LENGTHS, PLAIN_NAME, PLAIN_TEXT, ImportRow, Sizes, plainly, read_rows
from gradecheck.exchange.list_in import HEADINGS, plain_heading
from gradecheck.exchange.plain_list import PlainList
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import FOOT, Length
from gradecheck.measure.typed import DIGITS, DIGITS_OF_A_PLACE, NotUnderstoodError
from gradecheck.plan.point_list import MOST_ROWS, decimal, prefixed
from gradecheck.plan.problems import PlanProblemsError, Problem, suggestion


def take_drawing(drawing: FoundDrawing, answers: ImportAnswers, file: str) -> ImportResult:
    """The points of a drawing, and the outline where one was asked for. Raises `PlanProblemsError`."""
    taken = ImportResult(remarks=list(drawing.remarks))
    if drawing.left_out.total():
        others = ", ".join(f"{number} {kind}" for kind, number in drawing.left_out.items() if number)
        taken.remarks.append(_("left out: {others}", others=others))
    one = _one(drawing, answers, taken)
    points = _points(drawing, answers, file, taken)
    columns = _attributes(points, answers, file, taken)
    names = _texts_of(points, columns["name"]) if "name" in columns else None
    if points:
        ask_prefix(names, answers, taken)
    elif not taken.questions and not answers.outline:
        there = in_quotes(list(drawing.layers()))
        says = _(
            "There are no points on what was named; there is something on {there}. --outline LAYER takes a line.",
            there=there,
        )
        raise PlanProblemsError([Problem(file, 1, 1, says)])
    if not drawing.planar and not answers.planar:
        taken.questions.append(
            ImportQuestion(
                _(
                    "Nothing in the file says that its numbers are lengths; GeoJSON is longitude and latitude "
                    "otherwise."
                ),
                "planar",
                _("--planar says they are."),
                _("Type yes where they are lengths."),
            )
        )
    if taken.questions or one is None:
        return taken
    taken.units = _usual_units(one, answers)
    plain = _by_columns(points, columns, one, taken.units, answers.prefix) or plainly(
        _sizes_of_points(points, columns, one, taken.units), answers.prefix
    )
    if plain is None:
        rows = [ImportRow(each.where, _cells(each, columns, one, taken.units)) for each in points]
        plain = read_rows(rows, dict.fromkeys(LENGTHS, taken.units.value), answers.prefix, file)
    taken.points = plain
    if answers.outline:
        taken.outline = outline_on(drawing, answers.outline, one, file)
    else:
        closed = {each.layer: None for each in drawing.lines if each.closed}
        if closed:
            taken.remarks.append(
                _(
                    "--outline LAYER takes a closed line as the area's outline: {lines}",
                    lines=in_quotes(list(closed)),
                )
            )
    return taken


def _one(drawing: FoundDrawing, answers: ImportAnswers, taken: ImportResult) -> Fraction | None:
    """What a number of the drawing counts, in meters."""
    if answers.units:
        return SURVEY_FOOT if answers.units == "usft" else Units(answers.units).one.metres
    if drawing.one is not None and drawing.trusted:
        taken.remarks.append(_("numbers are in {counts}, as the file says", counts=drawing.counts))
        return drawing.one
    corners = [each.at for each in drawing.drawn if each.at]
    corners += [corner for each in drawing.lines for corner, _ in each.corners]
    corners += [corner for _, face in drawing.faces for corner in face]
    xs, ys = [at[0] for at in corners] or [Fraction(0)], [at[1] for at in corners] or [Fraction(0)]
    wide, deep = max(xs) - min(xs), max(ys) - min(ys)
    said = _("The file says {counts}.", counts=drawing.counts) if drawing.counts else _("The file doesn't say.")
    taken.questions.append(
        ImportQuestion(
            _(
                "What unit are the numbers in? It is {wide:.6g} by {deep:.6g} of them. {said}",
                wide=float(wide),
                deep=float(deep),
                said=said,
            ),
            "units",
            _("--units in, ft, mm, cm, m or usft."),
            _("Type in, ft, mm, cm, m or usft."),
        )
    )
    return None


def _usual_units(one: Fraction, answers: ImportAnswers) -> Units:
    for units in (Units.IN, Units.FT, Units.MM, Units.CM, Units.M):
        if units.one.metres == one:
            return units
    return Units.FT if one % FOOT == 0 or answers.units == "usft" or one == SURVEY_FOOT else Units.M


def _points(drawing: FoundDrawing, answers: ImportAnswers, file: str, taken: ImportResult) -> Sequence[DrawnPoint]:
    """The points of the layers that were named, or of the only one; corners of faces where it has no points."""
    there = dict.fromkeys(drawing.layers_of_points()) or dict.fromkeys(layer for layer, _ in drawing.faces)
    every = drawing.layers()
    for layer in answers.layers:
        if layer != ALL_LAYERS and layer not in every:
            near = suggestion(layer, every)
            says = _(
                "There is no layer “{quoted}”; there are {listed}.{meant}",
                quoted=short(layer),
                listed=in_quotes(list(every)),
                meant=near,
            )
            raise PlanProblemsError([Problem(file, 1, 1, says)])
    chosen = set(there) if ALL_LAYERS in answers.layers else set(answers.layers) or set(there)
    if len(there) > 1 and not answers.layers:
        taken.questions.append(
            ImportQuestion(
                _("Points are on several layers: {listed}. Which ones?", listed=in_quotes(list(there))),
                "layer",
                _('--layer NAME, again for more, or --layer "{all_layers}" for all.', all_layers=ALL_LAYERS),
                _("Type a layer, with ; between several, or {all_layers} for all.", all_layers=ALL_LAYERS),
            )
        )
        return []
    if drawing.columns is not None and chosen & set(there):  # all have names
        return drawing.columns if chosen >= set(there) else drawing.columns.on(chosen)
    points = [each for each in drawing.points if each.layer in chosen]
    alone = [each for each in points if each.texts]
    if 0 < len(alone) < len(points):
        named = {(each.layer, each.at) for each in alone}
        alone = [each for each in points if each.texts or (each.layer, each.at) not in named]
    alone = alone or points
    if alone:
        return alone
    corners = dict.fromkeys(corner for layer, face in drawing.faces if layer in chosen for corner in face)
    if corners:
        taken.remarks.append(
            _("{corners} of faces taken as points; the faces are not kept", corners=count(len(corners), "corner"))
        )
    return [
        DrawnPoint("", corner, {}, _("corner {number}", number=number)) for number, corner in enumerate(corners, 1)
    ]


def _attributes(
    points: Sequence[DrawnPoint], answers: ImportAnswers, file: str, taken: ImportResult
) -> dict[str, str]:
    """For name, elevation and note the attribute that says it; the elevation may be ``z`` or ``none``."""
    plain = points.texts if isinstance(points, PlainPoints) else None
    keys = dict.fromkeys(plain or (key for each in points for key in each.texts))
    found: dict[str, str] = {}
    for column in ("name", "elevation", "note"):
        if said := answers.columns.get(column):
            near = {key.casefold(): key for key in keys}.get(said.casefold())
            if near is None and not (column == "elevation" and said in ("z", "none")):
                says = _(
                    "No point has “{quoted}”; there is {listed}.",
                    quoted=short(said),
                    listed=in_quotes(list(keys)) or _("nothing beside them"),
                )
                raise PlanProblemsError([Problem(file, 1, 1, says)])
            found[column] = near or said
        elif known := next((key for name in HEADINGS[column] for key in keys if plain_heading(key) == name), None):
            found[column] = known
    if "elevation" not in found:
        if points and all(each.at is not None and each.at[2] == 0 for each in points):
            taken.questions.append(
                ImportQuestion(
                    _("All points lie at z 0. Is that their elevation?"),
                    "columns",
                    _("--columns elevation=z; --columns elevation=none leaves it to the plan's surface."),
                    _("Type z where it is; none leaves it to the plan's surface."),
                    "elevation",
                )
            )
        found["elevation"] = "z"
    elif "elevation" not in answers.columns and any(_differ(each, found["elevation"]) for each in points):
        taken.questions.append(
            ImportQuestion(
                _(
                    "The heights of points and their “{quoted}” differ. Which is it?",
                    quoted=short(found["elevation"]),
                ),
                "columns",
                _('--columns elevation=z or --columns "elevation={quoted}".', quoted=short(found["elevation"])),
                _("Type z, or {quoted}.", quoted=short(found["elevation"])),
                "elevation",
            )
        )
    sources = [
        _("{column} from “{quoted}”", column=column, quoted=short(key)) for column, key in found.items() if key != "z"
    ]
    if sources:
        taken.remarks.append(", ".join(sources))
    return found


def _texts_of(points: Sequence[DrawnPoint], key: str) -> Sequence[str]:
    if isinstance(points, PlainPoints):
        return points.texts.get(key, ("",) * len(points))
    return [each.texts.get(key, "") for each in points]


def _by_columns(
    points: Sequence[DrawnPoint], columns: dict[str, str], one: Fraction, units: Units, prefix: str
) -> PlainList | None:
    """The points of plain columns, where the reader of point lists takes all of them as they are."""
    if not isinstance(points, PlainPoints) or columns["elevation"] not in ("z", "none"):
        return None
    names, notes = _texts_of(points, columns.get("name", "")), _texts_of(points, columns.get("note", ""))
    if prefix:
        names = [prefixed(prefix, name or str(number)) for number, name in enumerate(names, 1)]
    times = one / units.one.metres
    if (
        len(points) > MOST_ROWS
        or len(set(map(str.lower, names))) < len(names)
        or not all(map(PLAIN_NAME.fullmatch, names))
        or not all(map(PLAIN_TEXT.fullmatch, set(notes)))
        or points.largest * float(times) >= 10**DIGITS - 1
    ):
        return None
    places = points.places[:2] if columns["elevation"] == "none" else points.places
    return PlainList(names, notes, places, times, units)


def _differ(point: DrawnPoint, key: str) -> bool:
    text, z = point.texts.get(key, ""), point.at[2] if point.at is not None else None
    said = shortest_decimal(text) if text else None
    return bool(text) and z is not None and (said is None or abs(said - z) > Fraction(1, 10**5))


_STEPS = 10**6
"""Of a unit, as a list writes them: six decimals."""


def _sizes_of_points(
    points: Sequence[DrawnPoint], columns: dict[str, str], one: Fraction, units: Units
) -> Iterator[Sizes]:
    """What a list would hold of them, to the last of its decimals; `NotUnderstoodError` for what it would refuse."""
    name, note, key = columns.get("name", ""), columns.get("note", ""), columns["elevation"]
    metres = units.one.metres
    times = None if one == metres else one / metres
    counted = None if metres == 1 else metres
    place, height = 10**DIGITS_OF_A_PLACE, 10**DIGITS

    def written(number: Fraction | None, most: int) -> Length | None:
        if number is None:
            return None
        if times is not None:
            number *= times
        above, below = number.as_integer_ratio()
        if _STEPS % below:
            steps = (2 * abs(above) * _STEPS + below) // (2 * below)
            number = Fraction(-steps if above < 0 else steps, _STEPS)
            above, below = number.as_integer_ratio()
        if abs(above) >= most * below:
            raise NotUnderstoodError
        return Length(number if counted is None else number * counted)

    for point in points:
        texts = point.texts
        x, y, z = point.at or (None, None, None)
        if key in texts:
            z = shortest_decimal(texts[key]) if texts[key] else None
            if z is None and texts[key]:
                raise NotUnderstoodError
        elif key == "none":
            z = None
        yield texts.get(name, ""), texts.get(note, ""), written(x, place), written(y, place), written(z, height)


def _cells(point: DrawnPoint, columns: dict[str, str], one: Fraction, units: Units) -> dict[str, str]:
    """A point of a drawing as the cells of a list."""
    x, y, z = point.at or (None, None, None)
    texts: dict[str, str] = {c: point.texts.get(columns[c], "") for c in ("name", "note") if c in columns}
    key = columns["elevation"]
    if key in point.texts:
        text = point.texts[key]
        z = shortest_decimal(text) if text else None
        if text and z is None:
            texts["elevation"] = text
    elif key == "none":
        z = None
    for column, number in zip(LENGTHS, (x, y, z), strict=True):
        if number is not None:
            texts[column] = decimal(Length(number * one), units)
    return texts
