//! All lists of keys, in the order of the reference.

use super::keys::KeyTable;
use super::{
    bender, body, carrier, document, fit_keys, flow, frame, hoist, hose, instrument, kit, material, people,
    rule, service, service_keys, shape, survey, tool, tube,
};

/// Every map of the format.
pub(crate) const TABLES: &[&KeyTable] = &[
    &document::SCENE,
    &document::NOTE,
    &survey::SURVEY,
    &survey::MARK,
    &survey::TAPE,
    &survey::ALIGN,
    &survey::PLANE,
    &survey::LINE,
    &survey::ORIGIN,
    &carrier::CARRIER,
    &carrier::ROCK,
    &carrier::BOUNCE,
    &carrier::HINGE,
    &carrier::LIFT,
    &frame::FRAME,
    &frame::TURN_ANGLES,
    &body::BODY,
    &hoist::HOIST,
    &flow::FLOW,
    &shape::SHAPE,
    &shape::SPHERE,
    &shape::CYLINDER,
    &shape::CAPSULE,
    &shape::CONE,
    &shape::BEND,
    &shape::PLATE,
    &shape::CIRCLE,
    &tube::TUBE,
    &tube::LISTED_BEND,
    &hose::HOSE,
    &hose::DROOP,
    &hose::CLIP,
    &shape::HULL,
    &shape::MESH,
    &shape::CLOUD,
    &shape::PART,
    &fit_keys::FIT,
    &fit_keys::PLANE_FIT,
    &fit_keys::CYLINDER_FIT,
    &fit_keys::SPHERE_FIT,
    &fit_keys::CIRCLE_FIT,
    &fit_keys::BOX_FIT,
    &fit_keys::CONE_FIT,
    &fit_keys::BEND_FIT,
    &fit_keys::SLOT_FIT,
    &fit_keys::BOLT_FIT,
    &fit_keys::LINE_FIT,
    &fit_keys::EDGE_FIT,
    &fit_keys::POINT_FIT,
    &fit_keys::TUBE_FIT,
    &fit_keys::CLOUD_FIT,
    &rule::RULE,
    &rule::JOINED,
    &people::PEOPLE,
    &people::STANDING,
    &people::REACH,
    &people::OPENING,
    &instrument::INSTRUMENT,
    &material::MATERIAL,
    &bender::BENDER,
    &bender::DIE,
    &bender::SPRINGBACK,
    &bender::STOCK_BEND,
    &service::SERVICE,
    &service_keys::SEE,
    &service_keys::MIRROR,
    &service_keys::TOUCH,
    &service_keys::TURN,
    &service_keys::PULL,
    &service_keys::POUR,
    &service_keys::PLUG,
    &service_keys::WRENCH,
    &service_keys::CLAMP,
    &service_keys::LIFT_OUT,
    &tool::TOOL,
    &kit::STEP_TIME,
];

/// The key reference of the scene format in Markdown: one section a map, made from the lists that
/// the decoder itself uses.
pub fn format_reference() -> String {
    let mut out = String::new();
    for table in TABLES {
        out.push_str(&format!("### {}\n\n{}\n", heading(table.title), table.markdown()));
    }
    out
}

/// `a room rule` gives `Room rule`.
fn heading(title: &str) -> String {
    let bare = title.strip_prefix("an ").or_else(|| title.strip_prefix("a ")).unwrap_or(title);
    let mut letters = bare.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}
