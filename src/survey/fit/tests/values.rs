//! Fits against published values and other programs' answers.

use nalgebra::{Point3, Vector3};

use super::super::*;
use super::sample::*;

// Values below: scipy 1.17.1 `least_squares`, numpy 2.4.6 SVD or plain formulae, computed outside this project.

#[test]
fn circle_is_that_of_gander_golub_and_strebel() {
    // Source: BIT 34 (1994) 558-578, six points; centre (4.7398, 2.9835), radius 4.7142.
    let set = [
        [1.0, 7.0, 0.0],
        [2.0, 6.0, 0.0],
        [5.0, 8.0, 0.0],
        [7.0, 7.0, 0.0],
        [9.0, 5.0, 0.0],
        [3.0, 7.0, 0.0],
    ];
    let fit = fit_circle(&readings(&set, 0.5)).unwrap();
    close("centre x", fit.center.x, 4.739_782_4, 1e-6);
    close("centre y", fit.center.y, 2.983_532_7, 1e-6);
    close("radius", fit.radius_mm, 4.714_226_0, 1e-6);
    let squares: f64 = residuals(&fit.quality).iter().map(|r| r * r).sum();
    close("sum of squares", squares, 1.227_599_1, 1e-6);
    close("root mean square", fit.quality.rms_mm.unwrap(), 0.452_327_1, 1e-6);
}

#[test]
fn circle_through_three_points_in_space_is_exact() {
    let fit = fit_circle(&readings(&[[10.0, 0.0, 0.0], [0.0, 10.0, 0.0], [0.0, 0.0, 10.0]], 0.1)).unwrap();
    close("centre", (fit.center - Point3::new(10.0 / 3.0, 10.0 / 3.0, 10.0 / 3.0)).norm(), 0.0, 1e-9);
    close("radius, 10 root 2/3", fit.radius_mm, 10.0 * (2.0f64 / 3.0).sqrt(), 1e-9);
    close("normal", fit.normal.dot(&Vector3::new(1.0, 1.0, 1.0).normalize()), 1.0, 1e-12);
    assert_eq!(fit.quality.rms_mm, None, "three readings leave nothing to spare");
}

#[test]
fn plane_is_that_of_the_least_spread() {
    let set =
        [[0.0, 0.0, 0.1], [100.0, 0.0, -0.1], [0.0, 100.0, 0.0], [100.0, 100.0, 0.2], [50.0, 50.0, -0.2]];
    let fit = fit_plane(&readings(&set, 0.2)).unwrap();
    close("centroid", (fit.point - Point3::new(50.0, 50.0, 0.0)).norm(), 0.0, 1e-9);
    close("normal y, not the slope 0.001 of a height map", fit.normal.y, -0.001_000_008_5, 1e-8);
    close("normal z", fit.normal.z, 0.999_999_5, 1e-8);
    close("root mean square", fit.quality.rms_mm.unwrap(), 0.134_164_0, 1e-6);
    for (got, want) in
        residuals(&fit.quality).iter().zip([0.150_000_4, -0.049_999_5, -0.050_000_4, 0.149_999_5, -0.2])
    {
        close("residual", *got, want, 1e-6);
    }
    close("form: 0.15 + 0.2", fit.quality.form_mm, 0.35, 1e-6);
    assert_eq!((fit.quality.spare, fit.quality.degrees_of_freedom), (2, 2));
}

#[test]
fn line_is_that_of_the_greatest_spread() {
    let set = [[0.0, 0.0, 0.0], [10.0, 0.1, 0.0], [20.0, -0.1, 0.1], [30.0, 0.05, -0.1], [40.0, 0.0, 0.05]];
    let fit = fit_line(&readings(&set, 0.1)).unwrap();
    close("centroid", (fit.point - Point3::new(20.0, 0.01, 0.01)).norm(), 0.0, 1e-9);
    close("direction x", fit.direction.x, 0.999_999_875, 1e-9);
    close("direction y", fit.direction.y, -0.000_500_010_8, 1e-9);
    close("direction z", fit.direction.z, 0.000_000_007_8, 1e-9);
    close("sum of squares", residuals(&fit.quality).iter().map(|r| r * r).sum(), 0.043_749_994_6, 1e-9);
    close("extent", fit.extent_mm[1] - fit.extent_mm[0], 40.0, 1e-3);
}

#[test]
fn sphere_through_four_points_is_exact() {
    let fit =
        fit_sphere(&readings(&[[1.0, 2.0, 8.0], [1.0, 7.0, 3.0], [6.0, 2.0, 3.0], [1.0, 2.0, -2.0]], 0.1))
            .unwrap();
    close("centre", (fit.center - Point3::new(1.0, 2.0, 3.0)).norm(), 0.0, 1e-9);
    close("radius", fit.radius_mm, 5.0, 1e-9);
    assert_eq!(fit.quality.rms_mm, None);
}

#[test]
fn sphere_with_scatter_is_that_of_scipy() {
    let set = [
        [12.1, 0.0, 0.0],
        [-11.9, 0.0, 0.0],
        [0.0, 12.05, 0.0],
        [0.0, -12.0, 0.0],
        [0.0, 0.0, 11.95],
        [0.0, 0.0, -12.1],
    ];
    let fit = fit_sphere(&readings(&set, 0.05)).unwrap();
    close("centre", (fit.center - Point3::new(0.099_860_0, 0.025_017_8, -0.075_052_2)).norm(), 0.0, 2e-7);
    close("radius", fit.radius_mm, 12.017_116_8, 1e-6);
    close("root mean square", fit.quality.rms_mm.unwrap(), 0.011_919_6, 1e-6);
}

#[test]
fn cylinder_is_that_of_scipy() {
    let set = [
        [20.05, 0.0, 0.0],
        [0.0, 19.95, 0.0],
        [-20.02, 0.0, 0.0],
        [0.0, -19.98, 0.0],
        [14.163349, 14.163349, 60.0],
        [-14.120922, 14.120922, 60.0],
        [-14.149207, -14.149207, 60.0],
        [14.135065, -14.135065, 60.0],
    ];
    let fit = fit_cylinder(&readings(&set, 0.03)).unwrap();
    let at_zero = fit.point - fit.direction.into_inner() * (fit.point.z / fit.direction.z);
    close("axis x at z 0", at_zero.x, 0.015_024_8, 1e-6);
    close("axis y at z 0", at_zero.y, -0.014_970_8, 1e-6);
    close("direction x", fit.direction.x, -0.000_014_68, 1e-7);
    close("direction y", fit.direction.y, 0.000_249_69, 1e-7);
    close("radius", fit.radius_mm, 20.000_003_8, 1e-5);
    close("sum of squares", residuals(&fit.quality).iter().map(|r| r * r).sum(), 0.006_500_112_3, 1e-8);
    assert_eq!(fit.quality.spare, 3);
}
