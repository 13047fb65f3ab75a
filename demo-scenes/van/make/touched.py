"""Where a person would touch each kind of surface: mark names and true points on it."""

import math

from frame import add, cross, square_pair, sub, times, turned, unit


def plane(prefix, through, normal, across_to, along_mm, across_mm):
    """A grid of marks on a plane: `along_mm` runs toward `across_to` (brought into the plane)."""
    normal = unit(normal)
    along = unit(sub(across_to, times(sum(a * b for a, b in zip(across_to, normal)), normal)))
    across = cross(normal, along)
    points = [add(through, add(times(u, along), times(v, across))) for v in across_mm for u in along_mm]
    return _named(prefix, points)


def cylinder(prefix, from_point, to_point, radius, rings=2, on_ring=4, start_deg=0.0, arc_deg=360.0):
    """Rings of marks at both ends of a round thing (and between); `arc_deg` less than 360 where the
    far side cannot be reached. Rings are turned against each other so that no two marks line up."""
    first, second = square_pair(sub(to_point, from_point))
    points = []
    for ring in range(rings):
        middle = add(from_point, times(ring / (rings - 1.0), sub(to_point, from_point)))
        for place in range(on_ring):
            share = (place + 0.5 * (ring % 2)) / on_ring
            angle = math.radians(start_deg + arc_deg * share)
            out = add(times(math.cos(angle), first), times(math.sin(angle), second))
            points.append(add(middle, times(radius, out)))
    return _named(prefix, points)


def circle(prefix, centre, normal, radius, count):
    """Marks round a rim."""
    first, second = square_pair(normal)
    points = []
    for place in range(count):
        angle = 2.0 * math.pi * place / count
        points.append(add(centre, times(radius, add(times(math.cos(angle), first), times(math.sin(angle), second)))))
    return _named(prefix, points)


def sphere(prefix, centre, radius):
    """Marks on the half of a ball that faces up and inboard (+y)."""
    outs = [(0, 0, 1), (1, 0.2, 0.3), (-1, 0.2, 0.3), (0, 1, 0.1), (0.5, 0.8, -0.5), (-0.5, 0.6, 0.7), (0.6, 0.5, 0.7)]
    return _named(prefix, [add(centre, times(radius, unit(out))) for out in outs])


def box(prefix, centre, size, turn_deg):
    """Three marks on each upright face and on top, two under the bottom edge."""
    spots = [(-0.36, -0.3), (0.35, -0.2), (-0.08, 0.34)]
    points = []
    for axis in range(3):
        for sign in (-1.0, 1.0):
            used = spots[:2] if axis == 2 and sign < 0 else spots
            for spot in used:
                local = [0.0, 0.0, 0.0]
                local[axis] = 0.5 * sign * size[axis]
                local[(axis + 1) % 3] = spot[0] * size[(axis + 1) % 3]
                local[(axis + 2) % 3] = spot[1] * size[(axis + 2) % 3]
                points.append(add(centre, turned(tuple(local), turn_deg)))
    return _named(prefix, points)


def _named(prefix, points):
    return [(f"{prefix}{number}", point) for number, point in enumerate(points, start=1)]
