"""SVG path data as absolute segments, moved and turned without a transform."""

import re
from collections.abc import Callable

Segment = tuple[str, tuple[float, ...]]
"""One of M L C Q A Z with its numbers; points are absolute."""

_COMMAND = re.compile(r"[\s,]*([A-Za-z])")
_NUMBER = re.compile(r"[\s,]*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)")
_FLAG = re.compile(r"[\s,]*([01])")
_COUNT = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


def parsed(d: str) -> tuple[Segment, ...]:
    """Path data as absolute M L C Q A Z segments; H, V, S, T and relative commands are written out.

    Raises ValueError if the text is not path data.
    """
    out: list[Segment] = []
    x = y = start_x = start_y = 0.0
    control = (0.0, 0.0)
    for command, given in _commands(d):
        kind, relative = command.upper(), command.islower()
        dx, dy = (x, y) if relative else (0.0, 0.0)
        if kind == "Z":
            out.append(("Z", ()))
            x, y = start_x, start_y
            continue
        if kind == "A":
            end = (given[5] + dx, given[6] + dy)
            out.append(("A", (*given[:5], *end)))
        elif kind == "H":
            end = (given[0] + dx, y)
            out.append(("L", end))
        elif kind == "V":
            end = (x, given[0] + dy)
            out.append(("L", end))
        else:
            points = [v + (dx, dy)[i % 2] for i, v in enumerate(given)]
            if kind in "ST":
                smooth = out and out[-1][0] == {"S": "C", "T": "Q"}[kind]
                points[:0] = (2 * x - control[0], 2 * y - control[1]) if smooth else (x, y)
                kind = {"S": "C", "T": "Q"}[kind]
            out.append((kind, tuple(points)))
            end = (points[-2], points[-1])
            if kind in "CQ":
                control = (points[-4], points[-3])
            if kind == "M":
                start_x, start_y = end
        x, y = end
    return tuple(out)


def mapped(segments: tuple[Segment, ...], move: Callable[[float, float], tuple[float, float]]) -> tuple[Segment, ...]:
    """The segments under `move`, which shifts, mirrors or turns by quarter turns."""
    origin, across, down = move(0, 0), move(1, 0), move(0, 1)
    ax, ay = across[0] - origin[0], across[1] - origin[1]
    bx, by = down[0] - origin[0], down[1] - origin[1]
    mirrored = ax * by - ay * bx < 0
    lying = ax == 0
    out: list[Segment] = []
    for command, numbers in segments:
        if command == "A":
            rx, ry, angle, large, sweep, x, y = numbers
            angle = -angle if mirrored else angle
            rx, ry = (ry, rx) if lying else (rx, ry)
            out.append(("A", (rx, ry, angle, large, 1 - sweep if mirrored else sweep, *move(x, y))))
        else:
            pairs = zip(numbers[::2], numbers[1::2], strict=True)
            out.append((command, tuple(v for pair in pairs for v in move(*pair))))
    return tuple(out)


def written(segments: tuple[Segment, ...]) -> str:
    """Path data of the segments, three decimals at most."""
    return "".join(command + " ".join(number(v) for v in numbers) for command, numbers in segments)


def number(value: float) -> str:
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _commands(d: str):
    at = 0
    while match := _COMMAND.match(d, at):
        command, at = match[1], match.end()
        count = _COUNT.get(command.upper())
        if count is None:
            raise ValueError(f"path data has no command {command!r}")
        while True:
            numbers = []
            for i in range(count):
                pattern = _FLAG if command in "Aa" and i in (3, 4) else _NUMBER
                match = pattern.match(d, at)
                if match is None:
                    raise ValueError(f"path data {d!r} breaks off at {at}")
                numbers.append(float(match[1]))
                at = match.end()
            yield command, numbers
            command = {"M": "L", "m": "l"}.get(command, command)
            if not count or not _NUMBER.match(d, at):
                break
    if d[at:].strip():
        raise ValueError(f"path data {d!r} breaks off at {at}")
