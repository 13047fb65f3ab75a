//! Whether a hose is long enough, bends no tighter than it may and falls where it drains: figures with U, and verdicts.

use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

use crate::hose::{Hose, HoseError, Relaxed};
use crate::motion::{Farthest, farthest_apart};
use crate::scene::{Body, HoseRun, Scene};
use crate::space::{Length, Pose};

use super::known::{chord_variance, hold_errors, is_exact};
use super::sway::{Between, Sway, moved};
use crate::check::pair::{Ready, pose_words};
use crate::check::{COVERAGE, Finding, Findings, Place, Verdict};

/// Poses at which the uncertainty of a figure is asked: those where it is worst; the greatest stands for all others.
const ASKED: usize = 5;
/// Width of the proved interval of the straight way over the movement, mm.
const WAY_MM: f64 = 0.01;

/// Values of carriers' freedoms by the carriers' names; none at rest.
type Values = Vec<(String, Vec<f64>)>;

/// What is wrong with the hoses of a scene.
pub(in crate::check) fn check(scene: &Scene, ready: &[Ready<'_>], findings: &mut Findings) {
    for ready in ready {
        let (Some(run), Some(sway)) = (&ready.body.hose, &ready.sway) else { continue };
        let hose = Judged { scene, body: ready.body, run, sway };
        hose.length(findings);
        hose.shape(findings);
        hose.not_checked(findings);
    }
}

/// A hose with all that is known of it.
struct Judged<'a> {
    scene: &'a Scene,
    body: &'a Body,
    run: &'a HoseRun,
    sway: &'a Sway,
}

/// A pose at which a shape was found.
struct Look<'a> {
    values: Values,
    found: &'a Relaxed,
    hose: Hose,
    between: &'a Between,
}

/// Curvature at the tightest bend, 1 / mm, and the least fall, rad.
fn figures(shape: &Relaxed) -> [f64; 2] {
    [1.0 / shape.tightest().radius_mm, shape.fall().least_rad]
}

/// A figure against its limit: less is better.
struct Figure<'a> {
    look: &'a Look<'a>,
    /// At the worst pose that was looked at.
    worst: f64,
    /// What may lie between poses, and what pieces hide there.
    over: f64,
    under: f64,
    /// Expanded, k = 2; infinite where an error of one standard uncertainty leaves no shape.
    uncertainty: f64,
}

impl Figure<'_> {
    /// The figure at the worst pose, the most that it may be, the least that it surely is.
    fn range(&self) -> [f64; 3] {
        let (over, under) = (self.over + self.uncertainty, self.under + self.uncertainty);
        [self.worst, self.worst + over, self.worst - under]
    }

    /// By ISO 14253-1: short when even what is surely reached breaks the limit, clear when even what may be does not.
    fn verdict(&self, most: f64) -> Verdict {
        if self.worst - self.under - self.uncertainty > most {
            Verdict::Short
        } else if self.worst + self.over + self.uncertainty <= most {
            Verdict::Clear
        } else {
            Verdict::Undecided
        }
    }
}

