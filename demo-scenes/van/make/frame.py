"""Points, turns and frames, as tuples: just enough to place the hidden truth."""

import math


def add(a, b):
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2])


def sub(a, b):
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def times(k, a):
    return (k * a[0], k * a[1], k * a[2])


def dot(a, b):
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a, b):
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def length(a):
    return math.sqrt(dot(a, a))


def unit(a):
    return times(1.0 / length(a), a)


def turned(point, turn_deg):
    """`point` turned about x, then y, then z of the fixed axes, by degrees, right-handed."""
    x, y, z = point
    c, s = math.cos(math.radians(turn_deg[0])), math.sin(math.radians(turn_deg[0]))
    y, z = c * y - s * z, s * y + c * z
    c, s = math.cos(math.radians(turn_deg[1])), math.sin(math.radians(turn_deg[1]))
    x, z = c * x + s * z, -s * x + c * z
    c, s = math.cos(math.radians(turn_deg[2])), math.sin(math.radians(turn_deg[2]))
    return (c * x - s * y, s * x + c * y, z)


def unturned(point, turn_deg):
    """The opposite of `turned`."""
    x, y, z = point
    c, s = math.cos(math.radians(-turn_deg[2])), math.sin(math.radians(-turn_deg[2]))
    x, y = c * x - s * y, s * x + c * y
    c, s = math.cos(math.radians(-turn_deg[1])), math.sin(math.radians(-turn_deg[1]))
    x, z = c * x + s * z, -s * x + c * z
    c, s = math.cos(math.radians(-turn_deg[0])), math.sin(math.radians(-turn_deg[0]))
    return (x, c * y - s * z, s * y + c * z)


def square_pair(direction):
    """Two unit vectors that are square to `direction` and to each other."""
    axis = unit(direction)
    other = (0.0, 0.0, 1.0) if abs(axis[2]) < 0.9 else (1.0, 0.0, 0.0)
    first = unit(cross(other, axis))
    return first, cross(axis, first)
