//! A tube as a shop talks: straights and legs, and bends toward something.

use std::fmt;

use nalgebra::{Point3, Rotation3, Unit, Vector3};

use super::bend_list::frame;
use super::corner_line::across;
use super::{BendList, ListedBend, TubeError};
use crate::solid::TubePlace;
use crate::space::Direction;

/// How near (of a unit vector) a direction must be to a named one to be called by its name.
const NAMED: f64 = 1e-12;

/// One thing said about a tube.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Step {
    /// Straight tube, mm: between the tangent points of its neighbours.
    Straight(f64),
    /// A leg measured to the theoretical corners at its ends (or to the tube's end), mm; it holds the
    /// setbacks of its bends.
    Leg(f64),
    /// A bend.
    Bend {
        /// How far, rad, over 0 to pi.
        angle_rad: f64,
        /// Centreline radius, mm.
        radius_mm: f64,
        /// Which way.
        toward: Toward,
    },
}

/// Which way a bend goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Toward {
    /// Toward a direction; only its part across the tube counts.
    Heading(Unit<Vector3<f64>>),
    /// The plane of the last bend turned about the tube, rad, as a bend list's rotation. The first bend
    /// has no plane before it and must be given a heading.
    Roll(f64),
}

/// A tube as a shop talks, from where it starts.
///
/// # Example
/// 6 in straight, a right angle of 4.5 in radius upward, 3 in straight, heading rearward:
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::space::{Direction, LengthUnit};
/// use baywright::tube::SpokenTube;
/// use nalgebra::Point3;
/// let said = "6 in straight, 90 at 4.5 in CLR, turn up, 3 in straight";
/// let tube = SpokenTube::parse(said, LengthUnit::Millimetre, Point3::origin(), Direction::Rearward.unit()).unwrap();
/// let end = tube.bend_list().unwrap().end();
/// // 152.4 + 114.3 rearward, 114.3 + 76.2 up.
/// assert!((end.translation.vector - nalgebra::Vector3::new(266.7, 0.0, 190.5)).norm() < 1e-9);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct SpokenTube {
    /// Where it starts.
    pub at: Point3<f64>,
    /// Where it heads there.
    pub heading: Unit<Vector3<f64>>,
    /// What is said, in order.
    pub steps: Vec<Step>,
}

/// A straight in the making: what was said since the last bend.
#[derive(Default)]
struct Run {
    straight_mm: f64,
    leg_mm: Option<f64>,
}

impl SpokenTube {
    /// The same tube as a bend list.
    ///
    /// # Errors
    /// [`TubeError`]: a leg under its setbacks, a bend toward where the tube already heads, figures that
    /// cannot be.
    pub fn bend_list(&self) -> Result<BendList, TubeError> {
        let mut along = self.heading.into_inner();
        let mut normal = across(&along);
        let mut first_normal = normal;
        let mut bends: Vec<ListedBend> = Vec::new();
        let mut run = Run::default();
        let mut setback_before = 0.0;
        for step in &self.steps {
            match *step {
                Step::Straight(mm) => run.straight_mm += mm,
                Step::Leg(mm) => run.leg_mm = Some(run.leg_mm.unwrap_or(0.0) + mm),
                Step::Bend { angle_rad, radius_mm, toward } => {
                    let place = TubePlace::Bend(bends.len() + 1);
                    let next = plane(&along, &normal, toward, bends.is_empty(), place)?;
                    let rotation_rad = if bends.is_empty() {
                        first_normal = next;
                        0.0
                    } else {
                        along.dot(&normal.cross(&next)).atan2(normal.dot(&next))
                    };
                    let bend = ListedBend { straight_mm: 0.0, rotation_rad, angle_rad, radius_mm };
                    let straight_mm = run.end(bends.len(), setback_before, Some(&bend))?;
                    normal = next;
                    along = Rotation3::from_axis_angle(&Unit::new_normalize(normal), angle_rad) * along;
                    setback_before = bend.setback_mm();
                    bends.push(ListedBend { straight_mm, ..bend });
                    run = Run::default();
                }
            }
        }
        let last_straight_mm = run.end(bends.len(), setback_before, None)?;
        let start = frame(&self.at, &self.heading, &first_normal);
        let list = BendList { start, bends, last_straight_mm };
        list.check()?;
        Ok(list)
    }

