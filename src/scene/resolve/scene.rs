//! The whole of a scene, in the order in which one thing needs another.

use std::path::Path;
use std::sync::Arc;

use nalgebra::Vector3;

use super::hoses::hose_shape;
use super::names::{Names, refuse_doubles};
use super::poses::{BodyTrace, Placed, Poses, Stand, Trace};
use super::surveys::Aligned;
use super::{carriers, fit, people, rules, service, shapes, surveys};
use crate::scene::decode::{Written, WrittenBody, WrittenForm, WrittenHose, WrittenShape, WrittenStepTime};
use crate::scene::error::{Fault, Faults};
use crate::scene::load::{Loaded, Met};
use crate::scene::{Body, FitEvidence, Frame, HoseRun, Material, Placement, Scene, StepTime, SurveyRead};
use crate::solid::Shape;
use crate::space::{Length, Pose};

/// A body's shape, and what made it.
struct Form {
    shape: Arc<Shape>,
    placed_from_body: Pose,
    surface_mm: f64,
    /// Its form alone, when its radius errs along with its place.
    form_mm: Option<f64>,
    evidence: Option<FitEvidence>,
    fitted: Option<Placed>,
}

/// Puts the files of a scene together; `facts` are what every scene knows.
pub(crate) fn resolve(
    path: &Path,
    files: Vec<Written>,
    facts: Vec<Written>,
    faults: &Faults,
    met: &Met<'_>,
) -> Loaded {
    let own = merged(files);
    refuse_own_doubles(&own, faults);
    let known = with_facts(&own, facts);
    refuse_doubles(&own.kit, faults);
    let declared = |kinds: &'static [&'static str]| {
        own.declared.iter().filter(move |(kind, _)| kinds.contains(kind)).map(|(_, name)| name.text.as_str())
    };

    let carrier_list =
        ["chassis"].into_iter().chain(own.carriers.iter().map(|carrier| carrier.name.text.as_str()));
    let carrier_names = Names::new("carrier", carrier_list, declared(&["carriers"]), faults);
    let survey_names = Names::new(
        "survey",
        own.surveys.iter().map(|survey| survey.name.text.as_str()),
        declared(&["surveys"]),
        faults,
    );
    let material_names = Names::new(
        "material",
        known.materials.iter().map(|one| one.name.text.as_str()),
        declared(&["materials"]),
        faults,
    );
    // Ready-made bends are as good as a bender.
    let bender_names = Names::new(
        "bender",
        ["stock"].into_iter().chain(known.benders.iter().map(|one| one.name.as_str())),
        declared(&["benders"]),
        faults,
    );
    let role_names = Names::new(
        "role",
        known.roles.iter().map(|one| one.name.text.as_str()),
        declared(&["roles"]),
        faults,
    );
    let opening_names = Names::new(
        "opening",
        known.openings.iter().map(|one| one.name.text.as_str()),
        declared(&["openings"]),
        faults,
    );
    let reach_names = Names::new(
        "reach",
        known.reaches.iter().map(|one| one.name.text.as_str()),
        declared(&["reaches"]),
        faults,
    );
    let standing_names = Names::new(
        "standing place",
        own.standing.iter().map(|one| one.name.text.as_str()),
        declared(&["standing"]),
        faults,
    );
    let tool_names =
        Names::new("tool", known.tools.iter().map(|one| one.name.as_str()), declared(&["tools"]), faults);
    let body_names = Names::new(
        "body",
        own.bodies.iter().map(|body| body.name.text.as_str()),
        declared(&["bodies"]),
        faults,
    );

    let instrument_names = Names::new(
        "instrument",
        known.instruments.iter().map(|one| one.reads.name.as_str()),
        declared(&["instruments"]),
        faults,
    );
    let tools = surveys::Instruments::new(&known.instruments, &instrument_names);
    let read: Vec<Option<Aligned<'_>>> =
        own.surveys.iter().map(|one| surveys::aligned(one, &tools, faults, met)).collect();
    let forms: Vec<Option<Form>> =
        own.bodies.iter().map(|body| form(body, &read, &survey_names, faults, met)).collect();
    for (written, read) in own.surveys.iter().zip(&read) {
        let Some(read) = read else { continue };
        let names = read.mark_names(faults);
        for (mark, _) in &written.spread.by_mark {
            names.find(mark);
        }
    }
    let poses = poses(&own, &forms, &carrier_names, declared(&["bodies", "frames"]), faults);

    let mut scene = Scene {
        path: path.to_path_buf(),
        title: own.title.clone().unwrap_or_default(),
        units: own.units,
        notes: own.notes.clone(),
        carriers: carriers::carriers(&own.carriers, &met.files.borrow()[0].to_string_lossy()),
        surveys: read.iter().flatten().map(Aligned::told).collect::<Vec<SurveyRead>>(),
        ..Scene::default()
    };
    for script in &own.scripts {
        match met.folder.find(script.place.source.name(), &script.text) {
            Ok(inside) => met.note(&inside.relative),
            Err(fault) => faults.add(script.place.clone(), fault),
        }
    }
    let mut trace = Trace::default();
    for (at, (body, form)) in own.bodies.iter().zip(&forms).enumerate() {
        for role in &body.roles {
            role_names.find(role);
        }
        if let Some(material) = &body.material {
            material_names.find(material);
        }
        if let Some(by) = &body.bent_by {
            bender_names.find(by);
        }
        let placed = poses.placed(at);
        if let (Some(form), Some(placed)) = (form, placed) {
            trace.bodies.push(BodyTrace {
                name: body.name.text.clone(),
                world_from_on: placed.world_from_on,
                placed_from_body: form.placed_from_body,
                is_fitted: form.fitted.is_some(),
            });
            let mut body = made(body, form, &placed);
            if let WrittenForm::Shape(WrittenShape::Hose(hose)) = &own.bodies[at].form {
                as_hose(&mut body, hose, &carrier_names, faults);
            }
            scene.bodies.push(body);
        }
    }
    for (at, frame) in own.frames.iter().enumerate() {
        if let Some(placed) = poses.placed(own.bodies.len() + at) {
            scene.frames.push(Frame {
                name: frame.name.text.clone(),
                world_from_frame: placed.world_from_this,
                carrier: placed.carrier,
                placement: Placement {
                    about: placed.about,
                    covariance: placed.covariance,
                    surface_mm: 0.0,
                    source: placed.source.clone(),
                    shares: placed.shares.clone(),
                    form_mm: None,
                },
                span: frame.name.place.span(),
            });
        }
    }
    scene.roles = known.roles.iter().map(|role| role.name.text.clone()).collect();
    scene.rules = rules::rules(&own.rules, &body_names, &scene.roles, faults);
    scene.joined = rules::joined(&own.joined, &body_names);
    scene.standing = people::standing(&own.standing, &known.reaches, &reach_names);
    let service_known = service::Known {
        bodies: &scene.bodies,
        body_names: &body_names,
        openings: &known.openings,
        opening_names: &opening_names,
        standing_names: &standing_names,
        tools: &known.tools,
        tool_names: &tool_names,
        poses: &poses,
        joined: &scene.joined,
        carriers: &scene.carriers,
        gloved: own.gloved.unwrap_or(false),
        faults,
    };
    let points = service::service(&own.service, &service_known);
    scene.service = points;
    scene.tools = known.tools.clone();
    scene.hood_open = own.hood_open;
    scene.materials = known
        .materials
        .iter()
        .map(|one| Material {
            name: one.name.text.clone(),
            density_kg_m3: one.density_kg_m3,
            source: one.source.clone(),
        })
        .collect();
    scene.benders = known.benders.clone();
    scene.stock_bends = known.stock_bends.clone();
    // A name that no body has yet may be one that a script places.
    scene.kit = own.kit.iter().map(|name| name.text.clone()).collect();
    let step_time = |one: &WrittenStepTime| StepTime {
        name: one.name.text.clone(),
        minutes: one.minutes,
        source: one.source.clone(),
    };
    scene.step_times = known.step_times.iter().map(step_time).collect();
    scene.files = met.files.borrow().clone();
    Loaded { scene, trace }
}

