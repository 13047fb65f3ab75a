//! The keys of fits.

use super::keys::{Key, KeyTable, may, must, one_of};

const SURVEY: Key = must("survey", "name of a survey", "stand", "Whose marks.");
const MARKS: Key = must("marks", "list of marks", "[N1, N2, N3, N4, N5, N6]", "Marks on the surface.");
const KNOWN_DIAMETER: Key = may(
    "diameter",
    "length",
    "fitted",
    "63.5",
    "A diameter known from elsewhere; then only the place is fitted.",
);
const KNOWN_BY: Key = may(
    "diameter_sigma",
    "length",
    "0.1 mm (common practice, no source)",
    "0.2",
    "Standard uncertainty of a known diameter.",
);
const TOUCHED: Key = may(
    "touched",
    "`outside` or `inside`",
    "`outside`",
    "inside",
    "From which side a ball tip touched the surface; counts only when the survey has a `tip`.",
);
const ALONG: Key = may(
    "along",
    "direction, vehicle axes",
    "as the marks give it",
    "up",
    "Roughly where z points; the marks leave its sign open.",
);

const LEAVE_OUT: Key = may(
    "leave_out",
    "`true` or `false`",
    "`false`: all marks count, those beyond chance are named",
    "true",
    "Leave out marks that lie beyond chance off what the others say, at most a quarter of them; `baywright fit` names them.",
);

/// The kinds of fit.
pub(crate) const FIT: KeyTable = KeyTable {
    title: "a fit",
    intro: "Exactly one of these keys. The body's place and its uncertainty come from the marks, in vehicle axes; `on`, `at`, `turn`, `axis` and the sigmas are then not given.",
    keys: &[
        one_of(
            "these",
            "plane",
            "plane fit",
            "{survey: stand, marks: [F1, F2, F3, F4], thickness: 1.2, solid_side: rearward}",
            "A plate: the convex outline of the marks in the fitted plane.",
        ),
        one_of(
            "these",
            "cylinder",
            "cylinder fit",
            "{survey: stand, marks: [N1, N2, N3, N4, N5, N6]}",
            "A round bar about the fitted axis.",
        ),
        one_of("these", "sphere", "sphere fit", "{survey: stand, marks: [S1, S2, S3, S4]}", "A ball."),
        one_of(
            "these",
            "circle",
            "circle fit",
            "{survey: stand, marks: [C1, C2, C3], depth: 40, along: down}",
            "A round bar that starts at the fitted circle.",
        ),
        one_of(
            "these",
            "box",
            "box fit",
            "{survey: stand, faces: {up: [B1, B2, B3], left: [B4, B5], forward: [B6]}, size_x: 242, size_y: 175, size_z: 190}",
            "A rectangular box.",
        ),
        one_of(
            "these",
            "cone",
            "cone fit",
            "{survey: stand, marks: [K1, K2, K3, K4, K5, K6, K7, K8]}",
            "A cone frustum about the fitted axis.",
        ),
        one_of(
            "these",
            "bend",
            "bend fit",
            "{survey: stand, marks: [E1, E2, E3, E4, E5, E6, E7, E8, E9], diameter: 63.5, axis: right}",
            "The bend of a round pipe or bar: an elbow, a ring.",
        ),
        one_of(
            "these",
            "slot",
            "slot fit",
            "{survey: stand, marks: [L1, L2, L3, L4, L5, L6, L7, L8], depth: 12, along: up}",
            "A bar with straight sides and round ends.",
        ),
        one_of(
            "these",
            "bolt_pattern",
            "bolt pattern fit",
            "{survey: stand, marks: [H1, H2, H3, H4], holes: 4, flange: 110, thickness: 10, along: up}",
            "A round flange by the centres of its holes.",
        ),
        one_of(
            "these",
            "line",
            "line fit",
            "{survey: stand, marks: [E1, E2, E3], diameter: 8}",
            "A thin round bar along a line: a cable, a brake line, a seam.",
        ),
        one_of(
            "these",
            "edge",
            "edge fit",
            "{survey: stand, marks: [E1, E2, E3], thickness: 1.2, depth: 40, into: down}",
            "A strip of sheet that ends at a straight edge.",
        ),
        one_of(
            "these",
            "point",
            "point fit",
            "{survey: stand, marks: [T1], diameter: 10}",
            "A ball about a mark, or about the mean of several readings of it.",
        ),
        one_of(
            "these",
            "tube",
            "tube fit",
            "{survey: stand, legs: [[A1, A2, A3, A4], [B1, B2, B3, B4]], diameter: 63.5, bend_radius: 95}",
            "A bent tube by touches of its straight legs.",
        ),
        one_of(
            "these",
            "cloud",
            "scan",
            "{survey: bay-scan, radius: 2}",
            "The points of a scan, each a ball.",
        ),
    ],
};