    /// A bend list as a shop says it: straights between tangent points, and each bend toward a direction
    /// across the tube, by its word where it has one.
    pub fn of(list: &BendList) -> Self {
        let mut steps = Vec::new();
        let mut axes = list.start.rotation.to_rotation_matrix();
        for bend in &list.bends {
            if bend.straight_mm > 0.0 {
                steps.push(Step::Straight(bend.straight_mm));
            }
            axes *= Rotation3::from_axis_angle(&Vector3::x_axis(), bend.rotation_rad);
            let toward = Unit::new_normalize(axes.matrix().column(1).into_owned());
            steps.push(Step::Bend {
                angle_rad: bend.angle_rad,
                radius_mm: bend.radius_mm,
                toward: Toward::Heading(toward),
            });
            axes *= Rotation3::from_axis_angle(&Vector3::z_axis(), bend.angle_rad);
        }
        if list.last_straight_mm > 0.0 {
            steps.push(Step::Straight(list.last_straight_mm));
        }
        SpokenTube {
            at: list.start.translation.vector.into(),
            heading: Unit::new_normalize(list.start * Vector3::x()),
            steps,
        }
    }
}

impl Run {
    /// The straight between tangent points.
    fn end(&self, after: usize, before_mm: f64, next: Option<&ListedBend>) -> Result<f64, TubeError> {
        let Some(leg_mm) = self.leg_mm else { return Ok(self.straight_mm) };
        let setbacks_mm = before_mm + next.map_or(0.0, ListedBend::setback_mm);
        let straight_mm = leg_mm + self.straight_mm - setbacks_mm;
        if straight_mm < -1e-9 {
            let from = if after == 0 { TubePlace::Start } else { TubePlace::Bend(after) };
            let to = if next.is_some() { TubePlace::Bend(after + 1) } else { TubePlace::End };
            return Err(TubeError::LegUnderSetbacks { from, to, leg_mm, setbacks_mm });
        }
        Ok(straight_mm.max(0.0))
    }
}

/// Normal of the plane of a bend.
fn plane(
    along: &Vector3<f64>,
    last: &Vector3<f64>,
    toward: Toward,
    first: bool,
    place: TubePlace,
) -> Result<Vector3<f64>, TubeError> {
    match toward {
        Toward::Heading(heading) => along
            .cross(&heading)
            .try_normalize(1e-9)
            .ok_or_else(|| TubeError::TurnAlongItself { place, toward: heading_words(&heading) }),
        Toward::Roll(rad) if !first => {
            Ok(Rotation3::from_axis_angle(&Unit::new_normalize(*along), rad) * last)
        }
        Toward::Roll(_) => Err(TubeError::NoPlaneYet { place }),
    }
}

fn heading_words(heading: &Unit<Vector3<f64>>) -> String {
    let named =
        Direction::ALL.into_iter().find(|known| (known.unit().into_inner() - **heading).norm() < NAMED);
    match named {
        Some(direction) => direction.word().to_owned(),
        None => format!("[{} {} {}]", heading.x, heading.y, heading.z),
    }
}

/// In millimetres and degrees, as [`SpokenTube::parse`] reads it again: every figure to its last digit,
/// angles within rounding of one conversion.
impl fmt::Display for SpokenTube {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, step) in self.steps.iter().enumerate() {
            if index > 0 {
                write!(f, ", ")?;
            }
            match step {
                Step::Straight(mm) => write!(f, "{mm} mm straight")?,
                Step::Leg(mm) => write!(f, "{mm} mm leg")?,
                Step::Bend { angle_rad, radius_mm, toward } => {
                    write!(f, "{} deg at {radius_mm} mm CLR, ", angle_rad.to_degrees())?;
                    match toward {
                        Toward::Heading(heading) => write!(f, "turn {}", heading_words(heading))?,
                        Toward::Roll(rad) => write!(f, "roll {} deg", rad.to_degrees())?,
                    }
                }
            }
        }
        Ok(())
    }
}
