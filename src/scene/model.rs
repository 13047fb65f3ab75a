//! The resolved scene: every name looked up, every unit converted, every pose in vehicle axes.

use std::path::PathBuf;
use std::sync::Arc;

use nalgebra::{Matrix6, Point3, Vector3};

use crate::calc::{Flow, FlowLimits};
use crate::hose::Hose;
use crate::motion::Movement;
use crate::solid::Shape;
use crate::space::{Angle, Length, LengthUnit, Pose};
use crate::survey::{ReadingAgain, SharedMoves};
use crate::tube::{Bender, JointKind, StockBend};

use super::service::{ServicePoint, ServiceTool, StandingPlace};

/// Where in a file something is written; line and column count from 1.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Span {
    /// File, relative to the scene's folder; `house:...` for the built-in library.
    pub file: String,
    /// Line, from 1; 0 when made by a script.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
}

/// A whole scene at rest, in vehicle axes (x rearward, y right, z up), millimetres.
#[derive(Clone, Debug, Default)]
pub struct Scene {
    /// The scene file as it was named.
    pub path: PathBuf,
    /// What the scene is of.
    pub title: String,
    /// What a bare number means in the scene file, and in scripts that run on it.
    pub units: LengthUnit,
    /// Remarks, in order.
    pub notes: Vec<Note>,
    /// Every file that the scene names, itself first, relative to its folder, in order met, no repeats.
    pub files: Vec<PathBuf>,
    /// Surveys as read and aligned.
    pub surveys: Vec<SurveyRead>,
    /// Carriers; `chassis`, which stands still, is the first.
    pub carriers: Vec<Carrier>,
    /// Named frames.
    pub frames: Vec<Frame>,
    /// Bodies, in document order.
    pub bodies: Vec<Body>,
    /// Room rules, in document order; a later one wins over an earlier one of the same rank, and
    /// one by body name over one by role.
    pub rules: Vec<RoomRule>,
    /// Pairs that touch because they are fastened.
    pub joined: Vec<Joined>,
    /// Service points.
    pub service: Vec<ServicePoint>,
    /// Places where a person may stand or kneel.
    pub standing: Vec<StandingPlace>,
    /// How far hinges stand open while servicing, when the scene says so; else all the way.
    pub hood_open: Option<Angle>,
    /// Tools that service points may name, the library's included.
    pub tools: Vec<ServiceTool>,
    /// Materials that bodies may be made of, the library's included.
    pub materials: Vec<Material>,
    /// Benders, the library's included.
    pub benders: Vec<Bender>,
    /// Ready-made bends, the library's included.
    pub stock_bends: Vec<StockBend>,
    /// Names of the parts that are mounted, as the scene lists them; none are listed when it is empty. A name may be one
    /// that only a script places.
    pub kit: Vec<String>,
    /// How long steps of mounting take, the library's included.
    pub step_times: Vec<StepTime>,
    /// Words that bodies' roles may be, the library's included.
    pub roles: Vec<Role>,
}

/// What a body may be made of.
#[derive(Clone, Debug, PartialEq)]
pub struct Material {
    /// Name, as [`Body::material`] gives it.
    pub name: String,
    /// Density, kg/m^3.
    pub density_kg_m3: f64,
    /// Where the figure comes from.
    pub source: String,
}

/// How long a step of mounting takes.
#[derive(Clone, Debug, PartialEq)]
pub struct StepTime {
    /// A word for what fastens, or `part` or `move`.
    pub name: String,
    /// Minutes.
    pub minutes: f64,
    /// Where the figure comes from.
    pub source: String,
}

/// A remark by a person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// Who.
    pub author: String,
    /// When, `YYYY-MM-DD`.
    pub date: String,
    /// What.
    pub text: String,
}

/// What bodies move with.
#[derive(Clone, Debug)]
pub struct Carrier {
    /// Name.
    pub name: String,
    /// How it moves; rest is 0 in every freedom.
    pub movement: Movement,
    /// A word for each freedom: `rock`, `bounce`, `hinge`, `lift`.
    pub freedom_words: Vec<String>,
    /// Where it is written.
    pub span: Span,
}

/// A named frame.
#[derive(Clone, Debug)]
pub struct Frame {
    /// Name.
    pub name: String,
    /// Where it stands, carriers at rest.
    pub world_from_frame: Pose,
    /// Index into [`Scene::carriers`].
    pub carrier: usize,
    /// How well it is placed.
    pub placement: Placement,
    /// Where it is written.
    pub span: Span,
}

/// The role of a body, by which room rules find it: a word such as `hot`, `hose`, `panel`.
pub type Role = String;

