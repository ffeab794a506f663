"""The simulated year as a Markdown table and an SVG plot: means with the spread over the seeds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import mean, stdev

Results = Mapping[str, Sequence[Mapping[str, float]]]
"""Figures of every seed, by the name of the way."""

FIGURES = {
    "sheets": "full sheets bought",
    "money": "money",
    "scrap": "scrap, m²",
    "handled": "pieces handled",
    "fill": "rack fill",
    "racked": "left on the rack, m²",
}
_WIDTH, _HEIGHT, _PANEL = 860, 265, 205


@dataclass(frozen=True, slots=True)
class Spread:
    """Mean, standard deviation and the range of one figure."""

    mean: float
    deviation: float
    low: float
    high: float


def spread(values: Sequence[float]) -> Spread:
    """Return the spread of the values of all seeds."""
    return Spread(mean(values), stdev(values) if len(values) > 1 else 0.0, min(values), max(values))


def table(results: Results, bounds: Sequence[float]) -> str:
    """Return the table; `bounds` are the sheets that no way could do without, seed by seed."""
    lines = ["| way | " + " | ".join(FIGURES.values()) + " |", "|---|" + "---|" * len(FIGURES)]
    for way, rows in results.items():
        cells = [_cell(name, spread([row[name] for row in rows])) for name in FIGURES]
        lines.append(f"| {way} | " + " | ".join(cells) + " |")
    lines.append(f"| bound: the whole year as one job | {_cell('sheets', spread(bounds))} |" + " |" * 5)
    return "\n".join(lines) + "\n"


def _cell(name: str, s: Spread) -> str:
    if name == "fill":
        return f"{s.mean:.0%} ± {s.deviation:.0%}"
    places = 1 if name in ("scrap", "racked", "sheets") else 0
    return f"{s.mean:.{places}f} ± {s.deviation:.{places}f}"


def plot(results: Results, bounds: Sequence[float]) -> str:
    """Return the plot as SVG: a panel for sheets, scrap, handling and fill, a dot for each seed."""
    panels = ("sheets", "scrap", "handled", "fill")
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {_HEIGHT}" '
        'font-family="sans-serif" font-size="11" fill="black">',
        f'<rect width="{_WIDTH}" height="{_HEIGHT}" fill="white"/>',
    ]
    for n, name in enumerate(panels):
        out += _panel(10 + n * (_PANEL + 8), name, results, bounds if name == "sheets" else ())
    legend = "   ".join(f"{chr(65 + k)}: {way}" for k, way in enumerate(results))
    out.append(f'<text x="10" y="{_HEIGHT - 24}">{legend}</text>')
    out.append(f'<text x="10" y="{_HEIGHT - 8}">bar: mean; dots: seeds; dashes: bound</text></svg>')
    return "\n".join(out) + "\n"


def _panel(x: float, name: str, results: Results, bounds: Sequence[float]) -> list[str]:
    """Return one panel: a bar to the mean for each way, and its seeds as dots."""
    top, base = 40.0, _HEIGHT - 60.0
    most = max(row[name] for rows in results.values() for row in rows) or 1.0
    step = _PANEL / len(results)

    def y(value: float) -> float:
        return base - (base - top) * value / most

    out = [f'<text x="{x}" y="22" font-weight="bold">{FIGURES[name]}</text>']
    for k, rows in enumerate(results.values()):
        values = [row[name] for row in rows]
        left, height = x + k * step + 4, base - y(mean(values))
        out.append(
            f'<rect x="{left:.1f}" y="{base - height:.1f}" width="{step - 8:.1f}" height="{height:.1f}" '
            'fill="#ccc" stroke="black"/>'
        )
        for n, value in enumerate(values):
            dot_x = left + (step - 8) * (n + 1) / (len(values) + 1)
            out.append(f'<circle cx="{dot_x:.1f}" cy="{y(value):.1f}" r="1.8"/>')
        label = f"{mean(values):.0%}" if name == "fill" else f"{mean(values):.0f}"
        out.append(
            f'<text x="{left + step / 2 - 4:.1f}" y="{base + 14}" text-anchor="middle">{chr(65 + k)}</text>'
        )
        middle, above = left + step / 2 - 4, y(max(values)) - 5
        out.append(f'<text x="{middle:.1f}" y="{above:.1f}" text-anchor="middle">{label}</text>')
    if bounds:
        at = y(mean(bounds))
        ends = f'x1="{x}" y1="{at:.1f}" x2="{x + _PANEL}" y2="{at:.1f}"'
        out.append(f'<line {ends} stroke="black" stroke-dasharray="5 3"/>')
    return out
