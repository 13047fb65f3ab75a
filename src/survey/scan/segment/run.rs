//! Feature after feature, until no more are found.

use nalgebra::Point3;
use rayon::prelude::*;

use super::super::tree::PointTree;
use super::super::{PointCloud, ScanError};
use super::chance::{Chance, mixed};
use super::connected::largest_piece;
use super::draw::Draw;
use super::feature::{FeatureShape, ScanFeature, described, fitted};
use super::options::SegmentOptions;
use super::polish::polish;
use super::surface::{Nearness, Surface};

/// Points on which every candidate is judged.
const FIRST_LOOK: usize = 1500;
/// Points on which the best are polished and judged again.
const SECOND_LOOK: usize = 20_000;
/// Candidates that get a second look.
const PROMISING: usize = 24;
/// Points on which a candidate is polished, at most.
const POLISHED: usize = 400;
/// Draws of a round; a round that finds nothing is tried again with so many times more, twice.
const DRAWS: usize = 2048;
const MORE: usize = 4;
/// How far, in tolerances, a round thing must rise over a flat one through its middle.
const LEAST_RISE: f64 = 4.0;

/// Features of a scan, the first found first, and what is left.
#[derive(Clone, Debug, PartialEq)]
pub struct Segmented {
    /// Features.
    pub features: Vec<ScanFeature>,
    /// Numbers of the points that belong to none, in order.
    pub left: Vec<u32>,
    /// How far points may lie off a feature, mm.
    pub tolerance_mm: f64,
    /// How far points of one feature may be apart, mm.
    pub gap_mm: f64,
}

/// Finds planes, cylinders and spheres in a scan whose points have normals; `tree` is over its points.
///
/// A feature is one connected piece, refined by the least-squares fits of readings, with covariance. A cylinder or sphere is
/// taken only if its points tell it from a plane.
///
/// # Errors
/// [`ScanError`]: points without normals, or options that contradict themselves.
pub fn segment(
    cloud: &PointCloud,
    tree: &PointTree,
    options: &SegmentOptions,
) -> Result<Segmented, ScanError> {
    options.check()?;
    if cloud.normals.len() != cloud.points.len() || tree.len() != cloud.points.len() {
        return Err(ScanError::BadOption {
            what: "the points have no normals, or the tree is another cloud's".to_owned(),
            cure: "estimate normals first, with the tree of the same points",
        });
    }
    let count = cloud.points.len();
    if count < options.least_points {
        let (least, cure) = (options.least_points, "ask for fewer points a feature, or take a larger scan");
        return Err(ScanError::TooFew { what: "a feature", least, given: count, cure });
    }
    let spacing_mm = spacing_mm(cloud, tree);
    let tolerance_mm = options.tolerance_mm.unwrap_or_else(|| 3.0 * scatter_mm(cloud, tree, spacing_mm));
    let gap_mm = options.gap_mm.unwrap_or(4.0 * spacing_mm);
    let near = Nearness { tolerance_mm, cosine: options.angle_rad.cos() };
    let mut run = Run::new(cloud, tree, options, near, gap_mm, spacing_mm);
    run.search();
    let Run { features, order, free, .. } = run;
    let mut left: Vec<u32> = order.into_iter().filter(|&index| free[index as usize]).collect();
    left.sort_unstable();
    Ok(Segmented { features, left, tolerance_mm, gap_mm })
}

/// Median distance to the nearest other point, over some of the points, mm; above zero.
fn spacing_mm(cloud: &PointCloud, tree: &PointTree) -> f64 {
    let mut found: Vec<f64> = sampled(cloud)
        .filter_map(|at| {
            let mut two = Vec::new();
            tree.several(at, 2, f64::INFINITY, &mut two);
            two.get(1).map(|n| n.distance_sq.sqrt())
        })
        .collect();
    median(&mut found).max(1e-6)
}