/// A plane fit.
pub(crate) const PLANE_FIT: KeyTable = KeyTable {
    title: "a plane fit",
    intro: "At least three marks. The body's frame has its origin amid the marks, z out of the solid, x and y in the plane.",
    keys: &[
        SURVEY,
        MARKS,
        must("thickness", "length", "1.2", "Thickness of the solid behind the measured face."),
        must(
            "solid_side",
            "direction, vehicle axes",
            "rearward",
            "On which side of the measured face the solid is.",
        ),
        may("margin", "length", "0", "25", "How far the solid reaches beyond the marks, all round."),
        TOUCHED,
        LEAVE_OUT,
    ],
};

/// A cylinder fit.
pub(crate) const CYLINDER_FIT: KeyTable = KeyTable {
    title: "a cylinder fit",
    intro: "At least five marks when the diameter is fitted. It reaches over the marks along its axis unless `length` is given; the body's frame stands midway, z along the axis.",
    keys: &[
        SURVEY,
        MARKS,
        KNOWN_DIAMETER,
        KNOWN_BY,
        may(
            "length",
            "length",
            "over the marks",
            "120",
            "Length along the axis, about the middle of the marks.",
        ),
        may("margin", "length", "0", "5", "How far it reaches beyond the marks at each end."),
        ALONG,
        TOUCHED,
        LEAVE_OUT,
    ],
};

/// A sphere fit.
pub(crate) const SPHERE_FIT: KeyTable = KeyTable {
    title: "a sphere fit",
    intro: "At least four marks when the diameter is fitted.",
    keys: &[SURVEY, MARKS, KNOWN_DIAMETER, KNOWN_BY, TOUCHED, LEAVE_OUT],
};

/// A circle fit.
pub(crate) const CIRCLE_FIT: KeyTable = KeyTable {
    title: "a circle fit",
    intro: "At least three marks. The body's frame stands midway along the depth, z along `along`.",
    keys: &[
        SURVEY,
        MARKS,
        KNOWN_DIAMETER,
        KNOWN_BY,
        must("depth", "length", "40", "Length of the bar that starts at the circle."),
        must("along", "direction, vehicle axes", "down", "Roughly which way the bar goes from the circle."),
        TOUCHED,
        LEAVE_OUT,
    ],
};

/// A box fit.
pub(crate) const BOX_FIT: KeyTable = KeyTable {
    title: "a box fit",
    intro: "Marks on faces that are named under `faces`, or found for those under `marks`. A face that cannot be touched needs the size across it.",
    keys: &[
        SURVEY,
        may(
            "marks",
            "list of marks",
            "none",
            "[B1, B2, B3, B4, B5, B6]",
            "Marks whose face is the nearest one.",
        ),
        may(
            "faces",
            "map from direction to marks",
            "none",
            "{up: [B1, B2, B3], left: [B4, B5], forward: [B6]}",
            "Marks by the face they are on; a mark on an edge is named under both faces.",
        ),
        may("size_x", "length", "fitted", "242", "Known edge length along the box's x, rearward."),
        may("size_y", "length", "fitted", "175", "Known edge length along the box's y, right."),
        may("size_z", "length", "fitted", "190", "Known edge length along the box's z, up."),
        may(
            "size_sigma",
            "length",
            "0.5 mm (common practice, no source)",
            "1",
            "Standard uncertainty of the known edge lengths.",
        ),
        TOUCHED,
        LEAVE_OUT,
    ],
};

/// A cone fit.
pub(crate) const CONE_FIT: KeyTable = KeyTable {
    title: "a cone fit",
    intro: "At least six marks: three rings of four do well. It reaches over the marks along its axis; the body's frame stands midway, z toward the wide end.",
    keys: &[
        SURVEY,
        MARKS,
        may(
            "margin",
            "length",
            "0",
            "5",
            "How far it reaches beyond the marks at each end; it stops at the tip.",
        ),
        ALONG,
        TOUCHED,
        LEAVE_OUT,
    ],
};

/// A bend fit.
pub(crate) const BEND_FIT: KeyTable = KeyTable {
    title: "a bend fit",
    intro: "At least seven marks, six when the diameter is known: four round the pipe at three places along the bend do well. It reaches over the marks; the body's frame stands in the middle of the bend's circle, z along its axis, x toward where it begins.",
    keys: &[
        SURVEY,
        MARKS,
        KNOWN_DIAMETER,
        KNOWN_BY,
        may(
            "margin",
            "length",
            "0",
            "10",
            "How far it reaches beyond the marks at each end, along the centreline.",
        ),
        may(
            "axis",
            "direction, vehicle axes",
            "as the marks give it",
            "right",
            "Roughly the axis that it is bent about; with few marks it tells which of several bends is meant.",
        ),
        TOUCHED,
        LEAVE_OUT,
    ],
};

