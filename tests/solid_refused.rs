//! Shapes that cannot be, one fault each: what is said.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use baywright::solid::*;
use baywright::space::Pose;
use nalgebra::{Point2, Point3, Vector3};

fn tube(corners: &[[f64; 3]], radii: &[f64]) -> Shape {
    let corners = corners.iter().map(|&at| Point3::from(at)).collect();
    Shape::Tube(Tube { corners, bend_radii_mm: radii.to_vec(), radius_mm: 25.4, wall_mm: Some(1.65) })
}

fn plate(outline: &[[f64; 2]], holes: &[&[[f64; 2]]]) -> Shape {
    let ring = |points: &[[f64; 2]]| points.iter().map(|&at| Point2::from(at)).collect();
    Shape::Plate(Plate {
        outline: ring(outline),
        holes: holes.iter().map(|hole| ring(hole)).collect(),
        thickness_mm: 3.0,
    })
}

fn why(shape: &Shape) -> String {
    let message = shape.validate().unwrap_err().to_string();
    // Asked all the same, nothing panics.
    let _ = (shape.bounds(), shape.volume_mm3(), shape.area_mm2(), shape.center_of_mass());
    let _ = (shape.closest(&Point3::new(1.0, 2.0, 3.0)), shape.tessellate(1.0), shape.pieces());
    message
}

const SQUARE: [[f64; 2]; 4] = [[0.0, 0.0], [50.0, 0.0], [50.0, 50.0], [0.0, 50.0]];

#[test]
fn sizes() {
    let ball = |radius_mm| Shape::Ball(Ball { radius_mm });
    insta::assert_snapshot!(why(&ball(0.0)), @"the ball's radius is 0 mm; it must be above zero and finite");
    insta::assert_snapshot!(why(&ball(f64::NAN)), @"the ball's radius is NaN mm; it must be above zero and finite");
    insta::assert_snapshot!(why(&ball(f64::INFINITY)), @"the ball's radius is inf mm; it must be above zero and finite");
    insta::assert_snapshot!(why(&Shape::Block(Block { size_mm: Vector3::new(1.0, -2.0, 3.0) })), @"the box's size along y is -2 mm; it must be above zero and finite");
    insta::assert_snapshot!(why(&Shape::Cylinder(Cylinder { radius_mm: 1.0, length_mm: 0.0 })), @"the cylinder's length is 0 mm; it must be above zero and finite");
    insta::assert_snapshot!(why(&Shape::Capsule(Capsule { radius_mm: 1.0, core_mm: -1.0 })), @"the capsule's core length is -1 mm; it must be zero or more, and finite");
    insta::assert_snapshot!(why(&Shape::Frustum(Frustum { bottom_radius_mm: 0.0, top_radius_mm: 0.0, length_mm: 5.0 })), @"both radii of the cone are zero; at least one must be above zero");
    let arc = |ring_radius_mm, sweep_rad| {
        Shape::TorusArc(TorusArc { ring_radius_mm, tube_radius_mm: 20.0, sweep_rad })
    };
    insta::assert_snapshot!(why(&arc(15.0, 1.0)), @"bend 1 has a centreline radius of 15 mm, under the tube's own radius of 20 mm: the inside of the bend would fold over; the least that can be is 20 mm");
    insta::assert_snapshot!(why(&arc(30.0, 7.0)), @"the sweep is 401.07045659157626 deg; it must be above 0 and at most 360 deg");
    insta::assert_snapshot!(why(&Shape::Cloud(Cloud::new(vec![], 1.0))), @"0 points of a cloud given; at least 1 are needed");
    insta::assert_snapshot!(why(&Shape::Cloud(Cloud::new(vec![Point3::new(f64::NAN, 0.0, 0.0)], 1.0))), @"point 0 has a coordinate that is not a finite number");
    let ball_in = |shape| {
        Shape::Compound(Compound { parts: vec![(Pose::identity(), ball(1.0)), (Pose::identity(), shape)] })
    };
    insta::assert_snapshot!(why(&ball_in(ball_in(ball(-1.0)))), @"part 1 (from 0): part 1 (from 0): the ball's radius is -1 mm; it must be above zero and finite");
    insta::assert_snapshot!(why(&(0..20).fold(ball(1.0), |inner, _| ball_in(inner))).split(": ").last().unwrap(), @"compounds lie more than 16 deep; put the parts into one compound");
}

