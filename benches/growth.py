"""Lays out how the time of a check and of a gap grows, from what `cargo bench --bench bay -- growth` left.

Usage: python3 benches/growth.py [--write]    (from the repository's top folder, after the bench)
Prints the tables; with --write replaces those in docs/performance.md and draws docs/pictures/growth.svg.
"""
import json
import math
import sys
from datetime import date
from pathlib import Path

TOP = Path(__file__).resolve().parents[1]
LEFT = TOP / "target" / "criterion"
PAGE = TOP / "docs" / "performance.md"
PLOT = TOP / "docs" / "pictures" / "growth.svg"
MARKS = ("<!-- growth: begin -->", "<!-- growth: end -->")
# Title, what is counted, and the group of the bench. Colours of Okabe and Ito, with a shape each.
SERIES = [
    ("growth with bodies", "bodies", "a check, the bay as full whatever its size", "#0072B2"),
    ("growth as the bay fills up", "bodies", "a check, a bay that fills up", "#E69F00"),
    ("growth with triangles", "triangles of either torus", "100 gaps between two tori", "#009E73"),
]


def points(group):
    found = []
    for folder in (LEFT / group).iterdir():
        estimates = folder / "new" / "estimates.json"
        if estimates.exists():
            found.append((int(folder.name), json.loads(estimates.read_text())["median"]["point_estimate"] / 1e6))
    return sorted(found)


def a_doubling(before, after):
    """Times as long for each doubling between two points."""
    return (after[1] / before[1]) ** (math.log(2) / math.log(after[0] / before[0]))


def short(value):
    return f"{value:.2f}" if value < 10 else f"{value:.0f}"


def table(counted, title, found):
    steps = ["", *(f"{a_doubling(*pair):.2f}" for pair in zip(found, found[1:]))]
    whole = f"{a_doubling(found[0], found[-1]):.2f} on average from {found[0][0]} to {found[-1][0]}."
    return "\n".join([
        f"| {counted} | " + " | ".join(str(count) for count, _ in found) + " |",
        "|" + "---|" * (len(found) + 1),
        f"| {title}, ms | " + " | ".join(short(ms) for _, ms in found) + " |",
        "| times as long a doubling | " + " | ".join(steps) + " |",
        "",
        f"Times as long a doubling of the {counted.split()[0]}: {whole}",
    ])


def plot(series):
    """Both axes logarithmic; the dashed lines double for each doubling."""
    wide, high, left, top, side = 760, 430, 70, 20, 330
    counts = [count for *_, found in series for count, _ in found]
    times = [ms for *_, found in series for _, ms in found]
    span = lambda values: (math.floor(math.log10(min(values))), math.ceil(math.log10(max(values))))
    (x0, x1), (y0, y1) = span(counts), span(times)
    x = lambda count: left + (math.log10(count) - x0) / (x1 - x0) * (wide - left - 50)
    y = lambda ms: top + (y1 - math.log10(ms)) / (y1 - y0) * side
    out = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" font-family="sans-serif" font-size="12">',
           f'<rect width="{wide}" height="{high}" fill="white"/>']
    for power in range(x0, x1 + 1):
        out.append(f'<path d="M{x(10 ** power):.1f} {top}V{top + side}" stroke="#ddd"/>'
                   f'<text x="{x(10 ** power):.1f}" y="{top + side + 16}" text-anchor="middle">{10 ** power:,}</text>')
    for power in range(y0, y1 + 1):
        label = f"{10 ** power:g} ms"
        out.append(f'<path d="M{left} {y(10 ** power):.1f}H{wide - 50}" stroke="#ddd"/>'
                   f'<text x="{left - 6}" y="{y(10 ** power) + 4:.1f}" text-anchor="end">{label}</text>')
    for at, (counted, title, colour, found) in enumerate(series):
        line = " ".join(f"{x(count):.1f},{y(ms):.1f}" for count, ms in found)
        out.append(f'<polyline points="{line}" fill="none" stroke="{colour}" stroke-width="2"/>')
        for count, ms in found:
            cx, cy = x(count), y(ms)
            out.append([f'<circle cx="{cx:.1f}" cy="{cy:.1f}" r="4" fill="{colour}"/>',
                        f'<rect x="{cx - 4:.1f}" y="{cy - 4:.1f}" width="8" height="8" fill="{colour}"/>',
                        f'<path d="M{cx:.1f} {cy - 5:.1f}l5 9h-10z" fill="{colour}"/>'][at])
        first, last = found[0], found[-1]
        straight = (last[0], first[1] * last[0] / first[0])
        if math.log10(straight[1]) > y1:
            straight = (first[0] * 10 ** y1 / first[1], 10 ** y1)
        out.append(f'<path d="M{x(first[0]):.1f} {y(first[1]):.1f}L{x(straight[0]):.1f} {y(straight[1]):.1f}" '
                   f'stroke="{colour}" stroke-dasharray="3 4" fill="none" opacity="0.6"/>')
        out.append(f'<text x="{left + 8}" y="{top + side + 34 + 16 * at}" fill="{colour}">'
                   f'{["●", "■", "▲"][at]} {title} (by {counted}); dashed: twice for each doubling</text>')
    return "\n".join(out + ["</svg>", ""])


def main():
    series = []
    for group, counted, title, colour in SERIES:
        if not (LEFT / group).is_dir():
            sys.exit(f"nothing measured of '{group}': run `cargo bench --bench bay --no-default-features -- growth` first")
        series.append((counted, title, colour, points(group)))
    text = "\n\n".join(table(counted, title, found) for counted, title, _, found in series)
    print(text)
    if "--write" in sys.argv[1:]:
        page = PAGE.read_text()
        before, rest = page.split(MARKS[0])
        _, after = rest.split(MARKS[1])
        PAGE.write_text(f"{before}{MARKS[0]}\nRun of {date.today()}, medians.\n\n{text}\n{MARKS[1]}{after}")
        PLOT.write_text(plot(series))


if __name__ == "__main__":
    main()
