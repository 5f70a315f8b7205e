"""The fault matrix of a load: a row for each fault, a column for each lumen, readable in black and white."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.papers.drawing.svg import INK, Picture

if TYPE_CHECKING:
    from patency.flow import BlindSpots, FaultEffects

_CELL_MM = 3.4
_LETTER_MM = 1.3  # no letter of the typeface is wider at this size, on average over a name
_HEAD_MM = 26.0
_CHANCE_MM = 15.0
_FOOT_MM = 12.0
_MARGIN_MM = 3.0
_TEXT_MM = 2.5
_LEAST_LOSS = 0.01  # smaller losses stay white


def plot_faults(effects: FaultEffects, spots: BlindSpots) -> str:
    """Draw the fault matrix of a load.

    Parameters
    ----------
    effects
        What each fault does.
    spots
        What the sensors see of it.

    Returns
    -------
    str
        SVG source. A cell is the darker the more of its flow the lumen loses, crossed where it falls below its need;
        a lumen that is not judged otherwise has a question mark at its name. The columns behind say how likely the
        sensors raise an alarm, in each comparison.
    """
    ports = {fault.lumen: fault.place for fault in effects.faults if fault.lumen is not None}
    unsure = [" ?" if points else "" for points in effects.left_open]
    names = [f"{ports.get(key, key[2])}{mark}" for key, mark in zip(effects.lumens, unsure, strict=True)]
    chances = list(spots.probability.items())
    before = _LETTER_MM * max(len(fault.name) for fault in effects.faults)
    width = before + len(names) * _CELL_MM + len(chances) * _CHANCE_MM + 2 * _MARGIN_MM
    height = _HEAD_MM + len(effects.faults) * _CELL_MM + _FOOT_MM + _MARGIN_MM
    picture = Picture(
        width, height, "each fault of the load, the flow it takes from each lumen, and how likely it shows"
    )
    left = _MARGIN_MM + before
    for column, name in enumerate(names):
        _upright(picture, left + (column + 0.75) * _CELL_MM, _HEAD_MM - 1.5, name)
    behind = left + len(names) * _CELL_MM
    for column, (name, _) in enumerate(chances):
        _upright(picture, behind + (column + 0.6) * _CHANCE_MM, _HEAD_MM - 1.5, _short(name))
    losses, short = effects.largest_loss, effects.falls_short
    for row, fault in enumerate(effects.faults):
        top = _HEAD_MM + row * _CELL_MM
        base = top + 0.75 * _CELL_MM
        picture.text(left - 1.0, base, fault.name, _TEXT_MM, text_anchor="end")
        for column in range(len(names)):
            _cell(picture, left + column * _CELL_MM, top, float(losses[row, column]), crossed=bool(short[row, column]))
        for column, (_, values) in enumerate(chances):
            shown = f"{100.0 * values[row]:.0f} %"
            picture.text(behind + (column + 0.5) * _CHANCE_MM, base, shown, _TEXT_MM)
    base = height - _MARGIN_MM - 4.5
    words = "grey: share of its flow the lumen loses, black all of it; crossed: falls below its need"
    words += "; ?: not judged where not crossed" if any(unsure) else ""
    picture.text(left, base, words, _TEXT_MM, text_anchor="start")
    alarm = f"behind: probability of an alarm, {100.0 * spots.alarm.false_alarms:g} % false alarms"
    picture.text(left, base + 4.0, alarm, _TEXT_MM, text_anchor="start")
    return picture.to_text()


def _cell(picture: Picture, x: float, y: float, loss: float, *, crossed: bool) -> None:
    """Draw one cell; light lines on dark ground and the other way round."""
    shade = round(255 * (1.0 - min(max(loss if loss >= _LEAST_LOSS else 0.0, 0.0), 1.0)))
    picture.add(
        "rect",
        x=x,
        y=y,
        width=_CELL_MM,
        height=_CELL_MM,
        fill=f"#{shade:02x}{shade:02x}{shade:02x}",
        stroke="#bbbbbb",
        stroke_width=0.1,
    )
    if crossed:
        ink, inset = "#ffffff" if shade < 128 else INK, 0.7
        for ends in ((y + inset, y + _CELL_MM - inset), (y + _CELL_MM - inset, y + inset)):
            picture.add(
                "line",
                x1=x + inset,
                y1=ends[0],
                x2=x + _CELL_MM - inset,
                y2=ends[1],
                stroke=ink,
                stroke_width=0.35,
            )


def _upright(picture: Picture, x: float, y: float, words: str) -> None:
    picture.text(x, y, words, _TEXT_MM, text_anchor="start", transform=f"rotate(-90 {x:.3f} {y:.3f})")


def _short(name: str) -> str:
    return name.removeprefix("against ").removesuffix(" of the same load")
