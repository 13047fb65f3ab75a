//! What the command takes.

use std::path::PathBuf;

use clap::ValueEnum;

use crate::cli::fitted_out::SceneArgs;

/// Find routes for a tube between two ports: makeable, and clear of everything through all movement
///
/// A port is a frame of the scene, whose z axis points out into the tube, or `x,y,z toward dx,dy,dz` (or `toward up`) in
/// vehicle axes. With --instead-of a tube of the scene is routed anew: its ends, size, material, roles, carrier and what
/// it is joined to are taken from it, and it stands in nobody's way.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example: baywright route demo-scenes/van/scene.yaml --from first-compressor-inlet --to \"640,300,900 toward up\" --diameter 50.8 --wall 1.65 --bender mandrel-rotary --carried-by engine --role cold --role pipe --joined-to first-compressor"
)]
pub struct Args {
    #[command(flatten)]
    pub(super) scene: SceneArgs,
    /// A tube of the scene that the route is to replace.
    #[arg(long, value_name = "BODY")]
    pub(super) instead_of: Option<String>,
    /// Where the tube begins.
    #[arg(long, value_name = "PORT", allow_hyphen_values = true)]
    pub(super) from: Option<String>,
    /// Where the tube ends.
    #[arg(long, value_name = "PORT", allow_hyphen_values = true)]
    pub(super) to: Option<String>,
    /// Outside diameter; a bare number takes the scene's units.
    #[arg(long, value_name = "LENGTH")]
    pub(super) diameter: Option<String>,
    /// Wall.
    #[arg(long, value_name = "LENGTH")]
    pub(super) wall: Option<String>,
    /// Thickness of wrap and coating.
    #[arg(long, value_name = "LENGTH")]
    pub(super) wrap: Option<String>,
    /// Material, as the scene knows it.
    #[arg(long, value_name = "NAME")]
    pub(super) material: Option<String>,
    /// A role by which room rules know the tube; may be given several times. Default: `pipe`.
    #[arg(long, value_name = "ROLE")]
    pub(super) role: Vec<String>,
    /// The carrier that the tube rides on. Default: that of the first port.
    #[arg(long, value_name = "CARRIER")]
    pub(super) carried_by: Option<String>,
    /// A body that an end is joined to; it does not see the tube's ends. May be given several times.
    #[arg(long, value_name = "BODY")]
    pub(super) joined_to: Vec<String>,
    /// A body that is left out; may be given several times.
    #[arg(long, value_name = "BODY")]
    pub(super) without: Vec<String>,
    /// The bender, by its name in the scene or the library.
    #[arg(long, value_name = "NAME", conflicts_with = "stock")]
    pub(super) bender: Option<String>,
    /// Make it of ready-made bends of the scene and the library, cut to the angle and welded.
    #[arg(long)]
    pub(super) stock: bool,
    /// With --stock: bends are not cut.
    #[arg(long, requires = "stock")]
    pub(super) whole: bool,
    /// Straight that the joint at the first port needs.
    #[arg(long, value_name = "LENGTH", default_value = "0 mm")]
    pub(super) start_straight: String,
    /// Straight that the joint at the last port needs.
    #[arg(long, value_name = "LENGTH", default_value = "0 mm")]
    pub(super) end_straight: String,
    /// Tube left on at the start while bending, and cut off.
    #[arg(long, value_name = "LENGTH", default_value = "0 mm")]
    pub(super) start_extra: String,
    /// Tube left on at the end while bending, and cut off.
    #[arg(long, value_name = "LENGTH", default_value = "0 mm")]
    pub(super) end_extra: String,
    /// How far off a port a tube of no bend or one may end: `0.5 mm, 0.5 deg`, or `exact`. Default: half of what the joint
    /// there takes up, and at least 0.5 mm and 0.5 deg (common practice, no source).
    #[arg(long, value_name = "OFFSET, ANGLE")]
    pub(super) fit_up: Option<String>,
    /// Standard uncertainty with which the tube will be placed, each axis. Default: none, or that of the tube replaced.
    #[arg(long, value_name = "LENGTH")]
    pub(super) sigma: Option<String>,
    /// A box that the tube may not enter: `x,y,z to x,y,z`. May be given several times.
    #[arg(long, value_name = "BOX", allow_hyphen_values = true)]
    pub(super) forbid: Vec<String>,
    /// A box in which it should run where it can.
    #[arg(long, value_name = "BOX", allow_hyphen_values = true)]
    pub(super) prefer: Vec<String>,
    /// What flows through it from start to end, in any order: `air, 0.3 kg/s, 60 deg C, 250 kPa`; `exhaust`, `water` or
    /// `880 kg/m3, 0.012 Pa s`; pressures are absolute; `rough 0.05 mm` if it is. Default: what the tube replaced says.
    #[arg(long, value_name = "FLOW", allow_hyphen_values = true)]
    pub(super) flow: Option<String>,
    /// What comes first in the list: fewest bends and shortest, or least pressure loss, or most room.
    #[arg(long, value_enum, default_value_t)]
    pub(super) rank: Rank,
    /// Most bends.
    #[arg(long, default_value_t = 5, value_parser = clap::value_parser!(u8).range(0..=6))]
    pub(super) bends: u8,
    /// Which route of the list is told in full, written as YAML or saved.
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub(super) pick: usize,
    /// Tell where a weld jig should touch the picked route as it stands in the vehicle.
    #[arg(long)]
    pub(super) jig: bool,
    /// How the answer is written.
    #[arg(long, value_enum, default_value_t)]
    pub(super) format: RouteFormat,
    /// Save the scene file with the picked route as a body, beside the files that it names.
    #[arg(long, value_name = "FILE")]
    pub(super) save: Option<PathBuf>,
    /// Name of that body.
    #[arg(long, value_name = "NAME", default_value = "route")]
    pub(super) name: String,
}

/// What comes first in the list.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(super) enum Rank {
    /// Fewest bends, then the shortest.
    #[default]
    Bends,
    /// Least pressure loss; needs a flow.
    Loss,
    /// Most room.
    Room,
}

/// How an answer is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(super) enum RouteFormat {
    /// For people: 80 columns.
    #[default]
    Text,
    /// For programs: one stable, versioned document.
    Json,
    /// The picked route as a body, to paste into a scene.
    Yaml,
}