/// All files as one, in order; title and units are the last one's, which is the scene's own.
fn merged(files: Vec<Written>) -> Written {
    let mut out = Written::default();
    for file in files {
        out.title = file.title.or(out.title);
        out.units = file.units;
        out.scripts.extend(file.scripts);
        out.notes.extend(file.notes);
        out.surveys.extend(file.surveys);
        out.carriers.extend(file.carriers);
        out.frames.extend(file.frames);
        out.bodies.extend(file.bodies);
        out.roles.extend(file.roles);
        out.rules.extend(file.rules);
        out.joined.extend(file.joined);
        out.standing.extend(file.standing);
        out.reaches.extend(file.reaches);
        out.openings.extend(file.openings);
        out.materials.extend(file.materials);
        out.instruments.extend(file.instruments);
        out.benders.extend(file.benders);
        out.stock_bends.extend(file.stock_bends);
        out.service.extend(file.service);
        out.tools.extend(file.tools);
        out.hood_open = file.hood_open.or(out.hood_open);
        out.gloved = file.gloved.or(out.gloved);
        out.kit.extend(file.kit);
        out.step_times.extend(file.step_times);
        out.declared.extend(file.declared);
    }
    out
}

fn refuse_own_doubles(own: &Written, faults: &Faults) {
    for kinds in [
        &["bodies", "frames"][..],
        &["surveys"],
        &["carriers"],
        &["roles"],
        &["openings"],
        &["materials"],
        &["instruments"],
        &["benders"],
        &["stock_bends"],
        &["service"],
        &["tools"],
        &["standing"],
        &["reaches"],
        &["step_times"],
    ] {
        let names = own.declared.iter().filter(|(kind, _)| kinds.contains(kind)).map(|(_, name)| name);
        refuse_doubles(names, faults);
    }
}