/// How well a body's place is known: the covariance of a small shift (mm) and a small turn (rad)
/// of the body about `about`, in vehicle axes, and the surface's own form error.
#[derive(Clone, Debug, PartialEq)]
pub struct Placement {
    /// The point about which the small turn is taken.
    pub about: Point3<f64>,
    /// Covariance of (shift x, y, z, turn x, y, z): mm^2, mm rad, rad^2.
    pub covariance: Matrix6<f64>,
    /// Standard uncertainty of the surface itself (form, thickness, radius), mm.
    pub surface_mm: f64,
    /// Name of the survey or part that this comes from; bodies that share one may share errors.
    pub source: Option<String>,
    /// What of `covariance` is shared with other bodies; the rest is this one's alone.
    pub shares: Vec<Share>,
    /// Form of the surface, mm, when all else of `surface_mm` is a radius whose errors stand in `shares` as growth; `None`
    /// when `surface_mm` is all that is known of the surface.
    pub form_mm: Option<f64>,
}

/// How a body moves with errors that others may answer to as well: a survey's readings, the place of what it stands on.
#[derive(Clone, Debug, PartialEq)]
pub struct Share {
    /// Whose errors: `survey NAME`, `fit of NAME`, `place of NAME`, `spread of NAME`.
    pub source: String,
    /// The movements, about the placement's point, in vehicle axes.
    pub moves: SharedMoves,
}

/// What the source of a share begins with when it is what a body strays by from vehicle to vehicle.
pub(crate) const SPREAD_OF: &str = "spread of ";

/// Whether a share of that source is how a body strays from vehicle to vehicle.
pub(crate) fn is_spread(source: &str) -> bool {
    source.starts_with(SPREAD_OF)
}

impl Placement {
    /// Known exactly, about a point.
    pub fn exact(about: Point3<f64>) -> Self {
        let (covariance, shares) = (Matrix6::zeros(), Vec::new());
        Placement { about, covariance, surface_mm: 0.0, source: None, shares, form_mm: None }
    }

    /// The covariance of the same small movement told about another point of the same rigid thing: the shift
    /// there is `shift + turn x arm`.
    pub fn covariance_at(&self, about: &Point3<f64>) -> Matrix6<f64> {
        carried(&self.covariance, &(about - self.about))
    }

    /// What it shares, told about another point of the same rigid thing.
    pub fn shares_at(&self, about: &Point3<f64>) -> Vec<Share> {
        shares_carried(&self.shares, &(about - self.about))
    }

    /// Whether it answers to any error that `other` answers to.
    pub fn shares_with(&self, other: &Placement) -> bool {
        self.shares.iter().any(|share| other.shares.iter().any(|theirs| theirs.source == share.source))
    }
}

/// Shares about a point `arm` away on the same solid.
pub(crate) fn shares_carried(shares: &[Share], arm: &Vector3<f64>) -> Vec<Share> {
    let map = arm_map(arm);
    let moved = |share: &Share| Share { source: share.source.clone(), moves: share.moves.mapped(&map) };
    shares.iter().map(moved).collect()
}

/// Covariance of a small movement about one point as it is about a point `arm` away (mm) on the same
/// solid: the shift there is `shift + turn x arm`.
pub(crate) fn carried(covariance: &Matrix6<f64>, arm: &Vector3<f64>) -> Matrix6<f64> {
    let jacobian = arm_map(arm);
    jacobian * covariance * jacobian.transpose()
}

/// (shift, turn) about a point `arm` away from that about the first.
fn arm_map(arm: &Vector3<f64>) -> Matrix6<f64> {
    let mut jacobian = Matrix6::identity();
    // turn x arm = -[arm]x turn.
    jacobian.fixed_view_mut::<3, 3>(0, 3).copy_from(&-arm.cross_matrix());
    jacobian
}

/// A solid thing in the scene.
#[derive(Clone, Debug)]
pub struct Body {
    /// Name, unique among bodies.
    pub name: String,
    /// Shape in the body's own frame.
    pub shape: Arc<Shape>,
    /// Where it stands, carriers at rest.
    pub world_from_body: Pose,
    /// Index into [`Scene::carriers`].
    pub carrier: usize,
    /// Roles by which rules find it; the first is its main one. May be empty.
    pub roles: Vec<Role>,
    /// What it is made of.
    pub material: Option<String>,
    /// What bends it, when it is a tube: a bender's name, or `stock` for ready-made bends.
    pub bent_by: Option<String>,
    /// How hot its metal gets, deg C: then its growth counts in every gap and joint.
    pub hot_c: Option<f64>,
    /// What flows through it, when it is a tube, and what that may cost.
    pub flow: Option<TubeFlow>,
    /// What it weighs, kg, when the scene says so; else its shape's volume by its material's density.
    pub mass_kg: Option<f64>,
    /// The point it is lifted by, when it is too heavy for hands.
    pub hoist: Option<Hoist>,
    /// What it is as a hose: then it gives way where its ends move.
    pub hose: Option<Arc<HoseRun>>,
    /// Factory equipment that must stay.
    pub kept: bool,
    /// Why a kept body may be moved or taken out all the same, when the scene says so.
    pub may_move: Option<String>,
    /// Placed by a script and being tried.
    pub candidate: bool,
    /// Thickness over the shape that counts in every gap: wrap + coating + sheath.
    pub cover: Length,
    /// How well it is placed.
    pub placement: Placement,
    /// Fit that made it, when it was fitted to readings.
    pub fit: Option<FitEvidence>,
    /// Where it is written.
    pub span: Span,
}

