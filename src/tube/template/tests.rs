//! Curves against handbook ordinates, wrapped back round the tube, and printed sizes.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::f64::consts::{PI, TAU};

use nalgebra::{Point2, Point3, Rotation3, Unit, Vector3};

use super::*;
use crate::tube::PieCuts;
use crate::tube::tests::Dice;

/// Source: intersection of two cylinders, closed form worked beside the project with numpy.
#[test]
fn saddle_ordinates() {
    let cases: [(f64, f64, f64, &[f64]); 4] = [
        (25.4, 25.4, 90.0, &[25.4000, 21.9970, 12.7000, 0.0]),
        (30.15, 24.15, 90.0, &[30.1500, 27.6264, 21.7165, 18.0499]),
        (30.15, 24.15, 60.0, &[48.7572, 43.9752, 32.0475, 20.8423, 18.1045, 19.8252, 20.8712]),
        (38.1, 19.05, 45.0, &[72.9315, 68.6684, 58.0932, 46.6628, 39.0432, 35.6728, 34.8315]),
    ];
    for (header, branch, angle, want) in cases {
        let saddle = Saddle::new(2.0 * header, 2.0 * branch, angle.to_radians(), 0.0).unwrap();
        for ((deg, got), want) in saddle.cut().ordinates.iter().zip(want) {
            assert!((got - want).abs() < 1e-4, "{header}/{branch} at {angle}, {deg}: {got} against {want}");
        }
    }
}

#[test]
fn what_does_not_meet_is_refused_with_what_does() {
    let messages = [
        Saddle::new(50.0, 60.0, PI / 2.0, 0.0),
        Saddle::new(63.5, 50.8, PI / 2.0, 10.0),
        Saddle::new(63.5, 50.8, 0.1, 0.0),
        Saddle::new(63.5, 0.0, 1.0, 0.0),
        Saddle::new(63.5, f64::NAN, 1.0, 0.0),
        Saddle::new(63.5, 50.8, 1.0, f64::NAN),
        Saddle::new(63.5, 50.8, 1.0, 0.0).unwrap().fitted_inside(26.0),
    ]
    .map(|saddle| saddle.unwrap_err().to_string());
    insta::assert_snapshot!(messages.join("\n"));
    Saddle::new(63.5, 50.8, PI / 2.0, 6.35).unwrap();
}

/// Points of a path of an SVG, in the drawing's own millimetres.
fn path(svg: &str, id: &str) -> Vec<Point2<f64>> {
    let start = svg.find(&format!("id=\"{id}\"")).unwrap();
    let data = &svg[start..];
    let data = &data[data.find(" d=\"").unwrap() + 4..];
    let data = &data[..data.find('"').unwrap()];
    let numbers: Vec<f64> = data
        .split(|c: char| c == 'M' || c == 'L' || c.is_whitespace())
        .filter(|word| !word.is_empty())
        .map(|word| word.parse().unwrap())
        .collect();
    numbers.chunks(2).map(|pair| Point2::new(pair[0], pair[1])).collect()
}

/// The path as it lies on the template: SVG's y runs down from the top of the extent, 10 mm of margin aside.
fn printed(template: &Template) -> Vec<Point2<f64>> {
    let [low, high] = template.extent();
    path(&template_svg(template), "cut")
        .iter()
        .map(|p| Point2::new(p.x - 10.0 + low.x, high.y - (p.y - 10.0)))
        .collect()
}