/// The scene's own facts, then those of the library that it does not replace.
fn with_facts(own: &Written, facts: Vec<Written>) -> Written {
    fn add<T: Clone>(own: &[T], facts: Vec<T>, name: impl Fn(&T) -> &str) -> Vec<T> {
        let mut out = own.to_vec();
        out.extend(facts.into_iter().filter(|fact| !own.iter().any(|one| name(one) == name(fact))));
        out
    }
    let facts = merged(facts);
    Written {
        roles: add(&own.roles, facts.roles, |one| &one.name.text),
        openings: add(&own.openings, facts.openings, |one| &one.name.text),
        materials: add(&own.materials, facts.materials, |one| &one.name.text),
        reaches: add(&own.reaches, facts.reaches, |one| &one.name.text),
        instruments: add(&own.instruments, facts.instruments, |one| &one.reads.name),
        benders: add(&own.benders, facts.benders, |one| &one.name),
        stock_bends: add(&own.stock_bends, facts.stock_bends, |one| &one.name),
        tools: add(&own.tools, facts.tools, |one| &one.name),
        step_times: add(&own.step_times, facts.step_times, |one| &one.name.text),
        ..Written::default()
    }
}

fn form(
    body: &WrittenBody,
    read: &[Option<Aligned<'_>>],
    survey_names: &Names<'_>,
    faults: &Faults,
    met: &Met<'_>,
) -> Option<Form> {
    match &body.form {
        WrittenForm::Shape(written) => {
            let (shape, placed_from_body) = shapes::shape(written, &body.form_place, faults, met)?;
            Some(Form {
                shape: Arc::new(shape),
                placed_from_body,
                surface_mm: body.sigma_surface_mm,
                form_mm: None,
                evidence: None,
                fitted: None,
            })
        }
        WrittenForm::Fit(written) => {
            let fitted = fit::fitted(&body.name.text, written, read, survey_names, faults, met)?;
            Some(Form {
                shape: Arc::new(fitted.shape),
                placed_from_body: Pose::identity(),
                surface_mm: fitted.surface_mm,
                form_mm: fitted.form_mm,
                evidence: fitted.evidence,
                fitted: Some(fitted.placed),
            })
        }
        WrittenForm::Faulty => None,
    }
}

fn poses<'a>(
    own: &'a Written,
    forms: &[Option<Form>],
    carriers: &'a Names<'a>,
    declared: impl IntoIterator<Item = &'a str>,
    faults: &'a Faults,
) -> Poses<'a> {
    let bodies = own.bodies.iter().zip(forms).map(|(body, form)| Stand {
        name: &body.name,
        pose: &body.pose,
        carried_by: body.carried_by.as_ref(),
        fitted: match (&body.form, form) {
            (WrittenForm::Shape(_), Some(_)) => None,
            (_, Some(form)) => Some(form.fitted.clone()),
            // What a body without a form carries has no place that could be told.
            (_, None) => Some(None),
        },
        placed_from_body: form.as_ref().map_or_else(Pose::identity, |form| form.placed_from_body),
        sigma_mm: body.sigma_mm,
        sigma_turn_rad: body.sigma_turn_rad,
        spread_mm: body.spread_mm.unwrap_or_else(|| spread_of_marks(own, body)),
    });
    let frames = own.frames.iter().map(|frame| Stand {
        name: &frame.name,
        pose: &frame.pose,
        carried_by: frame.carried_by.as_ref(),
        fitted: None,
        placed_from_body: Pose::identity(),
        sigma_mm: 0.0,
        sigma_turn_rad: 0.0,
        spread_mm: 0.0,
    });
    let stands: Vec<Stand<'a>> = bodies.chain(frames).collect();
    let list: Vec<&'a str> = stands.iter().map(|stand| stand.name.text.as_str()).collect();
    let names = Names::new("body or frame", list, declared, faults);
    Poses::new(stands, names, carriers, faults)
}

