"""The hidden truth: where the invented van's surfaces really are. The scene never reads this file;
it sees only what a tape, a probe and a scanner would have told. Vehicle axes: x rearward, y to the
right, z up, millimetres. Every number here is invented; no vehicle was measured.
"""

import touched

# Three drilled holes in the frame rails, which the stand's drawing places exactly.
DATUM = [("D1", (40.0, -470.0, 420.0)), ("D2", (1040.0, -470.0, 420.0)), ("D3", (540.0, 470.0, 420.0))]

# The probe's own axes: where its arm happened to be clamped to the stand.
PROBE_TURN_DEG = (0.8, -0.5, 2.1)
PROBE_AT = (312.4, -88.1, 655.0)


def taped():
    """What was taped as three offsets from the stand's own planes."""
    marks = []
    marks += touched.plane("F", (1100.4, 0.0, 828.0), (-1.0, 0.004, 0.012), (0, 1, 0), (-610, 0, 610), (-135, 5, 140))
    marks += touched.plane("TL", (1098.0, -440.0, 500.0), (-1.0, 0.0, 0.05), (0, 1, 0), (-180, 0, 180), (-150, 150))
    marks += touched.plane("TR", (1099.0, 440.0, 500.0), (-1.0, 0.0, 0.05), (0, 1, 0), (-180, 0, 180), (-150, 150))
    marks += touched.plane("WR", (550.0, 690.0, 690.0), (0.01, -1.0, 0.06), (1, 0, 0), (-510, 0, 510), (-220, 0, 220))
    marks += touched.plane("C", (1085.0, 0.0, 985.0), (0.02, 0.0, -1.0), (0, 1, 0), (-600, 0, 600), (-22,))
    return marks


def tape_distances():
    """Marks that no straight-edge reaches, taped from others: (mark, place, [(from, side), ...])."""
    return [
        ("C4", (1106.0, -560.0, 985.6), [("F7", "up"), ("F8", ""), ("WR7", ""), ("TL3", ""), ("C2", "")]),
        ("C5", (1106.0, 20.0, 985.5), [("F7", "up"), ("F9", ""), ("WR7", ""), ("WR4", ""), ("C1", "")]),
        ("C6", (1106.0, 560.0, 985.4), [("F7", "up"), ("F9", ""), ("WR7", ""), ("TR1", ""), ("C2", "")]),
    ]


def probed():
    """What was touched with the probe."""
    marks = list(DATUM)
    marks += touched.cylinder("SL", (651.0, -591.0, 500.0), (653.0, -588.0, 758.0), 95.6, start_deg=15)
    marks += touched.cylinder("SR", (650.0, 590.5, 500.0), (651.0, 588.0, 759.0), 95.2, start_deg=15)
    marks += touched.box("BL", (251.0, -552.0, 695.0), (242.0, 175.0, 190.0), (0.2, -0.3, 1.2))
    marks += touched.box("BR", (937.5, 506.0, 705.0), (175.0, 242.0, 190.0), (-0.2, 0.2, -0.8))
    marks += touched.box("FB", (270.0, 548.0, 735.0), (300.0, 185.0, 230.0), (0.0, 0.4, -0.6))
    marks += touched.box("FT", (490.0, 508.0, 715.0), (100.0, 121.0, 150.0), (0.3, 0.0, 0.5))
    marks += touched.cylinder("FN", (490.0, 490.0, 792.0), (490.6, 490.4, 842.0), 22.0)
    marks += touched.box("FU", (470.0, -575.0, 750.0), (140.0, 140.0, 100.0), (0.0, 0.5, 1.5))
    marks += touched.box("AB", (820.0, -560.0, 525.0), (100.0, 100.0, 90.0), (0.4, 0.0, -1.0))
    marks += touched.sphere("AK", (730.0, -455.0, 500.0), 48.0)
    marks += touched.cylinder("BO", (976.0, -360.0, 785.0), (1100.0, -361.0, 784.0), 120.0, on_ring=5, start_deg=10)
    marks += touched.cylinder("MC", (845.0, -359.0, 786.0), (975.0, -360.0, 785.0), 25.0, start_deg=30)
    marks += touched.circle("RC", (82.0, -150.0, 905.0), (0.0, 0.0, 1.0), 34.0, 6)
    marks += touched.cylinder("FM", (124.0, 0.5, 630.0), (180.0, 0.0, 630.5), 60.0)
    marks += touched.box("EB", (615.0, 0.0, 510.0), (690.0, 280.0, 220.0), (0.1, 0.0, -0.1))
    marks += touched.box("VC", (645.0, 0.0, 777.5), (570.0, 220.0, 65.0), (0.0, 0.1, 0.1))
    marks += touched.box("IM", (670.0, -205.0, 700.0), (460.0, 110.0, 120.0), (-0.3, 0.0, 0.2))
    marks += touched.box("EM", (615.0, 165.0, 650.0), (570.0, 48.0, 70.0), (0.2, 0.0, 0.1))
    marks += touched.cylinder("BH", (962.0, 0.0, 430.5), (1070.0, 0.5, 430.0), 190.0, on_ring=6, start_deg=5)
    marks += touched.cylinder("AL", (282.0, -251.0, 600.0), (430.0, -250.0, 601.0), 70.0, start_deg=20)
    marks += touched.cylinder("AC", (282.0, -240.5, 430.0), (430.0, -240.0, 430.0), 60.0, start_deg=20)
    marks += touched.cylinder("ST", (780.0, -190.0, 400.0), (950.0, -190.0, 400.5), 45.0, start_deg=35)
    marks += touched.plane("HD", (550.0, 0.0, 1008.5), (0.07, 0.0, -1.0), (0, 1, 0), (-680, 0, 680), (-528, 0, 528))
    return marks