/// How far along a line from a point it meets a cylinder of a radius about the x axis, the farther way: by bisection
/// from outside, so that nothing is shared with the formula under test.
fn meets(from: Point3<f64>, along: Vector3<f64>, radius: f64) -> Option<f64> {
    let off = |t: f64| {
        let at = from + along * t;
        at.y.hypot(at.z) - radius
    };
    // The least distance to the axis lies where the line passes nearest.
    let flat = Vector3::new(0.0, along.y, along.z);
    let nearest = -(from.y * flat.y + from.z * flat.z) / flat.norm_squared();
    if off(nearest) > 0.0 {
        return None;
    }
    let (mut low, mut high) = (nearest, nearest + 40.0 * radius);
    for _ in 0..200 {
        let middle = (low + high) / 2.0;
        if off(middle) > 0.0 {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some((low + high) / 2.0)
}

fn random_saddle(dice: &mut Dice) -> (f64, f64, f64, f64, Saddle) {
    let header = dice.between(10.0, 60.0);
    let branch = match dice.between(0.0, 4.0) as u32 {
        0 => header,
        _ => dice.between(4.0, header),
    };
    let offset = if branch == header { 0.0 } else { dice.between(-1.0, 1.0) * (header - branch) };
    let angle = dice.between(20f64.to_radians(), 160f64.to_radians());
    (header, branch, angle, offset, Saddle::new(2.0 * header, 2.0 * branch, angle, offset).unwrap())
}

#[test]
fn a_thousand_templates_wrapped_back_lie_on_both_cylinders() {
    let mut dice = Dice(41);
    let (mut worst, mut samples) = (0.0f64, 0);
    for case in 0..1000 {
        let (header, branch, angle, offset, saddle) = random_saddle(&mut dice);
        let cut = printed(&saddle.cut());
        assert!((cut[0].x).abs() < 1e-3 && (cut[cut.len() - 1].x - TAU * branch).abs() < 1e-3);
        // The branch's axis leans from the header's normal toward +x; its sides seen from the acute side on.
        let axis = Rotation3::from_axis_angle(&Vector3::y_axis(), PI / 2.0 - angle) * Vector3::z();
        let acute = Vector3::y().cross(&axis);
        for pair in cut.windows(2) {
            for share in [0.0, 0.25, 0.5, 0.75] {
                let on_paper = pair[0] + (pair[1] - pair[0]) * share;
                let around = on_paper.x / branch;
                let foot = Point3::from(
                    acute * (branch * around.cos()) + Vector3::y() * (branch * around.sin() + offset),
                );
                // A side that only grazes the header within rounding meets it where it is nearest.
                let true_height = meets(foot, axis, header + 1e-9).unwrap();
                let off = (on_paper.y - true_height).abs();
                assert!(off < 0.05, "case {case}: {off} mm at {} deg", around.to_degrees());
                worst = worst.max(off);
                samples += 1;
            }
        }
    }
    println!("{samples} points of 1000 saddles, worst {worst} mm along the branch");
    assert!(worst > 1e-5, "nothing is that exact");
}

#[test]
fn holes_wrapped_back_lie_on_the_intersection() {
    let mut dice = Dice(43);
    let mut worst = 0.0f64;
    for case in 0..1000 {
        let (header, branch, angle, offset, saddle) = random_saddle(&mut dice);
        let axis = Rotation3::from_axis_angle(&Vector3::y_axis(), PI / 2.0 - angle) * Vector3::z();
        let acute = Vector3::y().cross(&axis);
        // The true curve, densely, by the independent way.
        let count = 6000;
        let truth: Vec<Point3<f64>> = (0..=count)
            .map(|i| {
                let around = TAU * f64::from(i) / f64::from(count);
                let side = acute * (branch * around.cos()) + Vector3::y() * (branch * around.sin() + offset);
                let foot = Point3::from(side);
                foot + axis * meets(foot, axis, header + 1e-9).unwrap()
            })
            .collect();
        let hole = printed(&saddle.hole());
        let mut near = 0usize;
        for pair in hole.windows(2) {
            let on_paper = nalgebra::center(&pair[0], &pair[1]);
            let around = on_paper.x / header;
            let on_header = Point3::new(on_paper.y, header * around.sin(), header * around.cos());
            // The curve is followed in order: look on from the last nearest place.
            let to = |index: usize| {
                let (a, b) = (truth[index], truth[index + 1]);
                let share =
                    ((on_header - a).dot(&(b - a)) / (b - a).norm_squared().max(1e-300)).clamp(0.0, 1.0);
                (on_header - (a + (b - a) * share)).norm()
            };
            // Every eighth first, then about the nearest of those: what is missed so can only seem farther off.
            let last = truth.len() - 1;
            let nearest = |window: std::ops::Range<usize>, step: usize| {
                window.step_by(step).min_by(|a, b| to(*a).total_cmp(&to(*b))).unwrap()
            };
            let rough = nearest(near.saturating_sub(20)..(near + 400).min(last), 8);
            near = nearest(rough.saturating_sub(8)..(rough + 9).min(last), 1);
            assert!(to(near) < 0.05, "case {case}: {} mm off", to(near));
            worst = worst.max(to(near));
        }
        assert!(near > truth.len() - 500, "the whole curve was followed");
    }
    println!("worst of 1000 holes: {worst} mm");
}

/// A wrapped mitre lies in one plane; two halves turned against each other meet.
#[test]
fn mitres_are_plane() {
    let cuts = PieCuts { angle_rad: PI / 2.0, radius_mm: 114.3, outside_mm: 76.2, joints: 4 };
    let mitre = Mitre::of_pie_cuts(&cuts);
    let template = mitre.template().unwrap();
    let half = PI / 16.0;
    let normal = Unit::new_normalize(Vector3::new(-half.tan(), 0.0, 1.0));
    for (curve, sign) in [(&template.cut, 1.0), (&template.far_cut, -1.0)] {
        for point in curve {
            let around = point.x / 38.1;
            let wrapped = Vector3::new(38.1 * around.cos(), 38.1 * around.sin(), sign * point.y);
            let off = (wrapped - Vector3::z() * 45.4714 / 2.0).dot(&normal);
            assert!(off.abs() < 1e-3, "{off}");
        }
    }
    // Longest and shortest sides are the pie cuts' outside and inside: 60.6285 and 30.3142 mm.
    let height = |index: usize| template.cut[index].y - template.far_cut[index].y;
    let middle = template.cut.iter().position(|point| (point.x - 38.1 * PI).abs() < 1e-9).unwrap();
    assert!((height(0) - 60.6285).abs() < 1e-4);
    let far = template.far_cut.iter().find(|point| (point.x - 38.1 * PI).abs() < 1e-9).unwrap();
    assert!((template.cut[middle].y - far.y - 30.3142).abs() < 1e-4);
    let meets = Mitre { outside_mm: 76.2, cut_rad: 0.8, far: Some((20.0, 0.8, 0.0)) };
    assert!(meets.template().is_err());
    assert!(Mitre { outside_mm: 76.2, cut_rad: 1.5, far: None }.template().is_err());
}

#[test]
fn the_square_and_the_paper_are_true_to_size() {
    let saddle = Saddle::new(101.6, 101.6, 50f64.to_radians(), 0.0).unwrap();
    let template = saddle.cut();
    let svg = template_svg(&template);
    assert!(svg.contains("width=\"50.000\" height=\"50.000\""), "{svg}");
    let [low, high] = template.extent();
    assert!(svg.contains(&format!("width=\"{:.3}mm\"", high.x - low.x + 20.0)));
    // 319 mm round is more than a sheet: pages overlap and together show all.
    for paper in [Paper::A4, Paper::Letter] {
        let shown = pages::pages(&template, paper);
        assert!(shown.len() > 1);
        for point in template.cut.iter() {
            let inside = |page: &pages::Page| {
                point.x >= page.low.x
                    && point.x <= page.high.x
                    && point.y >= page.low.y
                    && point.y <= page.high.y
            };
            assert!(shown.iter().any(inside), "{point} is on no page");
        }
        let pdf = String::from_utf8(template_pdf(&template, paper)).unwrap();
        assert!(pdf.contains(&format!("/Count {}", shown.len())));
        assert_eq!(template_pdf(&template, paper), pdf.as_bytes());
    }
    // Thick paper: its middle runs on a larger circle.
    let thick = template.clone().on_paper(0.3);
    let last = |template: &Template| template.cut[template.cut.len() - 1].x;
    assert!((last(&thick) - PI * 101.9).abs() < 1e-9 && (last(&template) - PI * 101.6).abs() < 1e-9);
}

/// Every cross-reference of the PDF points at its object, and stream lengths are right.
#[test]
fn the_pdf_is_well_formed() {
    let template = Saddle::new(63.5, 50.8, 1.2, 3.0).unwrap().cut();
    let pdf = String::from_utf8(template_pdf(&template, Paper::A4)).unwrap();
    let table: usize = pdf.rsplit("startxref\n").next().unwrap().lines().next().unwrap().parse().unwrap();
    assert!(pdf[table..].starts_with("xref\n"));
    let entries: Vec<usize> = pdf[table..]
        .lines()
        .filter(|line| line.ends_with(" n "))
        .map(|line| line[..10].parse().unwrap())
        .collect();
    assert_eq!(entries.len(), 5);
    for (index, place) in entries.iter().enumerate() {
        assert!(pdf[*place..].starts_with(&format!("{} 0 obj\n", index + 1)));
    }
    let stream = pdf.find("stream\n").unwrap() + 7;
    let end = pdf.find("endstream").unwrap();
    assert!(pdf.contains(&format!("/Length {} >>", end - stream)));
}