/// Median distance of some points' neighbours from the plane through them, mm; at least a hundredth of the spacing.
fn scatter_mm(cloud: &PointCloud, tree: &PointTree, spacing_mm: f64) -> f64 {
    let mut found: Vec<f64> = sampled(cloud)
        .filter_map(|at| {
            let mut near = Vec::new();
            tree.several(at, 20, f64::INFINITY, &mut near);
            let points: Vec<Point3<f64>> = near.iter().map(|n| cloud.points[n.index as usize]).collect();
            let start = Surface::Plane { point: *at, normal: nalgebra::Vector3::z_axis() };
            let plane = polish(start, &points)?;
            let sum: f64 = points.iter().map(|p| plane.distance_mm(p).powi(2)).sum();
            Some((sum / (points.len() - 3) as f64).sqrt())
        })
        .collect();
    median(&mut found).max(0.01 * spacing_mm)
}

fn sampled(cloud: &PointCloud) -> impl Iterator<Item = &Point3<f64>> {
    cloud.points.iter().step_by((cloud.points.len() / 2000).max(1))
}

fn median(values: &mut [f64]) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// What has been found so far.
struct Run<'a> {
    cloud: &'a PointCloud,
    tree: &'a PointTree,
    options: &'a SegmentOptions,
    near: Nearness,
    gap_mm: f64,
    spacing_mm: f64,
    /// Free points in a random order: any beginning of it is a fair sample.
    order: Vec<u32>,
    /// The same in their own order: near ones near each other.
    in_order: Vec<u32>,
    free: Vec<bool>,
    features: Vec<ScanFeature>,
}

impl<'a> Run<'a> {
    fn new(
        cloud: &'a PointCloud,
        tree: &'a PointTree,
        options: &'a SegmentOptions,
        near: Nearness,
        gap_mm: f64,
        spacing_mm: f64,
    ) -> Self {
        let free: Vec<bool> = cloud.normals.iter().map(|normal| normal.norm_squared() > 0.25).collect();
        let mut order: Vec<u32> = (0..cloud.points.len() as u32).collect();
        let salt = mixed(options.seed ^ 0x5eed);
        order.par_sort_unstable_by_key(|&index| (mixed(salt ^ u64::from(index)), index));
        let in_order = (0..cloud.points.len() as u32).collect();
        Run { cloud, tree, options, near, gap_mm, spacing_mm, order, in_order, free, features: Vec::new() }
    }

    fn search(&mut self) {
        let mut round = 0;
        let mut draws = DRAWS;
        while self.features.len() < self.options.most_features {
            self.order.retain(|&index| self.free[index as usize]);
            self.in_order.retain(|&index| self.free[index as usize]);
            if self.order.len() < self.options.least_points {
                // Points without normals count as left all the same.
                break;
            }
            round += 1;
            let before = self.features.len();
            for surface in self.promising(round, draws) {
                if self.features.len() < self.options.most_features {
                    self.take(surface);
                }
            }
            if self.features.len() > before {
                continue;
            }
            if draws >= DRAWS * MORE * MORE {
                break;
            }
            draws *= MORE;
        }
        // All that belong to no feature, with those that had no normal.
        let mut taken = vec![false; self.cloud.points.len()];
        for feature in &self.features {
            feature.points.iter().for_each(|&index| taken[index as usize] = true);
        }
        self.free = taken.into_iter().map(|taken| !taken).collect();
        self.order = (0..self.cloud.points.len() as u32).collect();
    }

    fn holds(&self, surface: &Surface, index: u32) -> bool {
        let k = index as usize;
        surface.holds(&self.cloud.points[k], &self.cloud.normals[k], &self.near)
    }

    /// The most promising candidates of a round, polished, the largest first.
    fn promising(&self, round: u64, draws: usize) -> Vec<Surface> {
        let first = &self.order[..self.order.len().min(FIRST_LOOK)];
        let second = &self.order[..self.order.len().min(SECOND_LOOK)];
        let Run { cloud, tree, free, spacing_mm, options, near, .. } = self;
        let draw = Draw { cloud, tree, free, spacing_mm: *spacing_mm, options, near: *near };
        let mut found: Vec<(usize, usize, Surface)> = (0..draws)
            .into_par_iter()
            .with_min_len(64)
            .filter_map(|number| {
                let mut chance = Chance::new(options.seed, round, number as u64);
                let from = second[chance.below(second.len())];
                let surface = draw.candidate(from, &mut chance)?;
                let score = first.iter().filter(|&&index| self.holds(&surface, index)).count();
                Some((score, number, surface))
            })
            .collect();
        found.sort_unstable_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
        // A few of each kind: large planes must not hide every pipe.
        let mut best: Vec<Surface> = Vec::new();
        for plane in [true, false] {
            best.extend(
                found
                    .iter()
                    .filter(|(_, _, s)| s.is_plane() == plane)
                    .take(PROMISING / 2)
                    .map(|(_, _, s)| *s),
            );
        }
        let mut judged: Vec<(f64, usize, Surface)> = best
            .into_par_iter()
            .enumerate()
            .filter_map(|(number, surface)| {
                let surface = self.polished(surface, second)?;
                let score = second.iter().filter(|&&index| self.holds(&surface, index)).count() as f64;
                // Of two that hold as much the plainer is taken.
                Some((score * if surface.is_plane() { 1.1 } else { 1.0 }, number, surface))
            })
            .collect();
        judged.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        judged.into_iter().map(|(_, _, surface)| surface).collect()
    }