#[test]
fn tubes() {
    insta::assert_snapshot!(why(&tube(&[[0.0; 3]], &[])), @"1 corners of the tube given; at least 2 are needed");
    insta::assert_snapshot!(why(&tube(&[[0.0; 3], [9.0, 0.0, 0.0]], &[50.0])), @"2 corners need 0 bend radii, one for each but the ends; 1 given");
    insta::assert_snapshot!(why(&tube(&[[0.0; 3], [9.0, 0.0, 0.0], [9.0, 0.0, 0.0]], &[50.0])), @"points 1 and 2 (from 0) of the centreline are the same; leave one out");
    insta::assert_snapshot!(why(&tube(&[[0.0; 3], [900.0, 0.0, 0.0], [100.0, 0.0, 0.0]], &[50.0])), @"at bend 1 the tube turns straight back (180 deg at one corner); use two corners, twice the bend's radius apart");
    insta::assert_snapshot!(why(&tube(&[[0.0; 3], [900.0, 0.0, 0.0], [900.0, 900.0, 0.0]], &[20.0])), @"bend 1 has a centreline radius of 20 mm, under the tube's own radius of 25.4 mm: the inside of the bend would fold over; the least that can be is 25.4 mm");
    // Two setbacks of 76.2 take 152.4 of 150 (bend arithmetic, closed form).
    insta::assert_snapshot!(why(&tube(&[[0.0; 3], [200.0, 0.0, 0.0], [200.0, 150.0, 0.0], [200.0, 150.0, 180.0]], &[76.2, 76.2])), @"from bend 1 to bend 2 is 150.000 mm, but the bends take up 152.400 mm: 2.400 mm short; a bend radius of up to 75.000 mm fits");
    insta::assert_snapshot!(why(&tube(&[[0.0; 3], [60.0, 0.0, 0.0], [60.0, 300.0, 0.0]], &[76.2])), @"from the start to bend 1 is 60.000 mm, but the bends take up 76.200 mm: 16.200 mm short; a bend radius of up to 60.000 mm fits");
    insta::assert_snapshot!(why(&tube(&[[0.0; 3], [300.0, 0.0, 0.0], [300.0, 20.0, 0.0]], &[76.2])), @"from bend 1 to the end is 20.000 mm, but the bends take up 76.200 mm: 56.200 mm short; no bend of this tube fits there; move the corners 56.200 mm further apart");
    insta::assert_snapshot!(why(&Shape::Tube(Tube { corners: vec![Point3::origin(), Point3::new(0.0, 0.0, 9.0)], bend_radii_mm: vec![], radius_mm: 5.0, wall_mm: Some(5.0) })), @"a wall of 5 mm does not fit in a tube of 5 mm outside radius; for a solid bar leave the wall out");
}

/// The radius named in the message itself fits.
#[test]
fn the_radius_that_is_said_to_fit_fits() {
    let corners =
        [[0.0; 3], [110.0, 0.0, 0.0], [180.0, 120.0, 0.0], [200.0, 200.0, 150.0], [200.0, 300.0, 150.0]];
    let mut radii = [90.0, 90.0, 90.0];
    for _ in 0..10 {
        match tube(&corners, &radii).validate() {
            Ok(()) => return,
            Err(ShapeError::LegTooShort { from, to, largest_radius_mm, .. }) => {
                for place in [from, to] {
                    if let TubePlace::Bend(number) = place {
                        radii[number - 1] = largest_radius_mm;
                    }
                }
            }
            Err(other) => panic!("{other}"),
        }
    }
    panic!("{radii:?} still do not fit");
}

#[test]
fn plates() {
    insta::assert_snapshot!(why(&plate(&SQUARE[..2], &[])), @"2 points of the outline given; at least 3 are needed");
    insta::assert_snapshot!(why(&plate(&[[0.0, 0.0], [50.0, 50.0], [50.0, 0.0], [0.0, 50.0]], &[])), @"the outline meets itself at (25.000, 25.000): edges 0 and 2 (from 0)");
    insta::assert_snapshot!(why(&plate(&[[0.0, 0.0], [50.0, 0.0], [90.0, 0.0], [50.0, 0.0], [50.0, 50.0]], &[])), @"the outline meets itself at (50.000, 0.000): edges 0 and 2 (from 0)");
    insta::assert_snapshot!(why(&plate(&[[0.0, 0.0], [10.0, 0.0], [20.0, 0.0]], &[])), @"the outline meets itself at (0.000, 0.000): edges 0 and 2 (from 0)");
    insta::assert_snapshot!(why(&plate(&[[0.0, 0.0], [50.0, 0.0], [50.0, 0.0], [0.0, 50.0]], &[])), @"points 1 and 2 (from 0) of the outline are the same; leave one out");
    insta::assert_snapshot!(why(&plate(&[[0.0, 0.0], [50.0, 0.0], [0.0, f64::NAN]], &[])), @"outline point 2 has a coordinate that is not a finite number");
    let at = |x: f64, y: f64| [[x, y], [x + 10.0, y], [x, y + 10.0]];
    insta::assert_snapshot!(why(&plate(&SQUARE, &[&at(60.0, 10.0)])), @"hole 0 (from 0) lies outside the outline");
    insta::assert_snapshot!(why(&plate(&SQUARE, &[&at(10.0, 10.0), &at(45.0, 10.0)])), @"the outline and hole 1 meet at (50.000, 10.000); move them apart or make them one ring");
    insta::assert_snapshot!(why(&plate(&SQUARE, &[&at(10.0, 10.0), &[[12.0, 12.0], [14.0, 12.0], [12.0, 14.0]]])), @"hole 1 (from 0) lies within hole 0; leave it out");
    insta::assert_snapshot!(why(&plate(&SQUARE, &[&at(40.0, 10.0)])), @"the outline and hole 0 meet at (50.000, 10.000); move them apart or make them one ring");
}
