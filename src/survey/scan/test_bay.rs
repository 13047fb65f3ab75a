//! An invented bay as a scanner sees it, for tests and benches: planes, pipes, balls, with scatter.

use nalgebra::{Point3, Rotation3, Unit, Vector3};

/// Reproducible random numbers (`splitmix64`).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Dice(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15).wrapping_add(0x1234_5678))
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let x = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        x ^ (x >> 31)
    }

    /// From 0 to less than 1.
    pub fn uniform(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Normal, mean 0, standard deviation 1 (Box and Muller).
    pub fn normal(&mut self) -> f64 {
        let (a, b) = (1.0 - self.uniform(), self.uniform());
        (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }

    /// A direction, all alike.
    pub fn direction(&mut self) -> Unit<Vector3<f64>> {
        Unit::new_normalize(Vector3::new(self.normal(), self.normal(), self.normal()))
    }
}

/// A surface of the bay.
#[derive(Clone, Copy, Debug)]
pub enum Patch {
    /// A corner and two edges.
    Flat { corner: Point3<f64>, edges: [Vector3<f64>; 2] },
    /// From one end of the axis to the other, over so much of the round.
    Round { from: Point3<f64>, along: Vector3<f64>, radius_mm: f64, part: f64 },
    /// A whole ball.
    Ball { center: Point3<f64>, radius_mm: f64 },
}

impl Patch {
    fn area(&self) -> f64 {
        match self {
            Patch::Flat { edges: [a, b], .. } => a.cross(b).norm(),
            Patch::Round { along, radius_mm, part, .. } => {
                along.norm() * radius_mm * part * std::f64::consts::TAU
            }
            Patch::Ball { radius_mm, .. } => 4.0 * std::f64::consts::PI * radius_mm * radius_mm,
        }
    }

    fn point(&self, dice: &mut Dice) -> Point3<f64> {
        match self {
            Patch::Flat { corner, edges: [a, b] } => corner + a * dice.uniform() + b * dice.uniform(),
            Patch::Round { from, along, radius_mm, part } => {
                let axis = along.normalize();
                let u = axis.cross(&Vector3::ith(axis.iamin(), 1.0)).normalize();
                let v = axis.cross(&u);
                let angle = std::f64::consts::TAU * part * dice.uniform();
                from + along * dice.uniform() + (u * angle.cos() + v * angle.sin()) * *radius_mm
            }
            Patch::Ball { center, radius_mm } => center + dice.direction().into_inner() * *radius_mm,
        }
    }
}

/// Surfaces of the bay, mm.
pub fn patches() -> Vec<Patch> {
    let v = Vector3::new;
    let p = Point3::new;
    let flat = |corner, a, b| Patch::Flat { corner, edges: [a, b] };
    let mut all = vec![
        flat(p(1200.0, -700.0, 0.0), v(0.0, 1400.0, 0.0), v(60.0, 0.0, 900.0)),
        flat(p(0.0, -700.0, 0.0), v(1200.0, 0.0, 0.0), v(0.0, -40.0, 600.0)),
        flat(p(0.0, 700.0, 0.0), v(1200.0, 0.0, 0.0), v(0.0, 40.0, 600.0)),
        flat(p(0.0, -700.0, 0.0), v(0.0, 1400.0, 0.0), v(0.0, 0.0, 250.0)),
    ];
    // A block, turned a little about the vertical.
    let turn = Rotation3::from_axis_angle(&Vector3::z_axis(), 0.14);
    let (a, b, c) = (turn * v(520.0, 0.0, 0.0), turn * v(0.0, 430.0, 0.0), v(0.0, 0.0, 380.0));
    let base = p(400.0, -240.0, 160.0);
    all.extend([
        flat(base + c, a, b),
        flat(base, a, c),
        flat(base + b, a, c),
        flat(base, b, c),
        flat(base + a, b, c),
    ]);
    let round = |from, along, radius_mm, part| Patch::Round { from, along, radius_mm, part };
    all.extend([
        round(p(150.0, -420.0, 300.0), v(820.0, 120.0, 160.0), 31.75, 1.0),
        round(p(200.0, 330.0, 180.0), v(600.0, 80.0, 300.0), 25.0, 1.0),
        round(p(980.0, 480.0, 120.0), v(0.0, 0.0, 360.0), 70.0, 1.0),
        round(p(750.0, -690.0, 80.0), v(0.0, 0.0, 420.0), 110.0, 0.5),
        round(p(120.0, -300.0, 120.0), v(60.0, 620.0, 0.0), 45.0, 1.0),
        Patch::Ball { center: p(250.0, -80.0, 480.0), radius_mm: 85.0 },
        Patch::Ball { center: p(1000.0, -380.0, 560.0), radius_mm: 60.0 },
    ]);
    all
}

/// So many points over the bay, each with the number of its patch; evenly over the area, each coordinate off by `sigma_mm`.
pub fn bay_scan(count: usize, sigma_mm: f64, seed: u64) -> Vec<(Point3<f64>, usize)> {
    let patches = patches();
    let mut ends = Vec::with_capacity(patches.len());
    let mut area = 0.0;
    for patch in &patches {
        area += patch.area();
        ends.push(area);
    }
    let mut dice = Dice::new(seed);
    (0..count)
        .map(|_| {
            let at = dice.uniform() * area;
            let which = ends.iter().position(|end| at < *end).unwrap_or(ends.len() - 1);
            let scatter = Vector3::new(dice.normal(), dice.normal(), dice.normal()) * sigma_mm;
            (patches[which].point(&mut dice) + scatter, which)
        })
        .collect()
}