/// A slot fit.
pub(crate) const SLOT_FIT: KeyTable = KeyTable {
    title: "a slot fit",
    intro: "At least five marks on the outline, all in one plane. The body's frame stands midway along the depth, x along the slot, z along `along`.",
    keys: &[
        SURVEY,
        MARKS,
        must("depth", "length", "12", "Length of the bar that starts at the outline."),
        must("along", "direction, vehicle axes", "up", "Roughly which way the bar goes from the outline."),
        TOUCHED,
        LEAVE_OUT,
    ],
};

/// A bolt pattern fit.
pub(crate) const BOLT_FIT: KeyTable = KeyTable {
    title: "a bolt pattern fit",
    intro: "Centres of three or more evenly spaced holes, one mark a hole. The body is a round flange without its holes; its frame stands midway in the thickness, x toward the first mark's hole, z along `along`.",
    keys: &[
        SURVEY,
        MARKS,
        must("holes", "number", "4", "Holes in the whole pattern."),
        must("flange", "length", "110", "Outside diameter of the flange."),
        must("thickness", "length", "10", "Thickness of the flange."),
        must(
            "along",
            "direction, vehicle axes",
            "up",
            "Which way the flange goes from the measured centres, roughly.",
        ),
        LEAVE_OUT,
    ],
};

/// A line fit.
pub(crate) const LINE_FIT: KeyTable = KeyTable {
    title: "a line fit",
    intro: "At least two marks on the middle line. The body is a round bar over the marks; its frame stands midway, z along the line.",
    keys: &[
        SURVEY,
        MARKS,
        must("diameter", "length", "8", "Diameter of the bar."),
        may("margin", "length", "0", "5", "How far it reaches beyond the marks at each end."),
        ALONG,
        LEAVE_OUT,
    ],
};

/// An edge fit.
pub(crate) const EDGE_FIT: KeyTable = KeyTable {
    title: "an edge fit",
    intro: "At least two marks along a straight edge of a sheet. A survey's `tip` is taken off against `into`. The body is a strip; its frame stands amid the strip, z along the edge, x into the sheet.",
    keys: &[
        SURVEY,
        MARKS,
        must("thickness", "length", "1.2", "Thickness of the sheet; the marks are amid it."),
        must("depth", "length", "40", "How far the strip reaches into the sheet."),
        must("into", "direction, vehicle axes", "down", "From the edge into the sheet."),
        may(
            "into_sigma",
            "angle",
            "3 deg (common practice, no source)",
            "2 deg",
            "Standard uncertainty of `into` about the edge.",
        ),
        may("margin", "length", "0", "5", "How far it reaches beyond the marks at each end."),
        LEAVE_OUT,
    ],
};

/// A point fit.
pub(crate) const POINT_FIT: KeyTable = KeyTable {
    title: "a point fit",
    intro: "One mark, or several readings of one place.",
    keys: &[SURVEY, MARKS, must("diameter", "length", "10", "Diameter of the ball."), LEAVE_OUT],
};

/// A tube fit.
pub(crate) const TUBE_FIT: KeyTable = KeyTable {
    title: "a tube fit",
    intro: "Touches of the straight legs, told leg by leg along the tube, four or more on each. All legs are fitted at once: neighbours meet in a corner and all have one diameter. The ends lie at the outermost touches. The body's frame is the vehicle's.",
    keys: &[
        SURVEY,
        must(
            "legs",
            "list of lists of marks",
            "[[A1, A2, A3, A4], [B1, B2, B3, B4]]",
            "Marks on each leg, in order along the tube.",
        ),
        KNOWN_DIAMETER,
        KNOWN_BY,
        must(
            "bend_radius",
            "length, or a list of them",
            "95",
            "Radius of the centreline at the corners: one for all, or one each.",
        ),
        may("margin", "length", "0", "5", "How far it reaches beyond the marks at each end."),
        TOUCHED,
        LEAVE_OUT,
    ],
};

/// A cloud from a scan.
pub(crate) const CLOUD_FIT: KeyTable = KeyTable {
    title: "a cloud from a scan",
    intro: "The survey's `file` must be a scan. The body's frame is the vehicle's.",
    keys: &[
        SURVEY,
        must("radius", "length", "2", "Radius of every ball; it should reach from point to point."),
    ],
};
