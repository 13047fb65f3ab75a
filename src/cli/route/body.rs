//! The route as a body: to paste, or saved in a scene.

use super::args::Args;
use super::run::flow;
use super::tube::Told;
use crate::cli::flow_text::flow_keys;
use crate::cli::said::{Failure, Wrong, aside};
use crate::route::Route;
use crate::scene::{Joined, Scene, SceneDocument, Span};
use crate::space::LengthUnit;
use crate::tube::BendList;

/// The route as a body of a scene.
pub(super) fn yaml(args: &Args, scene: &Scene, tube: &Told, list: &BendList) -> Result<String, Failure> {
    let line = list
        .corners()
        .map_err(|error| Wrong::new(format!("route {}: {error}", args.pick), "pick another route"))?;
    let unit = if scene.units == LengthUnit::Millimetre { "" } else { " mm" };
    // A thousand-millionth of a millimetre is kept, as scenes are saved elsewhere.
    let length = |mm: f64| format!("{}{unit}", (mm * 1e9).round() / 1e9 + 0.0);
    let points: Vec<String> = line
        .points
        .iter()
        .map(|at| format!("[{}, {}, {}]", length(at.x), length(at.y), length(at.z)))
        .collect();
    let wall = tube.size.wall_mm.map_or_else(String::new, |wall| format!("wall: {}, ", length(wall)));
    let radius = match line.radii_mm.as_slice() {
        [] => String::new(),
        [first, rest @ ..] if rest.iter().all(|radius| (radius - first).abs() < 1e-9) => {
            format!(", bend_radius: {}", length(*first))
        }
        all => {
            let all: Vec<String> = all.iter().map(|radius| length(*radius)).collect();
            format!(", bend_radius: [{}]", all.join(", "))
        }
    };
    let quoted = |text: &str| serde_json::Value::from(text).to_string();
    let mut out = format!(
        "{}:\n  shape: {{tube: {{diameter: {}, {wall}points: [{}]{radius}}}}}\n",
        quoted(&args.name),
        length(tube.size.outside_mm),
        points.join(", ")
    );
    let body = &tube.body;
    let roles: Vec<String> = body.roles.iter().map(|role| quoted(role)).collect();
    out.push_str(&format!("  carried_by: {}\n", quoted(&scene.carriers[body.carrier].name)));
    out.push_str(&format!("  role: [{}]\n", roles.join(", ")));
    if let Some(material) = &body.material {
        out.push_str(&format!("  material: {}\n", quoted(material)));
    }
    if tube.size.cover_mm > 0.0 {
        out.push_str(&format!("  wrap: {}\n", length(tube.size.cover_mm)));
    }
    let variance = (0..3).map(|axis| body.placement.covariance[(axis, axis)]).fold(0.0, f64::max);
    if variance > 0.0 {
        out.push_str(&format!("  sigma: {}\n", length(variance.sqrt())));
    }
    let by = args.bender.as_deref().unwrap_or("stock");
    out.push_str(&format!("  bent_by: {}\n", quoted(by)));
    if let Some(degrees) = body.hot_c {
        out.push_str(&format!("  hot_to: {degrees}\n"));
    }
    let limits = body.flow.map(|told| told.limits).unwrap_or_default();
    if let Some(flow) = flow(args, scene, tube)? {
        out.push_str(&format!("  flow: {{{}}}\n", flow_keys(&flow, &limits, &length(flow.roughness_mm))));
    }
    out.push_str("  candidate: true\n");
    Ok(out)
}

pub(super) fn save(
    args: &Args,
    scene: &Scene,
    tube: &Told,
    route: &Route,
    file: &std::path::Path,
) -> Result<(), Failure> {
    let mut document = SceneDocument::open(&args.scene.scene)?;
    if document.scene().body(&args.name).is_some() {
        document.remove_body(&args.name)?;
    }
    document.add_body(&yaml(args, scene, tube, &route.list)?)?;
    for other in &tube.joined {
        if document.scene().body(other).is_none() {
            aside(&format!(
                "`{other}` is not in the scene file (a script places it): no joint with it is written"
            ));
            continue;
        }
        let (one, other) = (args.name.clone(), other.clone());
        document.add_joined(&Joined {
            one,
            other,
            by: "to be said".to_owned(),
            joint: None,
            span: Span::default(),
        })?;
    }
    document.save_as(file)?;
    aside(&format!("route {} is in {} as `{}`", args.pick, file.display(), args.name));
    Ok(())
}
