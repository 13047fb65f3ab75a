//! Whether the job's tubes can be at all, and whether what they say they are bent by can make them.

use nalgebra::Point3;

use crate::scene::{Body, Scene};
use crate::solid::Tube;
use crate::space::{Length, Pose};
use crate::tube::{BendList, CornerLine, Making, TubeError, Weight, check_making, plan_from_stock};

use super::growth::{metal_of, tubes_in};
use super::{Finding, Findings, Place, Verdict};

/// The word for ready-made bends, cut and welded.
const STOCK: &str = "stock";

/// Every tube that is not factory equipment.
pub(super) fn check(scene: &Scene, findings: &mut Findings) {
    for body in scene.bodies.iter().filter(|body| !body.kept) {
        let mut tubes = Vec::new();
        tubes_in(&body.shape, &body.world_from_body, &mut tubes);
        for (world_from_tube, tube) in &tubes {
            match CornerLine::of_tube(tube).bend_list() {
                Ok(list) => tube_of(scene, body, tube, &list.moved(world_from_tube), findings),
                Err(error) => findings.list.push(cannot_be(body, &error, None)),
            }
        }
    }
}

fn tube_of(scene: &Scene, body: &Body, tube: &Tube, list: &BendList, findings: &mut Findings) {
    let outside_mm = 2.0 * tube.radius_mm;
    if let Err(error) = list.check_body(outside_mm + 2.0 * body.cover.mm()) {
        let at = match &error {
            TubeError::SelfCrossing { x_mm, y_mm, z_mm, .. } => Some(Point3::new(*x_mm, *y_mm, *z_mm)),
            _ => None,
        };
        findings.list.push(cannot_be(body, &error, at));
        return;
    }
    let Some(by) = &body.bent_by else { return };
    if by == STOCK {
        stock(scene, body, list, (outside_mm, tube.wall_mm), findings);
        return;
    }
    // The scene has looked the name up.
    let Some(bender) = scene.benders.iter().find(|bender| bender.name == *by) else { return };
    let making = Making {
        outside_mm,
        wall_mm: tube.wall_mm,
        elongation: metal_of(body).map(|one| one.elongation),
        bender,
        start_needs_mm: 0.0,
        end_needs_mm: 0.0,
        start_extra_mm: f64::INFINITY,
        end_extra_mm: f64::INFINITY,
        stock_bends: &scene.stock_bends,
    };
    for one in check_making(list, &making).unwrap_or_default() {
        let verdict = match one.weight {
            Weight::Cannot => Verdict::Short,
            Weight::Care => Verdict::Clear,
        };
        let (rule, message) = (format!("bent by {by}"), format!("`{}`, {one}", body.name));
        findings.list.push(finding(body, verdict, rule, one.because.clone(), Some(one.at), message));
    }
}

fn stock(
    scene: &Scene,
    body: &Body,
    list: &BendList,
    (outside_mm, wall_mm): (f64, Option<f64>),
    findings: &mut Findings,
) {
    let plan = plan_from_stock(list, outside_mm, wall_mm, &scene.stock_bends);
    let Ok(Err((bend, nearest))) = plan else { return };
    let nearest = match nearest {
        Some(mm) => {
            format!("the nearest has a radius of {mm:.2} mm: bend it to that, or make it of pie cuts")
        }
        None => {
            "there is none for that diameter, wall and angle: add one under `stock_bends`, or make it of pie cuts"
                .to_owned()
        }
    };
    let message = format!("`{}`: no stock bend makes bend {bend}; {nearest}", body.name);
    let rule = "made of stock bends".to_owned();
    let because = "ready-made bends of the scene and the library".to_owned();
    findings.list.push(finding(body, Verdict::Short, rule, because, None, message));
}

fn cannot_be(body: &Body, error: &TubeError, at: Option<Point3<f64>>) -> Finding {
    let verdict = match error {
        TubeError::SelfCrossing { .. } => Verdict::Touching,
        _ => Verdict::Short,
    };
    let actual = match error {
        TubeError::SelfCrossing { depth_mm, .. } => Some(Length::from_mm(-depth_mm)),
        _ => None,
    };
    let message = format!("`{}`: {error}", body.name);
    let because = "built in: holds for every tube, its wrap counted".to_owned();
    let mut found = finding(body, verdict, "what a tube can be".to_owned(), because, at, message);
    found.actual = actual;
    found
}

fn finding(
    body: &Body,
    verdict: Verdict,
    rule: String,
    because: String,
    at: Option<Point3<f64>>,
    message: String,
) -> Finding {
    let place =
        at.map(|at| Place { on_first: at, on_second: at, pose: "at rest".to_owned(), values: Vec::new() });
    Finding {
        code: "making",
        verdict,
        bodies: vec![body.name.clone()],
        required: None,
        actual: None,
        at_rest: None,
        uncertainty: None,
        place,
        rule,
        because,
        cure: None,
        message,
        figures: Vec::new(),
        shown: Vec::new(),
    }
}

/// Where a body's tubes stand, in vehicle axes.
pub(super) fn lines_of(body: &Body) -> Vec<(Tube, BendList)> {
    let mut tubes: Vec<(Pose, Tube)> = Vec::new();
    tubes_in(&body.shape, &body.world_from_body, &mut tubes);
    tubes
        .into_iter()
        .filter_map(|(pose, tube)| {
            let list = CornerLine::of_tube(&tube).bend_list().ok()?.moved(&pose);
            Some((tube, list))
        })
        .collect()
}