/// What a hose is beside its shape; and the shape anew where the body is turned, for weight pulls down whatever the body does.
fn as_hose(body: &mut Body, written: &WrittenHose, carriers: &Names<'_>, faults: &Faults) {
    let mut hose = written.hose.clone();
    hose.up = body.world_from_body.rotation.inverse() * Vector3::z_axis();
    if hose.up.angle(&Vector3::z_axis()) > 1e-9 {
        match hose.relaxed() {
            Ok(relaxed) => body.shape = Arc::new(hose_shape(&relaxed)),
            Err(cause) => faults.add(written.place.clone(), Fault::Hose { cause }),
        }
    }
    body.hose = Some(Arc::new(HoseRun {
        hose,
        least_bend_mm: written.least_bend_mm,
        to_carrier: written.to_rides.as_ref().and_then(|name| carriers.find(name)),
        drains: written.drains,
        known: written.known,
    }));
}

/// How far a fitted body strays from vehicle to vehicle by its survey, mm; 0 for one that is not fitted.
fn spread_of_marks(own: &Written, body: &WrittenBody) -> f64 {
    let WrittenForm::Fit(fit) = &body.form else { return 0.0 };
    let survey = own.surveys.iter().find(|survey| survey.name.text == fit.survey.text);
    survey.map_or(0.0, |survey| survey.spread.greatest_mm(fit.marks.iter().map(|mark| mark.text.as_str())))
}

fn made(body: &WrittenBody, form: &Form, placed: &Placed) -> Body {
    Body {
        name: body.name.text.clone(),
        shape: form.shape.clone(),
        world_from_body: placed.world_from_this,
        carrier: placed.carrier,
        roles: body.roles.iter().map(|role| role.text.clone()).collect(),
        material: body.material.as_ref().map(|material| material.text.clone()),
        bent_by: body.bent_by.as_ref().map(|by| by.text.clone()),
        hot_c: body.hot_c,
        flow: body.flow,
        mass_kg: body.mass_kg,
        hoist: body.hoist,
        hose: None,
        kept: body.kept,
        may_move: body.may_move.clone(),
        candidate: body.candidate,
        cover: Length::from_mm(body.cover_mm),
        placement: Placement {
            about: placed.about,
            covariance: placed.covariance,
            surface_mm: form.surface_mm,
            source: placed.source.clone(),
            shares: placed.shares.clone(),
            form_mm: form.form_mm,
        },
        fit: form.evidence.clone(),
        span: body.name.place.span(),
    }
}
