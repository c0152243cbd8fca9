"""The plan over several pieces of one garment: each in short, and the yarn of all of them."""

from collections.abc import Iterator, Sequence
from typing import Any

from caller.calling.words.numbers import counted
from caller.errors import GaugeError, YarnError
from caller.pattern import amounts
from caller.pattern.pattern import Pattern
from caller.sheets import plan
from caller.sheets.winding import amount


def as_json(pieces: Sequence[Pattern]) -> dict[str, Any]:
    """The pieces' plans in short and the yarns' totals, as plain data.

    Raises GaugeError where the pieces have different gauges, YarnError where they mean different
    yarns by one name.
    """
    _check(pieces)
    plans = [plan.as_json(piece) for piece in pieces]
    kept = (
        "title",
        "cast_on",
        "rows",
        "finished_cm",
        "supplies_total",
        "supplies_at_once",
        "winding",
        "warnings",
    )
    gauge = pieces[0].gauge
    return {
        "gauge": None if gauge is None else gauge.written(),
        "pieces": [{name: one[name] for name in kept} for one in plans],
        "supplies_total": sum(one["supplies_total"] for one in plans),
        "tails_to_weave_in": sum(one["tails_to_weave_in"] for one in plans),
        "yarns": _yarns(pieces, plans),
    }


def as_lines(pieces: Sequence[Pattern]) -> Iterator[str]:
    """The same as sentences."""
    data = as_json(pieces)
    gauge = f" at {data['gauge']}" if data["gauge"] else ""
    yield f"{len(pieces)} pieces{gauge}."
    for piece in data["pieces"]:
        size = ""
        if piece["finished_cm"]:
            size = "; {:g} by {:g} cm".format(*piece["finished_cm"])
        ends = counted(piece["supplies_total"], "end")
        yield (
            f"{piece['title']}: cast on {piece['cast_on']}, {counted(piece['rows'], 'row')}{size}; "
            f"{ends} in all, {piece['supplies_at_once']} at once."
        )
    yield (
        f"{counted(data['supplies_total'], 'end')} to hang in all, "
        f"{counted(data['tails_to_weave_in'], 'tail')} to weave in."
    )
    for yarn in data["yarns"]:
        yield (
            f"{yarn['yarn']}: {yarn['stitches']} stitches{amount(yarn)}; "
            f"{counted(yarn['bobbins'], 'bobbin')} at most in one piece; "
            f"in {', '.join(yarn['pieces'])}."
        )
    yield "Each piece has a plan of its own: row-caller plan PATTERN."


def _yarns(pieces: Sequence[Pattern], plans: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Each yarn over all pieces, in the order in which they are first named."""
    parts: dict[str, list[tuple[str, dict[str, Any]]]] = {}
    for piece, one in zip(pieces, plans, strict=True):
        for entry in one["winding"]:
            parts.setdefault(entry["yarn"], []).append((piece.title, entry))
    known = {yarn.name: yarn for piece in pieces for yarn in piece.yarns}
    found = []
    for name, entries in parts.items():
        ball, mass = known[name].ball_g, _sum([entry["mass_g"] for _, entry in entries])
        found.append(
            {
                "yarn": name,
                "pieces": [title for title, _ in entries],
                "stitches": sum(entry["stitches"] for _, entry in entries),
                "bobbins": max(entry["bobbins"] for _, entry in entries),
                "length_m": _sum([entry["length_m"] for _, entry in entries]),
                "mass_g": mass,
                "balls": None if mass is None or ball is None else amounts.balls(mass, ball),
            }
        )
    return found


def _sum(parts: list[float | None]) -> float | None:
    known = [part for part in parts if part is not None]
    return round(sum(known), 1) if len(known) == len(parts) else None


def _check(pieces: Sequence[Pattern]) -> None:
    first = pieces[0]
    yarns = {yarn.name: (yarn, first) for yarn in first.yarns}
    for piece in pieces[1:]:
        if piece.gauge != first.gauge:
            gauges = [one.gauge.written() if one.gauge else "no gauge" for one in (first, piece)]
            raise GaugeError(
                f"{first.title!r} has {gauges[0]} and {piece.title!r} has {gauges[1]}",
                "the pieces of one garment have one gauge: make their charts at the same one, or "
                "write it into both with row-caller swatch.",
            )
        for yarn in piece.yarns:
            known, where = yarns.setdefault(yarn.name, (yarn, piece))
            if known != yarn:
                raise YarnError(
                    f"The yarn {yarn.name!r} of {piece.title!r} is not the same as in "
                    f"{where.title!r}",
                    "give both the same colour, count and ball, or one of them another name.",
                )
