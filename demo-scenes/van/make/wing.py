"""The left inner wing as a scanner saw it: a curved sheet with pressed ribs and a shelf, as points.

The scene uses the points alone, each with a radius; nothing there knows the formula. Only sums,
products and quotients, so that no machine's library of functions changes a byte.
"""

import struct

from chance import Chance

ALONG, UP = 470, 236  # 110 920 points
X_MM = (15.0, 1090.0)
Z_MM = (428.0, 930.0)
NOISE_MM = 0.4


def _bump(t):
    """A smooth hump: 1 at t = 0, 0 from |t| = 1 on."""
    u = 1.0 - t * t
    return u * u if u > 0.0 else 0.0


def surface_y(x, z):
    """The sheet's face toward the engine; negative is the vehicle's left."""
    u = (x - 552.0) / 538.0
    w = (z - 679.0) / 251.0
    y = -688.0 - 10.0 * u * u + 14.0 * w - 6.0 * w * w + 3.0 * u * w
    for rib_x in (140.0, 330.0, 520.0, 790.0, 960.0):  # upright ribs, proud toward the engine
        y += 7.0 * _bump((x - rib_x) / 22.0) * (1.0 - 0.35 * w * w)
    y += 9.0 * _bump((z - 585.0 - 0.02 * x) / 30.0)  # a long swage
    y += 16.0 / (1.0 + ((x - 655.0) / 95.0) ** 4 + ((z - 640.0) / 150.0) ** 4)  # over the strut
    return y


def scan_bytes(seed):
    """Binary little-endian PLY."""
    chance = Chance(seed)
    body = bytearray()
    for row in range(UP):
        for column in range(ALONG):
            x = X_MM[0] + (X_MM[1] - X_MM[0]) * (column + 0.6 * chance.even() - 0.3) / (ALONG - 1)
            z = Z_MM[0] + (Z_MM[1] - Z_MM[0]) * (row + 0.6 * chance.even() - 0.3) / (UP - 1)
            y = surface_y(x, z) + chance.bell(NOISE_MM)
            body += struct.pack("<fff", round(x, 2), round(y, 2), round(z, 2))
    head = (
        "ply\n"
        "format binary_little_endian 1.0\n"
        "comment invented data: left inner wing of a van that does not exist\n"
        f"comment made by make/make.py from seed {seed}; vehicle axes, millimetres\n"
        f"element vertex {ALONG * UP}\n"
        "property float x\nproperty float y\nproperty float z\n"
        "end_header\n"
    )
    return head.encode("ascii") + bytes(body)