impl Judged<'_> {
    /// Hose against straight way, span by span: the way of the last span is proved over the whole movement.
    fn length(&self, findings: &mut Findings) {
        let (hose, name) = (&self.run.hose, &self.body.name);
        let (Ok(reaches), Ok(held)) = (hose.reaches(), hose.held()) else { return };
        let holds = held.holds();
        let mut worst: Option<(Verdict, f64, Finding)> = None;
        for (span, reach) in reaches.iter().enumerate() {
            let (one, other) = (holds[span].0, holds[span + 1].0);
            let rides = self.run.to_carrier.filter(|_| span + 1 == reaches.len());
            let far = rides.map(|rides| self.farthest(&one, &other, rides));
            let (at_most_mm, found_mm) =
                far.as_ref().map_or((reach.chord_mm, reach.chord_mm), |far| (far.at_most_mm, far.found_mm));
            let (values, end): (Values, Point3<f64>) = match (&far, rides) {
                (Some(far), Some(rides)) => {
                    let gone = (far.one_values.as_slice(), rides, far.other_values.as_slice());
                    let end = moved(self.scene, self.body, &held, gone).to.at;
                    let name = |carrier: usize| self.scene.carriers[carrier].name.clone();
                    let values = vec![
                        (name(self.body.carrier), far.one_values.clone()),
                        (name(rides), far.other_values.clone()),
                    ];
                    (values, end)
                }
                _ => (Vec::new(), other),
            };
            let way: Vector3<f64> = (end - one).try_normalize(1e-9).unwrap_or_else(Vector3::zeros);
            let chord = chord_variance(self.body, self.run, (span, &one), (span + 1, &other), &way);
            let uncertainty_mm = COVERAGE * (chord + self.run.known.length_mm.powi(2)).sqrt();
            let (upper_mm, lower_mm) = (reach.length_mm - found_mm, reach.length_mm - at_most_mm);
            let verdict = if upper_mm + uncertainty_mm <= 0.0 {
                Verdict::Short
            } else if lower_mm - uncertainty_mm > 0.0 {
                continue;
            } else {
                Verdict::Undecided
            };
            if worst.as_ref().is_some_and(|(before, mm, _)| (*before, -mm) >= (verdict, -upper_mm)) {
                continue;
            }
            let [length, way, spare, u] =
                [reach.length_mm, found_mm, upper_mm, uncertainty_mm].map(Length::from_mm);
            let words = pose_words(self.scene, &values);
            let message = match verdict {
                Verdict::Short => format!(
                    "hose `{name}`, {words}: span {} of the hose is {length} long, but its holds are {way} apart (+/- {u}): it is at \
                     least {} short; make it longer",
                    span + 1,
                    Length::from_mm(0.0) - spare,
                ),
                _ => format!(
                    "hose `{name}`, {words}: span {} has {spare} +/- {u} to spare ({length} of hose, holds {way} apart): make it longer by \
                     {}, or measure its ends more exactly to decide",
                    span + 1,
                    Length::from_mm(uncertainty_mm - lower_mm),
                ),
            };
            let mut finding = self.finding(verdict, "hose-length", &values, &end, message);
            (finding.required, finding.actual) = (Some(Length::ZERO), Some(spare));
            finding.uncertainty = Some(u);
            worst = Some((verdict, upper_mm, finding));
        }
        findings.list.extend(worst.map(|(.., finding)| finding));
    }

    /// The farthest that a hold and the far port come from each other: proved.
    fn farthest(&self, hold: &Point3<f64>, end: &Point3<f64>, rides: usize) -> Farthest {
        let world = &self.body.world_from_body;
        let movement = |carrier: usize| &self.scene.carriers[carrier].movement;
        let still = crate::motion::Movement::still();
        let (own, other) = if rides == self.body.carrier {
            (&still, &still)
        } else {
            (movement(self.body.carrier), movement(rides))
        };
        farthest_apart((&(world * hold), own), (&(world * end), other), WAY_MM)
    }

    /// Bends and fall, over the poses that were looked at and what may lie between.
    fn shape(&self, findings: &mut Findings) {
        let Ok(held) = self.run.hose.held() else { return };
        let nothing = Between::default();
        let mut looks = Vec::new();
        let mut lost: Option<(Values, &HoseError)> = None;
        match &self.sway.rest {
            Ok(found) => {
                looks.push(Look { values: Vec::new(), found, hose: held.clone(), between: &nothing });
            }
            Err(cause) => lost = Some((Vec::new(), cause)),
        }
        for cell in &self.sway.cells {
            let [(_, own, _), (other, others, _)] = &cell.carriers;
            let values = cell.values(self.scene);
            match &cell.found {
                Ok(found) => looks.push(Look {
                    values,
                    found,
                    hose: moved(self.scene, self.body, &held, (own, *other, others)),
                    between: &cell.between,
                }),
                // That it is too short is told by its length.
                Err(HoseError::TooShort { .. }) => {}
                Err(cause) => {
                    lost.get_or_insert((values, cause));
                }
            }
        }
        // That its shape was not found says nothing of the hose.
        if let Some((values, cause)) = lost {
            let words = pose_words(self.scene, &values);
            let message = format!("hose `{}`, {words}: {cause}", self.body.name);
            let at = self.run.hose.to.at;
            findings.list.push(self.finding(Verdict::Undecided, "hose-length", &values, &at, message));
        }
        self.bend(&looks, findings);
        if self.run.drains {
            self.fall(&looks, findings);
        }
    }

    fn bend(&self, looks: &[Look<'_>], findings: &mut Findings) {
        let Some(figure) = self.figure(looks, |figures| figures[0], |between| between.curvature) else {
            return;
        };
        let least_mm = self.run.least_bend_mm;
        let verdict = figure.verdict(1.0 / least_mm);
        if verdict == Verdict::Clear {
            return;
        }
        let tight = figure.look.found.tightest();
        let [radius_mm, low_mm, high_mm] = figure.range().map(|curvature| 1.0 / curvature.max(1e-9));
        let words = pose_words(self.scene, &figure.look.values);
        let within = if low_mm < 0.99 * radius_mm || high_mm > 1.01 * radius_mm {
            let high =
                if high_mm > 10.0 * radius_mm { "more".to_owned() } else { format!("{high_mm:.0} mm") };
            format!(" ({low_mm:.0} mm to {high} within what is known, k = 2)")
        } else {
            String::new()
        };
        let cure = match verdict {
            Verdict::Short => "turn its ports, move a clip, or change its length",
            _ => {
                "measure its ends and its length more exactly, or turn its ports, move a clip, or change its length"
            }
        };
        let message = format!(
            "hose `{}`, {words}: bends to {radius_mm:.0} mm{within} where {least_mm:.0} mm is the least; {cure}",
            self.body.name
        );
        let mut finding = self.finding(verdict, "hose-bend", &figure.look.values, &tight.at, message);
        finding.required = Some(Length::from_mm(least_mm));
        finding.actual = Some(Length::from_mm(radius_mm));
        let u_mm = (radius_mm - low_mm).max(high_mm - radius_mm);
        finding.uncertainty = (u_mm < 10.0 * radius_mm).then(|| Length::from_mm(u_mm));
        findings.list.push(finding);
    }

    fn fall(&self, looks: &[Look<'_>], findings: &mut Findings) {
        let Some(figure) = self.figure(looks, |figures| -figures[1], |between| between.fall_rad) else {
            return;
        };
        // Level is no fall.
        let verdict = figure.verdict(-1e-6);
        if verdict == Verdict::Clear {
            return;
        }
        let [climb, high, low] = figure.range().map(f64::to_degrees);
        let at = figure.look.found.fall().at;
        let words = pose_words(self.scene, &figure.look.values);
        let within = if high - low > 0.05 {
            format!(" ({low:.1} to {high:.1} within what is known, k = 2)")
        } else {
            String::new()
        };
        let message = match verdict {
            Verdict::Short => format!(
                "hose `{}`, {words}: does not fall all the way; it climbs by up to {climb:.1} deg{within} on its way down; shorten it, or \
                 clip it up where it sags",
                self.body.name
            ),
            _ => format!(
                "hose `{}`, {words}: falls by {:.1} deg where it falls least, and within what is known (k = 2) by {:.1} to {:.1}: shorten it, \
                 clip it up where it sags, or measure its ends more exactly to decide",
                self.body.name, -climb, -high, -low
            ),
        };
        findings.list.push(self.finding(verdict, "hose-fall", &figure.look.values, &at, message));
    }

    /// A figure (less is better) over all looks, with its uncertainty at those where it is worst.
    fn figure<'l>(
        &self,
        looks: &'l [Look<'l>],
        of: impl Fn([f64; 2]) -> f64 + Sync,
        between: impl Fn(&Between) -> f64,
    ) -> Option<Figure<'l>> {
        let mut order: Vec<(f64, &Look<'_>)> =
            looks.iter().map(|look| (of(figures(look.found)), look)).collect();
        order.sort_by(|a, b| b.0.total_cmp(&a.0));
        let (worst, look) = *order.first()?;
        let exact = is_exact(self.body, self.run);
        let asked = order.len().min(ASKED);
        // What pieces hide and what errors do, by poses: signs do not matter to either.
        let told: Vec<(f64, f64)> = order[..asked]
            .par_iter()
            .map(|(_, look)| {
                let size = |changes: [f64; 2]| of(changes).abs();
                let hidden = look.hose.coarseness(look.found, figures).map_or(0.0, size);
                if exact {
                    return (hidden, 0.0);
                }
                let holds: Vec<Point3<f64>> = look.hose.holds().iter().map(|hold| hold.0).collect();
                let errors = hold_errors(self.body, self.run, &holds);
                let spread = look.hose.spread(look.found, &errors, self.run.known.length_mm, figures);
                (hidden, spread.map_or(f64::INFINITY, |spread| COVERAGE * size(spread)))
            })
            .collect();
        let hidden = told.iter().map(|one| one.0).fold(0.0, f64::max);
        let uncertainty = told.iter().map(|one| one.1).fold(0.0, f64::max);
        let reached = order.iter().map(|(value, look)| value + between(look.between));
        let over = reached.fold(0.0f64, |most, value| most.max(value - worst)) + hidden;
        Some(Figure { look, worst, over, under: told[0].0, uncertainty })
    }

    fn not_checked(&self, findings: &mut Findings) {
        let (name, cells) = (&self.body.name, &self.sway.cells);
        if !cells.is_empty() {
            let between = cells.iter().map(|cell| cell.between.place_mm()).fold(0.0, f64::max);
            findings.not_checked.push(format!(
                "hose `{name}`: how it gives way was looked at in {} poses of its ends, not proved between them: there it is taken to lie \
                 within {} of the nearest, three quarters of how far it moves from pose to pose",
                cells.len(),
                Length::from_mm(between)
            ));
        }
        if is_exact(self.body, self.run) {
            findings.not_checked.push(format!(
                "hose `{name}`: how well its ends are known is not said, and they are taken as exact; say `sigma` of its body, or \
                 `sigma_from`, `sigma_to` and `sigma_out` of the hose"
            ));
        }
    }

    fn finding(
        &self,
        verdict: Verdict,
        code: &'static str,
        values: &Values,
        at: &Point3<f64>,
        message: String,
    ) -> Finding {
        let carrier_pose = values.first().map_or_else(Pose::identity, |(_, values)| {
            self.scene.carriers[self.body.carrier].movement.world_from_rest(values)
        });
        let at = carrier_pose * self.body.world_from_body * at;
        Finding {
            code,
            verdict,
            bodies: vec![self.body.name.clone()],
            required: None,
            actual: None,
            at_rest: None,
            uncertainty: None,
            figures: Vec::new(),
            shown: Vec::new(),
            place: Some(Place {
                on_first: at,
                on_second: at,
                pose: pose_words(self.scene, values),
                values: values.clone(),
            }),
            rule: "a hose reaches, bends no tighter than it may, and falls where it drains".to_owned(),
            because: "a hose that is pulled straight or kinked fails; common practice, no source".to_owned(),
            cure: None,
            message,
        }
    }
}