    fn polished(&self, mut surface: Surface, sample: &[u32]) -> Option<Surface> {
        for _ in 0..2 {
            let points: Vec<Point3<f64>> = sample
                .iter()
                .filter(|&&index| self.holds(&surface, index))
                .take(POLISHED)
                .map(|&index| self.cloud.points[index as usize])
                .collect();
            surface = polish(surface, &points)?;
        }
        match surface {
            Surface::Cylinder { radius_mm, .. } | Surface::Sphere { radius_mm, .. } => {
                let [least, most] = self.options.radius_mm;
                (least..=most).contains(&radius_mm).then_some(surface)
            }
            Surface::Plane { .. } => Some(surface),
        }
    }

    /// The largest connected piece of what is free and lies on a surface, in the order of the points.
    fn piece(&self, surface: &Surface) -> Vec<u32> {
        // A look at the sample first: most candidates of a round are one surface, and the first takes it all.
        let sample = &self.order[..self.order.len().min(SECOND_LOOK)];
        let holds = |index: u32| self.free[index as usize] && self.holds(surface, index);
        let seen = sample.iter().filter(|&&index| holds(index)).count();
        if (seen * self.order.len()) < self.options.least_points * sample.len() / 3 {
            return Vec::new();
        }
        let on: Vec<u32> = self
            .in_order
            .par_chunks(4096)
            .flat_map_iter(|part| part.iter().copied().filter(|&k| holds(k)))
            .collect();
        if on.len() < self.options.least_points {
            return Vec::new();
        }
        largest_piece(&self.cloud.points, &on, self.gap_mm)
    }

    /// Takes what lies on a surface as a feature, when it is large enough and its fit holds.
    fn take(&mut self, surface: Surface) {
        let least = self.options.least_points;
        let mut piece = self.piece(&surface);
        let mut shape: Option<FeatureShape> = None;
        for _ in 0..2 {
            if piece.len() < least {
                return;
            }
            let from = shape.as_ref().map_or(surface, FeatureShape::surface);
            let Ok(better) = fitted(self.cloud, &from, &piece) else { return };
            piece = self.piece(&better.surface());
            shape = Some(better);
        }
        let Some(shape) = shape else { return };
        if piece.len() < least || !self.stands_out(&shape, &piece) {
            return;
        }
        piece.iter().for_each(|&index| self.free[index as usize] = false);
        self.features.push(described(self.cloud, shape, piece));
    }

    /// Whether points of a round thing rise so far over the flat that they tell it from a plane.
    fn stands_out(&self, shape: &FeatureShape, piece: &[u32]) -> bool {
        let [least_mm, most_mm] = self.options.radius_mm;
        match shape.surface() {
            Surface::Plane { .. } => true,
            Surface::Cylinder { radius_mm, .. } | Surface::Sphere { radius_mm, .. } => {
                let points: Vec<Point3<f64>> = piece
                    .iter()
                    .step_by((piece.len() / POLISHED).max(1))
                    .map(|&index| self.cloud.points[index as usize])
                    .collect();
                let start = Surface::Plane { point: points[0], normal: nalgebra::Vector3::z_axis() };
                let Some(flat) = polish(start, &points) else { return false };
                let (low, high) = points
                    .iter()
                    .map(|at| flat.distance_mm(at))
                    .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), off| {
                        (low.min(off), high.max(off))
                    });
                (least_mm..=most_mm).contains(&radius_mm) && high - low > LEAST_RISE * self.near.tolerance_mm
            }
        }
    }
}