/// Where a body is lifted by a hook.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hoist {
    /// The point, in the body's frame.
    pub at: Point3<f64>,
    /// How wide hook and chain need room above it: a diameter.
    pub room: Length,
}

/// What flows through a tube, and what it may cost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TubeFlow {
    /// The flow.
    pub flow: Flow,
    /// What it may cost.
    pub limits: FlowLimits,
}

/// A body that is a hose: its shape is the one at rest, carriers at rest.
#[derive(Clone, Debug, PartialEq)]
pub struct HoseRun {
    /// Ports, clips, length and stiffness, in the body's own frame.
    pub hose: Hose,
    /// Least radius that its middle line may be bent to, mm.
    pub least_bend_mm: f64,
    /// What its last end rides on, an index into [`Scene::carriers`], when that is not what carries the body.
    pub to_carrier: Option<usize>,
    /// Whether it must fall all the way from its first end to its last.
    pub drains: bool,
    /// How well its ends and its length are known, as far as the scene says it of the hose itself.
    pub known: HoseKnown,
}

/// Standard uncertainties of a hose's own; `None`: as the body's place says.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct HoseKnown {
    /// Of where it begins, each axis, mm.
    pub from_mm: Option<f64>,
    /// Of where it ends, each axis, mm.
    pub to_mm: Option<f64>,
    /// Of both ways out, about each axis, rad.
    pub out_rad: Option<f64>,
    /// Of its length, mm.
    pub length_mm: f64,
}

/// What is known of the fit that made a body.
#[derive(Clone, Debug, PartialEq)]
pub struct FitEvidence {
    /// The word of the format for it: `plane`, `cylinder`, `tube`.
    pub kind: String,
    /// The survey.
    pub survey: String,
    /// Marks used, each with its residual (mm), in order.
    pub residuals: Vec<(String, f64)>,
    /// Root mean square of the residuals, mm; `None` when there was no spare reading.
    pub rms_mm: Option<f64>,
    /// Readings beyond the least number.
    pub spare: usize,
    /// What the readings say of themselves that a person should know: a mark that lies off beyond chance,
    /// readings that scatter more than stated. Empty when all is well.
    pub remarks: Vec<String>,
    /// Marks left out by `leave_out`, each with how far it lies off what the others say, mm.
    pub left_out: Vec<(String, f64)>,
}

/// A survey as read, in vehicle axes.
#[derive(Clone, Debug)]
pub struct SurveyRead {
    /// Name.
    pub name: String,
    /// The instrument's name.
    pub instrument: String,
    /// What it gives: `tape`, `probe` or `scan`.
    pub kind: String,
    /// Standard uncertainty of a reading where nothing else tells it, mm.
    pub sigma_mm: f64,
    /// What a bare number of its file means.
    pub unit: LengthUnit,
    /// Its file of rows, relative to the scene's folder; `None` for a scan's or when the scene has all of it.
    pub file: Option<PathBuf>,
    /// The rows that the scene itself gives, as a survey file; empty when it gives none.
    pub here: String,
    /// When, `YYYY-MM-DD`.
    pub date: Option<String>,
    /// Marks in vehicle axes, with the standard uncertainty of each coordinate, mm, the datum's
    /// share included.
    pub marks: Vec<(String, Point3<f64>, f64)>,
    /// Its readings, each with what it would tell if it were taken once more.
    pub readings: Arc<Vec<ReadingAgain>>,
    /// What the readings say of themselves that a person should know: a tape reading that seems
    /// wrong, a datum that does not agree. Empty when all is well.
    pub remarks: Vec<String>,
    /// Where it is written.
    pub span: Span,
}

/// Which bodies one side of a rule means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RuleSide {
    /// The body of this name.
    Body(String),
    /// All bodies of this role.
    Role(Role),
    /// Every body.
    Any,
}

/// Least gap between two kinds of body.
#[derive(Clone, Debug, PartialEq)]
pub struct RoomRule {
    /// One side.
    pub one: RuleSide,
    /// The other.
    pub other: RuleSide,
    /// Least gap.
    pub least: Length,
    /// Why.
    pub because: String,
    /// Where it is written.
    pub span: Span,
}

/// Two bodies that touch because they are fastened together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Joined {
    /// One body.
    pub one: String,
    /// The other.
    pub other: String,
    /// By what: `four M10 studs`, `strap`.
    pub by: String,
    /// The kind of joint, when it is one of those whose sizes are known.
    pub joint: Option<JointKind>,
    /// Where it is written.
    pub span: Span,
}

impl Scene {
    /// The body of a name.
    pub fn body(&self, name: &str) -> Option<&Body> {
        self.bodies.iter().find(|body| body.name == name)
    }

    /// The material of a name.
    pub fn material(&self, name: &str) -> Option<&Material> {
        self.materials.iter().find(|material| material.name == name)
    }
}
